"""Hull numbers against 33 CFR 181.25 and Implementing Regulation (EU) 2017/1; no library reads them."""

from __future__ import annotations

import pytest

from buildlog.compute.identity.numbers import choose_year, read_hin, read_year

pytestmark = pytest.mark.outside

# Text, format, maker, serial, (year, month), model year: by the letters and digits of 33 CFR 181.25, the two endings
# that were allowed before, and (EU) 2017/1 article 3. The makers are made up, see `tests/made_up.py`.
EXAMPLES = [
    ("ZZZ12345L495", "us", "ZZZ", "12345", (1994, 12), 1995),  # L is December; a year that ends in 4 near 1995
    ("ZZZD1234H394", "us", "ZZZ", "D1234", (1993, 8), 1994),  # a letter in the serial; H is August
    ("ZZZ00042M82H", "us model year", "ZZZ", "00042", (1982, 3), 1982),  # A is August, so H is March
    ("ZZZ00042C585", "us", "ZZZ", "00042", (1985, 3), 1985),  # C is March
    ("ZZZ00042K485", "us", "ZZZ", "00042", (1984, 11), 1985),  # K is November: I is a month
    ("ZZZ000420978", "us straight year", "ZZZ", "00042", (1978, 9), None),  # form from memory: month and year digits
    ("US-ZZZ12345L495", "us", "ZZZ", "12345", (1994, 12), 1995),  # 33 CFR 181.27: `US-` is no part of it
    ("ZZZ12345I495", "us", "ZZZ", "12345", (1994, 9), 1995),  # I is the ninth month, although no serial has it
    ("XX-ZZZ00042-A3-03", "eu", "ZZZ", "00042", (2003, 1), 2003),  # (EU) 2017/1 article 3, with years that agree
    ("XX-Z0Z00042-A3-03", "eu", "Z0Z", "00042", (2003, 1), 2003),  # a digit in the maker's code
]


@pytest.mark.parametrize(("text", "form", "maker", "serial", "built", "model_year"), EXAMPLES)
def test_parts_of_a_number(
    text: str, form: str, maker: str, serial: str, built: tuple[int, int], model_year: int | None
) -> None:
    """Each number is read into its parts, and nothing is found to be wrong with it."""
    hin = read_hin(text)
    assert (hin.format, hin.maker, hin.serial, hin.model_year) == (form, maker, serial, model_year)
    assert (hin.year, hin.month) == built
    assert (hin.status, hin.findings) == ("consistent", ())


def test_dates_that_contradict_each_other() -> None:
    """No year that ends in 3 is within one year of the model year 1999, so the number is inconsistent."""
    hin = read_hin("XX-ZZZ00042-A3-99")
    assert (hin.country, hin.maker, hin.serial) == ("XX", "ZZZ", "00042")
    assert (hin.month, hin.year, hin.model_year, hin.status) == (1, None, 1999, "inconsistent")
    assert [(f.rule, f.severity) for f in hin.findings] == [("hin-dates", "warning")]


def test_two_years_as_near() -> None:
    """A last digit five off the model year has two years as near: 1994 and 2004 for 1999. Ambiguous."""
    assert read_hin("ZZZ12345L499").status == "ambiguous"


@pytest.mark.parametrize(
    ("digit", "model_year", "year"),
    [(4, 1995, 1994), (5, 1995, 1995), (6, 1995, 1996), (9, 2000, 1999), (0, 1999, 2000), (3, 1999, None)],
)
def test_decade(digit: int, model_year: int, year: int | None) -> None:
    """The year with that last digit at most one off the model year, across decades and the century."""
    assert choose_year(digit, model_year) == year


def test_century() -> None:
    """Hull numbers began in November 1972: 72–99 are of the last century, 00–71 of this one."""
    assert [read_year(digits) for digits in ("72", "99", "00", "71")] == [1972, 1999, 2000, 2071]


MODEL_YEAR_LETTERS = list(zip("ABCDEFGHIJKL", (8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6, 7), strict=True))


@pytest.mark.parametrize("letter_month", MODEL_YEAR_LETTERS)
def test_model_year_form_counts_from_august(letter_month: tuple[str, int]) -> None:
    """1972–1984 form: A is August of the year before the model year, F is January, L is July."""
    letter, month = letter_month
    hin = read_hin(f"ZZZ00042M80{letter}")
    assert (hin.month, hin.year) == (month, 1979 if month >= 8 else 1980)


@pytest.mark.parametrize(
    "text",
    [
        "ZZZ1234IL495",  # I in the serial: 33 CFR 181.25
        "ZZZ12345N495",  # no thirteenth month
        "ZZZ12345L49",  # eleven characters
        "XX-ZZZ00042-A3-9",  # thirteen
        "ZZZ12345L49\u0665",  # an Arabic-Indic digit
        "",
    ],
)
def test_unreadable(text: str) -> None:
    """What fits no form is an error, and nothing is read from it."""
    hin = read_hin(text)
    assert (hin.status, hin.format, hin.maker) == ("unreadable", None, None)
    assert [(f.rule, f.severity) for f in hin.findings] == [("hin-form", "error")]


@pytest.mark.parametrize("text", ["ZZZ000421378", "ZZZ000420985", "ZZZ000420672", "ZZZ00042M90A"])
def test_old_endings_outside_their_time(text: str) -> None:
    """Month 13, September 1985, June 1972, August 1989: not from November 1972 to 1984, so inconsistent."""
    assert read_hin(text).status == "inconsistent"
