"""Single values against the standard library's calendar and decimals, which know them from elsewhere."""

from __future__ import annotations

import calendar
import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.read.kinds import PartialDate, Unreadable, make_short_name, read_date, read_key, read_partial_date
from buildlog.read.numbers import read_number
from buildlog.read.spelling import explain_date, explain_number


def help_of(text: str) -> str:
    with pytest.raises(Unreadable) as caught:
        read_date(text)
    return caught.value.help


@pytest.mark.outside
@pytest.mark.parametrize("year", [1900, 2000, 2023, 2024, 2100, 2400])
def test_dates_are_those_of_the_calendar(year: int) -> None:
    """Every month ends where it ends in RFC 3339 section 5.7 and its leap years, by the calendar of the library."""
    for month in range(1, 13):
        last = calendar.monthrange(year, month)[1]
        assert read_date(f"{year}-{month:02}-{last}") == datetime.date(year, month, last)
        assert help_of(f"{year}-{month:02}-{last + 1}") == f"the days of {year}-{month:02} run from 01 to {last}"


@given(st.dates(datetime.date(1000, 1, 1), datetime.date(2999, 12, 31)))
def test_a_date_in_another_spelling_is_shown_right(day: datetime.date) -> None:
    """The date that is meant is among those that are shown, whichever way it was written."""
    for text in (
        f"{day:%d.%m.%Y}",
        f"{day:%m/%d/%Y}",
        f"{day:%Y/%m/%d}",
        f"{day.year}-{day.month}-{day.day}",
        f"{day:%Y%m%d}",
    ):
        assert f"`{day}`" in explain_date(text)


def test_earliest_year() -> None:
    """The years that can be written, and those that are suggested, begin with 1000 and end with 2999."""
    assert read_date("1000-01-01").year == 1000
    assert read_date("2999-12-31").year == 2999
    assert help_of("3000-01-01") == help_of("0999-12-31") == "write year, month, day, as in `2024-05-18`"
    assert explain_date("1.1.1000") == "write year, month, day: `1000-01-01`"
    assert explain_date("1.1.0999") == "write year, month, day, as in `2024-05-18`"


@given(st.decimals(-(10**11), 10**11, places=3))
def test_a_number_is_its_decimal(value: Decimal) -> None:
    """Plain decimal text is read digit by digit, trailing zeros kept."""
    if value == 0:
        value = abs(value)
    assert str(read_number(f"{value:f}")) == f"{value:f}"


@given(st.decimals(1, 10**9, places=2))
def test_other_ways_to_write_a_number_are_put_right(value: Decimal) -> None:
    """Written the German, Swiss, French or English way, with a sign, a code or a plus, the help says the one way."""
    plain = f"{value:.2f}"
    english = f"{value:,.2f}"
    german = english.translate(str.maketrans(",.", ".,"))
    for text in (
        german,
        f"{german} €",
        f"€ {german}",
        f"£{english}",
        f"{english} GBP",
        english.replace(",", "'"),
        f"+{plain}",
    ):
        if text != plain:
            assert f"`{plain}`" in explain_number(text), text
    assert f"`{plain}`" in explain_number(english.replace(",", "\u202f").replace(".", ","))


@given(st.text())
def test_a_number_or_its_help(text: str) -> None:
    """Any text is a number or gets a remedy; what the remedy shows is itself a number."""
    try:
        read_number(text)
    except Unreadable as why:
        shown = why.help.split(": ")[0].split("`")[1::2]
        assert all(read_number(number) is not None for number in shown)


@given(st.text())
def test_a_short_name_made_of_any_text_is_one(text: str) -> None:
    """`make_short_name` gives a short name or nothing, and a short name is its own."""
    key = make_short_name(text)
    assert key == "" or read_key(key) == key
    assert make_short_name(key) == key


def test_partial_dates_know_how_much_they_say() -> None:
    """A year and a month begin with their first day; only a whole date is exact."""
    assert read_partial_date("1998") == PartialDate("1998")
    days = [(d.earliest.isoformat(), d.exact) for d in map(read_partial_date, ("1998", "1998-06", "1998-06-12"))]
    assert days == [("1998-01-01", False), ("1998-06-01", False), ("1998-06-12", True)]
