"""Logs whose mass lies in one thing: faults, orders of one supplier or of one number, what is on its way, one system.

Run as `python -m tests.bench.make_mass FOLDER MASS --entries 2000`.
"""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

SETTINGS = """\
machine: {name: Bench machine, kind: tractor, year: 1991, meter: {unit: km, digits: 6}}
acquired: {date: 2000-01-01, price: 1850.00, reading: 100000}
money: {currency: GBP}
systems: {fuel: Fuel, brakes: Brakes}
components:
  pump: {system: fuel, name: Lift pump, check_hours: 0.3}
  hose: {system: fuel, name: Hose, check_hours: 0.1}
public: {prices: shown, suppliers: shown}
site: {id: bench log, title: Bench log, address: https://example.org/bench/}
"""
ORDER = """\
bought:
  from: {supplier}
  ref: {ref}
  ordered: {day}
  {came}
  lines:
    - {{part: pump-{n}, name: Pump {n}, number: "LP {n}", maker: Hask, each: 118.40, for: fuel}}
    - {{what: Hose 8 mm, qty: 5, unit: m, each: 6.10, kind: consumable, for: fuel}}
"""
FAULTS = """\
faults: {{fault: fault-{n}, name: Stalls for the {n}th time, suspects: [pump, hose]}}
checks: {{fault: fault-{n}, did: Swapped the hose for a new one, clears: [hose]{cause}, hours: 0.2}}
{more}
"""
TEMPORARY = "temporary: {{what: A clamp round hose {n}, name: clamp-{n}, until: a new hose comes}}\n"
ONE_PART = """\
bought: {{from: North, ref: R-{n}, arrived: {day}, paid: {day}, lines: [{{part: filter, name: Filter, each: 3.00}}]}}
{used}
"""
REWORK = """\
bought:
  {{from: North, ref: R-{n}, arrived: {day}, paid: {day}, lines: [{{part: seal, name: Seal, each: 3.00, for: fuel}}]}}
fitted: {{part: seal, at: left}}
{removed}
"""
MASSES = ("faults", "closed", "supplier", "ref", "open", "month", "temporary", "rework", "one-part", "plans")
"What there is a lot of."


def make_mass(folder: Path, mass: str, entries: int) -> datetime.date:
    """Write a log of so many entries into a new folder; says the day of the last one."""
    (folder / "entries").mkdir(parents=True)
    (folder / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    day = datetime.date(2000, 1, 1)
    for n in range(entries):
        day = datetime.date(2000, 1, 1) + datetime.timedelta(days=3 * n)
        if mass == "month":  # sixty of them in each second month
            day = datetime.date(2000 + n // 360, 1 + n // 60 % 6 * 2, 1 + n % 60 // 3)
        head = f"date: {day}\ntitle: Evening {n} with the pump\nsystems: [fuel]\n{_make_head(mass, n, day)}"
        (folder / "entries" / f"{day}-session-{n}.md").write_text(f"---\n{head}---\n\nA word.\n", encoding="utf-8")
    return day


def _make_head(mass: str, n: int, day: datetime.date) -> str:
    if mass in ("faults", "closed"):
        more = f"fixed: {{fault: fault-{n}, how: New pump, proved: Ran for an hour}}" if mass == "closed" else ""
        return FAULTS.format(n=n, more=more, cause=", cause: pump" if more else "")
    if mass == "temporary":
        return TEMPORARY.format(n=n)
    if mass == "plans":
        # One has to be done, or nobody knows which of them still stand.
        return f"next: [Job {n}]\nwanted: {{what: Thing {n}, about: 3.00}}\n" + ("done: [Job 0]\n" if n == 1 else "")
    if mass == "rework":
        removed = "removed: [{part: seal, at: left, why: leaks, fate: scrapped}]" if n else ""
        return REWORK.format(n=n, day=day, removed=removed)
    if mass == "one-part":
        return ONE_PART.format(n=n, day=day, used="scrapped: [filter]" if n else "")
    came = f"paid: {day}" if mass == "open" else f"arrived: {day}\n  paid: {day}"
    text = ORDER.format(n=n, came=came, day=day, supplier="North", ref="R-1" if mass == "ref" else f"R-{n}")
    return text if mass in ("open", "ref") else text + f"fitted: {{part: pump-{n}}}\n"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("mass", choices=MASSES)
    parser.add_argument("--entries", type=int, default=2000)
    arguments = parser.parse_args()
    make_mass(arguments.folder, arguments.mass, arguments.entries)
