"""A log that plans, wants and ticks, and false figures of it: each a lie that the file of figures itself gives away."""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from buildlog.compute.figures import compute_figures
from buildlog.handover.figures_json import write_figures
from tests.support import log_of

SETTINGS = """
machine: {name: M}
money: {currency: GBP, budget: {fuel: 100.00, brakes: 50.00}}
systems: {fuel: Fuel, brakes: Brakes}
wanted: [{what: Hood, about: 40.10, for: brakes}, {what: Rope}]
lists: {road: {name: Before the road, items: [Pedal hard, {what: Lamps burn, for: brakes}, Horn sounds]}}
"""
ENTRIES = (
    "date: 2024-05-01\nbought: {from: A, paid: 2024-05-01, lines: [{what: a hose, each: 6.10, for: fuel}]}\n"
    "next: [Bleed it, Paint it, Look at it]\n"
    "wanted: [{what: Pads, about: 12.20, for: brakes}, {what: Cap, about: 3.00}]",
    "date: 2024-05-11\nbought: {from: B, lines: [{what: Pads, each: 11.00, for: brakes}]}\n"
    "done: [Bleed it]\nticked: {list: road, items: [Pedal, Lamps]}",
    "date: 2024-05-20\nsystems: [brakes]\ndropped: [Paint it]\nunwanted: [Rope]\n"
    "bought: {from: C, ref: C1, paid: {date: 2024-05-20, amount: 4.00}, arrived: 2024-05-20, return_by: 2024-06-11,"
    " lines: [{part: bulb, qty: 3, each: 2.00, warranty: {until: 2024-05-25}, shelf: box, for: fuel}]}\nfitted: [bulb]",
    "date: 2024-05-22\nremoved: {part: bulb, why: Dark}",
)
Change = Callable[[dict[str, Any]], Any]


@cache
def write_sound() -> bytes:
    """The file of figures as it should be, of 1 June 2024."""
    figures = compute_figures(log_of(*ENTRIES, settings=SETTINGS), datetime.date(2024, 6, 1))
    assert not [problem for problem in figures.problems if problem.severity == "error"]
    return write_figures(figures)


def item(number: int, **fields: Any) -> Change:
    return lambda file: file["plans"]["items"][number].update(fields)


def wish(number: int, **fields: Any) -> Change:
    return lambda file: file["costs"]["wanted_items"][number].update(fields)


def checklist(**fields: Any) -> Change:
    return lambda file: file["plans"]["lists"][0].update(fields)


def tick(number: int, **fields: Any) -> Change:
    return lambda file: file["plans"]["lists"][0]["items"][number].update(fields)


def costs(key: str, value: Any) -> Change:
    return lambda file: file["costs"].update({key: value})


def row(key: str, number: int, **fields: Any) -> Change:
    return lambda file: file["costs"][key][number].update(fields)


FALSE: Mapping[str, tuple[Change, str]] = {
    "an open item called done": (
        item(2, state="done"), "`plans.items[2]` is `done`, but what is said of it makes it `open`",
    ),
    "a done item called open": (
        item(0, state="open"), "`plans.items[0]` is `open`, but what is said of it makes it `ended`",
    ),
    "an end without a day": (item(0, ended=None), "`plans.items[0]` has only one of `ended` and `ended_in`"),
    "open for fewer days": (item(2, days=3), "`plans.items[2]: days` is 3, but its parts add up to 31"),
    "since an earlier day": (item(2, since="2024-04-30"), "`plans.items[2]: days` is 31, but its parts add up to 32"),
    "an item of an entry that is not there": (
        item(2, entry="e9", place="entries/e9.md:3:8"),
        "`plans.items[2]` names `e9`, which is none of the entries that the figures count",
    ),
    "an item that stands elsewhere": (
        item(2, place="entries/e2.md:3:8"),
        "`plans.items[2]` is said to be written at `entries/e2.md:3:8`, which is not in what it names",
    ),
    "ended by nobody": (
        item(0, ended_in="e9"), "`plans.items[0]` names `e9`, which is none of the entries that the figures count",
    ),
    "nothing ever ended": (
        lambda file: file["plans"].update(kept=False),
        "`plans.kept` is `false`, but what is said of it makes it `true`",
    ),
    "more ticked": (checklist(ticked=3), "`plans.lists[0]: ticked` is 3, but its parts add up to 2"),
    "nothing missing": (checklist(missing=0), "`plans.lists[0]: missing` is 0, but its parts add up to 1"),
    "a tick by nobody": (
        tick(2, ticked="2024-05-11"), "`plans.lists[0].items[2]` has only one of `ticked` and `ticked_in`",
    ),
    "a tick of an entry that is not there": (
        tick(0, ticked_in="e9"),
        "`plans.lists[0].items[0]` names `e9`, which is none of the entries that the figures count",
    ),
    "later work without its entry": (
        tick(1, worked_in=None), "`plans.lists[0].items[1]` has only one of `worked_on` and `worked_in`",
    ),
    "a list that stands elsewhere": (
        checklist(place="entries/e1.md:1:1"),
        "`plans.lists[0]` is said to be written at `entries/e1.md:1:1`, which is not in what it names",
    ),
    "less wanted": (costs("wanted", "1.00"), "`costs.wanted` is 1.00, but its parts add up to 43.1"),
    "a cheaper wish": (wish(0, about="1.10"), "`costs.wanted` is 43.10, but its parts add up to 4.1"),
    "a wish called ordered": (wish(0, state="ordered"), "`costs.wanted` is 43.10, but its parts add up to 3"),
    "an order called a wish": (wish(2, state="open"), "`costs.wanted` is 43.10, but its parts add up to 55.3"),
    "a wish ended by nobody": (
        wish(2, ended_in="e9"),
        "`costs.wanted_items[2]` names `e9`, which is none of the entries that the figures count",
    ),
    "a wish that stands elsewhere": (
        wish(0, place="entries/e1.md:2:3"),
        "`costs.wanted_items[0]` is said to be written at `entries/e1.md:2:3`, which is not in what it names",
    ),
    "a wish of another system": (
        wish(0, system="fuel"), "`forecast fuel: wanted` is 0, but its parts add up to 40.1",
    ),
    "a lower forecast": (costs("forecast", "50.00"), "`costs.forecast` is 50.00, but its parts add up to 66.2"),
    "a lower forecast of a system": (
        row("forecast_by_system", 1, forecast="1.00"),
        "`forecast brakes: forecast` is 1.00, but its parts add up to 51.1",
    ),
    "less committed for a system": (
        row("forecast_by_system", 1, committed="1.00"),
        "`forecast brakes: committed` is 1.00, but its parts add up to 11",
    ),
    "less spent of a budget": (
        row("budget", 0, spent="1.00"), "`budget fuel: spent` is 1.00, but its parts add up to 10.1",
    ),
    "less wanted of a budget": (
        row("budget", 1, wanted="0"), "`budget brakes: wanted` is 0, but its parts add up to 40.1",
    ),
    "more left of the budget": (
        lambda file: file["costs"]["budget_total"].update(left="999.00"),
        "`budget: left` is 999.00, but its parts add up to 126.9",
    ),
    "a later last day": (
        lambda file: file["deadlines"][0].update(days_left=40),
        "`deadlines[0]: days_left` is 40, but its parts add up to 10",
    ),
    "due called later": (
        lambda file: file["deadlines"][0].update(state="later"),
        "`deadlines[0]` is `later`, but what is said of it makes it `due`",
    ),
    "a deadline that stands elsewhere": (
        lambda file: file["deadlines"][0].update(place="log.yaml:1:1"),
        "`deadlines[0]` is said to be written at `log.yaml:1:1`, which is not in what it names",
    ),
    "a failure after its warranty": (
        lambda file: file["failures"][0].update(date="2024-05-26"),
        "`failures[0]` is `2024-05-26`, but what is said of it makes it `2024-05-25`",
    ),
    "a failure told by nobody": (
        lambda file: file["failures"][0].update(entry="e9"),
        "`failures[0]` names `e9`, which is none of the entries that the figures count",
    ),
    "less left to pay": (
        lambda file: file["costs"]["purchases"][2].update(left="1.00"),
        "`costs.purchases[2]: total` is 6.00, but its parts add up to 5",
    ),
    "more on the shelf": (
        lambda file: file["shelf"]["items"][0].update(qty="9"),
        "`shelf.items[0]: qty` is 9, but its parts add up to 2",
    ),
    "a day that is none": (item(2, since="2024-02-30"), "`2024-02-30` is not a day"),
    "a count that is none": (checklist(ticked=True), "these are not figures"),
    "an item without its end": (lambda file: file["plans"]["items"][0].pop("ended_in"), "these are not figures"),
    "items that are none": (lambda file: file["plans"].update(items="none"), "these are not figures"),
}  # fmt: skip
"What is changed, and what is then told, perhaps among other things."


def write_false(name: str) -> bytes:
    """The file of figures with one of the lies in it."""
    file = json.loads(write_sound())
    FALSE[name][0](file)
    return json.dumps(file).encode()
