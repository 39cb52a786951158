"""From a tree of texts to records: every problem of a file is found in one pass, each with its place."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, TypeVar

from buildlog.problems import Problem, suggest
from buildlog.source.fields import Record, Slot, list_slots
from buildlog.source.kinds import KEY, Kind, Unreadable
from buildlog.source.yaml_tree import Listing, Mapping, Node, Scalar

R = TypeVar("R", bound=Record)


class _Missing:
    """Stands for a value that could not be read; its problem is already told."""


MISSING = _Missing()


def bind_record(record: type[R], node: Node, problems: list[Problem], **given: Any) -> R | None:
    """The record that a node describes, or None when a part of it that must be there cannot be read.

    Adds what is wrong to `problems`. `given` are fields that do not come from the node.
    """
    value = _bind_record(record, node, problems, given)
    return None if isinstance(value, _Missing) else value


def _bind_record(record: type[R], node: Node, problems: list[Problem], given: dict[str, Any]) -> R | _Missing:
    slots = list_slots(record)
    if isinstance(node, Scalar) and record.SHORT is not None:
        short = next(slot for slot in slots.values() if slot.field == record.SHORT)
        node = Mapping(((Scalar(short.key, node.place, True), node),), node.place, False)
    if not isinstance(node, Mapping):
        expected = "keys with values: " + ", ".join(f"`{key}`" for key in slots)
        problems.append(
            Problem(rule="wrong-shape", message="a block of keys was expected here", place=node.place, help=expected)
        )
        return MISSING
    values = dict(given)
    spots = {}
    for key, value_node in node.pairs:
        slot = slots.get(key.text)
        if slot is None:
            problems.append(_unknown_key(key, value_node, node, slots))
        elif not _is_blank(value_node):
            spots[slot.field] = value_node.place
            values[slot.field] = _bind_slot(slot, value_node, problems)
    complete = _check_required(slots, node, values, problems)
    kept = {name: value for name, value in values.items() if not isinstance(value, _Missing)}
    return record(place=node.place, spots=spots, **kept) if complete else MISSING


def _check_required(slots: Any, node: Mapping, values: dict[str, Any], problems: list[Problem]) -> bool:
    complete = True
    for slot in slots.values():
        if slot.required and slot.field not in values:
            message = f"`{slot.key}` is missing"
            problems.append(
                Problem(rule="missing-key", message=message, place=node.place, help=f"add `{slot.key}:` — {slot.says}")
            )
        complete = complete and not (slot.required and isinstance(values.get(slot.field, MISSING), _Missing))
    return complete


def _bind_slot(slot: Slot, node: Node, problems: list[Problem]) -> Any:
    if slot.shape == "table":
        return _bind_table(slot, node, problems)
    if slot.shape == "list":
        items = node.items if isinstance(node, Listing) and not _is_row(slot, node) else (node,)
        values = [_bind_one(slot, item, problems) for item in items if not _is_blank(item)]
        return tuple(value for value in values if not isinstance(value, _Missing))
    return _bind_one(slot, node, problems)


def _bind_table(slot: Slot, node: Node, problems: list[Problem]) -> Any:
    if not isinstance(node, Mapping):
        message = f"`{slot.key}` wants names, each with its value"
        problems.append(
            Problem(
                rule="wrong-shape",
                message=message,
                place=node.place,
                help=f"{slot.key}: {{first-name: …, second-name: …}}",
            )
        )
        return MISSING
    values = {}
    for key, value_node in node.pairs:
        name = _read_scalar(KEY, key, problems)
        value = _bind_one(slot, value_node, problems)
        if not isinstance(name, _Missing) and not isinstance(value, _Missing):
            values[name] = value
    return MappingProxyType(values)


def _bind_one(slot: Slot, node: Node, problems: list[Problem]) -> Any:
    if not isinstance(slot.kind, Kind):
        return _bind_record(slot.kind, node, problems, {})
    if isinstance(node, Scalar):
        return _read_scalar(slot.kind, node, problems)
    if _is_row(slot, node):
        text = " ".join(item.text for item in node.items if isinstance(item, Scalar))  # type: ignore[union-attr]
        return _read_scalar(slot.kind, Scalar(text, node.place, True), problems)
    found = "a list" if isinstance(node, Listing) else "a block of keys"
    message = f"`{slot.key}` wants {slot.kind.name}, not {found}"
    help = f"{slot.key}: one value" if slot.shape == "one" else ""
    problems.append(Problem(rule="wrong-shape", message=message, place=node.place, help=help))
    return MISSING


def _is_row(slot: Slot, node: Node) -> bool:
    """Whether the node is one value that is written as a list, as a box is."""
    return (
        isinstance(slot.kind, Kind)
        and slot.kind.row
        and isinstance(node, Listing)
        and all(isinstance(i, Scalar) for i in node.items)
    )


def _read_scalar(kind: Kind, node: Scalar, problems: list[Problem]) -> Any:
    try:
        return kind.read(node.text)
    except Unreadable as why:
        problems.append(Problem(rule="unreadable-value", message=why.message, place=node.place, help=why.help))
        return MISSING


def _is_blank(node: Node) -> bool:
    return isinstance(node, Scalar) and node.plain and node.text in ("", "~", "null")


def _unknown_key(key: Scalar, value: Node, owner: Mapping, slots: Any) -> Problem:
    if owner.braces and _is_blank(value):
        if key.text.isdigit():
            message = f"`{key.text}` is what a comma cut off a number"
            help = "a point before the decimals, nothing between thousands: `1234.56`"
            return Problem(rule="comma-in-braces", message=message, place=key.place, help=help)
        message = f"`{key.text}` looks like the rest of a sentence that a comma cut in two"
        return Problem(
            rule="comma-in-braces",
            message=message,
            place=key.place,
            help='put the whole text in double quotes: {did: "first, then", …}',
        )
    message = f"the key `{key.text}` is not known here"
    return Problem(rule="unknown-key", message=message, place=key.place, help=suggest(key.text, slots))
