"""What the questions about costs and parts answer: rows that add up and can be told apart, and nothing left out."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given

from buildlog.answers.forms import Table
from buildlog.answers.ledger import answer_costs, answer_parts
from buildlog.compute.figures import compute_figures
from buildlog.read.records import Log
from tests.random_logs import logs, moments
from tests.support import log_of

DAY = datetime.date(2024, 12, 31)

HOSE = "{part: hose, name: Hose, qty: 5, unit: m, each: 6.00}"
PARTS = (
    f"date: 2024-05-01\nbought: {{from: S, ref: A1, arrived: 2024-05-01, paid: 2024-05-01, lines: [{HOSE}, "
    "{part: pump, name: Pump, qty: 4, each: 10.00}, {part: other-pump, name: Pump, each: 12.00, kind: tool}]}",
    "date: 2024-05-02\nremoved: [{part: original, name: Pump}, {part: original, name: Heat shield, fate: kept}]\n"
    "fitted: [{part: pump, instead_of: original}, {part: hose, qty: 2}]",
    "date: 2024-05-03\nremoved: pump\nfitted: pump\nsold: {part: pump, price: 5.00}\nscrapped: {part: hose, qty: 1}\n"
    "returned: {ref: A1, part: pump, qty: 1, refund: 10.00}",
)


def read_rows(table: Table) -> list[dict[str, str]]:
    """The rows of a table, each cell under its heading."""
    heads = [column.removesuffix(">") for column in table.columns]
    return [dict(zip(heads, row, strict=True)) for row in table.rows]


def answer(log: Log, day: datetime.date = DAY) -> tuple[list[dict[str, str]], Any]:
    """The rows and the data about parts."""
    found = answer_parts(compute_figures(log, day))
    return read_rows(found.tables[0]), found.data


GONE = ("In post", "Shelf", "On it", "Cancelled", "Sent back", "Sold", "Gone")


def add_up(row: dict[str, str], *columns: str) -> Decimal:
    """The sum of some columns; one that no row needs is left out, and a cell of none is empty."""
    return sum((Decimal(row.get(column) or 0) for column in columns), Decimal(0))


def test_each_part_is_somewhere() -> None:
    """Of 4 pumps one is on, one went when it came off, one was sold, one sent back; of 5 m of hose 2 lie there."""
    rows = {row["Short name"]: row for row in answer(log_of(*PARTS))[0]}
    pump = {"Part": "Pump", "Unit": "", "Bought": "4", "On it": "1", "Sent back": "1", "Sold": "1", "Gone": "1"}
    hose = {"Part": "Hose", "Unit": "m", "Bought": "5", "On it": "2", "Shelf": "2", "Gone": "1"}
    own = {"Part": "Pump", "Own": "1", "Bought": "", "Gone": "1"}
    for key, known in {"pump": pump, "hose": hose, "original-pump": own}.items():
        assert rows[key].items() >= known.items()
    assert "Cancelled" not in rows["pump"] and "Numbers" not in rows["pump"]
    assert rows["original-heat-shield"]["Shelf"] == "1"


@given(log=logs, day=moments)
def test_rows_about_parts_add_up(log: Log, day: datetime.date) -> None:
    """Whatever was bought or came with the machine is in one of the columns, in the table and in the data."""
    rows, data = answer(log, day)
    for row, part in zip(rows, data, strict=True):
        assert add_up(row, "Bought", "Own") == add_up(row, *GONE)
        qty = {key: Decimal(value) for key, value in part.items() if key in QUANTITIES}
        assert qty.keys() == QUANTITIES
        left = qty["fitted"] + qty["returned"] + qty["sold"] + qty["scrapped"]
        assert qty["shelf"] == qty["arrived"] + qty["kept"] - left
        assert qty["in_the_post"] == qty["bought"] - qty["cancelled"] - qty["arrived"]
        where = ("in_the_post", "shelf", "on_machine", "cancelled", "returned", "sold", "gone")
        assert qty["bought"] + qty["came_with"] == sum(qty[key] for key in where)


QUANTITIES = frozenset(
    """
    bought came_with in_the_post shelf on_machine cancelled returned sold gone arrived fitted removed kept scrapped
    """.split()
)


@given(log=logs, day=moments)
def test_rows_about_parts_can_be_told_apart(log: Log, day: datetime.date) -> None:
    """No two rows read the same but for their quantities: each has the name by which an entry can speak of the part."""
    rows, _ = answer(log, day)
    names = [(row["Part"], row["Short name"], row.get("Numbers")) for row in rows]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("find", ["x" * 10_000, "pump " * 2_000])
def test_a_search_for_ten_thousand_characters_is_answered_in_one_line(find: str) -> None:
    """Nothing is found, and of what was sought no more is said again than can be read."""
    log = log_of("date: 2024-05-01\nbought: {from: S, paid: 2024-05-01, lines: {part: seal, each: 1.00}}")
    [table] = answer_parts(compute_figures(log, DAY), find).tables
    assert table.rows == () and len(table.empty) < 100 and "…" in table.empty


BUDGET = """
machine: {name: Test machine}
money: {currency: GBP, budget: {fuel: 30.00, brakes: 100.00}}
systems: {fuel: Fuel, brakes: Brakes}
"""


def test_costs_tell_budget_and_kinds() -> None:
    """Of 30.00 for fuel 42.00 are spent and 6.00 ordered: 18.00 over. The kinds are those of the lines."""
    owed = "date: 2024-05-04\nsystems: [fuel]\nbought: {from: S, lines: {what: Rag, kind: consumable, each: 6.00}}"
    bought = (
        "date: 2024-05-01\nsystems: [fuel]\nbought: {from: S, paid: 2024-05-01, lines: "
        "[{part: pump, each: 30.00}, {what: Gauge, kind: tool, each: 12.00}]}"
    )
    found = answer_costs(compute_figures(log_of(bought, owed, settings=BUDGET), DAY))
    tables = {table.columns[0]: read_rows(table) for table in found.tables}
    fuel, brakes, whole = tables["Budget"]
    assert fuel == {
        "Budget": "fuel", "GBP": "30.00", "Spent": "42.00", "Committed": "6.00", "Wanted": "0.00", "Left": "-18.00",
        "Forecast": "48.00",
    }  # fmt: skip
    assert (brakes["Left"], whole["Budget"], whole["GBP"], whole["Left"]) == ("100.00", "all", "130.00", "82.00")
    assert tables["Kind"] == [{"Kind": "part", "GBP": "30.00"}, {"Kind": "tool", "GBP": "12.00"}]
    assert found.data["by_kind"] == {"part": "30.00", "tool": "12.00"}
    assert found.data["budget"][0] == {
        "system": "fuel", "budget": "30.00", "spent": "42.00", "committed": "6.00", "wanted": "0.00", "left": "-18.00",
        "forecast": "48.00",
    }  # fmt: skip
    assert found.data["budget_total"] == {
        "budget": "130.00", "spent": "42.00", "committed": "6.00", "wanted": "0.00", "left": "82.00",
        "forecast": "48.00",
    }  # fmt: skip


def test_without_a_budget_none_is_told() -> None:
    """No table about nothing; the data say that there is none."""
    found = answer_costs(compute_figures(log_of("date: 2024-05-01"), DAY))
    assert "Budget" not in [table.columns[0] for table in found.tables]
    assert (found.data["budget"], found.data["budget_total"]) == ([], None)
