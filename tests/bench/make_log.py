"""A log of any size for the benchmarks: every entry differs, every figure is small and computes without a problem.

Run as `python -m tests.bench.make_log FOLDER --entries 200`. The words are invented and say nothing.
"""

from __future__ import annotations

import argparse
import datetime
import random
from pathlib import Path

WORDS = (
    "bolt bracket bench pump seal thread gauge light hose clip tray drain filter bore shim spring collar grease rag "
    "evening cold slow clean square level tight loose worn bright rough again before after behind under over with and "
    "the a one two three until because while then came went held took gave left turned set read"
).split()

FIRST_DAY = datetime.date(2020, 1, 1)

SETTINGS = """\
machine: {name: Bench machine, kind: tractor, year: 1991, meter: {unit: km, digits: 6}}
acquired: {date: 2019-12-01, price: 1850.00, reading: 100000}
money: {currency: GBP, hour_rate: 25.00, budget: {fuel: 9000.00, brakes: 9000.00}}
systems: {fuel: Fuel, brakes: Brakes, body: Body}
service:
  oil: {name: Engine oil, every: {months: 12, distance: 10000}}
  filter: {name: Fuel filter, every: {months: 24, distance: 20000}}
public: {prices: shown}
site: {id: bench log, title: Bench log, address: https://example.org/bench/}
"""

HEAD = """\
---
date: {day}
title: {title}
hours: {hours}
reading: {reading}
systems: [{system}]
bought:
  - from: Supplier {supplier}
    ref: B-{n}
    ordered: {day}
    arrived: {day}
    paid: {day}
    currency: EUR
    charged: {charged}
    prices: net
    tax: 21
    carriage: 16.90
    duty: {{amount: 14.20, currency: GBP}}
    lines:
      - {{part: pump-{n}, number: "LP {n}-A", maker: Hask, each: 118.40, core: 45.00, spec: equivalent, for: {system}}}
      - {{part: seal-{n}, number: "0410 {n}", qty: 2, each: 7.35, single_use: true, for: {system}}}
      - {{what: Hose 8 mm, qty: 5, unit: m, each: 6.10, kind: consumable}}
returned:
  - {{ref: B-{n}, part: pump-{n}, core: 45.00, charged: 38.70, date: {day}}}
fitted:
  - {{part: pump-{n}, at: left of block, instead_of: original}}
  - {{part: seal-{n}, note: second one kept as spare}}
removed:
  - {{part: original, name: Pump {n}, why: diaphragm cracked along the rim, fate: kept}}
serviced: [{item}]
measured:
  - {{what: Compression, unit: bar, values: {{1: 27.9, 2: 28.3, 3: 27.6, 4: 28.1}}, limits: {{min: 24, spread: 10%}}}}
tightened:
  - {{what: Pump bolts M8, qty: 2, to: 22 N·m, method: "in two stages, by hand first"}}
next: [Bleed again after the first hot run, Order captive nut]
---
"""


def make_log(folder: Path, entries: int) -> datetime.date:
    """Write a log of so many entries into a new folder; says the day of the last one."""
    draw = random.Random(1)
    (folder / "entries").mkdir(parents=True)
    (folder / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    day = FIRST_DAY
    for n in range(entries):
        day = FIRST_DAY + datetime.timedelta(days=3 * n)
        (folder / "entries" / f"{day}-session-{n}.md").write_text(make_entry(n, day, draw), encoding="utf-8")
    return day


def make_entry(n: int, day: datetime.date, draw: random.Random) -> str:
    """One entry: 45 lines of front matter and about 500 words."""
    head = HEAD.format(
        n=n,
        day=day,
        title=" ".join(draw.sample(WORDS, 5)).capitalize(),
        hours=draw.randrange(1, 16) / 2,
        reading=100000 + 40 * n,
        system=draw.choice(["fuel", "brakes", "body"]),
        supplier=draw.randrange(12),
        charged=f"{draw.randrange(20000, 26000) / 100:.2f}",
        item=draw.choice(["oil", "filter"]),
    )
    paragraphs = [" ".join(draw.choices(WORDS, k=80)).capitalize() + "." for _ in range(5)]
    points = "\n".join("- " + " ".join(draw.choices(WORDS, k=12)) for _ in range(5))
    rows = (f"| {a} | **{b}** |" for a, b in zip(WORDS[:5], WORDS[5:10], strict=True))
    table = "\n".join(["| where | what |", "| --- | --- |", *rows])
    return head + "\n" + "\n\n".join([*paragraphs[:2], "## Then", *paragraphs[2:], points, table]) + "\n"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--entries", type=int, default=200)
    arguments = parser.parse_args()
    make_log(arguments.folder, arguments.entries)
