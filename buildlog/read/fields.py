"""How a record says which keys it reads: the one definition behind reading, checking and the JSON Schemas.

A record is a frozen dataclass whose fields are made by `must`, `may`, `many` and `table`. The reader, the schema
and the user's guide test all walk these definitions, so they cannot disagree.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from types import MappingProxyType
from typing import Any, ClassVar, Literal

from buildlog.frozen import frozen
from buildlog.problems import Place
from buildlog.read.kinds import Kind

NOWHERE = Place("", 0, 0)
"The place of a record that was not read from disk."

NOTHING: Mapping[str, Any] = MappingProxyType({})


@frozen
class LogRecord:
    """What every record carries beside its own fields."""

    SHORT: ClassVar[str | None] = None
    "the field, and the key, that a plain text stands for, where one does"

    place: Place = NOWHERE
    "where the record starts"
    field_places: Mapping[str, Place] = field(default_factory=lambda: NOTHING, repr=False, compare=False)
    "where each field's value starts, by field name; an item of a list or table by field, space and text"

    def field_place(self, field_name: str, item: str = "") -> Place:
        """The place of one field, or of one item in it; of the record where that was not written."""
        place = self.field_places.get(f"{field_name} {item}") if item else None
        return place or self.field_places.get(field_name, self.place)


Shape = Literal["one", "list", "table"]


@dataclass(frozen=True, slots=True)
class Slot:
    """One key of a record."""

    key: str
    "as the owner types it"
    field: str
    "as the code calls it"
    kind: Kind | type[LogRecord]
    shape: Shape
    required: bool
    says: str
    "what it means, for the guide and for editors"
    to: str | None = None
    "what in the log its texts name, as in `system`; of a table, its names; None: nothing that `read.references` knows"


@dataclass(frozen=True, slots=True)
class _Wish:
    kind: Kind | type[LogRecord]
    says: str
    key: str | None
    shape: Shape
    required: bool
    to: str | None


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
