"""The tightening sheet: every torque on record by system, for the screen and for one sheet on the wall."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import ClassVar

from buildlog.compute.measures.tightening import NEWTON_METRE, POUND_FOOT, TightenedFigures
from buildlog.compute.quantities.units import Unit
from buildlog.compute.systems import Fastener, list_fasteners
from buildlog.frozen import frozen
from buildlog.render.addresses import TORQUES, entry_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry_work import say_stages
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.open_work import STATES, say_due_state
from buildlog.render.pieces import Link, State, When


@frozen
class SheetRow:
    """One fastener, or one set of them, as it was last tightened."""

    what: str
    "in the owner's words"
    qty: str = ""
    "empty for one"
    metric: str
    "`22 N·m + 90°`, or as written where there is no torque"
    imperial: str = ""
    "`16.2 lbf·ft + 90°`; empty where there is no torque"
    written: str = ""
    "as the owner wrote it, where that is neither of the two"
    method: str = ""
    "stages, order, dry or oiled"
    when: When
    "the day of its entry"
    entry: Link
    "that entry"
    times: str = ""
    "`3 times`; empty: once"
    recheck: str = ""
    "`check again: overdue by 12 mi`; empty: nothing is to be checked"
    state: State | None = None
    "chooses the mark; None where `recheck` is empty"


@frozen
class SheetGroup:
    """The fasteners of one system, or of several that were worked on together."""

    name: str
    "`Brakes`, `Brakes and Driveline`"
    rows: tuple[SheetRow, ...]
    "in the order in which they were first tightened"


@frozen
class TighteningView:
    """What is tightened to what, and what of it is to be checked again?"""

    TEMPLATE: ClassVar[str] = "tightening.html"
    frame: Frame
    "what surrounds the page"
    machine: str
    "the owner's name for it"
    groups: tuple[SheetGroup, ...] = ()
    "in the order of log.yaml"
    to_check: tuple[str, ...] = ()
    "what is due or overdue to be checked again: its words"


def has_torques(context: PageContext) -> bool:
    """Whether anything was tightened; without it there is no such page."""
    return bool(context.figures.tightening.tightened)


def list_makers(context: PageContext) -> dict[str, Callable[[], TighteningView]]:
    """The page by its path; none where there is nothing that it could tell."""
    return {TORQUES: lambda: make_tightening(context)} if has_torques(context) else {}


def make_tightening(context: PageContext) -> TighteningView:
    """The finished page."""
    groups = tuple(
        SheetGroup(name=_name(context, systems), rows=tuple(_describe(context, one) for one in some))
        for systems, some in list_fasteners(context.figures).items()
    )
    say = context.words.say
    due = (row for group in groups for row in group.rows if row.state in ("overdue", "due", "unknown"))
    return TighteningView(
        frame=make_frame(
            context,
            TORQUES,
            say("Tightening sheet"),
            say("What is tightened to what on %(title)s, by system.", title=context.title),
            dated=True,
        ),
        machine=context.owner_text(context.figures.log.settings.machine.name),
        groups=groups,
        to_check=tuple(f"{row.what}: {row.recheck}" for row in due),
    )


def _name(context: PageContext, systems: tuple[str, ...]) -> str:
    return context.words.join([context.system_name(key) for key in systems]) if systems else context.system_name(None)


def _describe(context: PageContext, fastener: Fastener) -> SheetRow:
    one, record = fastener.last, fastener.last.record
    metric, imperial = _say(context, one, NEWTON_METRE), _say(context, one, POUND_FOOT)
    written = context.owner_text(record.to)
    recheck, words = one.recheck, context.words
    return SheetRow(
        what=context.owner_text(record.what),
        qty="" if record.qty == 1 else context.quantity(record.qty),
        metric=metric or written,
        imperial=imperial,
        # In kgf·m, say: what the owner read in a manual is never replaced.
        written=written if len(one.equivalents) == 2 and metric else "",
        method=context.owner_text(record.method),
        when=context.when(one.date),
        entry=Link(text=context.entry_link(one.entry).text, href=f"{entry_href(one.entry)}#tightened"),
        times=words.say_count("%(number)s time", "%(number)s times", fastener.times) if fastener.times > 1 else "",
        recheck=words.say("check again: %(state)s", state=say_due_state(context, recheck)) if recheck else "",
        state=STATES[recheck.state] if recheck else None,
    )


def _say(context: PageContext, one: TightenedFigures, unit: Unit) -> str:
    """All stages in one unit; nothing where none of them is a torque."""
    return say_stages(context, one.stages, unit) if any(stage.is_torque for stage in one.stages) else ""


def list_tightening(context: PageContext) -> Iterator[Link]:
    """The way to the page, where there is one."""
    if has_torques(context):
        yield Link(text=context.words.say("Tightening sheet: every torque on one page"), href=TORQUES)
