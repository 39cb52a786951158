"""Spans of days and hours of work as people say them; the arithmetic stands beside each."""

from __future__ import annotations

from decimal import Decimal

import pytest

from buildlog.render.language import Words
from buildlog.spans import say_hours, say_span


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (0, "0 days"),
        (1, "1 day"),
        (3, "3 days"),
        (27, "27 days"),
        (28, "4 weeks"),  # 28 / 7
        (31, "4 weeks"),  # 4.43
        (32, "5 weeks"),  # 4.57
        (35, "5 weeks"),
        (361, "52 weeks"),  # 51.57
        (364, "52 weeks"),
        (365, "1 year"),  # 0.9993 of a mean year
        (383, "1 year"),  # 1.0486
        (384, "1.1 years"),  # 1.0514
        (730, "2 years"),  # 1.9987
        (6137, "16.8 years"),  # 16.8025: 6137 / 365.2425
        (7305, "20 years"),  # 20.0004, and not 2E+1
        (36524, "100 years"),
        (Decimal("9.5"), "9.5 days"),  # the middle of waits of 9 and of 10 days
        (Decimal("31.5"), "5 weeks"),  # 4.5, half up
    ],
)
def test_days_are_said_as_people_say_them(days: int | Decimal, said: str) -> None:
    """Days up to 27, weeks to the nearest up to 364, then mean Gregorian years to one decimal."""
    assert say_span(days) == said


@pytest.mark.parametrize(("days", "said"), [(27, "27 days"), (28, "4 weeks"), (29, "5 weeks"), (35, "5 weeks")])
def test_within_so_many_weeks_is_never_too_short(days: int, said: str) -> None:
    """29 days are not within 4 weeks, which are 28."""
    assert say_span(days, at_most=True) == said


def test_spans_never_shrink() -> None:
    """A longer time is never said to be a shorter one: days, weeks and years follow each other without a step back."""
    sizes = {"day": Decimal(1), "week": Decimal(7), "year": Decimal("365.2425")}
    spans = [say_span(days).rstrip("s").split() for days in range(1, 9000)]
    lengths = [Decimal(number) * sizes[unit] for number, unit in spans]
    assert lengths == sorted(lengths)


@pytest.mark.parametrize(
    ("hours", "said"),
    [("0", "0"), ("0.01", "< 0.1"), ("0.0499", "< 0.1"), ("0.05", "0.1"), ("0.25", "0.3"), ("0.5", "0.5"),
     ("1.886", "1.9"), ("1.95", "2"), ("4.50", "4.5"), ("20", "20"), ("1234.54", "1234.5")],
)  # fmt: skip
def test_hours_are_said_to_one_decimal(hours: str, said: str) -> None:
    """Half up, without a zero behind the point, and what is above nothing is never nothing."""
    assert say_hours(Decimal(hours)) == said


def test_a_page_says_them_in_its_own_decimals() -> None:
    """German writes a comma (CLDR); the words are the page's, in English."""
    words = Words("de")
    assert words.span(6137) == "16,8 years"
    assert words.hours(Decimal("1234.54")) == "1.234,5\u00a0h"
