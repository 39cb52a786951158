"""How amounts, dates and quantities are written for readers, in the site's language.

Babel does the writing from CLDR; amounts come here already rounded to their minor unit, and the number of decimals
is the one of ISO 4217, not of CLDR, which differs from it for some currencies.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache

from babel import Locale, UnknownLocaleError, dates, numbers

MINUS = "−"
"U+2212, as wide as a digit"

FALLBACK = "en-GB"
"how dates and amounts are written where a language is not known"


def is_known(language: str) -> bool:
    """Whether CLDR, as Babel has it, knows how a language writes dates and amounts."""
    try:
        Locale.parse(language, sep="-")
    except (UnknownLocaleError, ValueError):
        return False
    return True


class Words:
    """The writer for one language."""

    def __init__(self, language: str, mark: Callable[[str], str] = str) -> None:
        """`mark` goes over every date, which has words of the language in it."""
        self.locale = Locale.parse(language if is_known(language) else FALLBACK, sep="-")
        self.money = lru_cache(maxsize=4096)(self._money)
        self.day = lru_cache(maxsize=4096)(lambda day: mark(self._day(day)))
        self.short_day = lru_cache(maxsize=4096)(lambda day: mark(self._short_day(day)))
        self.month = lru_cache(maxsize=512)(lambda day: mark(self._month(day)))
        self.axis_month = lru_cache(maxsize=512)(lambda day: mark(self._axis_month(day)))
        self.number = lru_cache(maxsize=4096)(self._number)
        self._surround = lru_cache(maxsize=64)(self._surround_once)
        shape = self.locale.currency_formats["standard"].pattern.split(";")[0]
        self._money_shape = re.sub(r"\.0+", "", shape)
        self._grouping = re.search(r"[#,0]+", self._money_shape)[0]  # type: ignore[index]  # every pattern has digits
        # Babel reads its pattern anew for each number; digits in groups of three are written twenty times as fast here.
        self._by_thousands = self._grouping == "#,##0" and self.locale.default_numbering_system == "latn"
        marks = {",": numbers.get_group_symbol(self.locale), ".": numbers.get_decimal_symbol(self.locale)}
        self._marks = str.maketrans(marks)

    def _money(self, amount: Decimal, currency: str) -> str:
        """`£1,234.50`, with the decimals that the amount has; below zero with a true minus sign in front."""
        before, after = self._surround(currency)
        written = f"{before}{self._write(abs(amount), _count_decimals(amount))}{after}"
        return MINUS + written if amount < 0 else written

    def _surround_once(self, currency: str) -> tuple[str, str]:
        """What stands before and after the digits of an amount."""
        written = numbers.format_currency(1, currency, self._money_shape, locale=self.locale, currency_digits=False)
        before, _, after = str(written).partition(self._write(Decimal(1), 0))
        return before, after

    def _write(self, value: Decimal, decimals: int) -> str:
        """The digits of a value that is not below zero, grouped."""
        if self._by_thousands:
            return f"{value:,.{decimals}f}".translate(self._marks)
        shape = self._grouping + ("." + "0" * decimals if decimals else "")
        return str(numbers.format_decimal(value, shape, locale=self.locale))

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
        """`£1,000`, for the lines of a chart; decimals only where the amount needs them."""
        return self._money(round(amount, _count_decimals(amount.normalize())), currency)

    def _axis_month(self, day: datetime.date) -> str:
        """`May`; the year alone where one begins, as there is little room."""
        return str(dates.format_skeleton("y" if day.month == 1 else "MMM", day, locale=self.locale))

    def _number(self, value: Decimal | int) -> str:
        """`112,530` or `4.5`, with the decimals that the value has."""
        value = Decimal(value)
        written = self._write(abs(value), _count_decimals(value.normalize()))
        return MINUS + written if value < 0 else written

    def written(self, value: Decimal) -> str:
        """`59.60`, with every decimal as it was written or computed, since the last one says how exact it is."""
        digits = self._write(abs(value), _count_decimals(value))
        return MINUS + digits if value < 0 else digits

    def measure(self, value: Decimal, unit: str) -> str:
        """`112,530 mi`, held together."""
        return f"{self.number(value)}\u00a0{unit}"

    def hours(self, value: Decimal) -> str:
        """`4.5 h`, held together."""
        return self.measure(value, "h")


def _count_decimals(value: Decimal) -> int:
    return max(0, -int(value.as_tuple().exponent))


def count(number: int, one: str, more: str | None = None) -> str:
    """`1 entry`, `2 entries`."""
    return f"{number} {one if number == 1 else more or one + 's'}"


def join_words(words: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))
