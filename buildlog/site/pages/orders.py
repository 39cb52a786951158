"""An entry's orders, as its page shows them."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.reckon.costs.orders import LandedLine
from buildlog.reckon.costs.purchases import Purchase
from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import Fact, Link
from buildlog.site.view_entry import OrderLine, OrderView
from buildlog.source.records import Entry


def describe_orders(edition: Edition, entry: Entry) -> tuple[OrderView, ...]:
    """The orders that stand in the entry, in the order written."""
    return tuple(_describe_order(edition, purchase) for purchase in edition.purchases.get(entry.name, ()))


def _describe_order(edition: Edition, purchase: Purchase) -> OrderView:
    order = purchase.landed.order
    return OrderView(
        supplier=edition.supplier(order.supplier),
        ref=edition.order_ref(order.ref),
        dates=tuple(_list_dates(edition, purchase)),
        lines=tuple(_describe_line(edition, purchase, line) for line in purchase.landed.lines),
        total=edition.money(purchase.landed.landed),
        made_of=_say_made_of(edition, purchase),
        paper=edition.paper_link(order.paper),
    )


def _list_dates(edition: Edition, purchase: Purchase) -> Iterator[Fact]:
    figures = edition.figures
    yield Fact(name="ordered", value=edition.words.day(purchase.ordered))
    if purchase.paid and purchase.paid <= figures.as_of:
        yield Fact(name="paid", value=edition.words.day(purchase.paid))
    else:
        yield Fact(name="not paid", value="")
    arrived = {arrival.arrived for arrival in purchase.arrivals}
    known = sorted(day for day in arrived if day is not None and day <= figures.as_of)
    if known:
        yield Fact(name="arrived", value=edition.words.day(known[-1]))
    if len(known) < len(arrived):
        yield Fact(name="still in the post" if not known else "part of it still in the post", value="")


def _describe_line(edition: Edition, purchase: Purchase, landed: LandedLine) -> OrderLine:
    line, currency, shown = landed.line, purchase.landed.currency, edition.prices == "shown"
    part = edition.figures.parts.story.names.lines.get(line.place)
    details = (
        edition.said(" ".join(filter(None, [line.maker, line.number]))),
        line.spec,
        "single use" if line.single_use else None,
    )
    notes = (
        f"core {edition.line_money(landed.core, currency)} to come back" if landed.core and shown else "",
        f"worth {edition.line_money(line.worth, currency)}" if line.worth and shown else "",
        "from a sponsor" if line.from_sponsor else "",
    )
    return OrderLine(
        what=edition.part_link(part)
        if part
        else Link(text=edition.said(line.name or line.what or line.number) or "a line"),
        detail=", ".join(filter(None, details)),
        qty="" if line.qty == 1 and not line.unit else edition.quantity(line.qty, line.unit),
        each=edition.price(line.each, currency) if line.each else "",
        landed=edition.line_money(landed.landed),
        note=", ".join(filter(None, notes)),
    )


def _say_made_of(edition: Edition, purchase: Purchase) -> str:
    """`€272.86 charged as £231.15, duty £14.20`."""
    landed = purchase.landed
    if edition.prices != "shown":
        return ""
    said = []
    if landed.currency != landed.home_currency:
        said.append(f"{edition.words.money(landed.total, landed.currency)}, at home {edition.money(landed.home)}")
    if landed.order.duty:
        said.append(f"duty {edition.money(landed.order.duty.amount)}")
    said += [
        f"{edition.said(charge.what) or 'charge'} {edition.money(charge.amount)}" for charge in landed.order.charges
    ]
    return ", ".join(said)
