"""The program against the slow one, over random logs: parcels, instalments, taxes of their own, credits and refunds."""

from __future__ import annotations

import datetime
import json
from fractions import Fraction
from typing import Any

from hypothesis import HealthCheck, Phase, assume, event, given
from hypothesis import settings as tries
from hypothesis import strategies as st

from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.quantities.money import Money
from buildlog.problems import show_problems
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from tests.slow_money import add_up

SETTINGS = "machine: {name: M}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel, brakes: Brakes}\n"
FIRST = datetime.date(2024, 1, 1)
PARTS = ("pump", "seal", "disc")
Record = dict[str, Any]


def say_day(n: int) -> str:
    return (FIRST + datetime.timedelta(days=n)).isoformat()


def cents(most: int) -> st.SearchStrategy[str]:
    return st.integers(1, most).map(lambda n: f"{n // 100}.{n % 100:02}")


def maybe(draw: Any, record: Record, key: str, strategy: st.SearchStrategy[Any], odds: int = 3) -> None:
    """Sets a key now and then."""
    if draw(st.integers(1, odds)) == 1:
        record[key] = draw(strategy)


extras = st.one_of(
    cents(900),
    st.fixed_dictionaries({"amount": cents(900)}, optional={"tax": st.sampled_from(["9", "21"])}),
    st.fixed_dictionaries({"amount": cents(900), "untaxed": st.just("export")}),
)


@st.composite
def lines(draw: Any, part: str) -> Record:
    line: Record = {"part": part, "qty": str(draw(st.integers(1, 6))), "each": draw(cents(9_000))}
    maybe(draw, line, "per", st.sampled_from(["3", "100"]), 5)
    maybe(draw, line, "discount", cents(3), 4)
    maybe(draw, line, "surcharge", cents(300), 4)
    maybe(draw, line, "core", cents(2_000), 4)
    maybe(draw, line, "for", st.sampled_from(["fuel", "brakes"]), 2)
    maybe(draw, line, "kind", st.sampled_from(["consumable", "tool"]), 4)
    return line


@st.composite
def orders(draw: Any, ref: str, day: int) -> Record:
    bought = draw(st.lists(st.sampled_from(PARTS), min_size=1, max_size=3, unique=True))
    order: Record = {
        "from": draw(st.sampled_from(["North", "South"])),
        "ref": ref,
        "lines": [draw(lines(p)) for p in bought],
    }
    if draw(st.integers(1, 3)) == 1:
        order |= {"currency": "EUR", "rate": draw(st.sampled_from(["0.8567", "1.3"]))}
    if draw(st.booleans()):
        order |= {"prices": draw(st.sampled_from(["net", "gross"])), "tax": draw(st.sampled_from(["21", "5.5"]))}
        for line in order["lines"]:
            maybe(draw, line, "tax", st.sampled_from(["0", "9"]), 4)
        for name in ("discount", "carriage", "handling"):
            maybe(draw, order, name, st.lists(extras, min_size=1, max_size=2), 3)
    else:
        maybe(draw, order, "carriage", cents(900))
    maybe(draw, order, "rounding", st.sampled_from(["0.02", "-0.03"]), 4)
    maybe(draw, order, "duty", cents(900), 4)
    maybe(draw, order, "charges", st.lists(cents(300), min_size=1, max_size=2), 4)
    draw_parcels(draw, order, day)
    draw_payments(draw, order, day)
    return order


def draw_parcels(draw: Any, order: Record, day: int) -> None:
    """Up to two parcels that say what they brought, and now and then one with the rest."""
    left = {line["part"]: int(line["qty"]) for line in order["lines"]}
    parcels: list[Any] = []
    for _ in range(draw(st.integers(0, 2))):
        day += draw(st.integers(0, 9))
        brought = {part: draw(st.integers(1, qty)) for part, qty in left.items() if qty and draw(st.booleans())}
        left = {part: qty - brought.get(part, 0) for part, qty in left.items()}
        if brought:
            parcels.append({"date": say_day(day), "lines": {part: str(qty) for part, qty in brought.items()}})
    if any(left.values()) and draw(st.booleans()):
        parcels.append(say_day(day + draw(st.integers(0, 30))))
    if parcels:
        order["arrived"] = parcels


def draw_payments(draw: Any, order: Record, day: int) -> None:
    """Up to two instalments, and mostly one that pays the rest; with what the card took, or without."""
    paid: list[Any] = []
    for _ in range(draw(st.integers(0, 2))):
        one = {"date": say_day(day + draw(st.integers(0, 40))), "amount": draw(cents(300))}
        if "currency" in order:
            maybe(draw, one, "charged", cents(300), 2)
        paid.append(one)
    if draw(st.integers(1, 3)) > 1:
        paid.append({"date": say_day(day + draw(st.integers(40, 60)))})
    if paid:
        order["paid"] = paid


@st.composite
def logs(draw: Any) -> list[Record]:
    entries: list[Record] = []
    count = draw(st.integers(1, 4))
    for n in range(count):
        day = draw(st.integers(0, 20))
        entries.append({"date": say_day(day), "title": "T", "bought": [draw(orders(f"A{n}", day))]})
    for _ in range(draw(st.integers(0, 4))):
        order = draw(st.sampled_from(entries[:count]))["bought"][0]
        entries.append({"date": say_day(draw(st.integers(20, 90))), "title": "T", **draw_later(draw, order)})
    return sorted(entries, key=lambda entry: str(entry["date"]))


def draw_later(draw: Any, order: Record) -> Record:
    """What a later entry tells of an order or of its parts."""
    part = draw(st.sampled_from([line["part"] for line in order["lines"]]))
    kind = draw(
        st.sampled_from(["returned", "returned", "returned", "fitted", "removed", "sold", "scrapped", "arrived"])
    )
    if kind == "arrived":
        return {"arrived": [{"ref": order["ref"], "lines": {part: "1"}}]}
    if kind != "returned":
        record: Record = {"part": part, **({"price": "5.00"} if kind == "sold" else {})}
        if kind == "removed":
            record["fate"] = "kept"
        return {kind: [record]}
    back: Record = {"ref": order["ref"], "refund": draw(cents(500))}
    if draw(st.booleans()):
        back["part"] = part
        goods = draw(st.sampled_from(["", "qty", "cancelled"]))
        back |= {goods: "1"} if goods else {}
        maybe(draw, back, "core", cents(100), 4)
    maybe(draw, back, "prices", st.sampled_from(["net", "gross"]))
    maybe(draw, back, "charged", cents(400), 4)
    return {"returned": [back]}


def pennies(money: Money) -> int:
    units = Fraction(money.amount) * 100
    assert units.denominator == 1 and money.currency == "GBP"
    return int(units)


def compare(figures: Figures, entries: list[Record], as_of: datetime.date) -> None:
    slow, costs = add_up(entries, as_of), figures.costs
    assert [[pennies(line.landed) for line in p.landed.lines] for p in costs.purchases] == slow.landed
    for way in ("month", "system", "supplier", "kind"):
        rows = {row.name: pennies(row.amount) for row in getattr(costs, f"by_{way}") if row.amount}
        assert rows == slow.spent[way], way
    assert pennies(costs.committed) == slow.committed
    post = [(item.key, Fraction(item.qty), pennies(item.landed)) for item in figures.in_the_post if item.landed]
    assert sorted(post) == sorted(row for row in slow.post if row[2])
    shelf = {item.key: (Fraction(item.qty), pennies(item.worth)) for item in figures.shelf.items}
    assert shelf == slow.shelf
    assert pennies(figures.shelf.worth) == sum(worth for _, worth in slow.shelf.values())


@tries(
    max_examples=250,
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
)
@given(logs(), st.integers(0, 120))
def test_both_programs_come_to_the_same(entries: list[Record], day: int) -> None:
    """Landed costs, totals by month, system, supplier and kind, committed, in the post, the shelf and its worth."""
    as_of = FIRST + datetime.timedelta(days=day)
    texts = {f"e{n}.md": f"---\n{json.dumps(entry)}\n---\n" for n, entry in enumerate(entries)}
    reading = read_files(LogFiles(settings=SETTINGS, entries=texts))
    assert reading.log is not None, show_problems(reading.problems, reading.texts)
    figures = compute_figures(reading.log, as_of)
    # What cannot be is told and gets no figure that anybody relies on.
    wrong = sorted({problem.rule for problem in figures.problems if problem.severity == "error"})
    event(f"not compared: {wrong[0]}" if wrong else "compared")
    assume(not wrong)
    compare(figures, entries, as_of)
