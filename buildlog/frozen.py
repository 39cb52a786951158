"""Values that never change: what a frozen, slotted, keyword-only dataclass is, defined in a third of the time.

`dataclass` writes and compiles six methods for each such class, and this package has nearly three hundred. Here only
`__new__` is written, and only once a first value is made; what differs in nothing but names is shared. A value stays a
dataclass: `fields`, `replace`, `asdict`, comparing, hashing and showing do what they do for any other. A mapping given
for a field that is annotated as `Mapping` can be read through the value and not changed.

What that saves of a whole command, measured by `python -m tests.bench.bench_frozen` in pairs that take turns, against
the same package with `dataclass(frozen=True, slots=True, kw_only=True)` in its place; processor time on two cores, the
median ratio and the middle half of the pairs:

    publish example_project, pictures made    Python 3.11.7   0.92 s over 1.06 s   0.89 (0.86 to 0.90), 15 turns
    costs example_project                     Python 3.11.7   0.40 s over 0.48 s   0.85 (0.82 to 0.87), 15 turns
    costs of a log of 200 entries             Python 3.11.7   0.51 s over 0.62 s   0.85 (0.84 to 0.87), 15 turns

Those were taken in turns on a machine that others used as well, which is why the seconds are high. Thousands of values
were made by a function of their class then, and not by the class, which hardly gained any more: the package without it
took 0.99 of its time to publish from scratch (0.96 to 1.00), 1.00 for the second (0.98 to 1.04) and 1.03 for the third
(1.00 to 1.06), in 9 pairs. Without the class of `_open` it took 1.00 to 1.04 (0.96 to 1.10).

`--help` defines none of them and takes the same (1.00). Once a later Python brings `costs` above 0.95, this module has
lost its reason, and `frozen` is one line.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from functools import wraps
from operator import attrgetter
from types import MappingProxyType
from typing import Any, NoReturn, TypeVar, dataclass_transform

Value = TypeVar("Value")
Asked = TypeVar("Asked")

# Python copies and pickles no read-only view of a mapping by itself, and `asdict` copies what it does not know.
copyreg.pickle(MappingProxyType, lambda view: (MappingProxyType, (dict(view),)))


@dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(Field, field))
def frozen(cls: type[Value]) -> type[Value]:
    """The class with a slot for each of its fields, one at least, which are given by name and never set again."""
    made = dataclass(init=False, repr=False, eq=False, match_args=False, slots=True, kw_only=True)(cls)
    methods: dict[str, Any] = {
        "__new__": _write_first,
        "__repr__": _show,
        "__setattr__": _refuse,
        "__delattr__": _refuse,
    }
    for name, method in (methods | _make_comparison(made) | _make_views(made)).items():
        setattr(made, name, method)
    return made


def kept(method: Callable[[Any, Asked], Value]) -> Callable[[Any, Asked], Value]:
    """A method of one argument that works each answer out once: what `cached_property` is to a property.

    For an object that never changes and is no `@frozen` one, whose slots leave nowhere to keep an answer.
    """
    name = f"_{method.__name__}_kept"

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


def _write_first(cls: Any, **values: Any) -> Any:
    """Stands for `__new__` until the first value is made: of most classes a command makes none."""
    cls.__new__ = _write_new(cls)
    return cls.__new__(cls, **values)


def _write_new(cls: type) -> Callable[..., Any]:
    """`__new__`, written out field by field: a loop would cost every value what is saved once for its class."""
    takes, sets = [], []
    names: dict[str, Any] = {"MISSING": MISSING, "View": MappingProxyType, "make": object.__new__, "Open": _open(cls)}
    for each in fields(cls):
        name, default, value = each.name, "", each.name
        if each.default is not MISSING:
            default, names[f"default_{name}"] = f"=default_{name}", each.default
        elif each.default_factory is not MISSING:
            default, names[f"make_{name}"] = "=MISSING", each.default_factory
            sets.append(f"    if {name} is MISSING: {name} = make_{name}()")
        if str(each.type).startswith("Mapping["):
            # A view and no copy: whoever filled the mapping has let go of it. A view of a view would read slower.
            as_it_is = f"{name}.__class__ is View" + (f" or {name} is None" * str(each.type).endswith("| None"))
            value = f"{name} if {as_it_is} else View({name})"
        takes.append(name + default)
        sets.append(f"    self.{name} = {value}")
    head, first = f"def __new__(cls, *, {', '.join(takes)}):", "    self = make(Open)"
    exec("\n".join([head, first, *sets, "    self.__class__ = cls", "    return self"]), names)
    new: Callable[..., Any] = names["__new__"]
    new.__qualname__ = f"{cls.__qualname__}.__new__"
    return new


def _open(cls: type) -> type:
    """The class of a value while its fields are set, which is the same but that they can be.

    It lets Python set each as it sets any other attribute. Past a `__setattr__` that refuses, each took a call of its
    own, which was a twentieth of computing a long log.
    """
    body = {"__slots__": (), "__setattr__": object.__setattr__, "__delattr__": object.__delattr__}
    return type(cls.__name__, (cls,), body)


def _make_comparison(cls: type) -> dict[str, Callable[..., Any]]:
    """Equality and hash of the fields that count for them, within one class."""
    values = attrgetter(*(each.name for each in fields(cls) if each.compare))

    def equals(self: object, other: object) -> bool:
        return bool(values(self) == values(other)) if other.__class__ is self.__class__ else NotImplemented

    def make_hash(self: object) -> int:
        return hash(values(self))

    return {"__eq__": equals, "__hash__": make_hash}


def _make_views(cls: type) -> dict[str, Callable[..., Any]]:
    """What closes the mappings of a value that was not made by its `__new__`, as `msgspec` makes one out of bytes."""
    names = [each.name for each in fields(cls) if str(each.type).startswith("Mapping[")]
    settle = getattr(cls, "__post_init__", None) or (lambda self: None)

    def close(self: Any) -> None:
        settle(self)
        for name in names:
            value = getattr(self, name)
            if value.__class__ is dict:
                object.__setattr__(self, name, MappingProxyType(value))

    return {"__post_init__": close} if names else {}


def _show(self: Any) -> str:
    shown = (f"{each.name}={getattr(self, each.name)!r}" for each in fields(self) if each.repr)
    return f"{self.__class__.__qualname__}({', '.join(shown)})"


def _refuse(self: object, name: str, *_: object) -> NoReturn:
    raise FrozenInstanceError(f"`{name}` of a {self.__class__.__qualname__} never changes")
