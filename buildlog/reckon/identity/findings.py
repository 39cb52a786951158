"""What reading an identity number found: data on primitives, before it has a place in a file.

`buildlog.reckon.identity.identity` turns findings into problems; `vin` and `hin` make them.
"""

from __future__ import annotations

from typing import Literal

from buildlog.frozen import frozen

FindingSeverity = Literal["error", "doubt", "note"]


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
    "`error`: cannot be such a number; `doubt`: the owner should look; `note`: for the record, asks for nothing"


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
