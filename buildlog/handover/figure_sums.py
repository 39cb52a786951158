"""Whether `figures.json` agrees with itself: totals with their lines, counts, days and entries of what was planned.

Asked where the log was not computed again, and always by the page that checks in a browser (`check_page/figures.js`),
in the same words. Whatever of it comes from a later format than 1 is passed over in files that do not have it.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from buildlog.compute.parts.deadlines import NOTICE_DAYS
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import Flaw, tell
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import FIGURES
from buildlog.handover.unpack import Refused, tame
from buildlog.record.rules import LARGEST_FIGURES, MOST_FIGURES, say

# ── sums ─────────────────────────────────────────────────────────────────────────────────────────────────────────

FILE = PAYLOAD + FIGURES
WAYS = ("by_month", "by_system", "by_kind", "by_supplier", "by_fault", "by_entry")
DECIMALS = 12
PARTS = ("spent", "committed", "wanted")
"What makes a forecast."
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
AMOUNT = re.compile(r"(-?)([0-9]{1,30})(?:\.([0-9]{1,12}))?")


class _NoFigures(ValueError):
    """The file does not say what can be added up."""


def check_sums(bag: HashedBag) -> list[Flaw]:
    """Whether the totals in `figures.json` are the sums of its lines; nothing of a later format or a missing file."""
    if FILE not in bag.sizes:
        return [Flaw(rule="missing", message="it is missing", file=FILE)]
    try:
        data = bag.read(FILE, LARGEST_FIGURES)
        # Before anything is built of it: each value takes far more memory than its signs.
        if sum(map(data.count, (b",", b"[", b"{"))) > MOST_FIGURES:
            return []
        figures = json.loads(data)
        if not isinstance(figures, dict) or type(figures.get("format")) is not int or figures["format"] < 1:
            raise _NoFigures(say("figures-unreadable:none"))
        return [] if figures["format"] > FORMAT else [*_SumCheck(figures).list_flaws()]
    except Refused as why:
        return [Flaw(rule=why.rule, message=why.message, file=FILE)]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as why:
        message = str(why) if isinstance(why, _NoFigures) else say("figures-unreadable:none")
        return [Flaw(rule="figures-unreadable", message=tame(message), file=FILE)]


def _to_units(text: Any) -> int:
    """An amount in whole numbers of its smallest decimal: nothing is rounded on the way."""
    match = AMOUNT.fullmatch(text) if isinstance(text, str) else None
    if not match:
        raise _NoFigures(say("figures-unreadable:amount", text=tame(str(text))))
    units = int(match[2] + (match[3] or "").ljust(DECIMALS, "0"))
    return -units if match[1] else units


def _to_text(units: int) -> str:
    digits = str(abs(units)).rjust(DECIMALS + 1, "0")
    text = f"{digits[:-DECIMALS]}.{digits[-DECIMALS:]}".rstrip("0").rstrip(".")
    return f"-{text}" if units < 0 else text


def _to_day(text: Any) -> datetime.date:
    try:
        # By its digits first: the library's takes weeks as well, and in later versions more.
        if isinstance(text, str) and DAY.fullmatch(text):
            return datetime.date.fromisoformat(text)
    except ValueError:
        pass
    raise _NoFigures(say("figures-unreadable:day", text=tame(text if isinstance(text, str) else "")))


class _SumCheck:
    def __init__(self, figures: Mapping[str, Any]) -> None:
        self._figures = figures
        self._costs: Mapping[str, Any] = figures["costs"]
        self._shelf: Mapping[str, Any] | None = figures.get("shelf")
        self._lines = [(line, _to_units(line["landed"])) for line in figures["lines"]]

    def list_flaws(self) -> Iterator[Flaw]:
        """Where a total is not the sum of its parts."""
        for name, written, made in self._list_sums():
            if _to_units(written) != made:
                yield tell("sum-wrong", FILE, name=tame(name), written=tame(written), made=_to_text(made))
        for way in WAYS:
            # Each line once: the amounts could add up with one counted twice and another left out.
            numbers = sorted(number for total in self._costs[way] for number in total["lines"])
            if numbers != sorted(self._costs["lines"]):
                yield tell("sum-wrong:lines", FILE, way=way)
        yield from _PlanCheck(self._figures).list_flaws()

    def _pick(self, numbers: Iterable[int], *sorts: str) -> int:
        return self._pick_where(numbers, lambda line: not sorts or line["sort"] in sorts)

    def _pick_where(self, numbers: Iterable[int], takes: Callable[[Mapping[str, Any]], bool]) -> int:
        found = [*numbers]
        # By the type, as `true` would pick line 1, and within the list, as -1 would pick the last line.
        if not all(type(number) is int and 0 <= number < len(self._lines) for number in found):
            raise _NoFigures(say("figures-unreadable:line"))
        return sum(landed for line, landed in map(self._lines.__getitem__, found) if takes(line))

    def _list_sums(self) -> Iterator[tuple[str, str, int]]:
        """The name of each total, what is written for it, and what its parts make."""
        costs = self._costs
        yield "costs.spent", costs["spent"], self._pick(costs["lines"])
        yield "costs.paid", costs["paid"], self._pick(costs["lines"], "paid")
        yield "costs.refunded", costs["refunded"], -self._pick(costs["lines"], "refund")
        yield "costs.committed", costs["committed"], self._pick(costs["committed_lines"])
        yield "costs.recovered", costs["recovered"], self._pick(costs["recovered_lines"])
        yield "costs.net", costs["net"], _to_units(costs["spent"]) - _to_units(costs["recovered"])
        for way in WAYS:
            for total in costs[way]:
                yield f"costs.{way}: {total['name']}", total["amount"], self._pick(total["lines"])
            yield f"costs.{way}", costs["spent"], sum(_to_units(total["amount"]) for total in costs[way])
        yield from self._list_months()
        for row in costs["budget"]:
            bound = _to_units(row["spent"]) + _to_units(row["committed"])
            # Records of an earlier format know of nothing that is wanted.
            forecast = bound + _to_units(row.get("wanted", "0"))
            yield f"budget {row['system']}: forecast", row["forecast"], forecast
            yield f"budget {row['system']}: left", row["left"], _to_units(row["budget"]) - bound
        yield from self._list_later_sums()

    def _list_later_sums(self) -> Iterator[tuple[str, str, int]]:
        """What is in files since format 3: payments that make what an order cost, the shelf's worth by part."""
        for number, order in enumerate(self._costs["purchases"]):
            if "shares" in order and order["paid"] is not None:
                paid = sum(_to_units(amount) for share in order["shares"] for amount in share["lines"])
                yield f"costs.purchases[{number}]: shares", order["landed"]["landed"], paid
            if "payments" in order:
                settled = [one["settled"] for one in order["payments"]] + [one["amount"] for one in order["credited"]]
                made = sum(map(_to_units, [*settled, order["left"]]))
                yield f"costs.purchases[{number}]: total", order["landed"]["total"], made
        if self._shelf is not None:
            yield "shelf.worth", self._shelf["worth"], sum(_to_units(item["worth"]) for item in self._shelf["items"])
            for number, item in enumerate(self._shelf["items"]):
                yield f"shelf.items[{number}]: qty", item["qty"], sum(_to_units(some["qty"]) for some in item["lying"])
        if "wanted_items" in self._costs:
            yield from self._list_forecast(self._costs)

    def _list_forecast(self, costs: Mapping[str, Any]) -> Iterator[tuple[str, str, int]]:
        """What is wanted and not ordered yet makes, with what is spent and committed, the forecast."""
        asked = [item for item in costs["wanted_items"] if item["state"] == "open" and item["about"] is not None]
        yield "costs.wanted", costs["wanted"], sum(_to_units(item["about"]) for item in asked)
        yield "costs.forecast", costs["forecast"], sum(_to_units(costs[key]) for key in PARTS)
        rows = costs["forecast_by_system"]
        yield "costs.forecast_by_system", costs["forecast"], sum(_to_units(row["forecast"]) for row in rows)
        named = [(f"forecast {'of no system' if row['system'] is None else row['system']}", row) for row in rows]
        for name, row in [*named, *((f"budget {row['system']}", row) for row in costs["budget"])]:
            mine = [item for item in asked if item["system"] == row["system"]]
            yield f"{name}: spent", row["spent"], self._pick_system(costs["lines"], row)
            yield f"{name}: committed", row["committed"], self._pick_system(costs["committed_lines"], row)
            yield f"{name}: wanted", row["wanted"], sum(_to_units(item["about"]) for item in mine)
        for name, row in named:
            yield f"{name}: forecast", row["forecast"], sum(_to_units(row[key]) for key in PARTS)
        if costs["budget_total"] is not None:
            for key in ("budget", *PARTS, "left", "forecast"):
                yield f"budget: {key}", costs["budget_total"][key], sum(_to_units(row[key]) for row in costs["budget"])

    def _pick_system(self, numbers: Iterable[int], row: Mapping[str, Any]) -> int:
        return self._pick_where(numbers, lambda line: line["system"] == row["system"])

    def _list_months(self) -> Iterator[tuple[str, str, int]]:
        running = 0
        for month in self._costs["months"]:
            name = month["month"]
            yield f"{name}: spent", month["spent"], self._pick(month["lines"], "paid", "refund")
            yield f"{name}: recovered", month["recovered"], self._pick(month["lines"], "sold")
            yield f"{name}: net", month["net"], _to_units(month["spent"]) - _to_units(month["recovered"])
            running += _to_units(month["net"])
            yield f"{name}: running", month["running"], running
        yield "the last month: running", self._costs["net"], running


# ── what was planned ─────────────────────────────────────────────────────────────────────────────────────────────


class _PlanCheck:
    """Whether what is said of plans, wishes and deadlines agrees with itself: states, days, counts, entries named.

    Files of earlier formats know of neither.
    """

    def __init__(self, figures: Mapping[str, Any]) -> None:
        self._wishes: list[Mapping[str, Any]] = figures["costs"].get("wanted_items") or []
        self._plans: Mapping[str, Any] | None = figures.get("plans")
        self._deadlines: list[Mapping[str, Any]] = figures.get("deadlines") or []
        self._failures: list[Mapping[str, Any]] = figures.get("failures") or []
        self._as_of = figures.get("as_of")
        self._entries = {entry for entry in figures.get("entries") or () if isinstance(entry, str)}

    def list_flaws(self) -> Iterator[Flaw]:
        """Where something is open that has ended, where a count is none, where no entry says it."""
        for number, item in enumerate(self._wishes):
            name = f"costs.wanted_items[{number}]"
            yield from self._check_end(name, item)
            yield from _check_place(name, item, _name_file(item))
        if self._plans is not None:
            items = self._plans["items"]
            for number, item in enumerate(items):
                yield from self._check_item(f"plans.items[{number}]", item)
            kept = any(item["ended_in"] is not None for item in items)
            if self._plans["kept"] is not kept:
                written, made = str(not kept).lower(), str(kept).lower()
                yield tell("sum-wrong:state", FILE, name="plans.kept", written=written, made=made)
            for number, checklist in enumerate(self._plans["lists"]):
                yield from self._check_list(f"plans.lists[{number}]", checklist)
        for number, item in enumerate(self._deadlines):
            yield from self._check_deadline(f"deadlines[{number}]", item)
        for number, item in enumerate(self._failures):
            name, late = f"failures[{number}]", _to_day(item["date"]) > _to_day(item["until"])
            if late:
                yield tell("sum-wrong:state", FILE, name=name, written=tame(item["date"]), made=tame(item["until"]))
            yield from self._check_entry(name, item["entry"])
            yield from _check_place(name, item, _name_file(item))

    def _check_deadline(self, name: str, item: Mapping[str, Any]) -> Iterator[Flaw]:
        left = (_to_day(item["until"]) - _to_day(self._as_of)).days
        if type(item["days_left"]) is not int:
            raise _NoFigures(say("figures-unreadable:none"))
        if item["days_left"] != left:
            yield tell("sum-wrong", FILE, name=f"{name}: days_left", written=str(item["days_left"]), made=str(left))
        made = "overdue" if left < 0 else "due" if left <= NOTICE_DAYS else "later"
        if item["state"] != made:
            yield tell("sum-wrong:state", FILE, name=name, written=_tame_any(item["state"]), made=made)
        yield from self._check_entry(name, item["entry"])
        yield from _check_place(name, item, _name_file(item))

    def _check_item(self, name: str, item: Mapping[str, Any]) -> Iterator[Flaw]:
        yield from self._check_end(name, item)
        yield from _check_pair(name, item, "ended", "ended_in")
        until = _to_day(self._as_of if item["ended"] is None else item["ended"])
        yield from _check_count(f"{name}: days", item["days"], (until - _to_day(item["since"])).days)
        yield from _check_place(name, item, _name_file(item))

    def _check_list(self, name: str, checklist: Mapping[str, Any]) -> Iterator[Flaw]:
        items = checklist["items"]
        ticked = sum(item["ticked"] is not None for item in items)
        yield from _check_count(f"{name}: ticked", checklist["ticked"], ticked)
        yield from _check_count(f"{name}: missing", checklist["missing"], len(items) - ticked)
        yield from _check_place(name, checklist, "log.yaml")
        for number, item in enumerate(items):
            one = f"{name}.items[{number}]"
            yield from _check_pair(one, item, "ticked", "ticked_in")
            yield from _check_pair(one, item, "worked_on", "worked_in")
            yield from self._check_entry(one, item["ticked_in"])
            yield from self._check_entry(one, item["worked_in"])

    def _check_end(self, name: str, item: Mapping[str, Any]) -> Iterator[Flaw]:
        is_open = item["ended_in"] is None
        if (item["state"] == "open") is not is_open:
            made = "open" if is_open else "ended"
            yield tell("sum-wrong:state", FILE, name=name, written=_tame_any(item["state"]), made=made)
        yield from self._check_entry(name, item["entry"])
        yield from self._check_entry(name, item["ended_in"])

    def _check_entry(self, name: str, entry: Any) -> Iterator[Flaw]:
        if entry is not None and not (isinstance(entry, str) and entry in self._entries):
            yield tell("sum-wrong:entry", FILE, name=name, entry=_tame_any(entry))


def _tame_any(text: Any) -> str:
    return tame(text) if isinstance(text, str) else ""


def _name_file(item: Mapping[str, Any]) -> str:
    return "log.yaml" if item["entry"] is None else f"entries/{item['entry']}.md"


def _check_place(name: str, item: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    place = item["place"] if isinstance(item["place"], str) else ""
    if not place.startswith(f"{file}:"):
        yield tell("sum-wrong:place", FILE, name=name, place=tame(place))


def _check_pair(name: str, item: Mapping[str, Any], one: str, other: str) -> Iterator[Flaw]:
    if (item[one] is None) is not (item[other] is None):
        yield tell("sum-wrong:pair", FILE, name=name, one=one, other=other)


def _check_count(name: str, written: Any, made: int) -> Iterator[Flaw]:
    # By the type, as `true` is 1 to Python.
    if type(written) is not int or written < 0:
        raise _NoFigures(say("figures-unreadable:none"))
    if written != made:
        yield tell("sum-wrong", FILE, name=name, written=str(written), made=str(made))
