"""What the record page is given, and what an entry's page says of its seal: seals, proofs, evidence, what is closed."""

from __future__ import annotations

from typing import ClassVar, Literal

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import Fact, Link, When
from buildlog.site.view_service import CoverageRow


@frozen
class SealRow:
    """One seal."""

    number: str
    "its anchor is `seal-NUMBER`"
    when: When
    holds: str
    "`240 files in all: 12 new, 2 amended`"
    code: str
    "`3f2a-…`, four groups"
    root: str
    "64 hexadecimal digits"
    said: tuple[str, ...]
    "whose word the date is; signature and time stamp, a sentence each"
    reasons: tuple[str, ...] = ()
    "why files were amended, in the owner's words"


@frozen
class Closed:
    """One thing that readers of the site see in part or not at all."""

    what: str
    how: str
    "`masked`, `not published`"
    why: str = ""
    "where it can be seen all the same"


@frozen
class RecordView:
    """How far can this record be checked, and how?"""

    TEMPLATE: ClassVar[str] = "record.html"
    frame: Frame
    verdict: str
    "what stands sealed, in one sentence"
    failures: tuple[str, ...] = ()
    "where the seals do not hold"
    seals: tuple[SealRow, ...] = ()
    "newest first"
    sealed: tuple[Fact, ...] = ()
    "files that stand sealed: log, entries, photos, papers"
    changed: tuple[Link, ...] = ()
    "entries that are not as they were sealed"
    unsealed: tuple[Link, ...] = ()
    "entries that were never sealed"
    coverage: tuple[CoverageRow, ...] = ()
    closed: tuple[Closed, ...] = ()
    latest_code: str = ""


@frozen
class ProofView:
    """That an entry's leaf stands under a seal, in a form that can be worked out again."""

    leaf: str
    index: str
    "the leaf's number, from 0"
    size: str
    "leaves under the seal"
    path: tuple[tuple[str, str], ...]
    "side (`left`, `right`) and hash, from the leaf up"
    root: str
    seal: Link
    "`seal 3`, leading to the record page"
    file: str
    "`entries/2024-05-18-lift-pump.md`"
    sha256: str
    "of that file as it was sealed"
    lines: str
    "the same worked out by stock tools: lines for a shell, the last of which prints the root"


@frozen
class SealedView:
    """How an entry stands to the seals."""

    state: Literal["whole", "changed", "unsealed"]
    says: str
    "one sentence"
    when: When | None = None
    "of the seal"
    code: str = ""
    reason: str = ""
    "why it was amended, in the owner's words"
    proof: ProofView | None = None
