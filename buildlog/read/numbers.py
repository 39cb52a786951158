"""The kinds of value that are numbers: plain ones, amounts of money, hours, percentages, what is read off a meter.

What to type instead of another spelling is in `spelling`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from buildlog.frozen import frozen_pair
from buildlog.read.kinds import LONGEST_QUOTE, Kind, Unreadable, show
from buildlog.read.spelling import GENERAL_HELP, NUMBER_FORM, explain_hours, explain_number
from buildlog.text import join_words

MOST_DIGITS = 15
"Digits of a number; a longer one is a slip of the keyboard."


def read_number(text: str) -> Decimal:
    """A plain decimal number; every other way of writing one gets its own remedy."""
    if NUMBER_FORM.fullmatch(text):
        if len(text) - text.count("-") - text.count(".") > MOST_DIGITS:
            raise Unreadable(f"{show(text)} has more than {MOST_DIGITS} digits", "check for an extra digit")
        return _make_decimal(text)
    raise Unreadable(f"{show(text)} is not a number in the form used here", explain_number(text[:LONGEST_QUOTE]))


# One value for all that are written alike: a long log has tens of thousands of numbers, and most are few.
_make_decimal = lru_cache(maxsize=4096)(Decimal)


def read_amount(text: str) -> Decimal:
    """Zero or more, in some currency."""
    return at_least_zero(text, read_number(text), "write zero or more; refunds go under `returned:`")


def at_least_zero(text: str, value: Decimal, help: str) -> Decimal:
    if value < 0:
        raise Unreadable(f"{show(text)} is below zero", help)
    return value


def read_hours(text: str) -> Decimal:
    """Hours in decimals, zero or more; every other way of writing them gets its own remedy."""
    try:
        value = read_number(text)
    except Unreadable as why:
        is_form = NUMBER_FORM.fullmatch(text)
        # a number in the right form has another fault, such as too many digits, and its own remedy
        raise why if is_form else Unreadable(why.message, explain_hours(text[:LONGEST_QUOTE])) from None
    return at_least_zero(text, value, "write the hours it took, zero or more")


def read_some_hours(text: str) -> Decimal:
    """Hours in decimals, more than zero."""
    return _above_zero(text, read_hours(text))


def read_positive(text: str) -> Decimal:
    """More than zero."""
    return _above_zero(text, read_number(text))


def _above_zero(text: str, value: Decimal) -> Decimal:
    if value <= 0:
        raise Unreadable(f"{show(text)} is not above zero", "write a number above zero")
    return value


def read_count(text: str) -> int:
    """A whole number, one or more."""
    value = read_positive(text)
    # by its value: `2.0` is whole too
    if value != value.to_integral_value():
        raise Unreadable(f"{show(text)} is not a whole number", "write a whole number, without decimals")
    return int(value)


def read_percent(text: str) -> Decimal:
    """A percentage from 0 to 100; the sign may be left out."""
    # the one unit that may stand behind a number, since everybody writes it there
    value = read_number(text.removesuffix("%").rstrip())
    if not 0 <= value <= 100:
        raise Unreadable(
            f"{show(text)} is not a percentage from 0 to 100",
            "write a number from 0 to 100; check for an extra digit",
        )
    return value


def read_fraction(text: str) -> Decimal:
    """A share of a picture's side, from 0 to 1."""
    value = read_number(text)
    if not 0 <= value <= 1:
        raise Unreadable(
            f"{show(text)} is not between 0 and 1", "write a fraction of the picture's width or height, as in `0.25`"
        )
    return value


class Box(NamedTuple):
    """A rectangle of the upright picture, as fractions of its width and height from the top left."""

    left: Decimal
    "fraction of the width, 0 to 1"
    top: Decimal
    "fraction of the height, 0 to 1"
    right: Decimal
    "fraction of the width, more than `left`"
    bottom: Decimal
    "fraction of the height, more than `top`"


def read_box(text: str) -> Box:
    """Four fractions: left, top, right, bottom."""
    parts = text.split()
    if len(parts) != 4:
        raise Unreadable("a box has four sides", "write [left, top, right, bottom], as in `[0.71, 0.02, 0.99, 0.11]`")
    box = Box(*(read_fraction(part) for part in parts))
    if box.left >= box.right or box.top >= box.bottom:
        raise Unreadable("this box is empty", "left must be less than right, and top less than bottom")
    return box


def form(expression: str) -> dict[str, Any]:
    """A number, or a text of a form: JSON Schema applies `pattern` to texts and limits to numbers alone."""
    return {"type": ["number", "string"], "pattern": f"^(?:{expression})$"}


# One stands in for any number: it is valid for every kind above, zero is not.
def _one(text: str) -> Decimal:
    return Decimal(1)


UNSIGNED = NUMBER_FORM.pattern.removeprefix("-?")
NUMBER = Kind("a number", read_number, form(NUMBER_FORM.pattern), _one)
AMOUNT = Kind("an amount", read_amount, {**form(UNSIGNED), "minimum": 0}, _one)
HOURS = Kind("decimal hours", read_hours, AMOUNT.schema, _one)
POSITIVE = Kind("a number above zero", read_positive, {**form(UNSIGNED), "exclusiveMinimum": 0}, _one)
SOME_HOURS = Kind("decimal hours, above zero", read_some_hours, POSITIVE.schema, _one)
COUNT = Kind(
    "a whole number",
    read_count,
    {"type": ["integer", "string"], "pattern": "^[1-9][0-9]*$", "minimum": 1},
    lambda text: 1,
)
PERCENT = Kind("a percentage", read_percent, {**form(UNSIGNED + " *%?"), "minimum": 0, "maximum": 100}, _one)
BOX = Kind(
    "a box of four fractions",
    read_box,
    {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 1}, "minItems": 4, "maxItems": 4},
    # the whole picture: what cannot be read must never lead to less being hidden
    lambda text: Box(Decimal(0), Decimal(0), Decimal(1), Decimal(1)),
    row=True,
)


@frozen_pair
class Amount:
    """A number with a unit behind it, as it was read off a gauge."""

    value: Decimal
    "what was read, zero or more"
    unit: str | None
    "`mi`, `km` or `h`; None: the meter's own unit"


def read_meter(text: str) -> Amount:
    """A meter's reading, in its own unit or in one that is written behind it."""
    match = METER_FORM.fullmatch(text)
    number, unit = match.groups() if match else (text, "")
    # asked first, as the remedies for numbers know nothing of units spelt in full
    if not re.search("[0-9.]$", number):
        raise Unreadable(f"{show(text)} is not a meter reading", _explain_measure(text, METER_HELP))
    with _keeping(unit):
        try:
            value = read_number(number)
        except Unreadable as why:
            help = METER_HELP if why.help == GENERAL_HELP else why.help
            raise Unreadable(f"{show(text)} is not a meter reading", help) from None
    return Amount(at_least_zero(text, value, "write what the meter shows, zero or more"), unit or None)


METER_FORM = re.compile(r"([^\s].*?|)\s*(mi|km|h|)")
METER_HELP = "write what the meter shows in digits, followed by `mi`, `km` or `h` if that is not its own unit"


@frozen_pair
class Span:
    """A stretch of use or of time."""

    value: Decimal
    "more than zero; whole days"
    unit: str
    "`mi`, `km`, `h` of the meter, or `days`"


def read_span(text: str) -> Span:
    """A distance, hours or days, with its unit behind it."""
    match = re.fullmatch(r"(.*[0-9.])\s*(mi|km|h|days?)", text)
    if not match:
        # no unit is guessed here, unlike for a reading: `90` may be miles or days
        bare = re.fullmatch(r"[0-9]+(\.[0-9]+)?", text)
        help = join_words([f"`{text} {unit}`" for unit in ("mi", "km", "h", "days")], "or") if bare else ""
        help = f"write its unit too: {help}" if help else _explain_measure(text, SPAN_HELP)
        raise Unreadable(f"{show(text)} is not a distance, hours or days", help)
    with _keeping(match[2]):
        if not match[2].startswith("day"):
            return Span(read_positive(match[1]), match[2])
        days = read_count(match[1])
    if days > MOST_DAYS:
        raise Unreadable(f"{show(text)} is more than a century", "check for an extra digit")
    return Span(Decimal(days), "days")


SPAN_HELP = "write a number followed by `mi`, `km`, `h` or `days`"
SPELT_UNITS = {"mi": "mi|miles?|mls?", "km": "kms?|kilomet(?:re|er)s?", "h": "h|hrs?|hours?"}
"How units of a meter are spelt too, in capitals or not."


def _explain_measure(text: str, general: str) -> str:
    """What to type where the unit is spelt in another way, or all that can be said."""
    for unit, spellings in SPELT_UNITS.items():
        match = re.fullmatch(rf"(.*[0-9.])\s*(?:{spellings})\.?", text, re.IGNORECASE)
        # the unit alone is spelt amiss
        if match and NUMBER_FORM.fullmatch(match[1]):
            return f"write `{match[1]} {unit}`"
        if match and (help := explain_number(match[1])) != GENERAL_HELP:
            return _add_unit(help, unit)
    if match := re.fullmatch(r"([1-9][0-9]{0,3})\s*weeks?", text, re.IGNORECASE):
        # weeks are exact in days; months and years are not, and get no remedy
        return f"write `{7 * int(match[1])} days`" if general == SPAN_HELP else general
    return general


@contextmanager
def _keeping(unit: str) -> Iterator[None]:
    """Whatever is said of the number in here, its unit stays behind it."""
    try:
        yield
    except Unreadable as why:
        # without its unit, a number typed as the remedy says would be taken in the meter's own
        raise Unreadable(why.message, _add_unit(why.help, unit) if unit else why.help) from None


def _add_unit(help: str, unit: str) -> str:
    return help if help == GENERAL_HELP else re.sub(r"`([0-9.-]+)`", rf"`\1 {unit}`", help)


MOST_DAYS = 36525
"Days of a span; a longer one is a slip of the keyboard."


METER = Kind(
    "a meter reading",
    read_meter,
    {**form(UNSIGNED + " *(mi|km|h)?"), "minimum": 0},
    lambda text: Amount(Decimal(1), None),
)
SPAN = Kind(
    "a distance, hours or days",
    read_span,
    {"type": "string", "pattern": rf"^(?:(?!0(?:\.0+)? *[a-z])(?:{UNSIGNED}) *(?:mi|km|h)|[1-9][0-9]{{0,4}} *days?)$"},
    lambda text: Span(Decimal(1), "days"),
)
