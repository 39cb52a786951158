"""A hunt as it is drawn: a thread for each suspect that ends where a check cleared it, and what stands before the rest.

The lists beside both say the same in words.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal

from buildlog.compute.faults.check_order import CheckOrder
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.faults.steps import SuspectFigures, Verdict
from buildlog.frozen import frozen
from buildlog.render.drawing import LINE, NARROW, Label, Wanted, em, lean, percent, wrap_unnamed, write_words
from buildlog.render.pages.context import PageContext
from buildlog.render.strips import draw_thread, place_step

FEWEST = 3
"Suspects of a hunt that is drawn: of two, the words say as much."


@frozen
class Thread:
    """One suspect of a hunt."""

    name: str
    "`Lift pump`"
    verdict: Verdict
    "`left` runs on to the end"
    strip: str
    "SVG, already safe"


@frozen
class ThreadsView:
    """How a fault was narrowed down."""

    threads: tuple[Thread, ...] = ()
    "those that were cleared first stand first, those that are left last; empty: there is nothing to narrow down"
    axis: str = ""
    "SVG, already safe: the days of the checks"


@frozen
class Branch:
    """Something that has to come off, or a suspect behind it."""

    name: str
    "as the owner calls it"
    number: str = ""
    "of a suspect: its place in the order of checks; empty: it has to come off"
    note: str = ""
    "`1.4 h to take off and put back`, `off already`, `0.3 h to check`"
    behind: tuple[Branch, ...] = ()
    "what is behind it"


def draw_threads(context: PageContext, fault: FaultFigures) -> ThreadsView:
    """The narrowing of a fault; empty where fewer than three were suspected, or nothing was checked."""
    if len(fault.suspects) < FEWEST or not fault.checks:
        return ThreadsView()
    steps = len(fault.checks)
    threads = [(_find_end(fault, suspect), suspect) for suspect in fault.suspects]
    # Those found faulty after those cleared, and those left last.
    ranks = {"cleared": 0, "condemned": 1, "left": 2}
    ordered = sorted(threads, key=lambda thread: (ranks[thread[1].verdict], thread[0]))
    return ThreadsView(
        threads=tuple(
            Thread(
                name=context.owner_text(suspect.name),
                verdict=suspect.verdict,
                strip=draw_thread(
                    Decimal(_find_begin(context, fault, suspect)), Decimal(end), verdict=suspect.verdict, steps=steps
                ),
            )
            for end, suspect in ordered
        ),
        axis=_draw_days(context, fault),
    )


def _find_end(fault: FaultFigures, suspect: SuspectFigures) -> int:
    """The number of the check that judged it, from 1; one more than there are for one that is left."""
    judging = (
        n
        for n, check in enumerate(fault.checks, 1)
        if check.entry == suspect.judged_in and (suspect.key in check.clears or suspect.key == check.cause)
    )
    return next(judging, len(fault.checks) + 1)


def _find_begin(context: PageContext, fault: FaultFigures, suspect: SuspectFigures) -> int:
    """How many checks were made before it was suspected."""
    order = {name: n for n, name in enumerate(context.entries)}
    since = order.get(suspect.entry, 0)
    return sum(order.get(check.entry, 0) < since for check in fault.checks)


def _draw_days(context: PageContext, fault: FaultFigures) -> str:
    """The day on which the fault came up, those of the checks, and the end, as far as they have room."""
    checks = fault.checks
    days = [(0, fault.opened)]
    for n, check in enumerate(checks, 1):
        # Each day once, also where the first look was on the day on which it came up.
        if check.date != days[-1][1]:
            days.append((n, check.date))
    wanted = []
    for n, day in days[::-1]:
        x = place_step(Decimal(n), len(checks))
        at = percent(x)
        tick = f'<line x1="{at}" y1="{em(LINE)}" x2="{at}" y2="{em(LINE + Decimal("0.4"))}" class="tick'
        label = Label(kind="month", x=x, y=Decimal(1), text=context.words.short_day(day), anchor=lean(x))
        wanted.append(Wanted(key=n, places=(label,), shapes=(tick,)))
    height = LINE + Decimal("0.4")
    shapes, texts = write_words(wanted, wanted, height=height, widest=NARROW)
    return wrap_unnamed("chart days", [*shapes, *texts], height=height)


def draw_tree(context: PageContext, look: CheckOrder) -> tuple[Branch, ...]:
    """What has to come off, with the suspects behind it, numbered in the order to check; empty: nothing has to."""
    settings = context.figures.log.settings
    numbers = {step.suspect: n for n, step in enumerate(look.steps, 1)}
    behind: dict[str | None, list[str]] = {}
    for key in numbers:
        component = settings.components.get(key)
        front = component.reached_by if component and component.reached_by in settings.strip_downs else None
        behind.setdefault(front, []).append(key)
    fronts = _list_fronts(context, [key for key in behind if key])
    if not fronts:
        return ()
    off = {item.key for item in context.figures.strip_downs.strip_downs if item.off_in}
    hours = {step.suspect: step.check_hours for step in look.steps}

    def name(key: str) -> Branch:
        note = context.words.say("%(hours)s to check", hours=context.words.hours(hours[key]))
        return Branch(name=context.component_name(key), number=str(numbers[key]), note=note)

    def grow(front: str | None, seen: Collection[str] = ()) -> tuple[Branch, ...]:
        suspects = [name(key) for key in behind.get(front, ())]
        inner = [key for key, outer in fronts.items() if outer == front and key not in seen]
        branches = (*suspects, *(_describe(context, key, off, grow(key, (*seen, key))) for key in inner))
        return tuple(sorted(branches, key=_first_number))

    return grow(None)


def _first_number(branch: Branch) -> int:
    """The first check at or behind a branch."""
    inner = min((_first_number(one) for one in branch.behind), default=10**6)
    return min(int(branch.number), inner) if branch.number else inner


def _list_fronts(context: PageContext, keys: Iterable[str]) -> Mapping[str, str | None]:
    """Every strip-down on the way to some, each with the one that it stands behind; None: it is at the front."""
    strip_downs = context.figures.log.settings.strip_downs
    found: dict[str, str | None] = {}
    left = list(keys)
    while left:
        key = left.pop()
        if key not in found:
            # Behind the last of several: the others are named beside it.
            outer = [after for after in strip_downs[key].after if after in strip_downs]
            found[key] = outer[-1] if outer else None
            left += outer
    return found


def _describe(context: PageContext, key: str, off: Collection[str], behind: tuple[Branch, ...]) -> Branch:
    strip_down = context.figures.log.settings.strip_downs[key]
    words = context.words
    if key in off:
        note = words.say("off already")
    else:
        note = words.say("%(hours)s to take off and put back", hours=words.hours(strip_down.hours))
    others = ", ".join(context.strip_down_name(after) for after in strip_down.after[:-1])
    # TRANSLATORS: what has to come off before it can
    note = words.say("%(note)s, after %(others)s", note=note, others=others) if others else note
    return Branch(name=context.strip_down_name(key), note=note, behind=behind)
