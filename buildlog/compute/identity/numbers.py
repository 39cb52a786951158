"""What does a vehicle's or a hull's identification number say, and can it be one?

Vehicles (VIN): structure by ISO 3779, 49 CFR 565.13(b) and (g); check digit by 49 CFR 565.15(c), Tables III to VI;
model year by 49 CFR 565.15(d) and Table VII. Nothing here looks a maker up, and nothing calls a number verified: of the
544 one-character slips in the regulation's own example, 39 keep a passing digit.

Hulls (HIN): United States, 33 CFR 181.25 (12 characters) and the two endings allowed from November 1972 to 1984. Europe
and the United Kingdom: Implementing Regulation (EU) 2017/1, article 3 (14 characters). No form has a check digit, so a
number can be well-formed and consistent and no more than that. Masking for publication is in `identity`.
"""

from __future__ import annotations

import re
from typing import Literal

from buildlog.frozen import frozen

FindingSeverity = Literal["error", "warning", "note"]


@frozen
class Finding:
    """One thing to say about a number."""

    rule: str
    "stable kebab-case name of the rule"
    message: str
    "what was found: lower case, no full stop, values in backticks"
    help: str = ""
    "what would be right"
    severity: FindingSeverity = "error"
    "`error`: cannot be such a number; `warning`: the owner should look; `note`: for the record, asks for nothing"


def upper_ascii(text: str) -> str:
    """The text without blanks around it and with a–z as A–Z; every other character stays as it is.

    Full Unicode upper-casing would turn one character into another (`ı` into `I`) or into two (`ß` into `SS`).
    """
    return "".join(chr(ord(c) - 32) if "a" <= c <= "z" else c for c in text.strip())


def name_character(character: str) -> str:
    """A character as it is told to the owner: with its code point where it is not plain ASCII or cannot be seen."""
    if character.isascii() and character.isprintable() and character != " ":
        return f"`{character}`"
    return {" ": "a space"}.get(character, f"`{character}` (U+{ord(character):04X})")


LENGTH = 17
"Characters of a VIN: 49 CFR 565.13(b)."
_ROWS = ("0", "1AJ", "2BKS", "3CLT", "4DMU", "5ENV", "6FW", "7GPX", "8HY", "9RZ")
VALUES = {character: value for value, row in enumerate(_ROWS) for character in row}
"Value of each allowed character: 49 CFR 565.15(c), Table III. Its keys are the alphabet of 565.13(g)."
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"Weight of each position: 49 CFR 565.15(c), Table IV; position 9 is the check digit itself."
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
"Position 10 for 1980 to 2009, and again for 2010 to 2039: 49 CFR 565.15(d), Table VII."
LOOKALIKES = {"I": "1", "O": "0", "Q": "0"}
"Letters that no VIN has, and the digit that they are most often a misreading of. A hint, never applied."
FEWEST_DIFFERENT = 4
"A string with fewer different characters is a filler; our own rule, for all-zero and all-one strings pass the digit."
NORTH_AMERICA = "north-america"
NO_VIN_UNTIL = 1981
"Last model year before the 17 characters became the rule in the United States."
FREE_FORM_KINDS = frozenset({"trailer", "tractor", "boat", "aircraft", "other"})
"Kinds of machine that never had to carry 17 characters."

CheckDigit = Literal["holds", "fails", "not computed"]


@frozen
class VinReading:
    """A VIN as read."""

    written: str
    "as in the log"
    text: str
    "upper case, without blanks around it"
    well_formed: bool
    "17 allowed characters that are not a filler; without it nothing else was computed"
    check_digit: CheckDigit
    "`holds` is weak evidence; `fails` means little outside North America"
    expected_digit: str | None
    "what position 9 would have to be: `0`–`9` or `X`"
    model_years: tuple[int, ...]
    "years that position 10 can stand for, oldest first; means nothing outside North America"
    findings: tuple[Finding, ...]
    "what is to be told of it; none where all is well"


def read_vin(
    text: str, *, market: str | None = None, year: int | None = None, kind: str = "road vehicle"
) -> VinReading:
    """What a VIN says and what is wrong with it.

    `market` is `north-america`, `elsewhere` or None (not stated); with the year of build and the kind of machine it
    decides how strictly the number is taken.
    """
    vin = upper_ascii(text)
    # Before anything is called wrong: what never had to be a VIN is kept as it is stamped.
    if len(vin) != LENGTH and is_free_form(kind, year):
        return _give_up(text, vin, (_report_as_stamped(vin, kind, year),))
    form = (*_find_length(vin), *_find_characters(vin), *_find_filler(vin))
    if form:
        # Some characters have no value to compute a check digit from, and a placeholder would even pass it.
        return _give_up(text, vin, form)
    expected = compute_check_digit(vin)
    return VinReading(
        written=text,
        text=vin,
        well_formed=True,
        check_digit="holds" if vin[8] == expected else "fails",
        expected_digit=expected,
        model_years=list_model_years(vin),
        findings=() if vin[8] == expected else (_report_digit(vin, expected, market),),
    )


def is_free_form(kind: str, year: int | None) -> bool:
    """Whether the machine may rightly carry a number of another length."""
    # Where no year is stated the strict rule holds, so that a missing character is told and not taken as old.
    return kind in FREE_FORM_KINDS or (year is not None and year <= NO_VIN_UNTIL)


def _report_as_stamped(vin: str, kind: str, year: int | None) -> Finding:
    """A number of another length, where it may be right: from before the rule a note, else the owner should look."""
    message = f"`{vin}` is kept as stamped: it has {len(vin)} characters, but a VIN has {LENGTH}"
    if year is not None and year <= NO_VIN_UNTIL:
        return Finding(rule="vin-as-stamped", message=message, severity="note")
    hull = "a hull identification number goes under `hin:`, " if kind == "boat" else ""
    help = f"check the plate; {hull}a number that is not a VIN goes under `chassis_number:`"
    return Finding(rule="vin-as-stamped", message=message, help=help, severity="warning")


def compute_check_digit(vin: str) -> str:
    """The check digit of 17 allowed characters: weighted sum modulo 11, `X` for 10 (49 CFR 565.15(c))."""
    remainder = sum_products(vin) % 11
    return "X" if remainder == 10 else str(remainder)


def sum_products(vin: str) -> int:
    """The sum of value times weight over 17 allowed characters (49 CFR 565.15(c), Table VI)."""
    return sum(VALUES[character] * weight for character, weight in zip(vin, WEIGHTS, strict=True))


def must_digit_hold(vin: str, market: str | None) -> bool:
    """Whether the check digit is required: built for North America, or numbered there and no market stated."""
    return market == NORTH_AMERICA or (market is None and vin[0] in "12345")


def list_model_years(vin: str) -> tuple[int, ...]:
    """The years that position 10 can stand for in 1980 to 2039, oldest first; none for a code that is not one."""
    index = YEAR_CODES.find(vin[9])
    # The codes come round after 30 years. Which of the two is meant, position 10 alone does not say.
    return () if index < 0 else (1980 + index, 2010 + index)


def choose_light_year(vin: str) -> int | None:
    """The model year of a North American car, or other vehicle up to 4,536 kg gross.

    Position 7 is a digit up to model year 2009 and a letter from 2010 on: 49 CFR 565.15(b). The rule says nothing
    about heavier vehicles, trailers or motorcycles.
    """
    years = list_model_years(vin)
    return None if not years else years[0 if vin[6].isdigit() else 1]


def _give_up(written: str, vin: str, findings: tuple[Finding, ...]) -> VinReading:
    return VinReading(
        written=written,
        text=vin,
        well_formed=False,
        check_digit="not computed",
        expected_digit=None,
        model_years=(),
        findings=findings,
    )


def _find_length(vin: str) -> tuple[Finding, ...]:
    if len(vin) == LENGTH:
        return ()
    message = f"the VIN `{vin}` has {len(vin)} characters, not {LENGTH}"
    return (Finding(rule="vin-length", message=message, help="a number from before 1981 goes under `chassis_number:`"),)


def _find_characters(vin: str) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            rule="vin-character",
            message=f"the VIN has {name_character(character)} in position {position}, which never appears in a VIN",
            help=_hint_character(character),
        )
        for position, character in enumerate(vin, 1)
        if character not in VALUES
    )


def _hint_character(character: str) -> str:
    # Never put in by itself: a number that is guessed right looks the same as one that is guessed wrong.
    if character in LOOKALIKES:
        return f"check the plate: it may be `{LOOKALIKES[character]}`"
    return "write the letters A–Z without I, O, Q and the digits 0–9, with nothing between them"


def _find_filler(vin: str) -> tuple[Finding, ...]:
    if len(set(vin)) >= FEWEST_DIFFERENT:
        return ()
    message = f"`{vin}` is a placeholder, not a VIN"
    return (Finding(rule="vin-filler", message=message, help="leave `vin:` out until you have read the plate"),)


def _report_digit(vin: str, expected: str, market: str | None) -> Finding:
    message = f"the VIN's check digit in position 9 is `{vin[8]}`, but the other characters give `{expected}`"
    # An error only where the rule binds: elsewhere position 9 is the maker's own, and a right number would be refused.
    if must_digit_hold(vin, market):
        help = "check the plate, character by character; if it was not built for North America, add `market: elsewhere`"
        return Finding(rule="vin-check-digit", message=message, help=help)
    return Finding(
        rule="vin-check-digit",
        message=message,
        help="makers outside North America need not use it",
        severity="note",
    )


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
    return HinReading(written=text, text=hin, status="unreadable", findings=(_report_form(hin),))


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
        findings=() if status == "consistent" else (_report_dates(hin, status),),
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


def _report_form(hin: str) -> Finding:
    message = f"`{hin}` is not a hull identification number: {len(hin)} characters in no known format"
    help = "12 characters as in `ZZZ12345L495`, without I, O, Q in 4 to 8; or 14 as in `XX-ZZZ00042-A3-03`"
    return Finding(rule="hin-form", message=message, help=help)


def _report_dates(hin: str, status: str) -> Finding:
    message = f"the dates in the hull number `{hin}` are {status}: `{hin[-4:]}`"
    return Finding(rule="hin-dates", message=message, help=HELP_DATES, severity="warning")


HELP_DATES = "check the plate: the year of build and the model year differ by one at most"
