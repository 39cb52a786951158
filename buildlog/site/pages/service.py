"""The service history: the appendix that a buyer reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from buildlog.reckon.evidence.claims import Claim, find_inherited_level
from buildlog.reckon.service.items import ServiceItemFigures
from buildlog.reckon.service.rows import ServiceRow
from buildlog.site.pages.appendix import describe_seal, list_service_gaps, list_unknowns, say_rule, say_statement
from buildlog.site.pages.coverage import list_coverage
from buildlog.site.pages.due import STATES, list_due, say_state
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.evidence import evidence_of, show_level
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.front import list_identity, say_model
from buildlog.site.pages.measured import list_measured_once, list_measures
from buildlog.site.pages.open_work import list_open_faults, list_temporary
from buildlog.site.pages.seal_sheet import LINK
from buildlog.site.pieces import Fact, Link
from buildlog.site.view_service import (
    DoneRow,
    EvidenceGap,
    InheritedRow,
    ItemView,
    ReadingRow,
    ServiceView,
)
from buildlog.site.words import count, join_words
from buildlog.source.records import Inherited

MOST_GAPS = 12
"Claims without backing that the page lists; the coverage counts them all."


def make_service(edition: Edition) -> ServiceView:
    """The finished page."""
    figures = edition.figures
    by_key = {item.key: item for item in figures.service.items}
    description = f"Service history of {edition.title}: what was done when, on what evidence, what is due."
    items = tuple(_describe_item(edition, by_key[key]) for key in figures.log.settings.service)
    frame = make_frame(edition, "service.html", "Service history", description)
    return ServiceView(
        frame=replace(frame, links=(*frame.links, LINK)),
        machine=edition.said(figures.log.settings.machine.name),
        model=say_model(edition),
        identity=list_identity(edition),
        acquired=tuple(_list_acquired(edition)),
        statement=say_statement(edition),
        statement_rule=say_rule(edition),
        meter=tuple(_list_meter(edition)),
        readings=tuple(_list_readings(edition)),
        due=list_due(edition),
        items=items,
        measures=list_measures(edition),
        measured_once=list_measured_once(edition),
        faults=list_open_faults(edition),
        temporary=list_temporary(edition),
        inherited=tuple(_list_inherited(edition)),
        coverage=list_coverage(edition),
        gaps=tuple(_describe_gap(edition, claim) for claim in figures.evidence.gaps[:MOST_GAPS]),
        doubts=tuple(problem.message for problem in figures.problems if problem.rule in TOLD_DOUBTS),
        service_gaps=list_service_gaps(items),
        unknowns=list_unknowns(edition),
        seal=describe_seal(edition),
    )


TOLD_DOUBTS = frozenset({"meter-jumps", "meter-statement", "paper-used-twice"})
"Doubts about the record that a buyer is told as well."


def _list_acquired(edition: Edition) -> Iterator[Fact]:
    acquired = edition.figures.log.settings.acquired
    if acquired is None:
        return
    yield Fact(name="Acquired", value=edition.words.day(acquired.date))
    if acquired.reading:
        yield Fact(name="Meter then", value=edition.reading_at(acquired.spot("reading")))
    if acquired.condition:
        yield Fact(name="Condition then", value=edition.said(acquired.condition))


def _list_meter(edition: Edition) -> Iterator[Fact]:
    meter, words = edition.figures.meter, edition.words
    if meter.latest is None or meter.unit is None:
        return
    latest = meter.latest
    yield Fact(name="Latest reading", value=edition.read(latest), note=words.day(latest.date))
    if meter.owned is not None:
        yield Fact(name="Since acquired", value=edition.distance(meter.owned))
    use = meter.use
    if use.per_day is None:
        yield Fact(name="Daily use", value="no forecast", note=use.reason)
    else:
        note = f"an estimate from {count(use.readings, 'reading')}, days laid up left out"
        yield Fact(name="Daily use", value=words.measure(round(use.per_day, 1), meter.unit), note=note)


SOURCES = {
    "history": "handed down",
    "acquired": "at purchase",
    "old meter": "last reading of the old meter",
    "new meter": "first reading of the new meter",
}
"What is said of a reading that is not simply an entry's."


def _list_readings(edition: Edition) -> Iterator[ReadingRow]:
    meter = edition.figures.meter
    for reading, rise in zip(meter.readings, meter.rises, strict=True):
        yield ReadingRow(
            when=edition.partial_text(reading.when),
            reading=edition.words.measure(reading.value, reading.unit),
            total=edition.distance(reading.total) if reading.total != reading.value else "",
            since=edition.distance(rise),
            note=SOURCES.get(reading.source, ""),
            source=edition.entry_link(reading.entry) if reading.entry else Link(text="the log's own history"),
            evidence=evidence_of(edition, reading.place),
        )


def _describe_item(edition: Edition, item: ServiceItemFigures) -> ItemView:
    covers = edition.figures.log.settings.service[item.key].covers
    return ItemView(
        key=item.key,
        name=edition.said(item.name),
        interval=_say_interval(edition, item),
        state=STATES[item.state],
        state_text=say_state(edition, item),
        covers=tuple(edition.component_name(key) for key in covers),
        rows=tuple(_describe_row(edition, item, row) for row in item.rows),
    )


def _say_interval(edition: Edition, item: ServiceItemFigures) -> str:
    """`every 24 months or 12,000 mi, whichever comes first`"""
    limits = [count(item.months, "month")] if item.months else []
    limits += [edition.distance(item.distance)] if item.distance else []
    if not limits:
        return "no interval stated"
    return f"every {' or '.join(limits)}" + (", whichever comes first" if len(limits) > 1 else "")


def _describe_row(edition: Edition, item: ServiceItemFigures, row: ServiceRow) -> DoneRow:
    if row.kind == "gap" or row.time is None:
        return DoneRow(when=None, gap=_say_gap(edition, item, row))
    time = row.time
    return DoneRow(
        when=edition.partial_text(time.when),
        reading=edition.read(time.reading) if time.reading else "",
        who=edition.said(time.who) or ("the owner" if time.entry else "not known"),
        parts=tuple(
            edition.part_link(part.key, " ".join(filter(None, [part.name, part.number]))) for part in time.parts
        ),
        note=", ".join(filter(None, map(edition.said, [time.what, time.note]))),
        timing=_say_timing(edition, row),
        late=(row.days_late or 0) > 0 or (row.distance_late or Decimal(0)) > 0,
        evidence=show_level(edition, time.level, time.paper),
        entry=edition.entry_link(time.entry) if time.entry else None,
    )


def _say_gap(edition: Edition, item: ServiceItemFigures, row: ServiceRow) -> str:
    """`31 months and 14,200 mi without it; the interval is …`"""
    span = [_about(row.days_approximate) + count(row.days, "day")] if row.days else []
    span += [_about(row.distance_approximate) + edition.distance(row.distance)] if row.distance else []
    still = "so far, without it" if row.until is None else "without it"
    return f"A gap: {join_words(span)} {still}. The interval is {_say_interval(edition, item)}."


def _say_timing(edition: Edition, row: ServiceRow) -> str:
    """`12 days late`, `600 mi early`; by both limits where both apply."""
    if row.since is None:
        return "first on record"
    said = []
    if row.days_late is not None:
        days = _say_late(count(abs(row.days_late), "day"), row.days_late)
        said.append(_about(row.days_approximate) + days)
    if row.distance_late is not None:
        distance = _say_late(edition.distance(abs(row.distance_late)), row.distance_late)
        said.append(_about(row.distance_approximate) + distance)
    return ", ".join(said)


def _about(approximate: bool) -> str:
    return "about " if approximate else ""


def _say_late(amount: str, late: int | Decimal) -> str:
    return f"{amount} {'late' if late > 0 else 'early'}" if late else "on the day" if isinstance(late, int) else "at it"


def _list_inherited(edition: Edition) -> Iterator[InheritedRow]:
    history = sorted(edition.figures.log.settings.history, key=lambda event: event.date.earliest)
    for event in history:
        yield InheritedRow(
            when=edition.partial(event.date),
            what=edition.said(event.what),
            reading=edition.reading_at(event.spot("reading")) if event.reading else "",
            who=edition.said(_name_doer(event)),
            evidence=show_level(edition, find_inherited_level(event), event.paper),
        )


def _name_doer(event: Inherited) -> str:
    """Who did it, unless what was done tells that already."""
    return event.who if event.who and event.who.casefold() not in event.what.casefold() else ""


def _describe_gap(edition: Edition, claim: Claim) -> EvidenceGap:
    what = claim.what
    if claim.kind == "fitting":
        what = f"{edition.part_link(what).text} fitted"
    elif claim.kind == "service":
        what = f"{edition.item_link(what).text} done"
    elif claim.kind == "fix":
        what = f"{edition.fault_name(what)}: fixed"
    elif claim.kind == "reading":
        what = f"reading {_say_reading(edition, claim)}"
    elif claim.kind == "money":
        what = _name_money(edition, claim)
    elif claim.kind == "history":
        what = edition.said(what)
    return EvidenceGap(
        what=what,
        when=edition.partial_text(claim.when),
        amount=edition.line_money(claim.amount) if claim.amount is not None else "",
        entry=edition.entry_link(claim.entry) if claim.entry else Link(text="log.yaml"),
    )


def _say_reading(edition: Edition, claim: Claim) -> str:
    """The reading with its unit; a change of meter as it was written."""
    return edition.reading_at(claim.place) or claim.what


def _name_money(edition: Edition, claim: Claim) -> str:
    """What a claim about money is called; where suppliers are hidden an order and its number are not."""
    entry = edition.entries[claim.entry or ""]
    for order in entry.bought:
        if order.place == claim.place:
            return (
                ", ".join(filter(None, [edition.supplier(order.supplier), edition.order_ref(order.ref)])) or "an order"
            )
    for back in entry.returned:
        if back.place == claim.place:
            ref = edition.order_ref(back.ref)
            return f"returned on {ref}" if ref else "money that came back"
    sold = next(sold for sold in entry.sold if sold.place == claim.place)
    return f"sold {edition.said(sold.what or sold.name) or edition.part_link(sold.part or '').text}"
