"""VIN reading against 49 CFR part 565 and the library `vininfo`.

All numbers but the regulation's own example are made up from its tables: see `tests/made_up.py`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from vininfo import Vin

from buildlog.compute.identity.numbers import (
    VALUES,
    WEIGHTS,
    YEAR_CODES,
    choose_light_year,
    compute_check_digit,
    list_model_years,
    read_vin,
    sum_products,
)
from tests import made_up
from tests.made_up import ELSEWHERE, IN_NORTH_AMERICA, REGULATION_EXAMPLE, TABLE_III, change_digit, make_vin

pytestmark = pytest.mark.outside

X_HOLDS = make_vin(digit="X")
X_FAILS = change_digit(X_HOLDS, "1")
FILLED = change_digit(make_vin(f"{ELSEWHERE}ZZZ99", year="T"), "Z")
"As makers outside North America write it, who fill positions 4 to 6 and 9 with Z."


@pytest.mark.parametrize(
    ("vin", "total", "digit"),
    [
        (REGULATION_EXAMPLE, 411, "4"),  # 49 CFR 565.15(c), Table VI, the regulation's worked example
        ("1" * 17, 89, "1"),  # each value is 1: the sum is that of the weights in Table IV, and 89 mod 11 = 1
        ("0" * 17, 0, "0"),
    ],
)
def test_sums_of_the_regulation(vin: str, total: int, digit: str) -> None:
    """The weighted sum, and the digit that it makes, are those of the regulation's example and tables."""
    assert sum_products(vin) == total
    assert compute_check_digit(vin) == digit == vin[8]


@pytest.mark.parametrize("digit", "0123456789X")
def test_every_digit(digit: str) -> None:
    """A number that was made from the regulation's tables has the digit that it was made for, and no other passes."""
    vin = make_vin(digit=digit)
    assert sum_products(vin) == made_up.sum_products(vin)
    assert compute_check_digit(vin) == vin[8] == digit
    for sign in VALUES:
        changed = change_digit(vin, sign)
        assert (read_vin(changed).check_digit == "holds") is (sign == digit)
        assert Vin(changed).verify_checksum(check_year=False) is (sign == digit)


def test_a_sign_that_is_no_digit_fails() -> None:
    """A Z in position 9 is a character of a VIN (565.13(g)) and no check digit."""
    assert read_vin(FILLED).check_digit == "fails"
    assert compute_check_digit(FILLED) == "0123456789X"[made_up.sum_products(FILLED) % 11]


def test_regulation_products() -> None:
    """The seventeen products of 49 CFR 565.15(c), Table VI, one by one."""
    products = [VALUES[c] * w for c, w in zip(REGULATION_EXAMPLE, WEIGHTS, strict=True)]
    assert products == [8, 49, 24, 5, 32, 15, 18, 80, 0, 45, 56, 7, 6, 40, 12, 12, 2]


def test_table_of_values() -> None:
    """49 CFR 565.15(c), Table III, letter by letter; I, O and Q have no value."""
    assert TABLE_III == VALUES
    assert not {*"IOQ"} & VALUES.keys()


def test_what_the_digit_misses() -> None:
    """Of the 544 one-character slips in the regulation's example 39 keep a passing digit, none of them in position 9.

    17 positions x 32 other characters = 544. The count of 39 was computed independently beforehand.
    """
    slips = [
        (position, REGULATION_EXAMPLE[:position] + character + REGULATION_EXAMPLE[position + 1 :])
        for position in range(17)
        for character in VALUES
        if character != REGULATION_EXAMPLE[position]
    ]
    missed = [position for position, vin in slips if compute_check_digit(vin) == vin[8]]
    assert len(slips) == 544
    assert len(missed) == 39
    assert 8 not in missed


def test_no_neighbours_swapped_pass() -> None:
    """No swap of two different neighbours in the regulation's example keeps a passing digit (computed beforehand)."""
    vin = REGULATION_EXAMPLE
    for i in range(16):
        swapped = vin[:i] + vin[i + 1] + vin[i] + vin[i + 2 :]
        if swapped != vin:
            assert compute_check_digit(swapped) != swapped[8]


@given(st.text(alphabet=sorted(VALUES), min_size=17, max_size=17))
def test_digit_as_vininfo(vin: str) -> None:
    """`vininfo` finds the same check digit on any string of the alphabet.

    `check_year=False`: by default it also fails numbers with U, Z or 0 in position 10. Makers that it flags as not
    using the digit always fail there, so for those only our own answer is bound, by the completed number below.
    """
    digit = compute_check_digit(vin)
    theirs = Vin(vin[:8] + digit + vin[9:])
    uses_digit = getattr(theirs.assembler, "uses_sae_checkdigit", True)
    assert theirs.verify_checksum(check_year=False) is uses_digit
    wrong = next(c for c in "0123456789X" if c != digit)
    assert not Vin(vin[:8] + wrong + vin[9:]).verify_checksum(check_year=False)


def test_year_code_zero_keeps_its_digit() -> None:
    """A 0 in position 10 stands for no year (Table VII), and weighs nothing in the digit."""
    vin = make_vin(f"{ELSEWHERE}DM26R", year="0")
    assert Vin(vin).verify_checksum(check_year=False)
    reading = read_vin(vin)
    assert (reading.check_digit, reading.model_years) == ("holds", ())


# Positions 4 to 8, code of the year, year of a light vehicle by Table VII: a digit or a letter in position 7.
LIGHT_YEARS = [
    ("CM826", "3", 2003),
    ("CZ43D", "3", 2003),
    ("CE3LG", "L", 2020),
    ("YF5H5", "H", 2017),
    ("NN1U1", "K", 2019),
    ("NN191", "K", 1989),
    ("NN1A1", "3", 2033),
]


@pytest.mark.parametrize(("attributes", "code", "year"), LIGHT_YEARS)
def test_light_year(attributes: str, code: str, year: int) -> None:
    """49 CFR 565.15(b): a digit in position 7 stands for 1980–2009, a letter for 2010–2039."""
    vin = make_vin(IN_NORTH_AMERICA + attributes, code)
    assert choose_light_year(vin) == year
    assert year in list_model_years(vin)


@pytest.mark.parametrize(
    ("code", "years"),
    [
        ("A", (1980, 2010)),
        ("H", (1987, 2017)),
        ("J", (1988, 2018)),
        ("L", (1990, 2020)),
        ("R", (1994, 2024)),
        ("S", (1995, 2025)),
        ("T", (1996, 2026)),
        ("Y", (2000, 2030)),
        ("1", (2001, 2031)),
        ("9", (2009, 2039)),
        ("U", ()),
        ("Z", ()),
        ("0", ()),
    ],
)
def test_year_codes(code: str, years: tuple[int, ...]) -> None:
    """49 CFR 565.15(d), Table VII: thirty codes without I, O, Q, U, Z and 0, from 1980 and again from 2010."""
    assert list_model_years(make_vin(year=code)) == years


def test_years_as_vininfo() -> None:
    """`vininfo` lists the same candidates for every code, less the years that lie too far ahead of its clock."""
    assert len(YEAR_CODES) == 30
    for code in YEAR_CODES:
        vin = make_vin(year=code)
        ours, theirs = set(list_model_years(vin)), set(Vin(vin).years)
        assert theirs and theirs <= ours
        assert min(ours) in theirs
        assert all(year > 2026 for year in ours - theirs)


# ------------------------------------------------------------------- what is said


def test_length_and_alphabet_are_errors() -> None:
    """49 CFR 565.13(b) and (g): 17 characters without I, O, Q. Each wrong one is named with its position."""
    short = read_vin("1G4AH59H45G11834")
    assert [f.message for f in short.findings] == ["the VIN `1G4AH59H45G11834` has 16 characters, not 17"]
    wrong = read_vin("IG4AH59H45G1l834O")
    assert [(f.severity, f.message) for f in wrong.findings] == [
        ("error", "the VIN has `I` in position 1, which never appears in a VIN"),
        ("error", "the VIN has `O` in position 17, which never appears in a VIN"),
    ]
    assert [f.help for f in wrong.findings] == [
        "check the plate: it may be `1`",
        "check the plate: it may be `0`",
    ]
    assert wrong.text == "IG4AH59H45G1L834O"
    assert (wrong.check_digit, wrong.well_formed) == ("not computed", False)


def test_characters_that_only_look_right() -> None:
    """A Cyrillic A, a dotless i and a sharp s stay what they are, and are told by their code point."""
    found = read_vin("1G4\u0410H59H45G118341").findings
    assert [f.message for f in found] == ["the VIN has `\u0410` (U+0410) in position 4, which never appears in a VIN"]
    dotless = read_vin("\u0131G4AH59H45G118341").findings
    assert [f.message for f in dotless] == ["the VIN has `\u0131` (U+0131) in position 1, which never appears in a VIN"]
    assert len(read_vin("\u00dfG4AH59H45G118341").text) == 17


def test_blanks_and_small_letters() -> None:
    """Blanks around a number and small letters are put right; a blank inside is an error."""
    assert read_vin(" 1g4ah59h45g118341 ").check_digit == "holds"
    assert "a space in position 4" in read_vin("1G4 AH59H45G11834").findings[0].message


@pytest.mark.parametrize("vin", ["00000000000000000", "11111111111111111", "01010101010101010", "ZZZZZZZZZZZZZZZZZ"])
def test_fillers(vin: str) -> None:
    """A filler is an error, although 00000000000000000 (sum 0) and 11111111111111111 (89 mod 11 = 1) pass the digit."""
    assert [f.rule for f in read_vin(vin).findings] == ["vin-filler"]


@pytest.mark.parametrize(
    ("vin", "market", "severity"),
    [
        (X_FAILS, None, "error"),
        (X_FAILS, "north-america", "error"),
        (X_FAILS, "elsewhere", "note"),
        (FILLED, None, "note"),
        (FILLED, "elsewhere", "note"),
        (FILLED, "north-america", "error"),
    ],
)
def test_when_a_failing_digit_is_an_error(vin: str, market: str | None, severity: str) -> None:
    """Required by 49 CFR 565.13(c) for North America: stated, or first character 1–5 and nothing stated."""
    assert [(f.rule, f.severity) for f in read_vin(vin, market=market).findings] == [("vin-check-digit", severity)]


def test_numbers_of_another_length() -> None:
    """Up to 1981 a number of another length is kept as stamped; on a later trailer or boat it is doubted as well."""
    assert [f.severity for f in read_vin("SWB 1234-A", year=1968).findings] == ["note"]
    assert [f.severity for f in read_vin("SWB1234", year=1990, kind="trailer").findings] == ["warning"]
    assert [f.severity for f in read_vin("SWB1234", year=1968, kind="trailer").findings] == ["note"]
    assert [f.severity for f in read_vin("SWB1234", year=1990).findings] == ["error"]


@pytest.mark.parametrize("vin", [REGULATION_EXAMPLE, X_FAILS, FILLED, "IOQ", "0" * 17])
def test_never_called_verified(vin: str) -> None:
    """No message calls a number verified, valid, genuine or correct: a passing digit is weak evidence."""
    words = " ".join(f"{finding.message} {finding.help}" for finding in read_vin(vin).findings).lower()
    assert not any(word in words for word in ("verified", "valid", "genuine", "correct"))


# ------------------------------------------------------------------- whose numbers stand here

TOP = Path(__file__).parent.parent.parent
OTHER_CODE = "A12425GABC1234002"
"No VIN: the example of the GRid Standard in `tests/record/test_codes.py`, which has as many signs."
WRITTEN = ("buildlog", "tests", "themes", "example_project", "README.md", "DEVELOPERS.md")
VIN_SHAPE = re.compile(r"(?<![A-Za-z0-9])(?=\w*[A-Z])(?=\w*[0-9])[A-HJ-NPR-Z0-9]{17}(?![A-Za-z0-9])")
HULL_SHAPE = re.compile(
    r"(?<![A-Za-z0-9])(?:(?P<country>[A-Z]{2})-?)?(?P<maker>[A-Z][A-Z0-9]{2})[A-Z0-9]{5}-?"
    r"(?:[A-L][0-9]-?[0-9]{2}|[0-9]{4}|M[0-9]{2}[A-L])(?![A-Za-z0-9])"
)


def test_nobody_gives_out_made_up_codes() -> None:
    """By the table of `vininfo` no country and no maker has the codes that our numbers begin with."""
    assert Vin(REGULATION_EXAMPLE).country == "United States"
    for start in (f"{IN_NORTH_AMERICA}GD49A", f"{ELSEWHERE}GD49A", "FNK2400D"):
        number = Vin(make_vin(start))
        assert (number.country, number.manufacturer) == (None, "UnsupportedBrand")
        assert start[:2] in (IN_NORTH_AMERICA[:2], ELSEWHERE[:2])


def test_no_number_is_that_of_somebody_s_machine() -> None:
    """Each VIN and hull number in program, guide and tests is made up, or the example that the regulation prints."""
    paths = [path for name in WRITTEN for path in [TOP / name, *(TOP / name).rglob("*")] if path.is_file()]
    texts = [
        path.read_text(encoding="utf-8") for path in paths if path.suffix in (".py", ".md", ".html", ".js", ".yaml")
    ]
    vins = {vin for text in texts for vin in VIN_SHAPE.findall(text)}
    assert REGULATION_EXAMPLE in vins
    vins -= {REGULATION_EXAMPLE, OTHER_CODE}
    assert {vin for vin in vins if not vin.startswith((IN_NORTH_AMERICA[:2], ELSEWHERE[:2]))} == set()
    hulls = [match for text in texts for match in HULL_SHAPE.finditer(text)]
    assert {match["country"] for match in hulls} == {None, "US", "XX"}
    assert {match["maker"] for match in hulls if match["country"] != "XX"} == {"ZZZ"}
