"""From a tree of texts to records: every problem of a file is found in one pass, each with its place.

Which keys a record has is said in `fields`, how one text is read in `kinds`; where a name leads, in `names`.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Any, TypeVar, cast

from buildlog.problems import Place, Problem, suggest
from buildlog.source.fields import Record, Slot, list_slots
from buildlog.source.kinds import KEY, Kind, Unreadable, show
from buildlog.source.spelling import explain_number
from buildlog.source.yaml_remedies import quote
from buildlog.source.yaml_tree import Listing, Mapping, Node, Scalar

R = TypeVar("R", bound=Record)

MISSING: Any = object()
"Stands for a value that could not be read; its problem is already told."


def bind_record(record: type[R], node: Node, problems: list[Problem], **given: Any) -> R | None:
    """The record that a node describes, or None when a part of it that must be there cannot be read.

    Adds what is wrong to `problems`. `given` are fields that do not come from the node.
    """
    if isinstance(node, Mapping):
        value = _bind_pairs(record, node, problems, given)
        return None if value is MISSING else cast(R, value)
    help = "write `key: value`, one on each line"
    if isinstance(node, Scalar) and re.match(r"[\w-]+:\S", node.text):
        help = f"put a space behind the colon: `{node.text.split()[0].replace(':', ': ', 1)}`"
    problems.append(Problem(rule="wrong-shape", message="there are no keys here", place=node.place, help=help))
    return None


def _bind_pairs(record: type[Record], node: Mapping, problems: list[Problem], given: dict[str, Any]) -> Any:
    slots = list_slots(record)
    values = dict(given)
    spots: dict[str, Place] = {}
    blanks: dict[str, Place] = {}
    for key, value in node.pairs:
        slot = slots.get(key.text)
        if slot is None:
            if not _is_cut_off(key, value, node):
                problems.append(_refuse_key(key, slots))
        elif isinstance(value, Scalar) and value.blank:
            blanks[slot.field] = value.place
        else:
            spots[slot.field] = value.place
            values[slot.field] = _bind_value(slot, value, problems, spots)
    cuts = _find_cuts(node, slots) if node.braces else ()
    problems += cuts
    whole = True
    for slot in slots.values():
        if slot.required and values.get(slot.field, MISSING) is MISSING:
            whole = False
            if slot.field not in values and not any(cut.rule == "yaml-space" for cut in cuts):
                problems.append(_miss(slot, node, blanks.get(slot.field)))
    if not whole:
        return MISSING
    kept = {field: value for field, value in values.items() if value is not MISSING}
    return record(place=node.place, spots=spots, **kept)


def _bind_value(slot: Slot, node: Node, problems: list[Problem], spots: dict[str, Place]) -> Any:
    if slot.shape == "one":
        return _bind_one(slot, node, problems)
    if slot.shape == "table":
        return _bind_table(slot, node, problems, spots)
    if not isinstance(node, Listing) or _is_row(slot, node):
        value = _bind_one(slot, node, problems)
        return () if value is MISSING else (value,)
    values = []
    for item in node.items:
        if isinstance(item, Scalar):
            if item.blank:
                continue
            spots[f"{slot.field} {item.text}"] = item.place
        value = _bind_one(slot, item, problems)
        if value is not MISSING:
            values.append(value)
    return tuple(values)


def _bind_table(slot: Slot, node: Node, problems: list[Problem], spots: dict[str, Place]) -> Any:
    if not isinstance(node, Mapping):
        message = f"`{slot.key}` wants names, each with its value"
        help = f"write `{slot.key}: {{first-name: …, second-name: …}}`"
        problems.append(Problem(rule="wrong-shape", message=message, place=node.place, help=help))
        return MISSING
    values = {}
    for key, value_node in node.pairs:
        if _is_cut_off(key, value_node, node):
            continue
        name = _read_scalar(KEY, key, problems)
        value = _bind_one(slot, value_node, problems)
        if name is not MISSING and value is not MISSING:
            spots[f"{slot.field} {name}"] = key.place
            values[name] = value
    if node.braces:
        problems += _find_cuts(node, {})
    return MappingProxyType(values)


def _bind_one(slot: Slot, node: Node, problems: list[Problem]) -> Any:
    kind = slot.kind
    if isinstance(kind, Kind):
        if isinstance(node, Scalar):
            return _read_scalar(kind, node, problems)
        if _is_row(slot, node):
            text = " ".join(item.text for item in cast("tuple[Scalar, ...]", node[0]))
            return _read_scalar(kind, Scalar(text, node.place, True), problems)
        wanted = kind.name
    elif isinstance(node, Mapping):
        return _bind_pairs(kind, node, problems, {})
    elif kind.SHORT is not None and isinstance(node, Scalar):
        pairs = ((Scalar(kind.SHORT, node.place, True), node),)
        return _bind_pairs(kind, Mapping(pairs, node.place, False), problems, {})
    else:
        wanted = "keys with values"
    problems.append(_refuse_shape(slot, node, wanted))
    return MISSING


def _is_row(slot: Slot, node: Node) -> bool:
    """Whether the node is one value that is written as a list, as a box is."""
    if not (isinstance(slot.kind, Kind) and slot.kind.row and isinstance(node, Listing)):
        return False
    return bool(node.items) and all(isinstance(item, Scalar) for item in node.items)


def _read_scalar(kind: Kind, node: Scalar, problems: list[Problem]) -> Any:
    try:
        return kind.read(node.text)
    except Unreadable as why:
        problems.append(Problem(rule="unreadable-value", message=why.message, place=node.place, help=why.help))
        return MISSING


def _refuse_shape(slot: Slot, node: Node, wanted: str) -> Problem:
    found = "a list" if isinstance(node, Listing) else "a block of keys" if isinstance(node, Mapping) else "a text"
    if isinstance(slot.kind, Kind):
        help = f"write `{slot.key}: …` with one value" if slot.shape == "one" else f"write `{slot.key}: [one, two]`"
    else:
        slots = list_slots(slot.kind).values()
        shown = [f"{each.key}: …" for each in slots if each.required] or [f"{next(iter(slots)).key}: …"]
        help = f"write `{slot.key}: {{{', '.join(shown)}}}`"
    message = f"`{slot.key}` wants {wanted}, not {found}"
    return Problem(rule="wrong-shape", message=message, place=node.place, help=help)


def _miss(slot: Slot, owner: Mapping, blank: Place | None) -> Problem:
    message = f"`{slot.key}` is missing" if blank is None else f"`{slot.key}` has no value"
    help = f"write `{slot.key}: …`: {slot.says}"
    return Problem(rule="missing-key", message=message, place=blank or owner.place, help=help)


def _refuse_key(key: Scalar, slots: Any) -> Problem:
    if key.text == "<<":
        message, help = "`<<` would merge other keys in; nothing is merged here", "write the keys out"
        return Problem(rule="yaml-reference", message=message, place=key.place, help=help)
    message = f"the key {show(key.text)} is not known here"
    help = suggest(key.text, slots) or "delete it, or tell it in the story below the front matter"
    return Problem(rule="unknown-key", message=message, place=key.place, help=help)


def _is_cut_off(key: Scalar, value: Node, owner: Mapping) -> bool:
    """Whether a key has no value inside braces: then it is the rest of a text that a comma cut in two."""
    if not (owner.braces and isinstance(value, Scalar) and value.blank):
        return False
    return value.place.line > key.place.line or value.place.column == key.place.column + len(key.text)


def _find_cuts(owner: Mapping, slots: Any) -> list[Problem]:
    """One problem for each run of pieces that commas cut off a value inside braces."""
    problems = []
    head: tuple[Scalar, Node] | None = None
    pieces: list[Scalar] = []
    for key, value in (*owner.pairs, (Scalar("", owner.place, True), Listing((), owner.place))):
        if key.text not in slots and _is_cut_off(key, value, owner):
            pieces.append(key)
            continue
        if pieces:
            problems.append(_explain_cut(head, pieces))
        head, pieces = (key, value), []
    return problems


def _explain_cut(head: tuple[Scalar, Node] | None, pieces: list[Scalar]) -> Problem:
    first = pieces[0]
    if re.match(r"[\w-]+:\S", first.text):
        message, help = "no space behind the colon", f"write `{first.text.replace(':', ': ', 1)}`"
        return Problem(rule="yaml-space", message=message, place=first.place, help=help)
    texts = [head[1].text] if head and isinstance(head[1], Scalar) else []
    texts += [piece.text for piece in pieces]
    if all(re.fullmatch(r"[0-9.]+", text) for text in texts):
        help = explain_number(",".join(texts))
        message = f"a comma cut this number in two: `{first.text}` stands alone"
    else:
        help = f"put the whole text in quotes: {head[0].text + ': ' if head else ''}{quote(', '.join(texts))}"
        message = f"a comma cut this text in two: `{first.text}` stands alone"
    return Problem(rule="comma-in-braces", message=message, place=first.place, help=help)
