"""What is taken apart, what is to be done behind it, and what was mended for the time being."""

from __future__ import annotations

from buildlog.compute.access.temporary import TemporaryFigures
from buildlog.compute.access.within_reach import Reach
from buildlog.compute.strip_downs.strip_downs import StripDownFigures, StripDownsFigures, Visit
from buildlog.handover.figures_file.spelling import Json


def write_temporary(temporary: TemporaryFigures) -> Json:
    return {
        "key": temporary.key,
        "what": temporary.what,
        "until": temporary.until,
        "behind": temporary.behind,
        "since": temporary.since,
        "entry": temporary.entry,
        "made_good": temporary.made_good,
        "made_good_in": temporary.made_good_in,
        "days": temporary.days,
    }


def write_strip_downs(strip_downs: StripDownsFigures) -> Json:
    return {
        "strip_downs": [*map(_write_strip_down, strip_downs.strip_downs)],
        "off": strip_downs.off,
        "again_hours": strip_downs.again_hours,
    }


def _write_strip_down(strip_down: StripDownFigures) -> Json:
    return {
        "key": strip_down.key,
        "name": strip_down.name,
        "hours": strip_down.hours,
        "needs": strip_down.needs,
        "total_hours": strip_down.total_hours,
        "off": strip_down.off,
        "off_since": strip_down.off_since,
        "off_in": strip_down.off_in,
        "visits": [*map(_write_visit, strip_down.visits)],
        "again_hours": strip_down.again_hours,
        "place": strip_down.place,
    }


def _write_visit(visit: Visit) -> Json:
    return {
        "key": visit.key,
        "off_on": visit.off_on,
        "off_in": visit.off_in,
        "back_on": visit.back_on,
        "back_in": visit.back_in,
        "implied": visit.implied,
    }


def write_reach(reach: Reach) -> Json:
    return {
        "kind": reach.kind,
        "key": reach.key,
        "name": reach.name,
        "reached_by": reach.reached_by,
        "needs": reach.needs,
        "fault": reach.fault,
        "fault_name": reach.fault_name,
        "hours": reach.hours,
        "state": reach.state,
        "due_on": reach.due_on,
        "since": reach.since,
        "qty": reach.qty,
        "entry": reach.entry,
    }
