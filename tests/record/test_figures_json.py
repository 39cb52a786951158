"""Every figure in one file: nothing left out, one spelling, sums that anybody can add up, and differences by name."""

from __future__ import annotations

import datetime
from dataclasses import fields
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from rfc8785 import dumps

from buildlog.reckon.figures import Figures
from buildlog.record.canonical import read_canonical
from buildlog.record.figures_json import FORMAT, LEFT_OUT, find_difference, list_figures, write_figures
from buildlog.stages import check_log

EXAMPLE = Path(__file__).parent.parent.parent / "example_project"


@pytest.fixture(scope="module")
def figures() -> Figures:
    found = check_log(EXAMPLE, datetime.date(2024, 11, 30)).figures
    assert found
    return found


@pytest.fixture(scope="module")
def data(figures: Figures) -> Any:
    return read_canonical(write_figures(figures).removesuffix(b"\n"))


def test_nothing_is_left_out(figures: Figures, data: Any) -> None:
    """Whatever `Figures` holds stands there under its name, but the log itself, problems and what was on the way."""
    assert data.keys() == {field.name for field in fields(figures)} - LEFT_OUT | {"format", "lines"}
    assert data["format"] == FORMAT
    assert data["costs"].keys() == {field.name for field in fields(figures.costs)} - LEFT_OUT


def test_the_spelling_is_canonical(figures: Figures, data: Any) -> None:
    """As `rfc8785`, the library, spells the same values (RFC 8785); twice the same."""
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
        ({"a": "2", "b": ["x", {"c": "2"}]}, "a: 2, reckoned 1"),
        ({"a": 1, "b": ["x", {"c": "2"}]}, "a: 1, reckoned 1"),
        ({"a": "1", "b": ["x", {"c": None}]}, "b[1].c: nothing, reckoned 2"),
        ({"a": "1", "b": ["x"]}, "b: 1 values, reckoned 2 values"),
        ({"a": "1", "b": ["x", {}]}, "b[1].c is missing"),
        ({"a": "1", "b": ["x", {"c": "2", "d": "3"}]}, "b[1].d is no figure that is reckoned"),
        ({"a": "1", "b": "x"}, "b: x, reckoned a list"),
        ({"a": True, "b": ["x", {"c": "2"}]}, "a: True, reckoned 1"),
    ],
)
def test_the_first_difference_by_name(written: Any, told: str) -> None:
    """Where two files differ, and what stands in either."""
    assert find_difference(written, {"a": "1", "b": ["x", {"c": "2"}]}) == told


def test_a_kind_of_value_without_a_place_is_our_own_fault(figures: Figures) -> None:
    """A new figure of a strange kind is not written in some way or other."""
    with pytest.raises(TypeError, match="a complex is no figure"):
        list_figures(_with_twice(figures, 1j))


def _with_twice(figures: Figures, value: Any) -> Figures:
    from dataclasses import replace

    return replace(figures, twice=value)
