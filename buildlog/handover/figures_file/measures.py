"""What was measured, and how what was tightened was tightened."""

from __future__ import annotations

from buildlog.compute.measures.measures import MeasuredSet, MeasuredValue, MeasureFigures, MeasureSeries, Trend
from buildlog.compute.measures.tightening import Stage, TightenedFigures, TighteningFigures
from buildlog.handover.figures_file.service import write_recheck, write_recheck_done
from buildlog.handover.figures_file.spelling import Json


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
    }
