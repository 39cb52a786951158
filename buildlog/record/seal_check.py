"""Whether the seals hold, and what has become of the files since: over bytes in memory, so that any reader can ask.

1. The list of leaves is whole, and each line is a leaf that amends the one before it of its path.
2. The seals run from 1 without a gap, each under its own name, each with the checksum of the one before.
3. Each seal's root is the root of as many leaves as it counts; so each list of leaves begins with the one before it.
4. The last seal counts all leaves, and no sealing was left unfinished.
5. Each file is as its latest leaf says.

Points 1 to 4 are failures of the record. Point 5 is told apart, as lists: an owner may have work that is not sealed
yet, a package that is handed over may not. Signatures and time stamps are left to `attest`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from buildlog.record.hashing import Tree, hash_leaf
from buildlog.record.rules import LARGEST_LEAVES, MOST_LEAVES, name_rule, say
from buildlog.record.seals import (
    BESIDE_NAME,
    FOLDER,
    LEAVES_FILE,
    SEAL_NAME,
    UNFINISHED,
    Digest,
    Leaf,
    NotALeaf,
    NotASeal,
    Seal,
    find_latest,
    hash_seal,
    name_seal,
    read_leaf,
    read_seal,
)


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
    "how the log's files stand to their latest leaves (point 5); no failure of the record"
    hashes: tuple[bytes, ...] = field(default=(), repr=False)
    "the tree's hash of each line of the list, for proofs"

    @property
    def last(self) -> Seal | None:
        """The latest seal, or None where nothing was sealed."""
        return self.seals[-1] if self.seals else None


Values = dict[str, object]
"What stands in the words of a rule."


def check_seals(folder: SealFolder, present: Mapping[str, Digest]) -> SealReport:
    """The five points above. `present` holds the log's files that seals speak of, by path in form NFC."""
    # Every check is made, whatever failed before: an owner who mends a record needs to know of all the damage, and a
    # buyer of the first place where it begins.
    lines, failures = _split_lines(folder.leaves)
    leaves, unread = _read_leaves(lines)
    hashes = tuple(map(hash_leaf, lines))
    seals, misread = _read_seals(folder.seals)
    failures += unread
    failures += _check_amendments(leaves)  # point 1
    failures += misread
    failures += _check_numbers(folder.seals)
    failures += _check_chain(seals, folder.seals)  # point 2
    failures += _check_roots(seals, Tree(hashes))  # point 3
    failures += _check_ends(folder, seals, len(lines))  # point 4
    # By the latest leaves even where the chain does not hold: which file is another is still worth knowing.
    files = compare_files(leaves, present)  # point 5
    return SealReport(seals=seals, leaves=leaves, failures=tuple(failures), files=files, hashes=hashes)


# ── the list of leaves ───────────────────────────────────────────────────────────────────────────────────────────


def _split_lines(data: bytes | None) -> tuple[list[bytes], list[Failure]]:
    """The lines of the list without their LF; none where it is too large to be looked into."""
    if not data:
        return [], []
    count = data.count(b"\n")
    if len(data) > LARGEST_LEAVES or count > MOST_LEAVES:
        most, unit = (LARGEST_LEAVES, "bytes") if len(data) > LARGEST_LEAVES else (MOST_LEAVES, "leaves")
        return [], [_fail("leaves-too-many", LEAVES_FILE, most=most, unit=unit)]
    # A last line without its LF is a run that was cut short, or a list that was: it is told, and not read as a leaf.
    *lines, rest = data.split(b"\n")
    if not rest:
        return lines, []
    return lines, [_fail("leaf-cut", LEAVES_FILE, line=count + 1)]


def _read_leaves(lines: Sequence[bytes]) -> tuple[tuple[Leaf | None, ...], list[Failure]]:
    leaves: list[Leaf | None] = []
    wrong: list[Values] = []
    for number, line in enumerate(lines, 1):
        try:
            leaves.append(read_leaf(line))
        except NotALeaf as why:
            # It keeps its number, and its bytes stand in the tree all the same: else all behind it would fail with it.
            leaves.append(None)
            wrong.append({"line": number, "why": why})
    return tuple(leaves), _tell_first("leaf-unreadable", wrong)


def _check_amendments(leaves: Iterable[Leaf | None]) -> list[Failure]:
    """A leaf amends the latest one of its path, and the first of a path amends none."""
    latest: dict[str, int] = {}
    wrong: list[Values] = []
    for number, leaf in enumerate(leaves):
        if leaf is None:
            continue
        if leaf.amends != latest.get(leaf.path):
            wrong.append({"line": number + 1, "path": leaf.path})
        latest[leaf.path] = number
    return _tell_first("amends-wrong", wrong)


def _tell_first(words: str, wrong: Sequence[Values]) -> list[Failure]:
    """One failure for all lines of one kind: a stranger's list may have a hundred thousand of them."""
    if not wrong:
        return []
    more = say("lines like it", more=len(wrong) - 1) if wrong[1:] else ""
    return [_fail(words, LEAVES_FILE, **wrong[0], more=more)]


# ── the chain of seals ───────────────────────────────────────────────────────────────────────────────────────────


def _read_seals(files: Mapping[str, bytes]) -> tuple[tuple[Seal, ...], list[Failure]]:
    seals, failures = [], []
    for name, data in sorted(files.items()):
        try:
            seal = read_seal(data)
        except NotASeal as why:
            failures.append(_fail("seal-unreadable", name, why=why))
            continue
        if seal.name == name:
            seals.append(seal)
        else:
            failures.append(_fail("seal-misnamed", name, called=seal.name))
    return tuple(seals), failures


def _check_numbers(files: Mapping[str, bytes]) -> Iterator[Failure]:
    # By their names alone, so that a seal that is damaged does not count as missing as well.
    numbers = [0, *sorted(int(name[:4]) for name in files)]
    for before, after in pairwise(numbers):
        first, last = name_seal(before + 1), name_seal(after - 1)
        if after - before == 2:
            yield _fail("seal-missing", first)
        elif after - before > 2:
            yield _fail("seal-missing:many", first, last=last)


def _check_chain(seals: Sequence[Seal], files: Mapping[str, bytes]) -> Iterator[Failure]:
    """Each names the checksum of the one before, counts more leaves than it, and is dated no earlier."""
    by_number = {seal.number: seal for seal in seals}
    for seal in seals:
        # Over the bytes of the file, so that this holds, or not, also where the one before cannot be read as a seal.
        before = files.get(name_seal(seal.number - 1))
        if seal.number == 1 and seal.previous is not None:
            yield _fail("chain-broken:first", seal.name)
        elif before is not None and seal.previous != hash_seal(before):
            yield _fail("chain-broken", seal.name, before=name_seal(seal.number - 1))
        older = by_number.get(seal.number - 1)
        if older and seal.leaves <= older.leaves:
            yield _fail("leaves-fall", seal.name, leaves=seal.leaves, before=older.leaves)
        if older and seal.date < older.date:
            yield _fail("date-falls", seal.name, date=seal.date, before=older.date)


def _check_roots(seals: Sequence[Seal], tree: Tree) -> Iterator[Failure]:
    """Whether each root is that of the leaves it counts; where not, what of the two was changed, if it can be told."""
    # A seal that counts more leaves than there are is told by the check of the ends.
    countable = [seal for seal in seals if seal.leaves <= tree.size]
    holds = [tree.root(seal.leaves).hex() == seal.root for seal in countable]
    # A root that holds proves all leaves before it, so a seal before that with another root was itself changed. Behind
    # the last one that holds nobody can tell whether leaves or roots were.
    judged = max((at for at, good in enumerate(holds, 1) if good), default=0)
    for seal, good in zip(countable[:judged], holds, strict=False):
        if not good:
            yield _fail("seal-root-wrong", seal.name)
    start = countable[judged - 1].leaves if judged else 0
    wrong = countable[judged:]
    if len(wrong) == 1:
        yield _fail("root-differs", wrong[0].name, first=start + 1, last=wrong[0].leaves)
    elif wrong:
        yield _fail("leaves-changed", LEAVES_FILE, first=start + 1, last=wrong[0].leaves, seal=wrong[0].name)


def _check_ends(folder: SealFolder, seals: Sequence[Seal], count: int) -> Iterator[Failure]:
    """Whether list and seals end together, and whether everything in the folder belongs there."""
    sealed = max((seal.leaves for seal in seals), default=0)
    if folder.leaves is None and folder.seals:
        yield _fail("leaves-missing", LEAVES_FILE)
    # Cut at its end, the list would still make every root that is left: only the last seal tells how long it was. That
    # a last seal was dropped with its leaves, no record can tell: that takes a code from outside.
    elif sealed > count:
        yield _fail("leaves-cut-short", LEAVES_FILE, lines=count, seal=seals[-1].name, sealed=sealed)
    elif sealed < count:
        yield _fail("leaves-not-sealed", LEAVES_FILE, lines=count, sealed=sealed)
    for name in sorted(folder.others):
        beside = BESIDE_NAME.fullmatch(name)
        if name == UNFINISHED:
            yield _fail("unfinished", name)
        elif not beside or name_seal(int(beside[1])) not in folder.seals:
            yield _fail("stray-file:seal", name)


def _fail(words: str, name: str, **values: object) -> Failure:
    return Failure(rule=name_rule(words), file=f"{FOLDER}/{name}", message=say(words, **values))


def is_seal_name(name: str) -> bool:
    """Whether a file in `seals/` is named as a seal is."""
    return bool(SEAL_NAME.fullmatch(name)) and name != name_seal(0)


# ── the log's files ──────────────────────────────────────────────────────────────────────────────────────────────


def compare_files(leaves: Sequence[Leaf | None], present: Mapping[str, Digest]) -> FileReport:
    """How files stand to the latest leaf of each path."""
    latest = {path: leaves[number] for path, number in find_latest(leaves).items()}
    groups: dict[str, list[str]] = {}
    for path in sorted(latest.keys() | present.keys()):
        leaf = latest.get(path)
        sealed = leaf.digest if leaf else None
        groups.setdefault(_judge(leaf is not None, sealed, present.get(path)), []).append(path)
    return FileReport(**{name: tuple(groups.get(name, ())) for name in STATES})


STATES = ("whole", "changed", "missing", "returned", "unsealed", "gone")


def _judge(known: bool, sealed: Digest | None, here: Digest | None) -> str:
    """In which list a file stands."""
    if not known:
        return "unsealed"
    if sealed is None:
        return "gone" if here is None else "returned"
    if here is None:
        return "missing"
    return "whole" if here == sealed else "changed"
