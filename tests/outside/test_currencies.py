"""Currencies and their minor units against ISO 4217 and CLDR.

ISO 4217 list one of 2026-01-01 as packed in `iso4217` 1.16.20260101; CLDR as packed in `babel` 2.18.0.
"""

from __future__ import annotations

import pytest
from babel.core import get_global
from babel.numbers import get_currency_precision, list_currencies
from iso4217 import Currency

from buildlog.compute.quantities.money import CURRENCIES, CURRENT, WITHDRAWN_DIGITS, minor_digits

pytestmark = pytest.mark.outside

WITHDRAWN = {code for codes in WITHDRAWN_DIGITS.values() for code in codes.split()}

# ISO 4217 gives these no minor unit: metals, units of account, the test code and "no currency".
COUNTS_IN_NOTHING = {"XAG", "XAU", "XBA", "XBB", "XBC", "XBD", "XDR", "XPD", "XPT", "XSU", "XTS", "XUA", "XXX"}

# CLDR *prints* these with no decimals although ISO 4217 counts two (IQD three): sums are kept by ISO.
CLDR_PRINTS_FEWER = set("AFN ALL IQD IRR KPW LAK LBP MGA MMK RSD SOS SYP YER".split())


def test_every_current_currency_is_known() -> None:
    """The list is ISO 4217 list one, less the codes that count in no minor unit."""
    assert {currency.code for currency in Currency} - CURRENT == COUNTS_IN_NOTHING
    assert {currency.code for currency in Currency} >= CURRENT


def test_minor_units_are_those_of_iso_4217() -> None:
    """Every current currency counts in as many decimals as ISO 4217 says."""
    stated = {currency.code: currency.exponent for currency in Currency if currency.exponent is not None}
    assert {code: minor_digits(code) for code in stated} == stated


def test_cldr_differs_for_thirteen_currencies_and_no_more() -> None:
    """CLDR's decimals for print differ from ISO's for exactly the thirteen that are known, all of them 0."""
    printed = {code: get_currency_precision(code) for code in CURRENT}
    differing = {code: digits for code, digits in printed.items() if digits != minor_digits(code)}
    assert differing == dict.fromkeys(CLDR_PRINTS_FEWER, 0)
    assert len(differing) == 13


def test_withdrawn_currencies_are_known_to_cldr() -> None:
    """A withdrawn code is one that CLDR has a name for and list one no longer has."""
    assert set(list_currencies("en")) >= WITHDRAWN
    assert not WITHDRAWN & {currency.code for currency in Currency}
    assert WITHDRAWN | CURRENT == CURRENCIES


def test_withdrawn_minor_units_against_cldr() -> None:
    """The decimals of withdrawn currencies are CLDR's, but for four that CLDR merely prints without.

    SLL, STD, TMM and ZMK had hundredths in ISO 4217 lists of their time (from memory); CLDR prints none.
    """
    fractions = get_global("currency_fractions")
    cldr = {code: fractions[code][0] if code in fractions else 2 for code in WITHDRAWN}
    assert {code for code in WITHDRAWN if cldr[code] != minor_digits(code)} == {"SLL", "STD", "TMM", "ZMK"}


@pytest.mark.parametrize(
    "code", "ATS BEF CYP DEM EEK ESP FIM FRF GRD HRK IEP ITL LTL LUF LVL MTL NLG PTE SIT SKK BGN".split()
)
def test_every_currency_that_became_the_euro_is_known(code: str) -> None:
    """Council Regulation (EC) No 2866/98 and its later amendments: the twenty-one currencies that the euro replaced."""
    assert code in WITHDRAWN
