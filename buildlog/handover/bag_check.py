"""Is a bag whole: every file listed, none added, each with the checksum and size that the manifests say (RFC 8493)?

The checksums that were found are handed on, so that no file is read twice. A code that somebody kept from an earlier
day is looked for here too: it ties the bag to that day. What the files mean is left to `verify`.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from buildlog.frozen import frozen
from buildlog.handover.bag import (
    DECLARATION,
    DECLARED,
    INFO,
    MANIFEST,
    PAYLOAD,
    TAG_FILES,
    TAG_MANIFEST,
    list_checksums,
)
from buildlog.handover.findings import Finding, Flaw, judge, tell
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.unpack import Refused
from buildlog.record.rules import (
    LARGEST_INFO,
    LARGEST_MANIFEST,
    LONGEST_NAME,
    MOST_FILES,
    MOST_WRONG_LINES,
    say,
    say_day,
)
from buildlog.record.seal_check import SealReport
from buildlog.record.seals import FOLDER, SHORT_DIGITS, Digest, KeptCode, Seal

LINE = re.compile(rf"([0-9a-f]{{64}})  ([A-Za-z0-9._/-]{{1,{LONGEST_NAME}}})\n")
"A line of a manifest of ours: RFC 8493 leaves more freedom, and no bag of ours uses it."


@frozen
class BagCheck:
    """What a bag's files come to, and where the bag is not whole."""

    digests: Mapping[str, Digest]
    "of every file that could be read, by name from the bag's top"
    flaws: tuple[Flaw, ...]
    "where files and manifests do not agree; empty: the bag is whole"


def check_bag(bag: HashedBag) -> BagCheck:
    """Compare what every file came to with the manifests."""
    digests = bag.digests
    flaws = [Flaw(rule=why.rule, message=why.message, file=name) for name, why in bag.damaged.items()]
    flaws += _check_declaration(digests.get(DECLARATION))
    payload = {name: digest for name, digest in digests.items() if name.startswith(PAYLOAD)}
    tags = {name: digests[name] for name in TAG_FILES if name in digests and name != TAG_MANIFEST}
    # What cannot be read is told once, and not again as a file that a manifest lists and that is not there.
    unread = {flaw.file for flaw in flaws}
    for name, found in ((MANIFEST, payload), (TAG_MANIFEST, tags)):
        flaws += [flaw for flaw in _check_manifest(bag, name, found) if flaw.file not in unread]
    flaws += _check_info(bag, payload)
    strays = sorted(name for name in bag.sizes if not name.startswith(PAYLOAD) and name not in TAG_FILES)
    flaws += [tell("added:tag", name) for name in strays]
    return BagCheck(digests=digests, flaws=tuple(flaws))


def _check_declaration(found: Digest | None) -> Iterator[Flaw]:
    if found is None:
        yield tell("no-bag", DECLARATION)
    elif found.sha256 != hashlib.sha256(DECLARED).hexdigest():
        yield tell("declaration", DECLARATION)


def _check_manifest(bag: HashedBag, name: str, found: Mapping[str, Digest]) -> Iterator[Flaw]:
    """Compare one manifest with what was found; where all is well, its bytes are just those that we would write."""
    if name not in bag.sizes:
        yield tell("missing", name)
        return
    try:
        data = bag.read(name, LARGEST_MANIFEST)
    except Refused as why:
        yield Flaw(rule=why.rule, message=why.message, file=name)
        return
    # Compared whole: a sound manifest of 200,000 lines is not even parsed. It is, only to tell what is wrong with it.
    if data != list_checksums(found):
        flaws = [*_explain_manifest(data, name, found)]
        yield from flaws or [tell("manifest-order", name)]


def _explain_manifest(data: bytes, name: str, found: Mapping[str, Digest]) -> Iterator[Flaw]:
    listed, flaws = _read_manifest(data, name)
    yield from flaws
    for file in sorted(listed.keys() | found.keys()):
        if file not in found:
            yield tell("missing:listed", file, manifest=name)
        elif file not in listed:
            yield tell("added", file, manifest=name)
        elif listed[file] != found[file].sha256:
            yield tell("changed", file, manifest=name)


def _read_manifest(data: bytes, name: str) -> tuple[dict[str, str], list[Flaw]]:
    """The checksums by name, and what in the manifest cannot be read."""
    listed: dict[str, str] = {}
    wrong: list[Flaw] = []
    for number, raw in enumerate(io.BytesIO(data), 1):
        # Stricter than RFC 8493, which allows other blanks and escapes: nothing that one reader takes for another name.
        match = LINE.fullmatch(raw.decode("ascii", "replace"))
        if number > MOST_FILES or (not match and len(wrong) > MOST_WRONG_LINES):
            break
        if not match:
            wrong.append(tell("manifest-line", name, line=number))
        elif match[2] in listed:
            wrong.append(tell("manifest-line:again", name, line=number, name=match[2]))
        else:
            listed[match[2]] = match[1]
    return listed, wrong


def _check_info(bag: HashedBag, payload: Mapping[str, Digest]) -> Iterator[Flaw]:
    """Payload-Oxum (RFC 8493, section 2.2.2) counts what is there."""
    if INFO not in bag.sizes:
        return
    try:
        text = bag.read(INFO, LARGEST_INFO).decode("utf-8", "replace")
    except Refused as why:
        yield Flaw(rule=why.rule, message=why.message, file=INFO)
        return
    # Compared as a text, so that it stands there once and in this one spelling.
    counted = f"{sum(digest.size for digest in payload.values())}.{len(payload)}"
    said = re.findall(r"^Payload-Oxum: (.*)$", text, re.MULTILINE)
    if said != [counted]:
        yield tell("oxum", INFO, counted=counted)


def compare_code(found: Finding, seals: Sequence[Seal], kept: KeptCode) -> Finding:
    """What was found of the chain of seals, with what the code adds to it."""
    seal = _find_seal(seals, kept)
    if seal is None:
        return judge(found.key, [*found.flaws, tell("code-unknown", f"{PAYLOAD}{FOLDER}")], "")
    says = say("seals kept", says=found.says, number=seal.number, date=seal.date)
    return replace(found, says=say("seals short", says=says, bits=SHORT_DIGITS * 4) if kept.short else says)


def _find_seal(seals: Sequence[Seal], kept: KeptCode) -> Seal | None:
    # Any seal, not the last alone: a code that was noted a year ago is that of an earlier one, and what that one counts
    # is fixed by it, whatever was added since.
    return next((seal for seal in seals if kept.fits(seal.root)), None)


def tell_code(report: SealReport, kept: KeptCode, *, whole: bool) -> str:
    """What became of all that the seal with the code covered, in plain words; nothing where no seal has it.

    `whole`: the seals and all that they cover hold.
    """
    seal = _find_seal(report.seals, kept)
    if seal is None:
        return ""
    day = say_day(seal.date)
    if not whole:
        return say("code broken", day=day)
    before = {leaf.path for leaf in report.leaves[: seal.leaves] if leaf}
    since = {leaf.path for leaf in report.leaves[seal.leaves :] if leaf}
    if not since:
        return say("code last", day=day)
    return say("code holds", day=day, changed=len(since & before), added=len(since - before))
