"""How texts are compared, counted and listed in words, and kept from doing harm where they are shown.

Imported by everything, the pure core of the record too: it needs nothing but the standard library.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

MOST_NAMED = 5
"Names that one line lists, unless it says otherwise: more are counted."

ASCII_CONTROL = r"\x00-\x1f\x7f"
"Control characters of ASCII, for the brackets of a regular expression."
LONE_SURROGATE = r"\ud800-\udfff"
"""Halves of a character of UTF-16, for the same: no UTF-8 holds one (RFC 3629, section 3).

Python reads each byte of a file's name that is no UTF-8 as one of them (PEP 383).
"""
LINE_BREAKING = re.compile(rf"[{ASCII_CONTROL}\x80-\x9f\u2028\u2029{LONE_SURROGATE}]")
"What one line of an owner's words cannot hold: U+0085, U+2028 and U+2029 end a line too (Unicode Standard Annex 14)."
TURNING = r"\u202a-\u202e\u2066-\u2069"
"Unicode Standard Annex 9, section 2: what sets the direction by hand, up to the end of the line, whoever wrote that."
OBEYED = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))
"Unicode categories of control, formatting, surrogate and line-ending characters."


def fold_words(text: str) -> str:
    """A text as it is compared with another: capitals and runs of blanks make no difference."""
    return " ".join(text.casefold().split())


def strip_accents(text: str) -> str:
    """The text with each letter taken apart as Unicode does (form NFKD, Annex 15), without its accents."""
    if text.isascii():  # nearly every one, and then there is nothing to take apart
        return text
    return "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))


SPELT = str.maketrans(
    {"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "ł": "l", "ħ": "h", "ı": "i", "ς": "σ"}
)
"Letters that Unicode does not take apart, as people type them who have no key for them."
ACCENTS = re.compile("[\u0300-\u036f]")
"Combining Diacritical Marks (Unicode Standard, section 7.9): what is left of a letter that was taken apart."
RUNS = re.compile(r"[^\W_]+")
"Letters and digits of any script, in a row."


def fold_for_search(text: str) -> str:
    """The text as it is searched: small letters without accents, ligatures and wide letters taken apart (form NFKD).

    The same for all spellings of a word. `themes/margin/search.js` does the same, and a test holds the two together.
    """
    if text.isascii():
        return text.lower()
    return ACCENTS.sub("", unicodedata.normalize("NFKD", text).lower()).translate(SPELT)


def list_search_words(text: str) -> list[str]:
    """The words of a text as they are searched."""
    return RUNS.findall(fold_for_search(text))


def keep_ascii(text: str) -> str:
    """What ASCII has of a text: letters without their accents; other letters and signs are gone without a trace."""
    return text if text.isascii() else unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()


# ── counted and listed ───────────────────────────────────────────────────────────────────────────────────────────


def agree(number: object, one: str, many: str) -> str:
    """The word that goes with a number; zero goes with many, as English has it."""
    # so English has it; pages are in English, and other languages would need more than two forms
    return one if number == 1 else many


def count(number: int, one: str, many: str = "") -> str:
    """`1 entry`, `2 entries`; `many` may be left out where it only adds an `s`."""
    return f"{number} {agree(number, one, many or f'{one}s')}"


def join_words(words: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; `last` may be `or`."""
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def name_some(names: Sequence[str], most: int = MOST_NAMED) -> str:
    """The first few of some names, and how many more there are: `a, b and 3 more`."""
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


# ── marked ───────────────────────────────────────────────────────────────────────────────────────────────────────


def to_say(text: str) -> str:
    """The text itself: marks one for the catalogue of pages' words, where it is kept in a table and said elsewhere."""
    return text


# ── cut ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def cut(text: str, most: int) -> str:
    """A text, or its first `most` characters and an ellipsis."""
    return text if len(text) <= most else f"{text[:most]}…"


def shorten(text: str, most: int) -> str:
    """A text, or its first words and an ellipsis, in `most` characters; the last word goes, cut or not."""
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0].rstrip(",;:") + "…"


# ── shown ────────────────────────────────────────────────────────────────────────────────────────────────────────


def tame(text: str) -> str:
    """An owner's line with a blank for what a terminal would obey instead of showing.

    Blanks of other widths stay: they are ordinary typing, and the line is shown to be found again in the file.
    """
    # true of nearly every line, and much faster than asking each letter
    if text.isprintable():
        return text
    return "".join(" " if unicodedata.category(sign) in OBEYED else sign for sign in text)


def replace_unprintable(text: str, by: str) -> str:
    """A stranger's words with something else for every sign that is not plainly seen.

    That is more than a terminal obeys: blanks that pass for the one blank, and signs that no font need have (categories
    C and Z of Unicode, but for the space), as either can make two different names look the same.
    """
    # by Python's table of Unicode; the page that checks asks its browser's, which may know newer letters
    return "".join(sign if sign.isprintable() else by for sign in text)
