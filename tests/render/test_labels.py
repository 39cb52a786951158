"""The words of drawings: over any data no two of them touch, and none leaves the paper."""

from __future__ import annotations

import datetime
import itertools
import re
from collections.abc import Sequence
from decimal import Decimal
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from buildlog.render import charts, measure_chart
from buildlog.render.charts import SIZE, Box, Label, place_labels
from buildlog.render.language import Words
from buildlog.render.theme import find_themes

SVG = "{http://www.w3.org/2000/svg}"
PAPER = Box(Decimal(0), Decimal(0), Decimal(charts.WIDTH), Decimal(charts.HEIGHT))
LANGUAGES = ("en-GB", "de", "fi", "hu", "ja", "pl", "pt-BR", "vi", "ru")
UNITS = ("bar", "mm", "Ω", "kPa", "mg KOH/g", "°", "")

days = st.dates(datetime.date(1998, 1, 1), datetime.date(2031, 12, 31))
amounts = st.decimals("-99999999.99", "99999999.99", places=2)
values = st.decimals("-50000", "50000", places=3)
names = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=14)


def read_labels(svg: str) -> list[Label]:
    """The labels of a drawing, with the place and the words of each."""
    found = ElementTree.fromstring(svg).iter(f"{SVG}text")
    return [
        Label(
            kind=text.get("class", ""),
            x=Decimal(text.get("x", "")),
            y=Decimal(text.get("y", "")),
            text=text.text or "",
            anchor=text.get("text-anchor", "start"),  # type: ignore[arg-type]  # one of the three
        )
        for text in found
    ]


def find_clashes(labels: Sequence[Label]) -> list[tuple[str, ...]]:
    """Labels that overlap another one, or that leave the paper by more than the tenth to which places are written."""
    near = Decimal("0.1")
    clashes: list[tuple[str, ...]] = [
        (one.text, other.text)
        for one, other in itertools.combinations(labels, 2)
        if one.box.left < other.box.right
        and other.box.left < one.box.right
        and one.box.top + near < other.box.bottom
        and other.box.top + near < one.box.bottom
    ]
    for label in labels:
        left, top, right, bottom = label.box
        if min(left, top) < -near or right > PAPER.right + near or bottom > PAPER.bottom + near:
            clashes.append((label.text,))
    return clashes


@given(
    st.lists(st.tuples(days, amounts), min_size=2, max_size=12),
    st.integers(0, 400),
    st.sampled_from(LANGUAGES),
    st.sampled_from(["GBP", "JPY", "KWD", "CHF", "IDR"]),
)
def test_running_totals(points: list[tuple[datetime.date, Decimal]], later: int, language: str, currency: str) -> None:
    """Over random orders in any currency and language; every level line is named, and the last total."""
    words = Words(language)
    points.sort(key=lambda point: point[0])
    svg = charts.running_total_chart(
        points,
        until=points[-1][0] + datetime.timedelta(days=later),
        words=charts.Words(
            title="Spent",
            description="So much.",
            amount=lambda amount: words.round_money(amount, currency),
            month=words.axis_month,
            end=words.money(points[-1][1], currency),
        ),
    )
    labels = read_labels(svg)
    assert find_clashes(labels) == []
    kinds = [label.kind for label in labels]
    levels = [amount for amount in charts.choose_levels([amount for _, amount in points]) if amount]
    assert (kinds.count("total"), kinds.count("amount")) == (1, len(levels))


@given(
    st.lists(st.tuples(names, st.lists(st.tuples(days, values), min_size=1, max_size=5)), min_size=1, max_size=8),
    st.none() | values,
    st.none() | values,
    st.sampled_from(LANGUAGES),
    st.sampled_from(UNITS),
)
def test_measurements(
    places: list[tuple[str, list[tuple[datetime.date, Decimal]]]],
    least: Decimal | None,
    most: Decimal | None,
    language: str,
    unit: str,
) -> None:
    """Over random values at random places, with and without limits."""
    words = Words(language)

    def write(value: Decimal) -> str:
        return words.measure(value, unit) if unit else words.number(value)

    lines = [
        measure_chart.Line(
            where=where,
            dots=tuple(
                measure_chart.Dot(day=day, value=value, outside=False) for day, value in sorted(dict(dots).items())
            ),
        )
        for where, dots in places
    ]
    svg = measure_chart.measure_chart(
        lines,
        least=(least, f"at least {write(least)}") if least is not None else None,
        most=(most, f"at most {write(most)}") if most is not None else None,
        words=measure_chart.Words(
            title="Gap", description="So wide.", amount=write, day=lambda day: f"{words.short_day(day)} {day.year}"
        ),
        key="m",
    )
    if svg:
        assert find_clashes(read_labels(svg)) == []


def test_the_theme_sets_no_larger_letters() -> None:
    """What is placed for one size has room at every smaller one, and at no larger."""
    sheet = (find_themes() / "margin" / "margin.css").read_text(encoding="utf-8")
    sizes = re.findall(r"\.chart [^{}]*\{[^}]*font-size: (\d+)px", sheet)
    assert max(map(int, sizes)) == SIZE


def test_the_first_free_place_is_taken() -> None:
    """Who is asked first stands first; one that has no place is left out, and the next one is still placed."""
    here, there = (Label(kind="k", x=Decimal(x), y=Decimal(50), text="word") for x in (10, 200))
    off = Label(kind="k", x=Decimal(290), y=Decimal(50), text="word")
    asked = [[here], [here, there], [here, off], [Label(kind="k", x=Decimal(10), y=Decimal(90), text="under")]]
    assert [(label.x, label.text) for label in place_labels(asked, width=300, height=100)] == [
        (10, "word"),
        (200, "word"),
        (10, "under"),
    ]
