"""The front page: what the machine is, where it stands, what happened last."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.meter.meter import shows_total
from buildlog.reckon.meter.readings import MeterReading
from buildlog.site.pages.due import list_due
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.open_work import list_open_faults, list_temporary
from buildlog.site.pages.post import list_post
from buildlog.site.pages.timeline import list_milestones, say_span
from buildlog.site.pieces import DueRow, Fact, Sum
from buildlog.site.views import FrontView

LATEST = 3
"Entries that the front page shows."
NOT_THE_WHOLE = ("not actual", "exceeds mechanical limits")
"Statements of an owner by which the meter shows less than the machine has run, or nobody knows how much."


def make_front(edition: Edition) -> FrontView:
    """The finished page."""
    entries = tuple(edition.entries.values())
    last = entries[-1] if entries else None
    model = say_model(edition)
    machine = edition.figures.log.settings.machine.name
    return FrontView(
        frame=make_frame(
            edition, "index.html", edition.said(edition.title), f"{machine}: {model}. {say_span(edition)}."
        ),
        machine=edition.said(machine),
        model=model,
        identity=list_identity(edition),
        prices=edition.prices,
        money=tuple(_list_money(edition)),
        standing=tuple(_list_standing(edition)),
        due=_pick_due(edition),
        has_plan=bool(edition.figures.log.settings.service),
        post=list_post(edition),
        faults=list_open_faults(edition),
        faults_count=_count_faults(edition),
        temporary=list_temporary(edition),
        latest=tuple(edition.card(entry, with_photo=True) for entry in entries[: -LATEST - 1 : -1]),
        milestones=list_milestones(edition),
        next=tuple(map(edition.said, last.next)) if last else (),
        next_from=edition.entry_link(last.name) if last else None,
    )


def say_model(edition: Edition) -> str:
    """`Harrow Drover 2500, road vehicle, 1991`."""
    machine = edition.figures.log.settings.machine
    make = " ".join(filter(None, [machine.maker, machine.model]))
    kind = machine.kind if machine.kind != "other" else None
    return ", ".join(filter(None, [edition.said(make), kind, str(machine.year) if machine.year else None]))


def list_identity(edition: Edition) -> tuple[Fact, ...]:
    """The machine's numbers, as far as they are public."""
    settings, identity = edition.figures.log.settings, edition.figures.identity
    machine, public = settings.machine, settings.public
    facts = [
        Fact(name=number.name, value=number.public, note="" if number.public == number.whole else "masked by the owner")
        for number in identity.list_numbers()
        if number.public
    ]
    if machine.area and public.area == "shown":
        facts.append(Fact(name="Place", value=edition.said(machine.area)))
    return tuple(facts)


def _list_money(edition: Edition) -> Iterator[Sum]:
    if edition.prices == "hidden":
        return
    costs = edition.figures.costs
    yield Sum(name="Spent", amount=edition.money(costs.spent), href="costs.html")
    if costs.recovered:
        yield Sum(name="Recovered", amount=edition.money(costs.recovered), href="costs.html")
        yield Sum(name="Net", amount=edition.money(costs.net), href="costs.html", is_total=True)
    if costs.committed:
        yield Sum(name="Committed", amount=edition.money(costs.committed), note="ordered and not paid")


def _list_standing(edition: Edition) -> Iterator[Fact]:
    figures = edition.figures
    if figures.costs.own_hours:
        yield Fact(name="Own hours", value=edition.words.hours(figures.costs.own_hours))
    latest = figures.meter.latest
    if latest:
        yield _tell_meter(edition, latest)
    yield Fact(name="Entries", value=edition.words.number(len(edition.entries)))


def _tell_meter(edition: Edition, latest: MeterReading) -> Fact:
    """The true total, and what the meter shows where that is something else or is stated to be."""
    meter, shown = edition.figures.meter, edition.words.measure(latest.value, latest.unit)
    day = edition.words.day(latest.date)
    if not shows_total(latest, meter.unit):
        total = edition.distance(latest.total)
        return Fact(name="Meter", value=f"{total} in all", note=f"the meter shows {shown}, {day}")
    said = ", by the owner’s statement not the whole" if meter.statement in NOT_THE_WHOLE else ""
    return Fact(name="Meter", value=shown, note=f"{day}{said}")


def _count_faults(edition: Edition) -> str:
    """`3 open`, `none open`; nothing where no fault was ever named."""
    faults = edition.figures.faults.faults
    open_now = sum(fault.closed is None for fault in faults)
    return f"{open_now or 'none'} open" if faults else ""


def _pick_due(edition: Edition) -> tuple[DueRow, ...]:
    """What is overdue, due or unknown, and the next one after those."""
    rows = list_due(edition)
    pressing = tuple(row for row in rows if row.state != "later")
    return pressing + tuple(row for row in rows if row.state == "later")[:1]
