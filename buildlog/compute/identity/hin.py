"""What does a hull identification number say, and can it be one?

United States: 33 CFR 181.25 (12 characters) and the two endings allowed from November 1972 to 1984. Europe and the
United Kingdom: Implementing Regulation (EU) 2017/1, article 3 (14 characters). No form has a check digit, so a number
can be well-formed and consistent and no more than that.
"""

from __future__ import annotations

import re
from typing import Literal

from buildlog.compute.identity.vin import Finding, upper_ascii
from buildlog.frozen import frozen

HinFormat = Literal["us", "us model year", "us straight year", "eu"]
HinStatus = Literal["consistent", "inconsistent", "ambiguous", "unreadable"]

MONTH_LETTERS = "ABCDEFGHIJKL"
"A is January … L is December; I is a month here although no serial has it: 33 CFR 181.25."
FIRST_YEAR = 1972
"Hull numbers began on 1 November 1972; two digits of a year below 72 are of the next century."
LAST_OLD_YEAR = 1984
"The two old endings were allowed until mid 1984."
US_START = "(?P<maker>[A-Z0-9]{3})(?P<serial>[A-HJ-NPR-Z0-9]{5})"
"Maker's code, and a serial of letters or digits, but not I, O or Q: 33 CFR 181.25."
EU_START = "(?P<country>[A-Z]{2})(?P<maker>[A-Z0-9]{3})(?P<serial>[A-Z0-9]{5})"
"Country, maker, serial: (EU) 2017/1 article 3; the letters of a serial are left to ISO 10087, which was not at hand."
PATTERNS: tuple[tuple[HinFormat, re.Pattern[str]], ...] = (
    ("us", re.compile(US_START + r"(?P<month>[A-L])(?P<digit>\d)(?P<model>\d\d)", re.ASCII)),
    ("us model year", re.compile(US_START + r"M(?P<model>\d\d)(?P<month>[A-L])", re.ASCII)),
    ("us straight year", re.compile(US_START + r"(?P<mm>\d\d)(?P<yy>\d\d)", re.ASCII)),
    ("eu", re.compile(EU_START + r"(?P<month>[A-L])(?P<digit>\d)(?P<model>\d\d)", re.ASCII)),
)
"Each form of the number, without dashes. The makers' codes are as assigned, so their letters are not narrowed down."


@frozen
class HinReading:
    """A HIN as read; where it is unreadable, nothing but the text and the findings."""

    written: str
    "as in the log"
    text: str
    "upper case, without dashes and without a `US-` printed before the 12 characters (33 CFR 181.27)"
    status: HinStatus
    "`inconsistent`: no year with that last digit is within one year of the model year; `ambiguous`: two are as near"
    format: HinFormat | None = None
    "`us` and its two old endings, or `eu`; None: unreadable"
    country: str | None = None
    "two letters, in the 14-character form only"
    maker: str | None = None
    "the maker's three characters"
    serial: str | None = None
    "unique for one country and maker only: (EU) 2017/1 article 3(1)(c)"
    month: int | None = None
    "month of build or certification, 1–12"
    year: int | None = None
    "year of build or certification; None where it cannot be told"
    model_year: int | None = None
    "None in the straight-year form"
    findings: tuple[Finding, ...] = ()
    "what is to be told of it; none where all is well"


def read_hin(text: str) -> HinReading:
    """What a HIN says and what is wrong with it. Dashes and spaces of the printed form may be typed."""
    # Plates print dashes, papers leave them out; neither is part of the number.
    hin = re.sub(r"[- ]", "", upper_ascii(text))
    if len(hin) == 14 and hin.startswith("US"):
        hin = hin[2:]
    for form, pattern in PATTERNS:
        match = pattern.fullmatch(hin)
        if match:
            return _read_form(text, hin, form, match.groupdict())
    return HinReading(written=text, text=hin, status="unreadable", findings=(_tell_form(hin),))


def _read_form(written: str, hin: str, form: HinFormat, parts: dict[str, str]) -> HinReading:
    month, year, model_year = _read_dates(form, parts)
    status: HinStatus = "consistent"
    if year is None:
        # Told apart, as the owner can mend a slip, and can only ask about a tie.
        status = "ambiguous" if "digit" in parts and _is_tie(parts) else "inconsistent"
    return HinReading(
        written=written,
        text=hin,
        status=status,
        format=form,
        country=parts.get("country"),
        maker=parts["maker"],
        serial=parts["serial"],
        month=month,
        year=year,
        model_year=model_year,
        findings=() if status == "consistent" else (_tell_dates(hin, status),),
    )


def _read_dates(form: HinFormat, parts: dict[str, str]) -> tuple[int | None, int | None, int | None]:
    """Month, year and model year; the year is None where the parts contradict each other."""
    if form == "us straight year":
        month, year = int(parts["mm"]), read_year(parts["yy"])
        return (month, year, None) if 1 <= month <= 12 and _was_old_form(year, month) else (None, None, None)
    model_year = read_year(parts["model"])
    letter = MONTH_LETTERS.index(parts["month"])
    if form == "us model year":
        # The model year runs from August: A is August of the year before, F is January.
        month, year = (letter + 7) % 12 + 1, model_year - (letter < 5)
        return month, year if _was_old_form(year, month) else None, model_year
    return letter + 1, choose_year(int(parts["digit"]), model_year), model_year


def read_year(two_digits: str) -> int:
    """The year that two digits stand for: 72 to 99 are of the last century, 00 to 71 of this one."""
    number = int(two_digits)
    return 1900 + number if number >= FIRST_YEAR - 1900 else 2000 + number


def choose_year(digit: int, model_year: int) -> int | None:
    """The year with that last digit that is at most one year off the model year, or None."""
    # Our own bound: a hull of a model year is built in the year before, in it, or, late, in the one after.
    near = (year for year in (model_year - 1, model_year, model_year + 1) if year % 10 == digit)
    return next(near, None)


def _is_tie(parts: dict[str, str]) -> bool:
    # Five years off either way: one digit cannot say which.
    return (int(parts["digit"]) - int(parts["model"])) % 10 == 5


def _was_old_form(year: int, month: int) -> bool:
    return (FIRST_YEAR, 11) <= (year, month) <= (LAST_OLD_YEAR, 12)


def _tell_form(hin: str) -> Finding:
    message = f"`{hin}` is not a hull identification number: {len(hin)} characters in no known format"
    help = "12 characters as in `ZZZ12345L495`, without I, O, Q in 4 to 8; or 14 as in `XX-ZZZ00042-A3-03`"
    return Finding(rule="hin-form", message=message, help=help)


def _tell_dates(hin: str, status: str) -> Finding:
    message = f"the dates in the hull number `{hin}` are {status}: `{hin[-4:]}`"
    return Finding(rule="hin-dates", message=message, help=HELP_DATES, severity="warning")


HELP_DATES = "check the plate: the year of build and the model year differ by one at most"
