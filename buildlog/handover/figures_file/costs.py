"""What was spent and got back, line by line, and what was bought again for a job done before."""

from __future__ import annotations

from buildlog.compute.costs.beside_totals import CoreOwed, Gift, ShelfFigures, ShelfItem
from buildlog.compute.costs.lines import BoughtLine, CostLine
from buildlog.compute.costs.orders import LandedLine, LandedOrder, TaxTotal
from buildlog.compute.costs.payments import Credited, Paid
from buildlog.compute.costs.plan import BudgetRow, ForecastRow, WantedFigures
from buildlog.compute.costs.purchases import Purchase, Share
from buildlog.compute.costs.rework import ReworkFigures, ReworkItem, ReworkUnit
from buildlog.compute.costs.sums import MonthFigures, Step, Total
from buildlog.compute.costs.totals import CostFigures, Moved
from buildlog.compute.parts.arrivals import Came, LineArrival
from buildlog.compute.parts.deadlines import Deadline, Failure
from buildlog.compute.quantities.money import Money
from buildlog.handover.figures_file import Json

# Pages call it otherwise. This word stays, or a bag that was made with it would differ from what is computed again.
NAMELESS = "something"
"What the file says of a line to which the owner gave neither a name nor a number."


def write_costs(cost: CostFigures) -> Json:
    # Key by key, as in all writers, and not whole records: what is renamed or added inside leaves the file as it is.
    return {
        "currency": cost.currency,
        "lines": cost.lines,
        "committed_lines": cost.committed_lines,
        "recovered_lines": cost.recovered_lines,
        "refund_lines": cost.refund_lines,
        "paid": cost.paid,
        "refunded": cost.refunded,
        "spent": cost.spent,
        "recovered": cost.recovered,
        "net": cost.net,
        "committed": cost.committed,
        "acquired": cost.acquired,
        "by_month": [*map(_write_total, cost.by_month)],
        "by_system": [*map(_write_total, cost.by_system)],
        "by_kind": [*map(_write_total, cost.by_kind)],
        "by_supplier": [*map(_write_total, cost.by_supplier)],
        "by_fault": [*map(_write_total, cost.by_fault)],
        "by_entry": [*map(_write_total, cost.by_entry)],
        "entry_totals": cost.entry_totals,
        "moved_by_entry": {key: _write_moved(moved) for key, moved in cost.moved_by_entry.items()},
        "months": [*map(_write_month, cost.months)],
        "steps": [*map(_write_step, cost.steps)],
        "running_by_entry": cost.running_by_entry,
        "budget": [*map(_write_budget_row, cost.plan.budget)],
        "budget_total": cost.plan.budget_total and _write_budget_row(cost.plan.budget_total),
        "wanted": cost.plan.wanted_sum,
        "wanted_items": [*map(_write_wanted, cost.plan.wanted)],
        "forecast": cost.plan.forecast,
        "forecast_by_system": [*map(_write_forecast, cost.plan.by_system)],
        "cores_owed": [*map(_write_core_owed, cost.cores_owed)],
        "cores_owed_home": cost.cores_owed_home,
        "gifts": [*map(_write_gift, cost.gifts)],
        "own_hours": cost.own_hours,
        "hour_rate": None if cost.hour_rate is None else cost.hour_rate.amount,
        "own_hours_worth": cost.own_hours_worth,
        "landed_lines": [*map(_write_bought_line, cost.landed_lines)],
        "purchases": [*map(_write_purchase, cost.purchases)],
    }


def write_cost_line(line: CostLine) -> Json:
    """One line of the costs; wherever else a line stands, its number in the list `lines` stands for it."""
    return {
        "sort": line.sort,
        "landed": line.landed,
        "date": line.date,
        "entry": line.entry,
        "place": line.place,
        "what": line.what or NAMELESS,
        "part": line.part,
        "qty": line.qty,
        "unit": line.unit,
        "system": line.system,
        "kind": line.kind,
        "fault": line.fault,
        "supplier": line.supplier,
        "ref": line.ref,
        "line": line.line,
        "converted": line.converted,
    }


def _write_total(total: Total) -> Json:
    return {"key": total.key, "name": total.name, "amount": total.amount, "lines": total.lines}


def _write_moved(moved: Moved) -> Json:
    return {"paid": moved.paid, "refunded": moved.refunded, "recovered": moved.recovered, "committed": moved.committed}


def _write_month(month: MonthFigures) -> Json:
    return {
        "month": month.month,
        "spent": month.spent,
        "recovered": month.recovered,
        "net": month.net,
        "running": month.running,
        "hours": month.hours,
        "lines": month.lines,
    }


def _write_step(step: Step) -> Json:
    return {"date": step.date, "spent": step.spent, "net": step.net}


def _write_budget_row(budget_row: BudgetRow) -> Json:
    return {
        "system": budget_row.system,
        "budget": budget_row.budget,
        "spent": budget_row.spent,
        "committed": budget_row.committed,
        "wanted": budget_row.wanted,
        "left": budget_row.left,
        "forecast": budget_row.forecast,
    }


def _write_wanted(wanted: WantedFigures) -> Json:
    return {
        "part": wanted.part,
        "what": wanted.what,
        "qty": wanted.qty,
        "about": wanted.about,
        "system": wanted.system,
        "supplier": wanted.supplier,
        "since": wanted.since,
        "entry": wanted.entry,
        "place": wanted.place,
        "state": wanted.state,
        "ended_in": wanted.ended_in,
    }


def _write_forecast(row: ForecastRow) -> Json:
    return {
        "system": row.system,
        "spent": row.spent,
        "committed": row.committed,
        "wanted": row.wanted,
        "forecast": row.forecast,
        "budget": row.budget,
    }


def _write_core_owed(core_owed: CoreOwed) -> Json:
    return {
        "what": core_owed.what or NAMELESS,
        "part": core_owed.part,
        "supplier": core_owed.supplier,
        "ref": core_owed.ref,
        "entry": core_owed.entry,
        "place": core_owed.place,
        "since": core_owed.since,
        "core": _write_money(core_owed.core),
        "home": core_owed.home,
    }


def _write_money(money: Money) -> Json:
    return {"amount": money.amount, "currency": money.currency}


def _write_gift(gift: Gift) -> Json:
    return {
        "what": gift.what or NAMELESS,
        "part": gift.part,
        "supplier": gift.supplier,
        "entry": gift.entry,
        "place": gift.place,
        "date": gift.date,
        "from_sponsor": gift.from_sponsor,
        "worth": None if gift.worth is None else _write_money(gift.worth),
        "home": gift.home,
        "landed": gift.landed,
    }


def _write_bought_line(bought_line: BoughtLine) -> Json:
    return {
        "landed": _write_landed_line(bought_line.landed),
        "entry": bought_line.entry,
        "part": bought_line.part,
        "system": bought_line.system,
        "supplier": bought_line.supplier,
        "ref": bought_line.ref,
        "currency": bought_line.currency,
        "ordered": bought_line.ordered,
        "paid": bought_line.paid,
        "arrived": bought_line.arrived,
    }


def _write_landed_line(landed_line: LandedLine) -> Json:
    return {
        "line": landed_line.line,
        "value": landed_line.value,
        "discount": landed_line.discount,
        "carriage": landed_line.carriage,
        "handling": landed_line.handling,
        "core": landed_line.core,
        "base": landed_line.base,
        "tax_rate": landed_line.tax_rate,
        "tax": landed_line.tax,
        "rounding": landed_line.rounding,
        "gross": landed_line.gross,
        "home": landed_line.home,
        "duty": landed_line.duty,
        "charges": landed_line.charges,
        "landed": landed_line.landed,
    }


def _write_purchase(purchase: Purchase) -> Json:
    return {
        "landed": _write_landed_order(purchase.landed),
        "entry": purchase.entry,
        "ordered": purchase.ordered,
        "paid": purchase.paid,
        "payments": [*map(_write_paid, purchase.landed.settlement.payments)],
        "credited": [*map(_write_credited, purchase.landed.settlement.credited)],
        "left": purchase.landed.settlement.left,
        "shares": [*map(_write_share, purchase.shares)],
        "arrivals": [*map(_write_line_arrival, purchase.arrivals)],
    }


def _write_paid(paid: Paid) -> Json:
    return {"date": paid.date, "place": paid.record, "settled": paid.settled, "home": paid.home}


def _write_credited(credited: Credited) -> Json:
    return {"date": credited.date, "place": credited.place, "amount": credited.amount, "home": credited.home}


def _write_share(share: Share) -> Json:
    return {"date": share.date, "lines": share.lines}


def _write_line_arrival(line_arrival: LineArrival) -> Json:
    return {
        "line": line_arrival.line,
        "ordered": line_arrival.ordered,
        "arrived": line_arrival.arrived,
        "told_in": line_arrival.told_in,
        "place": line_arrival.place,
        "came": [*map(_write_came, line_arrival.came)],
    }


def _write_came(came: Came) -> Json:
    return {"date": came.date, "qty": came.qty, "told_in": came.told_in, "place": came.place}


def _write_landed_order(landed_order: LandedOrder) -> Json:
    return {
        "order": landed_order.order,
        "currency": landed_order.currency,
        "home_currency": landed_order.home_currency,
        "taxes": [*map(_write_tax_total, landed_order.taxes)],
        "total": landed_order.total,
        "home": landed_order.home,
        "landed": landed_order.landed,
        "rate": landed_order.rate,
        "converted": landed_order.converted,
    }


def _write_tax_total(tax_total: TaxTotal) -> Json:
    return {
        "rate": tax_total.rate,
        "base": tax_total.base,
        "tax": tax_total.tax,
        "category": tax_total.category,
        "reason": tax_total.reason,
    }


def write_rework(rework: ReworkFigures) -> Json:
    return {"items": [*map(_write_rework_item, rework.items)], "cost": rework.cost, "hours": rework.hours}


def _write_rework_item(rework_item: ReworkItem) -> Json:
    return {
        "key": rework_item.key,
        "name": rework_item.name,
        "at": rework_item.at,
        "qty": rework_item.qty,
        "date": rework_item.date,
        "entry": rework_item.entry,
        "place": rework_item.place,
        "earlier": rework_item.earlier,
        "units": [*map(_write_rework_unit, rework_item.units)],
        "cost": rework_item.cost,
        "hours": rework_item.hours,
    }


def _write_rework_unit(rework_unit: ReworkUnit) -> Json:
    return {"line": rework_unit.line, "qty": rework_unit.qty, "cost": rework_unit.cost}


def write_deadline(deadline: Deadline) -> Json:
    return {
        "kind": deadline.kind,
        "name": deadline.name or NAMELESS,
        "part": deadline.part,
        "supplier": deadline.supplier,
        "ref": deadline.ref,
        "entry": deadline.entry,
        "place": deadline.place,
        "until": deadline.until,
        "days_left": deadline.days_left,
        "state": deadline.state,
    }


def write_failure(failure: Failure) -> Json:
    return {
        "part": failure.part,
        "name": failure.name,
        "date": failure.date,
        "entry": failure.entry,
        "place": failure.place,
        "until": failure.until,
        "line": failure.line,
    }


def write_shelf(shelf: ShelfFigures) -> Json:
    return {"items": [*map(_write_shelf_item, shelf.items)], "worth": shelf.worth, "placed": shelf.placed}


def _write_shelf_item(item: ShelfItem) -> Json:
    lying = [{"where": some.where, "qty": some.qty} for some in item.lying]
    return {"key": item.key, "qty": item.qty, "lying": lying, "worth": item.worth}
