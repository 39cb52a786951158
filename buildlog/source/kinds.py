"""The kinds of value that an owner types: how the text is read, what is said when it cannot be, its JSON Schema.

A kind turns one text into one value or raises `Unreadable`; it knows nothing of files, keys or records.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from buildlog.problems import suggest


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


def read_number(text: str) -> Decimal:
    """A plain decimal number; every other way of writing one gets its own remedy."""
    if re.fullmatch(r"-?(0|[1-9]\d*)(\.\d+)?", text) and sum(c.isdigit() for c in text) <= MOST_DIGITS:
        return Decimal(text)
    raise Unreadable(f"`{text}` is not a number as it is written here", _number_help(text))


def _number_help(text: str) -> str:
    bare = re.sub(r"[^\d.,'\s-]", "", text).strip()
    joined = re.sub(r"['\s]", "", bare)
    if re.fullmatch(r"-?0\d+(\.\d+)?", text):
        shown = re.sub(r"^(-?)0+(?=\d)", r"\1", text)
        return f"write `{shown}`, without the leading zero; a part number goes under `number:`"
    if re.fullmatch(r"\d{1,4}:[0-5]\d(:[0-5]\d)?", text):
        hours, minutes = (Decimal(n) for n in text.split(":")[:2])
        return f"write `{(hours + minutes / 60).quantize(Decimal('0.01'))}`, in hours and decimals"
    if re.fullmatch(r"-?\d{1,3}([,.]\d{3})+", joined) and joined.count(",") + joined.count(".") > 1:
        return f"write `{re.sub('[,.]', '', joined)}`: nothing between thousands"
    if re.fullmatch(r"-?(\d{1,3}(\.\d{3})+|\d+),\d+", joined):
        shown = joined.replace(".", "").replace(",", ".")
        return f"write `{shown}`: a point before the decimals, nothing between thousands"
    if re.fullmatch(r"-?\d{1,3}(,\d{3})+(\.\d+)?", joined):
        return f"write `{joined.replace(',', '')}`: nothing between thousands"
    if re.fullmatch(r"-?\d+(\.\d+)?", joined) and joined != text:
        return f"write `{joined}`: digits and a point only; a currency has its own key `currency:`"
    return "write digits with a point before the decimals, as in `12.50`"


def read_amount(text: str) -> Decimal:
    """Zero or more, in some currency."""
    value = read_number(text)
    if value < 0:
        raise Unreadable(f"`{text}` is below zero", "write what came back under `returned:` or a `discount:`")
    return value


def read_positive(text: str) -> Decimal:
    """More than zero."""
    value = read_number(text)
    if value <= 0:
        raise Unreadable(f"`{text}` is not more than zero", "write a number above zero")
    return value


def read_count(text: str) -> int:
    """A whole number, one or more."""
    value = read_positive(text)
    if value != value.to_integral_value():
        raise Unreadable(f"`{text}` is not a whole number", "write `1`, `2`, `3` …")
    return int(value)


def read_percent(text: str) -> Decimal:
    """A percentage from 0 to 100; the sign may be left out."""
    value = read_number(text.removesuffix("%").rstrip())
    if not 0 <= value <= 100:
        raise Unreadable(f"`{text}` is not a percentage from 0 to 100", "write `21`")
    return value


def read_fraction(text: str) -> Decimal:
    """A share of a picture's side, from 0 to 1."""
    value = read_number(text)
    if not 0 <= value <= 1:
        raise Unreadable(
            f"`{text}` is not between 0 and 1", "write the share of the picture's width or height, as in `0.25`"
        )
    return value


MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def read_date(text: str) -> date:
    """A calendar date in the one spelling YYYY-MM-DD (RFC 3339 section 5.6 full-date)."""
    if not re.fullmatch(r"[12]\d{3}-\d{2}-\d{2}", text):
        raise Unreadable(f"`{text}` is not a date as it is written here", _date_help(text))
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unreadable(f"the date `{text}` does not exist", _date_exists_help(text)) from None


def _date_help(text: str) -> str:
    numbers = [int(n) for n in re.findall(r"\d+", text)]
    if len(numbers) == 3 and len(re.findall(r"\d{4}", text)) == 1:
        year, month, day = numbers if numbers[0] > 31 else numbers[::-1]
        if month <= 12 and 1 <= day <= 31:
            return f"write year, month, day: `{year:04}-{month:02}-{day:02}`"
    return "write year, month, day: `2024-05-18`"


def _date_exists_help(text: str) -> str:
    year, month = int(text[:4]), int(text[5:7])
    if not 1 <= month <= 12:
        return "months run from 01 to 12"
    leap = month == 2 and (year % 4 == 0 and year % 100 != 0 or year % 400 == 0)
    return f"month {text[:7]} has {MONTH_DAYS[month - 1] + leap} days"


def read_partial_date(text: str) -> PartialDate:
    """A year, a month or a day."""
    if re.fullmatch(r"[12]\d{3}", text):
        return PartialDate(text)
    if re.fullmatch(r"[12]\d{3}-(0[1-9]|1[0-2])", text):
        return PartialDate(text)
    return PartialDate(read_date(text).isoformat())


def read_line(text: str) -> str:
    """One line of text, not empty."""
    if not text.strip():
        raise Unreadable("nothing is written here", "write a text, or delete the key")
    if any(not c.isprintable() for c in text):
        raise Unreadable(
            "this text holds a line break or a control character",
            "keep it on one line; stories go below the front matter",
        )
    return text


def read_key(text: str) -> str:
    """A short name of the owner's, used to point from one place to another."""
    if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", text):
        slug = "-".join(re.findall(r"[a-z0-9]+", text.lower()))
        raise Unreadable(
            f"`{text}` is not a short name", f"write `{slug or 'lift-pump'}`: small letters, digits and dashes"
        )
    return text


def read_yes_no(text: str) -> bool:
    """True or false, in words."""
    if text not in YES_NO:
        raise Unreadable(f"`{text}` is neither yes nor no", "write `true` or `false`")
    return YES_NO[text]


YES_NO = {"true": True, "yes": True, "false": False, "no": False}


def read_currency(text: str) -> str:
    """An ISO 4217 code by its form; whether it exists is asked where money is reckoned."""
    if not re.fullmatch(r"[A-Z]{3}", text):
        raise Unreadable(
            f"`{text}` is not a currency code", "write its three letters from ISO 4217, as in `GBP`, `EUR`, `USD`"
        )
    return text


def read_path(text: str) -> str:
    """A file of the log, from the log's folder, that cannot lead out of it."""
    parts = text.split("/")
    if "\\" in text or ":" in text or text.startswith(("/", "~")) or any(part in ("", ".", "..") for part in parts):
        raise Unreadable(
            f"`{text}` leads out of the log's folder",
            "write the path from the log's folder, as in `papers/invoice.pdf`",
        )
    return read_line(text)


def read_address(text: str) -> str:
    """Where the site will stand: http or https, ending in a slash."""
    if not re.fullmatch(r"https?://[A-Za-z0-9.-]+(:\d+)?(/[A-Za-z0-9._~/-]*)?", text):
        raise Unreadable(f"`{text}` is not a site's address", "write it in full, as in `https://example.org/drover/`")
    return text if text.endswith("/") else text + "/"


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with a unit behind it, as it was read off a gauge."""

    value: Decimal
    unit: str | None
    "`mi`, `km` or `h`; None: the meter's own unit"


def read_meter(text: str) -> Amount:
    """A meter's reading, in its own unit or in one that is written behind it."""
    match = re.fullmatch(r"(\S+?)\s*(mi|km|h)?", text)
    if not match:
        raise Unreadable(f"`{text}` is not a meter reading", "write `112530`, or with its unit `69924 km`")
    return Amount(read_amount(match[1]), match[2])


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
        raise Unreadable("this box has no inside", "left is less than right, and top less than bottom")
    return box


def one_of(*words: str) -> Kind:
    """A kind for a choice among a few words."""

    def read_choice(text: str) -> str:
        if text not in words:
            raise Unreadable(f"`{text}` is not one of the words known here", suggest(text, words))
        return text

    return Kind("one of " + ", ".join(f"`{word}`" for word in words), read_choice, {"enum": list(words)})


_TEXT_SCHEMA = {"type": ["string", "number", "boolean"]}
NUMBER = Kind("a number", read_number, {"type": "number"})
AMOUNT = Kind("an amount", read_amount, {"type": "number", "minimum": 0})
POSITIVE = Kind("a number above zero", read_positive, {"type": "number", "exclusiveMinimum": 0})
COUNT = Kind("a whole number", read_count, {"type": "integer", "minimum": 1})
PERCENT = Kind(
    "a percentage",
    read_percent,
    {"anyOf": [{"type": "number", "minimum": 0, "maximum": 100}, {"type": "string", "pattern": "^[0-9.]+ ?%$"}]},
)
FRACTION = Kind("a fraction from 0 to 1", read_fraction, {"type": "number", "minimum": 0, "maximum": 1})
DATE = Kind("a date", read_date, {"type": "string", "format": "date"})
PARTIAL_DATE = Kind(
    "a date, a month or a year",
    read_partial_date,
    {
        "anyOf": [
            {"type": "string", "pattern": r"^[12]\d{3}(-\d{2}){0,2}$"},
            {"type": "integer", "minimum": 1000, "maximum": 2999},
        ]
    },
)
TEXT = Kind("a text", read_line, _TEXT_SCHEMA)
KEY = Kind("a short name", read_key, {"type": ["string", "integer"], "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$"})
YES = Kind("true or false", read_yes_no, {"type": "boolean"})
CURRENCY = Kind("a currency code", read_currency, {"type": "string", "pattern": "^[A-Z]{3}$"})
PATH = Kind("a file of the log", read_path, {"type": "string", "pattern": r"^(?!/)(?!.*\.\.).+$"})
ADDRESS = Kind("a site's address", read_address, {"type": "string", "format": "uri"})
METER = Kind(
    "a meter reading",
    read_meter,
    {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "pattern": "^[0-9.]+ ?(mi|km|h)$"}]},
)
BOX = Kind(
    "a box of four fractions",
    read_box,
    {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 1}, "minItems": 4, "maxItems": 4},
    row=True,
)
