"""The front page: the wide picture of the machine, what it is, what state it is in, what happened last."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from itertools import islice
from typing import ClassVar

from buildlog.compute.meter.meter import shows_total
from buildlog.compute.meter.readings import MeterReading
from buildlog.frozen import frozen
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.condition import say_condition
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import Frame, find_cover, make_frame
from buildlog.render.pages.measured_words import OnceRow, list_outside
from buildlog.render.pages.open_work import (
    ItemRow,
    WantedRow,
    count_temporary,
    list_deadlines,
    list_due,
    list_open_faults,
    list_post,
    list_temporary,
    say_rest,
)
from buildlog.render.pages.photos import PublishedPhoto
from buildlog.render.pages.still_to_do import (
    ListView,
    list_checklists,
    list_open_items,
    list_wanted,
    say_more,
)
from buildlog.render.pages.timeline import list_milestones, say_span
from buildlog.render.pieces import (
    DueRow,
    EntryCard,
    Fact,
    FaultRow,
    Link,
    Milestone,
    PhotoView,
    PostRow,
    Prices,
    State,
    Sum,
    TemporaryRow,
)


@frozen
class FrontView:
    """What is this machine, where does it stand, what happened last?"""

    TEMPLATE: ClassVar[str] = "front.html"
    frame: Frame
    "what surrounds the page"
    machine: str
    "the owner's name for it"
    model: str = ""
    "one line: `Fennick Drover, road vehicle, 1991`"
    identity: tuple[Fact, ...] = ()
    "masked as the owner decided: VIN, registration, engine number"
    prices: Prices
    "what of the money is public"
    plate: PhotoView | None = None
    "the machine: the cover, else the latest picture that may show it; None: no photo is published"
    state: tuple[Link, ...] = ()
    "pieces of one sentence: laid up or not, what is open, overdue and in the post; empty: nothing is known of it"
    money: tuple[Sum, ...] = ()
    "spent, recovered, net; empty when hidden"
    key_figures: tuple[Fact, ...] = ()
    "own hours, latest reading, entries, the span they cover; each value short enough for the margin"
    beside: Mapping[str, tuple[str, ...]]
    "how much there is of what a section tells, for the margin; by the section's anchor"
    due: tuple[DueRow, ...] = ()
    "overdue, due and unknown items, what else runs out soon, then the next item"
    has_plan: bool = False
    "whether the log states service intervals at all"
    post: tuple[PostRow, ...] = ()
    "the longest wait first"
    faults: tuple[FaultRow, ...] = ()
    "those that nothing has confirmed fixed, least known first"
    faults_count: str = ""
    "`3 open`, `none open`; empty: no fault was ever named"
    temporary: tuple[TemporaryRow, ...] = ()
    "those still there, oldest first"
    latest: tuple[EntryCard, ...] = ()
    "at most three, newest first"
    more_post: Link | None = None
    "`and 1,950 more`, leading to all of it; None: this is all"
    more_faults: Link | None = None
    "the same of faults"
    more_temporary: Link | None = None
    "the same of temporary repairs"
    milestones: tuple[Milestone, ...] = ()
    "oldest first; of many the latest"
    systems: tuple[Link, ...] = ()
    "each leading to its page"
    next: tuple[str, ...] = ()
    "what the last entry says comes next; empty where the log says what becomes of such items"
    next_from: Link | None = None
    "that entry"
    outside: tuple[OnceRow, ...] = ()
    "what was out of its limits when it was last measured, the latest first"
    more_outside: str = ""
    "how many more there are; empty: these are all"
    open_items: tuple[ItemRow, ...] = ()
    "what is still to be done, oldest first, where the log says what becomes of it"
    more_items: Link | None = None
    "the page that has the rest of them; None: these are all"
    wanted: tuple[WantedRow, ...] = ()
    "what is wanted and not ordered yet"
    more_wanted: Link | None = None
    "the page that has the rest of it; None: this is all"
    lists: tuple[ListView, ...] = ()
    "what has to be right before the first start, before the road: what is missing of it"


# Enough to see what is going on; the timeline has the rest.
LATEST = 3
"Entries that the front page shows."
SHOWN = 12
"Of open faults, temporary repairs and the post how many each the front page shows; their own pages have the rest."
MILESTONES = 40
"Milestones that the front page shows; each stands in the timeline too."
OUTSIDE = 6
"Things out of limits that the front page shows; the service history has all of them."
OPEN_ITEMS = 8
"Open `next:` items that the front page shows; the page of what is still to do has the rest."
NOT_THE_WHOLE = ("not actual", "exceeds mechanical limits")
"Statements of an owner by which the meter shows less than the machine has run, or nobody knows how much."


def make_front(context: PageContext) -> FrontView:
    """The finished page."""
    entries = tuple(context.entries.values())
    last = entries[-1] if entries else None
    model = say_model(context)
    plate = find_plate(context)
    machine, plans = context.figures.log.settings.machine.name, context.figures.plans
    outside, due, words = list_outside(context), _pick_due(context), context.words
    return FrontView(
        frame=make_frame(
            context,
            "index.html",
            context.owner_text(context.title),
            words.say(
                "%(machine)s: %(model)s. %(span)s.",
                machine=machine,
                model=model,
                span=say_span(context, context.figures.entries),
            ),
            dated=True,
        ),
        machine=context.owner_text(machine),
        # Where maker and model are not stated, the kind stands alone and begins the line.
        model=model[:1].upper() + model[1:],
        identity=list_identity(context),
        prices=context.prices,
        plate=plate.at_top() if plate else None,
        state=tuple(_hold_counts(say_condition(context))),
        money=tuple(one for one in _list_money(context) if one.amount),
        key_figures=tuple(_list_key_figures(context)),
        beside=_count_beside(context, due, len(outside)),
        due=due,
        has_plan=bool(context.figures.log.settings.service),
        post=list_post(context, context.figures.in_the_post[:SHOWN]),
        more_post=say_rest(context, len(context.figures.in_the_post), SHOWN, "parts.html#post"),
        faults=list_open_faults(context)[:SHOWN],
        more_faults=say_rest(context, len(list_open_faults(context)), SHOWN, "faults.html#open"),
        faults_count=_count_faults(context),
        temporary=list_temporary(context, context.figures.temporary)[:SHOWN],
        more_temporary=say_rest(context, count_temporary(context), SHOWN, "faults.html#temporary"),
        latest=tuple(context.card(entry, _show_but(plate)) for entry in entries[: -LATEST - 1 : -1]),
        milestones=list_milestones(context)[-MILESTONES:],
        systems=tuple(map(context.system_link, context.systems)),
        next=tuple(context.owner_text(planned.what) for planned in last.next) if last and not plans.kept else (),
        next_from=context.entry_link(last.name) if last else None,
        outside=outside[:OUTSIDE],
        more_outside=words.more(len(outside) - OUTSIDE) if len(outside) > OUTSIDE else "",
        open_items=list_open_items(context)[:OPEN_ITEMS],
        more_items=say_more(context, len(plans.list_open()) if plans.kept else 0, OPEN_ITEMS),
        lists=list_checklists(context),
        wanted=list_wanted(context)[:OPEN_ITEMS],
        more_wanted=say_more(context, len(context.figures.costs.plan.list_open()), OPEN_ITEMS, "#wanted"),
    )


def _hold_counts(told: tuple[Link, ...]) -> Iterator[Link]:
    """Each count on one line with the word after it: its letters are large here, and a phone is narrow."""
    for piece in told:
        text = re.sub(r"(?<=\d) (?=\w)", "\u00a0", piece.text, count=1) if piece.href else piece.text
        yield Link(text=text, href=piece.href)


def _show_but(plate: PublishedPhoto | None) -> Callable[[PublishedPhoto], PhotoView | None]:
    """Shows a photo with an entry, unless the page opens with it: nothing is shown twice."""
    return lambda photo: None if photo == plate else photo.at_top()


def _count_beside(context: PageContext, due: tuple[DueRow, ...], outside: int) -> Mapping[str, tuple[str, ...]]:
    """Beside each section how much of it there is, so that the margin has a figure wherever it stands."""
    figures, states = context.figures, Counter(row.state for row in due)

    def say_count(one: str, many: str, number: int) -> str:
        return context.words.say_count(one, many, number, number=context.words.number(number))

    missing = sum(one.missing for one in figures.plans.lists)
    beside = {
        "items": say_count("%(number)s open", "%(number)s open", len(figures.plans.list_open())),
        # TRANSLATORS: items that are missing of a list
        "lists": say_count("%(number)s missing", "%(number)s missing", missing),
        # TRANSLATORS: measurements outside their limits
        "outside": say_count("%(number)s outside", "%(number)s outside", outside),
        "post": say_count("%(number)s on the way", "%(number)s on the way", len(figures.in_the_post)),
        "wanted": say_count("%(number)s wanted", "%(number)s wanted", len(figures.costs.plan.list_open())),
        # TRANSLATORS: temporary repairs that are still there
        "temporary": say_count("%(number)s in place", "%(number)s in place", count_temporary(context)),
    }
    pressing: dict[State, str] = {
        "overdue": say_count("%(number)s overdue", "%(number)s overdue", states["overdue"]),
        "due": say_count("%(number)s due", "%(number)s due", states["due"]),
        # TRANSLATORS: service items with an unknown history
        "unknown": say_count("%(number)s unknown", "%(number)s unknown", states["unknown"]),
    }
    told = {key: (words,) for key, words in beside.items()}
    return told | {"due": tuple(words for state, words in pressing.items() if states[state])}


def say_model(context: PageContext) -> str:
    """`Fennick Drover, road vehicle, 1991`."""
    machine = context.figures.log.settings.machine
    make = " ".join(filter(None, [machine.maker, machine.model]))
    # "Other" would mean nothing to a reader.
    kind = say_choice(context.words, machine.kind) if machine.kind != "other" else None
    return ", ".join(filter(None, [context.owner_text(make), kind, str(machine.year) if machine.year else None]))


def list_identity(context: PageContext) -> tuple[Fact, ...]:
    """The machine's numbers, as far as they are public."""
    settings, identity = context.figures.log.settings, context.figures.identity
    machine, public = settings.machine, settings.public
    say = context.words.say
    facts = [
        Fact(
            name=say(number.name),
            value=number.public,
            note="" if number.public == number.whole else say("masked by the owner"),
        )
        for number in identity.list_numbers()
        if number.public
    ]
    if machine.area and public.area == "shown":
        facts.append(Fact(name=say("Place"), value=context.owner_text(machine.area)))
    return tuple(facts)


def _list_money(context: PageContext) -> Iterator[Sum]:
    if context.prices == "hidden":
        return
    costs, say = context.figures.costs, context.words.say
    # A log that knows of no money has no account, not an empty one.
    if not (costs.lines or costs.recovered_lines or costs.committed_lines):
        return
    yield Sum(name=say("Spent"), amount=context.total_money(costs.spent, costs.lines), href="costs.html")
    # Without sales, net and spent are one amount.
    if costs.recovered:
        recovered = context.total_money(costs.recovered, costs.recovered_lines)
        yield Sum(name=say("Recovered"), amount=recovered, href="costs.html")
        net = context.total_money(costs.net, costs.lines, costs.recovered_lines)
        yield Sum(name=say("Net"), amount=net, href="costs.html", is_total=True)
    if costs.committed:
        committed = context.total_money(costs.committed, costs.committed_lines)
        yield Sum(name=say("Committed"), amount=committed, note=say("ordered and not paid"))


def _list_key_figures(context: PageContext) -> Iterator[Fact]:
    figures, say = context.figures, context.words.say
    if figures.costs.own_hours:
        yield Fact(name=say("Own hours"), value=context.words.hours(figures.costs.own_hours))
    latest = figures.meter.latest
    if latest:
        yield _describe_meter(context, latest)
    yield Fact(name=say("Entries"), value=context.words.number(len(context.entries)))


def _describe_meter(context: PageContext, latest: MeterReading) -> Fact:
    """The true total, and what the meter shows where that is something else or is stated to be."""
    meter, shown = context.figures.meter, context.words.measure(latest.value, latest.unit)
    day, say = context.words.day(latest.date), context.words.say
    if not shows_total(latest, meter.unit):
        total = context.distance(latest.total)
        # Never the meter alone: a buyer would take what it shows for the whole distance.
        note = say("the meter shows %(reading)s, %(day)s", reading=shown, day=day)
        return Fact(name=say("Meter"), value=say("%(total)s in all", total=total), note=note)
    caveat = say("%(day)s, which the owner says is not the full total", day=day)
    return Fact(name=say("Meter"), value=shown, note=caveat if meter.statement in NOT_THE_WHOLE else day)


def _count_faults(context: PageContext) -> str:
    """`3 open`, `none open`; nothing where no fault was ever named."""
    faults = context.figures.faults.faults
    open_now = sum(fault.closed is None for fault in faults)
    told = context.words.say_count("%(number)s open", "%(number)s open", open_now)
    return (told if open_now else context.words.say("none open")) if faults else ""


def _pick_due(context: PageContext) -> tuple[DueRow, ...]:
    """What is overdue, due or unknown, and the next one after those."""
    rows = list_due(context)
    # The next one too, or a plan with nothing due would look like no plan at all.
    pressing = tuple(row for row in rows if row.state != "later")
    return (*pressing, *list_deadlines(context), *[row for row in rows if row.state == "later"][:1])


MOST_TRIED = 8
"Photos that are looked at for one that is wide enough, as each has to be made before its size is known."


def find_plate(context: PageContext) -> PublishedPhoto | None:
    """The picture that the front page opens with; None where no photo is published.

    The owner's cover. Without one, the first photo of the latest milestone, where the whole machine is most likely to
    be seen, else of the latest entry that has one: the first of them that fills the page.
    """
    cover = find_cover(context)
    if cover:
        return cover
    tried = list(islice(_list_first_photos(context), MOST_TRIED))
    # An upright or small one is better than none.
    return next((photo for photo in tried if not photo.at_top().shape), tried[0] if tried else None)


def _list_first_photos(context: PageContext) -> Iterator[PublishedPhoto]:
    entries = [entry for entry in reversed([*context.entries.values()]) if entry.photos]
    for entry in (*filter(lambda one: one.milestone, entries), *filter(lambda one: not one.milestone, entries)):
        yield from islice(context.photos.get(entry.name, {}).values(), 1)
