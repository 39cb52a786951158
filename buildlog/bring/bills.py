"""What is one bill, whatever it was read from, and how does an owner write it into an entry?

A bill is an invoice, a credit note or a receipt with its lines. Nothing here is computed of it: what its lines come to
is asked of the figures, once the entry can be read.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from buildlog.bring.sources import Source
from buildlog.drafts import write_text
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.text import fold_words, join_words, shorten

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
        return fold_words(self.supplier), self.day, lines


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
        ("ordered", bill.day.isoformat()),
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
    message = f"{bill.prepaid:f} of it was paid before, on a day that no invoice tells"
    help = f"add `paid: {{date: …, amount: {bill.prepaid:f}}}` to the order once it is written"
    if bill.prepaid_on or bill.paid:
        message = f"{message}: {bill.day}, its own day, is taken"
        help = "correct that day under the order's `paid:`, or bring in the statement that has the payment"
    return Problem(rule="prepaid", message=message, place=place, help=help, severity="warning")
