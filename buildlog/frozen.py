"""Values that never change: what a frozen, slotted, keyword-only dataclass is, made in C.

A command on a long log makes half a million values and reads a hundred thousand back from what is kept. So each is a
`msgspec.Struct`: with ten fields it is made in a sixth of the time that a `__new__` in Python takes, and read out of
bytes in less than half. A value stays a dataclass all the same: `fields`, `replace`, `asdict`, comparing, hashing and
showing do what they do for any other. A mapping given for a field that is annotated as `Mapping` can be read through
the value and not changed.

What that saves of a whole command, measured by `python -m tests.bench.bench_frozen` in pairs that take turns, against
the same package with the standard library's dataclasses, frozen and with slots, in its place; processor time on two
cores of a busy machine, the median ratio and the middle half of 7 pairs, Python 3.11.7:

    costs example_project, nothing changed       0.16 s over 0.30 s   0.56 (0.50 to 0.59)
    publish a log of 200 entries, one order new  0.65 s over 0.98 s   0.68 (0.63 to 0.71)
    costs of that log, one order new             0.38 s over 0.50 s   0.76 (0.59 to 0.78)

Where nothing is made, as by `--help` or a publish with nothing to do, it is the same. A class costs most when it is
defined, as there are three hundred of them: `dataclass` alone would write and compile six methods for each.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Iterable, Mapping
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from functools import wraps
from operator import attrgetter
from types import MappingProxyType
from typing import Any, NoReturn, TypeVar, cast, dataclass_transform

import msgspec
from msgspec import Struct, StructMeta
from msgspec.structs import force_setattr

Value = TypeVar("Value")
Asked = TypeVar("Asked")

# Python copies and pickles no read-only view of a mapping by itself, and `asdict` copies what it does not know.
copyreg.pickle(MappingProxyType, lambda view: (MappingProxyType, (dict(view),)))


class _Meta(StructMeta):
    """Makes the class of a value of what stands in its body, which is read as `dataclass` reads it."""

    def __new__(mcls, name: str, bases: tuple[type, ...], body: dict[str, Any], *, by_name: bool = True) -> Any:
        # Read by `dataclass` itself, of a class that is thrown away. Annotations are texts everywhere in this package,
        # in each of which it would search for three words.
        notes = {key: text for key, text in body.get("__annotations__", {}).items() if "ClassVar[" not in text}
        written = {key: body[key] for key in ("__module__", *notes) if key in body}
        read: Any = type(name, (), {"__doc__": name, "__annotations__": dict.fromkeys(notes), **written})
        read = dataclass(init=False, repr=False, eq=False, match_args=False, kw_only=by_name)(read)
        for each in fields(read):
            each.type = cast(type, notes[each.name])
            if each.default_factory is not MISSING:
                body[each.name] = msgspec.field(default_factory=each.default_factory)
            elif each.default is not MISSING:
                body[each.name] = each.default
        above = [base.__dataclass_fields__ for base in reversed(bases) if hasattr(base, "__dataclass_fields__")]
        known = {key: each for some in (*above, read.__dataclass_fields__) for key, each in some.items()}
        body |= _close_views(bases, body, known.values()) | _compare_some(known.values())
        made: Any = super().__new__(mcls, name, bases, body, frozen=True, kw_only=by_name)
        made.__dataclass_fields__, made.__dataclass_params__ = known, read.__dataclass_params__
        made.__repr__, made.__setattr__, made.__delattr__ = _show, _refuse, _refuse
        return made


@dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(Field, field))
def frozen(cls: type[Value]) -> type[Value]:
    """The class with a slot for each of its fields, which are given by name and never set again."""
    return _make_again(cls)


@dataclass_transform(frozen_default=True, field_specifiers=(Field, field))
def frozen_pair(cls: type[Value]) -> type[Value]:
    """The same with fields that are given by their places: for what two make together, as a sum and its currency."""
    return _make_again(cls, by_name=False)


def _make_again(cls: type[Value], *, by_name: bool = True) -> type[Value]:
    if isinstance(cls, _Meta):  # derived from one, and so made where it stands
        return cls
    body = {name: value for name, value in vars(cls).items() if name not in ("__dict__", "__weakref__")}
    made: Any = _Meta(cls.__name__, (Struct,), body, by_name=by_name)
    made.__qualname__ = cls.__qualname__
    return cast("type[Value]", made)


settle: Callable[[Any, str, Any], None] = force_setattr
"Sets a field of a value that is being made: for `__post_init__` alone, which tidies up what came out of bytes."


def kept(method: Callable[[Any, Asked], Value]) -> Callable[[Any, Asked], Value]:
    """A method of one argument that works each answer out once: what `cached_property` is to a property.

    For an object that never changes and is no `@frozen` one, whose slots leave nowhere to keep an answer; a function of
    one and of something else is such a method.
    """
    name = f"_{method.__module__}.{method.__qualname__}_kept"

    # The answers are the object's, as those of `functools.cache` would hold it: neither would go before a search for
    # cycles, nor would the log that it is about.
    @wraps(method)
    def answer(self: Any, asked: Asked) -> Value:
        # Looked up at once, as it is there nearly always: a long log asks a hundred times as often as it is told.
        try:
            known: Value = self.__dict__[name][asked]
        except KeyError:
            pass  # worked out below, so that what goes wrong there is told without this
        else:
            return known
        made = method(self, asked)
        self.__dict__.setdefault(name, {})[asked] = made
        return made

    return answer


def kept_by(work: Callable[[Any], Value]) -> Callable[[Any], Value]:
    """The same for a function of one such object: its answer is kept by the object that it was asked about.

    What an answer holds must not hold that object again, or both wait for a search for cycles.
    """
    name = f"_{work.__module__}.{work.__name__}_kept"

    @wraps(work)
    def answer(about: Any) -> Value:
        if name not in about.__dict__:
            about.__dict__[name] = work(about)
        made: Value = about.__dict__[name]
        return made

    return answer


def _compare_some(known: Iterable[Field[Any]]) -> dict[str, Callable[..., Any]]:
    """Equality and hash within one class, where some of the fields do not count for them."""
    if all(each.compare for each in known):
        return {}  # of all of them, as they are
    values = attrgetter(*(each.name for each in known if each.compare))

    def equals(self: object, other: object) -> bool:
        return bool(values(self) == values(other)) if other.__class__ is self.__class__ else NotImplemented

    def make_hash(self: object) -> int:
        return hash(values(self))

    return {"__eq__": equals, "__hash__": make_hash}


def _close_views(bases: tuple[type, ...], body: Mapping[str, Any], known: Iterable[Field[Any]]) -> dict[str, Any]:
    """What closes the mappings of a value: by a view and no copy, as whoever filled one has let go of it."""
    names = [each.name for each in known if str(each.type).startswith("Mapping[")]
    begin = body.get("__post_init__") or next((getattr(base, "__post_init__", None) for base in bases), None)

    def close(self: Any) -> None:
        if begin:
            begin(self)
        for name in names:
            value = getattr(self, name)
            # A view of a view would read slower.
            if value is not None and value.__class__ is not MappingProxyType:
                settle(self, name, MappingProxyType(value))

    return {"__post_init__": close} if names else {}


def _show(self: Any) -> str:
    shown = (f"{each.name}={getattr(self, each.name)!r}" for each in fields(self) if each.repr)
    return f"{self.__class__.__qualname__}({', '.join(shown)})"


def _refuse(self: object, name: str, *_: object) -> NoReturn:
    raise FrozenInstanceError(f"`{name}` of a {self.__class__.__qualname__} never changes")
