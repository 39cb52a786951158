"""What a bag proves, question by question. The numbers are those of the report, and stand at the code that answers.

0.  Every file is read once and its checksum noted. A bag that cannot be read without harm is refused: `hashed_bag`.
1.  files        every file is listed, none was added, every checksum is right     `bag_check`
2.  sealed       the log's files are as their latest leaves say                    `seal_check`, point 5
3.  seals        they are a chain, none is missing, the roots are right            `seal_check`, points 1 to 4
4.  stamps       each time stamp beside a seal                                     `attest`
5.  signatures   each signature beside a seal                                      `attest`
6.  totals       costs, parts and faults: computed again from the entries          `recompute`
7.  service      service states: the same                                          `recompute`
8.  meter        readings and totals: the same                                     `recompute`
9.  identity     the numbers on the machine: the same                              `recompute`
10. evidence     what backs the claims: the same                                   `recompute`
11. pages        made again from the entries, pictures from the photos             `remake_pages`
12. withheld     what was kept back, and whether it was sealed

All of a bag is a stranger's, and every list in it can be made to fit every other. What a forger cannot make is a
signature with the owner's key, a stamp of an earlier day by an authority that the buyer trusts, or another log with the
code that the buyer kept. So 1 finds accidents; 2 and 3 tie the log to its last seal; 4, 5 and a code that was kept tie
that seal to a day and a person; 6 to 11 find figures and pages that the log does not bear out.

The log's own files are never parsed here: that is for the `Recheck` that is handed in, which may run elsewhere.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import field, replace
from pathlib import Path
from tempfile import TemporaryFile
from typing import BinaryIO

from buildlog.frozen import frozen
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.bag_check import BagCheck, check_bag, compare_code, tell_code
from buildlog.handover.figure_sums import check_sums
from buildlog.handover.findings import (
    QUESTIONS,
    Finding,
    Flaw,
    Report,
    hold,
    judge,
    lack,
    leave_open,
    note,
    object_to,
    tell,
)
from buildlog.handover.hashed_bag import HashedBag, read_through, unpack_bag
from buildlog.handover.manifest import (
    FIXED_FILES,
    LIST,
    LOG,
    OWN_THEME,
    SEALS,
    SITE,
    Handover,
    NotAHandover,
    name_log_files,
    read_list,
)
from buildlog.handover.remarks import Remarks, ask_of_stated, remark_bag
from buildlog.handover.uncomputed import check_aids, check_proofs
from buildlog.handover.unpack import Refused, tame
from buildlog.record.attest import LARGEST_REPLY, LARGEST_SIGNATURE, check_signature, check_stamp
from buildlog.record.attestation_metadata import Verdict
from buildlog.record.rules import LARGEST_LEAVES, LARGEST_LIST, LARGEST_SEAL, MOST_SEALS, MOST_SHOWN, say
from buildlog.record.seal_check import SealFolder, SealReport, check_seals, is_seal_name
from buildlog.record.seals import LEAVES_FILE, Digest, KeptCode, Seal, find_latest, is_covered, name_beside
from buildlog.text import replace_unprintable

RECOMPUTED = ("totals", "service", "meter", "identity", "evidence", "pages")
"Questions 6 to 11, which are answered by reading the log and computing again."
Recheck = Callable[[BinaryIO, Handover], Mapping[str, Finding]]
"Answers to the questions in `RECOMPUTED`, from a bag that was packed by `HashedBag.pack`."
MOST_ATTESTED = 100
"Stamps, and signatures, that are checked, the latest first: each takes a call of another program."
MOST_SECONDS = 25
"Seconds for all of them together: a hundred take two."
OTHER_STATES = ("missing", "changed", "returned", "unsealed")
"How a file can be other than it was sealed."


@frozen
class OpenedBag:
    """A bag's files, summed up and put in their places."""

    check: BagCheck
    "what its manifests say of its files"
    handover: Handover | None
    "None where `handover.json` cannot be read"
    list_flaws: tuple[Flaw, ...]
    "what is wrong with `handover.json`, and with what stands where"
    paths: Mapping[str, str]
    "the name in the bag of each of the log's files, by its path in the log"
    seals: SealReport
    "how the log's files and the seals stand to each other"
    remarks: Remarks = field(default_factory=Remarks)
    "what contradicts itself, and what has to be known beside the answers"


def verify_bag(
    path: Path, recheck: Recheck, kept: KeptCode | None = None, *, today: datetime.date | None = None
) -> Report:
    """Every answer about the bag at a path, folder or zip, whatever may lie there. Nothing that is in it is run.

    `ssh-keygen` is run once for each signature, which it gets as a file of its own; what else is run, `recheck` says.
    A code that was `kept` from earlier has to be that of a seal. Without `today` no day counts as one to come.
    """
    try:
        return _answer_all(path, recheck, kept, today)
    except Refused as why:
        return _refuse(why)


def _answer_all(path: Path, recheck: Recheck, kept: KeptCode | None, today: datetime.date | None) -> Report:
    """The same, of a bag that need not be refused. Raises `Refused`."""
    bag = read_through(path)  # 0
    answers, handover, here = _answer_here(bag, kept, today)
    # Without the list nothing says of which day the figures are, nor what the owner's paths were.
    if handover is None:
        answers |= {key: leave_open(key, say("list open", list=PAYLOAD + LIST)) for key in RECOMPUTED}
        return replace(here, findings=_sort(answers))
    with TemporaryFile() as packed:  # without a name where the system can do that: nobody else can open it
        bag.pack(packed)
        del bag  # its memory is for what computes
        packed.seek(0)
        answers |= recheck(packed, handover)  # 6 to 11
        packed.seek(0)
        unpacked = unpack_bag(packed)
        answers |= _add_uncomputed(unpacked, handover, answers)
        asks = answers["totals"].asks
        asked = (*here.asks, *(ask_of_stated(unpacked) if asks is None else asks))
    return replace(here, findings=_sort(answers), about=_say_about(handover), asks=asked, asks_stated=asks is None)


def _sort(answers: Mapping[str, Finding]) -> tuple[Finding, ...]:
    return tuple(answers[key] for key in QUESTIONS)


def _add_uncomputed(bag: HashedBag, handover: Handover, answers: Mapping[str, Finding]) -> dict[str, Finding]:
    """The answers about figures and pages, with what is found out about them where the log was not computed again."""
    seals = check_seals(read_seals(bag), {}).seals
    flaws, notes = check_aids(bag, handover, seals)
    more: dict[str, list[Flaw]] = {"totals": [], "pages": [*flaws]}
    if answers["totals"].state == "cannot be checked":
        more["totals"] += check_sums(bag)
    if answers["pages"].state == "cannot be checked":
        more["pages"] += check_proofs(bag, seals)
    found = {key: object_to(answers[key], told) for key, told in more.items()}
    return found | {"pages": note(found["pages"], notes)}


def _answer_here(
    bag: HashedBag, kept: KeptCode | None, today: datetime.date | None
) -> tuple[dict[str, Finding], Handover | None, Report]:
    """What needs no computing, and the report so far. Its memory is given back before the rest is computed."""
    opened = examine_bag(bag, today)
    answers = {finding.key: finding for finding in answer_uncomputed(bag, opened)}
    # The one thing that no bag can bring along: it was noted on an earlier day, outside of it.
    code = ""
    if kept:
        whole = all(answers[key].state != "fails" for key in ("sealed", "seals"))
        code = tell_code(opened.seals, kept, whole=whole)
        answers["seals"] = compare_code(answers["seals"], opened.seals.seals, kept)
    last = opened.seals.last.date if opened.seals.last else None
    return answers, opened.handover, Report(findings=(), last=last, code=code, asks=opened.remarks.asks)


def _refuse(why: Refused) -> Report:
    flaw = Flaw(rule=why.rule, message=why.message, file=why.file)
    # One flaw and not twelve: nothing else was looked at. With it the check fails, so that a bag gains nothing by being
    # one that cannot be read.
    rest = [leave_open(key, say("refused open")) for key in QUESTIONS if key != "files"]
    return Report(findings=(judge("files", [flaw], ""), *rest))


def _say_about(handover: Handover) -> str:
    return f"{handover.machine}, figures of {handover.as_of}, handed over with buildlog {handover.made_by}"


def examine_bag(bag: HashedBag, today: datetime.date | None = None) -> OpenedBag:
    """Compare the files of a bag with its manifests and seals. Raises `Refused`."""
    check = check_bag(bag)
    handover, flaws = _read_handover(bag)
    below = {name.removeprefix(PAYLOAD): digest for name, digest in check.digests.items() if name.startswith(PAYLOAD)}
    paths: dict[str, str] = {}
    for name in sorted(below):
        # Seals speak of the owner's paths, and the bag has plainer names: the list that leads back is a stranger's, and
        # is held against what this program would write, in `_check_places`.
        path = handover.owner_path(name.removeprefix(LOG)) if handover and name.startswith(LOG) else ""
        if path in paths:
            flaws.append(tell("name-twice", PAYLOAD + name, path=path))
        elif path:
            paths[path] = PAYLOAD + name
        elif not name.startswith((SEALS, SITE)) and name not in FIXED_FILES:
            flaws.append(tell("stray-file", PAYLOAD + name))
    if handover:
        flaws += _check_places(handover, paths)
    # By the checksums that were found, not by those that the manifest lists.
    present = {path: check.digests[name] for path, name in paths.items() if is_covered(path)}
    seals = check_seals(read_seals(bag), present)
    remarks = remark_bag(bag, handover, seals, paths=paths, today=today)
    return OpenedBag(check=check, handover=handover, list_flaws=tuple(flaws), paths=paths, seals=seals, remarks=remarks)


def _read_handover(bag: HashedBag) -> tuple[Handover | None, list[Flaw]]:
    name = PAYLOAD + LIST
    try:
        return read_list(bag.read(name, LARGEST_LIST)), []
    except KeyError:
        return None, [tell("no-list", name)]
    except (NotAHandover, Refused) as why:
        return None, [Flaw(rule="list-unreadable", message=str(why), file=name)]


def _check_places(handover: Handover, paths: Mapping[str, str]) -> Iterator[Flaw]:
    """Whether the list names just the files that are there, as `name_log_files` names them."""
    # Made again from the paths and compared: a list could else give one file the path of another.
    wanted = name_log_files(paths)
    differ = {name: path for path, name in wanted.items() if name != path}
    if differ != dict(handover.names):
        yield tell("names-wrong", PAYLOAD + LIST)
    for path, name in paths.items():
        # A place for files that no seal speaks of would be a place for anything.
        if not is_covered(path) and not path.startswith(OWN_THEME):
            yield tell("stray-file", name)
    for held in handover.withheld:
        if held.path in paths:
            yield tell("not-withheld", paths[held.path])


def read_seals(bag: HashedBag) -> SealFolder:
    """The bag's seals, no more of each file than a sound one has."""
    start = PAYLOAD + SEALS
    names = [name.removeprefix(start) for name in sorted(bag.sizes) if name.startswith(start)]
    seals = [name for name in names if is_seal_name(name)][: MOST_SEALS + 1]
    leaves = bag.read_start(start + LEAVES_FILE, LARGEST_LEAVES) if LEAVES_FILE in names else None
    return SealFolder(
        leaves=leaves,
        seals={name: bag.read_start(start + name, LARGEST_SEAL) for name in seals},
        others=frozenset(name for name in names if name != LEAVES_FILE and not is_seal_name(name)),
    )


def answer_uncomputed(bag: HashedBag, opened: OpenedBag) -> Iterator[Finding]:
    """The answers to questions 1 to 5 and 12, in order."""
    # One clock for 4 and 5 together, as the guide promises one bound for both.
    end = time.monotonic() + MOST_SECONDS
    answers = (
        answer_files(opened),  # 1
        _answer_sealed(opened),  # 2
        _answer_seals(opened),  # 3
        _answer_attested(bag, opened, "stamps", _bound(_check_stamp, end)),  # 4
        _answer_attested(bag, opened, "signatures", _bound(_check_signature, end)),  # 5
        _answer_withheld(opened),  # 12
    )
    yield from (note(finding, opened.remarks.notes.get(finding.key, ())) for finding in answers)


def answer_files(opened: OpenedBag) -> Finding:
    """Question 1."""
    count, size = len(opened.check.digests), sum(digest.size for digest in opened.check.digests.values())
    says = say("files holds", files=count, bytes=size)
    return judge("files", (*opened.check.flaws, *opened.remarks.list_flaws("files")), says)


def _answer_sealed(opened: OpenedBag) -> Finding:
    """Question 2."""
    report = opened.seals
    if not report.leaves and not report.failures:
        return lack("sealed", say("sealed open"))
    # What is missing and listed as withheld is for question 12, which asks whether the list says of it what its leaf
    # says.
    held = {one.path for one in opened.handover.withheld} if opened.handover else set()
    flaws = [
        tell(f"sealed-{state}", opened.paths.get(path, path))
        for state in OTHER_STATES
        for path in getattr(report.files, state)
        if path not in held
    ]
    whole = sum(path not in held for path in report.files.whole)
    return judge("sealed", flaws, say("sealed holds", files=whole))


def _answer_seals(opened: OpenedBag) -> Finding:
    """Question 3."""
    report = opened.seals
    flaws = [Flaw(rule=one.rule, message=one.message, file=PAYLOAD + one.file) for one in report.failures]
    flaws += opened.remarks.list_flaws("seals")
    # No seal is no failure: a log may never have been sealed, and is then as good as its owner's word.
    if flaws or report.last is None:
        return judge("seals", flaws, "") if flaws else lack("seals", say("seals open"))
    first, last = report.seals[0], report.last
    values = {"first": first.date, "date": last.date, "leaves": last.leaves, "root": last.root, "code": last.code}
    return hold("seals", say("seals holds", seals=len(report.seals), **values))


Check = Callable[[HashedBag, Seal], Verdict | None]


def _bound(check: Check, end: float) -> Check:
    """The check while there is time; what comes later is not looked at, and said so."""

    def check_in_time(bag: HashedBag, seal: Seal) -> Verdict | None:
        if time.monotonic() < end:
            return check(bag, seal)
        says = f"stamps and signatures took longer than {MOST_SECONDS} seconds, so this one was not checked"
        return Verdict(state="cannot be checked", says=says)

    return check_in_time


def _check_stamp(bag: HashedBag, seal: Seal) -> Verdict | None:
    reply = _read_beside(bag, seal, "stamp", LARGEST_REPLY)
    authority = _read_beside(bag, seal, "authority", LARGEST_REPLY)
    return None if reply is None else check_stamp(_read_seal(bag, seal), reply, authority)


def _check_signature(bag: HashedBag, seal: Seal) -> Verdict | None:
    signature = _read_beside(bag, seal, "signature", LARGEST_SIGNATURE)
    return None if signature is None else check_signature(_read_seal(bag, seal), signature)


def _read_seal(bag: HashedBag, seal: Seal) -> bytes:
    return bag.read_start(f"{PAYLOAD}{SEALS}{seal.name}", LARGEST_SEAL)


def _read_beside(bag: HashedBag, seal: Seal, what: str, most: int) -> bytes | None:
    name = f"{PAYLOAD}{SEALS}{name_beside(seal.number, what)}"
    return bag.read_start(name, most) if name in bag.sizes else None


def _answer_attested(bag: HashedBag, opened: OpenedBag, key: str, check: Check) -> Finding:
    """Questions 4 and 5, over the latest seals that have one. They hold where the last seal has one, too."""
    what = {"stamps": "stamp", "signatures": "signature"}[key]
    report, contradictions = opened.seals, opened.remarks.list_flaws(key)
    # Of seals that can be read and stand in the chain; what lies beside others fails question 3.
    seals = [seal for seal in report.seals if f"{PAYLOAD}{SEALS}{name_beside(seal.number, what)}" in bag.sizes]
    if not seals:
        return judge(key, contradictions, "") if contradictions else lack(key, say(f"{key} open"))
    # The latest first, while there is time: the last seal speaks of the log as it is, the others of what it was.
    verdicts = {seal: verdict for seal in reversed(seals[-MOST_ATTESTED:]) if (verdict := check(bag, seal))}
    flaws = [
        Flaw(
            rule=f"{what}-fails",
            message=tame(verdict.says),
            file=f"{PAYLOAD}{SEALS}{name_beside(seal.number, what)}",
        )
        for seal, verdict in verdicts.items()
        if verdict.state == "fails"
    ]
    flaws += contradictions
    last = seals[-1]
    # Not cut as a stranger's words are: what the reader has to judge comes at its end, after an authority's name
    # that `read_stamp` keeps short and a fingerprint that is of use only whole.
    told = replace_unprintable(verdicts[last].says, "?")
    says = f"{len(seals)} of {len(report.seals)} seals; seal {last.number}: {told}"
    if flaws:
        return judge(key, flaws, says)
    # Nothing holds that was not seen: neither what was too much to look at, nor a last seal that has no stamp or
    # signature, under which a forger would put what he changed.
    whole = len(verdicts) == len(seals) and all(verdict.state == "holds" for verdict in verdicts.values())
    whole = whole and last == report.last
    return hold(key, says) if whole else leave_open(key, says)


def _answer_withheld(opened: OpenedBag) -> Finding:
    """Question 12."""
    if opened.list_flaws or opened.handover is None:
        return judge("withheld", opened.list_flaws, "")
    held = opened.handover.withheld
    if not held:
        return hold("withheld", say("withheld none"))
    latest = find_latest(opened.seals.leaves)
    flaws = []
    for one in held:
        leaf = opened.seals.leaves[latest[one.path]] if one.path in latest else None
        sealed: Digest | None = leaf.digest if leaf else None
        # Whoever packed the bag tells what the file was, and can tell anything, unless a leaf says the same.
        if one.leaf != latest.get(one.path) or (one.leaf is not None and sealed != one.digest):
            flaws.append(tell("withheld-wrong", PAYLOAD + LIST, path=one.path))
    names = ", ".join(f"`{one.path}`" for one in held[:MOST_SHOWN])
    more = " and more" if len(held) > MOST_SHOWN else ""
    some = say("withheld some", files=len(held), names=names + more)
    # Never sealed, so its checksum here is the packer's word: nothing could be compared with it later.
    if not flaws and any(one.leaf is None for one in held):
        return lack("withheld", say("withheld open", some=some, files=len(held)))
    return judge("withheld", flaws, say("withheld holds", some=some, files=len(held)))
