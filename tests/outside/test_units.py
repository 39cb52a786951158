"""Unit factors against the library `pint`, the printed factors of NIST SP 811, and figures out of makers' manuals."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pint import UnitRegistry

from buildlog.compute.measures.measures import compute_measures, compute_spread
from buildlog.compute.measures.tightening import NEWTON_METRE, POUND_FOOT, read_stages
from buildlog.compute.quantities.units import (
    AMBIGUOUS,
    TABLE,
    Unit,
    convert,
    convert_as_written,
    explain_ambiguous,
    find_unit,
    get_unit,
)
from tests.support import log_of

pytestmark = pytest.mark.outside

EXACT = UnitRegistry(non_int_type=Fraction)

# Our own names in pint's words. Never the owner's text: to pint `PS` is a petasiemens, `mil` an angle, `lb*ft` a mass
# times a length, and `gal`, `pint` and `ton` are American.
PINT = {
    "N·m": "newton * meter",
    "lbf·ft": "force_pound * foot",
    "lbf·in": "force_pound * inch",
    "kgf·m": "force_kilogram * meter",
    "kgf·cm": "force_kilogram * centimeter",
    "°": "arcdegree",
    "turn": "turn",
    "kPa": "kilopascal",
    "Pa": "pascal",
    "MPa": "megapascal",
    "bar": "bar",
    "mbar": "millibar",
    "psi": "force_pound / inch ** 2",
    "kgf/cm²": "force_kilogram / centimeter ** 2",
    "atm": "standard_atmosphere",
    "inHg": "inch_Hg",
    "mmHg": "millimeter_Hg",
    "°C": "degree_Celsius",
    "°F": "degree_Fahrenheit",
    "K": "kelvin",
    "mm": "millimeter",
    "µm": "micrometer",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "thou": "thou",
    "ft": "foot",
    "L": "liter",
    "mL": "milliliter",
    "in³": "inch ** 3",
    "US gal": "US_liquid_gallon",
    "US qt": "US_liquid_quart",
    "US pt": "US_pint",
    "US fl oz": "US_fluid_ounce",
    "imp gal": "imperial_gallon",
    "imp qt": "imperial_quart",
    "imp pt": "imperial_pint",
    "imp fl oz": "imperial_fluid_ounce",
    "s": "second",
    "ms": "millisecond",
    "min": "minute",
    "h": "hour",
    "J": "joule",
    "kJ": "kilojoule",
    "kWh": "kilowatt * hour",
    "N": "newton",
    "kN": "kilonewton",
    "lbf": "force_pound",
    "kgf": "force_kilogram",
    "kg": "kilogram",
    "g": "gram",
    "t": "metric_ton",
    "lb": "pound",
    "oz": "ounce",
    "US ton": "short_ton",
    "imp ton": "long_ton",
    "W": "watt",
    "kW": "kilowatt",
    "PS": "metric_horsepower",
    "mech hp": "horsepower",
    "V": "volt",
    "mV": "millivolt",
    "kV": "kilovolt",
    "A": "ampere",
    "mA": "milliampere",
    "Ω": "ohm",
    "mΩ": "milliohm",
    "kΩ": "kiloohm",
    "MΩ": "megaohm",
}


def first_of(unit: Unit) -> Unit:
    return next(each for each in TABLE if each.kind == unit.kind)


def test_every_unit_is_compared() -> None:
    """Each unit of the table has its name in pint's words, so that none is left out below."""
    assert [unit.name for unit in TABLE] == list(PINT)


@pytest.mark.parametrize("unit", TABLE, ids=lambda unit: unit.name)
@settings(max_examples=20)
@given(value=st.decimals(-(10**6), 10**6, places=3))
def test_as_pint(unit: Unit, value: Decimal) -> None:
    """`pint`, computing in fractions, gives the same to the last digit (π in angles: to 12 digits)."""
    to = first_of(unit)
    theirs = EXACT.Quantity(Fraction(value), PINT[unit.name]).to(PINT[to.name]).magnitude
    ours = convert(value, unit, to)
    if unit.kind == "angle":
        assert float(ours) == pytest.approx(float(theirs), rel=1e-12, abs=1e-12)
    else:
        assert ours == theirs
    assert convert(ours, to, unit) == value


@pytest.mark.parametrize(
    ("unit", "to", "printed"),
    [
        ("lbf·ft", "N·m", "1.355818"),
        ("lbf·in", "N·m", "1.129848E-01"),
        ("kgf·m", "N·m", "9.80665"),
        ("psi", "Pa", "6.894757E+03"),
        ("kgf/cm²", "Pa", "9.80665E+04"),
        ("atm", "Pa", "1.01325E+05"),
        ("bar", "Pa", "1.0E+05"),
        ("inHg", "Pa", "3.386389E+03"),
        ("US gal", "L", "3.785412"),
        ("imp gal", "L", "4.54609"),
        ("US fl oz", "mL", "2.957353E+01"),
        ("imp fl oz", "mL", "2.841306E+01"),
        ("mech hp", "W", "7.456999E+02"),
        ("PS", "W", "7.354988E+02"),
    ],
)
def test_as_nist_prints_them(unit: str, to: str, printed: str) -> None:
    """NIST SP 811 (2008) appendix B.8: our factor, rounded to the digits that are printed there, is what is printed.

    The factors are from memory and from books that quote the publication, which itself was not at hand.
    """
    factor = convert(Decimal(1), get_unit(unit), get_unit(to))
    number = Decimal(printed)
    rounded = Decimal(factor.numerator * 10**30 // factor.denominator).scaleb(-30).quantize(number)
    assert rounded == number


# psi to bar, bar to psi, °F to °C and N·m to lbf·ft to eight digits: 32 × 0.06894757 = 2.2063223, and so on.
@pytest.mark.parametrize(
    ("value", "unit", "to", "expected"),
    [
        ("10", "lbf·ft", "N·m", "13.558179"),
        ("74", "lbf·ft", "N·m", "100.33053"),
        ("95", "lbf·ft", "N·m", "128.80271"),
        ("10", "N·m", "lbf·ft", "7.3756215"),
        ("110", "N·m", "lbf·ft", "81.131836"),
        ("32", "psi", "bar", "2.2063223"),
        ("175", "psi", "bar", "12.065825"),
        ("2.2", "bar", "psi", "31.908302"),
        ("12", "bar", "psi", "174.04529"),
        ("-40", "°F", "°C", "-40"),
        ("195", "°F", "°C", "90.555556"),
        ("212", "°F", "°C", "100"),
        ("88", "°C", "°F", "190.4"),
        ("100", "mech hp", "kW", "74.569987"),
        ("100", "PS", "kW", "73.549875"),
        ("100", "PS", "mech hp", "98.632007"),
    ],
)
def test_check_values(value: str, unit: str, to: str, expected: str) -> None:
    """Values that `pint` 0.25 and GNU units 2.22 give alike, to eight digits."""
    assert float(convert(Decimal(value), get_unit(unit), get_unit(to))) == pytest.approx(float(expected), rel=5e-8)


@pytest.mark.parametrize(
    ("value", "unit", "to", "shown"),
    [
        ("74", "lbf·ft", "N·m", "100"),  # 100.33
        ("20", "lbf·ft", "N·m", "27"),  # 27.116
        ("22", "N·m", "lbf·ft", "16.2"),  # 16.227
        ("2.5", "kgf·m", "N·m", "24.5"),  # 24.517
        ("32", "psi", "bar", "2.21"),  # 2.2063
        ("2.2", "bar", "psi", "32"),  # 31.908
        ("10", "bar", "psi", "145"),  # 145.04: never coarser than whole units
        ("100.0", "°C", "°F", "212.0"),
        ("0.5", "thou", "mm", "0.013"),  # 0.0127: a tenth of a thou is 0.00254 mm
        ("22", "N·m", "N·m", "22"),
    ],
)
def test_shown_to_the_precision_of_the_source(value: str, unit: str, to: str, shown: str) -> None:
    """74 lbf·ft are shown as 100 N·m: no more digits than the source had (NIST SP 811 appendix B.7, from memory)."""
    assert str(convert_as_written(Decimal(value), get_unit(unit), get_unit(to))) == shown


def test_a_maker_s_own_figures() -> None:
    """A maker's manual prints "27 N·m (20 ft-lbs)" for a bolt that is then turned by 60° and 30°: 20 × 1.3558 = 27.1.

    Torque and angle are separate steps, and 60° + 30° are two of them, not 90° in one go.
    """
    by_feet, by_metres = read_stages("20 ft-lbs"), read_stages("27 N·m (20 ft-lbs) + 60° + 30°")
    assert by_feet[0].to_unit(NEWTON_METRE) == (27,) == by_metres[0].to_unit(NEWTON_METRE)
    assert by_metres[0].to_unit(POUND_FOOT) == (20,)
    assert [stage.written for stage in by_metres[1:]] == ["60°", "30°"]
    assert [stage.to_unit(NEWTON_METRE) for stage in by_metres[1:]] == [(), ()]


SPELLINGS = {
    "N·m": "Nm N.m N·m N-m N*m",
    "lbf·ft": "lb-ft lbf-ft ft-lb ft-lbs lb·ft lb.ft lbf.ft ft·lbf lbft ftlb",
    "lbf·in": "in-lb in-lbs in.lb lbf-in lbf·in lb-in",
    "kgf·m": "kgf-m kgf·m kg·m mkg m·kg kp·m",
    "kgf·cm": "kgf-cm kg·cm cm·kg",
    "psi": "psi PSI lbf/in² lb/in2",
    "kgf/cm²": "kgf/cm2 kg/cm²",
    "µm": "\N{MICRO SIGN}m \N{GREEK SMALL LETTER MU}m um",
    "Ω": "Ω \N{OHM SIGN} ohm",
}


@pytest.mark.parametrize("name", SPELLINGS)
def test_spellings(name: str) -> None:
    """The ways in which manuals and owners write a unit (common practice, no source): `lb-ft` is read as lbf·ft."""
    assert {find_unit(text) for text in SPELLINGS[name].split()} == {get_unit(name)}


def test_traps_of_other_libraries() -> None:
    """`PS` is a power, `mil` a length, `lb-ft` a torque, and joule is no torque though its dimensions are the same."""
    kinds = {text: unit.kind for text in ("PS", "mil", "lb-ft", "J", "kJ") if (unit := find_unit(text))}
    assert kinds == {"PS": "power", "mil": "length", "lb-ft": "torque", "J": "energy", "kJ": "energy"}
    assert EXACT.Quantity(1, "J").is_compatible_with("newton * meter")
    with pytest.raises(ValueError, match=r"J is an energy, N·m is a torque"):
        convert(Decimal(22), get_unit("J"), NEWTON_METRE)


def test_spellings_mean_one_thing() -> None:
    """No spelling means two units, and no word that is ambiguous is one of them."""
    for unit in TABLE:
        assert {find_unit(word) for word in (unit.name, *unit.spellings)} == {unit}
    assert [word for word in AMBIGUOUS if find_unit(word)] == []


@pytest.mark.parametrize("word", ["gallon", "pint", "quart", "fl oz", "ton", "hp", "Gal.", "HP"])
def test_ambiguous_words(word: str) -> None:
    """Words that differ between the USA and Britain, or between horsepowers, are no unit; what to write is said."""
    assert find_unit(word) is None
    offered = explain_ambiguous(word).split("`")[1::2]
    assert len(offered) >= 2 and all(find_unit(name) for name in offered)


@pytest.mark.parametrize("text", ["mPa", "NM", "Ps", "", " ", "furlong", "mm of sink", "%"])
def test_unknown_units(text: str) -> None:
    """Capitals count, and what is not in the table is not guessed."""
    assert find_unit(text) is None


# ------------------------------------------------------------------- engine tests

SPREADS = [
    ("175 180 170 150", "30/180", "16.7"),
    ("200 160 190 195", "40/200", "20.0"),
    ("180 135 180 180", "45/180", "25.0"),
    ("180 134 180 180", "46/180", "25.6"),
    ("12.1 11.9 12.0 10.4", "17/121", "14.0"),
]


@pytest.mark.parametrize(("values", "spread", "shown"), SPREADS)
def test_spread_of_compression(values: str, spread: str, shown: str) -> None:
    """(max − min)/max; the other ratio that circulates, lowest/highest, is 1 less it: 135/180 = 75 % = 1 − 25 %."""
    numbers = tuple(map(Decimal, values.split()))
    assert compute_spread(numbers) == Fraction(spread)
    assert 1 - Fraction(spread) == Fraction(min(numbers)) / Fraction(max(numbers))
    written = ", ".join(f"{n}: {value}" for n, value in enumerate(numbers, 1))
    log = log_of(f"date: 2024-01-01\nmeasured: {{what: Compression, values: {{{written}}}}}")
    (one,) = compute_measures(log).sets.values()
    assert one.spread == Decimal(shown)


@pytest.mark.parametrize(("lowest", "fails"), [("135", False), ("134", True)])
def test_lowest_at_least_three_quarters_of_highest(lowest: str, fails: bool) -> None:
    """Several makers' manuals: lowest at least 75 % of highest, a spread of at most 25 %; on the limit it passes."""
    text = f"measured: {{what: Compression, unit: psi, values: {{1: 180, 2: {lowest}}}, limits: {{spread: 25%}}}}"
    log = log_of(f"date: 2024-01-01\n{text}")
    (one,) = compute_measures(log).sets.values()
    assert one.spread_fails is fails


@pytest.mark.parametrize(
    ("into", "held", "loss", "fails"),
    [("80", "60", "25", False), ("80", "59", "26.25", True), ("100", "85", "15", False), ("90", "63", "30", True)],
)
def test_leak_down_is_a_spread(into: str, held: str, loss: str, fails: bool) -> None:
    """FAA AC 43.13-1B paragraph 8-14: at 80 psi in, "a loss in excess of 25 percent" makes a cylinder suspect.

    The loss (p_in − p_cylinder)/p_in is the spread of the two pressures: 80/60 is 25 %, which is not in excess.
    """
    values = f"values: {{in: {into}, cylinder-3: {held}}}"
    log = log_of(f"date: 2024-01-01\nmeasured: {{what: Leak-down, unit: psi, {values}, limits: {{spread: 25%}}}}")
    (one,) = compute_measures(log).sets.values()
    assert compute_spread((Decimal(into), Decimal(held))) == Fraction(loss) / 100
    assert one.spread_fails is fails
