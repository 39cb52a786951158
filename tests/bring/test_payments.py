"""Statements: a payment is matched with the one order that it paid, told in an entry of its own, and never invented.

Outside: camt.053.001.02 and .08 (ISO 20022), in messages written by the schema's element names.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.bring.documents import write_camt, write_ubl
from tests.bring.drawers import list_orders, list_problems, plan, put, read, start_log, write
from tests.bring.test_einvoices import MIXED
from tests.killing import read_tree
from tests.test_cli import run

ORDER = """\
---
date: 2024-05-06
title: Lift pump ordered
bought:
  - {from: Kanaal Motordelen, ref: KM-77120, prices: net, tax: 21, lines: [{what: Lift pump, each: 118.40}]}
  - {from: Hof & Sohn, lines: [{what: Hose, each: 30.50}]}
  - {from: Werft Nord, ref: "4711", currency: SEK, lines: [{what: Prop shaft, each: 5000.00}]}
---
"""
PAID = {"amount": "143.26", "day": "2024-05-08", "to": "KANAAL MOTORDELEN BV", "text": "Order KM-77120 thanks"}


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return put(start_log(tmp_path / "log"), {"entries/2024-05-06-ordered.md": ORDER})


def put_statement(log: Path, *entries: dict[str, str], version: str = "08") -> Path:
    return put(log.parent / "drawer", {"statement.xml": write_camt(entries, version)})


@pytest.mark.outside
@pytest.mark.parametrize("version", ["02", "08"])
def test_a_payment_is_told_in_an_entry_of_its_day(version: str, log: Path) -> None:
    """The order's file stays as it is, byte for byte; the order counts as paid that day, and is shown in the plan."""
    before = read_tree(log)
    done = write(log, put_statement(log, PAID, version=version))
    assert "143.26 EUR" in done.output and "the order KM-77120 of 2024-05-06 from Kanaal Motordelen" in done.output
    text = (log / "entries/2024-05-08-paid-kanaal-motordelen.md").read_text(encoding="utf-8")
    assert "paid:\n  - {ref: KM-77120}\n" in text
    assert before.items() <= read_tree(log).items()
    costs = json.loads(run("costs", log, "--json").stdout)
    assert (costs["spent"], costs["by_month"]) == ("143.26", {"2024-05": "143.26"})


def test_a_statement_brought_twice_adds_nothing(log: Path) -> None:
    """An order that is paid is not paid again; the plan says what its payment is known as."""
    drawer = put_statement(log, PAID)
    write(log, drawer)
    before = read_tree(log)
    made = plan(drawer, "--log", log)
    assert made["entries"] == []
    assert made["left"][0]["why"] == "brought in before, in entries/2024-05-08-paid-kanaal-motordelen.md"
    other = put(log.parent / "other", {"s.xml": write_camt([{"amount": "1.00", "day": "2024-05-01"}, PAID])})
    made = plan(other, "--log", log)
    assert (made["entries"], len(made["left"])) == ([], 2)
    assert made["left"][1]["why"].startswith("is known as what paid the order KM-77120")
    write(log, drawer)
    assert read_tree(log) == before


def test_by_amount_and_day_where_nothing_else_fits(log: Path) -> None:
    """Without a number in its text; an order without one cannot be named in another entry, so its owner is told."""
    drawer = put_statement(log, PAID | {"text": "card 1234"}, {"amount": "30.50", "day": "2024-05-20"})
    made = plan(drawer, "--log", log)
    assert [one["order"] for entry in made["entries"] for one in entry["payments"]] == ["KM-77120"]
    [left] = made["left"]
    assert left["why"].startswith("seems to have paid the order of 2024-05-06 from Hof & Sohn")
    assert left["why"].endswith("which has no number: write `paid: 2024-05-20` there")


LISTED = {
    "another amount": ({"amount": "143.27", "text": ""}, "matches no unpaid order"),
    "long before": ({"day": "2024-04-01", "text": ""}, "matches no unpaid order"),
    "long after": ({"day": "2024-09-01", "text": ""}, "matches no unpaid order"),
    "money that came in": ({"sign": "CRDT"}, "money that came in"),
}


@pytest.mark.parametrize("what", LISTED)
def test_what_matches_nothing_is_listed(what: str, log: Path) -> None:
    """Nothing is invented for it."""
    changes, why = LISTED[what]
    made = plan(put_statement(log, PAID | changes), "--log", log)
    assert made["entries"] == []
    assert made["left"][0]["why"].startswith(why)


def test_two_payments_that_fit_one_order_are_for_its_owner(log: Path) -> None:
    """Which of them it was cannot be known."""
    twin = PAID | {"text": "card"}
    made = plan(put_statement(log, twin, twin | {"day": "2024-05-09"}), "--log", log)
    assert made["entries"] == []
    assert all(one["why"].startswith("may be for any of these, or one of several") for one in made["left"])


def test_what_is_only_announced_is_no_payment(log: Path) -> None:
    """An entry that is not booked (PDNG) may never be."""
    made = plan(put_statement(log, PAID | {"status": "PDNG"}), "--log", log)
    assert (made["entries"], made["left"]) == ([], [])


def test_an_order_in_another_currency_gets_what_the_bank_took(log: Path) -> None:
    """By its number alone: what five thousand crowns cost at home is what the statement says."""
    write(log, put_statement(log, {"amount": "447.10", "day": "2024-05-10", "text": "4711 Werft Nord"}))
    costs = json.loads(run("costs", log, "--json").stdout)
    assert costs["spent"] == "447.10"


def test_deposits_and_instalments(log: Path) -> None:
    """Each payment that names an order and is less than what is left of it is a part; the last one pays the rest."""
    text = {"text": "KM-77120", "to": "Kanaal"}
    parts = [
        {"amount": amount, "day": day} | text for amount, day in (("43.26", "2024-05-08"), ("50.00", "2024-06-08"))
    ]
    drawer = put_statement(log, *parts)
    write(log, drawer)
    before = read_tree(log)
    again = write(log, drawer)
    assert read_tree(log) == before
    assert again.output.count("brought in before") == 2
    # another statement that has them too, as of a quarter beside one of a month
    both = put(log.parent / "quarter", {"s.xml": write_camt([{"amount": "1.00", "day": "2024-05-01"}, *parts])})
    assert write(log, both).output.count("is known as what paid the order KM-77120") == 2
    assert read_tree(log) == before
    costs = json.loads(run("costs", log, "--json").stdout)
    assert costs["by_month"] == {"2024-05": "43.26", "2024-06": "50.00"}
    rest = put(log.parent / "later", {"s.xml": write_camt([{"amount": "50.00", "day": "2024-07-08"} | text])})
    write(log, rest)
    costs = json.loads(run("costs", log, "--json").stdout)
    assert (costs["spent"], costs["by_month"]["2024-07"]) == ("143.26", "50.00")


def test_an_invoice_and_its_payment_come_together(log: Path) -> None:
    """An order that is brought in at the same time is written with its day of payment."""
    invoice = {**MIXED, "PrepaidAmount": "0.00", "PayableAmount": "250.70"}
    files = {
        "i.xml": write_ubl(invoice),
        "s.xml": write_camt([{"amount": "250.70", "day": "2024-05-21", "text": "KM-77120"}]),
    }
    write(log, put(log.parent / "drawer", files))
    paid = [order.paid[0].date.isoformat() for _, order in list_orders(log) if order.ref == "KM-77120" and order.paid]
    assert paid == ["2024-05-21"]
    assert len(read(log).entries) == 2


def test_a_payment_in_advance_gets_its_day(log: Path) -> None:
    """What an invoice says was paid before stands on the statement too: it counts once, on that day."""
    paid = [{"amount": "50.00", "day": "2024-04-30", "text": "KM-77120"}, {"amount": "200.70", "day": "2024-06-01"}]
    files = {"i.xml": write_ubl(MIXED), "s.xml": write_camt([each | {"text": "KM-77120"} for each in paid])}
    empty = start_log(log.parent / "empty")
    done = write(empty, put(log.parent / "drawer", files))
    assert "no invoice tells" not in done.output
    costs = json.loads(run("costs", empty, "--json").stdout)
    assert (costs["by_month"], costs["committed"]) == ({"2024-04": "50.00", "2024-06": "200.70"}, "0.00")


def test_a_payment_in_advance_that_comes_after_its_invoice(log: Path) -> None:
    """It was written with the invoice's day: the statement's payment is known as that one, and not counted again."""
    empty = start_log(log.parent / "empty")
    write(empty, put(log.parent / "first", {"i.xml": write_ubl(MIXED)}))
    paid = [{"amount": "50.00", "day": "2024-04-30"}, {"amount": "200.70", "day": "2024-06-01"}]
    write(empty, put(log.parent / "later", {"s.xml": write_camt([each | {"text": "KM-77120"} for each in paid])}))
    costs = json.loads(run("costs", empty, "--json").stdout)
    assert (costs["spent"], costs["committed"]) == ("250.70", "0.00")


def test_a_statement_that_is_broken_is_one_problem(log: Path) -> None:
    """The entry is named by its number."""
    data = write_camt([PAID]).replace(b"143.26", b"a lot")
    made = plan(put(log.parent / "drawer", {"s.xml": data}), "--log", log)
    assert list_problems(made) == ["1 Ntry/Amt: entry 1 of this statement has no amount"]
