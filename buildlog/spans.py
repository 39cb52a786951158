"""How do people say how long something took: days, weeks and years, and hours of work?

For what is read; what is computed with, and what programs read, stays in whole days and exact hours. Imported by
everything, as the same span is said alike on a page, in a terminal and in a problem.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from math import ceil
from typing import Protocol

from buildlog.arithmetic import round_half_up

DAYS_IN_A_YEAR = Fraction("365.2425")
"The mean year of the calendar (ISO 8601: 146,097 days in 400 years)."
FEWEST_WEEKS = 28
"Days from which weeks are counted; our own choice: up to there a day more or less is noticed."
FEWEST_YEARS = 365
"Days from which years are counted."
LEAST_HOURS = Decimal("0.05")
"What would be rounded to no time at all is said to be less."


def _plainly(number: Decimal) -> str:
    return f"{number.normalize():f}"


class Say(Protocol):
    """Says a text with what goes into its places, as `Catalogue.say` does."""

    def __call__(self, text: str, /, **places: object) -> str: ...


class SayCount(Protocol):
    """Says a number of things, as `Catalogue.say_count` does."""

    def __call__(self, one: str, many: str, number: int | Decimal, /, **places: object) -> str: ...


def say_in_english(text: str, /, **places: object) -> str:
    """A text as it stands."""
    return text % places


def count_in_english(one: str, many: str, number: int | Decimal, /, **places: object) -> str:
    """What goes with a number, as it stands."""
    return (one if number == 1 else many) % {"number": number, **places}


def say_span(
    days: int | Decimal,
    number: Callable[[Decimal], str] = _plainly,
    *,
    at_most: bool = False,
    say_count: SayCount = count_in_english,
) -> str:
    """Days as people say them: `12 days`, `7 weeks`, `16.8 years`; `number` writes one with decimals, `say_count` all.

    No months, which differ in length: whoever needs the days has both dates. The middle of two waits may be half a day
    off. With `at_most` the weeks are never fewer than the days are, as in `within 5 weeks`.
    """
    if days < FEWEST_WEEKS:
        return say_count("%(number)s day", "%(number)s days", days, number=number(Decimal(days)))
    if days < FEWEST_YEARS:
        weeks = Fraction(days) / 7
        return say_count(
            "%(number)s week", "%(number)s weeks", ceil(weeks) if at_most else int(round_half_up(weeks, 0))
        )
    years = round_half_up(Fraction(days) / DAYS_IN_A_YEAR, 1)
    return say_count("%(number)s year", "%(number)s years", years, number=number(years))


def say_hours(hours: Decimal, number: Callable[[Decimal], str] = _plainly) -> str:
    """Hours to one decimal, exactly half going up: `4.5`, `2`; what is above nothing is never `0`.

    A total is rounded once, from what it is exactly, and so need not be the sum of what is shown beside it.
    """
    if 0 < hours < LEAST_HOURS:
        return f"< {number(Decimal('0.1'))}"
    return number(round_half_up(hours, 1))
