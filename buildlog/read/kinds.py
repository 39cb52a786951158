"""The kinds of value that an owner types: how the text is read, what is said when it cannot be, its JSON Schema.

A kind turns one text into one value or raises `Unreadable`; it knows nothing of files, keys or records. What is read
off a meter is in `gauges`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from buildlog.paths import compose, leads_out
from buildlog.problems import suggest
from buildlog.read.spelling import NUMBER_FORM, explain_date, explain_hours, explain_missing_day, explain_number
from buildlog.text import LINE_BREAKING, TURNING, cut, strip_accents


class Unreadable(ValueError):
    """A text that is not of the kind wanted, with what would be."""

    def __init__(self, message: str, help: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.help = help


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of value."""

    name: str
    "what an owner would call it, with its article: `an amount`"
    read: Callable[[str], Any]
    "text to value; raises `Unreadable`"
    schema: dict[str, Any]
    "JSON Schema (2020-12) of the value as an editor's YAML reader sees it"
    stand_in: Callable[[str], Any]
    "what takes the place of a text that cannot be read, so that the rest of a log is checked; never published"
    row: bool = False
    "whether it is written as a list on one row; its texts come to `read` joined by spaces"


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date known to the day, the month or the year."""

    text: str
    "`1998`, `1998-06` or `1998-06-12`"

    @property
    def earliest(self) -> date:
        year, month, day = ([int(n) for n in self.text.split("-")] + [1, 1])[:3]
        return date(year, month, day)

    @property
    def exact(self) -> bool:
        return len(self.text) == 10


MOST_DIGITS = 15
"Digits of a number; a longer one is a slip of the keyboard."

LONGEST_QUOTE = 60
"Characters of an owner's value that a message repeats."


def show(text: str) -> str:
    """A value as a message quotes it: in backticks, cut where it is long."""
    return f"`{cut(text, LONGEST_QUOTE)}`"


def read_number(text: str) -> Decimal:
    """A plain decimal number; every other way of writing one gets its own remedy."""
    if NUMBER_FORM.fullmatch(text):
        if len(text) - text.count("-") - text.count(".") > MOST_DIGITS:
            raise Unreadable(f"{show(text)} has more than {MOST_DIGITS} digits", "check for an extra digit")
        return Decimal(text)
    raise Unreadable(f"{show(text)} is not a number in the form used here", explain_number(text[:LONGEST_QUOTE]))


def read_amount(text: str) -> Decimal:
    """Zero or more, in some currency."""
    return at_least_zero(text, read_number(text), "write zero or more; refunds go under `returned:`")


def at_least_zero(text: str, value: Decimal, help: str) -> Decimal:
    if value < 0:
        raise Unreadable(f"{show(text)} is below zero", help)
    return value


def read_hours(text: str) -> Decimal:
    """Hours in decimals, zero or more; every other way of writing them gets its own remedy."""
    try:
        value = read_number(text)
    except Unreadable as why:
        is_form = NUMBER_FORM.fullmatch(text)
        raise why if is_form else Unreadable(why.message, explain_hours(text[:LONGEST_QUOTE])) from None
    return at_least_zero(text, value, "write the hours it took, zero or more")


def read_some_hours(text: str) -> Decimal:
    """Hours in decimals, more than zero."""
    return _above_zero(text, read_hours(text))


def read_positive(text: str) -> Decimal:
    """More than zero."""
    return _above_zero(text, read_number(text))


def _above_zero(text: str, value: Decimal) -> Decimal:
    if value <= 0:
        raise Unreadable(f"{show(text)} is not above zero", "write a number above zero")
    return value


def read_count(text: str) -> int:
    """A whole number, one or more."""
    value = read_positive(text)
    if value != value.to_integral_value():
        raise Unreadable(f"{show(text)} is not a whole number", "write a whole number, without decimals")
    return int(value)


def read_percent(text: str) -> Decimal:
    """A percentage from 0 to 100; the sign may be left out."""
    value = read_number(text.removesuffix("%").rstrip())
    if not 0 <= value <= 100:
        raise Unreadable(
            f"{show(text)} is not a percentage from 0 to 100",
            "write a number from 0 to 100; check for an extra digit",
        )
    return value


def read_fraction(text: str) -> Decimal:
    """A share of a picture's side, from 0 to 1."""
    value = read_number(text)
    if not 0 <= value <= 1:
        raise Unreadable(
            f"{show(text)} is not between 0 and 1", "write a fraction of the picture's width or height, as in `0.25`"
        )
    return value


def read_date(text: str) -> date:
    """A calendar date in the one spelling YYYY-MM-DD (RFC 3339 section 5.6 full-date)."""
    if not re.fullmatch(r"[12][0-9]{3}-[0-9]{2}-[0-9]{2}", text):
        raise Unreadable(f"{show(text)} is not a date in the form used here", explain_date(text[:LONGEST_QUOTE]))
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unreadable(f"the date `{text}` does not exist", explain_missing_day(text)) from None


def read_partial_date(text: str) -> PartialDate:
    """A year, a month or a day."""
    if re.fullmatch(r"[12][0-9]{3}(-(0[1-9]|1[0-2]))?", text):
        return PartialDate(text)
    if re.fullmatch(r"[12][0-9]{3}-[0-9]{2}", text):
        raise Unreadable(f"the month `{text}` does not exist", "months run from 01 to 12")
    if re.fullmatch(r"[12][0-9]{3}-[0-9]{2}-[0-9]{2}", text):
        return PartialDate(read_date(text).isoformat())
    help = explain_date(text[:LONGEST_QUOTE])
    raise Unreadable(f"{show(text)} is not a date in the form used here", help if ": " in help else PARTIAL_HELP)


PARTIAL_HELP = "write what is known of it, as in `1998-06-12`, `1998-06` or `1998`"

TURNS = re.compile(f"[{TURNING}]")
LANGUAGE_FORM = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*")
"RFC 5646, section 2.1, as far as a page in a living language needs it."


def read_line(text: str) -> str:
    """One line of text, not empty; the line end that a folded YAML block leaves is not part of it."""
    line = text.removesuffix("\n")
    if not line.strip():
        raise Unreadable("there is nothing here", "write something, or delete the key")
    if LINE_BREAKING.search(line):
        help = "keep it on one line; the story goes below the front matter"
        raise Unreadable("this text contains a line break or a control character", help)
    if TURNS.search(line):
        help = "type the text again: right-to-left script is shown correctly without it"
        raise Unreadable("this text contains an invisible character that reverses the text after it", help)
    return line


def read_key(text: str) -> str:
    """A short name of the owner's, used to point from one place to another."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", text):
        key = spell_key(text)
        help = f"write `{key}`: {KEY_RULE}" if key else f"write {KEY_RULE}, as in `lift-pump`"
        raise Unreadable(f"{show(text)} is not a short name", help)
    return text


KEY_RULE = "small letters, digits and dashes"


def make_key(text: str) -> str:
    """The short name nearest to a text, empty where it holds neither letter nor digit of a to z and 0 to 9."""
    return "-".join(re.findall("[a-z0-9]+", strip_accents(text[:LONGEST_QUOTE].lower())))


def spell_key(text: str) -> str:
    """The short name that a text is when it is spelt as one; empty where a letter or digit of it would be lost."""
    plain = unicodedata.normalize("NFKD", text.lower())
    letters = [c for c in plain if unicodedata.category(c)[0] in "LN"]
    kept = len(text) <= LONGEST_QUOTE and all(re.fullmatch("[a-z0-9]", c) for c in letters)
    return make_key(text) if kept else ""


def read_yes_no(text: str) -> bool:
    """True or false, in words."""
    if text not in YES_NO:
        word = {"on": "true", "y": "true", "1": "true", "off": "false", "n": "false", "0": "false"}.get(text.lower())
        known = word or text.lower() if text.lower() in YES_NO or word else None
        raise Unreadable(
            f"{show(text)} is neither yes nor no", f"write `{known}`" if known else "write `true` or `false`"
        )
    return YES_NO[text]


YES_NO = {"true": True, "yes": True, "false": False, "no": False}


def read_currency(text: str) -> str:
    """An ISO 4217 code by its form; whether it exists is asked where money is computed."""
    if not re.fullmatch(r"[A-Z]{3}", text):
        is_small = re.fullmatch(r"[A-Za-z]{3}", text)
        help = f"write `{text.upper()}`" if is_small else "write its three letters from ISO 4217, as in `GBP`, `EUR`"
        raise Unreadable(f"{show(text)} is not a currency code", help)
    return text


def read_path(text: str) -> str:
    """A file of the log, from the log's folder, that cannot lead out of it."""
    if leads_out(text) or ":" in text or text.startswith("~"):
        help = "write the path from the log's folder, as in `papers/invoice.pdf`"
        raise Unreadable(f"{show(text)} is outside the log's folder", help)
    return compose(read_line(text))


def read_file_name(text: str) -> str:
    """One file in a folder that is known, as the photo folder of an entry is."""
    if re.search(r"[/\\:]", text) or text in (".", ".."):
        name = re.split(r"[/\\:]", text)[-1].strip(".")
        there = f"write `{name}`, and put that file into the entry's own photo folder"
        help = there if name else "write only the file name, as in `crack.jpg`"
        raise Unreadable(f"{show(text)} is more than a file name", help)
    return compose(read_line(text))


def read_language(text: str) -> str:
    """A language tag by its form (BCP 47); whether it is known is asked where pages are written."""
    if not LANGUAGE_FORM.fullmatch(text):
        guess = text.replace("_", "-").split(".")[0]
        help = f"write `{guess}`" if LANGUAGE_FORM.fullmatch(guess) else "write it as in `en-GB`, `de-DE` or `nl`"
        raise Unreadable(f"{show(text)} is not a language tag", help)
    return text


def read_address(text: str) -> str:
    """Where the site will stand: http or https, ending in a slash."""
    if not ADDRESS_FORM.fullmatch(text):
        raise Unreadable(
            f"{show(text)} is not a site's address", "write it in full, as in `https://example.org/drover/`"
        )
    return text if text.endswith("/") else text + "/"


ADDRESS_FORM = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]+)?(/[A-Za-z0-9._~/-]*)?")


class Box(NamedTuple):
    """A rectangle of the upright picture, as fractions of its width and height from the top left."""

    left: Decimal
    top: Decimal
    right: Decimal
    bottom: Decimal


def read_box(text: str) -> Box:
    """Four fractions: left, top, right, bottom."""
    parts = text.split()
    if len(parts) != 4:
        raise Unreadable("a box has four sides", "write [left, top, right, bottom], as in `[0.71, 0.02, 0.99, 0.11]`")
    box = Box(*(read_fraction(part) for part in parts))
    if box.left >= box.right or box.top >= box.bottom:
        raise Unreadable("this box is empty", "left must be less than right, and top less than bottom")
    return box


def one_of(*words: str) -> Kind:
    """A kind for a choice among a few words."""

    def read_choice(text: str) -> str:
        if text not in words:
            raise Unreadable(f"{show(text)} is not one of the words allowed here", suggest(text, words))
        return text

    return Kind(
        "one of " + ", ".join(f"`{word}`" for word in words), read_choice, {"enum": list(words)}, lambda text: words[0]
    )


def form(expression: str) -> dict[str, Any]:
    """A number, or a text of a form: JSON Schema applies `pattern` to texts and limits to numbers alone."""
    return {"type": ["number", "string"], "pattern": f"^(?:{expression})$"}


def _one(text: str) -> Decimal:
    return Decimal(1)


UNSIGNED = NUMBER_FORM.pattern.removeprefix("-?")
STAND_IN_DAY = date(2000, 1, 1)

NUMBER = Kind("a number", read_number, form(NUMBER_FORM.pattern), _one)
AMOUNT = Kind("an amount", read_amount, {**form(UNSIGNED), "minimum": 0}, _one)
HOURS = Kind("decimal hours", read_hours, AMOUNT.schema, _one)
POSITIVE = Kind("a number above zero", read_positive, {**form(UNSIGNED), "exclusiveMinimum": 0}, _one)
SOME_HOURS = Kind("decimal hours, above zero", read_some_hours, POSITIVE.schema, _one)
COUNT = Kind(
    "a whole number",
    read_count,
    {"type": ["integer", "string"], "pattern": "^[1-9][0-9]*$", "minimum": 1},
    lambda text: 1,
)
PERCENT = Kind("a percentage", read_percent, {**form(UNSIGNED + " *%?"), "minimum": 0, "maximum": 100}, _one)
DATE = Kind(
    "a date",
    read_date,
    {"type": "string", "format": "date", "pattern": "^[12][0-9]{3}-[0-9]{2}-[0-9]{2}$"},
    lambda text: STAND_IN_DAY,
)
PARTIAL_DATE = Kind(
    "a date, a month or a year",
    read_partial_date,
    {
        "type": ["integer", "string"],
        "pattern": "^[12][0-9]{3}(-(0[1-9]|1[0-2])(-[0-9]{2})?)?$",
        "minimum": 1000,
        "maximum": 2999,
    },
    lambda text: PartialDate(STAND_IN_DAY.isoformat()),
)
TEXT = Kind(
    "text",
    read_line,
    {"type": ["string", "number", "boolean"], "pattern": rf"^[^{TURNING}]*[^\s{TURNING}][^{TURNING}]*$"},
    lambda text: LINE_BREAKING.sub(" ", TURNS.sub("", text)).strip() or "…",
)
KEY = Kind(
    "a short name",
    read_key,
    {"type": ["string", "integer"], "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "minimum": 0},
    lambda text: "-".join(str(ord(sign)) for sign in text[:LONGEST_QUOTE]) or "0",
)
YES = Kind("true or false", read_yes_no, {"enum": [True, False, *YES_NO]}, lambda text: False)
CURRENCY = Kind("a currency code", read_currency, {"type": "string", "pattern": "^[A-Z]{3}$"}, lambda text: "XXX")
PATH = Kind(
    "a file in the log",
    read_path,
    {"type": "string", "pattern": r"^(?!~)(?:(?!\.\.?(?:/|$))[^/\\:]+/)*(?!\.\.?$)[^/\\:]+$"},
    lambda text: "papers/unreadable",
)
FILE_NAME = Kind(
    "a file name", read_file_name, {"type": "string", "pattern": r"^(?!\.\.?$)[^/\\:]+$"}, lambda text: "unreadable"
)
ADDRESS = Kind(
    "a site's address",
    read_address,
    {"type": "string", "format": "uri", "pattern": f"^{ADDRESS_FORM.pattern}$"},
    lambda text: "https://example.org/",
)
LANGUAGE = Kind(
    "a language tag", read_language, {"type": "string", "pattern": f"^{LANGUAGE_FORM.pattern}$"}, lambda text: "en-GB"
)
BOX = Kind(
    "a box of four fractions",
    read_box,
    {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 1}, "minItems": 4, "maxItems": 4},
    lambda text: Box(Decimal(0), Decimal(0), Decimal(1), Decimal(1)),
    row=True,
)
