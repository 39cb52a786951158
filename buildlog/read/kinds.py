"""What a kind of value is, and the kinds that are words or days: how a text is read, or what is said, its schema.

A kind turns one text into one value or raises `Unreadable`; it knows nothing of files, keys or records. What is counted
or measured is in `numbers`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from buildlog.paths import compose, is_device, leads_out
from buildlog.problems import suggest
from buildlog.read.spelling import explain_date, explain_missing_day
from buildlog.text import LINE_BREAKING, TURNING, cut, strip_accents


# The one exception for an owner's mistake: a kind does not know where its text stands, so that it cannot make the
# `Problem`. `bind` does, one call further up.
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


LONGEST_QUOTE = 60
"Characters of an owner's value that a message repeats."


def show(text: str) -> str:
    """A value as a message quotes it: in backticks, cut where it is long."""
    return f"`{cut(text, LONGEST_QUOTE)}`"


TURNS = re.compile(f"[{TURNING}]")
LANGUAGE_FORM = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*")
"RFC 5646, section 2.1, as far as a page in a living language needs it."


def read_line(text: str) -> str:
    """One line of text, not empty; the line end that a folded YAML block leaves is not part of it."""
    line = text.removesuffix("\n")
    if not line.strip():
        raise Unreadable("there is nothing here", "write something, or delete the key")
    if line.isprintable():  # true of nearly every line, and of none that is refused below
        return line
    if LINE_BREAKING.search(line):
        help = "keep it on one line; the story goes below the front matter"
        raise Unreadable("this text contains a line break or a control character", help)
    # refused and not dropped: the text would read otherwise in the file than on the page, and whoever pasted it cannot
    # see why
    if TURNS.search(line):
        help = "type the text again: right-to-left script is shown correctly without it"
        raise Unreadable("this text contains an invisible character that reverses the text after it", help)
    return line


def read_key(text: str) -> str:
    """A short name of the owner's, used to point from one place to another."""
    if not KEY_FORM.fullmatch(text):
        key = spell_key(text)
        help = f"write `{key}`: {KEY_RULE}" if key else f"write {KEY_RULE}, as in `lift-pump`"
        raise Unreadable(f"{show(text)} is not a short name", help)
    return text


KEY_FORM = re.compile("[a-z0-9]+(-[a-z0-9]+)*")
KEY_RULE = "small letters, digits and dashes"


def make_short_name(text: str) -> str:
    """The short name nearest to a text, empty where it holds neither letter nor digit of a to z and 0 to 9."""
    return "-".join(re.findall("[a-z0-9]+", strip_accents(text[:LONGEST_QUOTE].lower())))


def spell_key(text: str) -> str:
    """The short name that a text is when it is spelt as one; empty where a letter or digit of it would be lost."""
    # accents may go, but `straße` gets no remedy: a letter short it would be another name, to be chosen by its owner
    plain = unicodedata.normalize("NFKD", text.lower())
    letters = [c for c in plain if unicodedata.category(c)[0] in "LN"]
    kept = len(text) <= LONGEST_QUOTE and all(re.fullmatch("[a-z0-9]", c) for c in letters)
    return make_short_name(text) if kept else ""


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
    if not CURRENCY_FORM.fullmatch(text):
        is_small = re.fullmatch(r"[A-Za-z]{3}", text)
        help = f"write `{text.upper()}`" if is_small else "write its three letters from ISO 4217, as in `GBP`, `EUR`"
        raise Unreadable(f"{show(text)} is not a currency code", help)
    return text


CURRENCY_FORM = re.compile("[A-Z]{3}")


def read_path(text: str) -> str:
    """A file of the log, from the log's folder, that cannot lead out of it."""
    # `C:` is a drive and `~` a home on some systems; nothing is opened here, but the path goes on to pages and seals
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


def read_entry_name(text: str) -> str:
    """What an entry's file is called, with or without its `.md`; what no entry can be called has no address."""
    name = text.removesuffix(".md")
    if ENTRY_NAME_FORM.fullmatch(name) and not is_device(name):
        return name
    bare = name.rpartition("/")[2]
    help = f"write `{bare}`" if name == f"entries/{bare}" and ENTRY_NAME_FORM.fullmatch(bare) else ""
    raise Unreadable(
        f"{show(text)} cannot have been an entry's file name",
        help or "write the file's old name, as in `2024-05-18-lift-pump`; without an old address, leave it out",
    )


ENTRY_NAME_FORM = re.compile(r"[a-z0-9]+([.-][a-z0-9]+)*")


def read_photo(text: str) -> str:
    """A photo by its file name in the entry's own folder, or one of another entry or page, as `ENTRY/FILE`."""
    home, slash, name = text.rpartition("/")
    if slash and not PHOTO_HOME.fullmatch(home):
        raise Unreadable(
            f"{show(text)} is not a photo of an entry", "write `ENTRY/FILE`, as in `2024-05-18-pump/crack.jpg`"
        )
    return f"{home}{slash}{read_file_name(name)}"


def read_cover(text: str) -> str:
    """A photo of an entry or page, as `ENTRY/FILE`."""
    if "/" not in text:
        raise Unreadable(
            f"{show(text)} does not say whose photo it is", "write `ENTRY/FILE`, as in `2024-05-18-pump/crack.jpg`"
        )
    return read_photo(text)


PHOTO_HOME = re.compile("[a-z0-9]+([.-][a-z0-9]+)*")
"An entry's or a page's file name without its `.md`."


def read_language(text: str) -> str:
    """A language tag by its form (BCP 47); whether it is known is asked where pages are written."""
    if not LANGUAGE_FORM.fullmatch(text):
        # `en_GB.UTF-8` is how a system's own settings write it
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
    # relative links are joined to it, and would otherwise replace its last part (RFC 3986, section 5.2.3)
    return text if text.endswith("/") else text + "/"


# No user name, query or fragment: none belongs in front of the paths of pages.
ADDRESS_FORM = re.compile(r"https?://[A-Za-z0-9.-]+(:[0-9]+)?(/[A-Za-z0-9._~/-]*)?")


def one_of(*words: str) -> Kind:
    """A kind for a choice among a few words."""

    def read_choice(text: str) -> str:
        if text not in words:
            raise Unreadable(f"{show(text)} is not one of the words allowed here", suggest(text, words))
        return text

    return Kind(
        "one of " + ", ".join(f"`{word}`" for word in words), read_choice, {"enum": list(words)}, lambda text: words[0]
    )


TEXT = Kind(
    "text",
    read_line,
    {"type": ["string", "number", "boolean"], "pattern": rf"^[^{TURNING}]*[^\s{TURNING}][^{TURNING}]*$"},
    # never empty, as records promise; the nearest that can be read
    lambda text: LINE_BREAKING.sub(" ", TURNS.sub("", text)).strip() or "…",
)
KEY = Kind(
    "a short name",
    read_key,
    {"type": ["string", "integer"], "pattern": "^[a-z0-9]+(-[a-z0-9]+)*$", "minimum": 0},
    # another for each text, so that two names which cannot be read are not reported as one name written twice
    lambda text: "-".join(str(ord(sign)) for sign in text[:LONGEST_QUOTE]) or "0",
)
YES = Kind("true or false", read_yes_no, {"enum": [True, False, *YES_NO]}, lambda text: False)
# XXX: ISO 4217 has it for "no currency".
CURRENCY = Kind("a currency code", read_currency, {"type": "string", "pattern": "^[A-Z]{3}$"}, lambda text: "XXX")
PATH = Kind(
    "a file in the log",
    read_path,
    {"type": "string", "pattern": r"^(?!~)(?:(?!\.\.?(?:/|$))[^/\\:]+/)*(?!\.\.?$)[^/\\:]+$"},
    lambda text: "papers/unreadable",
)
ENTRY_NAME = Kind(
    "an entry's file name",
    read_entry_name,
    {"type": ["string", "integer"], "pattern": f"^{ENTRY_NAME_FORM.pattern}$", "minimum": 0},
    # another for each text, so that two which cannot be read are not reported as one name written twice
    lambda text: "-".join(str(ord(sign)) for sign in text[:LONGEST_QUOTE]) or "0",
)
FILE_NAME = Kind(
    "a file name", read_file_name, {"type": "string", "pattern": r"^(?!\.\.?$)[^/\\:]+$"}, lambda text: "unreadable"
)
PHOTO = Kind(
    "a photo",
    read_photo,
    {"type": "string", "pattern": rf"^({PHOTO_HOME.pattern}/)?(?!\.\.?$)[^/\\:]+$"},
    lambda text: "unreadable",
)
COVER = Kind(
    "a photo of an entry",
    read_cover,
    {"type": "string", "pattern": rf"^{PHOTO_HOME.pattern}/(?!\.\.?$)[^/\\:]+$"},
    lambda text: "unreadable/unreadable",
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


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date known to the day, the month or the year."""

    text: str
    "`1998`, `1998-06` or `1998-06-12`"

    @property
    def earliest(self) -> date:
        if self.exact:
            return date.fromisoformat(self.text)
        # filled up to the first day, so that days known in part can be put in order and compared
        year, month, day = ([int(n) for n in self.text.split("-")] + [1, 1])[:3]
        return date(year, month, day)

    @property
    def exact(self) -> bool:
        return len(self.text) == 10


def read_date(text: str) -> date:
    """A calendar date in the one spelling YYYY-MM-DD (RFC 3339 section 5.6 full-date)."""
    # asked first, as `date.fromisoformat` also takes `20240518` and `2024-W20-6`
    if not DATE_FORM.fullmatch(text):
        raise Unreadable(f"{show(text)} is not a date in the form used here", explain_date(text[:LONGEST_QUOTE]))
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Unreadable(f"the date `{text}` does not exist", explain_missing_day(text)) from None


DATE_FORM = re.compile("[12][0-9]{3}-[0-9]{2}-[0-9]{2}")


def read_partial_date(text: str) -> PartialDate:
    """A year, a month or a day."""
    if re.fullmatch(r"[12][0-9]{3}(-(0[1-9]|1[0-2]))?", text):
        return PartialDate(text)
    if re.fullmatch(r"[12][0-9]{3}-[0-9]{2}", text):
        raise Unreadable(f"the month `{text}` does not exist", "months run from 01 to 12")
    if DATE_FORM.fullmatch(text):
        return PartialDate(read_date(text).isoformat())
    # a remedy with a day in it beats the general one, which here has to speak of months and years too
    help = explain_date(text[:LONGEST_QUOTE])
    raise Unreadable(f"{show(text)} is not a date in the form used here", help if ": " in help else PARTIAL_HELP)


PARTIAL_HELP = "write what is known of it, as in `1998-06-12`, `1998-06` or `1998`"
# One day for all: two dates that cannot be read contradict each other as little as they can.
STAND_IN_DAY = date(2000, 1, 1)
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
