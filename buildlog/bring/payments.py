"""Which orders did a bank statement pay: camt.053 (ISO 20022), matched by amount and day?

A payment is matched with one order alone, or with none: by the order's number in its text, else by amount and day,
where nothing else has both. An order of the log is not touched: its payment is told in an entry of its own, as owners
do. What matches nothing is listed, and nothing is invented for it.
"""

from __future__ import annotations

import datetime
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from buildlog.bring.bills import Bill, Origin
from buildlog.bring.sources import Left, Unreadable
from buildlog.compute.costs.orders import land_order
from buildlog.compute.quantities.money import Money
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
WEEK = datetime.timedelta(days=7)
"From the day that a statement tells to the one that an owner typed for the same payment: common practice, no source."
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
    amount: Decimal | None = None
    "how much of the order it paid, in its currency; None: all that was left"

    def write(self) -> str:
        """The item of an entry's `paid:`."""
        amount = f", amount: {self.amount:f}" if self.amount is not None else ""
        charged = f", charged: {self.charged:f}" if self.charged is not None else ""
        return f"{{ref: {write_text(self.ref)}{amount}{charged}}}"


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
    total: tuple[Decimal, str] | None = None
    "all that it comes to, with its currency"
    before: Decimal = Decimal(0)
    "what was paid of it before, in its currency"
    instalments: tuple[tuple[datetime.date, Decimal], ...] = ()
    "of the log: what was paid on which day, where that was a part of it"


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
    marks = {(mark.digest, mark.at): entry.name for entry in log.entries for mark in entry.brought_from}
    for payment in payments:
        if name := marks.get(payment.origin.mark):
            why = f"brought in before, in entries/{name}.md"
            left.append(Left(payment.origin.source.name, _tell(payment), why, known=True, at=payment.origin.at))
    payments = [payment for payment in payments if payment.origin.mark not in marks]
    out = [payment for payment in payments if payment.out]
    pairs = _pair(out, known)
    parts = _pair_parts(out, known, pairs)
    for payment in payments:
        whole, part = pairs.get(payment.origin.mark), parts.get(payment.origin.mark)
        order = whole or part
        if order is None:
            left.append(_leave(payment, known))
            continue
        charged = payment.amount if order.foreign and payment.currency == home else None
        # of a bill that was partly paid before, what was paid now is a part as well
        deposit = order.at is not None and order.before and made[order.at].prepaid_on is None
        if part is not None and part.at is not None and _is_prepaid(payment, part):
            made[part.at] = replace(made[part.at], prepaid_on=payment.day)
            why = f"was paid before {part.where}"
            left.append(Left(payment.origin.source.name, _tell(payment), why, known=True, at=payment.origin.at))
        elif whole is not None and order.at is not None and not deposit:
            bill = made[order.at]
            made[order.at] = replace(bill, paid=payment.day, charged=charged if charged is not None else bill.charged)
            why = f"paid {order.where}"
            left.append(Left(payment.origin.source.name, _tell(payment), why, known=True, at=payment.origin.at))
        elif order.ref is None:
            why = f"seems to have paid {order.where}, which has no number: write `paid: {payment.day}` there"
            left.append(Left(payment.origin.source.name, _tell(payment), why, at=payment.origin.at))
        else:
            matches.append(
                Match(
                    payment=payment,
                    supplier=order.supplier,
                    ref=order.ref,
                    order=order.where,
                    charged=charged,
                    amount=payment.amount if part or deposit else None,
                )
            )
    return Matches(bills=tuple(made), matches=tuple(matches), left=tuple(left))


def _list_bills(bills: Sequence[Bill], home: str) -> Iterator[_Open]:
    for at, bill in enumerate(bills):
        if bill.paid is None and not bill.credit:
            total = _find_total(bill, home)
            number = f" {bill.ref}" if bill.ref else ""
            amounts = {(total.amount, total.currency)} | ({(bill.payable, total.currency)} if bill.payable else set())
            yield _Open(
                supplier=bill.supplier, ref=bill.ref, day=bill.day, amounts=frozenset(amounts), at=at,
                foreign=bill.currency not in (None, home), total=(total.amount, total.currency), before=bill.prepaid,
                where=f"the bill{number} of {bill.day} from {bill.supplier}, brought in now",
            )  # fmt: skip


def _find_total(bill: Bill, home: str) -> Money:
    """What a bill comes to: as its document says, or as the figures have its lines."""
    if bill.gross is not None:
        return Money(bill.gross, bill.currency or home)
    lines = tuple(Line(qty=line.qty, total=line.total, tax=line.tax) for line in bill.lines)
    order = Order(supplier=bill.supplier, currency=bill.currency, prices=bill.prices, lines=lines)
    return land_order(order, home).total


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
    parts: dict[str, list[tuple[datetime.date, Decimal]]] = {}
    for entry in log.entries:
        for payment in entry.paid:
            if payment.amount is not None:
                parts.setdefault(payment.ref, []).append((payment.date or entry.date, payment.amount))
    for entry in log.entries:
        for order in entry.bought:
            landed = land_order(order, home)
            amounts = {(landed.total.amount, landed.total.currency)}
            amounts |= {(landed.home.amount, home)} if landed.converted else set()
            day = order.ordered or entry.date
            number = f" {order.ref}" if order.ref else ""
            told = [(each.date, each.amount) for each in order.paid if each.amount is not None]
            told += parts.get(order.ref or "", [])
            before = sum((amount for _, amount in told), Decimal(0))
            if before:
                amounts = {(landed.total.amount - before, landed.total.currency)}
            paid = next((each.date for each in order.paid if each.amount is None), later.get(order.ref or ""))
            yield _Open(
                supplier=order.supplier, ref=order.ref, day=day, amounts=frozenset(amounts),
                foreign=landed.currency != home, paid=paid, before=before,
                total=(landed.total.amount, landed.total.currency), instalments=tuple(told),
                where=f"the order{number} of {day} from {order.supplier}, in entries/{entry.name}.md",
            )  # fmt: skip


def _pair(payments: Sequence[Payment], known: Sequence[_Open]) -> dict[tuple[str, str], _Open]:
    """Each payment with the one order that it paid: by number first, then by what is left of amount and day."""
    pairs: dict[tuple[str, str], _Open] = {}
    for rule in (_names, _fits):
        taken = {id(order) for order in pairs.values()}
        free = [order for order in known if order.paid is None and id(order) not in taken]
        open_ = [payment for payment in payments if payment.origin.mark not in pairs]
        found = {
            payment.origin.mark: [each for each in free if rule(payment, each) and not _is_told(payment, each)]
            for payment in open_
        }
        # one order for two payments, or two orders for one: which is which is for the owner to say
        wanted = Counter(id(order) for orders in found.values() for order in orders)
        for mark, orders in found.items():
            if len(orders) == 1 and wanted[id(orders[0])] == 1:
                pairs[mark] = orders[0]
    return pairs


def _pair_parts(
    payments: Sequence[Payment], known: Sequence[_Open], whole: Mapping[tuple[str, str], _Open]
) -> dict[tuple[str, str], _Open]:
    """Each payment that names an order and is less than what is left of it: a deposit or an instalment."""
    taken = {id(order) for order in whole.values()}
    paid: dict[int, Decimal] = {}
    pairs: dict[tuple[str, str], _Open] = {}
    for payment in sorted(payments, key=lambda payment: payment.day):
        if payment.origin.mark in whole:
            continue
        open_ = [
            each
            for each in known
            if each.paid is None
            and _has_ref(payment, each)
            and (id(each) not in taken or _is_prepaid(payment, each))
            and not _is_told(payment, each)
        ]
        order = open_[0] if len(open_) == 1 else None
        if order is not None and order.total is not None and order.total[1] == payment.currency:
            so_far = paid.get(id(order), order.before) + payment.amount
            if _is_prepaid(payment, order) and not any(each is order for each in pairs.values()):
                pairs[payment.origin.mark] = order  # what its document says was paid before: now its day is known
            elif so_far <= order.total[0]:
                paid[id(order)] = so_far
                pairs[payment.origin.mark] = order
    return pairs


def _is_told(payment: Payment, order: _Open) -> bool:
    """Whether an order of the log tells of a payment: of so much, and on about that day, or on that of its invoice."""
    return any(amount == payment.amount and -WEEK <= day - payment.day <= LATEST for day, amount in order.instalments)


def _is_prepaid(payment: Payment, order: _Open) -> bool:
    """Whether a payment is what a bill that is brought in says was paid before it was written."""
    return order.at is not None and payment.amount == order.before and payment.day <= order.day


def _has_ref(payment: Payment, order: _Open) -> bool:
    """Whether a payment's text has the order's number, as a word of its own."""
    if order.ref is None or len(order.ref) < SHORTEST_REF:
        return False
    at = re.search(rf"(?<![0-9a-z]){re.escape(fold_words(order.ref))}(?![0-9a-z])", fold_words(payment.text))
    return at is not None


def _names(payment: Payment, order: _Open) -> bool:
    """Whether a payment's text has the order's number; its amount has to be right, or in the bank's own currency."""
    converted = order.foreign and payment.currency not in {currency for _, currency in order.amounts}
    return _has_ref(payment, order) and (converted or (payment.amount, payment.currency) in order.amounts)


def _fits(payment: Payment, order: _Open) -> bool:
    right = (payment.amount, payment.currency) in order.amounts
    return right and EARLIEST <= payment.day - order.day <= LATEST


def _leave(payment: Payment, known: Sequence[_Open]) -> Left:
    name = payment.origin.source.name
    if not payment.out:
        why = "money that came in: a refund goes under `returned:`, with the order's number"
        return Left(name, _tell(payment), why, at=payment.origin.at)
    for order in known:
        paid = order.paid and abs(order.paid - payment.day) <= WEEK
        if (paid and (_names(payment, order) or _fits(payment, order))) or (
            _has_ref(payment, order) and _is_told(payment, order)
        ):
            return Left(name, _tell(payment), f"is known as what paid {order.where}", known=True, at=payment.origin.at)
    maybe = [order for order in known if order.paid is None and (_names(payment, order) or _fits(payment, order))]
    why = "matches no unpaid order"
    if maybe:
        places = "; ".join(order.where for order in maybe[:3])
        why = f"may be for any of these, or one of several payments: {places}"
    return Left(name, _tell(payment), why, at=payment.origin.at)


def _tell(payment: Payment) -> str:
    to = f" {'to' if payment.out else 'from'} {cut(payment.party, 40)}" if payment.party else ""
    return f"{payment.amount:f} {payment.currency} of {payment.day}{to}"
