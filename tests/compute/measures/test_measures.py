"""Measurements: verdicts by their own limits, spread, units that differ, how values move from one time to the next."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.figures import compute_figures
from buildlog.compute.measures.measures import MeasuredSet, MeasureFigures, MeasureSeries, compute_spread
from tests.support import log_of


def measures_of(*measured: str, as_of: str = "2025-01-01") -> MeasureFigures:
    """Of entries a month apart from 2024-01-01 on, each with one `measured:`."""
    heads = [f"date: 2024-{month:02}-01\nmeasured: {text}" for month, text in enumerate(measured, 1)]
    return compute_figures(log_of(*heads), date.fromisoformat(as_of)).measures


def set_of(measured: str) -> MeasuredSet:
    (one,) = measures_of(measured).sets.values()
    return one


def series_of(*measured: str) -> MeasureSeries:
    (series,) = measures_of(*measured).series
    return series


# ------------------------------------------------------------------- limits


@pytest.mark.parametrize(
    ("limits", "outside", "verdict"),
    [
        ("{min: 24}", [None, None], "within"),  # on the limit is within it
        ("{min: 24.1}", ["below", None], "outside"),
        ("{max: 28}", [None, None], "within"),
        ("{min: 25, max: 27}", ["below", "above"], "outside"),
        ("{}", [None, None], None),
    ],
)
def test_each_value_and_the_set_have_a_verdict(limits: str, outside: list[str | None], verdict: str | None) -> None:
    """A value is within its limits up to and at them; a set is outside where one value is."""
    one = set_of(f"{{what: Compression, unit: bar, values: {{1: 24, 2: 28}}, limits: {limits}}}")
    assert ([value.outside for value in one.values], one.verdict) == (outside, verdict)


def test_no_limits_no_verdict() -> None:
    """Nothing is judged by figures that the owner did not give: no maker's limit is built in."""
    one = set_of("{what: Compression, unit: bar, values: {1: 2, 2: 28}}")
    assert (one.verdict, one.spread_fails, one.spread) == (None, False, Decimal("92.9"))  # 26 / 28


def test_the_one_value() -> None:
    """A single value has no place and no spread; a limit of the spread says nothing about it."""
    one = set_of("{what: Coil, unit: Ω, value: 11.9, limits: {max: 9}}")
    assert [(value.where, value.outside) for value in one.values] == [("", "above")]
    alone = set_of("{what: Coil, unit: Ω, value: 11.9, limits: {spread: 10}}")
    assert (alone.spread, alone.verdict) == (None, None)


@pytest.mark.parametrize(("drop", "verdict"), [("0.049", "within"), ("0.05", "within"), ("0.051", "outside")])
def test_vacuum_held_for_a_minute(drop: str, verdict: str) -> None:
    """Common practice, no source: a brake servo pumped down by hand loses no more than 0.05 bar in a minute."""
    text = f"{{what: Vacuum lost in a minute, unit: bar, value: {drop}, limits: {{max: 0.05}}}}"
    assert set_of(text).verdict == verdict


# ------------------------------------------------------------------- spread


@pytest.mark.parametrize(
    ("values", "spread"),
    [
        ((3, 3), Fraction(0)),
        ((0, 4), Fraction(1)),
        ((4,), None),
        ((), None),
        ((0, 0), None),
        ((-1, 4), None),
    ],
)
def test_spread_where_there_is_one(values: tuple[int, ...], spread: Fraction | None) -> None:
    """(max − min)/max needs two values, none below zero and one above."""
    assert compute_spread(tuple(map(Decimal, values))) == spread


@pytest.mark.parametrize(
    ("values", "limit", "fails", "shown"),
    [
        ("{1: 180, 2: 135}", "25%", False, "25.0"),  # 45/180 = 25 %: on the limit
        ("{1: 180, 2: 134}", "25%", True, "25.6"),  # 46/180 = 25.5556 %
        ("{1: 10000, 2: 7499}", "25%", True, "25.01"),  # 25.01 %: a tenth would show it as the limit
        ("{1: 10000, 2: 7501}", "25%", False, "24.99"),
        ("{1: 3, 2: 2}", "33.3333%", True, "33.33333"),  # a third: 33.3 and 33.3333 would seem to be within
    ],
)
def test_spread_against_its_limit(values: str, limit: str, fails: bool, shown: str) -> None:
    """The exact spread decides, and what is shown is never rounded onto a limit that it is not on."""
    one = set_of(f"{{what: Compression, values: {values}, limits: {{spread: {limit}}}}}")
    assert (one.spread_fails, one.spread) == (fails, Decimal(shown))
    assert one.verdict == ("outside" if fails else "within")


# ------------------------------------------------------------------- time and again


def test_a_set_is_compared_with_the_one_before() -> None:
    """Each place with the same place of the last set that has it: 1 rose by 4.7, 2 by 3.1 and then fell by 1."""
    series = series_of(
        "{what: Compression, unit: bar, values: {1: 20.4, 2: 22.8}}",
        "{what: compression, unit: bar, values: {2: 25.9}}",
        "{what: COMPRESSION, unit: bar, values: {1: 25.1, 2: 24.9, 3: 25}}",
    )
    changes = [[(value.where, value.change) for value in one.values] for one in series.sets]
    assert changes == [
        [("1", None), ("2", None)],
        [("2", Decimal("3.1"))],
        [("1", Decimal("4.7")), ("2", Decimal("-1.0")), ("3", None)],
    ]
    assert [(t.where, t.first, t.last, t.change, t.days, t.times) for t in series.trends] == [
        ("1", Decimal("20.4"), Decimal("25.1"), Decimal("4.7"), 60, 2),  # 1 January to 1 March 2024
        ("2", Decimal("22.8"), Decimal("24.9"), Decimal("2.1"), 60, 3),
    ]


def test_each_set_is_judged_by_its_own_limits() -> None:
    """New limits do not judge an old set."""
    series = series_of("{what: Gap, value: 5, limits: {max: 4}}", "{what: Gap, value: 5, limits: {max: 6}}")
    assert [one.verdict for one in series.sets] == ["outside", "within"]


def test_later_entries_do_not_count_yet() -> None:
    """As of 15 January the set of 1 February is not there, and there is no trend."""
    figures = measures_of("{what: Gap, value: 5}", "{what: Gap, value: 6}", as_of="2024-01-15")
    assert [(len(series.sets), series.trends) for series in figures.series] == [(1, ())]


def test_things_come_in_the_order_in_which_they_were_first_measured() -> None:
    """One series for each thing."""
    figures = measures_of("[{what: B, value: 1}, {what: A, value: 2}]", "{what: B, value: 3}")
    assert [(series.what, len(series.sets)) for series in figures.series] == [("B", 2), ("A", 1)]


# ------------------------------------------------------------------- units


def test_units_of_one_kind_are_converted() -> None:
    """175 psi = 12.066 bar, to the hundredth, as a psi is 0.069 bar; each set keeps its words and its verdict.

    The change is computed before that: 12.1 − 12.06583 = 0.0342.
    """
    series = series_of(
        "{what: Compression, unit: psi, values: {1: 175}, limits: {min: 170}}",
        "{what: Compression, unit: bar, values: {1: 12.1}}",
    )
    before, after = series.sets
    assert (series.unit, before.values[0].value, before.values[0].common) == ("bar", 175, Decimal("12.07"))
    assert (before.verdict, after.values[0].change) == ("within", Decimal("0.0342"))


def test_a_change_is_taken_before_rounding() -> None:
    """14 psi, 15 psi and 1.00 bar, a psi being 0.0689476 bar: up by 1.00 − 0.965266 = 0.0347 bar, not by 0.03."""
    texts = ("unit: psi, value: 14", "unit: psi, value: 15", "unit: bar, value: 1.00")
    series = series_of(*(f"{{what: Boost, {text}}}" for text in texts))
    assert [str(one.values[0].change) for one in series.sets] == ["None", "0.0689", "-0.0342"]
    (trend,) = series.trends
    assert (str(trend.first), str(trend.last), str(trend.change)) == ("0.97", "1.00", "0.0347")


def test_a_change_in_one_unit_is_as_written() -> None:
    """27.90 to 28.10 is 0.20, and no digit more or less."""
    series = series_of("{what: C, unit: bar, value: 27.90}", "{what: C, unit: bar, value: 28.10}")
    assert str(series.trends[0].change) == "0.20"


PSI_IN_BAR = Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2 / 100_000
"Pound, standard gravity and inch are exact: agreement of 1959, NIST SP 811."
PRESSURES = st.lists(st.tuples(st.decimals(0, 400, places=1), st.sampled_from(["psi", "bar", "kPa"])), min_size=2)


@given(PRESSURES.filter(lambda some: len(some) <= 6))
def test_no_change_depends_on_how_values_are_shown(some: list[tuple[Decimal, str]]) -> None:
    """Whatever the units: a change is the exact difference, right to its own last place, and that is fine."""
    factors = {"psi": PSI_IN_BAR, "bar": Fraction(1), "kPa": Fraction(1, 100)}
    series = series_of(*(f"{{what: P, unit: {unit}, value: {value}}}" for value, unit in some))
    exact = [Fraction(value) * factors[unit] / factors[some[-1][1]] for value, unit in some]
    steps = [now - before for before, now in pairwise(exact)]
    told = [*zip((one.values[0].change for one in series.sets[1:]), steps, strict=True)]
    for change, right in [*told, (series.trends[0].change, exact[-1] - exact[0])]:
        assert change is not None
        error = abs(Fraction(change) - right)
        assert error <= Fraction(10) ** int(change.as_tuple().exponent) / 2
        assert not error or error <= abs(right) / 200


def test_unknown_units_are_compared_as_written() -> None:
    """The same unknown unit is compared and never converted; two unknown ones are apart, which is a warning."""
    figures = measures_of("{what: Sink, unit: notches, value: 3}", "{what: Sink, unit: notches, value: 4}")
    assert (figures.problems, figures.series[0].sets[1].values[0].change) == ((), 1)
    figures = measures_of("{what: Sink, unit: notches, value: 3}", "{what: Sink, value: 4}")
    (problem,) = figures.problems
    assert (problem.rule, problem.severity, len(figures.series)) == ("units-apart", "warning", 2)
    assert problem.message == "`Sink` is measured in no unit, but was in `notches`: the two cannot be compared"


def test_a_unit_of_the_wrong_kind() -> None:
    """Bar, then newton metres: one error at the unit that does not fit, with the place of the other."""
    (problem,) = measures_of("{what: Oil, unit: bar, value: 3}", "{what: Oil, unit: N·m, value: 3}").problems
    assert (problem.rule, problem.severity) == ("unit-kind", "error")
    assert problem.message == "`Oil` is measured in `N·m`, a torque, but was in `bar`"
    assert [place.file for place in (problem.place, *problem.also)] == ["entries/e2.md", "entries/e1.md"]


@pytest.mark.parametrize(
    ("word", "help"),
    [
        ("gallons", "write `US gal` (3.785 L) or `imp gal` (4.546 L)"),
        ("Fl. Oz", "write `US fl oz` (29.57 mL) or `imp fl oz` (28.41 mL)"),
        ("pint", "write `US pt` (0.473 L) or `imp pt` (0.568 L)"),
        ("qt", "write `US qt` (0.946 L) or `imp qt` (1.137 L)"),
    ],
)
def test_ambiguous_words_are_refused_where_they_have_to_be_converted(word: str, help: str) -> None:
    """A gallon alone is shown as written; beside litres it would have to be converted, and the owner is asked."""
    assert measures_of(f"{{what: Drained, unit: {word}, value: 3}}").problems == ()
    told = measures_of(f"{{what: Drained, unit: {word}, value: 3}}", "{what: Drained, unit: L, value: 3}")
    (problem,) = told.problems
    assert (problem.rule, problem.severity, problem.help) == ("unit-ambiguous", "error", help)
    assert problem.place.file == "entries/e1.md"


def test_capitals_of_a_unit_count() -> None:
    """`mPa` is not `MPa`: it is not in the table, and is let be."""
    figures = measures_of("{what: Oil, unit: MPa, value: 3}", "{what: Oil, unit: mPa, value: 3}")
    assert [problem.rule for problem in figures.problems] == ["units-apart"]


# ------------------------------------------------------------------- what is wrong with it


def test_limits_the_wrong_way_round() -> None:
    """A least that is more than the most is one error with both places, and judges nothing."""
    figures = measures_of("{what: Disc, value: 21, limits: {min: 22.1, max: 20.4}}")
    (problem,) = figures.problems
    assert (problem.rule, problem.severity) == ("limits-reversed", "error")
    assert problem.message == "the minimum for `Disc`, `22.1`, is above the maximum, `20.4`"
    assert [place.column for place in (problem.place, *problem.also)] == [49, 60]
    assert next(iter(figures.sets.values())).verdict is None


def test_one_value_and_several() -> None:
    """`value` beside `values` is an error: it has no place of its own."""
    (problem,) = measures_of("{what: Disc, value: 21, values: {left: 20}}").problems
    assert (problem.rule, problem.severity) == ("measured-twice", "error")


def test_nothing_measured() -> None:
    """A measurement without a value is a warning."""
    (problem,) = measures_of("{what: Disc, unit: mm}").problems
    assert (problem.rule, problem.severity) == ("measured-nothing", "warning")
