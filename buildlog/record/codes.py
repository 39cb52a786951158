"""The code of a seal: as much of its root as people read to each other, with a character that shows a slip.

A root's first 135 bits as 27 characters of RFC 4648 base32, then a check character by ISO/IEC 7064, MOD 37-36, in seven
groups of four. Whoever may choose what is sealed can look for two logs with one code: by the birthday bound that takes
2^67 tries. Codes of 16 hexadecimal digits, which seals had at first, take 2^32: two such logs were found in an hour.
"""

from __future__ import annotations

import re
from base64 import b32encode
from dataclasses import dataclass

LETTERS = 27
"Characters of the root: 5 bits each."
GROUP = 4
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
"The characters of MOD 37-36, each worth its place."
SHORT_DIGITS = 16
"Hexadecimal digits of the root in a code of the first kind, and the fewest that are taken for one."
LEAST_DIGITS = 32
"Hexadecimal digits, 128 bits: what has fewer is called short."
WHOLE_DIGITS = 64


class NotACode(ValueError):
    """A text is no code of a seal; the message says why, in lower case."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCode:
    """A code that somebody kept."""

    start: str
    "what a root has to begin with"
    in_base32: bool
    "whether that is spelled in base32, as seals have it now; else in hexadecimal digits"

    @property
    def short(self) -> bool:
        """Whether whoever chooses what is sealed could make another log that has it."""
        return not self.in_base32 and len(self.start) < LEAST_DIGITS

    def fits(self, root: str) -> bool:
        """Whether it is of this root, given as 64 hexadecimal digits."""
        return (spell_root(root) if self.in_base32 else root).startswith(self.start)


def write_code(root: str) -> str:
    """The code of a root given as 64 hexadecimal digits."""
    letters = spell_root(root)[:LETTERS]
    whole = letters + find_check(letters)
    return "-".join(whole[at : at + GROUP] for at in range(0, len(whole), GROUP))


def spell_root(root: str) -> str:
    """The root in base32 (RFC 4648, section 6)."""
    return b32encode(bytes.fromhex(root)).decode()


def find_check(text: str) -> str:
    """The check character of digits and capitals (ISO/IEC 7064, MOD 37-36: a hybrid system, so one character)."""
    carried = 36
    for letter in text:
        carried = (carried + ALPHABET.index(letter)) % 36 or 36
        carried = carried * 2 % 37
    return ALPHABET[(1 - carried) % 36]


def read_code(text: str) -> KeptCode:
    """The code in a text that somebody typed: now's or the first kind's, or the whole root. Raises `NotACode`.

    Blanks, hyphens and small letters make no difference.
    """
    given = re.sub(r"[\s-]", "", text)
    # A text of 28 could be of either kind. It is taken for one of today's, which has a character that shows a slip.
    if re.fullmatch(rf"[0-9A-Fa-f]{{{SHORT_DIGITS},{WHOLE_DIGITS}}}", given) and len(given) != LETTERS + 1:
        return KeptCode(start=given.lower(), in_base32=False)
    letters, check = given[:-1].upper(), given[-1:].upper()
    if len(letters) != LETTERS:
        raise NotACode(f"a code has {LETTERS + 1} characters, an older one {SHORT_DIGITS}, but this has {len(given)}")
    if not re.fullmatch("[A-Z2-7]+", letters) or check not in ALPHABET:
        raise NotACode("it has a character that no code has: they use letters and 2 to 7, and any digit at the end")
    # A slip is told here, and not as a log that is another: that would be a charge against the owner.
    if find_check(letters) != check:
        raise NotACode("a character in it is wrong, or two are swapped: the check character at the end does not match")
    return KeptCode(start=letters, in_base32=True)
