"""What is read off a meter, and how far or long something goes: a number with its unit behind it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal

from buildlog.read.kinds import Kind, Unreadable, show
from buildlog.read.numbers import UNSIGNED, at_least_zero, form, read_count, read_number, read_positive
from buildlog.read.spelling import GENERAL_HELP, NUMBER_FORM, explain_number
from buildlog.text import join_words


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
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
