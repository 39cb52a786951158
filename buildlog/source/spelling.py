"""What to type instead of a number or a date in another spelling; how the right spelling is read is left to `kinds`."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date
from decimal import Decimal

NUMBER_FORM = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")


def explain_number(text: str) -> str:
    """What to type instead of a number in another spelling."""
    bare = re.sub(r"[^0-9.,'\s-]", "", text).strip()
    joined = re.sub(r"['\s]", "", bare)
    for form, explain in NUMBER_REMEDIES:
        if re.fullmatch(form, text):
            return explain(text)
        if joined and re.fullmatch(form, joined):
            return explain(joined)
    if NUMBER_FORM.fullmatch(joined) and joined != text and re.search("[0-9]", text):
        return f"write `{joined}`: digits and a point only; a unit or a currency has its own key"
    return "write digits with a point before the decimals, as in `12.50`"


def _drop_zeros(text: str) -> str:
    shown = re.sub(r"^(-?)0+(?=[0-9])", r"\1", text)
    return f"write `{shown}`, without the leading zero"


def _turn_to_hours(text: str) -> str:
    hours, minutes = (Decimal(n) for n in text.split(":")[:2])
    return f"write `{(hours + minutes / 60).quantize(Decimal('0.01'))}`, in hours and decimals"


def _ask_which(text: str) -> str:
    plain, point = text.replace(",", ""), text.replace(",", ".")
    return f"write `{plain}` if the comma marks thousands, `{point}` if it marks decimals"


def _drop_thousands(text: str) -> str:
    return f"write `{re.sub('[,.]', '', text)}`: nothing between thousands"


def _turn_comma(text: str) -> str:
    return f"write `{text.replace('.', '').replace(',', '.')}`: a point before the decimals, nothing between thousands"


NUMBER_REMEDIES: tuple[tuple[str, Callable[[str], str]], ...] = (
    (r"-?0[0-9]+(\.[0-9]+)?", _drop_zeros),
    (r"[0-9]{1,4}:[0-5][0-9](:[0-5][0-9])?", _turn_to_hours),
    (r"-?[0-9]+(\.[0-9]+)?[eE][+-]?[0-9]{1,2}", lambda text: f"write `{Decimal(text):f}`, in full"),
    (r"[+-]?\.[0-9]+", lambda text: f"write `{text.lstrip('+').replace('.', '0.')}`, with a digit before the point"),
    (r"[+-]?[0-9]+\.", lambda text: f"write `{text.strip('+.')}`, without the point"),
    (r"\+[0-9]+(\.[0-9]+)?", lambda text: f"write `{text[1:]}`, without the sign"),
    (r"-?[1-9][0-9]{0,2},[0-9]{3}", _ask_which),
    (r"-?[0-9]{1,3}(,[0-9]{3}){2,}|-?[0-9]{1,3}(\.[0-9]{3}){2,}", _drop_thousands),
    (r"-?([0-9]{1,3}(\.[0-9]{3})+|[0-9]+),[0-9]+", _turn_comma),
    (r"-?[0-9]{1,3}(,[0-9]{3})+\.[0-9]+", lambda text: f"write `{text.replace(',', '')}`: nothing between thousands"),
)
"Other spellings of a number, and what to type instead; the first that fits counts."

YEARS = range(1000, 3000)
"Years that can be written; another is a slip."

MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def explain_date(text: str) -> str:
    """What to type instead of a date in another spelling; both where it may be either of two days."""
    found = " or ".join(f"`{day}`" for day in dict.fromkeys(_guess_dates(text)))
    return f"write year, month, day: {found}" if found else "write year, month, day, as in `2024-05-18`"


def _guess_dates(text: str) -> Iterator[date]:
    """The days that a date in another spelling may mean."""
    words = re.findall(r"[0-9]+", text)
    if len(words) == 1 and len(words[0]) == 8:
        words = [words[0][:4], words[0][4:6], words[0][6:]]
    if sorted(len(word) for word in words)[-1:] != [4] or len(words) != 3:
        return
    numbers = [int(word) for word in words]
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
    leap = month == 2 and ((year % 4 == 0 and year % 100 != 0) or year % 400 == 0)
    return f"the days of {text[:7]} run from 01 to {MONTH_DAYS[month - 1] + leap}"
