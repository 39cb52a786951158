"""The page of parts: each part's life, the shelf, the post, what is fitted as of the day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import ClassVar

from buildlog.compute.parts.fittings import Fitting
from buildlog.compute.parts.part_history import LifeEvent, PartFigures
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import evidence_of, list_legend
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.open_work import list_post
from buildlog.render.pages.parts_by_period import PartsPeriod, list_indexes, list_periods
from buildlog.render.pieces import Evidence, Link, PostRow, Prices, When
from buildlog.text import count, fold_words


@frozen
class PartNumber:
    """One number of a part, as it is written on it."""

    text: str
    "`LP 4410-A`"
    note: str = ""
    "`superseded by LP 4410-B`, `as bought`"
    old: bool = False
    "whether another number has taken its place"


@frozen
class LifeEventView:
    """One thing that happened to a part."""

    when: When
    "the day it happened"
    did: str
    "`ordered`, `arrived`, `fitted`, `removed`, `returned`, `sold`, `scrapped`, in the site's words"
    detail: str = ""
    "from whom, where, instead of what, why, how old it was then"
    reading: str = ""
    "of the meter that day; empty: not noted, or the entry is of another day"
    entry: Link
    "the entry that states it"


@frozen
class PartView:
    """One part and its whole life."""

    key: str
    "short name; its anchor is `part-KEY`"
    name: str
    "as first written, else its key in plain words"
    maker: str = ""
    "empty: not known"
    spec: str = ""
    "`equivalent`, `single use`: how it compares with what the maker fitted"
    numbers: tuple[PartNumber, ...] = ()
    "the current one first"
    where: str
    "where it is as of the site's date: `fitted, left of block`, `1 fitted, 1 on the shelf`, `in the post`"
    life: tuple[LifeEventView, ...] = ()
    "oldest first"


@frozen
class PartGroup:
    """The parts of one system."""

    key: str
    "its anchor is `parts-KEY`"
    name: str
    "the system's name, or `No system given`"
    parts: tuple[PartView, ...]
    "in the order of the log"


@frozen
class NumberRow:
    """One number in the index by number."""

    number: str
    "as written on the part"
    part: Link
    "leads to its history"
    note: str = ""
    "`superseded by LP 4410-B`"


@frozen
class ShelfRow:
    """Something on hand and not fitted."""

    part: Link
    "leads to its history"
    qty: str
    "`2`, `1.5 m`"
    note: str = ""
    "`kept from the machine`, `second one kept as spare`"


@frozen
class FittedRow:
    """One open fitting."""

    part: Link
    "leads to its history"
    at: str = ""
    "where on the machine, in the owner's words"
    number: str = ""
    "the newest of its numbers; empty: none known"
    qty: str = ""
    "empty for one"
    spec: str = ""
    "`equivalent`; empty: not stated"
    since: When
    "the day it was fitted"
    reading: str = ""
    "of the meter that day; empty: not noted"
    age: str = ""
    "`412 days`"
    distance: str = ""
    "`3,120 mi`"
    entry: Link
    "the entry that fitted it"
    evidence: Evidence | None = None
    "how the fitting is backed"


@frozen
class FittedGroup:
    """What is fitted in one system."""

    name: str
    "the system's name, or `No system given`"
    rows: tuple[FittedRow, ...]
    "at least one"


@frozen
class SupplierRow:
    """One supplier's figures."""

    name: str
    "as first written"
    orders: str
    "how many were placed by the day"
    spent: str = ""
    "empty when money is hidden"
    median_days: str = ""
    "from order to arrival; empty: nothing has arrived"
    longest_days: str = ""
    "from order to arrival; empty: nothing has arrived"
    returns: str = ""
    "times that money came back; empty: never"


@frozen
class PartsView:
    """What was bought, where is it now, what is fitted?"""

    TEMPLATE: ClassVar[str] = "parts.html"
    frame: Frame
    "what surrounds the page"
    prices: Prices
    "what of the money is public"
    count: str = ""
    "`38 parts: 26 fitted, 7 on the shelf, 2 in the post`"
    groups: tuple[PartGroup, ...] = ()
    "by system, in the owner's order; empty: there is no part yet"
    by_name: tuple[Link, ...] = ()
    "every part by name, leading to `parts.html#part-KEY`"
    by_number: tuple[NumberRow, ...] = ()
    "every number, superseded ones included"
    shelf: tuple[ShelfRow, ...] = ()
    "in the order of the log"
    post: tuple[PostRow, ...] = ()
    "the longest wait first"
    fitted: tuple[FittedGroup, ...] = ()
    "as of the site's date"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    suppliers: tuple[SupplierRow, ...] = ()
    "empty when hidden"
    periods: tuple[PartsPeriod, ...] = ()
    "the pages that have the parts, where they are too many for this one; empty: they are here"
    names: tuple[Link, ...] = ()
    "the pages of the index by name, where the parts are too many for this one"
    numbers: tuple[Link, ...] = ()
    "the same by number"


def make_parts(context: PageContext) -> PartsView:
    """The finished page."""
    # Where there are too many for one page, this one has none of them, but leads to the pages that do.
    split = bool(context.part_pages)
    parts = () if split else context.figures.parts.parts
    fitted = tuple(list_fitted(context, parts))
    return PartsView(
        frame=make_frame(context, "parts.html", "Parts", "Every part: bought, fitted, on the shelf, in the post."),
        prices=context.prices,
        count=_count_parts(context.figures.parts.parts),
        groups=tuple(list_groups(context, parts)),
        by_name=() if split else list_names(context),
        by_number=() if split else list_numbers(context),
        shelf=tuple(list_shelf(context, parts)),
        post=list_post(context),
        fitted=fitted,
        legend=list_legend(context, (row.evidence for group in fitted for row in group.rows)),
        suppliers=tuple(_list_suppliers(context)),
        periods=tuple(list_periods(context)),
        names=list_indexes("name", [link.text for link in list_names(context)]) if split else (),
        numbers=list_indexes("number", [row.number for row in list_numbers(context)]) if split else (),
    )


def _count_parts(parts: tuple[PartFigures, ...]) -> str:
    if not parts:
        return ""
    counts = (
        # Not shares of the total: a part may have one fitted and one on the shelf.
        (sum(part.on_machine > 0 for part in parts), "fitted"),
        (sum(part.shelf > 0 for part in parts), "on the shelf"),
        (sum(part.in_the_post > 0 for part in parts), "in the post"),
    )
    return f"{count(len(parts), 'part')}: " + ", ".join(f"{number} {where}" for number, where in counts)


def list_groups(context: PageContext, parts: Iterable[PartFigures]) -> Iterator[PartGroup]:
    """Some parts by system, in the owner's order; those of no system last."""
    parts = tuple(parts)
    for key in (*context.figures.log.settings.systems, None):
        views = tuple(_describe_part(context, part) for part in parts if part.system == key)
        if views:
            yield PartGroup(key=key or "none", name=context.system_name(key), parts=views)


def _describe_part(context: PageContext, part: PartFigures) -> PartView:
    return PartView(
        key=part.key,
        name=context.owner_text(part.name),
        maker=context.owner_text(part.maker),
        spec=", ".join(filter(None, [part.spec, "single use" if part.single_use else None])),
        numbers=tuple(_describe_numbers(context, part)),
        where=_say_where(context, part),
        life=tuple(_describe_event(context, event, part.unit) for event in part.life),
    )


def _describe_numbers(context: PageContext, part: PartFigures) -> Iterator[PartNumber]:
    # Newest first, so the one before is the one that took its place.
    for newer, number in zip((None, *part.numbers), part.numbers, strict=False):
        note = f"superseded by {context.owner_text(newer)}" if newer else ""
        yield PartNumber(text=context.owner_text(number), note=note, old=newer is not None)


def _say_where(context: PageContext, part: PartFigures) -> str:
    """Where the part is: `1 fitted, 1 on the shelf`."""
    places = (
        (part.on_machine, "fitted"),
        (part.shelf, "on the shelf"),
        (part.in_the_post, "in the post"),
    )
    # A part that was sold or thrown away is in none of them, and keeps its history.
    phrases = [f"{context.quantity(qty, part.unit)} {where}" for qty, where in places if qty > 0]
    return ", ".join(phrases) or "gone"


DID = {
    "ordered": "ordered",
    "cancelled": "cancelled",
    "arrived": "arrived",
    "fitted": "fitted",
    "removed": "removed",
    "returned": "sent back",
    "sold": "sold",
    "scrapped": "scrapped",
}
"What happened, in readers' words."


def _describe_event(context: PageContext, event: LifeEvent, unit: str | None) -> LifeEventView:
    qty = _say_qty(context, event.qty, unit)
    return LifeEventView(
        when=context.when(event.date),
        did=f"{DID[event.kind]} {qty}".rstrip(),
        detail=", ".join(filter(None, _list_details(context, event))),
        reading=context.reading_in(event.entry) if event.reading else "",
        entry=context.entry_link(event.entry),
    )


def _list_details(context: PageContext, event: LifeEvent) -> Iterator[str]:
    # Once, and not again with every step that follows from the order.
    if event.kind in ("ordered", "cancelled"):
        yield context.supplier(event.supplier)
    yield context.owner_text(event.at)
    if event.instead_of:
        replaced = "the original" if event.instead_of == "original" else context.part_link(event.instead_of).text
        yield f"replacing {replaced}"
    yield context.owner_text(event.why)
    if event.kind == "removed":
        yield event.fate or ""


def list_names(context: PageContext) -> tuple[Link, ...]:
    """Every part by name."""
    # Not in the order of the site's language: Python knows that only from the system that it runs on, and the same log
    # would give other bytes on another machine.
    links = (context.part_link(part.key) for part in context.figures.parts.parts)
    return tuple(sorted(links, key=lambda link: link.text.casefold()))


def list_numbers(context: PageContext) -> tuple[NumberRow, ...]:
    """Every number by itself."""
    return tuple(sorted(_list_numbers(context), key=lambda row: row.number.casefold()))


def _list_numbers(context: PageContext) -> Iterator[NumberRow]:
    for part in context.figures.parts.parts:
        for number in _describe_numbers(context, part):
            yield NumberRow(number=number.text, part=context.part_link(part.key), note=number.note)


def list_shelf(context: PageContext, parts: Iterable[PartFigures]) -> Iterator[ShelfRow]:
    """Those of some parts that are on the shelf."""
    for part in parts:
        # Told apart from spares that were bought: it has run, nobody knows how long.
        if part.shelf > 0:
            kept = "taken off and kept" if part.original else ""
            yield ShelfRow(part=context.part_link(part.key), qty=context.quantity(part.shelf, part.unit), note=kept)


def list_fitted(context: PageContext, parts: Iterable[PartFigures]) -> Iterator[FittedGroup]:
    """What of some parts is fitted, by system."""
    keys = {part.key for part in parts}
    for group in context.figures.as_fitted:
        fittings = tuple(one for one in group.fittings if context.parts[one.key].key in keys)
        if fittings:
            name = context.system_name(group.system)
            yield FittedGroup(name=name, rows=tuple(_describe_fitting(context, one) for one in fittings))


def _describe_fitting(context: PageContext, fitting: Fitting) -> FittedRow:
    part = context.parts[fitting.key]
    return FittedRow(
        part=context.part_link(fitting.key),
        at=context.owner_text(fitting.at),
        number=context.owner_text(part.numbers[0]) if part.numbers else "",
        qty=_say_qty(context, fitting.qty, part.unit),
        spec=fitting.spec or "",
        since=context.when(fitting.since),
        reading=context.reading_in(fitting.fitted_in) if fitting.start_reading else "",
        age=count(fitting.age_days, "day"),
        distance=context.distance(fitting.distance),
        entry=context.entry_link(fitting.fitted_in),
        evidence=evidence_of(context, fitting.place),
    )


def _say_qty(context: PageContext, qty: Decimal, unit: str | None) -> str:
    """How many; nothing for one of a thing that is counted in pieces."""
    return "" if qty == 1 and not unit else context.quantity(qty, unit)


def _list_suppliers(context: PageContext) -> Iterator[SupplierRow]:
    # Matched as they are counted: capitals and blanks do not make another supplier.
    spent = {fold_words(total.name): total.amount for total in context.figures.costs.by_supplier}
    nothing = context.home_money(Decimal(0))
    for supplier in context.figures.parts.suppliers:
        # With names hidden the table stays empty: rows without a name help nobody.
        if context.supplier(supplier.name):
            median: Decimal | None = supplier.median_days
            yield SupplierRow(
                name=context.owner_text(supplier.name),
                orders=str(supplier.orders),
                spent=context.money(spent.get(fold_words(supplier.name), nothing)),
                median_days="" if median is None else context.words.number(median),
                longest_days="" if supplier.longest_days is None else str(supplier.longest_days),
                returns=str(supplier.returns) if supplier.returns else "",
            )
