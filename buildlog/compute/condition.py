"""In what state is the machine, by what its log says: laid up or not, which list is unfinished, what is open?

What the log does not speak of is None here, and not zero: with no fault ever named, nobody said that there is none.
Whether a machine may be used is never worked out; only the owner, and who tests it, can say.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from buildlog.compute.faults.faults import FaultsFigures
from buildlog.compute.meter.use import list_pauses
from buildlog.compute.parts.deadlines import Deadline
from buildlog.compute.parts.suppliers import InThePost
from buildlog.compute.plans import ListFigures, PlanFigures
from buildlog.compute.service.due_status import Due
from buildlog.frozen import frozen
from buildlog.read.records import LaidUp, Settings


@frozen
class ConditionFigures:
    """The state of the machine on a day, as its log tells it."""

    laid_up: bool | None
    "whether it is laid up; None: the log names no time laid up that has begun"
    since: datetime.date | None
    "first day laid up, or the day after the last one; None as `laid_up`"
    checklist: ListFigures | None
    "the first of the owner's lists of which something is missing; with none missing the last; None: there is no list"
    all_ticked: datetime.date | None
    "the day of the last tick of that list; None: something is missing, or there is no list"
    worked_on: int
    "items of that list whose system was worked on after their tick"
    open_faults: int | None
    "faults without a proof that they are fixed; None: none was ever named"
    overdue: int | None
    "service items, fasteners and deadlines that are overdue; None: nothing is planned that could be"
    unknown: int
    "service items that are treated as due because their history is not known"
    in_the_post: int
    "lines of orders that have not come"


def compute_condition(
    settings: Settings,
    as_of: datetime.date,
    *,
    plans: PlanFigures,
    faults: FaultsFigures,
    due: Sequence[Due | Deadline],
    in_the_post: Sequence[InThePost],
) -> ConditionFigures:
    """The state on the day. A time laid up that begins later, and a list without items, count as not there."""
    idle, since = _find_last_pause(settings.laid_up, as_of)
    checklist = _pick_list(plans.lists)
    states = [item.state for item in due]
    return ConditionFigures(
        laid_up=idle,
        since=since,
        checklist=checklist,
        all_ticked=_find_last_tick(checklist),
        worked_on=sum(item.worked_on is not None for item in checklist.items) if checklist else 0,
        open_faults=sum(fault.closed is None for fault in faults.faults) if faults.faults else None,
        overdue=states.count("overdue") if states else None,
        unknown=states.count("history unknown"),
        in_the_post=len(in_the_post),
    )


def _find_last_pause(laid_up: Iterable[LaidUp], as_of: datetime.date) -> tuple[bool | None, datetime.date | None]:
    begun = [pause for pause in list_pauses(laid_up) if pause[0] <= as_of]
    if not begun:
        return None, None
    since, until = begun[-1]
    return (True, since) if as_of <= until else (False, until + datetime.timedelta(days=1))


def _pick_list(lists: Sequence[ListFigures]) -> ListFigures | None:
    """The list that the owner has come to: they stand in the order in which they have to be right."""
    filled = [one for one in lists if one.items]
    return next((one for one in filled if one.missing), filled[-1] if filled else None)


def _find_last_tick(checklist: ListFigures | None) -> datetime.date | None:
    if checklist is None or checklist.missing:
        return None
    return max(item.ticked for item in checklist.items if item.ticked is not None)
