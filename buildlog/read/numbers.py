"""The kinds of value that are numbers: plain ones, amounts of money, hours, percentages, the sides of a box.

What has a unit behind it is in `gauges`, what to type instead of another spelling in `spelling`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any, NamedTuple

from buildlog.read.kinds import LONGEST_QUOTE, Kind, Unreadable, show
from buildlog.read.spelling import NUMBER_FORM, explain_hours, explain_number

MOST_DIGITS = 15
"Digits of a number; a longer one is a slip of the keyboard."


def read_number(text: str) -> Decimal:
    """A plain decimal number; every other way of writing one gets its own remedy."""
    if NUMBER_FORM.fullmatch(text):
        if len(text) - text.count("-") - text.count(".") > MOST_DIGITS:
            raise Unreadable(f"{show(text)} has more than {MOST_DIGITS} digits", "check for an extra digit")
        return Decimal(text)
    raise Unreadable(f"{show(text)} is not a number in the form used here", explain_number(text[:LONGEST_QUOTE]))


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
