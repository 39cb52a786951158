"""From a tree of texts to records: every problem of a file is found in one pass, each with its place.

A record is made whatever is wrong with it: a stand-in takes the place of a value that cannot be read, and a `Hole` is
noted. So what is written is never taken for missing, and one slip hides no other. Nothing but problems is made of a log
with an error. Which keys a record has is said in `fields`, how one text is read in `kinds`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from collections.abc import Mapping as Table
from difflib import get_close_matches
from types import MappingProxyType
from typing import Any, TypeVar, cast

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.fields import LogRecord, Slot, list_slots, pack_places
from buildlog.read.kinds import KEY, Kind, Unreadable
from buildlog.read.misfits import (
    Hole,
    explain_cut,
    explain_no_space,
    find_meant,
    list_names,
    list_texts,
    list_words,
    miss,
    refuse_dash,
    refuse_key,
    refuse_record,
    refuse_repeated,
    refuse_shape,
    refuse_table,
)
from buildlog.read.yaml_tree import Gap, Listing, Mapping, Node, Scalar

R = TypeVar("R", bound=LogRecord)
Slots = Table[str, Slot]
"The keys that a record reads, see `list_slots`."
Form = tuple[Slots, tuple[Slot, ...]]
"How a record is bound: its keys, and those that have to be written."

# Not None, which a field may rightly hold: a key that was left out.
MISSING: Any = object()
"Stands for a value that could not be read; its problem is told."


@frozen
class Named:
    """A name that should lead somewhere."""

    to: str
    "to what, see `Slot.to`"
    name: str
    "as it is written, where it could be read"
    place: Place
    "where it is written"


# Kept, as finding it out takes longer than binding a record, and a log has thousands of records.
_forms: dict[type[LogRecord], Form] = {}


def _know(record: type[LogRecord]) -> Form:
    slots = list_slots(record)
    form = _forms[record] = slots, tuple(slot for slot in slots.values() if slot.required)
    return form


class Binder:
    """Makes the records of a log, and gathers what is wrong, what could not be read, and which names were written."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.holes: list[Hole] = []
        self.named: list[Named] = []

    def bind(self, record: type[R], node: Node, **given: Any) -> R | None:
        """The record that a node describes, or None where it has no keys. `given` are fields not written there."""
        if isinstance(node, Mapping):
            return cast(R, self._bind_pairs(record, node, given))
        # what is wrong with a gap was reported where it could not be read
        if not isinstance(node, Gap):
            self.problems.append(refuse_record(node))
        self.note_gap("\n".join(list_texts(node)), node.place)
        return None

    def note_gap(self, text: str, place: Place) -> None:
        """Note lines that nothing could be read of."""
        self.holes.append(Hole(place=place, owner=place, keys=list_words(text), text=text))

    # ── records ──────────────────────────────────────────────────────────────────────────────────────────────────

    def _bind_pairs(self, record: type[LogRecord], node: Mapping, given: dict[str, Any]) -> LogRecord:
        slots, required = _forms.get(record) or _know(record)
        values, field_places = dict(given), dict[str, Place]()
        blanks: dict[str, Place] = {}
        before = len(self.holes)
        if node.lost:
            self._note(node.place, list_words(node.lost), node.lost)
        for key, slot, value in self._list_pairs(node, slots):
            # `key:` with nothing behind it is a key left out, so that a template can be filled in evening by evening
            if isinstance(value, Scalar) and value.blank:
                blanks[slot.field] = value.place
            elif slot.field not in values:
                field_places[slot.field] = value.place
                values[slot.field] = self._bind_value(slot, key, value, field_places)
            elif slot.shape == "list":  # written twice, which is told: all of it is read
                values[slot.field] += self._bind_value(slot, key, value, field_places)
            else:
                self._bind_value(slot, key, value, {})  # the first one counts; this one is read for its mistakes
        for slot in required:
            if slot.field not in values:
                self._miss(slot, node, blanks.get(slot.field))
                values[slot.field] = MISSING
        if any(value is MISSING for value in values.values()):
            # a stand-in and never the default: that would claim that nothing is written, as that an order is not paid
            for slot in slots.values():
                if values.get(slot.field) is MISSING:
                    values[slot.field] = self._stand_in(slot, node.place)
        if len(self.holes) > before:
            self._say_whose(before, node)
        return record(place=node.place, field_places=pack_places(field_places), **values)

    def _say_whose(self, before: int, node: Mapping) -> None:
        """Say of new holes that lie in no record inside this one whose they are, and what that is about."""
        for n, hole in enumerate(self.holes[before:], before):
            # line 0 is of no file: `_note` puts it where the record around a hole has yet to claim it
            if hole.owner.line == 0:
                # at the top of a file a key says nothing of the others, but for the day that they all hang on
                whole = node.place.path or hole.place.path in ("", "date")
                text = "\n".join([hole.text or "", *(list_names(node) if whole else ())])
                owner = node.place if whole else hole.place
                self.holes[n] = Hole(place=hole.place, owner=owner, keys=hole.keys, text=text)

    def _list_pairs(self, node: Mapping, slots: Slots) -> Iterable[tuple[Scalar, Slot, Node]]:
        """Each key with its slot and its value; what fits none, stands twice or was cut off is told."""
        keys = {key.text for key, _ in node.pairs}
        # as in nearly every block: each key is known and stands there once
        if len(keys) == len(node.pairs) and keys <= slots.keys():
            return [(key, slots[key.text], value) for key, value in node.pairs]
        return self._sort_out(node, slots)

    def _sort_out(self, node: Mapping, slots: Slots) -> Iterator[tuple[Scalar, Slot, Node]]:
        firsts: dict[str, Place] = {}
        for key, value in self._join_cuts(node, slots):
            slot = slots.get(key.text)
            if slot is None:
                self.problems.append(refuse_key(key, slots))
                # a misspelt key is read as the one that was meant, found as `suggest` finds it and so the one that its
                # help names; not where that one is written too, or it would be reported as written twice
                near = get_close_matches(key.text[:60], [each for each in slots if each not in firsts], n=1, cutoff=0.6)
                if not near or near[0] in {other.text for other, _ in node.pairs}:
                    self._note(key.place, list_words(key.text), "\n".join(list_texts(value)))
                    continue
                slot = slots[near[0]]
            elif key.text in firsts:
                self.problems.append(refuse_repeated(key, firsts[key.text], slot))
            firsts.setdefault(slot.key, key.place)
            yield key, slot, value

    def _join_cuts(self, node: Mapping, slots: Any) -> Iterator[tuple[Scalar, Node]]:
        """The pairs, without pieces that commas cut off a value inside braces: each run of them is one problem."""
        # outside braces a comma is a letter like any other
        if not (node.braces and any(key.text not in slots and _is_cut_off(key, value) for key, value in node.pairs)):
            yield from node.pairs
            return
        head: tuple[Scalar, Node] | None = None
        pieces: list[Scalar] = []
        for key, value in node.pairs:
            if key.text in slots or not _is_cut_off(key, value):
                yield from self._close_cut(head, pieces, slots)
                head, pieces = (key, value), []
            # inside braces YAML takes `qty:2` for a key without a value
            elif re.match(r"[\w-]+:\S", key.text):
                self.problems.append(explain_no_space(key))
                name, _, text = key.text.partition(":")
                yield Scalar(name, key.place, True), Scalar(text, key.place, True)
            else:
                pieces.append(key)
        yield from self._close_cut(head, pieces, slots)

    def _close_cut(
        self, head: tuple[Scalar, Node] | None, pieces: list[Scalar], slots: Any
    ) -> Iterator[tuple[Scalar, Node]]:
        """A key with its value, which cannot be read where commas cut pieces off it."""
        if pieces:
            self.problems.append(explain_cut(head, pieces, slots.get(head[0].text) if head else None))
            text = ", ".join(piece.text for piece in pieces)
            # half a value is never read: `1,250.00` cut to `1` would be a wrong price that looks right
            if head is None:
                self._note(pieces[0].place, frozenset(), text)
            elif isinstance(head[1], Scalar):
                head = head[0], Gap(f"{head[1].text}, {text}", head[1].place)
        if head is not None:
            yield head

    def _miss(self, slot: Slot, node: Mapping, blank: Place | None) -> None:
        # a key that stands in a line nobody could read is not missing: the line itself has been reported
        if not re.search(rf"(?<![\w-]){re.escape(slot.key)}(?![\w-])", node.lost):
            self.problems.append(miss(slot, blank or node.place, blank=blank is not None))
        self._note(blank or node.place, frozenset([slot.key]), "")

    # ── values ───────────────────────────────────────────────────────────────────────────────────────────────────

    def _bind_value(self, slot: Slot, key: Scalar, node: Node, field_places: dict[str, Place]) -> Any:
        if slot.shape == "one":
            return self._bind_one(slot, node)
        if slot.shape == "table":
            return self._bind_table(slot, node, field_places)
        if not isinstance(node, Listing) or _is_row(slot, node):
            value = self._bind_one(slot, self._mend_dash(key, node))
            return () if value is MISSING else (value,)
        values = []
        for item in node.items:
            if isinstance(item, Scalar):
                # a dash with nothing behind it waits to be filled in, as a key does
                if item.blank:
                    continue
                field_places[f"{slot.field} {item.text}"] = item.place
            value = self._bind_one(slot, item)
            if value is not MISSING:
                values.append(value)
        return tuple(values)

    def _mend_dash(self, key: Scalar, node: Node) -> Node:
        """A text below its key that starts with a dash is an item of a list, which is told."""
        # on the key's own line a text may well start with a dash, as `-5` does
        if not (
            isinstance(node, Scalar) and node.plain and re.match(r"-\S", node.text) and node.place.line > key.place.line
        ):
            return node
        self.problems.append(refuse_dash(node))
        return node._replace(text=node.text[1:])

    def _bind_table(self, slot: Slot, node: Node, field_places: dict[str, Place]) -> Any:
        if isinstance(node, Gap):
            return self._give_up(slot, node)
        if not isinstance(node, Mapping):
            return self._refuse(slot, node, refuse_table(slot, node))
        values: dict[str, Any] = {}
        firsts: dict[str, Place] = {}
        for key, value_node in self._join_cuts(node, {}):
            before = len(self.holes)
            name, value = self._read_scalar(KEY, key, slot.key), self._bind_one(slot, value_node)
            # a name that could not be read has been reported; that its stand-in leads nowhere is no news
            if slot.to is not None and name == key.text:
                self.named.append(Named(to=slot.to, name=name, place=key.place))
            if name in firsts:
                self.problems.append(refuse_repeated(key, firsts[name], None))
            firsts.setdefault(name, key.place)
            # other files speak of what is in here by this name: without it they would be reported as leading nowhere
            self.holes[before:] = [
                Hole(place=hole.place, owner=hole.owner, keys=hole.keys, text=f"{hole.text}\n{name}")
                for hole in self.holes[before:]
            ]
            field_places[f"{slot.field} {name}"] = key.place
            values[name] = self._stand_in_one(slot, key.place) if value is MISSING else value
        return MappingProxyType(values)

    def _bind_one(self, slot: Slot, node: Node) -> Any:
        """The value of a node, or `MISSING`."""
        kind = slot.kind
        if isinstance(node, Scalar) and isinstance(kind, Kind):
            return self._read_scalar(kind, node, slot.key, slot.to if slot.shape != "table" else None)
        if isinstance(node, Gap):
            return self._give_up(slot, node)
        if isinstance(kind, Kind):
            if _is_row(slot, node):
                text = " ".join(item.text for item in cast("tuple[Scalar, ...]", node[0]))
                return self._read_scalar(kind, Scalar(text, node.place, True), slot.key)
            wanted = kind.name
        elif isinstance(node, Mapping):
            return self._bind_pairs(kind, node, {})
        elif kind.SHORT is not None and isinstance(node, Scalar):
            pairs = ((Scalar(kind.SHORT, node.place, True), node),)
            return self._bind_pairs(kind, Mapping(pairs, node.place, False), {})
        else:
            wanted = "keys with values"
        return self._refuse(slot, node, refuse_shape(slot, node, wanted))

    def _read_scalar(self, kind: Kind, node: Scalar, key: str, to: str | None = None) -> Any:
        """What a text says; where it cannot be read, what its remedy says, else a stand-in."""
        try:
            value = kind.read(node.text)
        except Unreadable as why:
            help, value = find_meant(kind, node.text, why.help)
            self.problems.append(Problem(rule="unreadable-value", message=why.message, place=node.place, help=help))
            # both spellings, as elsewhere the name may be written as here or as it is meant
            self._note(node.place, frozenset([key]), f"{node.text}\n{value}")
            return value
        if to is not None:
            self.named.append(Named(to=to, name=value, place=node.place))
        return value

    def _give_up(self, slot: Slot, node: Gap) -> Any:
        self._note(node.place, list_words(node.text) | {slot.key}, node.text)
        return MISSING

    def _refuse(self, slot: Slot, node: Node, problem: Problem) -> Any:
        self.problems.append(problem)
        text = "\n".join(list_texts(node))
        self._note(node.place, list_words(text) | {slot.key}, text)
        return MISSING

    def _note(self, place: Place, keys: frozenset[str], text: str) -> None:
        """Note a hole; whose it is, the record around it says."""
        self.holes.append(Hole(place=place, owner=Place(place.file, 0), keys=keys, text=text))

    def _stand_in(self, slot: Slot, place: Place) -> Any:
        if slot.shape == "table":
            return MappingProxyType({})
        if slot.shape == "list":
            return ()
        return self._stand_in_one(slot, place)

    def _stand_in_one(self, slot: Slot, place: Place) -> Any:
        return slot.kind.stand_in("") if isinstance(slot.kind, Kind) else self._make_blank(slot.kind, place)

    def _make_blank(self, record: type[LogRecord], place: Place) -> LogRecord:
        # what may be left out is left out: the fewer stand-ins, the less follows from them
        slots = [slot for slot in list_slots(record).values() if slot.required]
        return record(place=place, **{slot.field: self._stand_in(slot, place) for slot in slots})


def _is_row(slot: Slot, node: Node) -> bool:
    """Whether the node is one value that is written as a list, as a box is."""
    if not (isinstance(slot.kind, Kind) and slot.kind.row and isinstance(node, Listing)):
        return False
    return bool(node.items) and all(isinstance(item, Scalar) for item in node.items)


def _is_cut_off(key: Scalar, value: Node) -> bool:
    """Whether a key has no value inside braces: then it is the rest of a text that a comma cut in two."""
    if not (isinstance(value, Scalar) and value.blank):
        return False
    # the parser sets the empty value of `{a, b}` right behind the key, and of `{a: , b}` behind its colon
    return value.place.line > key.place.line or value.place.column == key.place.column + len(key.text)
