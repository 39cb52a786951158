"""The words of drawings: over any data no two of them touch, and none leaves the paper."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence
from decimal import Decimal
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.render import charts, measure_chart
from buildlog.render.axes import TickWords
from buildlog.render.drawing import NARROW, WIDE, Label, Wanted, cut_text, measure_text, place_labels
from buildlog.render.language import Words

SVG = "{http://www.w3.org/2000/svg}"
LANGUAGES = ("en-GB", "de", "fi", "hu", "ja", "pl", "pt-BR", "vi", "ru")
UNITS = ("bar", "mm", "Ω", "kPa", "mg KOH/g", "°", "")

days = st.dates(datetime.date(1998, 1, 1), datetime.date(2031, 12, 31))
amounts = st.decimals("-99999999.99", "99999999.99", places=2)
values = st.decimals("-50000", "50000", places=3)
names = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=14)


def read_labels(svg: str, hidden: str) -> list[Label]:
    """The labels of a drawing on one width, with the place and the words of each."""
    return [
        Label(
            kind=(text.get("class") or "").split()[0],
            x=Decimal(text.get("x", "")[:-1]),
            y=Decimal(text.get("y", "")[:-2]),
            text=text.text or "",
            anchor=text.get("text-anchor", "start"),  # type: ignore[arg-type]  # one of the three
            aside=Decimal(text.get("dx", "0em")[:-2]),
        )
        for text in ElementTree.fromstring(svg).iter(f"{SVG}text")
        if hidden not in (text.get("class") or "").split()
    ]


def find_clashes(svg: str, *, widest: Decimal = WIDE) -> list[tuple[str, ...]]:
    """Labels that overlap another one, or that leave the paper by more than the hundredth to which places are written.

    On the narrowest column, and on a wide one.
    """
    height = Decimal(ElementTree.fromstring(svg).get("height", "")[:-2])
    found = []
    for width, hidden in ((NARROW, "roomy"), (widest, "tight")):
        found += _find_on(read_labels(svg, hidden), width, height)
    return found


def _find_on(labels: Sequence[Label], width: Decimal, height: Decimal) -> list[tuple[str, ...]]:
    near = Decimal("0.02")
    clashes: list[tuple[str, ...]] = []
    for (one, a), (other, b) in itertools.combinations([(label, label.box(width)) for label in labels], 2):
        beside = a.left + near < b.right and b.left + near < a.right
        if beside and a.top + near < b.bottom and b.top + near < a.bottom:
            clashes.append((one.text, other.text))
    for label in labels:
        left, top, right, bottom = label.box(width)
        if min(left, top) < -near or right > width + near or bottom > height + near:
            clashes.append((label.text,))
    return clashes


@given(
    st.lists(st.tuples(days, amounts), min_size=2, max_size=12),
    st.integers(0, 400),
    st.lists(st.tuples(days, names), max_size=12),
    st.lists(st.tuples(days, names), max_size=3),
    st.sampled_from(LANGUAGES),
    st.sampled_from(["GBP", "JPY", "KWD", "CHF", "IDR"]),
)
@settings(max_examples=40, deadline=None)
def test_running_totals(
    points: list[tuple[datetime.date, Decimal]],
    later: int,
    milestones: list[tuple[datetime.date, str]],
    sales: list[tuple[datetime.date, str]],
    language: str,
    currency: str,
) -> None:
    """Over random orders, milestones and sales in any currency and language; the last total is always named."""
    words = Words(language)
    points.sort(key=lambda point: point[0])
    first, last = points[0][0], points[-1][0]
    svg = charts.draw_life(
        charts.Life(
            points=tuple(points),
            start=first,
            until=last + datetime.timedelta(days=later),
            milestones=tuple(sorted((day, name) for day, name in milestones if first <= day <= last)),
            sales=tuple(sorted((day, name) for day, name in sales if first <= day <= last)),
            hours=tuple((day.replace(day=1), Decimal(7)) for day, _ in points[:3]),
            budget=points[0][1] if later % 2 else None,
        ),
        charts.Words(
            title="Spent",
            description="So much.",
            amount=lambda amount: words.round_money(amount, currency),
            ticks=TickWords(start=words.axis_start, month=words.axis_month),
            hours=words.hours,
            end=words.money(points[-1][1], currency),
            budget=("the budget", "plan"),
        ),
    )
    assert find_clashes(svg) == []
    for hidden in ("tight", "roomy"):
        assert [label.kind for label in read_labels(svg, hidden)].count("total") == 1


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
        assert find_clashes(svg, widest=NARROW) == []


def ask(x: int, y: int, text: str) -> Label:
    return Label(kind="k", x=Decimal(x), y=Decimal(y), text=text)


def test_the_first_free_place_is_taken() -> None:
    """Who is asked first stands first; one that has no place is left out, and the next one is still placed."""
    here, there, off = ask(5, 5, "word"), ask(50, 5, "word"), ask(96, 5, "word")
    asked = [(here,), (here, there), (here, off), (ask(5, 9, "under"),)]
    found = place_labels(
        [Wanted(key=n, places=places) for n, places in enumerate(asked)], width=Decimal(30), height=Decimal(10)
    )
    assert {n: (label.x, label.text) for n, label in found.items()} == {
        0: (5, "word"),
        1: (50, "word"),
        3: (5, "under"),
    }


def test_a_stem_runs_through_no_name() -> None:
    """A name whose stem would cross another one goes below that, or is left out."""
    first = Wanted(key=1, places=(ask(5, 5, "a long name"), ask(5, 1, "a long name")), foot=Decimal(9))
    above = Wanted(key=2, places=(ask(15, 1, "b"),), foot=Decimal(9))
    below = Wanted(key=3, places=(ask(15, 1, "c"), ask(15, 7, "c")), foot=Decimal(9))
    found = place_labels([first, above, below], width=Decimal(30), height=Decimal(10))
    assert {n: label.y for n, label in found.items()} == {1: 5, 3: 7}


def test_long_names_are_cut_to_their_room() -> None:
    """A name of 120 letters ends with an ellipsis in its room, in any script; a short one stays."""
    for letter in ("w", "界", "ש"):
        short = cut_text(letter * 120, Decimal(12))
        assert short.endswith("…")
        assert measure_text(short) <= 12
    assert cut_text("First start", Decimal(12)) == "First start"
