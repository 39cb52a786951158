"""While it is apart: what else is within reach and due, what does it save to do it now, and what does the shelf lack?

Also its counterpart, whether something was closed up with work left inside.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

ReachKind = Literal["suspect", "cause", "fix", "service", "temporary", "shelf"]
"""A suspect that is left; a cause that waits for its fix; a fix that waits for its proof; a service item that is due
within a year; a temporary measure; a part on the shelf."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """One strip-down that is off, or would come off."""

    key: str
    name: str
    hours: Decimal
    off_since: datetime.date | None
    "None: it is on, and would have to come off"
    asked: bool
    "whether it was asked for, or is off; False: it must come off first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """One thing to do that lies open once the strip-downs are off."""

    kind: ReachKind
    key: str
    "component (suspect, cause, fix), service item, temporary measure or part"
    name: str
    "as shown"
    fault: str | None
    "key of the fault: suspect, cause, fix"
    fault_name: str | None
    needs: tuple[str, ...]
    "keys of all strip-downs that lay it open, in an order in which they come off"
    hours: Decimal | None
    "to check it: suspect; None where not stated"
    state: str | None
    "service: `overdue`, `due`, `history unknown` or `later`"
    due_on: datetime.date | None
    "service: when it is due; None where not known"
    since: datetime.date | None
    "temporary: fitted for now since; fix: made on"
    qty: Decimal | None
    "shelf: how many lie there"
    entry: str | None
    "name of the entry that tells of it, where one does"


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """One part that the shelf lacks to do it all."""

    part: str
    "the part's key; the component's where no part of its name was ever bought"
    name: str
    number: str | None
    "the maker's, newest; None where not known"
    wanted: Decimal
    shelf: Decimal
    lacks: Decimal
    "wanted less shelf, above zero"
    in_the_post: Decimal
    why: tuple[str, ...]
    """what wants it: `service KEY` (it went in last time), `cause KEY` (condemned), `single use KEY` (fitted in the
    entry that put the strip-down KEY back last time)"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ApartFigures:
    """All that is worth doing while some strip-downs are off."""

    planned: tuple[str, ...]
    "keys of the strip-downs asked for"
    openings: tuple[Opening, ...]
    "everything that is off or would come off, in an order in which it can"
    hours_to_open: Decimal
    "of the openings that are still on"
    reach: tuple[Reach, ...]
    "suspects, causes, fixes, service items (most pressing first), temporary measures, shelf parts"
    separate_hours: Decimal
    "strip-down hours if each fault, item, measure and part had a visit of its own, from closed up"
    together_hours: Decimal
    "strip-down hours of one visit for all of them, each strip-down once"
    saved_hours: Decimal
    "separate less together"
    missing: tuple[Missing, ...]
    "in the order of `reach`"
