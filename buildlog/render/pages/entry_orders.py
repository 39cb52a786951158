"""The orders on an entry's page: what was bought, when it was paid and came, what each line and all of it cost."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from buildlog.compute.costs.orders import LandedLine
from buildlog.compute.costs.purchases import Purchase
from buildlog.compute.parts.arrivals import Came, LineArrival
from buildlog.compute.quantities.money import Money
from buildlog.frozen import frozen
from buildlog.read.records import Entry, Extra, Line, LineExtra, Order, Untaxed
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Fact, Link
from buildlog.text import to_say


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
        size=context.words.say_count("%(number)s line", "%(number)s lines", len(purchase.landed.lines)),
        dates=tuple(_list_dates(context, purchase)),
        lines=tuple(_describe_line(context, purchase, line) for line in purchase.landed.lines),
        total=_write_total(context, purchase),
        made_of=_say_made_of(context, purchase),
        paper=context.paper_link(order.paper),
    )


def _write_total(context: PageContext, purchase: Purchase) -> str:
    """What the order cost, delivered."""
    if context.prices != "totals":
        return context.line_money(purchase.landed.landed)
    costs, places = context.figures.costs, {line.line.place for line in purchase.landed.lines}
    found = (line for line in (*costs.lines, *costs.committed_lines) if line.sort != "refund" and line.line in places)
    return context.total_money(purchase.landed.landed, found)


def _list_dates(context: PageContext, purchase: Purchase) -> Iterator[Fact]:
    figures, words = context.figures, context.words
    yield Fact(name=words.say("ordered"), value=context.words.day(purchase.ordered))
    yield from _list_payments(context, purchase)
    # Lines may arrive apart, and the order has arrived with the last of them.
    came = [(one, arrival) for arrival in purchase.arrivals for one in arrival.came if one.date <= figures.as_of]
    counted = any(one.qty != arrival.line.qty for one, arrival in came)
    days = sorted({one.date for one, _ in came})
    # Where a line came in parts each parcel is told, as nothing else says when how many came.
    for day in days if counted else days[-1:]:
        parcel = [(one, arrival) for one, arrival in came if one.date == day]
        told = words.join([_say_came(context, arrival, one) for one, arrival in parcel]) if counted else ""
        yield Fact(name=words.say("arrived"), value=_say_day(context, day, told))
    if any(arrival.arrived is None or arrival.arrived > figures.as_of for arrival in purchase.arrivals):
        missing = words.say("part of it still in the post") if came else words.say("still in the post")
        yield Fact(name=missing, value="")


def _say_day(context: PageContext, day: datetime.date, told: str) -> str:
    """`3 May 2024: £45.00`"""
    shown = context.words.day(day)
    return context.words.say("%(day)s: %(told)s", day=shown, told=told) if told else shown


def _list_payments(context: PageContext, purchase: Purchase) -> Iterator[Fact]:
    """When it was paid; each instalment with how much, where there are several, and each credit note before it."""
    as_of, settlement, say = context.figures.as_of, purchase.landed.settlement, context.words.say
    # A payment dated after the site's day is still to come.
    paid = [one for one in settlement.payments if one.date <= as_of]
    whole = purchase.paid is not None and purchase.paid <= as_of
    several = len(settlement.payments) > 1 or not whole
    for one in paid:
        amount = context.line_money(one.settled) if several else ""
        yield Fact(name=say("paid"), value=_say_day(context, one.date, amount))
    for note in settlement.credited:
        if note.date <= as_of:
            amount = context.line_money(note.amount)
            # TRANSLATORS: by a credit note
            yield Fact(name=say("credited"), value=_say_day(context, note.date, amount))
    if not whole and (purchase.landed.settlement.left or not settlement.credited or paid):
        yield Fact(name=say("part of it not paid") if paid else say("not paid"), value="")


def _say_came(context: PageContext, arrival: LineArrival, came: Came) -> str:
    """`2 of 3 × Seal`"""
    line, part = arrival.line, context.figures.parts.story.names.lines.get(arrival.line.place)
    name = context.part_link(part).text if part else context.item_name(line.name or line.what or line.number)
    qty, say = context.quantity(came.qty, line.unit), context.words.say
    if came.qty == line.qty:
        return say("%(qty)s × %(name)s", qty=qty, name=name)
    # TRANSLATORS: what came of an order: 2 of 3 × Seal
    return say("%(qty)s of %(all)s × %(name)s", qty=qty, all=context.quantity(line.qty, line.unit), name=name)


def _describe_line(context: PageContext, purchase: Purchase, landed: LandedLine) -> OrderLine:
    # With prices closed the notes about money are left out, not their amounts: "worth" alone makes no sense.
    line, currency, shown = landed.line, purchase.landed.currency, context.prices == "shown"
    say = context.words.say
    part = context.figures.parts.story.names.lines.get(line.place)
    details = (
        context.owner_text(" ".join(filter(None, [line.maker, line.number]))),
        say_choice(context.words, line.spec),
        say("single use") if line.single_use else None,
    )
    notes = (
        *(_say_extra(context, extra, currency, "discount") for extra in line.discount if shown),
        *(_say_extra(context, extra, currency, "surcharge") for extra in line.surcharge if shown),
        _say_untaxed(context, line.untaxed) if line.untaxed and shown else "",
        # TRANSLATORS: the deposit on an old unit that is to be handed in
        say("core charge %(amount)s, refundable", amount=context.line_money(landed.core))
        if landed.core and shown
        else "",
        say("worth %(amount)s", amount=context.line_money(Money(line.worth, currency))) if line.worth and shown else "",
        say("from a sponsor") if line.from_sponsor else "",
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
    order, words = purchase.landed.order, context.words
    warranty, back = line.warranty or order.warranty, line.return_by or order.return_by
    if warranty and warranty.until:
        yield words.say("warranty until %(day)s", day=words.day(warranty.until))
    elif warranty and warranty.months:
        yield words.say_count("warranty %(number)s month", "warranty %(number)s months", warranty.months)
    if back:
        yield words.say("to send back by %(day)s", day=words.day(back))
    if line.core_by:
        # TRANSLATORS: last day to hand it in
        yield words.say("hand in the old unit by %(day)s", day=words.day(line.core_by))


def _say_each(context: PageContext, line: Line, currency: str) -> str:
    """`€15.24`, `€15.24 per 12`"""
    if not line.each or context.prices != "shown":
        return ""
    price, words = context.price(line.each, currency), context.words
    return words.say("%(price)s per %(number)s", price=price, number=words.number(line.per)) if line.per != 1 else price


EXTRAS = {
    "carriage": to_say("carriage %(amount)s"),
    "handling": to_say("handling %(amount)s"),
    "discount": to_say("discount %(amount)s"),
    "surcharge": to_say("surcharge %(amount)s"),
}
"What an order or a line costs more or less, with the amount."


def _say_extra(context: PageContext, extra: Extra | LineExtra, currency: str, name: str) -> str:
    """`discount €5.00 (loyalty)`"""
    told = context.words.say(EXTRAS[name], amount=context.line_money(Money(extra.amount, currency)))
    return f"{told} ({context.owner_text(extra.what)})" if extra.what else told


def _say_untaxed(context: PageContext, untaxed: Untaxed) -> str:
    """`no tax: reverse charge`, `no tax: exempt, training`"""
    category = say_choice(context.words, untaxed.category)
    why = ", ".join(filter(None, [category, context.owner_text(untaxed.why)]))
    return context.words.say("no tax: %(why)s", why=why)


def _list_extras(context: PageContext, order: Order, currency: str) -> Iterator[str]:
    """What of the whole order says more than an amount, and what its total was rounded by."""
    words = context.words
    for name in ("carriage", "handling", "discount"):
        for extra in getattr(order, name):
            if extra.what or extra.tax is not None or extra.untaxed:
                told = [_say_extra(context, extra, currency, name)]
                if extra.tax is not None:
                    told.append(words.say("tax %(percent)s\u00a0%%", percent=words.number(extra.tax)))
                if extra.untaxed:
                    told.append(_say_untaxed(context, extra.untaxed))
                yield ", ".join(told)
    if order.untaxed:
        yield _say_untaxed(context, order.untaxed)
    if order.rounding:
        yield words.say("rounding %(amount)s", amount=context.line_money(Money(order.rounding, currency)))


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
        duty = context.line_money(context.home_money(landed.order.duty.amount))
        phrases.append(context.words.say("duty %(amount)s", amount=duty))
    for charge in landed.order.charges:
        amount, what = context.line_money(context.home_money(charge.amount)), context.owner_text(charge.what)
        # TRANSLATORS: added to an invoice by the bank, say
        phrases.append(f"{what} {amount}" if what else context.words.say("charge %(amount)s", amount=amount))
    return ", ".join(phrases)
