"""With `prices: totals` no single amount can be worked out from all that the site shows, by whatever arithmetic.

The attack knows nothing of how totals are chosen. It publishes a log, changes one amount after the other by a penny,
and sees from every file which shown numbers follow it. That is the site as a system of linear equations; solved in
fractions, it must leave every amount open.

What is drawn, sorted or left out is no number. So amounts are changed once more, by much, and in a way that leaves
every shown number as it is: then no byte of the site may change, be it a place of a drawing or the order of a list.
"""

from __future__ import annotations

import datetime
import math
import random
import re
import tempfile
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from buildlog.stages import Run, run_stages

SETTINGS = """
machine: {{name: Test machine, kind: other}}
acquired: {{date: 2023-12-01, price: {acquired}}}
money: {{currency: GBP, hour_rate: {rate}, budget: {{fuel: 300.00}}}}
systems: {{fuel: Fuel, brakes: Brakes}}
components: {{pump: {{system: fuel}}}}
public: {{prices: {prices}, suppliers: {suppliers}}}
site: {{address: https://example.org/, id: test}}
"""
AMOUNT = re.compile(r"[-−]?£[\d,]+\.\d\d")

Amounts = Mapping[str, int]
"Pence by the name of each amount."


def write_pence(pence: int) -> str:
    return f"{pence // 100}.{pence % 100:02}"


class Bought:
    """One order of a few lines at random, and what became of it."""

    def __init__(self, chance: random.Random, number: int) -> None:
        self.number = number
        self.day = datetime.date(2024, 1, 1) + datetime.timedelta(days=chance.randrange(150))
        self.supplier = chance.choice("ABC")
        self.lines = [self._draw_line(chance, at) for at in range(chance.choice([1, 1, 2, 3]))]
        self.paid = chance.choice([f"paid: {self.day}"] * 4 + ["", "later", "instalments"])
        self.back = chance.random() < 0.25 and self.paid.startswith("paid")
        self.fault = chance.random() < 0.3

    def _draw_line(self, chance: random.Random, at: int) -> str:
        fault = ", fault: leak" if chance.random() < 0.3 else ""
        system = chance.choice([", for: fuel", ", for: brakes", ""])
        kind = chance.choice(["part", "consumable"])
        return f"kind: {kind}{system}{fault}"

    def names(self) -> list[str]:
        lines = [f"L{self.number}-{at}" for at in range(len(self.lines))]
        # Of the first instalment; the second is what is left.
        return lines + [f"R{self.number}"] * self.back + [f"I{self.number}"] * (self.paid == "instalments")

    def write(self, amounts: Amounts) -> dict[str, str]:
        lines = "".join(
            f"      - {{part: thing-{self.number}-{at}, total: {write_pence(amounts[self.names()[at]])}, {line}}}\n"
            for at, line in enumerate(self.lines)
        )
        paid = f"    {self.paid}\n" if self.paid.startswith("paid") else ""
        if self.paid == "instalments":
            first, rest = self.day, self.day + datetime.timedelta(days=40)
            deposit = write_pence(amounts[f"I{self.number}"])
            paid = f"    paid: [{{date: {first}, amount: {deposit}}}, {{date: {rest}}}]\n"
        head = f"date: {self.day}\ntitle: Order {self.number}\nhours: 2\nbought:\n  - from: {self.supplier}\n"
        head += f"    ref: N{self.number}\n    ordered: {self.day}\n{paid}    lines:\n{lines}"
        found = {f"{self.day}-order-{self.number}": head}
        later = self.day + datetime.timedelta(days=20)
        if self.back:
            name = f"{later}-back-{self.number}"
            refund = write_pence(amounts[f"R{self.number}"])
            found[name] = (
                f"date: {later}\ntitle: Back {self.number}\nreturned:\n"
                f"  - {{ref: N{self.number}, part: thing-{self.number}-0, refund: {refund}}}\n"
            )
        if self.paid == "later":
            found[f"{later}-paid-{self.number}"] = f"date: {later}\ntitle: Paid {self.number}\npaid: N{self.number}\n"
        return found


class Owned:
    """A log at random: orders, refunds, and things that were sold."""

    def __init__(self, seed: int, orders: int) -> None:
        chance = random.Random(seed)
        self.orders = [Bought(chance, number) for number in range(orders)]
        self.sold = [datetime.date(2024, 2, 1) + datetime.timedelta(days=chance.randrange(90)) for _ in range(seed % 3)]
        self.suppliers = chance.choice(["shown", "shown", "hidden"])
        names = [name for order in self.orders for name in order.names()]
        self.wanted = range(chance.randrange(3))
        names += [f"S{at}" for at in range(len(self.sold))] + [f"W{at}" for at in self.wanted] + ["acquired", "rate"]
        self.amounts = {name: chance.randrange(1000, 90_000) for name in names}
        for name in names:
            if name[0] in "RI":  # less than the line cost
                self.amounts[name] = chance.randrange(100, self.amounts[f"L{name[1:]}-0"])

    def allows(self, amounts: Amounts) -> bool:
        """Whether a log may have these: all are above nothing, and no more comes back than was paid."""
        return all(
            pence >= 100 and (name[0] not in "RI" or pence < amounts[f"L{name[1:]}-0"])
            for name, pence in amounts.items()
        )

    def write(self, folder: Path, amounts: Amounts, prices: str) -> None:
        text = SETTINGS.format(
            acquired=write_pence(amounts["acquired"]),
            rate=write_pence(amounts["rate"]),
            prices=prices,
            suppliers=self.suppliers,
        )
        (folder / "entries").mkdir(parents=True)
        (folder / "log.yaml").write_text(text, encoding="utf-8")
        heads = {
            "2024-01-01-leak": "date: 2024-01-01\ntitle: Leak\nfaults: {fault: leak, name: It leaks, suspects: pump}\n"
        }
        for order in self.orders:
            heads |= order.write(amounts)
        for at in self.wanted:
            wish = f"{{what: Wish {at}, about: {write_pence(amounts[f'W{at}'])}, for: fuel}}"
            heads[f"2024-03-0{at + 1}-wish"] = f"date: 2024-03-0{at + 1}\ntitle: Wish\nwanted: {wish}\n"
        for at, day in enumerate(self.sold):
            sale = f"sold: {{what: Old thing {at}, price: {write_pence(amounts[f'S{at}'])}}}"
            heads[f"{day}-sold-{at}"] = f"date: {day}\ntitle: Sold {at}\n{sale}\n"
        for name, head in heads.items():
            (folder / f"entries/{name}.md").write_text(f"---\n{head}---\nWords.\n", encoding="utf-8")


def publish(owned: Owned, amounts: Amounts, prices: str = "totals") -> dict[str, str]:
    """Every text of the published site, by its path."""
    with tempfile.TemporaryDirectory() as name:
        owned.write(Path(name) / "log", amounts, prices)
        run = run_stages(Run(folder=Path(name) / "log", as_of=datetime.date(2024, 12, 1)), until="render")
        assert run.site, run.problems
        texts = {path: make() if callable(make) else make for path, make in run.site.files.items()}
    kinds = (".html", ".xml", ".json", ".js", ".txt")
    return {path: text.decode("utf-8") for path, text in texts.items() if path.endswith(kinds)}


def read_site(owned: Owned, amounts: Amounts, prices: str = "totals") -> dict[str, list[int]]:
    """Every amount of the published site in pence, file by file."""
    return {path: read_amounts(text) for path, text in publish(owned, amounts, prices).items()}


def read_amounts(text: str) -> list[int]:
    return [int(re.sub(r"\D", "", amount)) * (-1 if amount[0] in "-−" else 1) for amount in AMOUNT.findall(text)]


def list_equations(owned: Owned) -> tuple[list[str], list[list[int]]]:
    """By how many pence each shown number grows when an amount does by one, and the names of the amounts."""
    before = read_site(owned, owned.amounts)
    columns = []
    for name in owned.amounts:
        after = read_site(owned, {**owned.amounts, name: owned.amounts[name] + 1})
        assert {path: len(numbers) for path, numbers in after.items()} == {
            path: len(numbers) for path, numbers in before.items()
        }, "whether a total is shown must not depend on amounts"
        columns.append([new - old for path in before for old, new in zip(before[path], after[path], strict=True)])
    return list(owned.amounts), [list(row) for row in zip(*columns, strict=True)]


def solve(rows: list[list[int]]) -> list[list[Fraction]]:
    """The equations in reduced row echelon form."""
    left = [[Fraction(number) for number in row] for row in rows if any(row)]
    solved: list[list[Fraction]] = []
    width = len(rows[0]) if rows else 0
    for column in range(width):
        found = next((row for row in left if row[column]), None)
        if found is None:
            continue
        lead = [number / found[column] for number in found]
        left = [_clear(row, lead, column) for row in left if row is not found]
        solved = [*(_clear(row, lead, column) for row in solved), lead]
    return solved


def _clear(row: list[Fraction], lead: list[Fraction], column: int) -> list[Fraction]:
    return [mine - row[column] * other for mine, other in zip(row, lead, strict=True)]


def follows(wanted: list[int], solved: list[list[Fraction]]) -> bool:
    """Whether a number that is so much of each amount can be worked out."""
    rest = [Fraction(number) for number in wanted]
    for lead in solved:
        column = next(at for at, number in enumerate(lead) if number)
        rest = _clear(rest, lead, column)
    return not any(rest)


def list_hidden_changes(solved: list[list[Fraction]], width: int) -> Iterator[list[int]]:
    """Changes of all amounts together by which no shown number changes: the null space of the equations."""
    leads = {next(at for at, number in enumerate(row) if number): row for row in solved}
    for free in (at for at in range(width) if at not in leads):
        change = [Fraction(at == free) for at in range(width)]
        for lead, row in leads.items():
            change[lead] = -row[free]
        whole = math.lcm(*(number.denominator for number in change))
        yield [int(number * whole) for number in change]


def change_unseen(owned: Owned, names: list[str], solved: list[list[Fraction]]) -> Amounts:
    """Other amounts by which every shown number is the same: each hidden change is made, as far as a log may."""
    amounts = dict(owned.amounts)
    for n, change in enumerate(list_hidden_changes(solved, len(names))):
        for size in (40_000, 9_000, 1_000, 70):
            signed = size if n % 2 else -size
            found = next(
                (
                    other
                    for way in (signed, -signed)
                    if owned.allows(
                        other := {name: amounts[name] + way * by for name, by in zip(names, change, strict=True)}
                    )
                ),
                None,
            )
            if found:
                amounts = found
                break
    return amounts


def list_secrets(owned: Owned, names: list[str]) -> Iterator[tuple[str, list[int]]]:
    """Each amount; and what a line cost in the end, where a part of it came back."""
    for name in names:
        # What is paid in one go for several lines, and what is left of it, is a total like any other.
        if name.startswith("I") and f"L{name[1:]}-1" in names:
            continue
        yield name, [int(name == other) for other in names]
        if name.startswith("I"):
            rest = [int(other.startswith(f"L{name[1:]}-")) - (name == other) for other in names]
            yield f"what was left after {name}", rest
        if name.startswith("R"):
            yield f"{name} off its line", [(f"L{name[1:]}-0" == other) - (name == other) for other in names]


@given(seed=st.integers(0, 10**6), orders=st.integers(1, 5))
@settings(max_examples=30, deadline=None, derandomize=True, phases=[Phase.generate])
def test_no_amount_can_be_worked_out_from_the_site(seed: int, orders: int) -> None:
    """Every shown number of every file is an equation; together they leave each amount open."""
    owned = Owned(seed, orders)
    names, rows = list_equations(owned)
    solved = solve(rows)
    assert [name for name, wanted in list_secrets(owned, names) if follows(wanted, solved)] == []
    other = change_unseen(owned, names, solved)
    assert other != owned.amounts
    assert find_differences(publish(owned, owned.amounts), publish(owned, other)) == []


def find_differences(one: Mapping[str, str], other: Mapping[str, str]) -> list[str]:
    """The files that are others, each with the first line that is."""
    lines = {
        path: (one.get(path, "").split("\n"), other.get(path, "").split("\n")) for path in one.keys() | other.keys()
    }
    return [
        next(
            f"{path}: {mine[:300]} / {theirs[:300]}"
            for mine, theirs in zip_longest(*both, fillvalue="")
            if mine != theirs
        )
        for path, both in sorted(lines.items())
        if both[0] != both[1]
    ]


def test_the_second_attack_sees_what_is_drawn_of_open_prices() -> None:
    """With prices open a change that the totals do not show is seen: the comparison looks at all there is."""
    owned = Owned(3, 4)
    names, rows = list_equations(owned)
    other = change_unseen(owned, names, solve(rows))
    told = find_differences(publish(owned, owned.amounts, "shown"), publish(owned, other, "shown"))
    assert any(line.startswith("costs.html") for line in told)


def test_totals_are_shown_all_the_same() -> None:
    """What stays open is little: of a log of thirty orders what was spent, and what by system, supplier and month."""
    owned = Owned(3, 30)
    site = read_site(owned, owned.amounts)
    assert len(site["costs.html"]) > 15
    assert site["index.html"]


def test_the_attack_finds_amounts_where_they_are_shown() -> None:
    """The same attack, on a site with its prices open: it would see a leak."""
    owned = Owned(4, 3)
    shown = read_site(owned, owned.amounts, "shown")
    numbers = {abs(number) for found in shown.values() for number in found}
    assert {pence for name, pence in owned.amounts.items() if name != "rate"} <= numbers
    assert follows([1, 0, 0, 0], solve([[1, 1, 0, 0], [1, 0, 1, 0], [1, 0, 0, 1], [1, 1, 1, 1]]))
    assert not follows([1, 0, 0, 0], solve([[1, 1, 0, 0], [1, 0, 1, 0], [1, 1, 1, 1]]))


@pytest.mark.parametrize("orders", [1, 2])
def test_of_a_single_amount_nothing_is_shown(orders: int) -> None:
    """One line in all: neither what was spent nor a month, a supplier, a chart or a running total."""
    owned = Owned(1, 1)
    owned.orders = [
        order for order in [Bought(random.Random(n), 0) for n in range(200)] if len(order.names()) == orders
    ][:1]
    owned.sold, owned.amounts = [], dict.fromkeys(owned.orders[0].names(), 12_345) | {"acquired": 1, "rate": 1}
    numbers = {number for found in read_site(owned, owned.amounts).values() for number in found}
    assert not {12_345, -12_345} & numbers
    assert (24_690 in numbers) == (orders == 2 and not owned.orders[0].back)
