"""What has the machine cost, in which month, for which system, kind, supplier, fault and entry?

Sums of the lines that `costs.lines` lists, each of which opens to its lines. Any two ways of adding up agree to the
minor unit. What rework cost is for `rework`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal
from operator import attrgetter

from buildlog.arithmetic import EXACT, sum_exactly
from buildlog.compute.costs.beside_totals import CoreOwed, Gift, list_cores_owed, list_gifts
from buildlog.compute.costs.lines import (
    SORTS,
    BoughtLine,
    CostLine,
    Sort,
    is_placed,
    list_bought,
    list_committed,
    list_recovered,
    list_spent,
)
from buildlog.compute.costs.order_checks import check_orders
from buildlog.compute.costs.plan import SpendingPlan, plan_spending
from buildlog.compute.costs.purchases import Purchase, follow_purchases, list_returns
from buildlog.compute.costs.refunds import Refund, follow_refunds
from buildlog.compute.costs.sums import (
    MonthFigures,
    Step,
    Total,
    list_months,
    list_steps,
    name_month,
    run_by_entry,
    sum_lines,
    total_lines,
)
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, round_to_minor_unit, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Problem
from buildlog.read.records import LINE_KINDS, Log, MoneyPlan
from buildlog.text import fold_words


@frozen
class Moved:
    """The money that one entry moved; home currency, each above zero."""

    paid: Money
    "for orders that stand in this entry"
    refunded: Money
    "came back, as this entry tells"
    recovered: Money
    "brought in by sales that this entry tells of"
    committed: Money
    "ordered in this entry and not paid yet"


@frozen
class CostFigures:
    """All that a log says about money up to some day; amounts in the home currency where nothing else is said."""

    currency: str
    "the log's own: ISO 4217 code"
    lines: tuple[CostLine, ...]
    "what was paid, and what came back (below zero), by date; they make `spent`"
    committed_lines: tuple[CostLine, ...]
    "what is ordered and not paid"
    recovered_lines: tuple[CostLine, ...]
    "what sales brought"
    refund_lines: tuple[CostLine, ...]
    "those of `lines` that came back"
    paid: Money
    "landed costs of all orders paid, before anything came back"
    refunded: Money
    "what came back, above zero"
    spent: Money
    "paid less refunded"
    recovered: Money
    "brought in by sales"
    net: Money
    "spent less recovered"
    committed: Money
    "ordered and not paid; in no other sum"
    acquired: Money | None
    "what the machine itself cost; stands apart from all sums; None: not stated, or not yet acquired"
    by_month: tuple[Total, ...]
    "months of payment, in order; like the following five they add up to `spent`"
    by_system: tuple[Total, ...]
    "in the order of `log.yaml`, then what names no system"
    by_kind: tuple[Total, ...]
    "in the order of `LINE_KINDS`"
    by_supplier: tuple[Total, ...]
    "largest first; a supplier written in several ways is one, as first written"
    by_fault: tuple[Total, ...]
    "largest first, then what was bought for none"
    by_entry: tuple[Total, ...]
    "in the order of the log; an order counts for the entry that it stands in, a refund for the entry that tells it"
    entry_totals: Mapping[str, Money]
    "the amounts of `by_entry`, by entry name"
    moved_by_entry: Mapping[str, Moved]
    "what each entry moved, by entry name; entries that moved nothing are left out"
    months: tuple[MonthFigures, ...]
    "in order, those without money or hours left out"
    steps: tuple[Step, ...]
    "the running total, one step for each day on which money moved"
    running_by_entry: Mapping[str, Money]
    "net up to and with the day of each entry of the log, by entry name"
    plan: SpendingPlan
    "what is wanted, what each system will come to, and what that leaves of the budget"
    cores_owed: tuple[CoreOwed, ...]
    "core charges paid and still to come back"
    cores_owed_home: Money
    "what they come to in the home currency, where a rate is known"
    gifts: tuple[Gift, ...]
    "what was not paid for, sponsors' gifts among it"
    own_hours: Decimal
    "of all entries"
    hour_rate: Money | None
    "the owner's, in the home currency; None: not stated"
    own_hours_worth: Money | None
    "hours at the stated rate; beside every other sum, never inside; None: no rate stated"
    landed_lines: tuple[BoughtLine, ...]
    "every line ordered, in the order of arrival: what each part cost, for those who follow parts"
    purchases: tuple[Purchase, ...]
    "every order placed, in the order of the log"
    refunds: tuple[Refund, ...]
    "every return that leads to one, in the order of the log"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_costs(story: PartStory, as_of: datetime.date) -> CostFigures:
    """The money of a log, as it stood on a day, up to the end of that day.

    Orders, payments, returns and sales dated later do not count yet: what is ordered by then and paid later is
    committed. Raises nothing for what an owner can get wrong.
    """
    log, plan = story.log, story.log.settings.money
    returns = tuple(list_returns(story))
    purchases = follow_purchases(story, returns)
    refunds = follow_refunds(purchases, returns)
    lines = list_spent(story, purchases, refunds, as_of)
    back = tuple(line for line in lines if line.sort == "refund")
    committed, sales = list_committed(story, purchases, refunds, as_of), list_recovered(story, as_of)
    cores = list_cores_owed(story, purchases, refunds, as_of)
    spent, recovered, came_back = (sum_lines(some, plan.currency) for some in (lines, sales, back))
    # In the order of the log, though the lines come by date: an entry may tell of older payments.
    by_entry = total_lines(lines, attrgetter("entry"), [entry.name for entry in log.entries])
    steps = list_steps(lines, sales, plan.currency)
    by_system = total_lines(lines, attrgetter("system"), log.settings.systems)
    spent_by, bound_by = _sum_systems(by_system), _sum_systems(total_lines(committed, attrgetter("system")))
    planned = plan_spending(story, purchases, as_of, spent=spent_by, committed=bound_by)
    hours = sum_exactly(entry.hours for entry in log.entries if entry.hours)
    return CostFigures(
        currency=plan.currency,
        lines=lines,
        committed_lines=committed,
        recovered_lines=sales,
        refund_lines=back,
        paid=spent - came_back,
        refunded=-came_back,
        spent=spent,
        recovered=recovered,
        net=spent - recovered,
        committed=sum_lines(committed, plan.currency),
        acquired=_price_machine(log, as_of),
        by_month=total_lines(lines, name_month),
        by_system=by_system,
        by_kind=total_lines(lines, attrgetter("kind"), LINE_KINDS),
        by_supplier=_total_suppliers(lines),
        by_fault=_sort_by_amount(total_lines(lines, attrgetter("fault"))),
        by_entry=by_entry,
        entry_totals={total.name: total.amount for total in by_entry},
        moved_by_entry=_list_moved((*lines, *committed, *sales), plan.currency),
        months=list_months(lines, sales, log),
        steps=steps,
        running_by_entry=run_by_entry(log, steps),
        plan=planned,
        cores_owed=cores,
        cores_owed_home=sum_money((core.home for core in cores if core.home is not None), plan.currency),
        gifts=list_gifts(story, purchases, as_of),
        own_hours=hours,
        hour_rate=None if plan.hour_rate is None else Money(plan.hour_rate, plan.currency),
        own_hours_worth=_value_hours(hours, plan),
        landed_lines=list_bought(story, purchases, as_of),
        purchases=tuple(purchase for purchase in purchases if is_placed(purchase, as_of)),
        refunds=refunds,
        problems=(*check_orders(story, purchases, refunds), *planned.problems),
    )


def _value_hours(hours: Decimal, plan: MoneyPlan) -> Money | None:
    rate = plan.hour_rate
    return None if rate is None else round_to_minor_unit(EXACT.multiply(hours, rate), plan.currency)


def _sum_systems(totals: Iterable[Total]) -> dict[str | None, Money]:
    return {total.key: total.amount for total in totals}


def _sort_by_amount(totals: Iterable[Total]) -> tuple[Total, ...]:
    # By name where two are equal, so that no other entry decides which of them stands first.
    return tuple(sorted(totals, key=lambda total: (total.key is None, -total.amount, total.name)))


def _total_suppliers(lines: Iterable[CostLine]) -> tuple[Total, ...]:
    written: dict[str, str] = {}

    def choose(line: CostLine) -> str:
        # A shop is written in several ways over the years; the first one is shown, the sums are one.
        name = line.supplier or ""
        return written.setdefault(fold_words(name), name)

    return _sort_by_amount(total_lines(lines, choose))


def _list_moved(lines: Iterable[CostLine], currency: str) -> dict[str, Moved]:
    moved: dict[str, dict[Sort, Money]] = {}
    zero = Money(Decimal(0), currency)
    for line in lines:
        sums = moved.setdefault(line.entry, {})
        sums[line.sort] = sums.get(line.sort, zero) + line.landed

    def tell(sums: Mapping[Sort, Money]) -> Moved:
        paid, refunded, committed, sold = (sums.get(sort, zero) for sort in SORTS)
        return Moved(paid=paid, refunded=-refunded, recovered=sold, committed=committed)

    return {entry: tell(sums) for entry, sums in moved.items()}


def _price_machine(log: Log, as_of: datetime.date) -> Money | None:
    acquired = log.settings.acquired
    # The purchase stands apart from every sum: what a machine costs to keep is not what it was bought for.
    if acquired is None or acquired.price is None or acquired.date > as_of:
        return None
    return round_to_minor_unit(acquired.price, log.settings.money.currency)
