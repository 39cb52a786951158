"""What was serviced, when, and what is due."""

from __future__ import annotations

from buildlog.compute.service.due_status import Due
from buildlog.compute.service.items import ServiceFigures, ServiceItemFigures, ServiceRow
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures
from buildlog.compute.service.times import ServicePart, ServiceTime
from buildlog.handover.figures_file.meter import write_meter_reading
from buildlog.handover.figures_file.spelling import Json


def write_service(service: ServiceFigures) -> Json:
    return {"items": [*map(_write_service_item, service.items)]}


def _write_service_item(item: ServiceItemFigures) -> Json:
    return write_due(item) | {
        "system": item.system,
        "months": item.months,
        "distance": item.distance,
        "last": item.last and _write_service_time(item.last),
        "counted_from": item.counted_from,
        "total_unknown": item.total_unknown,
        "rows": [*map(_write_service_row, item.rows)],
        "place": item.place,
    }


def _write_service_time(service_time: ServiceTime) -> Json:
    return {
        "date": service_time.date,
        "when": service_time.when,
        "exact": service_time.exact,
        "total": service_time.total,
        "reading": service_time.reading and write_meter_reading(service_time.reading),
        "who": service_time.who,
        "what": service_time.what,
        "parts": [*map(_write_service_part, service_time.parts)],
        "level": service_time.level,
        "paper": service_time.paper,
        "note": service_time.note,
        "entry": service_time.entry,
        "place": service_time.place,
    }


def _write_service_part(service_part: ServicePart) -> Json:
    return {"key": service_part.key, "name": service_part.name, "number": service_part.number}


def _write_service_row(service_row: ServiceRow) -> Json:
    return {
        "kind": service_row.kind,
        "time": service_row.time and _write_service_time(service_row.time),
        "since": service_row.since,
        "until": service_row.until,
        "days": service_row.days,
        "distance": service_row.distance,
        "days_late": service_row.days_late,
        "distance_late": service_row.distance_late,
        "days_approximate": service_row.days_approximate,
        "distance_approximate": service_row.distance_approximate,
    }


def write_recheck(recheck: RecheckFigures) -> Json:
    return write_due(recheck) | {
        "what": recheck.what,
        "after": recheck.after,
        "entry": recheck.entry,
        "place": recheck.place,
    }


def write_recheck_done(recheck_done: RecheckDone) -> Json:
    return {
        "date": recheck_done.date,
        "entry": recheck_done.entry,
        "days": recheck_done.days,
        "distance": recheck_done.distance,
        "days_late": recheck_done.days_late,
        "distance_late": recheck_done.distance_late,
    }


def write_due(due: Due) -> Json:
    return {
        "state": due.state,
        "reason": due.reason,
        "due_on": due.due_on,
        "due_date": due.due_date,
        "due_total": due.due_total,
        "due_reading": due.due_reading,
        "reached": due.reached,
        "forecast": due.forecast,
        "days_left": due.days_left,
        "distance_left": due.distance_left,
        "key": due.key,
        "name": due.name,
        "last_when": due.last_when,
    }
