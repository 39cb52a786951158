"""What was committed to on one day: a seal with its code, the leaves that it counts, and the chain that seals make.

`seals/leaves.jsonl` holds one leaf a line, each in canonical JSON and ended by one LF, in the order in which they were
sealed: what the record says of one file of the log at one time. A line without its LF is the item that the tree
hashes. Leaves are numbered from 0, as RFC 9162 counts. A line is never changed again: what happens to a file later is a
leaf of its own, which amends the one before.

`seals/0001.json` and so on hold one seal each, in canonical JSON ended by one LF. Beside a seal may lie what others say
of it: `0001.json.sig` (a signature), `0001.tsr` and `0001.ca.pem` (a time stamp and whom it is from, see
`attest`). Whether the chain holds is for `seal_check`.

The code of a seal is as much of its root as people read to each other: the root's first 135 bits as 27 characters of
RFC 4648 base32, then a check character by ISO/IEC 7064, MOD 37-36, in seven groups of four. Whoever may choose what is
sealed can look for two logs with one code: by the birthday bound that takes 2^67 tries. Codes of 16 hexadecimal digits,
which seals had at first, take 2^32: two such logs were found in an hour.
"""

from __future__ import annotations

import datetime
import hashlib
import re
from base64 import b32encode
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from buildlog.paths import is_sound
from buildlog.record.hashing import NotCanonical, read_canonical, write_canonical
from buildlog.record.rules import LARGEST_SEAL, LONGEST_LINE, LONGEST_PATH, LONGEST_REASON
from buildlog.text import ASCII_CONTROL, LONE_SURROGATE

LEAVES_FILE = "leaves.jsonl"
"Name of the list in `seals/`."


class NotALeaf(ValueError):
    """A line is no leaf; the message says why, in lower case."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Digest:
    """The bytes of one file, as far as the record knows them."""

    size: int
    "bytes"
    sha256: str
    "64 hexadecimal digits, lower case"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One file as it was when it was sealed, or that it was gone."""

    path: str
    "from the log's folder, with `/`, in Unicode's form NFC"
    digest: Digest | None
    "None: the file was no longer there; both its size and its checksum are written as null"
    salt: str
    "32 hexadecimal digits drawn at random: whoever sees the leaf's hash alone cannot guess the file behind it"
    amends: int | None = None
    "number of the leaf before it of the same path; None for the first"
    reason: str | None = None
    "why the file differs from what was sealed, in the owner's words; given with `amends` and never without"


def write_leaf(leaf: Leaf) -> bytes:
    """The line of a leaf, without its LF: what the tree hashes."""
    if leaf.digest and leaf.amends is None and PLAIN_PATH.fullmatch(leaf.path):
        known = f'"salt":"{leaf.salt}","sha256":"{leaf.digest.sha256}","size":{leaf.digest.size}'
        return f'{{"path":"{leaf.path}",{known}}}'.encode()
    value: dict[str, object] = {
        "path": leaf.path,
        "salt": leaf.salt,
        "sha256": leaf.digest and leaf.digest.sha256,
        "size": leaf.digest and leaf.digest.size,
    }
    if leaf.amends is not None:
        value |= {"amends": leaf.amends, "reason": leaf.reason}
    return write_canonical(value)


def read_leaf(line: bytes) -> Leaf:
    """The leaf in a line. Raises `NotALeaf`, for any bytes at all."""
    plain = PLAIN.fullmatch(line)
    if plain and is_sound_path(path := plain[1].decode()):
        # Fifteen digits at most, as the pattern says: no integer that a reader would round.
        known = Digest(size=int(plain[4]), sha256=plain[3].decode())
        return Leaf(path=path, digest=known, salt=plain[2].decode())
    if len(line) > LONGEST_LINE:
        raise NotALeaf(f"the line is longer than {LONGEST_LINE} bytes")
    try:
        value = read_canonical(line)
    except NotCanonical as why:
        raise NotALeaf(str(why)) from None
    if not isinstance(value, dict) or value.keys() not in ({*FIRST_KEYS}, {*FIRST_KEYS, *LATER_KEYS}):
        raise NotALeaf("its keys are not those of a leaf")
    for key, given in value.items():
        if not _leaf_fits(key, given):
            raise NotALeaf(f"`{key}` is not valid in a leaf")
    # A first leaf that says "gone" would seal a file that never was.
    if (value["size"] is None) != (value["sha256"] is None) or (value["size"] is None and "amends" not in value):
        raise NotALeaf("a file that is gone has no size, no checksum, and an earlier leaf")
    digest = None if value["size"] is None else Digest(size=value["size"], sha256=value["sha256"])
    later = {key: value.get(key) for key in LATER_KEYS}
    return Leaf(path=value["path"], digest=digest, salt=value["salt"], **later)


PLAIN = re.compile(
    rb'\{"path":"([ !#-\[\]-~]{1,1000})","salt":"([0-9a-f]{32})",'
    rb'"sha256":"([0-9a-f]{64})","size":(0|[1-9][0-9]{0,14})\}'
)
"The leaf that most lines are, canonical as it stands with nothing escaped: read at a tenth of the cost of any JSON."
PLAIN_PATH = re.compile(r"[ !#-\[\]-~]{1,1000}")
"A path in which JSON escapes nothing: written at a tenth of the cost likewise."
FIRST_KEYS = ("path", "salt", "sha256", "size")
LATER_KEYS = ("amends", "reason")


def _leaf_fits(key: str, value: Any) -> bool:
    """Whether the value of one key has the shape that it must have."""
    if key in ("size", "amends"):
        # By the type and not `isinstance`: to Python `true` is a whole number as well.
        return (value is None and key == "size") or (type(value) is int and value >= 0)
    if key == "sha256" and value is None:
        return True
    if not isinstance(value, str):
        return False
    if key == "path":
        return is_sound_path(value)
    if key == "reason":
        return is_sound_reason(value)
    return bool(re.fullmatch(r"[0-9a-f]{64}" if key == "sha256" else r"[0-9a-f]{32}", value))


def is_sound_path(path: str) -> bool:
    """Whether a path stays inside the log and means one file everywhere."""
    return is_sound(path) and len(path if path.isascii() else path.encode()) <= LONGEST_PATH


def is_sound_reason(reason: str) -> bool:
    """Whether a reason says something, in one paragraph without control characters."""
    plain = not re.search(f"[{ASCII_CONTROL}{LONE_SURROGATE}]", reason)
    return plain and bool(reason.strip()) and len(reason) <= LONGEST_REASON


def is_covered(path: str) -> bool:
    """Whether seals speak of this file: log.yaml, entries, standing pages, photos and papers.

    Not the seals themselves, the site, the theme (how a log looks is no claim), and what is hidden or a backup of an
    editor's.
    """
    # By name alone, so that a bag is judged by the same rule as the log that it was made of, on any system.
    if HIDDEN.search(path):
        return False
    folder, _, name = path.partition("/")
    if folder in ("entries", "pages"):
        return name.endswith(".md") and "/" not in name
    return path == "log.yaml" or (folder in ("photos", "papers") and bool(name))


HIDDEN = re.compile(r"(?:^|/)\.|~(?:/|$)")
"A name that is hidden, or an editor's backup."


def find_latest(leaves: Iterable[Leaf | None]) -> dict[str, int]:
    """The number of the latest leaf of each path; None stands for a line that is no leaf."""
    return {leaf.path: number for number, leaf in enumerate(leaves) if leaf}


FOLDER = "seals"
"The folder in the log."
UNFINISHED = "unfinished.json"
"The file that stands in `seals/` while leaves and a seal are being added, see `sealing`."
BESIDE = {"signature": ".json.sig", "stamp": ".tsr", "authority": ".ca.pem"}
"What may lie beside a seal, and how its name ends."
SEAL_NAME = re.compile(r"(\d{4})\.json")
BESIDE_NAME = re.compile(r"(\d{4})(?:\.json\.sig|\.tsr|\.ca\.pem)")


class NotASeal(ValueError):
    """A file is no seal; the message says why, in lower case."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """That on a day, by the owner's word, the list had these leaves."""

    number: int
    "from 1, without a gap"
    date: datetime.date
    "the owner's word, unless a time stamp over the seal's file says more"
    leaves: int
    "how many leaves it counts from the first on: more than the seal before"
    root: str
    "root of the tree over them (RFC 9162, section 2.1.1), 64 hexadecimal digits"
    previous: str | None
    "SHA-256 of the file of the seal before, 64 hexadecimal digits; None for the first"

    @property
    def name(self) -> str:
        """Its file's name in `seals/`."""
        return name_seal(self.number)

    @property
    def code(self) -> str:
        """The root for people to note and to read to each other."""
        return write_code(self.root)


def name_seal(number: int) -> str:
    """The file name of a seal."""
    return f"{number:04d}.json"


def name_beside(number: int, what: str) -> str:
    """The file name of a seal's `signature`, `stamp` or `authority`."""
    return f"{number:04d}{BESIDE[what]}"


def write_seal(seal: Seal) -> bytes:
    """The whole file of a seal."""
    value = {
        "date": seal.date.isoformat(),
        "leaves": seal.leaves,
        "number": seal.number,
        "previous": seal.previous,
        "root": seal.root,
    }
    return write_canonical(value) + b"\n"


def read_seal(data: bytes) -> Seal:
    """The seal in a file. Raises `NotASeal`, for any bytes at all."""
    # The size first: what is larger is not parsed.
    if len(data) > LARGEST_SEAL or not data.endswith(b"\n"):
        raise NotASeal("it is too long" if len(data) > LARGEST_SEAL else "its end is missing")
    try:
        value = read_canonical(data[:-1])
    except NotCanonical as why:
        raise NotASeal(str(why)) from None
    if not isinstance(value, dict) or value.keys() != {"date", "leaves", "number", "previous", "root"}:
        raise NotASeal("its keys are not those of a seal")
    for key, given in value.items():
        if not _seal_fits(key, given):
            raise NotASeal(f"`{key}` is not valid in a seal")
    return Seal(**value | {"date": datetime.date.fromisoformat(value["date"])})


def _seal_fits(key: str, value: Any) -> bool:
    if key in ("leaves", "number"):
        return type(value) is int and value > 0
    if key == "previous" and value is None:
        return True
    if key == "date":
        return isinstance(value, str) and _is_date(value)
    return isinstance(value, str) and bool(re.fullmatch(r"[0-9a-f]{64}", value))


def _is_date(text: str) -> bool:
    try:
        # Back and forth, as `20240518` and `2024-W20-6` are dates to Python, too.
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def hash_seal(data: bytes) -> str:
    """What the next seal says of this one's file, which is what `sha256sum` prints."""
    return hashlib.sha256(data).hexdigest()


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
