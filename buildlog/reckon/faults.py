"""Where does each fault stand: what can it still be, what was checked, what did it cost?

The story of each fault is read by `fault_stories`; where to look next is for `look_next`.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from buildlog.problems import Place, Problem
from buildlog.reckon.cost_lines import CostLine
from buildlog.reckon.fault_steps import CheckFigures, FaultState, FixFigures, SightingFigures, SuspectFigures


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultFigures:
    """One fault as of a day."""

    key: str
    name: str
    "the symptom, as first named; else the key in plain words"
    state: FaultState
    suspects: tuple[SuspectFigures, ...]
    "in the order in which they were first suspected"
    left: tuple[str, ...]
    "keys of the suspects that are not cleared, the condemned one among them, in the same order"
    checks: tuple[CheckFigures, ...]
    "in the order of the log"
    cause: str | None
    "key of the condemned component; None while it is not known"
    cause_name: str | None
    "as shown"
    fixes: tuple[FixFigures, ...]
    "in the order of the log, those that did not hold included"
    sightings: tuple[SightingFigures, ...]
    "the times that it was seen again"
    opened: datetime.date
    opened_in: str
    "name of the entry that first tells of it"
    closed: datetime.date | None
    "the day of the proof; None: not proved"
    closed_in: str | None
    "name of the entry that tells the proof"
    days_open: int
    "days up to the proof, or to the day asked for; those between a proof and the next sighting left out"
    entries: tuple[str, ...]
    "names of the entries that touch it, in order: that name, check, fix, see it, or buy for it"
    parts_cost: Decimal
    "what was paid for it less what came back; home currency"
    cost_lines: tuple[CostLine, ...]
    "the lines that make it"
    check_hours: Decimal
    "stated hours of its checks; part of the own hours of their entries, never on top of them"
    checks_without_hours: int
    "checks whose hours are not stated, and so are in no sum"
    place: Place
    "where it is first told"


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLink:
    """One fault in one entry, with the way to the other entries about it."""

    fault: str
    "key"
    name: str
    before: FaultState | None
    "its state before the entry; None: the entry is the first that tells of it"
    after: FaultState | None
    "its state after the entry; None: no entry has told of it yet, and this one only buys for it"
    previous: str | None
    "name of the entry before about the same fault"
    next: str | None
    "name of the entry after about the same fault"


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultsFigures:
    """Every fault as of a day."""

    faults: tuple[FaultFigures, ...]
    "those not closed first, by state then by the day opened; then the closed ones, closed last first"
    by_entry: Mapping[str, tuple[FaultLink, ...]]
    "the faults that each entry touches, by entry name; entries that touch none are left out"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"
