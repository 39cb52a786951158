"""Which orders did a bank statement pay: camt.053 (ISO 20022), matched by amount and day?

A payment is matched with one order alone, or with none: by the order's number in its text, else by amount and day,
where nothing else has both. An order of the log is not touched: its payment is told in an entry of its own, as owners
do. What matches nothing is listed, and nothing is invented for it.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from buildlog.bring.bills import Bill, Origin
from buildlog.bring.sources import Left, Unreadable
from buildlog.compute.costs.orders import land_order
from buildlog.drafts import write_text
from buildlog.frozen import frozen
from buildlog.read.records import Line, Log, Order
from buildlog.text import cut, fold_words

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

STATEMENT = re.compile(r"\{urn:iso:std:iso:20022:tech:xsd:camt\.053\.001\.\d{2}\}Document")
"Name of the root element, whatever its version."
EARLIEST, LATEST = datetime.timedelta(days=-3), datetime.timedelta(days=60)
"From the day of an order to its payment, where only amount and day speak for it: common practice, no source."
SHORTEST_REF = 4
"Signs of a number that is sought in a payment's text: a shorter one stands there by chance."


@frozen
class Payment:
    """One payment on a statement."""

    origin: Origin
    "where it was read"
    day: datetime.date
    "when it was booked"
    amount: Decimal
    "above zero"
    currency: str
    "ISO 4217"
    party: str
    "who got it, or gave it; empty: not told"
    text: str
    "all words that may name what was paid"
    out: bool
    "whether it went out"


@frozen
class Match:
    """An order of the log and the payment that paid it."""

    payment: Payment
    "on the statement"
    supplier: str
    "of the order"
    ref: str
    "of the order"
    order: str
    "where the order stands, and of which day it is"
    charged: Decimal | None
    "what the bank took, where the order is in another currency"

    def write(self) -> str:
        """The item of an entry's `paid:`."""
        charged = f", charged: {self.charged:f}" if self.charged is not None else ""
        return f"{{ref: {write_text(self.ref)}{charged}}}"


@frozen
class Matches:
    """What became of payments."""

    bills: tuple[Bill, ...]
    "all that are brought in, those that were paid with their day"
    matches: tuple[Match, ...]
    "payments of orders of the log"
    left: tuple[Left, ...]
    "payments of nothing that is known"


@frozen
class _Open:
    """An order that may have been paid."""

    supplier: str
    "who is paid"
    ref: str | None
    "its number"
    day: datetime.date
    "when it was ordered"
    amounts: frozenset[tuple[Decimal, str]]
    "what it may have cost, each with its currency"
    where: str
    "as it is told"
    at: int | None = None
    "which bill it is of those brought in; None: it is in the log"
    foreign: bool = False
    "whether it is in another currency than the log"
    paid: datetime.date | None = None
    "when it was paid, where that is known"


# ── the statement ────────────────────────────────────────────────────────────────────────────────────────────────


def read_statement(root: Element, origin: Origin) -> Iterator[Payment]:
    """Every booked entry of a statement; one that sums up several payments is told as each of them."""
    space = root.tag[1:].partition("}")[0]
    names = {"c": space}
    number = 0
    for entry in root.iterfind("c:BkToCstmrStmt/c:Stmt/c:Ntry", names):
        number += 1
        status = "".join(entry.findtext(path, "", names) for path in ("c:Sts", "c:Sts/c:Cd")).strip()
        if status and status != "BOOK":
            continue  # announced, and not yet taken
        day = _read_day(entry, names, number)
        parts = entry.findall("c:NtryDtls/c:TxDtls", names)
        amounts = [_find_amount(part, names) for part in parts]
        split = len(parts) > 1 and all(amount is not None for amount in amounts)
        for n, (part, amount) in enumerate(zip(parts, amounts, strict=True) if split else [(entry, None)], 1):
            told = amount if amount is not None else entry.find("c:Amt", names)
            value, currency = _read_amount(told, number)
            texts = [(each.text or "").strip() for each in part.iter() if each.tag.rpartition("}")[2] in SAYING]
            out = entry.findtext("c:CdtDbtInd", "", names).strip() == "DBIT"
            party = "Cdtr" if out else "Dbtr"
            found = [part.findtext(f".//c:RltdPties/c:{party}/{path}", "", names) for path in ("c:Nm", "c:Pty/c:Nm")]
            yield Payment(
                origin=replace(origin, at=f"entry {number}{f' part {n}' if split else ''}"),
                day=day,
                amount=value,
                currency=currency,
                party=" ".join("".join(found).split()),
                text=" ".join(filter(None, texts)),
                out=out,
            )


SAYING = frozenset("Ustrd Ref EndToEndId AddtlNtryInf AddtlTxInf InstrId Nb".split())
"Elements whose text may name what was paid."


def _find_amount(part: Element, names: dict[str, str]) -> Element | None:
    for path in ("c:Amt", "c:AmtDtls/c:TxAmt/c:Amt"):
        found = part.find(path, names)
        if found is not None:
            return found
    return None


def _read_amount(element: Element | None, number: int) -> tuple[Decimal, str]:
    text = (element.text or "").strip() if element is not None else ""
    if element is None or not re.fullmatch(r"\d{1,13}(\.\d{1,5})?", text):
        raise Unreadable(f"entry {number} of this statement has no amount", "ask your bank for it again", at="Ntry/Amt")
    return Decimal(text), element.get("Ccy", "")


def _read_day(entry: Element, names: dict[str, str], number: int) -> datetime.date:
    for path in ("c:BookgDt/c:Dt", "c:BookgDt/c:DtTm", "c:ValDt/c:Dt", "c:ValDt/c:DtTm"):
        text = entry.findtext(path, "", names).strip()
        try:
            return datetime.date.fromisoformat(text[:10])
        except ValueError:
            continue
    raise Unreadable(f"entry {number} of this statement has no day", "ask your bank for it again", at="Ntry/BookgDt")


# ── matched ──────────────────────────────────────────────────────────────────────────────────────────────────────


def match_payments(payments: Sequence[Payment], bills: Sequence[Bill], log: Log) -> Matches:
    """What each payment paid, of what is brought in and of what is in the log."""
    made, matches, left = list(bills), list[Match](), list[Left]()
    if not payments:
        return Matches(bills=tuple(bills), matches=(), left=())
    home = log.settings.money.currency
    known = [*_list_bills(bills, home), *_list_log(log)]
    pairs = _pair([payment for payment in payments if payment.out], known)
    for payment in payments:
        order = pairs.get(payment.origin.mark)
        if order is None:
            left.append(_leave(payment, known))
            continue
        charged = payment.amount if order.foreign and payment.currency == home else None
        if order.at is not None:
            bill = made[order.at]
            made[order.at] = replace(bill, paid=payment.day, charged=charged if charged is not None else bill.charged)
            left.append(
                Left(
                    payment.origin.source.name, _tell(payment), f"paid {order.where}", known=True, at=payment.origin.at
                )
            )
        elif order.ref is None:
            why = f"seems to have paid {order.where}, which has no number: write `paid: {payment.day}` there"
            left.append(Left(payment.origin.source.name, _tell(payment), why, at=payment.origin.at))
        else:
            matches.append(
                Match(payment=payment, supplier=order.supplier, ref=order.ref, order=order.where, charged=charged)
            )
    return Matches(bills=tuple(made), matches=tuple(matches), left=tuple(left))


def _list_bills(bills: Sequence[Bill], home: str) -> Iterator[_Open]:
    for at, bill in enumerate(bills):
        if bill.paid is None and not bill.credit:
            lines = tuple(Line(qty=line.qty, total=line.total, tax=line.tax) for line in bill.lines)
            order = Order(supplier=bill.supplier, currency=bill.currency, prices=bill.prices, lines=lines)
            total = land_order(order, home).total
            amounts = {(total.amount, total.currency)} | ({(bill.payable, total.currency)} if bill.payable else set())
            yield _Open(
                supplier=bill.supplier, ref=bill.ref, day=bill.day, amounts=frozenset(amounts), at=at,
                foreign=bill.currency not in (None, home),
                where=f"the bill {f'{bill.ref} ' if bill.ref else ''}of {bill.day} from {bill.supplier}, brought now",
            )  # fmt: skip


def _list_log(log: Log) -> Iterator[_Open]:
    """The orders of the log, paid ones with their day."""
    home = log.settings.money.currency
    # One that was paid in part still waits for the rest.
    later = {
        payment.ref: payment.date or entry.date
        for entry in log.entries
        for payment in entry.paid
        if payment.amount is None
    }
    for entry in log.entries:
        for order in entry.bought:
            landed = land_order(order, home)
            amounts = {(landed.total.amount, landed.total.currency)}
            amounts |= {(landed.home.amount, home)} if landed.converted else set()
            day = order.ordered or entry.date
            number = f" {order.ref}" if order.ref else ""
            paid = next((each.date for each in order.paid if each.amount is None), later.get(order.ref or ""))
            yield _Open(
                supplier=order.supplier, ref=order.ref, day=day, amounts=frozenset(amounts),
                foreign=landed.currency != home, paid=paid,
                where=f"the order{number} of {day} from {order.supplier}, in entries/{entry.name}.md",
            )  # fmt: skip


def _pair(payments: Sequence[Payment], known: Sequence[_Open]) -> dict[tuple[str, str], _Open]:
    """Each payment with the one order that it paid: by number first, then by what is left of amount and day."""
    pairs: dict[tuple[str, str], _Open] = {}
    for rule in (_names, _fits):
        taken = {id(order) for order in pairs.values()}
        free = [order for order in known if order.paid is None and id(order) not in taken]
        open_ = [payment for payment in payments if payment.origin.mark not in pairs]
        found = {payment.origin.mark: [order for order in free if rule(payment, order)] for payment in open_}
        # one order for two payments, or two orders for one: which is which is for the owner to say
        wanted = Counter(id(order) for orders in found.values() for order in orders)
        for mark, orders in found.items():
            if len(orders) == 1 and wanted[id(orders[0])] == 1:
                pairs[mark] = orders[0]
    return pairs


def _names(payment: Payment, order: _Open) -> bool:
    """Whether a payment's text has the order's number; its amount has to be right, or in the bank's own currency."""
    if order.ref is None or len(order.ref) < SHORTEST_REF:
        return False
    at = re.search(rf"(?<![0-9a-z]){re.escape(fold_words(order.ref))}(?![0-9a-z])", fold_words(payment.text))
    converted = order.foreign and payment.currency not in {currency for _, currency in order.amounts}
    return bool(at) and (converted or (payment.amount, payment.currency) in order.amounts)


def _fits(payment: Payment, order: _Open) -> bool:
    right = (payment.amount, payment.currency) in order.amounts
    return right and EARLIEST <= payment.day - order.day <= LATEST


def _leave(payment: Payment, known: Sequence[_Open]) -> Left:
    name = payment.origin.source.name
    if not payment.out:
        why = "money that came in: a refund goes under `returned:`, with the order's number"
        return Left(name, _tell(payment), why, at=payment.origin.at)
    for order in known:
        if (
            order.paid
            and abs((order.paid - payment.day).days) <= 7
            and (_names(payment, order) or _fits(payment, order))
        ):
            return Left(name, _tell(payment), f"is known as what paid {order.where}", known=True, at=payment.origin.at)
    maybe = [order for order in known if order.paid is None and (_names(payment, order) or _fits(payment, order))]
    why = "matches no order that is not paid yet"
    if maybe:
        places = "; ".join(order.where for order in maybe[:3])
        why = f"may have paid any of these, or is one of several payments: {places}"
    return Left(name, _tell(payment), why, at=payment.origin.at)


def _tell(payment: Payment) -> str:
    to = f" {'to' if payment.out else 'from'} {cut(payment.party, 40)}" if payment.party else ""
    return f"{payment.amount:f} {payment.currency} of {payment.day}{to}"
