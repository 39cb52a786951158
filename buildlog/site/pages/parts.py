"""The page of parts: each part's life, the shelf, the post, what is fitted as of the day."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from buildlog.reckon.parts.fittings import Fitting
from buildlog.reckon.parts.lives import LifeEvent, PartFigures
from buildlog.reckon.parts.suppliers import fold_supplier
from buildlog.site.pages.edition import Edition
from buildlog.site.pages.evidence import evidence_of
from buildlog.site.pages.framing import make_frame
from buildlog.site.pages.post import list_post
from buildlog.site.view_parts import (
    FittedGroup,
    FittedRow,
    NumberRow,
    PartGroup,
    PartNumber,
    PartsView,
    PartView,
    ShelfRow,
    SupplierRow,
)
from buildlog.site.view_parts import LifeEvent as LifeEventView
from buildlog.site.words import count


def make_parts(edition: Edition) -> PartsView:
    """The finished page."""
    figures = edition.figures
    return PartsView(
        frame=make_frame(edition, "parts.html", "Parts", "Every part: bought, fitted, on the shelf, in the post."),
        prices=edition.prices,
        count=_count_parts(figures.parts.parts),
        groups=tuple(_list_groups(edition)),
        by_name=tuple(
            sorted((edition.part_link(part.key) for part in figures.parts.parts), key=lambda link: link.text.casefold())
        ),
        by_number=tuple(sorted(_list_numbers(edition), key=lambda row: row.number.casefold())),
        shelf=tuple(_list_shelf(edition)),
        post=list_post(edition),
        fitted=tuple(_list_fitted(edition)),
        suppliers=tuple(_list_suppliers(edition)),
    )


def _count_parts(parts: tuple[PartFigures, ...]) -> str:
    if not parts:
        return ""
    counts = (
        (sum(part.on_machine > 0 for part in parts), "fitted"),
        (sum(part.shelf > 0 for part in parts), "on the shelf"),
        (sum(part.in_the_post > 0 for part in parts), "in the post"),
    )
    return f"{count(len(parts), 'part')}: " + ", ".join(f"{number} {where}" for number, where in counts)


def _list_groups(edition: Edition) -> Iterator[PartGroup]:
    """The parts by system, in the owner's order; those of no system last."""
    parts = edition.figures.parts.parts
    for key in (*edition.figures.log.settings.systems, None):
        views = tuple(_describe_part(edition, part) for part in parts if part.system == key)
        if views:
            yield PartGroup(key=key or "none", name=edition.system_name(key), parts=views)


def _describe_part(edition: Edition, part: PartFigures) -> PartView:
    return PartView(
        key=part.key,
        name=edition.said(part.name),
        maker=edition.said(part.maker),
        spec=", ".join(filter(None, [part.spec, "single use" if part.single_use else None])),
        numbers=tuple(_describe_numbers(edition, part)),
        stands=_say_where(edition, part),
        life=tuple(_describe_event(edition, event, part.unit) for event in part.life),
    )


def _describe_numbers(edition: Edition, part: PartFigures) -> Iterator[PartNumber]:
    for newer, number in zip((None, *part.numbers), part.numbers, strict=False):
        note = f"superseded by {edition.said(newer)}" if newer else ""
        yield PartNumber(text=edition.said(number), note=note, old=newer is not None)


def _say_where(edition: Edition, part: PartFigures) -> str:
    """Where the part is: `1 fitted, 1 on the shelf`."""
    places = (
        (part.on_machine, "fitted"),
        (part.shelf, "on the shelf"),
        (part.in_the_post, "in the post"),
    )
    said = [f"{edition.quantity(qty, part.unit)} {where}" for qty, where in places if qty > 0]
    return ", ".join(said) or "no longer here"


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


def _describe_event(edition: Edition, event: LifeEvent, unit: str | None) -> LifeEventView:
    qty = _say_qty(edition, event.qty, unit)
    return LifeEventView(
        when=edition.when(event.date),
        did=f"{DID[event.kind]} {qty}".rstrip(),
        detail=", ".join(filter(None, _list_details(edition, event))),
        reading=edition.reading_in(event.entry) if event.reading else "",
        entry=edition.entry_link(event.entry),
    )


def _list_details(edition: Edition, event: LifeEvent) -> Iterator[str]:
    if event.kind in ("ordered", "cancelled"):
        yield edition.supplier(event.supplier)
    yield edition.said(event.at)
    if event.instead_of:
        replaced = "the machine's own" if event.instead_of == "original" else edition.part_link(event.instead_of).text
        yield f"instead of {replaced}"
    yield edition.said(event.why)
    if event.kind == "removed":
        yield event.fate or ""


def _list_numbers(edition: Edition) -> Iterator[NumberRow]:
    for part in edition.figures.parts.parts:
        for number in _describe_numbers(edition, part):
            yield NumberRow(number=number.text, part=edition.part_link(part.key), note=number.note)


def _list_shelf(edition: Edition) -> Iterator[ShelfRow]:
    for part in edition.figures.parts.parts:
        if part.shelf > 0:
            kept = "kept from the machine" if part.original else ""
            yield ShelfRow(part=edition.part_link(part.key), qty=edition.quantity(part.shelf, part.unit), note=kept)


def _list_fitted(edition: Edition) -> Iterator[FittedGroup]:
    for group in edition.figures.as_fitted:
        name = edition.system_name(group.system)
        yield FittedGroup(name=name, rows=tuple(_describe_fitting(edition, fitting) for fitting in group.fittings))


def _describe_fitting(edition: Edition, fitting: Fitting) -> FittedRow:
    part = edition.parts[fitting.key]
    return FittedRow(
        part=edition.part_link(fitting.key),
        at=edition.said(fitting.at),
        number=edition.said(part.numbers[0]) if part.numbers else "",
        qty=_say_qty(edition, fitting.qty, part.unit),
        spec=fitting.spec or "",
        since=edition.when(fitting.since),
        reading=edition.reading_in(fitting.fitted_in) if fitting.start_reading else "",
        age=count(fitting.age_days, "day"),
        distance=edition.distance(fitting.distance),
        entry=edition.entry_link(fitting.fitted_in),
        evidence=evidence_of(edition, fitting.place),
    )


def _say_qty(edition: Edition, qty: Decimal, unit: str | None) -> str:
    """How many; nothing for one of a thing that is counted in pieces."""
    return "" if qty == 1 and not unit else edition.quantity(qty, unit)


def _list_suppliers(edition: Edition) -> Iterator[SupplierRow]:
    spent = {fold_supplier(total.name): total.amount for total in edition.figures.costs.by_supplier}
    for supplier in edition.figures.parts.suppliers:
        if edition.supplier(supplier.name):
            median: Decimal | None = supplier.median_days
            yield SupplierRow(
                name=edition.said(supplier.name),
                orders=str(supplier.orders),
                spent=edition.money(spent.get(fold_supplier(supplier.name), Decimal(0))),
                median_days="" if median is None else edition.words.number(median),
                longest_days="" if supplier.longest_days is None else str(supplier.longest_days),
                returns=str(supplier.returns) if supplier.returns else "",
            )
