"""Orders paid in several sums, in several currencies, and less credit notes; every sum worked out by hand."""

from __future__ import annotations

import datetime

import pytest

from buildlog.compute.as_of import cut_to_day
from buildlog.compute.costs.totals import CostFigures, compute_costs
from buildlog.compute.parts.movements import follow_parts
from tests.support import log_of, plain


def compute(*heads: str, day: str = "2024-12-31") -> CostFigures:
    as_of = datetime.date.fromisoformat(day)
    log = log_of(*heads)
    return compute_costs(follow_parts(cut_to_day(log, as_of)), as_of)


def list_months(costs: CostFigures) -> dict[str, str]:
    return {total.name: plain(total.amount) for total in costs.by_month}


ORDER = """date: 2024-03-01
bought:
  from: S
  ref: A1
  carriage: 10.00
  lines: [{part: pump, each: 60.00}, {part: seal, each: 30.00}]
"""


def test_each_instalment_counts_in_its_own_month() -> None:
    """100.00 in all: 25.00 in March, 40.00 in April, the rest in May; what is left is committed all the while."""
    paid = ORDER + "  paid: [{date: 2024-03-01, amount: 25.00}, {date: 2024-04-10, amount: 40.00}, 2024-05-02]"
    costs = compute(paid)
    assert (list_months(costs), costs.problems) == ({"2024-03": "25.00", "2024-04": "40.00", "2024-05": "35.00"}, ())
    assert [plain(compute(paid, day=f"2024-{day}").committed) for day in ("03-01", "04-09", "04-10", "05-02")] == [
        "75.00", "75.00", "35.00", "0"
    ]  # fmt: skip
    # Landed as the whole order: 60 + 6.67 and 30 + 3.33, whatever was paid when.
    assert [plain(line.landed.landed) for line in costs.landed_lines] == ["66.67", "33.33"]
    # 25.00 over 66.67 and 33.33 (16.6675, 8.3325), 40.00 over 50.00 and 25.00 (26.6…, 13.3…), the rest.
    assert [[plain(amount) for amount in share.lines] for share in costs.purchases[0].shares] == [
        ["16.67", "8.33"], ["26.67", "13.33"], ["23.33", "11.67"]
    ]  # fmt: skip


def test_later_entries_may_tell_of_them() -> None:
    """A deposit with the order, the rest in an entry of its own: as if both stood on the order."""
    deposit = ORDER + "  paid: {date: 2024-03-01, amount: 25.00}"
    costs = compute(deposit, "date: 2024-04-10\npaid: {ref: A1, amount: 40.00}", "date: 2024-05-02\npaid: A1")
    assert (list_months(costs), costs.problems) == ({"2024-03": "25.00", "2024-04": "40.00", "2024-05": "35.00"}, ())
    part = compute(deposit, "date: 2024-04-10\npaid: {ref: A1, amount: 40.00}")
    assert (plain(part.spent), plain(part.committed), part.problems) == ("65.00", "35.00", ())


def test_duty_comes_with_the_payment_that_leaves_nothing() -> None:
    """9.00 of duty over 60 and 30: 6.00 and 3.00, committed until then."""
    due = ORDER.replace("carriage: 10.00", "duty: 9.00\n  charges: {amount: 3.00, what: Card fee}") + (
        "  paid: [{date: 2024-03-01, amount: 30.00}, 2024-05-02]"
    )
    assert list_months(compute(due)) == {"2024-03": "30.00", "2024-05": "72.00"}
    assert plain(compute(due, day="2024-04-01").committed) == "72.00"


ABROAD = """date: 2024-03-01
bought:
  from: S
  ref: A1
  currency: EUR
  lines: [{part: pump, each: 200.00}, {part: seal, each: 100.00}]
"""


def test_each_payment_may_be_in_a_currency_of_its_own() -> None:
    """300 EUR: 100 by card for 86.00, 1,490 DKK that settle 199.00 EUR for 171.00, the last euro in cash for 0.90."""
    costs = compute(
        ABROAD
        + "  paid:\n    - {date: 2024-03-01, amount: 100.00, charged: 86.00}\n"
        + "    - {date: 2024-04-01, amount: 1490.00, currency: DKK, settles: 199.00, charged: 171.00}\n"
        + "    - {date: 2024-05-01, amount: 0.90, currency: GBP}\n"
    )
    assert (list_months(costs), costs.problems) == ({"2024-03": "86.00", "2024-04": "171.00", "2024-05": "0.90"}, ())
    assert [plain(line.landed.home) for line in costs.landed_lines] == ["171.93", "85.97"]


def test_what_was_not_charged_is_converted() -> None:
    """At the rate of the order; without one at that of what was charged: 86 for 100 EUR makes 172.00 of 200."""
    deposit = "  paid: {date: 2024-03-01, amount: 100.00, charged: 86.00}\n"
    costs = compute(ABROAD + deposit)
    assert (plain(costs.spent), plain(costs.committed), costs.problems) == ("86.00", "172.00", ())
    stated = compute(ABROAD + "  rate: 0.9\n" + deposit)
    assert (plain(stated.spent), plain(stated.committed)) == ("86.00", "180.00")
    nothing = compute(ABROAD + "  paid: {date: 2024-03-01, amount: 100.00}\n")
    assert [(problem.rule, problem.severity) for problem in nothing.problems] == [("no-rate", "error")]


def test_parts_at_a_rate_come_to_what_the_whole_comes_to() -> None:
    """0.15 EUR at 0.5 is 0.08 (0.075): in three parts of 0.05 that is 0.03, 0.02 and 0.03."""
    paid = "  paid: [{date: 2024-03-01, amount: 0.05}, {date: 2024-04-01, amount: 0.05}, 2024-05-01]\n"
    costs = compute(ABROAD.replace("each: 200.00}, {part: seal, each: 100.00", "each: 0.15") + "  rate: 0.5\n" + paid)
    assert list_months(costs) == {"2024-03": "0.03", "2024-04": "0.02", "2024-05": "0.03"}


def test_one_sum_charged_for_all_is_shared_by_what_each_paid() -> None:
    """258.00 for 300 EUR, a third of it in March."""
    costs = compute(ABROAD + "  charged: 258.00\n  paid: [{date: 2024-03-01, amount: 100.00}, 2024-04-01]\n")
    assert list_months(costs) == {"2024-03": "86.00", "2024-04": "172.00"}


CREDIT = "date: 2024-04-05\nreturned: {ref: A1, part: seal, refund: 20.00}"


def test_a_credit_note_takes_off_what_is_left_to_pay() -> None:
    """100.00 less 20.00: 80.00 committed, and 80.00 leave the account in May."""
    assert plain(compute(ORDER, CREDIT).committed) == "80.00"
    costs = compute(ORDER, CREDIT, "date: 2024-05-02\npaid: A1")
    assert (list_months(costs), plain(costs.committed)) == ({"2024-05": "80.00"}, "0")
    assert (plain(costs.paid), plain(costs.refunded), costs.problems) == ("100.00", "20.00", ())


def test_a_credit_note_abroad_is_worth_what_was_paid_for_the_rest() -> None:
    """300 EUR less 50: 250 were charged as 215.00, so 50 EUR are 43.00 and the order came to 258.00."""
    credit = CREDIT.replace("20.00", "50.00")
    costs = compute(ABROAD, credit, "date: 2024-05-02\npaid: {ref: A1, charged: 215.00}")
    assert (plain(costs.spent), plain(costs.paid), plain(costs.refunded)) == ("215.00", "258.00", "43.00")


def test_more_than_what_was_left_is_money_back() -> None:
    """A deposit of 30.00 on 100.00, and a credit note for all of it: 70.00 are not to be paid, 30.00 come back."""
    deposit = ORDER + "  paid: {date: 2024-03-01, amount: 30.00}"
    costs = compute(deposit, "date: 2024-04-05\nreturned: {ref: A1, refund: 100.00}")
    assert (list_months(costs), plain(costs.spent), plain(costs.committed)) == (
        {"2024-03": "30.00", "2024-04": "-30.00"}, "0.00", "0"
    )  # fmt: skip
    assert costs.problems == ()


def test_an_order_that_is_credited_whole_is_neither_spent_nor_committed() -> None:
    """Nothing was ever paid, and nothing is to pay."""
    costs = compute(ORDER, "date: 2024-04-05\nreturned: {ref: A1, refund: 100.00}")
    assert (costs.lines, costs.committed_lines, costs.problems) == ((), (), ())


NET = """date: 2024-03-01
bought:
  from: S
  ref: A1
  paid: 2024-03-01
  prices: net
  tax: 20
  lines: [{part: pump, each: 100.00, core: 10.00}, {part: book, each: 50.00, tax: 0}]
"""


@pytest.mark.parametrize(
    ("back", "came"),
    [
        ("part: pump, refund: 10.00", "12.00"),
        ("part: pump, refund: 10.00, prices: net", "12.00"),
        ("part: pump, refund: 12.00, prices: gross", "12.00"),
        ("part: book, refund: 10.00", "10.00"),
        ("part: pump, core: 10.00", "12.00"),
        ("part: pump, core: 10.00, refund: 2.00, prices: gross", "12.00"),
        # 16.00 over bases of 110 and 50: 11.00 with 20 %, 5.00 without.
        ("refund: 16.00", "18.20"),
    ],
)
def test_a_refund_is_with_tax_or_without(back: str, came: str) -> None:
    """As the order's prices are, unless it says otherwise; tax at the rate of each line."""
    costs = compute(NET, f"date: 2024-04-05\nreturned: {{ref: A1, {back}}}")
    assert (plain(costs.refunded), costs.problems) == (came, ())


def test_a_refund_without_tax_of_gross_prices() -> None:
    """Prices with tax inside: 10.00 without are 12.00 with."""
    gross = NET.replace("prices: net", "prices: gross")
    assert plain(compute(gross, "date: 2024-04-05\nreturned: {ref: A1, part: pump, refund: 10.00}").refunded) == "10.00"
    back = "date: 2024-04-05\nreturned: {ref: A1, part: pump, refund: 10.00, prices: net}"
    assert plain(compute(gross, back).refunded) == "12.00"


WRONG = {
    "more than the total": (
        ORDER + "  paid: [{date: 2024-03-01, amount: 60.00}, {date: 2024-04-01, amount: 60.00}]",
        ("paid-too-much", "`60.00` was paid, but only `40.00` of the order `A1` was left to pay", 8),
    ),
    "when nothing was left": (
        ORDER + "  paid: [2024-03-01, {date: 2024-04-01, amount: 60.00}]",
        ("paid-too-much", "`60.00` was paid, but nothing of the order `A1` was left to pay", 8),
    ),
    "all of it twice": (
        ORDER + "  paid: [2024-03-01, 2024-04-01]", ("paid-twice", "the order `A1` is already paid", 8)
    ),
    "settles at home": (
        ORDER + "  paid: {date: 2024-03-01, settles: 60.00}",
        ("settles-without-currency", "`settles:` is for a payment in another currency than the order's", 8),
    ),
    "no such currency": (
        ORDER + "  paid: {date: 2024-03-01, amount: 1.00, currency: DKX}",
        ("unknown-currency", "there is no currency `DKX`", 8),
    ),
    "finer than a penny": (
        ORDER + "  paid: {date: 2024-03-01, amount: 1.005}",
        ("too-many-decimals", "`1.005` has too many decimals: GBP has 2 decimals", 8),
    ),
    "charged otherwise": (
        ABROAD + "  charged: 258.00\n  paid: [{date: 2024-03-01, amount: 100.00, charged: 90.00}, 2024-04-01]",
        ("charged-twice", "the order `A1` was charged `258.00` there and `90.00` for 1 payment of it", 9),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_one_payment_is_wrong(name: str) -> None:
    """One problem, at the payment, with a remedy; figures are computed all the same."""
    head, expected = WRONG[name]
    [problem] = compute(head).problems
    assert (problem.rule, problem.message, problem.place.line) == expected
    assert problem.help
