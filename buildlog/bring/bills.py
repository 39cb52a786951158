"""What is one bill, whatever it was read from, is it new, and how does an owner write it into an entry?

A bill is an invoice, a credit note or a receipt with its lines. Nothing here is computed of it: what its lines come to
is asked of the figures, once the entry can be read. Beside those that are new: which can be written, and which are
refunds of an order that is known.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from buildlog.bring.sources import Left, Source
from buildlog.compute.costs.orders import value_line
from buildlog.drafts import write_text
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, Order
from buildlog.text import count, fold_words, join_words, shorten

LONGEST_WHAT = 200
"Characters that are kept of what a line was: the paper has them all."


@frozen
class BillLine:
    """One line of a bill."""

    what: str
    "in the supplier's words"
    total: Decimal
    "of the whole line, as it is printed; below zero where it takes something off"
    qty: Decimal = Decimal(1)
    "how many, above zero"
    each: Decimal | None = None
    "price of one, where quantity times price is `total`; else None"
    unit: str | None = None
    "of the quantity; None: pieces"
    number: str | None = None
    "article number; never of a line below zero, which brings no part"
    tax: Decimal | None = None
    "percent"
    kind: str | None = None
    "as in `Line.kind`"
    system: str | None = None
    "short name of the system that it is for"


@frozen
class BillExtra:
    """What a supplier adds to a whole bill, or takes off it."""

    amount: Decimal
    "above zero, in the bill's currency"
    what: str
    "what for"
    tax: Decimal | None
    "percent; None: those of the lines"


@frozen
class Origin:
    """Where something was read."""

    source: Source
    "the file"
    digest: str
    "of all its bytes, see `make_digest`"
    at: str = ""
    "which rows, where the file holds more than one bill; empty: all of it"
    line: int = 1
    "first row or line, counted from 1"

    @property
    def mark(self) -> tuple[str, str]:
        """By what it is known again."""
        return self.digest, self.at


@frozen
class Bill:
    """One transaction with one supplier, as its paper tells it."""

    origin: Origin
    "where it was read"
    supplier: str
    "who sold it"
    day: datetime.date
    "of the bill"
    lines: tuple[BillLine, ...]
    "what was bought"
    ref: str | None = None
    "its number"
    ordered: datetime.date | None = None
    "the day by which it was ordered, where that was before the bill's own; None: the bill's own"
    arrived: datetime.date | None = None
    "when the goods came; None: not told"
    paid: datetime.date | None = None
    "when it was paid; None: not told"
    currency: str | None = None
    "ISO 4217; None: the log's own"
    added: tuple[BillExtra, ...] = ()
    "charges on the whole bill"
    taken_off: tuple[BillExtra, ...] = ()
    "allowances on the whole bill"
    rounding: Decimal | None = None
    "what its total was rounded by"
    prices: str | None = None
    "`net` or `gross`, where there is tax"
    charged: Decimal | None = None
    "what the card took, in the home currency; None: not told"
    rate: Decimal | None = None
    "home currency for one of its own; None: not told, or not needed"
    payable: Decimal | None = None
    "what the document says is to be paid; None: it does not say"
    prepaid: Decimal = Decimal(0)
    "what was paid of it before, and is no longer in `payable`"
    prepaid_on: datetime.date | None = None
    "the day that is taken for that; None: nothing was, or what it cost at home cannot be known"
    paper: Source | None = None
    "the file that shows it, to be kept in `papers/`"
    credit: bool = False
    "whether it is a credit note"
    credits: str | None = None
    "number of the bill that a credit note is about"
    refunds: str | None = None
    "the same, where that order is known: then it is a refund of it, and no order of its own"
    remarks: tuple[str, ...] = ()
    "what its reader wants to be known of it, a sentence each"

    @property
    def title(self) -> str:
        # a document that calls itself a credit note is one; of a receipt below zero only the money is known
        words = "Bought" if not self.credit else "Money back" if self.payable is None else "Credit note"
        return f"{words} from {self.supplier}"

    @property
    def gross(self) -> Decimal | None:
        """All that the document comes to, what was paid before included; None: it does not say."""
        return None if self.payable is None else self.payable + self.prepaid

    @property
    def content(self) -> tuple[object, ...]:
        """By what a bill without a number is known again: supplier, day and lines."""
        lines = tuple(sorted((fold_words(line.what), line.total) for line in self.lines))
        return fold_words(self.supplier), self.ordered or self.day, lines


def title_day(bills: Sequence[Bill]) -> str:
    """What an entry is called that holds the bills of one day."""
    if len(bills) == 1:
        return bills[0].title
    names = list(dict.fromkeys(bill.supplier for bill in bills))
    return f"Bought from {join_words(names)}" if len(names) <= 3 else f"Bought from {len(names)} suppliers"


def write_marks(origins: Iterable[Origin]) -> Iterator[str]:
    """The rows of `brought_from:`, one item for each file, or for each bill of it."""
    yield "brought_from:"
    for origin in origins:
        pairs = [("file", origin.source.path.name), ("digest", origin.digest), ("at", origin.at)]
        yield f"  - {_write_block(pairs)}"


def write_order(bill: Bill, paper: str | None) -> Iterator[str]:
    """The rows of one order below `bought:`; `paper` is its path in the log."""
    tax = _find_common_tax(bill.lines)
    pairs = [
        ("from", bill.supplier),
        ("ref", bill.ref),
        ("ordered", (bill.ordered or bill.day).isoformat()),
        ("arrived", bill.arrived.isoformat() if bill.arrived else None),
        ("paid", _write_paid(bill)),
        ("currency", bill.currency),
        ("charged", _write_number(bill.charged)),
        ("rate", _write_number(bill.rate)),
        ("prices", bill.prices),
        ("tax", _write_number(tax)),
        ("rounding", _write_number(bill.rounding)),
        ("paper", paper),
    ]
    rows = [f"{key}: {_write_value(key, value)}" for key, value in pairs if value]
    yield f"  - {rows[0]}"
    yield from (f"    {row}" for row in rows[1:])
    for key, extras in (("handling", bill.added), ("discount", bill.taken_off)):
        yield from [f"    {key}:"] if extras else []
        yield from (f"      - {_write_extra(extra)}" for extra in extras)
    yield "    lines:"
    for line in bill.lines:
        yield f"      - {_write_line(line if line.tax != tax else replace(line, tax=None))}"


def _write_paid(bill: Bill) -> str | None:
    """Its day, or what was paid before and on which day, and then the day of the rest."""
    day = bill.paid.isoformat() if bill.paid else None
    if bill.prepaid_on is None:
        return day
    part = f"{{date: {bill.prepaid_on}, amount: {_write_number(bill.prepaid)}}}"
    return f"[{part}, {day}]" if day else part


def write_refund(bill: Bill, paper: str | None) -> str:
    """The item of `returned:` for a credit note on an order that is known, with its tax inside."""
    return _write_block([
        ("ref", bill.refunds),
        ("refund", _write_number(-(bill.gross or Decimal(0)))),
        ("prices", "gross"),
        ("date", bill.day.isoformat()),
        ("paper", paper),
        ("why", f"credit note {bill.ref}" if bill.ref else "credit note"),
    ])  # fmt: skip


def _write_extra(extra: BillExtra) -> str:
    what = shorten(extra.what, LONGEST_WHAT)
    return _write_block([("amount", _write_number(extra.amount)), ("what", what), ("tax", _write_number(extra.tax))])


def _find_common_tax(lines: Sequence[BillLine]) -> Decimal | None:
    """The rate of all lines, where it is one: then it stands once, with the order."""
    rates = {line.tax for line in lines}
    return next(iter(rates)) if len(rates) == 1 else None


def _write_line(line: BillLine) -> str:
    each, total = (line.each, None) if line.each is not None else (None, line.total)
    return _write_block([
        ("what", shorten(line.what, LONGEST_WHAT)),
        ("number", line.number),
        ("qty", _write_number(line.qty) if line.qty != 1 else None),
        ("unit", line.unit),
        ("each", _write_number(each)),
        ("total", _write_number(total)),
        ("tax", _write_number(line.tax)),
        ("kind", line.kind),
        ("for", line.system),
    ])  # fmt: skip


PLAIN = frozenset("amount rounding date refund ordered arrived paid charged rate tax qty each total".split())
"Keys whose values are numbers and days, which stand as they are."


def _write_block(pairs: Iterable[tuple[str, str | None]]) -> str:
    return "{" + ", ".join(f"{key}: {_write_value(key, value)}" for key, value in pairs if value) + "}"


def _write_value(key: str, value: str) -> str:
    return value if key in PLAIN else write_text(value)


def _write_number(value: Decimal | None) -> str | None:
    """A number as an owner types it: no exponent, and no sign in front of nothing."""
    return None if value is None else f"{value + 0:f}"


# ── told ─────────────────────────────────────────────────────────────────────────────────────────────────────────────

MOST_REMARKS = 3
"Contradictions of one document that are told: more are counted."


def compare(bill: Bill, asked: Decimal, comes_to: Decimal) -> Iterator[Problem]:
    """A warning where a bill does not come to what is asked for, contradicts itself, or was paid on no known day."""
    place = Place(bill.origin.source.name, bill.origin.line)
    said = "; ".join(bill.remarks[:MOST_REMARKS])
    if apart := comes_to - asked:
        message = f"comes to {comes_to:f}, but the document asks for {asked:f}: {apart:+f}"
        help = said or "its amounts contradict each other"
        yield Problem(rule="payable", message=message, place=place, help=help, severity="warning")
    elif said:
        more = f"; and {len(bill.remarks) - MOST_REMARKS} more" if len(bill.remarks) > MOST_REMARKS else ""
        message = f"this document contradicts itself: {said}{more}"
        help = f"it asks for {asked:f} all the same, and that is what is brought in"
        yield Problem(rule="contradiction", message=message, place=place, help=help, severity="warning")
    if bill.prepaid and (bill.prepaid_on or bill.paid or bill.day) == bill.day:
        yield _say_prepaid(bill, place)


def _say_prepaid(bill: Bill, place: Place) -> Problem:
    """BT-113 has no day."""
    message = f"{bill.prepaid:f} of it was paid before, on a day that the invoice does not give"
    help = f"add `paid: {{date: …, amount: {bill.prepaid:f}}}` to the order once it is written"
    if bill.prepaid_on or bill.paid:
        message = f"{message}: {bill.day}, its own day, is taken"
        help = "correct that day under the order's `paid:`, or bring in the statement that has the payment"
    return Problem(rule="prepaid", message=message, place=place, help=help, severity="warning")


def drop_known(bills: Iterable[Bill], log: Log) -> tuple[list[Bill], list[Left]]:
    """The bills that are new, and those that are not: brought before, typed already, or in two files at once."""
    marks = {(mark.digest, mark.at or ""): entry for entry in log.entries for mark in entry.brought_from}
    places: dict[object, str] = {}
    for entry, order in _list_orders(log):
        if order.ref:
            places[fold_words(order.supplier), order.ref] = f"entries/{entry.name}.md"
        places[_find_content(entry, order)] = f"entries/{entry.name}.md"
    new, left = [], []
    for bill in bills:
        keys = [bill.content] if bill.ref is None else [(fold_words(bill.supplier), bill.ref)]
        at = next((places[key] for key in keys if key in places), None)
        if bill.origin.mark in marks:
            why = f"brought in before, in entries/{marks[bill.origin.mark].name}.md"
            left.append(Left(bill.origin.source.name, _tell(bill), why, known=True, at=bill.origin.at))
        elif at is not None:
            left.append(
                Left(bill.origin.source.name, _tell(bill), f"is in {at} already", known=True, at=bill.origin.at)
            )
        else:
            places |= dict.fromkeys(keys, bill.origin.source.name)
            new.append(bill)
    return new, left


def _list_orders(log: Log) -> Iterator[tuple[Entry, Order]]:
    return ((entry, order) for entry in log.entries for order in entry.bought)


def _find_content(entry: Entry, order: Order) -> tuple[object, ...]:
    lines = tuple(sorted((fold_words(line.what or line.name or ""), value_line(line)) for line in order.lines))
    return fold_words(order.supplier), order.ordered or entry.date, lines


def _tell(bill: Bill) -> str:
    number = f" {bill.ref}" if bill.ref else ""
    return f"{'credit note' if bill.credit else 'bill'}{number} of {bill.day} from {bill.supplier}"


def drop_unrated(bills: Iterable[Bill], home: str) -> tuple[list[Bill], list[Problem]]:
    """The bills whose cost at home can be known, and one problem for each currency that has no rate."""
    kept, lost = [], defaultdict[str, list[Bill]](list)
    for bill in bills:
        known = bill.currency in (None, home) or bill.charged is not None or bill.rate is not None
        if known:
            kept.append(bill)
        elif bill.paid is None:  # one that is not paid yet gets its rate when it is
            kept.append(replace(bill, prepaid_on=None))
        else:
            lost[bill.currency or home].append(bill)
    problems = []
    for currency, some in lost.items():
        origin = some[0].origin
        message = f"{count(len(some), 'paid bill')} in {currency}, and nothing tells what they cost in {home}"
        help = f"--rate {currency}=0.8567, or a column of what the card took; until then they are left out"
        problems.append(
            Problem(rule="no-rate", message=message, place=Place(origin.source.name, origin.line), help=help)
        )
    return kept, problems


def mark_refunds(bills: Sequence[Bill], log: Log) -> list[Bill]:
    """The bills, each credit note on an order that is known marked as its refund; any other stays a bill below zero."""
    home = log.settings.money.currency
    known = {(fold_words(order.supplier), order.ref, order.currency or home) for _, order in _list_orders(log)}
    known |= {(fold_words(bill.supplier), bill.ref, bill.currency or home) for bill in bills if not bill.credit}
    return [
        replace(bill, refunds=bill.credits)
        if bill.credits and bill.gross and (fold_words(bill.supplier), bill.credits, bill.currency or home) in known
        else bill
        for bill in bills
    ]
