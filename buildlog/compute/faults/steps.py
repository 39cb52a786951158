"""What one fault's story is made of: suspects, checks, fixes and sightings, as records for figures and pages.

`faults.stories` reads them off the entries; `faults` makes the figures.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from buildlog.frozen import frozen
from buildlog.problems import Place

Verdict = Literal["left", "cleared", "condemned"]
"""What is known of a suspect. A condemned one whose fix did not hold is `left` again."""

FaultState = Literal["open", "narrowed", "cause known", "fixed, not proved", "proved"]
STATES: tuple[FaultState, ...] = ("open", "narrowed", "cause known", "fixed, not proved", "proved")
"In the order in which a fault goes through them; only `proved` is closed."
STATE_WORDS: Mapping[FaultState, str] = {
    "open": "open",
    "narrowed": "narrowed down",
    "cause known": "cause known",
    "fixed, not proved": "fixed, not confirmed",
    "proved": "confirmed fixed",
}
"The states as people read them; `figures.json` and `--json` keep the names above, since programs compare them."


@frozen
class SuspectFigures:
    """One component that may cause a fault, and what is known of it."""

    key: str
    "the component"
    name: str
    "as shown"
    group: str | None
    "key of the group that it was suspected with, where it was not named itself"
    since: datetime.date
    "the day from which it was suspected"
    entry: str
    "name of the entry that suspected it (the last time, where it was suspected again)"
    verdict: Verdict
    judged_on: datetime.date | None
    "the day that it was cleared or condemned; None: it is left"
    judged_in: str | None
    "name of the entry that says so"
    judged_by: str | None
    "the check's own words"


@frozen
class CheckFigures:
    """One check of a fault."""

    date: datetime.date
    entry: str
    did: str
    "what was done and seen"
    named: tuple[str, ...]
    "what it clears, as written: keys of components and groups"
    clears: tuple[str, ...]
    "keys of the components that it cleared, groups opened to their members"
    cause: str | None
    "key of the component that it condemned"
    hours: Decimal | None
    "None: not stated"
    left: int
    "suspects that were left after it"
    place: Place


@frozen
class FixFigures:
    """One fix of a fault, its proof, and whether it held."""

    date: datetime.date
    entry: str
    how: str | None
    cause: str | None
    "key of the component that was condemned when it was made"
    proved: str | None
    "what showed that the fault is gone; None: not proved"
    proved_on: datetime.date | None
    proved_in: str | None
    "name of the entry that tells the proof"
    failed_on: datetime.date | None
    "the day that the fault was seen again; None: it holds, as far as is known"
    place: Place


@frozen
class SightingFigures:
    """One time that a fault was seen again."""

    date: datetime.date
    entry: str
    note: str | None
    reopened: bool
    "whether it had been fixed before"
    place: Place
