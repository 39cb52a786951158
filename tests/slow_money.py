"""A second program for money and goods, slow and simple, written from the guide alone: it imports nothing of the first.

It takes entries as an owner writes them (keys and texts), and a day, and says what the guide says that follows. What it
is not asked is left out of it: faults, service, positions, prices that hold no number.

Of money it is asked for orders with taxes, instalments, payments in other currencies, credit notes and refunds; of
goods for parcels, what is cancelled, the shelf; and for what runs out with a date.
"""

from __future__ import annotations

import datetime
import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

DECIMALS = {"GBP": 2, "EUR": 2, "JPY": 0}
Record = dict[str, Any]


def to_coins(amount: Fraction, currency: str) -> int:
    """Whole coins, rounded half up, away from zero."""
    scaled = abs(amount) * 10 ** DECIMALS[currency]
    coins = math.floor(scaled + Fraction(1, 2))
    return coins if amount >= 0 else -coins


def to_amount(coins: int, currency: str) -> Fraction:
    return Fraction(coins, 10 ** DECIMALS[currency])


def listed(value: Any) -> list[Any]:
    return [] if value is None else value if isinstance(value, list) else [value]


def number(record: Record, key: str) -> Fraction:
    return Fraction(record.get(key) or 0)


def day_of(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def add_months(day: datetime.date, months: int) -> datetime.date:
    """The same day of the month in which they are over, or the last day of that month."""
    years, month = divmod(day.month - 1 + months, 12)
    number = day.day
    while True:
        try:
            return datetime.date(day.year + years, month + 1, number)
        except ValueError:
            number -= 1


# ── sharing ──────────────────────────────────────────────────────────────────────────────────────────────────────


def share(coins: int, weights: Sequence[Fraction | int]) -> list[int]:
    """In proportion, in whole coins; those left over to the lines that lost most, the earlier first."""
    total = sum(weights, Fraction(0))
    if not coins:
        return [0] * len(weights)
    if total < 0:
        return share(coins, [-weight for weight in weights])
    if coins < 0:
        return [-part for part in share(-coins, weights)]
    exact = [Fraction(coins) * weight / total for weight in weights]
    parts = [math.floor(each) for each in exact]
    lost = sorted(range(len(parts)), key=lambda n: (parts[n] - exact[n], n))
    for n in lost[: coins - sum(parts)]:
        parts[n] += 1
    return parts


def spread(coins: int, values: Sequence[int], quantities: Sequence[Fraction]) -> list[int]:
    """By what lines are worth, a price taken off bearing nothing; else by quantity."""
    for weights in (values, quantities):
        above = [max(Fraction(weight), Fraction(0)) for weight in weights]
        if any(above):
            return share(coins, above)
    return share(coins, [1] * len(values))


def spread_signed(coins: int, values: Sequence[int], quantities: Sequence[Fraction]) -> list[int]:
    """The same, but a price taken off takes its part off."""
    return share(coins, values) if coins * sum(values) > 0 else spread(coins, values, quantities)


def add(*columns: Sequence[int]) -> list[int]:
    return [sum(row) for row in zip(*columns, strict=True)]


def less(left: Sequence[int], right: Sequence[int]) -> list[int]:
    return [a - b for a, b in zip(left, right, strict=True)]


# ── one order ────────────────────────────────────────────────────────────────────────────────────────────────────


def rate_of(record: Record) -> tuple[Fraction, str] | None:
    if "untaxed" in record:
        return Fraction(0), record["untaxed"]
    return (Fraction(record["tax"]), "") if "tax" in record else None


def tax_on(coins: int, rate: Fraction, inside: bool) -> Fraction:
    return coins * rate / (100 + rate) if inside else coins * rate / 100


def round_coins(exact: Fraction) -> int:
    return math.floor(exact + Fraction(1, 2)) if exact >= 0 else -math.floor(-exact + Fraction(1, 2))


@dataclass
class Bill:
    """An order with all that it comes to in its own currency, in coins, by line."""

    order: Record
    entry: Record
    currency: str
    lines: list[Record]
    core: list[int] = field(default_factory=list)
    base: list[int] = field(default_factory=list)
    gross: list[int] = field(default_factory=list)
    values: list[int] = field(default_factory=list)
    home: list[int] = field(default_factory=list)
    landed: list[int] = field(default_factory=list)
    paid: list[tuple[datetime.date, list[int]]] = field(default_factory=list)
    settled: datetime.date | None = None
    rate: Fraction = Fraction(0)
    credits: dict[int, tuple[int, int]] = field(default_factory=dict)

    @property
    def quantities(self) -> list[Fraction]:
        return [Fraction(line.get("qty", 1)) for line in self.lines]

    @property
    def ordered(self) -> datetime.date:
        return day_of(self.order.get("ordered", self.entry["date"]))


def make_bill(order: Record, entry: Record) -> Bill:
    bill = Bill(order, entry, order.get("currency", "GBP"), order["lines"])
    for line in bill.lines:
        value = Fraction(line.get("qty", 1)) * number(line, "each") / Fraction(line.get("per", 1))
        value += sum(Fraction(more) for more in listed(line.get("surcharge")))
        value -= sum(Fraction(off) for off in listed(line.get("discount")))
        bill.values.append(to_coins(value, bill.currency))
    bill.core = [to_coins(number(line, "core"), bill.currency) for line in bill.lines]
    keys = [rate_of(line) or rate_of(order) or (Fraction(0), "") for line in bill.lines]
    parts = defaultdict(lambda: [0] * len(bill.lines))
    for n, key in enumerate(keys):
        parts[key][n] += bill.values[n] + bill.core[n]
    for name, sign in (("discount", -1), ("carriage", 1), ("handling", 1)):
        for written in listed(order.get(name)):
            extra = written if isinstance(written, dict) else {"amount": written}
            amount = to_coins(Fraction(extra["amount"]), bill.currency)
            for n, coins in enumerate(spread(amount, bill.values, bill.quantities)):
                parts[rate_of(extra) or keys[n]][n] += sign * coins
    inside = order.get("prices") == "gross"
    priced, tax = [0] * len(bill.lines), [0] * len(bill.lines)
    for key, column in parts.items():
        priced = add(priced, column)
        if key[0]:
            coins = round_coins(tax_on(sum(column), key[0], inside))
            mine = [n for n in range(len(column)) if column[n] or keys[n] == key] or [*range(len(column))]
            shares = spread_signed(coins, [column[n] for n in mine], [bill.quantities[n] for n in mine])
            for n, part in zip(mine, shares, strict=True):
                tax[n] += part
    bill.base = less(priced, tax) if inside else priced
    with_tax = add(bill.base, tax)
    rounding = to_coins(number(order, "rounding"), bill.currency)
    bill.gross = add(with_tax, spread(rounding, with_tax, bill.quantities))
    return bill


def value_refund(returned: Record, bill: Bill) -> tuple[list[int], list[int]]:
    """What a return gives back of each line, core and price, in the order's coins."""
    mine = [n for n, line in enumerate(bill.lines) if returned.get("part") in (None, line.get("part"))]

    def pick(column: Sequence[int]) -> list[int]:
        return [column[n] for n in mine]

    quantities = [bill.quantities[n] for n in mine]
    core = spread(
        to_coins(number(returned, "core"), bill.currency), pick(bill.core), [Fraction(g) for g in pick(bill.gross)]
    )
    refund = to_coins(number(returned, "refund"), bill.currency)
    if returned.get("prices", bill.order.get("prices")) == "net":
        price = spread(refund, pick(bill.base), quantities)
        taxed = add(price, core) if bill.order.get("prices") == "net" else price
        keys = [rate_of(bill.lines[n]) or rate_of(bill.order) or (Fraction(0), "") for n in mine]
        for key in dict.fromkeys(keys):
            if key[0]:
                rows = [n for n in range(len(mine)) if keys[n] == key]
                some = [taxed[n] for n in rows]
                tax = round_coins(tax_on(sum(some), key[0], False))
                for n, part in zip(rows, spread_signed(tax, some, [quantities[n] for n in rows]), strict=True):
                    price[n] += part
    else:
        price = spread(refund, pick(bill.gross), quantities)
    whole_core, whole_price = [0] * len(bill.lines), [0] * len(bill.lines)
    for at, n in enumerate(mine):
        whole_core[n], whole_price[n] = core[at], price[at]
    return whole_core, whole_price


# ── paying ───────────────────────────────────────────────────────────────────────────────────────────────────────


def settle(bill: Bill, payments: list[Record], returns: list[tuple[int, Record]]) -> None:
    """Who paid how much when, what it was at home, and how it falls on the lines."""
    total = sum(bill.gross)
    events: list[tuple[datetime.date, int, int, Any]] = [
        (day_of(payment["date"]), 0, n, payment) for n, payment in enumerate(payments)
    ]
    events += [(day_of(back["date"]), 1, n, back) for n, back in returns if "charged" not in back]
    left = total
    steps: list[tuple[str, datetime.date, int, int | None, int]] = []
    for day, kind, n, record in sorted(events, key=lambda event: event[:3]):
        if kind == 0:
            foreign = record.get("currency", bill.currency) != bill.currency
            said = record.get("settles" if foreign else "amount")
            coins = left if said is None else to_coins(Fraction(said), bill.currency)
            # Home money handed over for an order abroad is what it cost.
            handed = record.get("amount") if foreign and record["currency"] == "GBP" else None
            taken = record.get("charged", handed)
            known = None if taken is None else to_coins(Fraction(taken), "GBP")
            steps.append(("paid", day, coins, known, n))
        else:
            core, price = value_refund(record, bill)
            coins = min(sum(core) + sum(price), max(left, 0))
            if not coins:
                continue
            steps.append(("credit", day, coins, None, n))
        left -= coins
        if not left and bill.settled is None and any(step[0] == "paid" for step in steps):
            bill.settled = day
    steps.append(("left", bill.ordered, left, None, 0))
    homes = bring_home(bill, steps)
    for step, home in zip(steps, homes, strict=True):
        if step[0] == "credit":
            bill.credits[step[4]] = (step[2], home)
    whole = sum(homes)
    bill.home = (
        bill.gross if whole == total and bill.currency == "GBP" else spread_signed(whole, bill.gross, bill.quantities)
    )
    beside = [0] * len(bill.lines)
    for name in ("duty", "charges"):
        billed = sum(to_coins(Fraction(charge), "GBP") for charge in listed(bill.order.get(name)))
        beside = add(beside, spread(billed, bill.values, bill.quantities))
    bill.landed = add(bill.home, beside)
    open_ = bill.home
    for day in sorted({step[1] for step in steps if step[0] == "paid"}):
        if bill.settled is None or day < bill.settled:
            coins = sum(home for step, home in zip(steps, homes, strict=True) if step[0] == "paid" and step[1] == day)
            part = spread_signed(coins, open_, bill.quantities)
            open_ = less(open_, part)
            bill.paid.append((day, part))
    if bill.settled is not None:
        bill.paid.append((bill.settled, add(open_, beside)))


def bring_home(bill: Bill, steps: list[tuple[str, datetime.date, int, int | None, int]]) -> list[int]:
    """Each step in pennies: what was charged, else at the order's rate, else at that of what was charged."""
    known = [step for step in steps if step[3] is not None]
    amount = to_amount(sum(step[2] for step in known), bill.currency)
    charged = to_amount(sum(step[3] or 0 for step in known), "GBP") / amount if amount else None
    stated = Fraction(bill.order["rate"]) if "rate" in bill.order else None
    if bill.currency == "GBP":
        charged = stated = Fraction(1)
    rate = stated if stated is not None else charged
    bill.rate = charged if charged is not None else stated if stated is not None else Fraction(0)
    homes, run, before = [], Fraction(0), 0
    for step in steps:
        if step[3] is not None:
            homes.append(step[3])
        else:
            run += to_amount(step[2], bill.currency)
            now = to_coins(run * (rate or 0), "GBP")
            homes.append(now - before)
            before = now
    return homes


# ── the log ──────────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass
class Sums:
    """What it all comes to on a day, in pennies."""

    landed: list[list[int]] = field(default_factory=list)
    "of every line of every order placed"
    spent: dict[str, dict[str, int]] = field(default_factory=dict)
    "by month, system, supplier and kind, by name"
    committed: int = 0
    post: list[tuple[str, Fraction, int]] = field(default_factory=list)
    "name, how many, their cost"
    shelf: dict[str, tuple[Fraction, int]] = field(default_factory=dict)
    "how many and their worth, by part"
    deadlines: list[tuple[str, str, str, datetime.date, int, str]] = field(default_factory=list)
    "kind, part, ref of the order, last day, days left, state"
    failures: set[tuple[str, str, datetime.date, datetime.date]] = field(default_factory=set)
    "part, ref of the order, day on which it came off, last day of its warranty"


def add_up(entries: Iterable[Record], as_of: datetime.date) -> Sums:
    told = [entry for entry in entries if day_of(entry["date"]) <= as_of]
    bills = [make_bill(order, entry) for entry in told for order in entry.get("bought", [])]
    by_ref = {bill.order["ref"]: bill for bill in bills}
    payments: dict[str, list[Record]] = {ref: [*listed(bill.order.get("paid"))] for ref, bill in by_ref.items()}
    returns: list[Record] = []
    for entry in told:
        for payment in entry.get("paid", []):
            payments[payment["ref"]].append({"date": entry["date"], **payment})
        returns += [{"date": entry["date"], **back} for back in entry.get("returned", [])]
    for ref, bill in by_ref.items():
        mine = [(n, back) for n, back in enumerate(returns) if back["ref"] == ref]
        paid = [each if isinstance(each, dict) else {"date": each} for each in payments[ref]]
        settle(bill, paid, mine)
    sums = Sums()
    rows: list[tuple[datetime.date, str, str, str, int]] = []
    for bill in bills:
        shares = [(day, part) for day, part in bill.paid if day <= as_of]
        if bill.ordered <= as_of or shares:
            sums.landed.append(bill.landed)
        for n, line in enumerate(bill.lines):
            about = (line.get("for", "unassigned"), bill.order["from"], line.get("kind", "part"))
            rows += [(day, *about, part[n]) for day, part in shares]
        if (bill.ordered <= as_of or shares) and not (bill.settled and bill.settled <= as_of):
            sums.committed += sum(bill.landed) - sum(sum(part) for _, part in shares)
    for number_, back in enumerate(returns):
        rows += refund_rows(sums, by_ref[back["ref"]], back, number_, as_of)
    for at, way in enumerate(("system", "supplier", "kind"), 1):
        sums.spent[way] = total((str(row[at]), row[4]) for row in rows)
    sums.spent["month"] = total((row[0].isoformat()[:7], row[4]) for row in rows)
    Goods(told, bills, returns, as_of).fill(sums)
    return sums


def total(pairs: Iterable[tuple[str, int]]) -> dict[str, int]:
    made: dict[str, int] = defaultdict(int)
    for name, coins in pairs:
        made[name] += coins
    return {name: coins for name, coins in made.items() if coins}


def split_refund(bill: Bill, back: Record, at: int) -> list[tuple[bool, list[int]]]:
    """A return in pennies by line: what of it is a credit note, and what is money."""
    core, price = value_refund(back, bill)
    given = add(core, price)
    mine = [n for n, line in enumerate(bill.lines) if back.get("part") in (None, line.get("part"))]
    quantities = [bill.quantities[n] for n in mine]
    found: list[tuple[bool, list[int]]] = []

    def put(credit: bool, pennies: int, column: Sequence[int]) -> None:
        some = [column[n] for n in mine]
        weights: list[Any] = some if any(some) else [bill.landed[n] for n in mine]
        row = [0] * len(bill.lines)
        for n, part in zip(mine, spread(pennies, weights, quantities), strict=True):
            row[n] = part
        found.append((credit, row))

    noted = [0] * len(bill.lines)
    if at in bill.credits:
        coins, pennies = bill.credits[at]
        for n, part in zip(mine, spread(coins, [given[n] for n in mine], quantities), strict=True):
            noted[n] = part
        put(True, pennies, noted)
    money = less(given, noted)
    if "charged" in back:
        put(False, to_coins(Fraction(back["charged"]), "GBP"), money)
    elif any(money):
        put(False, to_coins(to_amount(sum(money), bill.currency) * bill.rate, "GBP"), money)
    return found


def refund_rows(
    sums: Sums, bill: Bill, back: Record, at: int, as_of: datetime.date
) -> list[tuple[datetime.date, str, str, str, int]]:
    rows = []
    for credit, row in split_refund(bill, back, at):
        day = bill.settled if credit else day_of(back["date"])
        if day is not None and day <= as_of:
            for n, line in enumerate(bill.lines):
                rows.append((day, line.get("for", "unassigned"), bill.order["from"], line.get("kind", "part"), -row[n]))
        elif credit and day_of(back["date"]) <= as_of:
            sums.committed -= sum(row)
    return rows


class Goods:
    """Parcels, the shelf and the machine, day by day."""

    def __init__(self, told: list[Record], bills: list[Bill], returns: list[Record], as_of: datetime.date) -> None:
        self.told, self.bills, self.returns, self.as_of = told, bills, returns, as_of
        self.left = {(b, n): qty for b, bill in enumerate(bills) for n, qty in enumerate(bill.quantities)}
        self.came: dict[tuple[int, int], Fraction] = defaultdict(Fraction)
        self.gone: dict[tuple[int, int], Fraction] = defaultdict(Fraction)
        self.shelf: dict[str, list[tuple[tuple[int, int], Fraction, bool]]] = defaultdict(list)
        self.machine: dict[str, list[list[tuple[tuple[int, int], Fraction, bool]]]] = defaultdict(list)
        self.whole: dict[tuple[int, int], datetime.date] = {}
        self.failed: list[tuple[tuple[int, int], datetime.date]] = []

    def fill(self, sums: Sums) -> None:
        events: list[tuple[datetime.date, int, int, Any]] = []
        lost: dict[tuple[int, int], Fraction] = defaultdict(Fraction)
        for b, bill in enumerate(self.bills):
            for written in listed(bill.order.get("arrived")):
                parcel = written if isinstance(written, dict) else {"date": written}
                events.append((day_of(parcel["date"]), 0, len(events), (b, parcel)))
        for entry in self.told:
            for parcel in entry.get("arrived", []):
                at = next(b for b, bill in enumerate(self.bills) if bill.order["ref"] == parcel["ref"])
                events.append((day_of(parcel.get("date", entry["date"])), 0, len(events), (at, parcel)))
            ranks = {"removed": 1, "fitted": 2, "returned": 3, "sold": 4, "scrapped": 5}
            for name, rank in ranks.items():
                for record in entry.get(name, []):
                    day = day_of(record.get("date", entry["date"]))
                    events.append((day, rank, len(events), record))
        for day, rank, _, record in sorted(events, key=lambda event: event[:3]):
            if day <= self.as_of:
                self.follow(day, rank, record, lost)
        self.list_post(sums, lost)
        self.list_shelf(sums)
        self.list_dates(sums, lost)

    def follow(self, day: datetime.date, rank: int, record: Any, lost: dict[tuple[int, int], Fraction]) -> None:
        if rank == 0:
            b, parcel = record
            for n, line in enumerate(self.bills[b].lines):
                counted = parcel.get("lines") or {}
                here = self.left[b, n]
                if counted:
                    here = min(here, Fraction(counted.get(line["part"], 0)))
                elif parcel.get("part") not in (None, line["part"]):
                    here = Fraction(0)
                if here:
                    self.left[b, n] -= here
                    if not self.left[b, n]:
                        self.whole[b, n] = day
                    # What will never come does not, whatever a parcel says of the rest.
                    here = min(here, self.bills[b].quantities[n] - lost[b, n] - self.came[b, n])
                    self.came[b, n] += here
                    self.shelf[line["part"]] += [((b, n), here, True)] if here > 0 else []
        elif rank == 1:
            taken = self.take_off(record["part"], Fraction(record.get("qty", 1)))
            self.failed += [(one, day) for one, _, _ in taken if "why" in record]
            if record.get("fate") == "kept":
                self.shelf[record["part"]] += [(line, qty, False) for line, qty, _ in taken]
        elif rank == 2:
            self.machine[record["part"]].append(self.take(record, new_first=True))
        elif rank == 3:
            b = next(b for b, bill in enumerate(self.bills) if bill.order["ref"] == record["ref"])
            n = next(
                n for n, line in enumerate(self.bills[b].lines) if line["part"] == record.get("part", line["part"])
            )
            back = number(record, "qty")
            if self.left[b, n]:
                back = min(back, self.came[b, n] - self.gone[b, n])
            self.gone[b, n] += back
            self.take({"part": self.bills[b].lines[n]["part"], "qty": back}, new_first=True, own=(b, n))
            lost[b, n] += number(record, "qty") - back + number(record, "cancelled")
        else:
            self.take(record, new_first=False)

    def take(
        self, record: Record, *, new_first: bool, own: tuple[int, int] | None = None
    ) -> list[tuple[tuple[int, int], Fraction, bool]]:
        shelf, want = self.shelf[record["part"]], Fraction(record.get("qty", 1))
        order = sorted(
            range(len(shelf)), key=lambda n: (own is not None and shelf[n][0] != own, shelf[n][2] != new_first)
        )
        taken = []
        for n in order:
            line, qty, new = shelf[n]
            part = min(qty, want)
            want -= part
            shelf[n] = (line, qty - part, new)
            if part:
                taken.append((line, part, new))
        self.shelf[record["part"]] = [unit for unit in shelf if unit[1]]
        return taken

    def take_off(self, part: str, want: Fraction) -> list[tuple[tuple[int, int], Fraction, bool]]:
        taken = []
        for fitting in self.machine[part]:
            for n, (line, qty, new) in enumerate(fitting):
                off = min(qty, want)
                want -= off
                fitting[n] = (line, qty - off, new)
                if off:
                    taken.append((line, off, new))
        return taken

    def list_post(self, sums: Sums, lost: dict[tuple[int, int], Fraction]) -> None:
        for b, bill in enumerate(self.bills):
            for n, line in enumerate(bill.lines):
                left = self.left[b, n]
                if bill.ordered <= self.as_of and left - lost[b, n] > 0:
                    cost = round_coins(Fraction(bill.landed[n]) * left / bill.quantities[n])
                    sums.post.append((line["part"], left - lost[b, n], cost))

    def end_warranty(self, b: int, n: int) -> datetime.date | None:
        """Its last day; none where it has no warranty, or in months where not all of the line is there."""
        warranty = self.bills[b].lines[n].get("warranty", self.bills[b].order.get("warranty"))
        if warranty is None or "until" in warranty:
            return day_of(warranty["until"]) if warranty else None
        return add_months(self.whole[b, n], int(warranty["months"])) if (b, n) in self.whole else None

    def list_dates(self, sums: Sums, lost: dict[tuple[int, int], Fraction]) -> None:
        for b, bill in enumerate(self.bills):
            for n, line in enumerate(bill.lines if bill.ordered <= self.as_of else ()):
                back = line.get("return_by", bill.order.get("return_by"))
                dates = [("warranty", self.end_warranty(b, n)), ("return", day_of(back) if back else None)]
                all_gone = self.gone[b, n] + lost[b, n] >= bill.quantities[n]
                dates = [(kind, day) for kind, day in dates if day and day >= self.as_of and not all_gone]
                if "core_by" in line and self.is_owed(b, n):
                    dates.append(("core", day_of(line["core_by"])))
                for kind, day in dates:
                    assert day is not None
                    left = (day - self.as_of).days
                    state = "overdue" if left < 0 else "due" if left <= 30 else "later"
                    sums.deadlines.append((kind, line["part"], bill.order["ref"], day, left, state))
        for (b, n), day in self.failed:
            end = self.end_warranty(b, n)
            if end is not None and day <= end:
                sums.failures.add((self.bills[b].lines[n]["part"], self.bills[b].order["ref"], day, end))

    def is_owed(self, b: int, n: int) -> bool:
        """Whether a core that was paid for has not come back, by itself or with all of the price."""
        bill = self.bills[b]
        if bill.settled is None or bill.settled > self.as_of:
            return False
        core, gross = bill.core[n], bill.gross[n]
        for back in self.returns:
            if back["ref"] == bill.order["ref"] and day_of(back["date"]) <= self.as_of:
                cores, prices = value_refund(back, bill)
                core, gross = core - cores[n], gross - cores[n] - prices[n]
        return min(core, gross) > 0

    def list_shelf(self, sums: Sums) -> None:
        costs = {(b, n): coins for b, bill in enumerate(self.bills) for n, coins in enumerate(bill.landed)}
        for at, back in enumerate(self.returns):
            b = next(b for b, bill in enumerate(self.bills) if bill.order["ref"] == back["ref"])
            if "qty" not in back and "cancelled" not in back and day_of(back["date"]) <= self.as_of:
                for _, row in split_refund(self.bills[b], back, at):
                    for n, coins in enumerate(row):
                        costs[b, n] -= coins
        for part, units in self.shelf.items():
            by_line: dict[tuple[int, int], Fraction] = defaultdict(Fraction)
            for line, qty, _ in units:
                by_line[line] += qty
            worth = sum(
                round_coins(max(costs[b, n], 0) * qty / self.bills[b].quantities[n]) for (b, n), qty in by_line.items()
            )
            if units:
                sums.shelf[part] = (sum(by_line.values(), Fraction(0)), worth)
