"""What must come off to reach something, what is off on a day, and what was taken off more than once?

What lies behind it is for `apart`.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal

from buildlog.problems import Place, Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One time that a strip-down was off."""

    key: str
    "the strip-down"
    off_on: datetime.date
    off_in: str
    "name of the entry that took it off"
    back_on: datetime.date | None
    "None: still off"
    back_in: str | None
    "name of the entry that put it back"
    implied: bool
    "whether nobody wrote that it came off: something behind it did"


@dataclass(frozen=True, slots=True, kw_only=True)
class StripDownFigures:
    """One strip-down as of a day."""

    key: str
    name: str
    hours: Decimal
    "to take it off and put it back, what must come off first not included"
    needs: tuple[str, ...]
    "keys of all that must come off first, in an order in which they can"
    total_hours: Decimal
    "its own and those of all that it needs, each once"
    off: bool
    off_since: datetime.date | None
    off_in: str | None
    "name of the entry that took it off; None: it is on"
    visits: tuple[Visit, ...]
    "each time that it was off by the day, in order"
    again_hours: Decimal
    "hours spent on taking it off more than once: its hours for each time but the first"
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class StripDownsFigures:
    """Every strip-down as of a day."""

    strip_downs: tuple[StripDownFigures, ...]
    "in the order of `log.yaml`"
    off: tuple[str, ...]
    "keys of those that are off, in an order in which they can come off"
    again_hours: Decimal
    "hours of everything taken off more than once"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"
