"""The orders on an entry's page: what was bought, when it was paid and came, what each line and all of it cost."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.compute.costs.orders import LandedLine
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.parts.arrivals import Came, LineArrival
from buildlog.compute.quantities.money import Money
from buildlog.frozen import frozen
from buildlog.read.records import Entry, Extra, Line, LineExtra, Order, Untaxed
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Fact, Link
from buildlog.text import count, join_words


@frozen
class OrderLine:
    """One line of an order, as the entry's page shows it."""

    what: Link
    "leads to the part's life"
    detail: str = ""
    "maker, number, spec, single use: `Vostrand LP 4410-A · equivalent`"
    qty: str = ""
    "`1`, `5 m`"
    each: str = ""
    "in the order's currency; empty unless prices are shown"
    landed: str = ""
    "in the home currency; empty unless prices are shown"
    note: str = ""
    "`core €45.00 to come back`, `gift, worth £30.00`, `from a sponsor`"


@frozen
class OrderView:
    """One order, as the entry's page shows it."""

    supplier: str = ""
    "empty when hidden"
    ref: str = ""
    "order number; empty: none, or suppliers are hidden"
    size: str = ""
    "`4 lines`"
    dates: tuple[Fact, ...] = ()
    "ordered, paid, arrived; `still in the post`"
    lines: tuple[OrderLine, ...] = ()
    "in the order written"
    total: str = ""
    "landed in the home currency; empty when money is hidden"
    made_of: str = ""
    "`€272.86 charged as £231.15, duty £14.20`; empty unless prices are shown"
    paper: Link | None = None
    "the invoice; None: none, or papers are not published"


def describe_orders(context: PageContext, entry: Entry) -> tuple[OrderView, ...]:
    """The orders that stand in the entry, in the order written."""
    return tuple(_describe_order(context, purchase) for purchase in context.purchases.get(entry.name, ()))


def _describe_order(context: PageContext, purchase: Purchase) -> OrderView:
    order = purchase.landed.order
    return OrderView(
        supplier=context.supplier(order.supplier),
        ref=context.order_ref(order.ref),
        size=count(len(purchase.landed.lines), "line"),
        dates=tuple(_list_dates(context, purchase)),
        lines=tuple(_describe_line(context, purchase, line) for line in purchase.landed.lines),
        total=_write_total(context, purchase),
        made_of=_say_made_of(context, purchase),
        paper=context.paper_link(order.paper),
    )


def _write_total(context: PageContext, purchase: Purchase) -> str:
    """What the order cost, delivered."""
    costs, places = context.figures.costs, {line.line.place for line in purchase.landed.lines}
    if context.prices != "totals":
        return context.line_money(purchase.landed.landed)
    found = (line for line in (*costs.lines, *costs.committed_lines) if line.sort != "refund" and line.line in places)
    return context.total_money(purchase.landed.landed, found)


def _list_dates(context: PageContext, purchase: Purchase) -> Iterator[Fact]:
    figures = context.figures
    yield Fact(name="ordered", value=context.words.day(purchase.ordered))
    yield from _list_payments(context, purchase)
    # Lines may arrive apart, and the order has arrived with the last of them.
    came = [(one, arrival) for arrival in purchase.arrivals for one in arrival.came if one.date <= figures.as_of]
    counted = any(one.qty != arrival.line.qty for one, arrival in came)
    days = sorted({one.date for one, _ in came})
    # Where a line came in parts each parcel is told, as nothing else says when how many came.
    for day in days if counted else days[-1:]:
        parcel = [(one, arrival) for one, arrival in came if one.date == day]
        told = [_say_came(context, arrival, one) for one, arrival in parcel]
        yield Fact(name="arrived", value=context.words.day(day) + (f": {join_words(told)}" if counted else ""))
    if any(arrival.arrived is None or arrival.arrived > figures.as_of for arrival in purchase.arrivals):
        yield Fact(name="still in the post" if not came else "part of it still in the post", value="")


def _list_payments(context: PageContext, purchase: Purchase) -> Iterator[Fact]:
    """When it was paid; each instalment with how much, where there are several, and each credit note before it."""
    as_of, settlement = context.figures.as_of, purchase.landed.settlement
    # A payment dated after the site's day is still to come.
    paid = [one for one in settlement.payments if one.date <= as_of]
    whole = purchase.paid is not None and purchase.paid <= as_of
    several = len(settlement.payments) > 1 or not whole
    for one in paid:
        amount = context.line_money(one.settled) if several else ""
        yield Fact(name="paid", value=": ".join(filter(None, [context.words.day(one.date), amount])))
    for note in settlement.credited:
        if note.date <= as_of:
            amount = context.line_money(note.amount)
            yield Fact(name="credited", value=": ".join(filter(None, [context.words.day(note.date), amount])))
    if not whole and (purchase.landed.settlement.left or not settlement.credited or paid):
        yield Fact(name="part of it not paid" if paid else "not paid", value="")


def _say_came(context: PageContext, arrival: LineArrival, came: Came) -> str:
    """`2 of 3 × Seal`"""
    line, part = arrival.line, context.figures.parts.story.names.lines.get(arrival.line.place)
    name = context.part_link(part).text if part else context.item_name(line.name or line.what or line.number)
    qty = context.quantity(came.qty, line.unit)
    return f"{qty} of {context.quantity(line.qty, line.unit)} × {name}" if came.qty != line.qty else f"{qty} × {name}"


def _describe_line(context: PageContext, purchase: Purchase, landed: LandedLine) -> OrderLine:
    # With prices closed the notes about money are left out, not their amounts: "worth" alone makes no sense.
    line, currency, shown = landed.line, purchase.landed.currency, context.prices == "shown"
    part = context.figures.parts.story.names.lines.get(line.place)
    details = (
        context.owner_text(" ".join(filter(None, [line.maker, line.number]))),
        line.spec,
        "single use" if line.single_use else None,
    )
    notes = (
        *(_say_extra(context, extra, currency, "discount") for extra in line.discount if shown),
        *(_say_extra(context, extra, currency, "surcharge") for extra in line.surcharge if shown),
        _say_untaxed(context, line.untaxed) if line.untaxed and shown else "",
        f"core {context.line_money(landed.core)} to come back" if landed.core and shown else "",
        f"worth {context.line_money(Money(line.worth, currency))}" if line.worth and shown else "",
        "from a sponsor" if line.from_sponsor else "",
        *_list_deadlines(context, purchase, line),
        context.owner_text(line.shelf),
    )
    return OrderLine(
        what=context.part_link(part) if part else Link(text=context.item_name(line.name or line.what or line.number)),
        detail=", ".join(filter(None, details)),
        qty="" if line.qty == 1 and not line.unit else context.quantity(line.qty, line.unit),
        # As on the invoice, in the order's currency; the delivered cost beside it is in the home currency.
        each=_say_each(context, line, currency),
        landed=context.line_money(landed.landed),
        note=", ".join(filter(None, notes)),
    )


def _list_deadlines(context: PageContext, purchase: Purchase, line: Line) -> Iterator[str]:
    """What is said of the line's warranty, of its return and of its core."""
    order = purchase.landed.order
    warranty = line.warranty or order.warranty
    if warranty and warranty.until:
        yield f"warranty until {context.words.day(warranty.until)}"
    elif warranty and warranty.months:
        yield f"warranty {count(warranty.months, 'month')}"
    for name, day in (("to send back by", line.return_by or order.return_by), ("old unit by", line.core_by)):
        if day:
            yield f"{name} {context.words.day(day)}"


def _say_each(context: PageContext, line: Line, currency: str) -> str:
    """`€15.24`, `€15.24 per 12`"""
    if not line.each or context.prices != "shown":
        return ""
    per = f" per {context.words.number(line.per)}" if line.per != 1 else ""
    return context.price(line.each, currency) + per


def _say_extra(context: PageContext, extra: Extra | LineExtra, currency: str, name: str) -> str:
    """`discount €5.00 (loyalty)`"""
    what = f" ({context.owner_text(extra.what)})" if extra.what else ""
    return f"{name} {context.line_money(Money(extra.amount, currency))}{what}"


def _say_untaxed(context: PageContext, untaxed: Untaxed) -> str:
    """`no tax: reverse charge`, `no tax: exempt, training`"""
    return "no tax: " + ", ".join(filter(None, [untaxed.category, context.owner_text(untaxed.why)]))


def _list_extras(context: PageContext, order: Order, currency: str) -> Iterator[str]:
    """What of the whole order says more than an amount, and what its total was rounded by."""
    for name in ("carriage", "handling", "discount"):
        for extra in getattr(order, name):
            if extra.what or extra.tax is not None or extra.untaxed:
                tax = f", tax {context.words.number(extra.tax)}\u00a0%" if extra.tax is not None else ""
                none = f", {_say_untaxed(context, extra.untaxed)}" if extra.untaxed else ""
                yield _say_extra(context, extra, currency, name) + tax + none
    if order.untaxed:
        yield _say_untaxed(context, order.untaxed)
    if order.rounding:
        yield f"rounding {context.line_money(Money(order.rounding, currency))}"


def _say_made_of(context: PageContext, purchase: Purchase) -> str:
    """`€272.86 charged as £231.15, duty £14.20`."""
    landed = purchase.landed
    if context.prices != "shown":
        return ""
    phrases = []
    # In the home currency, total and charge are one amount.
    if landed.currency != landed.home_currency:
        phrases.append(f"{context.line_money(landed.total)}; {context.line_money(landed.home)}")
    phrases += _list_extras(context, landed.order, landed.currency)
    if landed.order.duty:
        phrases.append(f"duty {context.line_money(context.home_money(landed.order.duty.amount))}")
    phrases += [
        f"{context.owner_text(charge.what) or 'charge'} {context.line_money(context.home_money(charge.amount))}"
        for charge in landed.order.charges
    ]
    return ", ".join(phrases)
