"""Where to look next for a fault: its suspects in the best order to check, what stands before each, and the limits."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce

from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.hunt_drawn import Branch, draw_tree


@frozen
class CheckRow:
    """One suspect to check, in the best order."""

    name: str
    "the suspect"
    reason: str
    "`3-in-11 likely, 0.1 h to check`"
    first: str = ""
    "`of which 2.2 h to get there: Battery and battery tray, then Pump side cover`; empty: nothing is in the way"
    so_far: str = ""
    "hours of this step and all before"


@frozen
class CheckOrderView:
    """Where to look next for one fault."""

    rows: tuple[CheckRow, ...] = ()
    "best first"
    expected: str = ""
    "`3.9 h`: the average time to find the cause; empty: no suspect can be ordered"
    tree: tuple[Branch, ...] = ()
    "what has to come off, with the suspects behind it in the same numbers; empty: nothing has to"
    notes: tuple[str, ...] = ()
    "its limits: there may be a better order; suspects without stated hours"


def describe_look(context: PageContext, look: CheckOrder) -> CheckOrderView:
    """The finished order of checks of one fault."""
    return CheckOrderView(
        rows=tuple(_describe_step(context, look, step) for step in look.steps),
        expected=context.words.hours(look.about_hours) if look.steps else "",
        tree=draw_tree(context, look),
        notes=tuple(_list_limits(context, look)),
    )


def _describe_step(context: PageContext, look: CheckOrder, step: CheckStep) -> CheckRow:
    words, say = context.words, context.words.say
    # As `log.yaml` has them, no percentages: they are guesses, and a percentage would look measured.
    likely, chances = words.number(step.likely), words.number(look.chances)
    names = [context.owner_text(name) for name in step.takes_off_names] or [""]
    way = reduce(lambda before, after: say("%(before)s, then %(after)s", before=before, after=after), names)
    hours, there = words.hours(step.hours), words.hours(step.strip_hours)
    return CheckRow(
        name=context.owner_text(step.name),
        # TRANSLATORS: as 3-in-11 likely, 0.1 h to check
        reason=say("%(likely)s-in-%(all)s likely, %(hours)s to check", likely=likely, all=chances, hours=hours),
        first=say("of which %(hours)s to get there: %(way)s", hours=there, way=way) if way else "",
        so_far=words.hours(step.hours_so_far),
    )


def _list_limits(context: PageContext, look: CheckOrder) -> Iterator[str]:
    # Not an error, as the order is a good one; but the page never claims more than was found out.
    if not look.exact:
        yield context.words.say(
            "There may be a better order: these strip-downs can be combined in too many ways to try them all. "
            "This is the best of those tried."
        )
    # Named, as a reader would otherwise believe that they were ruled out.
    if look.no_hours:
        names = context.words.join([context.component_name(key) for key in look.no_hours])
        yield context.words.say("Left out, because no time is given for the check: %(names)s.", names=names)
