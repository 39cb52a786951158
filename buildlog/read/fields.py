"""How a record says which keys it reads: the one definition behind reading, checking and the JSON Schemas.

A record is a frozen dataclass whose fields are made by `required`, `optional`, `list_of` and `map_of`. The reader, the
schema and the user's guide test all walk these definitions, so they cannot disagree.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, field, fields
from functools import lru_cache
from struct import Struct, pack
from sys import intern
from types import MappingProxyType
from typing import Any, ClassVar, Literal, NamedTuple

from buildlog.frozen import frozen, settle
from buildlog.problems import Place
from buildlog.read.kinds import Kind

# Line 0: no line of a file has that number, so it cannot be taken for one.
NOWHERE = Place("", 0, 0)
"The place of a record that was not read from disk."

NOTHING: Mapping[str, Any] = MappingProxyType({})

Shape = tuple[tuple[str, ...], tuple[str, ...]]
"Of the fields of a record: their names, and the keys that lead to each, in the order written."


class FieldPlaces(NamedTuple):
    """Where the fields of a record stand in its file, in few bytes: a long log has two hundred thousand of them.

    A field goes by its name, an item of a list or table by field, space and text. Names and keys are one text for all
    records that are written alike, as the pictures of all entries are.
    """

    shape: str = "[[], []]"
    "a `Shape` as JSON: opened only where somebody asks for a place"
    spots: bytes = b""
    "line and column of each, four bytes each"

    def find(self, file: str, name: str) -> Place | None:
        """The place of that field or item."""
        names, paths = open_shape(self.shape)
        if name not in names:
            return None
        at = names.index(name)
        line, column = SPOT.unpack_from(self.spots, at * SPOT.size)
        return Place(file, line, column, paths[at])

    def list_places(self, file: str) -> Iterator[tuple[str, Place]]:
        """Every name with its place."""
        for name, path, (line, column) in zip(*open_shape(self.shape), SPOT.iter_unpack(self.spots), strict=True):
            yield name, Place(file, line, column, path)


SPOT = Struct("II")
NO_PLACES = FieldPlaces()


def pack_places(places: Mapping[str, Place]) -> FieldPlaces:
    """The places of one record's fields, by name."""
    numbers = [number for place in places.values() for number in place[1:3]]
    shape = json.dumps([[*places], [place[3] for place in places.values()]])
    return FieldPlaces(shape, pack(f"{len(numbers)}I", *numbers)) if numbers else NO_PLACES


@lru_cache(maxsize=50_000)  # a preview goes on for days, and reads new texts all the time
def open_shape(shape: str) -> Shape:
    """Names and keys, out of their text."""
    names, paths = json.loads(shape)
    return tuple(names), tuple(paths)


@frozen
class LogRecord:
    """What every record carries beside its own fields."""

    SHORT: ClassVar[str | None] = None
    "the field, and the key, that a plain text stands for, where one does"

    place: Place = NOWHERE
    "where the record starts"
    # not compared: two records that say the same are equal, wherever they stand
    field_places: FieldPlaces = field(default=NO_PLACES, repr=False, compare=False)
    "where each field's value starts"

    def __post_init__(self) -> None:
        # Only out of bytes: there each text is a copy of its own, and thousands of records have the same ones.
        file, line, column, path = self.place
        settle(self, "place", Place(intern(file), line, column, intern(path)))
        shape, spots = self.field_places
        settle(self, "field_places", FieldPlaces(intern(shape), spots))

    def field_place(self, field_name: str, item: str = "") -> Place:
        """The place of one field, or of one item in it; of the record where that was not written."""
        find, file = self.field_places.find, self.place.file
        place = find(file, f"{field_name} {item}") if item else None
        return place or find(file, field_name) or self.place

    def is_written(self, field_name: str) -> bool:
        """Whether the owner wrote that field."""
        return field_name in open_shape(self.field_places.shape)[0]


Form = Literal["one", "list", "table"]


@dataclass(frozen=True, slots=True)
class Slot:
    """One key of a record."""

    key: str
    "as the owner types it"
    field: str
    "as the code calls it"
    # the type of the field could not say this: a `Decimal` is an amount, a percentage or hours
    kind: Kind | type[LogRecord]
    "of the value, or of each item or named value; a record for a block of keys"
    shape: Form
    "`one` value, a `list` of them (one alone may stand without the list), or a `table` of names with values"
    required: bool
    "whether it is a mistake to leave it out, or to leave it blank"
    says: str
    "what it means, for the guide and for editors"
    to: str | None = None
    "what in the log its texts name, as in `system`; of a table, its names; None: nothing that `reader` looks up"


@dataclass(frozen=True, slots=True)
class _Wish:
    """What a field's definition asks for; a `Slot` once the field's name is known."""

    kind: Kind | type[LogRecord]
    "see `Slot.kind`"
    says: str
    "see `Slot.says`"
    key: str | None
    "as the owner types it; None: as the field is called, which is so wherever Python allows that name"
    shape: Form
    "see `Slot.shape`"
    required: bool
    "see `Slot.required`"
    to: str | None
    "see `Slot.to`"


def required(kind: Kind | type[LogRecord], says: str, *, key: str | None = None, to: str | None = None) -> Any:
    """A field that has to be written."""
    return field(metadata={"wish": _Wish(kind, says, key, "one", True, to)})


def optional(
    kind: Kind | type[LogRecord], says: str, *, key: str | None = None, to: str | None = None, default: Any = None
) -> Any:
    """A field that may be left out or left empty."""
    return field(default=default, metadata={"wish": _Wish(kind, says, key, "one", False, to)})


def list_of(kind: Kind | type[LogRecord], says: str, *, key: str | None = None, to: str | None = None) -> Any:
    """A list, read into a tuple; a list of one may be written without the list."""
    return field(default=(), metadata={"wish": _Wish(kind, says, key, "list", False, to)})


def map_of(kind: Kind | type[LogRecord], says: str, *, key: str | None = None, to: str | None = None) -> Any:
    """Names of the owner's, each with a value, read into a read-only mapping."""
    return field(default_factory=lambda: NOTHING, metadata={"wish": _Wish(kind, says, key, "table", False, to)})


def list_slots(record: type[LogRecord]) -> Mapping[str, Slot]:
    """The keys that a record reads, in the order of its definition."""
    slots = _slots.get(record)
    if slots is None:
        slots = _slots[record] = _find_slots(record)
    return slots


# Kept, as finding the keys of a class takes longer than reading a record of it, and a log has thousands of records.
_slots: dict[type[LogRecord], Mapping[str, Slot]] = {}


def _find_slots(record: type[LogRecord]) -> Mapping[str, Slot]:
    slots = {}
    for item in fields(record):
        wish = item.metadata.get("wish")
        if wish is not None:
            key = wish.key or item.name
            required = wish.required and item.default is MISSING
            slots[key] = Slot(key, item.name, wish.kind, wish.shape, required, wish.says, wish.to)
    return MappingProxyType(slots)
