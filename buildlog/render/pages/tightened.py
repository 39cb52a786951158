"""What the pages tell of fasteners: what they were tightened to, in both units, and whether they were checked again."""

from __future__ import annotations

from buildlog.compute.measures.tightening import Stage, TightenedFigures
from buildlog.compute.quantities.units import Unit
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures
from buildlog.frozen import frozen
from buildlog.read.records import Tightened
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.open_work import say_due_state
from buildlog.render.pieces import Link
from buildlog.render.words import count


@frozen
class TightenedRow:
    """A fastener tightened to a stated value."""

    what: str
    qty: str = ""
    to: str
    "as the owner wrote it"
    also: tuple[str, ...] = ()
    "the same in other units: `16.2 lbf·ft`"
    method: str = ""
    recheck: str = ""
    "`to be checked again after 50 mi: overdue by 12 mi`, `checked again after 70 days and 190 mi, 140 mi late`"
    rechecked: Link | None = None
    "the entry that did"


def describe_tightened(context: PageContext, record: Tightened) -> TightenedRow:
    """One fastener, as its entry shows it."""
    figures = context.figures.tightening.tightened[record.place]
    done = figures.rechecked
    return TightenedRow(
        what=context.said(record.what),
        qty="" if record.qty == 1 else context.quantity(record.qty),
        to=context.said(record.to),
        also=tuple(_say_stages(context, figures.stages, unit) for unit in figures.equivalents),
        method=context.said(record.method),
        recheck=_say_recheck(context, figures),
        rechecked=context.entry_link(done.entry) if done else None,
    )


def _say_stages(context: PageContext, stages: tuple[Stage, ...], unit: Unit) -> str:
    """`14.8 lbf·ft + 60° + 30°`: angles and words as they are written."""
    return " + ".join(_say_stage(context, stage, unit) for stage in stages)


def _say_stage(context: PageContext, stage: Stage, unit: Unit) -> str:
    numbers = stage.join.join(context.words.written(number) for number in stage.to_unit(unit))
    return f"{numbers}\u00a0{unit.name}" if numbers else context.said(stage.written)


def _say_recheck(context: PageContext, figures: TightenedFigures) -> str:
    if figures.rechecked:
        return _say_done(context, figures.rechecked)
    return _say_open(context, figures.recheck) if figures.recheck else ""


def _say_open(context: PageContext, recheck: RecheckFigures) -> str:
    """`to be checked again after 50 mi: overdue by 12 mi`"""
    after = recheck.after
    span = count(int(after.value), "day") if after.unit == "days" else context.words.measure(after.value, after.unit)
    return f"to be checked again after {span}: {say_due_state(context, recheck)}"


def _say_done(context: PageContext, done: RecheckDone) -> str:
    """`checked again after 70 days and 190 mi, 140 mi late`"""
    spans = [count(done.days, "day"), *([context.distance(done.distance)] if done.distance else [])]
    late = count(done.days_late, "day") if done.days_late and done.days_late > 0 else ""
    if done.distance_late is not None and done.distance_late > 0:
        late = context.distance(done.distance_late)
    return f"checked again after {' and '.join(spans)}" + (f", {late} late" if late else "")
