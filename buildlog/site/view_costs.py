"""What the page of costs is given: every sum of the log, and the lines behind it where prices are shown."""

from __future__ import annotations

from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import CostLine, Link, Prices, Sum, SumTable, When


@frozen
class MonthRow:
    """One month of the table beside the chart."""

    when: When
    spent: str
    recovered: str = ""
    net: str
    "spent less recovered: what its lines come to"
    running: str
    "net at the month's end"
    hours: str = ""
    lines: tuple[CostLine, ...] = ()


@frozen
class BudgetRow:
    """One system's budget."""

    name: str
    budget: str
    spent: str
    committed: str
    left: str
    forecast: str = ""
    over: bool = False
    "spent and committed are more than the budget; said in words as well as drawn"


@frozen
class TwiceRow:
    """Something that was done a second time."""

    what: Link
    first: Link
    "the part that was there before"
    again: Link
    "entry that replaced it"
    amount: str = ""
    hours: str = ""


@frozen
class CoreRow:
    """A refundable surcharge that is still with the supplier."""

    part: Link
    supplier: str = ""
    ref: str = ""
    since: When
    amount: str


@frozen
class GiftRow:
    """Something that was not paid for."""

    what: Link
    when: When
    worth: str = ""
    "empty when not stated or money is hidden"
    sponsored: bool = False
    entry: Link


@frozen
class CostsView:
    """What has it cost?"""

    TEMPLATE: ClassVar[str] = "costs.html"
    frame: Frame
    prices: Prices
    currency: str
    "`GBP`"
    statement: tuple[Sum, ...] = ()
    "paid, refunded, = spent, recovered, = net; totals carry `is_total`"
    beside: tuple[Sum, ...] = ()
    "apart from it: the purchase, committed, own hours and their worth"
    chart: str = ""
    "SVG, already safe; empty: fewer than two points"
    months: tuple[MonthRow, ...] = ()
    tables: tuple[SumTable, ...] = ()
    "by system, by kind, by supplier, by fault"
    budget: tuple[BudgetRow, ...] = ()
    budget_total: BudgetRow | None = None
    twice: tuple[TwiceRow, ...] = ()
    twice_total: Sum | None = None
    twice_hours: str = ""
    cores: tuple[CoreRow, ...] = ()
    cores_total: str = ""
    refunds: tuple[CostLine, ...] = ()
    "empty unless prices are shown; then `refunds_total` stands alone"
    refunds_total: str = ""
    sales: tuple[CostLine, ...] = ()
    sales_total: str = ""
    gifts: tuple[GiftRow, ...] = ()
