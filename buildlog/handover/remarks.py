"""What in a record contradicts itself, or must be known beside an answer that holds: what seals and lists do not prove.

Read from names, seals and what lies beside them, without YAML and without a tool, so that the page that checks in a
browser says the same (`check_page/remarks.js`), in the words of `rules`. A contradiction is a flaw; what only has to be
known is a note. Each remark is put beside the answer to its question.
"""

from __future__ import annotations

import datetime
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from decimal import Decimal
from itertools import pairwise
from typing import Any

from buildlog.frozen import frozen
from buildlog.handover.asks import ask_of_figures, ask_of_record
from buildlog.handover.bag import INFO, PAYLOAD
from buildlog.handover.bag_texts import list_signers
from buildlog.handover.findings import Flaw, tell
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import FIGURES, LIST, SEALS, SIGNERS, Handover, find_day
from buildlog.handover.unpack import Refused, tame
from buildlog.record.attest import LARGEST_REPLY, LARGEST_SIGNATURE
from buildlog.record.attestation_metadata import read_key, read_stamp_words
from buildlog.record.hashing import NotCanonical, read_canonical
from buildlog.record.rules import (
    LARGEST_FIGURES,
    LARGEST_INFO,
    LARGEST_SIGNERS,
    MOST_FIGURES,
    MOST_SHOWN,
    PROMPT_STAMP,
    say,
)
from buildlog.record.seal_check import SealReport
from buildlog.record.seals import BESIDE, BESIDE_NAME, LEAVES_FILE, Leaf, Seal, find_latest, is_covered, name_beside

EARLIEST = datetime.date(2020, 6, 1)
"The month of RFC 8785, by which seals and leaves are written: no seal is older."
SLACK = datetime.timedelta(1)
"Between a clock here and one there lies less than a day and a bit."


@frozen
class Sealed:
    """What seals, and what lies beside them, say of a record."""

    seals: tuple[Seal, ...]
    "those that can be read, by number"
    leaves: tuple[Leaf | None, ...]
    "by number; None for a line that is no leaf"
    beside: Mapping[str, bytes]
    "signatures by name in `seals/`, of stamps their days, and the names of certificates"

    def has(self, seal: Seal, what: str) -> bool:
        """Whether a signature or a stamp lies beside a seal."""
        return name_beside(seal.number, what) in self.beside


# ── bag-info.txt ─────────────────────────────────────────────────────────────────────────────────────────────────


def check_info(info: str, handover: Handover) -> Iterator[Flaw]:
    """Whether `bag-info.txt` says of machine, day and program what the list says."""
    wanted = {
        "External-Identifier": handover.machine,
        "Bagging-Date": handover.as_of.isoformat(),
        "Bag-Software-Agent": f"buildlog {handover.made_by}",
    }
    for key, value in wanted.items():
        said = [line.removeprefix(f"{key}: ") for line in info.split("\n") if line.startswith(f"{key}: ")]
        if said != [value]:
            yield tell("info-differs", INFO, line=key, said=tame(" ".join(said)), list=PAYLOAD + LIST, value=value)


KNOWN_INFO = ("External-Identifier", "External-Description", "Bag-Software-Agent", "Bagging-Date", "Payload-Oxum")


def remark_info(info: str) -> Iterator[Flaw]:
    """Lines that no bag of ours has: they may say anything."""
    for line in filter(None, info.split("\n")):
        if line.partition(":")[0] not in KNOWN_INFO:
            yield tell("info-more", INFO, line=tame(line)[:80])


# ── dates ────────────────────────────────────────────────────────────────────────────────────────────────────────


def check_dates(seals: Iterable[Seal], today: datetime.date | None) -> Iterator[Flaw]:
    """A seal of a day on which there can have been none."""
    for seal in seals:
        if seal.date < EARLIEST:
            yield tell("date-impossible", _at(seal), date=seal.date, month=f"{EARLIEST:%Y-%m}")
        # Without a day of today nothing is later than it: the clock of a reader comes in from outside.
        elif today and seal.date > today + SLACK:
            yield tell("date-impossible:later", _at(seal), date=seal.date, today=today)


def remark_dates(sealed: Sealed, find_day: Callable[[str], datetime.date | None] = find_day) -> Iterator[Flaw]:
    """A seal that covers entries of later days than its own; without reading them, those that they are named after."""
    # By the first leaf of each entry: a later one amends it, and may well be of a later day.
    first: dict[str, int] = {}
    for number, leaf in enumerate(sealed.leaves):
        if leaf:
            first.setdefault(leaf.path, number)
    waiting = deque(first.items())
    for seal in sealed.seals:
        paths = []
        while waiting and waiting[0][1] < seal.leaves:
            paths.append(waiting.popleft()[0])
        # An entry that was sealed before its own day shows that the seal, or the entry, was dated back.
        later = sorted(path for path in paths if (find_day(path) or seal.date) > seal.date)
        if later:
            yield tell("sealed-before-its-day", _at(seal), date=seal.date, names=name_some(later))


def remark_day(
    paths: Iterable[str], last: Seal | None, handover: Handover, today: datetime.date | None
) -> Iterator[Flaw]:
    """What the day of the figures leaves out: later entries, later seals."""
    days = {path: day for path in paths if (day := find_day(path)) and day > handover.as_of}
    file, day = PAYLOAD + LIST, handover.as_of
    if days:
        names = name_some(sorted(days))
        yield tell("entries-left-out", file, entries=len(days), day=day, last=max(days.values()), names=names)
    if last and last.date > day:
        yield tell("figures-older", file, day=day, date=last.date)
    if today and day > today + SLACK:
        yield tell("day-to-come", file, day=day, today=today)


# ── who vouches for what ─────────────────────────────────────────────────────────────────────────────────────────


def remark_last(sealed: Sealed, what: str) -> Iterator[Flaw]:
    """A last seal without the signature, or the stamp, that earlier ones have."""
    having = [seal for seal in sealed.seals if sealed.has(seal, what)]
    last = sealed.seals[-1] if sealed.seals else None
    # A forger without the key can drop the last signatures and seal anew what came behind them.
    if last and having and having[-1] != last:
        rule = {"signature": "last-not-signed", "stamp": "last-not-stamped"}[what]
        yield tell(rule, _at(last), number=last.number, date=last.date)


def compare_stamps(sealed: Sealed) -> tuple[list[Flaw], list[Flaw]]:
    """Flaws and notes about stamps of another day than their seals: none is made before its seal, few long after it."""
    flaws, notes = [], []
    for seal in sealed.seals:
        name = name_beside(seal.number, "stamp")
        time = sealed.beside.get(name, b"").decode()
        days = (datetime.date.fromisoformat(time) - seal.date).days if time else 0
        values = {"time": time, "date": seal.date, "days": days}
        if days < -SLACK.days:
            flaws.append(tell("stamp-earlier", f"{PAYLOAD}{SEALS}{name}", **values))
        elif days > SLACK.days:
            # More than a month later, whoever reads *stamped* may take the seal for much older than anything shows.
            rule = "stamp-later" if days <= PROMPT_STAMP else "stamp-long-after"
            notes.append(tell(rule, f"{PAYLOAD}{SEALS}{name}", **values))
    return flaws, notes


def count_vouched(sealed: Sealed) -> int | None:
    """How many leaves stand under a signature or a stamp; None where there is neither."""
    # Under one signature stand all leaves that its seal counts, those of earlier seals too.
    counts = [s.leaves for s in sealed.seals if sealed.has(s, "signature") or sealed.has(s, "stamp")]
    return max(counts, default=None)


def list_unvouched(sealed: Sealed, paths: Iterable[str]) -> list[str]:
    """The files of the log that are as they are by a leaf under no signature and no stamp, though others are."""
    vouched = count_vouched(sealed)
    if vouched is None:
        return []
    # By the latest leaf: an entry that was signed long ago and changed since is not vouched for as it is here.
    latest = find_latest(sealed.leaves)
    return sorted(path for path in paths if latest.get(path, vouched) >= vouched)


StatedSpending = tuple[Mapping[str, Decimal], str]
"What was spent by the name of the entry that tells it, and the currency, as `figures.json` has them."


def remark_unvouched(sealed: Sealed, paths: Iterable[str], money: StatedSpending | None) -> Iterator[Flaw]:
    """Which entries, and how much money, no signature and no stamp covers."""
    found, file = list_unvouched(sealed, paths), PAYLOAD + SEALS + LEAVES_FILE
    entries = [path for path in found if path.startswith("entries/")]
    others = [path for path in found if not path.startswith("entries/")]
    if entries:
        told = tell("not-vouched", file, entries=len(entries), names=name_some(entries))
        if money:
            amounts, currency = money
            spent = sum((amounts.get(path[8:-3], Decimal(0)) for path in entries), Decimal(0))
            values = {"entries": len(entries), "spent": f"{spent:f}", "currency": currency}
            told = tell("not-vouched:money", file, said=told.message, figures=PAYLOAD + FIGURES, **values)
        yield told
    if others:
        yield tell("not-vouched:files", file, files=len(others), names=name_some(others))


def remark_keys(sealed: Sealed) -> Iterator[Flaw]:
    """Each seal that is signed with another key than the signed one before it."""
    signed = [seal for seal in sealed.seals if sealed.has(seal, "signature")]
    # By what a signature says of its key: whether it was made with it, question 5 asks.
    keys = [read_key(sealed.beside[name_beside(seal.number, "signature")]) or "no key" for seal in signed]
    for (before, old), (seal, new) in pairwise(zip(signed, keys, strict=True)):
        if old != new:
            file = f"{PAYLOAD}{SEALS}{name_beside(seal.number, 'signature')}"
            yield tell("another-key", file, number=seal.number, new=new, before=before.number, old=old)


def check_signers(sealed: Sealed, signers: bytes | None) -> Iterator[Flaw]:
    """Whether the file of signers lists the keys of the signatures that are here, and no others."""
    # A file that listed other keys would make `ssh-keygen -Y verify`, as CHECK.md has it, vouch for a stranger.
    wanted = list_signers(sealed.beside)
    if (signers or b"") == wanted and (signers is None) == (not wanted):
        return
    case = ":missing" if signers is None else ":unsigned" if not wanted else ""
    yield tell(f"signers-differ{case}", PAYLOAD + SIGNERS)


def remark_alone(seals: Iterable[Seal], names: Iterable[str]) -> Iterator[Flaw]:
    """An authority's certificates beside a seal that has no stamp."""
    there = {*names}
    for seal in seals:
        authority = name_beside(seal.number, "authority")
        if authority in there and name_beside(seal.number, "stamp") not in there:
            yield tell("no-stamp-for-it", f"{PAYLOAD}{SEALS}{authority}")


def _at(seal: Seal) -> str:
    return f"{PAYLOAD}{SEALS}{seal.name}"


def name_some(paths: Sequence[str]) -> str:
    """The first few of some entries, or other files, by name."""
    # not `text.name_some`: the page that checks joins them by the same words and limit, which stand once for both
    names = ", ".join(f"`{tame(path.removeprefix('entries/'))}`" for path in paths[:MOST_SHOWN])
    return say("names", names=names, more=len(paths) - MOST_SHOWN) if len(paths) > MOST_SHOWN else names


@frozen
class Remarks:
    """What is remarked, by the key of the question that it belongs to."""

    flaws: Mapping[str, tuple[Flaw, ...]] = field(default_factory=dict)
    "contradictions: the question fails"
    notes: Mapping[str, tuple[Flaw, ...]] = field(default_factory=dict)
    "what only has to be known"
    asks: tuple[Flaw, ...] = ()
    "what the seals and the list give reason to ask the seller"

    def list_flaws(self, key: str) -> list[Flaw]:
        """The contradictions that make a question fail."""
        return [*self.flaws.get(key, ())]


def remark_bag(
    bag: HashedBag,
    handover: Handover | None,
    report: SealReport,
    *,
    paths: Iterable[str],
    today: datetime.date | None,
) -> Remarks:
    """All remarks; `paths` are those of the log's files that are here. Raises `Refused` for a file that is damaged."""
    sealed = Sealed(seals=report.seals, leaves=report.leaves, beside=_read_beside(bag))
    # Cut at the bound and not refused: that it is too large, question 1 tells.
    info = _read(bag, INFO, LARGEST_INFO).decode("utf-8", "replace") if INFO in bag.sizes else ""
    early, late = compare_stamps(sealed)
    signers = _read(bag, PAYLOAD + SIGNERS, LARGEST_SIGNERS) if PAYLOAD + SIGNERS in bag.sizes else None
    withheld = handover.withheld if handover else ()
    known = {*filter(is_covered, paths), *(held.path for held in withheld if held.leaf is not None)}
    unvouched = list_unvouched(sealed, known)
    # The largest file of the record: read only where there is something to say of money.
    money = _read_money(bag) if unvouched else None
    where = "signatures" if any(sealed.has(seal, "signature") for seal in sealed.seals) else "stamps"
    notes: dict[str, list[Flaw]] = {
        "files": [*remark_info(info)],
        "seals": [*remark_dates(sealed), *remark_alone(sealed.seals, sealed.beside)],
        "stamps": [*remark_last(sealed, "stamp"), *late],
        "signatures": [*remark_last(sealed, "signature"), *remark_keys(sealed)],
        "withheld": [*remark_day(paths, report.last, handover, today)] if handover else [],
    }
    notes[where] += remark_unvouched(sealed, known, money)
    flaws = {
        "files": tuple(check_info(info, handover)) if handover and info else (),
        "seals": tuple(check_dates(report.seals, today)),
        "stamps": tuple(early),
        "signatures": tuple(check_signers(sealed, signers)),
    }
    stamped = bool(report.seals) and sealed.has(report.seals[-1], "stamp")
    asks = ask_of_record(handover, report.seals, stamped=stamped, paths=paths) if handover else ()
    return Remarks(flaws=flaws, notes={key: tuple(found) for key, found in notes.items()}, asks=asks)


def _read(bag: HashedBag, name: str, most: int) -> bytes:
    """A file as far as it is looked at; nothing of one that cannot be read, which question 1 tells."""
    try:
        return bag.read_start(name, most)[:most]
    except Refused:
        return b""


def _read_beside(bag: HashedBag) -> dict[str, bytes]:
    """What lies beside the seals by name: the bytes of signatures, and of stamps, which may be many, the days."""
    start = PAYLOAD + SEALS
    names = [name for name in sorted(bag.sizes) if name.startswith(start) and BESIDE_NAME.fullmatch(name[len(start) :])]
    return {name[len(start) :]: _read_one(bag, name) for name in names}


def _read_one(bag: HashedBag, name: str) -> bytes:
    if name.endswith(BESIDE["signature"]):
        return _read(bag, name, LARGEST_SIGNATURE)
    time = read_stamp_words(_read(bag, name, LARGEST_REPLY))[0] if name.endswith(BESIDE["stamp"]) else None
    return time.date().isoformat().encode() if time else b""


def _read_money(bag: HashedBag) -> StatedSpending | None:
    """What was spent by entry, as `figures.json` says; None where it says nothing that can be read as that."""
    try:
        # A stranger's figures, taken for what they say: whether they follow from the entries, question 6 asks.
        costs = _read_figures(bag)["costs"]
        amounts = {_take(ANY, row["name"]): Decimal(_take(AMOUNT, row["amount"])) for row in costs["by_entry"]}
        return amounts, _take(CURRENCY, costs["currency"])
    except (LookupError, TypeError):
        return None


def ask_of_stated(bag: HashedBag) -> tuple[Flaw, ...]:
    """What the figures as they came give reason to ask, for where none were worked out."""
    return ask_of_figures(_read_figures(bag))


def _read_figures(bag: HashedBag) -> Any:
    """What `figures.json` says; None where it cannot be read."""
    name = PAYLOAD + FIGURES
    if bag.sizes.get(name, LARGEST_FIGURES + 1) > LARGEST_FIGURES:
        return None
    try:
        return read_canonical(_read(bag, name, LARGEST_FIGURES).removesuffix(b"\n"), most=MOST_FIGURES)
    except NotCanonical:
        return None


def _take(pattern: re.Pattern[str], value: Any) -> str:
    """The text, when it is one of that pattern; raises `TypeError`."""
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise TypeError(value)
    return value


ANY, AMOUNT, CURRENCY = re.compile(r"(?s).*"), re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?"), re.compile("[A-Z]{3}")
