"""The readings, and what the meter adds up to."""

from __future__ import annotations

from buildlog.compute.meter.meter import MeterFigures
from buildlog.compute.meter.readings import MeterReading, MeterStep
from buildlog.compute.meter.use import DailyUse
from buildlog.handover.figures_file.spelling import Json


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
