"""What readers of the site are told of the seals: the values that its pages are made from.

How they are found out is left to `publishing`; nothing here touches the disk or decides anything.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import field
from typing import Literal

from buildlog.frozen import frozen

EntryState = Literal["as sealed", "changed", "not sealed"]
"how an entry's file stands to its latest leaf"


@frozen
class PublishedStamp:
    """What a time stamp says of itself; pages do not check it."""

    time: datetime.datetime | None
    "in UTC, whole seconds; None: it cannot be read"
    authority: str
    "the name that the authority gives itself, or nothing"
    certificates: bool
    "whether the authority's certificates lie beside it"


@frozen
class PublishedSeal:
    """One seal, as the record page lists it."""

    number: int
    "from 1"
    date: datetime.date
    "the owner's word"
    leaves: int
    "how many it counts from the first on"
    new: int
    "of those that it added: files sealed for the first time"
    amended: int
    "files that had changed, or had come back"
    gone: int
    "files that were no longer there"
    root: str
    "64 hexadecimal digits"
    code: str
    "what people note of the root, see `seals`"
    key: str | None
    "what the signature beside it says of its key: `SHA256:…`, or nothing readable; None: there is no signature"
    stamp: PublishedStamp | None
    "what the time stamp beside it says; None: there is none"
    reasons: tuple[str, ...]
    "why files were amended under it, in the owner's words"


@frozen
class Step:
    """One hash on the way from a leaf to a root."""

    side: Literal["left", "right"]
    "where it stands when it and the hash so far are hashed together"
    hash: str
    "64 hexadecimal digits"


@frozen
class EntryProof:
    """That an entry's latest leaf stands under the seal that added it (RFC 9162, section 2.1.3)."""

    leaf: str
    "the leaf's line, canonical JSON, without its LF"
    index: int
    "the leaf's number, from 0"
    size: int
    "leaves under the seal"
    path: tuple[Step, ...]
    "from the leaf up"
    root: str
    "the seal's"
    seal: int
    "its number"
    code: str
    "the seal's"
    date: datetime.date
    "the seal's"
    sha256: str
    "of the entry's file"
    reason: str
    "why it was amended; empty for a first leaf"


@frozen
class PublishedEntry:
    """How one entry stands to the seals."""

    state: EntryState
    "how its file stands to its latest leaf; a leaf that says it is gone counts as none"
    proof: EntryProof | None
    "None: it was never sealed, or the seals do not hold"


@frozen
class PublishedRecord:
    """All that pages say of the seals of a log."""

    seals: tuple[PublishedSeal, ...] = ()
    "by number; empty: nothing was ever sealed"
    entries: Mapping[str, PublishedEntry] = field(default_factory=dict)
    "by the file of the entry or standing page, as in `entries/2024-05-18-lift-pump.md`"
    sealed: Mapping[str, int] = field(default_factory=dict)
    "how many files stand sealed by their latest leaves, by the first part of their path; in the order of paths"
    failures: tuple[str, ...] = ()
    "where the seals do not hold, a sentence each; empty: they do"
