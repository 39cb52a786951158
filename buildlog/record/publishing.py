"""Which seals, proofs and failures of them readers of the site are told: a record read for publication.

An entry is proved under the seal that added its latest leaf: later seals leave its page as it is. Only entries and
`log.yaml` are hashed for it; whether every photo and paper is as sealed is asked when a log is sealed, handed over or
verified. How pages show it is left to `render`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from buildlog.frozen import frozen
from buildlog.paths import compose
from buildlog.record.attestation_metadata import read_key, read_stamp_words
from buildlog.record.hashing import Tree
from buildlog.record.log_disk import hash_files, read_seal_folder
from buildlog.record.published import (
    EntryProof,
    PublishedEntry,
    PublishedRecord,
    PublishedSeal,
    PublishedStamp,
    Step,
)
from buildlog.record.seal_check import SealFolder, SealReport, check_seals
from buildlog.record.seals import FOLDER, Digest, Leaf, Seal, find_latest, name_beside, write_leaf


def read_published(folder: Path, entries: Iterable[str]) -> PublishedRecord:
    """What is told of the seals of a log on disk; `entries` are its entries and pages, as paths from its folder.

    Raises `OSError` where `seals/` is there and cannot be read.
    """
    seals = read_seal_folder(folder)
    if not seals.seals and seals.leaves is None:
        return PublishedRecord()
    paths = {compose(path): path for path in entries}
    # What cannot be read is told by the reader of entries, and has no page.
    digests, _ = hash_files(folder, paths)
    return publish_record(seals, digests, _read_beside(folder, seals.others) if seals.others else {})


def _read_beside(folder: Path, names: Iterable[str]) -> dict[str, bytes]:
    """Signatures and stamps, by name; what is larger than one can be is left out."""
    from buildlog.record.attest import LARGEST_REPLY, LARGEST_SIGNATURE

    most = {".sig": LARGEST_SIGNATURE, ".tsr": LARGEST_REPLY, ".pem": LARGEST_REPLY}
    found: dict[str, bytes] = {}
    for name in sorted(names):
        path = folder / FOLDER / name
        limit = most.get(path.suffix)
        # A link is left out: pages would tell of a file that does not go along.
        if limit and path.is_file() and not path.is_symlink():
            with open(path, "rb") as file:
                data = file.read(limit + 1)
            found |= {name: data} if len(data) <= limit else {}
    return found


def publish_record(seals: SealFolder, present: Mapping[str, Digest], beside: Mapping[str, bytes]) -> PublishedRecord:
    """The same, over bytes in memory, so that a bag gives the same pages as the log that it was made from.

    `present` holds the files of the log's entries and pages, by path in form NFC; `beside` what lies in `seals/` beside
    seals.
    """
    report = check_seals(seals, present)
    failures = tuple(f"`{failure.file}`: {failure.message}" for failure in report.failures)
    return PublishedRecord(
        seals=tuple(_describe_seals(report, beside)),
        entries=dict(_describe_entries(report, present, proved=not failures)),
        sealed=_count_sealed(report.leaves),
        failures=failures,
    )


def _describe_seals(report: SealReport, beside: Mapping[str, bytes]) -> Iterator[PublishedSeal]:
    before = 0
    for seal in report.seals:
        added = [leaf for leaf in report.leaves[before : seal.leaves] if leaf]
        before = seal.leaves
        gone = sum(leaf.digest is None for leaf in added)
        amended = sum(leaf.amends is not None for leaf in added) - gone
        signature = beside.get(name_beside(seal.number, "signature"))
        yield PublishedSeal(
            number=seal.number,
            date=seal.date,
            leaves=seal.leaves,
            new=len(added) - amended - gone,
            amended=amended,
            gone=gone,
            root=seal.root,
            code=seal.code,
            key=None if signature is None else read_key(signature),
            stamp=_describe_stamp(seal, beside),
            reasons=tuple(dict.fromkeys(leaf.reason for leaf in added if leaf.reason)),
        )


def _describe_stamp(seal: Seal, beside: Mapping[str, bytes]) -> PublishedStamp | None:
    reply = beside.get(name_beside(seal.number, "stamp"))
    if reply is None:
        return None
    time, authority = read_stamp_words(reply)
    return PublishedStamp(time=time, authority=authority, certificates=name_beside(seal.number, "authority") in beside)


def _describe_entries(
    report: SealReport, present: Mapping[str, Digest], *, proved: bool
) -> Iterator[tuple[str, PublishedEntry]]:
    latest, tree = find_latest(report.leaves), Tree(report.hashes)
    for path, digest in present.items():
        index = latest.get(path)
        leaf = report.leaves[index] if index is not None else None
        if index is None or leaf is None or not leaf.digest:
            yield path, PublishedEntry(state="not sealed", proof=None)
        else:
            # No proof while the seals do not hold: it would lead to a root that nothing confirms.
            proof = _prove(_Sealed(index=index, leaf=leaf, digest=leaf.digest), report, tree) if proved else None
            yield path, PublishedEntry(state="as sealed" if digest == leaf.digest else "changed", proof=proof)


@frozen
class _Sealed:
    """A leaf of a file that was there, with its number."""

    index: int
    "from 0, in the list of leaves"
    leaf: Leaf
    "the latest of its path"
    digest: Digest
    "the leaf's, which says that there was a file"


def _prove(sealed: _Sealed, report: SealReport, tree: Tree) -> EntryProof:
    """The proof under the first seal that counts the leaf; the seals must hold."""
    # The first seal, and not the last: pages of older entries stay as they are when a new seal is made.
    seal = next(seal for seal in report.seals if sealed.index < seal.leaves)
    path = tree.prove_inclusion(sealed.index, seal.leaves)
    return EntryProof(
        leaf=write_leaf(sealed.leaf).decode(),
        index=sealed.index,
        size=seal.leaves,
        path=tuple(Step(side=side, hash=other.hex()) for side, other in path),
        root=seal.root,
        seal=seal.number,
        code=seal.code,
        date=seal.date,
        sha256=sealed.digest.sha256,
        reason=sealed.leaf.reason or "",
    )


def _count_sealed(leaves: Iterable[Leaf | None]) -> dict[str, int]:
    """How many files stand sealed, by the first part of their path."""
    latest = {leaf.path: leaf for leaf in leaves if leaf}
    counts = Counter(path.partition("/")[0] for path, leaf in latest.items() if leaf.digest)
    return dict(sorted(counts.items()))
