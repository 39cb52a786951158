"""Which words of an entry or a standing page stand outside its story, and are found on its page by the search?

They hang on its own record and on `Names`, and nothing else is given to what lists them: so they are the same as long
as those two are, whatever becomes of figures.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from buildlog.frozen import frozen
from buildlog.read.records import Entry, LogRecord, PagePhoto, Photo, StandingPage, list_slots
from buildlog.text import list_search_words

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures

LONGEST_WORD = 40
"Letters of a word; what is longer is no word, and found by its first letters."

# By hand, and not by the kind of a field: what is added to the format is not in the index until somebody puts it here.
SAID: Mapping[str, str] = {
    "Entry": "title milestone done dropped unwanted",
    "Line": "name what number maker replaces_number unit shelf",
    "Returned": "why",
    "Sold": "name what",
    "Fitted": "name at note",
    "Removed": "name at why shelf",
    "Scrapped": "name why",
    "Serviced": "note",
    "MeterChange": "why",
    "Fault": "name",
    "Check": "did",
    "Fix": "how proved",
    "SeenAgain": "note",
    "Measured": "what unit note",
    "Tightened": "what to method",
    "Temporary": "what until",
    "Planned": "what",
    "Wanted": "what",
    "Ticked": "items note",
    "StandingPage": "title",
}
"Fields of each record that readers see whatever is closed, and that an entry is found by."
NAMES_SUPPLIER: Mapping[str, str] = {"Order": "supplier ref", "Serviced": "who", "Wanted": "supplier"}
"Fields that are found by where suppliers are shown."
SAYS_OF_PRICES: Mapping[str, str] = {"Extra": "what", "LineExtra": "what", "Charge": "what", "Untaxed": "why"}
"Fields that are found by where every line of an order is shown."
NAMED: Mapping[str, tuple[str, ...]] = {
    "part": ("part", "parts", "instead_of"),
    "fault": ("fault",),
    "service": ("item",),
    "component": ("suspects", "clears", "cause", "looked_at"),
    "strip-down": ("stripped", "refitted", "behind"),
    "list": ("list",),
}
"Fields that name something by its key, by what it is."
NAMING = frozenset(field for fields in NAMED.values() for field in fields)


@frozen
class Names:
    """What the words of a record hang on beside itself."""

    named: Mapping[str, Mapping[str, str]]
    "what keys stand for, as pages show it: by what they name, as in `NAMED`, then by key"
    systems: Mapping[str, str]
    "names of systems by key"
    suppliers: bool
    "whether suppliers are shown"
    prices: bool
    "whether every line of an order is shown"


def gather_names(figures: Figures, parts: Mapping[str, str]) -> Names:
    """The names of a log; `parts` are those of parts, by every key of theirs."""
    settings = figures.log.settings
    return Names(
        named={
            "part": parts,
            "fault": {fault.key: fault.name for fault in figures.faults.faults},
            "service": {key: item.name for key, item in settings.service.items()},
            "component": {key: component.name or key for key, component in settings.components.items()},
            "strip-down": {key: strip_down.name for key, strip_down in settings.strip_downs.items()},
            "list": {key: one.name for key, one in settings.lists.items()},
        },
        systems=settings.systems,
        suppliers=settings.public.suppliers == "shown",
        prices=settings.public.prices == "shown",
    )


class SaidWords:
    """Lists the words of records, by the names of one log."""

    def __init__(self, names: Names) -> None:
        self._names = names
        self._named = {field: names.named[kind] for kind, fields in NAMED.items() for field in fields}
        self._fields: dict[type[LogRecord], list[tuple[str, bool]]] = {}

    def find(self, told: Entry | StandingPage, photos: Iterable[str]) -> frozenset[str]:
        """The words of an entry or a standing page, with what its photos of these files show."""
        said: list[str] = []
        self._collect(told, said)
        there = {*photos}
        said += (photo.says for photo in told.photos if photo.says and photo.file in there)
        if isinstance(told, Entry):
            said += (self._names.systems.get(key, key) for key in told.systems)
        # A number is found as it is spaced in the log, and without its spaces.
        numbers = ("".join(list_search_words(number)) for number in _list_numbers(told))
        return take_up([*list_search_words("\n".join(said)), *numbers])

    def _collect(self, record: LogRecord, said: list[str]) -> None:
        """The texts of a record, and of all inside it, that readers see."""
        kind = type(record)
        fields = self._fields.get(kind)
        if fields is None:
            fields = self._fields[kind] = self._find_fields(kind)
        for field, stands in fields:
            value = getattr(record, field)
            if not value:
                continue
            for one in value if isinstance(value, tuple) else (value,):
                if isinstance(one, LogRecord):
                    self._collect(one, said)
                elif one and stands:
                    said.append(str(one))
                elif one and field in self._named and (name := self._named[field].get(str(one))) is not None:
                    said.append(name)

    def _find_fields(self, kind: type[LogRecord]) -> list[tuple[str, bool]]:
        """The fields of a record that have words, and whether these stand there or are named by their keys."""
        name = kind.__name__
        fields = SAID.get(name, "").split()
        fields += NAMES_SUPPLIER.get(name, "").split() if self._names.suppliers else []
        fields += SAYS_OF_PRICES.get(name, "").split() if self._names.prices else []
        found = []
        for slot in list_slots(kind).values():
            # What a duty was for stands on no page.
            if slot.kind in (Photo, PagePhoto) or (name, slot.field) == ("Order", "duty"):
                continue
            if slot.field in fields or slot.field in NAMING or isinstance(slot.kind, type):
                found.append((slot.field, slot.field in fields))
        return found


def _list_numbers(told: Entry | StandingPage) -> Iterator[str]:
    if isinstance(told, Entry):
        lines = (line for order in told.bought for line in order.lines)
        yield from (number for line in lines for number in (line.number, line.replaces_number) if number)


def take_up(words: Iterable[str]) -> frozenset[str]:
    """Those words that a search can find."""
    # As a set first: most words of a story stand there more than once.
    return frozenset([word[:LONGEST_WORD] for word in set(words) if len(word) > 1])
