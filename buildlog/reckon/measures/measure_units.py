"""Which measurements of one thing can be compared, by their units?

Those of one kind of unit can be, converted; those of the same unknown unit can be, as written. A unit of another kind
is an error, as one of the two must be wrong; a word that means two units is an error where another has to be compared
with it; what only cannot be compared is a doubt.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from buildlog.problems import Problem
from buildlog.reckon.measures.same_words import fold_words
from buildlog.reckon.measures.unit_table import KIND_WORDS, explain_ambiguous, find_unit
from buildlog.source.records import Measured


def sort_series(records: Sequence[Measured]) -> tuple[tuple[Measured, ...], ...]:
    """The records that can be compared with each other, in the order of the first of each."""
    groups: dict[tuple[str, str], list[Measured]] = {}
    for record in records:
        groups.setdefault((fold_words(record.what), _name_measure(record)), []).append(record)
    return tuple(tuple(group) for group in groups.values())


def check_units(records: Sequence[Measured]) -> Iterator[Problem]:
    """One problem for each record whose unit cannot be compared with that of the first record of the same thing."""
    first: dict[str, Measured] = {}
    for record in records:
        before = first.setdefault(fold_words(record.what), record)
        if _name_measure(before) != _name_measure(record):
            yield _tell(before, record)


def _name_measure(record: Measured) -> str:
    """What values are compared by: the kind of the unit, else the unit as written."""
    unit = find_unit(record.unit) if record.unit else None
    return unit.kind if unit else f"as written: {' '.join((record.unit or '').split())}"


def _tell(before: Measured, record: Measured) -> Problem:
    here, there = (f"`{r.unit}`" if r.unit else "no unit" for r in (record, before))
    unit, other = (find_unit(r.unit) if r.unit else None for r in (record, before))
    places: dict[str, Any] = {"place": record.spot("unit"), "also": (before.spot("unit"),)}
    if unit and other:
        message = f"`{record.what}` is measured in {here}, {KIND_WORDS[unit.kind]}, and was in {there}"
        help = f"write a unit of the same kind as {there}, or call one of the two by another name"
        return Problem(rule="unit-kind", message=message, help=help, **places)
    message = f"`{record.what}` is measured in {here}, and was in {there}: the two cannot be compared"
    for vague in (record, before):
        if vague.unit and explain_ambiguous(vague.unit):
            message = f"`{vague.unit}` means more than one unit, and `{record.what}` has to be converted"
            help = explain_ambiguous(vague.unit)
            return Problem(rule="unit-ambiguous", message=message, help=help, place=vague.spot("unit"))
    help = "write the same unit in both, or call one of the two by another name"
    return Problem(rule="units-apart", message=message, help=help, severity="doubt", **places)
