"""How amounts, dates and quantities are written for readers, in the site's language.

Babel does the writing from CLDR; amounts come here already rounded to their minor unit, and the number of decimals
is the one of ISO 4217, not of CLDR, which differs from it for some currencies.
"""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from functools import lru_cache

from babel import Locale, UnknownLocaleError, dates, numbers

MINUS = "−"
"U+2212, as wide as a digit"


class Words:
    """The writer for one language."""

    def __init__(self, language: str) -> None:
        try:
            self.locale = Locale.parse(language, sep="-")
        except (UnknownLocaleError, ValueError):
            self.locale = Locale.parse("en-GB", sep="-")
        self.money = lru_cache(maxsize=4096)(self._money)
        self.day = lru_cache(maxsize=4096)(self._day)
        self.short_day = lru_cache(maxsize=4096)(self._short_day)
        self.month = lru_cache(maxsize=512)(self._month)
        self.number = lru_cache(maxsize=4096)(self._number)
        self._pattern = self.locale.currency_formats["standard"].pattern.split(";")[0]

    def _money(self, amount: Decimal, currency: str) -> str:
        """`£1,234.50`, with the decimals that the amount has; below zero with a true minus sign in front."""
        digits = max(0, -int(amount.as_tuple().exponent))
        shape = re.sub(r"\.0+", "." + "0" * digits if digits else "", self._pattern)
        written = numbers.format_currency(abs(amount), currency, shape, locale=self.locale, currency_digits=False)
        return MINUS + written if amount < 0 else str(written)

    def _day(self, day: datetime.date) -> str:
        """`18 May 2024`"""
        return str(dates.format_date(day, "long", locale=self.locale))

    def _short_day(self, day: datetime.date) -> str:
        """`18 May`"""
        return str(dates.format_skeleton("MMMd", day, locale=self.locale))

    def _month(self, day: datetime.date) -> str:
        """`May 2024`"""
        return str(dates.format_skeleton("yMMMM", day, locale=self.locale))

    def round_money(self, amount: Decimal, currency: str) -> str:
        """`£1,000`, for the lines of a chart; decimals only where the amount has them."""
        digits = max(0, -int(amount.normalize().as_tuple().exponent))
        return self._money(amount.quantize(Decimal(1).scaleb(-digits)), currency)

    def axis_month(self, day: datetime.date) -> str:
        """`May`, and `Jan 2024` where a year begins."""
        return str(dates.format_skeleton("yMMM" if day.month == 1 else "MMM", day, locale=self.locale))

    def _number(self, value: Decimal | int) -> str:
        """`112,530` or `4.5`, with the decimals that the value has."""
        value = Decimal(value)
        digits = max(0, -int(value.normalize().as_tuple().exponent))
        written = str(
            numbers.format_decimal(abs(value), "#,##0." + "0" * digits if digits else "#,##0", locale=self.locale)
        )
        return MINUS + written if value < 0 else written

    def measure(self, value: Decimal, unit: str) -> str:
        """`112,530 mi`, held together."""
        return f"{self.number(value)}\u00a0{unit}"

    def hours(self, value: Decimal) -> str:
        """`4.5 h`, held together."""
        return self.measure(value, "h")


def count(number: int, one: str, more: str | None = None) -> str:
    """`1 entry`, `2 entries`."""
    return f"{number} {one if number == 1 else more or one + 's'}"


def join_words(words: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
