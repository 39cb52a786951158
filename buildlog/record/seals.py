"""What was committed to on one day: a seal, and the chain that seals make.

`seals/0001.json` and so on hold one seal each, in canonical JSON ended by one LF. Beside a seal may lie what others say
of it: `0001.json.sig` (a signature, see `signature`), `0001.tsr` and `0001.ca.pem` (a time stamp and whom it is from,
see `stamp`). Which leaves a seal counts is left to `leaves`, whether the chain holds to `seal_check`.
"""

from __future__ import annotations

import datetime
import hashlib
import re
from dataclasses import dataclass
from typing import Any

from buildlog.record.canonical import NotCanonical, read_canonical, write_canonical
from buildlog.record.codes import write_code
from buildlog.record.limits import LARGEST_SEAL

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
        """The root for people to note and to read to each other, see `codes`."""
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
    if len(data) > LARGEST_SEAL or not data.endswith(b"\n"):
        raise NotASeal("it is too long" if len(data) > LARGEST_SEAL else "its end is missing")
    try:
        value = read_canonical(data[:-1])
    except NotCanonical as why:
        raise NotASeal(str(why)) from None
    if not isinstance(value, dict) or value.keys() != {"date", "leaves", "number", "previous", "root"}:
        raise NotASeal("its keys are not those of a seal")
    for key, given in value.items():
        if not _fits(key, given):
            raise NotASeal(f"`{key}` is not what a seal has there")
    return Seal(**value | {"date": datetime.date.fromisoformat(value["date"])})


def _fits(key: str, value: Any) -> bool:
    if key in ("leaves", "number"):
        return type(value) is int and value > 0
    if key == "previous" and value is None:
        return True
    if key == "date":
        return isinstance(value, str) and _is_date(value)
    return isinstance(value, str) and bool(re.fullmatch(r"[0-9a-f]{64}", value))


def _is_date(text: str) -> bool:
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def hash_seal(data: bytes) -> str:
    """What the next seal says of this one's file, which is what `sha256sum` prints."""
    return hashlib.sha256(data).hexdigest()
