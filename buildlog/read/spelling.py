"""What to type instead of a number or a date in another spelling; how the right spelling is read is left to `kinds`.

A remedy never changes what was meant: it shows the very same number or day, each of those that can be meant, or none.
"""

from __future__ import annotations

import re
import unicodedata
from calendar import monthrange
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import round_half_up

NUMBER_FORM = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")
GENERAL_HELP = "write digits with a decimal point, as in `12.50`"
SPACES = " \u00a0\u2009\u202f"
"Blanks that stand between thousands: the plain one, and those that keep a number on one line."

# At most two digits of an exponent: what is meant is written out in full, and `1e999999999` has 1,000,000,000 digits.
AROUND = re.compile(
    r"(?P<sign>-?)(?P<before>[^0-9.,+\s-]*)\s*(?P<number>[+-]?\s*[0-9.,][0-9.,'\u2019\s]*([eE][+-]?[0-9]{1,2})?)(?P<after>[^0-9]*)"
)
"A number with something before or behind it, as a currency or a unit is."

UNITS = frozenset(
    "mm cm m km mi in ft yd l ml cl gal kg g lb oz h bar mbar psi kPa MPa Nm N·m V A W Hz rpm °C °F".split()
)
"Units that are written behind a number by habit, and can be left out there without another meaning."


def explain_number(text: str) -> str:
    """What to type instead of a number in another spelling."""
    # U+2212 is the minus sign that is copied out of a web page or a PDF
    match = AROUND.fullmatch(text.strip().replace("\u2212", "-"))
    if match is None:
        return GENERAL_HELP
    if "%" in text:
        return "write the number itself: percentages cannot be used here"
    beside = _name_beside(match["before"], match["after"].strip())
    number = match["sign"] + re.sub(r"\s+$|(?<=^[+-])\s+", "", match["number"])
    # each once, in the order in which they were thought of
    meant = list(dict.fromkeys(_guess_numbers(number)))
    # a wrong remedy is worse than none: whoever follows it has a wrong figure and no warning
    if beside is None or not meant:
        return GENERAL_HELP
    if len(meant) > 1:
        return f"write `{meant[0]}` if the comma marks thousands, `{meant[1]}` if it marks decimals"
    return f"write `{meant[0]}`: {beside or 'only digits and a decimal point'}"


def _name_beside(before: str, after: str) -> str | None:
    """Where that belongs which stands beside a number; empty where nothing does, None where that is unsure."""
    if not before and not after:
        return ""
    if after in UNITS and not before:
        return "the unit goes under `unit:`, if there is one"
    sign = before or after
    is_currency = re.fullmatch("[A-Z]{3}", sign) or (len(sign) == 1 and unicodedata.category(sign) == "Sc")
    if is_currency and not (before and after):
        return "the currency goes under `currency:` if it is not the one in `log.yaml`"
    return None


def _guess_numbers(text: str) -> Iterator[str]:
    """The numbers that one in another spelling may mean: one, two where a comma can mark either, none where unsure."""
    sign, digits = ("-", text[1:]) if text.startswith("-") else ("", text.removeprefix("+"))
    for mark in f"'\u2019{SPACES}":
        if re.fullmatch(rf"[1-9][0-9]{{0,2}}({mark}[0-9]{{3}})+([.,][0-9]+)?", digits):
            digits = digits.replace(mark, "")
    # both are shown: thousands in English, decimals on the continent, and nobody but the owner can tell
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        yield from (sign + digits.replace(",", ""), sign + digits.replace(",", "."))
        return
    if re.fullmatch(r"[0-9]+(\.[0-9]+)?[eE][+-]?[0-9]{1,2}", digits):
        digits = f"{Decimal(digits):f}"
    elif re.fullmatch(r"[1-9][0-9]{0,2}((,[0-9]{3}){2,}|(\.[0-9]{3}){2,})", digits):
        digits = re.sub("[,.]", "", digits)
    elif re.fullmatch(r"[1-9][0-9]{0,2}(,[0-9]{3})+\.[0-9]+", digits):
        digits = digits.replace(",", "")
    elif re.fullmatch(r"([1-9][0-9]{0,2}(\.[0-9]{3})+|[0-9]*),[0-9]+", digits):
        digits = digits.replace(".", "").replace(",", ".")
    plain = re.sub(r"^0+(?=[0-9])", "", re.sub(r"^(?=\.[0-9])", "0", digits.removesuffix(".")))
    if NUMBER_FORM.fullmatch(plain):
        yield sign + plain


CLOCK = re.compile(r"([0-9]{1,4}):([0-5][0-9])(?::([0-5][0-9]))?")
SPOKEN = re.compile(r"(?:([0-9]{1,4}) *h(?:ours?|rs?|r)?)? *(?:([0-5]?[0-9]) *(?:m|mins?|minutes?)?)?", re.IGNORECASE)
ALONE = re.compile(r"(.*[0-9.]) *h(?:ours?|rs?|r)?\.?", re.IGNORECASE)
MINUTES = re.compile(r"([0-9]{1,4}) *(?:m|mins?|minutes?)", re.IGNORECASE)


def explain_hours(text: str) -> str:
    """What to type instead of hours in another spelling, as `1:30`, `1h30` and `90 min`."""
    if match := MINUTES.fullmatch(text):
        return _turn_to_hours(0, int(match[1]), 0)
    if match := CLOCK.fullmatch(text):
        return _turn_to_hours(*(int(part or 0) for part in match.groups()))
    if (match := SPOKEN.fullmatch(text)) and match[1]:
        return _turn_to_hours(int(match[1]), int(match[2] or 0), 0)
    match = ALONE.fullmatch(text)
    if match and NUMBER_FORM.fullmatch(match[1]):
        return f"write `{match[1]}`: in decimal hours"
    return explain_number(match[1] if match else text)


def _turn_to_hours(hours: int, minutes: int, seconds: int) -> str:
    # exact, to say honestly where two decimals round it: 20 minutes are a third
    exact = hours + Fraction(minutes, 60) + Fraction(seconds, 3600)
    shown = round_half_up(exact, 2).normalize()
    return f"write `{shown:f}`: in decimal hours{'' if Fraction(shown) == exact else ', rounded'}"


YEARS = range(1000, 3000)
"Years that can be written; another is a slip."


def explain_date(text: str) -> str:
    """What to type instead of a date in another spelling; both where it may be either of two days."""
    found = " or ".join(f"`{day}`" for day in dict.fromkeys(_guess_dates(text)))
    return f"write year, month, day: {found}" if found else "write year, month, day, as in `2024-05-18`"


def _guess_dates(text: str) -> Iterator[date]:
    """The days that a date in another spelling may mean."""
    if not re.fullmatch(r"[0-9]+([./ -]+[0-9]+)*[.]?", text):
        return
    words = re.findall(r"[0-9]+", text)
    if len(words) == 1 and len(words[0]) == 8:
        words = [words[0][:4], words[0][4:6], words[0][6:]]
    # years of two digits get no remedy: neither the century nor which number is the year can be known
    if sorted(len(word) for word in words)[-1:] != [4] or len(words) != 3:
        return
    numbers = [int(word) for word in words]
    # day or month first: both are shown where both are days of the calendar
    orders = ((0, 1, 2),) if len(words[0]) == 4 else ((2, 1, 0), (2, 0, 1))
    for year, month, day in orders:
        with suppress(ValueError):
            if numbers[year] in YEARS:
                yield date(numbers[year], numbers[month], numbers[day])


def explain_missing_day(text: str) -> str:
    """Why a YYYY-MM-DD is no day of the calendar (RFC 3339 section 5.7 and appendix C: days of a month, leap years)."""
    year, month = int(text[:4]), int(text[5:7])
    if not 1 <= month <= 12:
        return "months run from 01 to 12"
    return f"the days of {text[:7]} run from 01 to {monthrange(year, month)[1]}"
