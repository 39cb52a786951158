"""Which part a written key, number or name means; what then happens to the part is for `movements`.

A part is known by a key of the owner's, by its maker and number, or, where it is the machine's own, by its name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import chain, count

from buildlog.compute.parts.numbers import (
    Mention,
    Number,
    check_family,
    fold_number,
    gather_families,
    make_key,
    only_system,
    order_numbers,
)
from buildlog.frozen import frozen
from buildlog.problems import Choices, Place, Problem, suggest
from buildlog.read.records import Log, LogRecord

Family = tuple[Mention, ...]
"The order lines of one part, in the order of the log."

ORIGINAL = "original"
"What the owner writes for a part that the machine came with."


@frozen
class Part:
    """One part, however often and under whatever names it was bought."""

    key: str
    "its id in figures and addresses: the first key that the owner gave, else its number, else `original-` and its name"
    aliases: tuple[str, ...] = ()
    "other keys that turned out to be the same part"
    name: str
    "as shown: the `name` that was written, else the key in plain words"
    numbers: tuple[str, ...] = ()
    "the maker's numbers as written, newest first, with those that they supersede"
    maker: str | None = None
    "as written"
    system: str | None = None
    "key of the system that it was first bought for"
    unit: str | None = None
    "of its quantities, as first bought; None: counted in pieces"
    spec: str | None = None
    "as the line bought last states it; `original` for the machine's own"
    single_use: bool = False
    "whether it must be new each time it is tightened"
    original: bool = False
    "whether the machine came with it"


@frozen
class PartNames:
    """Every part of a log, and every way to name one."""

    parts: Mapping[str, Part]
    "by key, in the order in which they appear"
    keys: Mapping[str, str]
    "the part's key for each key, alias, and number written as a key"
    lines: Mapping[Place, str]
    "the part's key for each order line that is kept track of, by the line's place"


def original_key(name: str) -> str:
    """The key of one of the machine's own parts."""
    return f"{ORIGINAL}-{make_key(name) or 'unnamed'}"


def plain_name(key: str) -> str:
    """A key in plain words: `lift-pump` is Lift pump."""
    return key.replace("-", " ").capitalize()


def name_parts(log: Log) -> tuple[PartNames, tuple[Problem, ...]]:
    """The parts of a log, and what is wrong with how they are numbered. The order of entries decides what is first."""
    families = gather_families(log)
    typed = [mention.line.part for family in families for mention in family if mention.line.part]
    ordered = [order_numbers(family) for family in families]
    bought, lines = _describe_families(families, [numbers for numbers, _ in ordered], typed)
    problems: list[Problem] = []
    for family, (_, circle) in zip(families, ordered, strict=True):
        problems += (*circle, *check_family(family))
    parts = {part.key: part for part in (*bought, *_list_originals(log))}
    keys = {name: part.key for part in parts.values() for name in (part.key, *part.aliases)}
    # Keys first: what an owner typed as a key means that part, even where it is another's number.
    for number, key in _number_keys(bought):
        keys.setdefault(number, key)
    return PartNames(parts=parts, keys=keys, lines=lines), (*_check_reserved(log), *problems)


def _describe_families(
    families: Iterable[Family], numbers: Iterable[Mapping[Number, str]], typed: Iterable[str]
) -> tuple[list[Part], dict[Place, str]]:
    """The parts, and the key of each line's part by the line's place; `numbers` are each family's, newest first."""
    # A number makes no key that an owner uses, be it further down: keys are addresses, and stay what they are.
    taken = set(typed)
    parts, lines = [], {}
    for family, mine in zip(families, numbers, strict=True):
        part = _describe(family, _choose_key(family, taken), mine)
        parts.append(part)
        lines.update({mention.line.place: part.key for mention in family})
    return parts, lines


def _choose_key(family: Family, taken: set[str]) -> str:
    for mention in family:
        if mention.line.part:
            return mention.line.part
    maker, number = family[0].number or ("", "")
    short, long = make_key(number) or "number", make_key(f"{maker} {number}") or "number"
    # The bare number while it is free: it is what an owner would type.
    choices = chain((short, long), (f"{long}-{n}" for n in count(2)))
    key = next(choice for choice in choices if choice not in taken)
    taken.add(key)
    return key


def _describe(family: Family, key: str, numbers: Mapping[Number, str]) -> Part:
    lines = [mention.line for mention in family]
    typed = dict.fromkeys(line.part for line in lines if line.part)
    # With a key, `what:` is what was bought this time; without one it is all the name there is.
    names = [line.name for line in lines] + [line.what for line in lines if not line.part]
    makers = {
        mention.number[1] if mention.number else "": mention.line.maker for mention in family if mention.line.maker
    }
    # A supersession may change the maker; the part is then of the one who makes it today.
    newest = makers.get(next(iter(numbers))[1]) if numbers else None
    return Part(
        key=key,
        aliases=tuple(name for name in typed if name != key),
        name=_first(names) or (plain_name(key) if typed else lines[0].number or key),
        numbers=tuple(numbers.values()),
        maker=newest or _first(makers.values()) or _first(line.maker for line in lines),
        system=_first(mention.system for mention in family),
        unit=_first(line.unit for line in lines),
        spec=_first(line.spec for line in reversed(lines)),
        single_use=any(line.single_use for line in lines),
    )


def _first(texts: Iterable[str | None]) -> str | None:
    return next(filter(None, texts), None)


def _check_reserved(log: Log) -> Iterator[Problem]:
    for entry in log.entries:
        for line in (line for order in entry.bought for line in order.lines):
            # Such a key would mean two things in `removed:` and in addresses.
            if line.part and (line.part == ORIGINAL or line.part.startswith(f"{ORIGINAL}-")):
                yield Problem(
                    rule="reserved-name",
                    message=f"`{line.part}` cannot be bought: `original` means the machine's own parts",
                    place=line.field_place("part"),
                    help="give the part a different short name, as in `lift-pump`",
                )


def _list_originals(log: Log) -> Iterator[Part]:
    seen: set[str] = set()
    for entry in log.entries:
        for removed in entry.removed:
            if removed.part == ORIGINAL and removed.name:
                # Made where one comes off: until then nothing was told of it.
                key = original_key(removed.name)
                if key not in seen:
                    seen.add(key)
                    system = removed.system or only_system(entry)
                    yield Part(key=key, name=removed.name, system=system, spec="original", original=True)


def _number_keys(parts: Iterable[Part]) -> Iterator[tuple[str, str]]:
    """Numbers written as keys that lead to one part only."""
    owners: dict[str, list[str]] = {}
    for part in parts:
        for number in dict.fromkeys(make_key(fold_number(number)) for number in part.numbers):
            owners.setdefault(number, []).append(part.key)
    # A number that two makers use leads nowhere: better asked than guessed.
    return ((number, keys[0]) for number, keys in owners.items() if len(keys) == 1)


def find_named(
    names: PartNames, record: LogRecord, part: str, *, bought: Callable[[], Choices], name: str | None, field_place: str
) -> str | Problem:
    """The key of the part that a record names, or the problem with it.

    `part` is what was written, `name` the name of an original, `field_place` the field to point at; `bought` gives what
    may have been meant, see `list_bought`.
    """
    if part == ORIGINAL:
        return _find_original(names, record, name)
    if part in names.keys:
        return names.keys[part]
    own = "{part: original, name: " + plain_name(part) + "}"
    return Problem(
        rule="unknown-part",
        message=f"there is no part `{part}`: no order in this log includes it",
        place=record.field_place(field_place),
        help=suggest(part, bought()) or f"add the order it came from; one of the machine's own parts is `{own}`",
    )


def list_bought(names: PartNames) -> Choices:
    """The keys by which parts can be named, to suggest one of them."""
    # The machine's own are never typed by their key, so none is suggested.
    return Choices(name for name, key in names.keys.items() if not names.parts[key].original)


def _find_original(names: PartNames, record: LogRecord, name: str | None) -> str | Problem:
    if not name:
        return Problem(
            rule="original-without-name",
            message="`original` alone does not say which of the machine's own parts it is",
            place=record.field_place("part"),
            help="{part: original, name: Lift pump}",
        )
    if (key := original_key(name)) in names.parts:
        return key
    known = [part.name for part in names.parts.values() if part.original]
    return Problem(
        rule="unknown-part",
        message=f"no original `{name}` was taken off in this log",
        place=record.field_place("name"),
        help=suggest(name, known) or "say where it came off: removed: {part: original, name: " + name + "}",
    )
