"""What the pages tell of fasteners: what they were tightened to, in both units, and whether they were checked again."""

from __future__ import annotations

from buildlog.reckon.measures.tightening import TightenedFigures
from buildlog.reckon.measures.torques import Stage
from buildlog.reckon.measures.unit_table import Unit
from buildlog.reckon.service.rechecks import RecheckDone, RecheckFigures
from buildlog.site.pages.due import say_state
from buildlog.site.pages.edition import Edition
from buildlog.site.view_entry import TightenedRow
from buildlog.site.words import count
from buildlog.source.records import Tightened


def describe_tightened(edition: Edition, record: Tightened) -> TightenedRow:
    """One fastener, as its entry shows it."""
    figures = edition.figures.tightening.tightened[record.place]
    done = figures.rechecked
    return TightenedRow(
        what=edition.said(record.what),
        qty="" if record.qty == 1 else edition.quantity(record.qty),
        to=edition.said(record.to),
        also=tuple(_say_stages(edition, figures.stages, unit) for unit in figures.equivalents),
        method=edition.said(record.method),
        recheck=_say_recheck(edition, figures),
        rechecked=edition.entry_link(done.entry) if done else None,
    )


def _say_stages(edition: Edition, stages: tuple[Stage, ...], unit: Unit) -> str:
    """`14.8 lbf·ft + 60° + 30°`: angles and words as they are written."""
    return " + ".join(_say_stage(edition, stage, unit) for stage in stages)


def _say_stage(edition: Edition, stage: Stage, unit: Unit) -> str:
    numbers = stage.join.join(edition.words.written(number) for number in stage.to_unit(unit))
    return f"{numbers}\u00a0{unit.name}" if numbers else edition.said(stage.written)


def _say_recheck(edition: Edition, figures: TightenedFigures) -> str:
    if figures.rechecked:
        return _say_done(edition, figures.rechecked)
    return _say_open(edition, figures.recheck) if figures.recheck else ""


def _say_open(edition: Edition, recheck: RecheckFigures) -> str:
    """`to be checked again after 50 mi: overdue by 12 mi`"""
    after = recheck.after
    span = count(int(after.value), "day") if after.unit == "days" else edition.words.measure(after.value, after.unit)
    return f"to be checked again after {span}: {say_state(edition, recheck)}"


def _say_done(edition: Edition, done: RecheckDone) -> str:
    """`checked again after 70 days and 190 mi, 140 mi late`"""
    spans = [count(done.days, "day"), *([edition.distance(done.distance)] if done.distance else [])]
    late = count(done.days_late, "day") if done.days_late and done.days_late > 0 else ""
    if done.distance_late is not None and done.distance_late > 0:
        late = edition.distance(done.distance_late)
    return f"checked again after {' and '.join(spans)}" + (f", {late} late" if late else "")
