"""How much of one unit is another, and which spellings mean it?

The table is closed: a unit that is not in it is shown as written and never converted, and a word that means two units
(a gallon) is not guessed. Each row names the source of its factor. "SP 811" is NIST Special Publication 811 (2008),
Guide for the Use of the SI, appendix B.8; most of its printed factors are rounded, and what stands here is what they
are rounded from.

Meter readings are kept as they were read and converted only to be compared or shown. Hours are not a distance.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from buildlog.arithmetic import round_half_up

UnitKind = Literal[
    "torque", "angle", "pressure", "temperature", "length", "volume", "time",
    "energy", "force", "mass", "power", "voltage", "current", "resistance",
]  # fmt: skip

KIND_WORDS: dict[UnitKind, str] = {
    "torque": "a torque",
    "angle": "an angle",
    "pressure": "a pressure",
    "temperature": "a temperature",
    "length": "a length",
    "volume": "a volume",
    "time": "a time",
    "energy": "an energy",
    "force": "a force",
    "mass": "a mass",
    "power": "a power",
    "voltage": "a voltage",
    "current": "a current",
    "resistance": "a resistance",
}
"Each kind as a message names it."


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit that can be converted to every other of its kind."""

    name: str
    "as it is shown: `lbf·ft`"
    kind: UnitKind
    "what it measures; only units of one kind are converted into each other"
    factor: Fraction
    "how many of the kind's first unit in the table make one of it"
    spellings: tuple[str, ...]
    "other ways in which owners and manuals write it; blanks, dots and dashes make no difference"
    source: str
    "of the factor"
    zero: Fraction = Fraction(0)
    "what it shows where the kind's first unit shows zero; not 0 for temperatures alone"


# The numbers that others follow from, each exact by definition. Most factors in print are rounded.
POUND_KG = Fraction("0.45359237")
INCH_M = Fraction("0.0254")
GRAVITY = Fraction("9.80665")
LBF_N = POUND_KG * GRAVITY
US_GALLON_L = 231 * (INCH_M * 10) ** 3
IMP_GALLON_L = Fraction("4.54609")

YARD_POUND = "exact: 1 lb = 0.45359237 kg, 1 in = 25.4 mm (agreement of 1959), g = 9.80665 m/s² (CGPM 1901); SP 811"
SI = "the International System of Units itself; SP 811"
US_GALLON = "exact: a US gallon is 231 cubic inches; SP 811"
IMP_GALLON = "exact: an imperial gallon is 4.54609 L; SP 811"
MERCURY = "conventional mercury, 13595.1 kg/m³ at g = 9.80665 m/s²; SP 811 prints 3.386 389 E+03 Pa for 1 inHg"

TABLE: tuple[Unit, ...] = (
    Unit("N·m", "torque", Fraction(1), ("newton metre", "newton meter", "newton metres", "newton meters"), SI),
    Unit(
        "lbf·ft",
        "torque",
        LBF_N * INCH_M * 12,
        ("lb-ft", "lbs-ft", "ft-lbf", "ft-lb", "ft-lbs", "foot pound", "foot pounds", "pound foot", "pound feet"),
        YARD_POUND,
    ),
    Unit(
        "lbf·in",
        "torque",
        LBF_N * INCH_M,
        ("lb-in", "lbs-in", "in-lbf", "in-lb", "in-lbs", "inch pound", "inch pounds", "pound inch", "pound inches"),
        YARD_POUND,
    ),
    Unit("kgf·m", "torque", GRAVITY, ("kg-m", "m-kgf", "m-kg", "kp-m", "m-kp"), "exact: g = 9.80665 m/s²; SP 811"),
    Unit("kgf·cm", "torque", GRAVITY / 100, ("kg-cm", "cm-kgf", "cm-kg", "kp-cm", "cm-kp"), "exact; SP 811"),
    Unit("°", "angle", Fraction(1), ("deg", "degs", "degree", "degrees"), SI),
    Unit("turn", "angle", Fraction(360), ("turns", "revolution", "revolutions"), "a whole turn is 360°"),
    Unit("kPa", "pressure", Fraction(1), ("KPa", "kpa"), SI),
    Unit("Pa", "pressure", Fraction(1, 1000), (), SI),
    Unit("MPa", "pressure", Fraction(1000), ("N/mm²",), SI),
    Unit("bar", "pressure", Fraction(100), ("Bar", "BAR", "bars"), "exact; SP 811"),
    Unit("mbar", "pressure", Fraction(1, 10), ("hPa", "millibar"), "exact; SP 811"),
    # `psig` too: what a gauge shows is counted from the air's own pressure, whether or not a `g` is written.
    Unit("psi", "pressure", LBF_N / INCH_M**2 / 1000, ("PSI", "lbf/in²", "lb/in²", "psig"), YARD_POUND),
    Unit("kgf/cm²", "pressure", Fraction("98.0665"), ("kg/cm²", "kp/cm²"), "exact: g = 9.80665 m/s²; SP 811"),
    Unit("atm", "pressure", Fraction("101.325"), (), "exact: standard atmosphere; SP 811"),
    Unit("inHg", "pressure", Fraction("13595.1") * GRAVITY * INCH_M / 1000, ('"Hg',), MERCURY),
    Unit("mmHg", "pressure", Fraction("13595.1") * GRAVITY / 10**6, (), MERCURY),
    Unit("°C", "temperature", Fraction(1), ("C", "deg C", "degrees C", "Celsius"), SI),
    Unit("°F", "temperature", Fraction(5, 9), ("F", "deg F", "degrees F", "Fahrenheit"), "exact; SP 811", Fraction(32)),
    Unit("K", "temperature", Fraction(1), ("kelvin",), SI, Fraction("273.15")),
    Unit("mm", "length", Fraction(1), ("millimetre", "millimetres", "millimeter", "millimeters"), SI),
    # Two characters look like µ, and keyboards have either; the same of Ω below.
    Unit("µm", "length", Fraction(1, 1000), ("\N{GREEK SMALL LETTER MU}m", "um", "micron", "microns"), SI),
    Unit("cm", "length", Fraction(10), (), SI),
    Unit("m", "length", Fraction(1000), ("metre", "metres", "meter", "meters"), SI),
    Unit("in", "length", INCH_M * 1000, ("inch", "inches", '"', "″"), "exact (agreement of 1959); SP 811"),
    Unit("thou", "length", INCH_M, ("thous", "mil", "mils"), "exact: a thousandth of an inch; SP 811"),
    Unit("ft", "length", INCH_M * 12000, ("foot", "feet"), "exact (agreement of 1959); SP 811"),
    Unit("L", "volume", Fraction(1), ("l", "litre", "litres", "liter", "liters", "dm³"), SI),
    Unit("mL", "volume", Fraction(1, 1000), ("ml", "cm³", "cc", "ccm"), SI),
    Unit("in³", "volume", (INCH_M * 10) ** 3, ("cu in", "cubic inch", "cubic inches"), "exact: 16.387064 cm³; SP 811"),
    Unit("US gal", "volume", US_GALLON_L, ("US gallon", "US gallons"), US_GALLON),
    Unit("US qt", "volume", US_GALLON_L / 4, ("US quart", "US quarts"), US_GALLON),
    Unit("US pt", "volume", US_GALLON_L / 8, ("US pint", "US pints"), US_GALLON),
    Unit("US fl oz", "volume", US_GALLON_L / 128, (), US_GALLON),
    Unit("imp gal", "volume", IMP_GALLON_L, ("UK gal", "imp gallon", "imp gallons", "imperial gallon"), IMP_GALLON),
    Unit("imp qt", "volume", IMP_GALLON_L / 4, ("UK qt", "imp quart", "imp quarts", "imperial quart"), IMP_GALLON),
    Unit("imp pt", "volume", IMP_GALLON_L / 8, ("UK pt", "imp pint", "imp pints", "imperial pint"), IMP_GALLON),
    Unit("imp fl oz", "volume", IMP_GALLON_L / 160, ("UK fl oz",), IMP_GALLON),
    Unit("s", "time", Fraction(1), ("sec", "secs", "second", "seconds"), SI),
    Unit("ms", "time", Fraction(1, 1000), (), SI),
    Unit("min", "time", Fraction(60), ("mins", "minute", "minutes"), "exact; SP 811"),
    Unit("h", "time", Fraction(3600), ("hr", "hrs", "hour", "hours"), "exact; SP 811"),
    Unit("J", "energy", Fraction(1), ("joule", "joules"), SI),
    Unit("kJ", "energy", Fraction(1000), ("kilojoule", "kilojoules"), SI),
    Unit("kWh", "energy", Fraction(3_600_000), (), "exact; SP 811"),
    Unit("N", "force", Fraction(1), ("newton", "newtons"), SI),
    Unit("kN", "force", Fraction(1000), (), SI),
    Unit("lbf", "force", LBF_N, (), YARD_POUND),
    Unit("kgf", "force", GRAVITY, ("kp",), "exact: g = 9.80665 m/s²; SP 811"),
    Unit("kg", "mass", Fraction(1), ("kgs", "kilogram", "kilograms"), SI),
    Unit("g", "mass", Fraction(1, 1000), ("gram", "grams"), SI),
    Unit("t", "mass", Fraction(1000), ("tonne", "tonnes"), "exact; SP 811"),
    Unit("lb", "mass", POUND_KG, ("lbs", "pound", "pounds"), "exact (agreement of 1959); SP 811"),
    Unit("oz", "mass", POUND_KG / 16, ("ounce", "ounces"), "exact: a sixteenth of a pound; SP 811"),
    Unit("US ton", "mass", POUND_KG * 2000, ("short ton", "short tons"), "exact: 2,000 lb; SP 811"),
    Unit("imp ton", "mass", POUND_KG * 2240, ("UK ton", "long ton", "long tons"), "exact: 2,240 lb; SP 811"),
    Unit("W", "power", Fraction(1), ("watt", "watts"), SI),
    Unit("kW", "power", Fraction(1000), ("kilowatt", "kilowatts"), SI),
    Unit("PS", "power", 75 * GRAVITY, ("metric hp", "hp metric", "cv"), "exact: 75 kgf·m in a second; SP 811"),
    Unit("mech hp", "power", 550 * LBF_N * INCH_M * 12, ("hp mech", "mechanical hp"), "550 lbf·ft in a second; SP 811"),
    Unit("V", "voltage", Fraction(1), ("volt", "volts"), SI),
    Unit("mV", "voltage", Fraction(1, 1000), (), SI),
    Unit("kV", "voltage", Fraction(1000), (), SI),
    Unit("A", "current", Fraction(1), ("amp", "amps", "ampere", "amperes"), SI),
    Unit("mA", "current", Fraction(1, 1000), (), SI),
    Unit("Ω", "resistance", Fraction(1), ("\N{OHM SIGN}", "ohm", "ohms", "Ohm"), SI),
    Unit("mΩ", "resistance", Fraction(1, 1000), ("m\N{OHM SIGN}", "mohm"), SI),
    Unit("kΩ", "resistance", Fraction(1000), ("k\N{OHM SIGN}", "kohm"), SI),
    Unit("MΩ", "resistance", Fraction(1_000_000), ("M\N{OHM SIGN}", "Mohm"), SI),
)
"How much of a kind's first unit is in one of each other? The first of each kind has the factor 1."

AMBIGUOUS: dict[str, str] = {
    word: help
    for words, help in (
        ("gal gals gallon gallons", "write `US gal` (3.785 L) or `imp gal` (4.546 L)"),
        ("qt qts quart quarts", "write `US qt` (0.946 L) or `imp qt` (1.137 L)"),
        ("pt pts pint pints", "write `US pt` (0.473 L) or `imp pt` (0.568 L)"),
        ("floz fluidounce fluidounces", "write `US fl oz` (29.57 mL) or `imp fl oz` (28.41 mL)"),
        ("ton tons", "write `t` (1,000 kg), `US ton` (907 kg) or `imp ton` (1,016 kg)"),
        ("hp bhp horsepower", "write `PS` (735.5 W) or `mech hp` (745.7 W)"),
    )
    for word in words.split()
}
"Words that mean different units in different countries, folded, with what to write instead."


def _fold(text: str) -> str:
    """A spelling without what makes no difference: blanks, dots between factors, dashes, raised digits."""
    # A unit may be typed on any keyboard; the multiplication sign between its factors rarely can.
    return re.sub(r"[\s·⋅•.*×‑–-]", "", text).replace("²", "2").replace("³", "3")


_SPELLED = {_fold(word): unit for unit in TABLE for word in (unit.name, *unit.spellings)}
# Of `mΩ` and `MΩ` one is lost here: good enough for torques, the one kind that is asked for.
_LOOSE = {(unit.kind, word.casefold()): unit for word, unit in _SPELLED.items()}


@lru_cache(maxsize=500)  # a log writes a few units thousands of times
def find_unit(text: str, kind: UnitKind | None = None) -> Unit | None:
    """The unit that a text means, None where it is none of the table.

    Capitals count, as `MPa` is not `mPa`; they are forgiven only where it is known what `kind` is wanted, so that
    `22 NM` is a torque where a torque stands.
    """
    # Without a kind capitals count: `mV` and `MV` are far apart. Where a torque is wanted, `NM` can mean one thing.
    folded = _fold(text)
    loose = _LOOSE.get((kind, folded.casefold())) if kind else None
    return loose or _SPELLED.get(folded)


def get_unit(name: str) -> Unit:
    """The unit of a name that this code knows to be in the table. Raises `KeyError`."""
    return _SPELLED[_fold(name)]


def explain_ambiguous(text: str) -> str:
    """What to write instead of a word that means more than one unit; empty for every other word."""
    return AMBIGUOUS.get(_fold(text).casefold(), "")


def convert(value: Decimal | Fraction, unit: Unit, to: Unit) -> Fraction:
    """The same in another unit of its kind, exactly. Raises `ValueError` for another kind."""
    if unit.kind != to.kind:
        raise ValueError(f"{unit.name} is {KIND_WORDS[unit.kind]}, {to.name} is {KIND_WORDS[to.kind]}")
    return (Fraction(value) - unit.zero) * unit.factor / to.factor + to.zero


def convert_as_written(value: Decimal, unit: Unit, to: Unit) -> Decimal:
    """The same in another unit, half up to the precision of what was written.

    The last place shown is worth no more than the last place written was, and whole units are never rounded away:
    74 lbf·ft are 100 N·m and not 100.33, 22 N·m are 16.2 lbf·ft, 32 psi are 2.21 bar.
    """
    # Untouched, so that `22.0` keeps the zero that its owner wrote.
    if unit == to:
        return value
    # By its text, as 22 and 22.0 are equal and not as exact.
    return _convert_text(str(value), unit.name, to.name)


@lru_cache(maxsize=2000)  # a torque stands on the page of its entry and on those of its system, and few differ
def _convert_text(text: str, name: str, other: str) -> Decimal:
    value, unit, to = Decimal(text), get_unit(name), get_unit(other)
    # One place of what was written, in the other unit: more places would claim more than anybody measured.
    last_place = Fraction(10) ** int(value.as_tuple().exponent) * unit.factor / to.factor
    places = next((n for n in range(13) if Fraction(1, 10**n) <= last_place), 12)
    return round_half_up(convert(value, unit, to), places)


KM_PER_UNIT = {"km": Fraction(1), "mi": Fraction(1609344, 1_000_000)}
"Kilometres in one of each unit of distance."


def convert_distance(value: Decimal | Fraction, unit: str, to: str) -> Fraction:
    """The same distance in another unit, exactly. Raises `KeyError` for a unit that is no distance."""
    if unit == to:
        return Fraction(value)
    return Fraction(value) * KM_PER_UNIT[unit] / KM_PER_UNIT[to]


def are_comparable(unit: str, other: str) -> bool:
    """Whether readings in two units can be told apart in size: both distances, or the same unit."""
    return unit == other or {unit, other} <= KM_PER_UNIT.keys()


def show_decimal(value: Fraction) -> Decimal:
    """The value as a decimal: exactly where one of up to 12 places holds it, else half up to a thousandth."""
    # Most conversions end: those stay exact, so that there and back again is the same number.
    exact, rest = divmod(value.numerator * 10**12, value.denominator)
    if rest == 0:
        whole, places = divmod(exact, 10**12)
        shown = Decimal(whole) if places == 0 else Decimal(exact).scaleb(-12).normalize()
        return shown
    return round_thousandth(value)


def round_thousandth(value: Fraction) -> Decimal:
    """The value as a decimal, half up (away from zero) to a thousandth, without zeros at its end."""
    return show_decimal(Fraction(round_half_up(value, 3)))
