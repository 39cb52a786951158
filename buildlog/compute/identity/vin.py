"""What does a vehicle identification number say, and can it be one?

Structure: ISO 3779, 49 CFR 565.13(b) and (g). Check digit: 49 CFR 565.15(c), Tables III to VI. Model year: 49 CFR
565.15(d) and Table VII. Nothing here looks a maker up, and nothing calls a number verified: of the 544 one-character
slips in the regulation's own example, 39 keep a passing digit. Masking for publication is in `identity`.
"""

from __future__ import annotations

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
        return _give_up(text, vin, (_tell_as_stamped(vin, kind, year),))
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
        findings=() if vin[8] == expected else (_tell_digit(vin, expected, market),),
    )


def is_free_form(kind: str, year: int | None) -> bool:
    """Whether the machine may rightly carry a number of another length."""
    # Where no year is stated the strict rule holds, so that a missing character is told and not taken as old.
    return kind in FREE_FORM_KINDS or (year is not None and year <= NO_VIN_UNTIL)


def _tell_as_stamped(vin: str, kind: str, year: int | None) -> Finding:
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


def _tell_digit(vin: str, expected: str, market: str | None) -> Finding:
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
