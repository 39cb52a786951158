"""How amounts, dates and quantities are written, against CLDR as Babel and other printings of it have it."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from babel import numbers
from babel.localedata import locale_identifiers
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.service.due_status import STATES
from buildlog.read.entry import FATES
from buildlog.read.log_settings import MACHINE_KINDS
from buildlog.read.orders import SPECS, UNTAXED
from buildlog.render.language import MINUS, Words
from buildlog.render.pages.choices import CHOICES
from buildlog.render.pieces import Link, fill, hold
from buildlog.text import join_words

LOCALES = ["en-GB", "en-US", "de-DE", "fr-FR", "sv-SE", "de-CH", "nl-NL", "en-IN", "pl-PL", "ja-JP", "pt-BR", "da-DK"]

# Printed by Babel 2.18 (CLDR); see the table of formats in the documents of CLDR. Blanks are U+00A0 and U+202F.
CLDR_AMOUNTS = [
    ("en-US", "USD", "1234.50", "$1,234.50"),
    ("en-GB", "GBP", "1234.50", "£1,234.50"),
    ("de-DE", "EUR", "1234.50", "1.234,50\u00a0€"),
    ("fr-FR", "EUR", "1234.50", "1\u202f234,50\u00a0€"),
    ("sv-SE", "SEK", "1234.50", "1\u00a0234,50\u00a0kr"),
    ("de-CH", "CHF", "1234.50", "CHF\u00a01\u2019234.50"),
    ("en-IN", "INR", "1234567.89", "₹12,34,567.89"),
    ("en-US", "KWD", "1234.500", "KWD1,234.500"),
    ("ja-JP", "JPY", "1234", "\uffe51,234"),
]


@pytest.mark.outside
@pytest.mark.parametrize(("language", "currency", "amount", "expected"), CLDR_AMOUNTS)
def test_amounts_are_written_as_cldr_has_them(language: str, currency: str, amount: str, expected: str) -> None:
    """Each language's own form, with the decimals of ISO 4217."""
    assert Words(language).money(Decimal(amount), currency) == expected


def test_every_language_of_cldr_is_written() -> None:
    """No language that Babel knows fails, one whose own digits are not Latin neither: Babel writes Latin ones there."""
    for language in sorted(locale_identifiers()):
        words = Words(language.replace("_", "-"))
        assert words.money(Decimal("1234.50"), "GBP"), language
        assert words.day(datetime.date(2024, 5, 18)), language
    assert Words("bn-BD").number(Decimal("1234.5")) == numbers.format_decimal(Decimal("1234.5"), locale="bn_BD")


@pytest.mark.outside
@given(
    minor=st.integers(0, 10**12),
    digits=st.sampled_from([0, 2, 3]),
    language=st.sampled_from(LOCALES),
    currency=st.sampled_from(["GBP", "EUR", "SEK", "JPY", "KWD"]),
)
def test_the_short_way_writes_what_babel_writes(minor: int, digits: int, language: str, currency: str) -> None:
    """Grouping by thousands ourselves gives Babel's text for every amount, in every language tried."""
    amount = Decimal(minor).scaleb(-digits)
    words = Words(language)
    shape = words.locale.currency_formats["standard"].pattern.split(";")[0]
    shape = shape.replace(".00", "." + "0" * digits if digits else "")
    theirs = numbers.format_currency(amount, currency, shape, locale=words.locale, currency_digits=False)
    assert words.money(amount, currency) == theirs
    plain = numbers.format_decimal(amount.normalize(), locale=words.locale, decimal_quantization=False)
    assert words.number(amount) == plain


def test_below_zero_has_a_true_minus_sign() -> None:
    """U+2212 stands in front of the whole amount, as wide as a digit."""
    assert Words("en-GB").money(Decimal("-12.50"), "GBP") == f"{MINUS}£12.50"
    assert Words("en-GB").number(Decimal("-0.5")) == f"{MINUS}0.5"


def test_a_value_keeps_the_decimals_that_it_has() -> None:
    """12.50 hours are written 12.5; an amount of money keeps its minor unit."""
    words = Words("en-GB")
    assert words.hours(Decimal("12.50")) == "12.5\u00a0h"
    assert words.number(Decimal(112530)) == "112,530"
    assert words.number(Decimal("100")) == "100"
    assert words.money(Decimal("100.00"), "GBP") == "£100.00"
    assert words.round_money(Decimal("1E+3"), "GBP") == "£1,000"
    assert words.round_money(Decimal("2.50"), "GBP") == "£2.5"


def test_dates_are_written_in_the_language() -> None:
    """Day, month and year in the order of the language."""
    day = datetime.date(2024, 5, 18)
    assert Words("en-GB").day(day) == "18 May 2024"
    assert Words("en-US").day(day) == "May 18, 2024"
    assert Words("de-DE").month(day) == "Mai 2024"
    assert Words("en-GB").axis_month(datetime.date(2024, 1, 1)) == "2024"
    assert Words("en-GB").axis_month(day) == "May"


def test_an_unknown_language_is_written_as_british_english() -> None:
    """No language tag stops a log from being published."""
    assert Words("xx-YY").money(Decimal("1.00"), "GBP") == "£1.00"


@pytest.mark.parametrize("number", range(5))
def test_a_list_in_english(number: int) -> None:
    """On a page as in a terminal: commas, and a word alone before the last (common British practice, no source)."""
    words, some = Words("en-GB"), list("abcd"[:number])
    assert (words.join(some), words.join_or(some)) == (join_words(some), join_words(some, "or"))


def test_links_stand_where_a_text_has_room_for_them() -> None:
    """In the order of the text, whatever the order in which they are given; nothing is lost, none is empty."""
    pump, doors = Link(text="Pump", href="a"), [Link(text="Left", href="b"), Link(text="Right", href="c")]
    pieces = [*fill(f"{hold('doors')} before {hold('pump')}.", pump=[pump], doors=doors)]
    assert pieces == [*doors, Link(text=" before "), pump, Link(text=".")]


def test_every_choice_of_an_owner_can_be_said() -> None:
    """Whatever the log may say in one of its own words; of what sort a machine is that is no other is not said."""
    assert {*CHOICES} == {*SPECS, *FATES, *UNTAXED, *MACHINE_KINDS, *STATES, "done", "dropped"} - {"other"}
    assert all(word == said for word, said in CHOICES.items())


def test_what_is_counted_is_written_as_any_number() -> None:
    """Thousands are set apart as in amounts beside it, in the way of the language; the rule of its words stays."""
    english, german = Words("en-GB"), Words("de-DE")
    assert english.say_count("%(number)s entry", "%(number)s entries", 2000) == "2,000 entries"
    assert german.say_count("%(number)s entry", "%(number)s entries", 2000) == "2.000 entries"
    assert english.say_count("%(number)s entry", "%(number)s entries", 1) == "1 entry"
    assert english.say_count("%(number)s day", "%(number)s days", 2000, number="about 2000") == "about 2000 days"
