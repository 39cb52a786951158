"""Whole logs at random for properties: every kind of record that an entry can hold, well-formed, sensible or not.

Names are few, so that records meet: a part is bought in one entry, fitted in another and paid for in a third. Dates in
records lie before and after those of their entries.
"""

from __future__ import annotations

import datetime
import json
from typing import Any

from hypothesis import strategies as st

from buildlog.problems import show_problems
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files
from buildlog.read.records import Log

FIRST = datetime.date(2024, 1, 1)
DAYS = 120

SETTINGS = """
machine: {name: Test machine, kind: road vehicle, meter: {unit: km, digits: 6}}
acquired: {date: 2023-12-01, price: 900.00, reading: 80000}
money: {currency: GBP, hour_rate: 20.00, budget: {fuel: 300.00}}
systems: {fuel: Fuel, brakes: Brakes}
components:
  pump: {system: fuel, reached_by: tray, check_hours: 0.3, likely: 2}
  hose: {system: fuel, check_hours: 0.1}
  disc: {system: brakes, reached_by: wheel, check_hours: 0.2, driven_by: pump}
strip_downs: {tray: {name: Tray, hours: 1}, wheel: {name: Wheel, hours: 0.5, after: [tray]}}
service:
  oil: {name: Oil, every: {months: 2, distance: 1000}, covers: [hose]}
  filter: {name: Filter, every: {months: 3}, since: 2023-12-01}
wanted: [{part: disc, about: 30.00, for: brakes, since: 2024-02-01}]
lists: {road: {name: Before the road, items: [worn, {name: lamps, what: leaks, for: fuel}]}}
public: {prices: shown, papers: shown}
site: {id: test log, title: Test log}
"""
PAPERS = frozenset({"papers/a.pdf", "papers/b.pdf"})

LogRecord = dict[str, Any]
"A record as an owner writes it: its keys and their texts."


def some(strategy: st.SearchStrategy[Any], most: int = 2) -> st.SearchStrategy[list[Any]]:
    """Often none, sometimes one or more."""
    return st.just([]) | st.lists(strategy, max_size=most)


def record(needed: LogRecord | None = None, **optional: st.SearchStrategy[Any]) -> st.SearchStrategy[LogRecord]:
    """A record with the keys that it must have, and any of the others; `_` stands behind Python's own words."""
    both = {key.rstrip("_"): value for key, value in optional.items()}
    return st.fixed_dictionaries(needed or {}, optional=both)


def amounts(most: int = 90_000) -> st.SearchStrategy[str]:
    return st.integers(0, most).map(lambda pence: f"{pence // 100}.{pence % 100:02}")


days = st.integers(0, DAYS).map(lambda n: (FIRST + datetime.timedelta(days=n)).isoformat())
few = st.integers(1, 3).map(str)
hours = st.sampled_from(["0.5", "1", "2.5"])
readings = st.integers(80_000, 90_000).map(str)
parts = st.sampled_from(["pump", "seal", "disc"])
places = st.sampled_from(["left", "right"])
refs = st.sampled_from(["A1", "A2", "A3"])
systems = st.sampled_from(["fuel", "brakes"])
components = st.sampled_from(["pump", "hose", "disc"])
strip_downs = st.sampled_from(["tray", "wheel"])
faults = st.sampled_from(["hot-start", "squeal"])
papers = st.sampled_from(sorted(PAPERS))
words = st.sampled_from(["worn", "leaks", "as new"])
numbers = st.sampled_from(["LP 1", "LP 2", "lp-1"])

lines = record(
    {"each": amounts(9_000)},
    part=parts, name=words, what=words, number=numbers, replaces_number=numbers, qty=few, core=amounts(500),
    spec=st.sampled_from(["equivalent", "used"]), single_use=st.just("true"), for_=systems, fault=faults,
    maker=st.sampled_from(["Hask", "Vostrand"]), worth=amounts(), unit=st.just("m"),
    shelf=words, core_by=days, return_by=days, warranty=record(months=few) | record(until=days),
)  # fmt: skip
parcels = st.lists(record({"date": days}, lines=st.dictionaries(parts, few, max_size=2)), max_size=2)
reasons = st.sampled_from(["reverse charge", "export"])
extras = record({"amount": amounts(500)}, what=words, untaxed=reasons)
instalments = st.lists(record({"date": days}, amount=amounts(5_000), charged=amounts(5_000)), max_size=3)
orders = record(
    {"from": st.sampled_from(["North", "north", "South"]), "lines": st.lists(lines, min_size=1, max_size=3)},
    ref=refs, ordered=days, arrived=days | parcels, paid=days | instalments, currency=st.sampled_from(["GBP", "EUR"]),
    charged=amounts(), carriage=amounts(900) | extras, handling=extras, discount=extras, paper=papers,
    rounding=amounts(99), untaxed=reasons,
)  # fmt: skip
returns = record(
    {"ref": refs}, part=parts, qty=few, cancelled=few, core=amounts(500), refund=amounts(900), date=days, paper=papers
)  # fmt: skip
sales = record({"price": amounts()}, part=parts, what=words, qty=few, date=days)
fittings = record(
    {"part": parts},
    at=places, qty=few, instead_of=st.sampled_from(["original", "pump", "seal"]), planned=st.just("true"), hours=hours,
    for_=systems, paper=papers,
)  # fmt: skip
removals = record(
    {"part": parts}, at=places, qty=few, why=words, fate=st.sampled_from(["kept", "scrapped"]), shelf=words
)  # fmt: skip
own = record({"part": st.just("original"), "name": words}, fate=st.sampled_from(["kept", "scrapped"]))
services = record(
    {"item": st.sampled_from(["oil", "filter"])},
    parts=some(parts, 1), who=words, reading=readings, looked_at=some(components),
)  # fmt: skip
findings = record(
    {"fault": faults, "did": words}, clears=some(components), cause=components, hours=hours
)  # fmt: skip
gauges = record(
    {"what": words, "unit": st.sampled_from(["bar", "psi"]), "value": amounts()},
    limits=record(min=amounts(), max=amounts()), note=words,
)  # fmt: skip
fasteners = record(
    {"what": words, "to": st.sampled_from(["22 N·m", "60 lbf·ft"])},
    qty=few, recheck=st.sampled_from(["500 km", "30 days"]), part=parts,
)  # fmt: skip
measures = record({"name": st.sampled_from(["cork", "strap"]), "what": words}, until=words, behind=strip_downs)
wishes = record({"what": words}, part=parts, qty=few, about=amounts(), for_=systems, since=days)
ticks = record({"list": st.just("road"), "items": some(st.sampled_from(["worn", "lamps"]))}, note=words)
pictures = record(
    {"file": st.sampled_from(["a.jpg", "b.jpg"]), "says": words},
    shows=some(st.sampled_from(["pump", "oil", "meter"])), taken=days,
)  # fmt: skip

blocks = {
    "bought": orders, "paid": record({"ref": refs}, date=days, charged=amounts(), amount=amounts(5_000)),
    "arrived": record({"ref": refs}, part=parts, date=days, lines=st.dictionaries(parts, few, max_size=2)),
    "returned": returns, "sold": sales, "fitted": fittings,
    "removed": removals | own, "scrapped": record({"part": parts}, qty=few), "serviced": services, "checks": findings,
    "fixed": record({"fault": faults}, how=words, proved=words),
    "faults": record({"fault": faults, "name": words}, suspects=some(components, 3)), "seen_again": faults,
    "measured": gauges, "tightened": fasteners, "temporary": measures, "made_good": st.sampled_from(["cork", "strap"]),
    "stripped": strip_downs, "refitted": strip_downs, "photos": pictures, "next": words,
    "done": words, "dropped": words, "wanted": wishes, "unwanted": words | parts, "ticked": ticks,
}  # fmt: skip
"What an entry may hold any number of, by its key."


def heads_with(*keys: str) -> st.SearchStrategy[LogRecord]:
    """Front matters with some of the blocks."""
    chosen = {key: some(blocks[key]) for key in keys}
    return record(
        {"date": days, "title": words}, hours=hours, reading=readings, systems=some(systems), milestone=words, **chosen
    )


def read_heads(drawn: list[LogRecord]) -> Log:
    """The log of front matters; every record of it is well-formed, though what they tell together may not be."""
    entries = {f"e{n}.md": f"---\n{json.dumps(head)}\n---\n" for n, head in enumerate(drawn)}
    photos = {f"e{n}": ("a.jpg", "b.jpg") for n in range(len(drawn))}
    reading = read_files(LogFiles(settings=SETTINGS, entries=entries, papers=PAPERS, photos=photos))
    wrong = [problem for problem in reading.problems if problem.severity == "error"]
    assert reading.log is not None and not wrong, show_problems(wrong, reading.texts)
    return reading.log


logs = st.lists(heads_with(*blocks), max_size=6).map(read_heads)
"Logs of up to six entries, within the days that `moments` lie in."
moments = days.map(datetime.date.fromisoformat)
