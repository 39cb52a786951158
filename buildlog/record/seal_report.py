"""What was found when seals were checked: the values that the check takes and gives, for every reader of a record.

How it is found out is left to `seal_check`, how the disk is read to `log_disk`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from buildlog.record.leaves import Leaf
from buildlog.record.seals import Seal


@dataclass(frozen=True, slots=True, kw_only=True)
class SealFolder:
    """What lies in `seals/`, read and not yet believed."""

    leaves: bytes | None
    "the list of leaves, or its first `LARGEST_LEAVES` bytes and one more; None where there is none"
    seals: Mapping[str, bytes]
    "each file that is named as a seal, or its first `LARGEST_SEAL` bytes and one more, by its name"
    others: frozenset[str] = frozenset()
    "names of everything else there: stamps, signatures, and what does not belong there"


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """One way in which the record does not hold."""

    rule: str
    "stable kebab-case name of what is wrong"
    file: str
    "in which file, as a path from the log's folder"
    message: str
    "what is wrong: lower case, no full stop, values in backticks"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileReport:
    """How the log's files stand to their latest leaves; paths, sorted."""

    whole: tuple[str, ...]
    "as sealed"
    changed: tuple[str, ...]
    "sealed, and other bytes now"
    missing: tuple[str, ...]
    "sealed, and not there"
    returned: tuple[str, ...]
    "sealed as gone, and there"
    unsealed: tuple[str, ...]
    "there, and never sealed"
    gone: tuple[str, ...]
    "sealed as gone, and not there"

    @property
    def differs(self) -> bool:
        """Whether the log has anything that its seals do not say."""
        return bool(self.changed or self.missing or self.returned or self.unsealed)


@dataclass(frozen=True, slots=True, kw_only=True)
class SealReport:
    """What the seals say, and where they do not hold."""

    seals: tuple[Seal, ...]
    "those that can be read and stand under their own name, by number"
    leaves: tuple[Leaf | None, ...]
    "each line of the list, from number 0; None where it is no leaf"
    failures: tuple[Failure, ...]
    "empty: the chain holds"
    files: FileReport
    hashes: tuple[bytes, ...] = field(default=(), repr=False)
    "the tree's hash of each line of the list, for proofs"

    @property
    def last(self) -> Seal | None:
        """The latest seal, or None where nothing was sealed."""
        return self.seals[-1] if self.seals else None
