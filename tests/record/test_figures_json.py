"""Every figure in one file: the keys that are documented and no other, one spelling, sums that anybody can add up."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import fields, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from rfc8785 import dumps

import buildlog
from buildlog.compute.figures import Figures, compute_figures
from buildlog.compute.meter.meter import MeterFigures
from buildlog.frozen import frozen
from buildlog.handover.figures_json import (
    FORMAT,
    drop_changed,
    find_difference,
    list_figures,
    rename_changed,
    write_figures,
)
from buildlog.record.hashing import read_canonical
from buildlog.stages import Run, run_stages
from tests.support import log_of

EXAMPLE = Path(__file__).parent.parent.parent / "example_project"
GUIDE = Path(buildlog.__file__).parent / "guide/record.md"
DAY = datetime.date(2024, 11, 30)
MAPS = frozenset(
    "costs.entry_totals costs.moved_by_entry costs.running_by_entry evidence.by_kind faults.by_entry next_checks "
    "measures.sets tightening.tightened".split()
)
"Objects whose keys are names or places of the log."


@pytest.fixture(scope="module")
def figures() -> Figures:
    found = run_stages(Run(folder=EXAMPLE, as_of=DAY), until="compute").figures
    assert found
    return found


@pytest.fixture(scope="module")
def data(figures: Figures) -> Any:
    return read_canonical(write_figures(figures).removesuffix(b"\n"))


# ── the keys ─────────────────────────────────────────────────────────────────────────────────────────────────────


def list_keys(value: Any, at: str = "") -> Iterator[tuple[str, str]]:
    """Each object by its path, with each of its keys; what stands in a list without further sign."""
    if isinstance(value, list):
        for item in value:
            yield from list_keys(item, at)
    elif isinstance(value, dict):
        for key, item in value.items():
            name = "*" if at in MAPS else key
            if name != "*":
                yield at, name
            yield from list_keys(item, f"{at}.{name}".removeprefix("."))


def read_documented() -> set[tuple[str, str]]:
    """What the guide's table lists: in each row the paths of objects, what they are, and their keys."""
    text = GUIDE.read_text(encoding="utf-8").partition("### Every key")[2].partition("\n#")[0]
    found = set()
    for row in re.findall(r"^\| (.*) \|$", text, re.MULTILINE)[2:]:
        paths, _, keys = row.split(" | ")
        for path in re.findall(r"`([^`]*)`", paths) or [""]:
            found |= {(path, key) for key in re.findall(r"`([^`]*)`", keys)}
    return found


def test_every_key_that_is_written_is_documented_and_no_other(data: Any) -> None:
    """Keys are named by hand: what is added to the figures comes into the file, and into the guide, by a decision."""
    boat = log_of("date: 2024-05-18\ntightened: [{what: keel bolt, to: 12.0 N·m (8.9 lbf·ft)}]", settings=BOAT)
    van = log_of("date: 2024-05-18", settings=VAN)
    plans = log_of("date: 2024-05-18\nnext: Bleed\nwanted: {what: Hose, about: 3.00}", settings=LISTS)
    figures = (list_figures(compute_figures(log, DAY)) for log in (boat, van, plans))
    written = {*list_keys(data), *(key for found in figures for key in list_keys(found))}
    assert written == read_documented()


LISTS = "{machine: {name: M}, money: {currency: GBP}, lists: {road: {name: Road, items: [Lamps burn]}}}"
BOAT = "{machine: {name: Tern, hin: ZZZ1234IL495, meter: {unit: h, digits: 5}}, money: {currency: GBP}}"
VAN = "{machine: {name: Van, vin: FNZWMS256MP000417}, money: {currency: GBP}}"
"Its VIN's check digit is one off, so that there is something to say of it."


def test_a_new_value_in_the_program_does_not_reach_the_file(figures: Figures, data: Any) -> None:
    """The file is not the image of the program's own values: whatever is no written key leaves no trace."""

    @frozen
    class Wider(MeterFigures):
        unheard_of: str = "a new figure"

    wider = Wider(**{each.name: getattr(figures.meter, each.name) for each in fields(MeterFigures)})
    assert list_figures(replace(figures, meter=wider)) == data


def test_what_has_changed_since_a_format_is_not_compared() -> None:
    """Paths go through lists without a sign, and through names of the log by `*`; all else stays."""
    file = {
        "format": 1,
        "parts": {"as_of": "2024-11-30", "parts": [{"key": "a"}]},
        "due": [{"key": "oil", "rows": []}, {"key": "grease"}],
        "tightening": {"tightened": {"log.yaml:1:1": {"stages": [{"unit": "N·m", "written": "9 N·m"}]}}},
    }
    assert drop_changed(file, 1) == {
        "parts": {"parts": [{"key": "a"}]},
        "due": [{"key": "oil"}, {"key": "grease"}],
        "tightening": {"tightened": {"log.yaml:1:1": {"stages": [{"written": "9 N·m"}]}}},
    }
    assert drop_changed(file, FORMAT) == {key: value for key, value in file.items() if key != "format"}


def test_a_key_that_has_another_name_since_is_compared_under_it() -> None:
    """With files of earlier formats alone; and no figure hides behind both names."""
    file = {"twice": 1, "looks": 2, "due": 3}
    assert rename_changed(file, 2) == rename_changed(file, 1) == {"rework": 1, "next_checks": 2, "due": 3}
    assert rename_changed(file, FORMAT) == file
    assert rename_changed({"twice": 1, "rework": 2}, 2) == {"twice": 1, "rework": 2}


# ── the values ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_spelling_is_canonical(figures: Figures, data: Any) -> None:
    """As `rfc8785`, the library, spells the same values (RFC 8785); twice the same."""
    assert data["format"] == FORMAT
    assert write_figures(figures) == dumps(data) + b"\n"
    assert write_figures(figures) == write_figures(figures)


def test_every_total_is_the_sum_of_its_lines(data: Any) -> None:
    """By texts alone, as a reader without this tool adds them up: six ways, months, and the grand totals."""
    costs, lines = data["costs"], data["lines"]

    def add(numbers: list[int]) -> Decimal:
        return sum((Decimal(lines[number]["landed"]) for number in numbers), Decimal(0))

    for way in ("by_month", "by_system", "by_kind", "by_supplier", "by_fault", "by_entry"):
        assert costs[way]
        assert all(add(total["lines"]) == Decimal(total["amount"]) for total in costs[way])
        assert sum(Decimal(total["amount"]) for total in costs[way]) == Decimal(costs["spent"])
    assert add(costs["lines"]) == Decimal(costs["spent"]) > 0
    assert add(costs["committed_lines"]) == Decimal(costs["committed"])
    assert add(costs["recovered_lines"]) == Decimal(costs["recovered"])
    assert all(add(m["lines"]) == Decimal(m["spent"]) + Decimal(m["recovered"]) for m in costs["months"])


def test_no_number_is_a_binary_fraction(data: Any) -> None:
    """Texts, integers, lists, objects: `12.50` stays what it is in every language."""

    def walk(value: Any) -> None:
        assert isinstance(value, str | int | list | dict) or value is None
        for item in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            walk(item)

    walk(data)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ({"a": "1", "b": ["x", {"c": "2"}]}, ""),
        ({"a": "2", "b": ["x", {"c": "2"}]}, "a: 2, computed 1"),
        ({"a": 1, "b": ["x", {"c": "2"}]}, "a: 1, computed 1"),
        ({"a": "1", "b": ["x", {"c": None}]}, "b[1].c: nothing, computed 2"),
        ({"a": "1", "b": ["x"]}, "b: 1 values, computed 2 values"),
        ({"a": "1", "b": ["x", {}]}, "b[1].c is missing"),
        ({"a": "1", "b": ["x", {"c": "2", "d": "3"}]}, "b[1].d is not one of the figures"),
        ({"a": "1", "b": "x"}, "b: x, computed a list"),
        ({"a": True, "b": ["x", {"c": "2"}]}, "a: True, computed 1"),
    ],
)
def test_the_first_difference_by_name(written: Any, told: str) -> None:
    """Where two files differ, and what stands in either."""
    assert find_difference(written, {"a": "1", "b": ["x", {"c": "2"}]}) == told


def test_a_kind_of_value_without_a_place_is_our_own_fault(figures: Figures) -> None:
    """A new figure of a strange kind is not written in some way or other."""
    with pytest.raises(TypeError, match="a complex is no figure"):
        list_figures(replace(figures, rework=replace(figures.rework, cost=1j)))  # type: ignore[arg-type]
