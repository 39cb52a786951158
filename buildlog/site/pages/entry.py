"""An entry's page: the story, and beside it what was bought, fitted, measured, closed and opened."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from buildlog.reckon.meter.readings import MeterStep
from buildlog.reckon.parts.names import ORIGINAL
from buildlog.site.pages.edition import Edition, entry_href
from buildlog.site.pages.entry_faults import list_checks, list_fixed, list_named, list_same_fault, list_turns
from buildlog.site.pages.evidence import evidence_of
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.measured import describe_measured
from buildlog.site.pages.orders import describe_orders
from buildlog.site.pages.sealed import describe_sealed
from buildlog.site.pages.tightened import describe_tightened
from buildlog.site.pieces import Link, Sum
from buildlog.site.view_entry import Act, EntryView
from buildlog.site.words import join_words
from buildlog.source.records import Entry, Fitted, Removed, Returned, Scrapped, Sold

TEMPORARY = "faults.html#temporary"
"Where every temporary measure is listed."


def make_entry(edition: Edition, entry: Entry, *, before: Entry | None, after: Entry | None) -> EntryView:
    """The finished page of one entry, with its neighbours in time."""
    story = edition.stories[entry.name]
    photos = edition.photos.get(entry.name, {})
    return EntryView(
        frame=make_frame(
            edition, entry_href(entry.name), edition.said(entry.title), edition.said(story.lead or entry.title)
        ),
        title=edition.said(entry.title),
        margin=edition.margin(entry),
        milestone=edition.said(entry.milestone),
        systems=edition.system_links(entry.systems),
        story=story.html,
        story_language=edition.words_language,
        photos=tuple(photo.below() for file, photo in photos.items() if file not in story.photos),
        prices=edition.prices,
        costs=tuple(_list_costs(edition, entry)),
        orders=describe_orders(edition, entry),
        returned=tuple(_tell_returned(edition, item) for item in entry.returned),
        sold=tuple(_tell_sold(edition, item) for item in entry.sold),
        arrived=tuple(_tell_order(edition, item.ref, item.part) for item in entry.arrived),
        paid=tuple(_tell_order(edition, item.ref, None) for item in entry.paid),
        fitted=tuple(_tell_fitted(edition, item) for item in entry.fitted),
        removed=tuple(_tell_removed(edition, item) for item in entry.removed),
        scrapped=tuple(_tell_scrapped(edition, item) for item in entry.scrapped),
        serviced=tuple(_list_serviced(edition, entry)),
        measured=tuple(describe_measured(edition, item) for item in entry.measured),
        faults=tuple(list_named(edition, entry)),
        checks=tuple(list_checks(edition, entry)),
        fixed=tuple(list_fixed(edition, entry)),
        tightened=tuple(describe_tightened(edition, item) for item in entry.tightened),
        temporary=tuple(
            Act(
                what=Link(text=edition.said(item.what), href=TEMPORARY),
                notes=_notes(item.until and f"until: {edition.said(item.until)}"),
            )
            for item in entry.temporary
        ),
        made_good=tuple(
            Act(what=Link(text=edition.made_good_name(key, entry), href=TEMPORARY)) for key in entry.made_good
        ),
        stripped=tuple(edition.strip_down_name(key) for key in entry.stripped),
        refitted=tuple(edition.strip_down_name(key) for key in entry.refitted),
        meter=_tell_meter(edition, entry),
        next=tuple(map(edition.said, entry.next)),
        before=edition.entry_link(before.name) if before else None,
        after=edition.entry_link(after.name) if after else None,
        same_fault=tuple(list_same_fault(edition, entry)),
        fault_turns=tuple(list_turns(edition, entry)),
        sealed=describe_sealed(edition, entry),
    )


def _notes(*notes: str | None) -> tuple[str, ...]:
    return tuple(note for note in notes if note)


def _list_costs(edition: Edition, entry: Entry) -> Iterator[Sum]:
    """What the entry moved; nothing where money is hidden or none moved."""
    moved = edition.figures.costs.moved_by_entry.get(entry.name)
    if moved is None or edition.prices == "hidden":
        return
    amounts = (
        ("Paid", moved.paid),
        ("Came back", -moved.refunded),
        ("Recovered", -moved.recovered),
        ("Committed", moved.committed),
    )
    yield from (Sum(name=name, amount=edition.money(amount)) for name, amount in amounts if amount)


def _tell_fitted(edition: Edition, item: Fitted) -> Act:
    instead = item.instead_of
    replaced = instead and ("the machine's own" if instead == "original" else edition.part_link(instead).text)
    return Act(
        what=edition.named_part(item.part, item.name),
        qty=_some(edition, item.qty, item.part),
        notes=_notes(
            edition.said(item.at),
            replaced and f"instead of {replaced}",
            "as planned" if item.planned else None,
            item.spec,
            edition.said(item.note),
            edition.words.hours(item.hours) if item.hours else None,
        ),
        evidence=evidence_of(edition, item.place),
    )


def _tell_removed(edition: Edition, item: Removed) -> Act:
    return Act(
        what=edition.named_part(item.part, item.name),
        qty=_some(edition, item.qty, item.part),
        notes=_notes(edition.said(item.at), edition.said(item.why), item.fate),
    )


def _tell_scrapped(edition: Edition, item: Scrapped) -> Act:
    return Act(
        what=edition.named_part(item.part, item.name),
        qty=_some(edition, item.qty, item.part),
        notes=_notes(edition.said(item.why)),
    )


def _tell_sold(edition: Edition, item: Sold) -> Act:
    part = item.part or (ORIGINAL if item.name else None)
    what = edition.named_part(part, item.name) if part else Link(text=edition.said(item.what))
    return Act(what=what, qty=_some(edition, item.qty, item.part), notes=_notes(edition.line_money(item.price)))


def _tell_returned(edition: Edition, item: Returned) -> Act:
    what = edition.part_link(item.part) if item.part else Link(text=edition.order_name(item.ref))
    back = [name for name, amount in (("core charge", item.core), ("price", item.refund)) if amount]
    return Act(
        what=what,
        qty=_some(edition, item.qty, item.part) if item.qty else "",
        notes=_notes(
            join_words(back) and f"{join_words(back)} back",
            edition.said(item.why),
            edition.order_name(item.ref) if item.part else None,
        ),
        evidence=evidence_of(edition, item.place),
    )


def _tell_order(edition: Edition, ref: str, part: str | None) -> Act:
    told, name = edition.orders.get(ref), edition.order_name(ref)
    what = edition.part_link(part) if part else Link(text=name, href=entry_href(told) if told else "")
    return Act(what=what, notes=_notes(f"of {name}" if part else None))


def _list_serviced(edition: Edition, entry: Entry) -> Iterator[Act]:
    for done in entry.serviced:
        parts = join_words([edition.part_link(key).text for key in done.parts])
        reading = edition.reading_at(done.spot("reading")) if done.reading else ""
        yield Act(
            what=edition.item_link(done.item),
            notes=_notes(edition.said(done.who), parts and f"with {parts}", edition.said(done.note), reading),
            evidence=evidence_of(edition, done.place),
        )


def _tell_meter(edition: Edition, entry: Entry) -> str:
    """What the entry says of the meter itself: that it passed its last digit, that it was changed, what follows."""
    meter, change = edition.figures.meter, entry.meter_changed
    rolled = entry.spot("rollover") if entry.rollover else None
    steps = [step for step in meter.steps if step.place in (rolled, change and change.place)]
    said = [say_step(edition, step) for step in steps]
    if steps and steps[-1].offset:
        offset = steps[-1].offset
        than = f"{edition.distance(abs(offset))} {'less' if offset > 0 else 'more'} than the true total"
        said.append(f"From here on the meter shows {than}.")
    return " ".join(said)


def say_step(edition: Edition, step: MeterStep) -> str:
    """`Meter changed: 600 h on the old one, 0 h on the new one, drums stuck.`"""
    if step.kind == "rollover":
        return "The meter passed its last digit."
    old, new = (edition.words.measure(Decimal(text.split()[0]), text.split()[1]) for text in (step.old, step.new))
    why = f", {edition.said(step.why)}" if step.why else ""
    return f"Meter changed: {old} on the old one, {new} on the new one{why}."


def _some(edition: Edition, qty: Decimal, part: str | None) -> str:
    """How many of a part, in its unit; nothing for one of a thing that is counted in pieces."""
    known = edition.parts.get(part or "")
    unit = known.unit if known else None
    return "" if qty == 1 and not unit else edition.quantity(qty, unit)
