"""What the file of figures holds of the machine: its numbers, its meter, its service and what was measured on it."""

from __future__ import annotations

from buildlog.compute.identity.identity import IdentityFigures
from buildlog.compute.identity.numbers import Finding, HinReading, VinReading
from buildlog.compute.measures.measures import MeasuredSet, MeasuredValue, MeasureFigures, MeasureSeries
from buildlog.compute.measures.tightening import Stage, TightenedFigures, TighteningFigures
from buildlog.compute.measures.trends import Trend
from buildlog.compute.meter.meter import MeterFigures
from buildlog.compute.meter.readings import MeterReading, MeterStep
from buildlog.compute.meter.use import DailyUse
from buildlog.compute.service.due_status import Due
from buildlog.compute.service.items import ServiceFigures, ServiceItemFigures, ServiceRow
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures
from buildlog.compute.service.times import ServicePart, ServiceTime
from buildlog.handover.figures_file import Json


def write_identity(identity: IdentityFigures) -> Json:
    # Whole, whatever `public:` masks: a buyer holds them against the machine, and the log goes along with them.
    return {
        "vin": identity.vin and _write_vin_reading(identity.vin),
        "hin": identity.hin and _write_hin_reading(identity.hin),
        "light_year": identity.light_year,
        "chassis_number": identity.chassis_number,
        "engine_number": identity.engine_number,
        "registration": identity.registration,
        "notes": [*map(_write_finding, identity.notes)],
    }


def _write_vin_reading(vin_reading: VinReading) -> Json:
    return {
        "written": vin_reading.written,
        "text": vin_reading.text,
        "well_formed": vin_reading.well_formed,
        "check_digit": vin_reading.check_digit,
        "expected_digit": vin_reading.expected_digit,
        "model_years": vin_reading.model_years,
        "findings": [*map(_write_finding, vin_reading.findings)],
    }


def _write_finding(finding: Finding) -> Json:
    """The finding by its rule: the words in which it is told are no figure."""
    # By its rule alone: the words of a finding may get better, and no figure is another for that.
    return {"rule": finding.rule, "severity": finding.severity}


def _write_hin_reading(hin_reading: HinReading) -> Json:
    return {
        "written": hin_reading.written,
        "text": hin_reading.text,
        "status": hin_reading.status,
        "format": hin_reading.format,
        "country": hin_reading.country,
        "maker": hin_reading.maker,
        "serial": hin_reading.serial,
        "month": hin_reading.month,
        "year": hin_reading.year,
        "model_year": hin_reading.model_year,
        "findings": [*map(_write_finding, hin_reading.findings)],
    }


def write_meter(meter: MeterFigures) -> Json:
    return {
        "unit": meter.unit,
        "readings": [*map(write_meter_reading, meter.readings)],
        "rises": meter.rises,
        "latest": meter.latest and write_meter_reading(meter.latest),
        "steps": [*map(_write_meter_step, meter.steps)],
        "offset": meter.offset,
        "owned": meter.owned,
        "use": _write_daily_use(meter.use),
        "pauses": meter.pauses,
        "statement": meter.statement,
    }


def write_meter_reading(meter_reading: MeterReading) -> Json:
    return {
        "date": meter_reading.date,
        "latest": meter_reading.latest,
        "when": meter_reading.when,
        "value": meter_reading.value,
        "unit": meter_reading.unit,
        "total": meter_reading.total,
        "source": meter_reading.source,
        "entry": meter_reading.entry,
        "place": meter_reading.place,
    }


def _write_meter_step(meter_step: MeterStep) -> Json:
    return {
        "date": meter_step.date,
        "kind": meter_step.kind,
        "old": meter_step.old,
        "new": meter_step.new,
        "offset": meter_step.offset,
        "why": meter_step.why,
        "place": meter_step.place,
    }


def _write_daily_use(daily_use: DailyUse) -> Json:
    return {
        "slope": daily_use.slope,
        "per_day": daily_use.per_day,
        "readings": daily_use.readings,
        "first": daily_use.first,
        "last": daily_use.last,
        "days": daily_use.days,
    }


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


def write_tightening(tightening: TighteningFigures) -> Json:
    return {
        "tightened": {key: _write_tightened(tightened) for key, tightened in tightening.tightened.items()},
        "rechecks": [*map(write_recheck, tightening.rechecks)],
    }


def _write_tightened(tightened: TightenedFigures) -> Json:
    return {
        "record": tightened.record,
        "entry": tightened.entry,
        "date": tightened.date,
        "stages": [*map(_write_stage, tightened.stages)],
        "equivalents": [unit.name for unit in tightened.equivalents],
        "rechecked": tightened.rechecked and write_recheck_done(tightened.rechecked),
    }


def _write_stage(stage: Stage) -> Json:
    return {
        "written": stage.written,
        "unit": stage.unit and stage.unit.name,
        "numbers": stage.numbers,
        "join": stage.join,
        "stated": stage.stated and {"numbers": stage.stated[0], "unit": stage.stated[1].name},
    }


def write_measures(measure: MeasureFigures) -> Json:
    return {
        "series": [*map(_write_measure_series, measure.series)],
        "sets": {key: _write_measured_set(measured_set) for key, measured_set in measure.sets.items()},
    }


def _write_measure_series(measure_series: MeasureSeries) -> Json:
    return {
        "what": measure_series.what,
        "unit": measure_series.unit,
        "limits": measure_series.limits,
        "sets": [*map(_write_measured_set, measure_series.sets)],
        "trends": [*map(_write_trend, measure_series.trends)],
    }


def _write_measured_set(measured_set: MeasuredSet) -> Json:
    return {
        "record": measured_set.record,
        "entry": measured_set.entry,
        "date": measured_set.date,
        "reading": measured_set.reading,
        "values": [*map(_write_measured_value, measured_set.values)],
        "limits": measured_set.limits,
        "spread": measured_set.spread,
        "spread_fails": measured_set.spread_fails,
        "verdict": measured_set.verdict,
    }


def _write_measured_value(measured_value: MeasuredValue) -> Json:
    return {
        "where": measured_value.where,
        "value": measured_value.value,
        "common": measured_value.common,
        "outside": measured_value.outside,
        "change": measured_value.change,
    }


def _write_trend(trend: Trend) -> Json:
    return {
        "where": trend.where,
        "first": trend.first,
        "last": trend.last,
        "change": trend.change,
        "days": trend.days,
        "times": trend.times,
        "slope": trend.slope,
        "slope_times": trend.slope_times,
        "limit": trend.limit,
        "reached": trend.reached,
    }
