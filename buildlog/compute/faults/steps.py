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
from buildlog.text import to_say

Verdict = Literal["left", "cleared", "condemned"]
"""What is known of a suspect; `condemned`: found faulty. One whose fix did not hold is `left` again."""

FaultState = Literal["open", "narrowed", "cause known", "fixed, not proved", "proved"]
STATES: tuple[FaultState, ...] = ("open", "narrowed", "cause known", "fixed, not proved", "proved")
"In the order in which a fault goes through them; only `proved` is closed."
STATE_WORDS: Mapping[FaultState, str] = {
    "open": to_say("open"),
    "narrowed": to_say("narrowed down"),
    "cause known": to_say("cause known"),
    "fixed, not proved": to_say("fixed, not confirmed"),
    "proved": to_say("confirmed fixed"),
}
"The states as people read them; `figures.json` and `--json` keep the names above, since programs compare them."


# Each of these is frozen: a later entry that judges a suspect or proves a fix puts a new one in its place, so that what
# an earlier figure holds cannot change behind its back.
@frozen
class SuspectFigures:
    """One component that may cause a fault, and what is known of it."""

    key: str
    "key of the component"
    name: str
    "as shown"
    group: str | None
    "key of the group that it was suspected with; None where it was named itself"
    since: datetime.date
    "the day from which it was suspected"
    entry: str
    "name of the entry that suspected it (the last time, where it was suspected again)"
    verdict: Verdict
    "what is known of it on the day"
    judged_on: datetime.date | None
    "the day that it was cleared or found faulty; None: it is left"
    judged_in: str | None
    "name of the entry that says so; None: it is left"
    judged_by: str | None
    "the check in the owner's words; None: it is left"


@frozen
class CheckFigures:
    """One check of a fault."""

    date: datetime.date
    "the day of its entry"
    entry: str
    "name of that entry"
    did: str
    "what was done and seen"
    named: tuple[str, ...]
    "what it clears, as written: keys of components and groups"
    clears: tuple[str, ...]
    "keys of the components that it cleared, groups opened to their members"
    cause: str | None
    "key of the component that it found faulty; None: it found none"
    hours: Decimal | None
    "how long it took; None: not stated"
    left: int
    "suspects that were left after it"
    place: Place
    "where it is written"


@frozen
class FixFigures:
    """One fix of a fault, its proof, and whether it held."""

    date: datetime.date
    "the day of its entry"
    entry: str
    "name of that entry"
    how: str | None
    "what was done; None: not stated"
    cause: str | None
    "key of the component known to be the cause when it was made; None: none was known"
    proved: str | None
    "what showed that the fault is gone; None: not proved"
    proved_on: datetime.date | None
    "the day of the proof, which may be in a later entry; None: not proved"
    proved_in: str | None
    "name of the entry with the proof; None: not proved"
    failed_on: datetime.date | None
    "the day that the fault was seen again; None: it holds, as far as is known"
    place: Place
    "where it is written"


@frozen
class SightingFigures:
    """One time that a fault was seen again."""

    date: datetime.date
    "the day of its entry"
    entry: str
    "name of that entry"
    note: str | None
    "what the owner says of it; None: nothing"
    reopened: bool
    "whether there was a fix by then, which so proved not to hold"
    place: Place
    "where it is written"
