"""In which language is something written?

Amounts, dates and quantities are written in the site's language by Babel, from CLDR; amounts come here already rounded
to their minor unit, and the number of decimals is the one of ISO 4217, not of CLDR, which differs from it for some
currencies.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import lru_cache

from babel import Locale, UnknownLocaleError, dates, numbers

from buildlog.arithmetic import round_half_up
from buildlog.render.catalogue import ENGLISH, IN_ENGLISH, Catalogue
from buildlog.spans import say_hours, say_span

MINUS = "−"
"U+2212, as wide as a digit"


def is_known(language: str) -> bool:
    """Whether CLDR, as Babel has it, knows how a language writes dates and amounts."""
    # Babel is asked, as a list of ours would be out of date with its next release.
    try:
        Locale.parse(language, sep="-")
    except (UnknownLocaleError, ValueError):
        return False
    return True


class Words:
    """The writer for one language."""

    def __init__(self, language: str, mark: Callable[[str], str] = str, catalogue: Catalogue = IN_ENGLISH) -> None:
        """`mark` goes over every date, which has words of the language in it; `catalogue` has the words of pages."""
        self.catalogue = catalogue
        self.say = catalogue.say
        self.locale = Locale.parse(language if is_known(language) else ENGLISH, sep="-")
        # A site prints the same dates and amounts again and again, and Babel is slow at writing them. The caches are
        # kept on the writer: as decorators of its methods they would keep every writer alive.
        self.money = lru_cache(maxsize=4096)(self._money)
        self.day = lru_cache(maxsize=4096)(lambda day: mark(self._day(day)))
        self.short_day = lru_cache(maxsize=4096)(lambda day: mark(self._short_day(day)))
        self.month = lru_cache(maxsize=512)(lambda day: mark(self._month(day)))
        self.short_month = lru_cache(maxsize=512)(lambda day: mark(self._short_month(day)))
        self.axis_month = lru_cache(maxsize=512)(lambda day: mark(self._axis_month(day)))
        self.axis_start = lru_cache(maxsize=512)(lambda day: mark(self._axis_start(day)))
        self.number = lru_cache(maxsize=4096)(self._number)
        self._surround = lru_cache(maxsize=64)(self._surround_once)
        # CLDR decides on which side the currency stands; its number of decimals is dropped, the amount has its own.
        shape = self.locale.currency_formats["standard"].pattern.split(";")[0]
        self._money_shape = re.sub(r"\.0+", "", shape)
        self._grouping = re.search(r"[#,0]+", self._money_shape)[0]  # type: ignore[index]  # every pattern has digits
        # Babel reads its pattern anew for each number; digits in groups of three are written twenty times as fast here.
        self._by_thousands = self._grouping == "#,##0" and self.locale.default_numbering_system == "latn"
        marks = {",": numbers.get_group_symbol(self.locale), ".": numbers.get_decimal_symbol(self.locale)}
        self._marks = str.maketrans(marks)

    def say_count(self, one: str, many: str, number: int | Decimal, /, **places: object) -> str:
        """The text that goes with a number, which stands at `%(number)s` as `number` writes it if it is not given."""
        return self.catalogue.say_count(one, many, number, **({"number": self.number(number)} | places))

    def _money(self, amount: Decimal, currency: str) -> str:
        """`£1,234.50`, with the decimals that the amount has; below zero with a true minus sign in front."""
        before, after = self._surround(currency)
        # CLDR has a minus of several kinds in several places; a column of amounts needs one.
        written = f"{before}{self._write(abs(amount), _count_decimals(amount))}{after}"
        return MINUS + written if amount < 0 else written

    def _surround_once(self, currency: str) -> tuple[str, str]:
        """What stands before and after the digits of an amount."""
        # Asked of Babel once, for a number that is easy to find again: what stands around it is the same for all.
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
        return self._money(round_half_up(amount, _count_decimals(amount.normalize())), currency)

    def _short_month(self, day: datetime.date) -> str:
        """`Sep`"""
        return str(dates.format_skeleton("MMM", day, locale=self.locale))

    def _axis_month(self, day: datetime.date) -> str:
        """`May`; the year alone where one begins, as there is little room."""
        return str(dates.format_skeleton("y" if day.month == 1 else "MMM", day, locale=self.locale))

    def _axis_start(self, day: datetime.date) -> str:
        """`May 2024`, as short as it can be: the first month of an axis, which says the year."""
        return str(dates.format_skeleton("yMMM", day, locale=self.locale))

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
        # A no-break space: a unit at the start of a line would belong to nothing.
        return f"{self.number(value)}\u00a0{unit}"

    def hours(self, value: Decimal) -> str:
        """Hours of work to one decimal, `4.5 h`, held together; a reading of an hour meter is a `measure`."""
        return f"{say_hours(value, self.number)}\u00a0h"

    def span(self, days: int | Decimal, *, at_most: bool = False) -> str:
        """`12 days`, `7 weeks`, `16.8 years`."""
        return say_span(days, self.number, at_most=at_most, say_count=self.say_count)

    def in_all(self, total: str, shown: str) -> str:
        """`87,418 mi in all (meter 41,262 mi)`: the true total, and what the meter shows, which is something else."""
        return self.say("%(total)s in all (meter\u00a0%(shown)s)", total=total, shown=shown)

    def join(self, words: Sequence[str]) -> str:
        """`a`, `a and b`, `a, b and c`"""
        *first, last = words or [""]
        return self.say("%(list)s and %(last)s", list=", ".join(first), last=last) if first else last

    def join_or(self, words: Sequence[str]) -> str:
        """`a`, `a or b`, `a, b or c`"""
        *first, last = words or [""]
        return self.say("%(list)s or %(last)s", list=", ".join(first), last=last) if first else last

    def more(self, number: int) -> str:
        """`and 12 more`: how many of a list do not stand there."""
        return self.say_count("and %(number)s more", "and %(number)s more", number)


def _count_decimals(value: Decimal) -> int:
    return max(0, -int(value.as_tuple().exponent))
