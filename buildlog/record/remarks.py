"""What in a record contradicts itself, or must be known beside an answer that holds: what seals and lists do not prove.

Read from names, seals and what lies beside them, without YAML and without a tool, so that the page that checks in a
browser says the same (`check_page/remarks.js`). A contradiction is a flaw; what only has to be known is a note.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from buildlog.frozen import frozen
from buildlog.record.bag import INFO, PAYLOAD
from buildlog.record.findings import Flaw
from buildlog.record.handover import FIGURES, LIST, SEALS, SIGNERS, Handover
from buildlog.record.leaves import LEAVES_FILE, Leaf, find_latest
from buildlog.record.limits import MOST_SHOWN
from buildlog.record.said_beside import read_key
from buildlog.record.seals import Seal, name_beside
from buildlog.record.told_seals import list_signers
from buildlog.record.unpack import tame

EARLIEST = datetime.date(2020, 6, 1)
"The month of RFC 8785, by which seals and leaves are written: no seal is older."
SLACK = datetime.timedelta(1)
"Between a clock here and one there lies less than a day and a bit."
DATED = re.compile(r"entries/(\d{4}-\d\d-\d\d)[.-][^/]*\.md")
"An entry whose file is named after its day, as the tool names them."


@frozen
class Sealed:
    """What seals, and what lies beside them, say of a record."""

    seals: Sequence[Seal]
    leaves: Sequence[Leaf | None]
    beside: Mapping[str, bytes]
    "signatures by name in `seals/`, and the names of stamps"

    def has(self, seal: Seal, what: str) -> bool:
        """Whether a signature or a stamp lies beside a seal."""
        return name_beside(seal.number, what) in self.beside


def find_day(path: str) -> datetime.date | None:
    """The day that an entry's file is named after."""
    match = DATED.fullmatch(path)
    try:
        return datetime.date.fromisoformat(match[1]) if match else None
    except ValueError:
        return None


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
            message = f"{key} is `{tame(' '.join(said))}`, and `{PAYLOAD}{LIST}` says `{value}`"
            yield Flaw(rule="info-differs", message=message, file=INFO)


KNOWN_INFO = ("External-Identifier", "External-Description", "Bag-Software-Agent", "Bagging-Date", "Payload-Oxum")


def remark_info(info: str) -> Iterator[Flaw]:
    """Lines that no bag of ours has: they may say anything."""
    for line in filter(None, info.split("\n")):
        if line.partition(":")[0] not in KNOWN_INFO:
            message = f"the line `{tame(line)[:80]}` is none of ours, and nothing here bears it out"
            yield Flaw(rule="info-more", message=message, file=INFO)


# ── dates ────────────────────────────────────────────────────────────────────────────────────────────────────────


def check_dates(seals: Iterable[Seal], today: datetime.date | None) -> Iterator[Flaw]:
    """A seal of a day on which there can have been none."""
    for seal in seals:
        if seal.date < EARLIEST:
            why = f"seals are written by a standard of {EARLIEST:%Y-%m} (RFC 8785)"
        elif today and seal.date > today + SLACK:
            why = f"today is {today}"
        else:
            continue
        yield Flaw(
            rule="date-impossible", message=f"it is dated {seal.date}, which is impossible: {why}", file=_at(seal)
        )


def remark_dates(sealed: Sealed) -> Iterator[Flaw]:
    """A seal that covers entries which are named after later days than its own."""
    first: dict[str, int] = {}
    for number, leaf in enumerate(sealed.leaves):
        if leaf:
            first.setdefault(leaf.path, number)
    for before, seal in zip((0, *(seal.leaves for seal in sealed.seals)), sealed.seals, strict=False):
        paths = [path for path, number in first.items() if before <= number < seal.leaves]
        later = sorted(path for path in paths if (find_day(path) or seal.date) > seal.date)
        if later:
            message = f"it is dated {seal.date}, which is impossible for entries of later days: {_name_some(later)}"
            yield Flaw(rule="sealed-before-its-day", message=message, file=_at(seal))


def remark_day(
    paths: Iterable[str], last: Seal | None, handover: Handover, today: datetime.date | None
) -> Iterator[Flaw]:
    """What the day of the figures leaves out: later entries, later seals."""
    days = {path: day for path in paths if (day := find_day(path)) and day > handover.as_of}
    file = PAYLOAD + LIST
    if days:
        count = f"{len(days)} {'entries are' if len(days) > 1 else 'entry is'} of a later day than the figures"
        message = (
            f"{count}, which are of {handover.as_of}: counted nowhere and on no page, the last of {max(days.values())}"
        )
        yield Flaw(rule="entries-left-out", message=f"{message}; {_name_some(sorted(days))}", file=file)
    if last and last.date > handover.as_of:
        message = f"the figures are of {handover.as_of}, and the last seal is of {last.date}: ask for later ones"
        yield Flaw(rule="figures-older", message=message, file=file)
    if today and handover.as_of > today + SLACK:
        message = f"the figures are of {handover.as_of}, a day that has not come: today is {today}"
        yield Flaw(rule="day-to-come", message=message, file=file)


# ── who vouches for what ─────────────────────────────────────────────────────────────────────────────────────────


def remark_last(sealed: Sealed, what: str) -> Iterator[Flaw]:
    """A last seal without the signature, or the stamp, that earlier ones have."""
    having = [seal for seal in sealed.seals if sealed.has(seal, what)]
    last = sealed.seals[-1] if sealed.seals else None
    if last and having and having[-1] != last:
        words, rule = {
            "signature": ("is not signed, as earlier ones are: anybody can have made it", "last-not-signed"),
            "stamp": ("has no time stamp, as earlier ones have: it can have been made at any time", "last-not-stamped"),
        }[what]
        yield Flaw(rule=rule, message=f"the last seal, {last.number} of {last.date}, {words}", file=_at(last))


def count_vouched(sealed: Sealed) -> int | None:
    """How many leaves stand under a signature or a stamp; None where there is neither."""
    counts = [s.leaves for s in sealed.seals if sealed.has(s, "signature") or sealed.has(s, "stamp")]
    return max(counts, default=None)


def list_unvouched(sealed: Sealed, paths: Iterable[str]) -> list[str]:
    """The files of the log that are as they are by a leaf under no signature and no stamp, though others are."""
    vouched = count_vouched(sealed)
    if vouched is None:
        return []
    latest = find_latest(sealed.leaves)
    return sorted(path for path in paths if latest.get(path, vouched) >= vouched)


Money = tuple[Mapping[str, Decimal], str]
"What was spent by the name of the entry that tells it, and the currency, as `figures.json` has them."


def remark_unvouched(sealed: Sealed, paths: Iterable[str], money: Money | None) -> Iterator[Flaw]:
    """Which entries, and how much money, no signature and no stamp covers."""
    found = list_unvouched(sealed, paths)
    entries = [path for path in found if path.startswith("entries/")]
    if not found:
        return
    counts = [_count(len(entries), "entry", "entries"), _count(len(found) - len(entries), "other file", "other files")]
    message = f"no signature and no time stamp covers {' and '.join(filter(None, counts))} of the log as they are here"
    if entries:
        message += f": {_name_some(entries)}"
    if entries and money:
        amounts, currency = money
        spent = sum((amounts.get(path[8:-3], Decimal(0)) for path in entries), Decimal(0))
        message += f"; by `{PAYLOAD}{FIGURES}` {spent:f} {currency} of what was spent stands in them"
    yield Flaw(rule="not-vouched", message=message, file=PAYLOAD + SEALS + LEAVES_FILE)


def remark_keys(sealed: Sealed) -> Iterator[Flaw]:
    """Each seal that is signed with another key than the signed one before it."""
    signed = [seal for seal in sealed.seals if sealed.has(seal, "signature")]
    keys = [read_key(sealed.beside[name_beside(seal.number, "signature")]) or "no key" for seal in signed]
    for (before, old), (seal, new) in pairwise(zip(signed, keys, strict=True)):
        if old != new:
            message = f"a change of key: seal {seal.number} is signed with {new}, seal {before.number} with {old}"
            file = f"{PAYLOAD}{SEALS}{name_beside(seal.number, 'signature')}"
            yield Flaw(rule="another-key", message=f"{message}; ask the owner why", file=file)


def check_signers(sealed: Sealed, signers: bytes | None) -> Iterator[Flaw]:
    """Whether the file of signers lists the keys of the signatures that are here, and no others."""
    wanted = list_signers(sealed.beside)
    if (signers or b"") == wanted and (signers is None) == (not wanted):
        return
    if signers is None:
        message = "a change of key: it is missing, and seals are signed"
    elif not wanted:
        message = "a change of key: it lists keys, and no seal is signed"
    else:
        message = "a change of key: its keys are not those of the signatures that are here"
    yield Flaw(rule="signers-differ", message=message, file=PAYLOAD + SIGNERS)


def remark_alone(seals: Iterable[Seal], names: Iterable[str]) -> Iterator[Flaw]:
    """An authority's certificates beside a seal that has no stamp."""
    there = {*names}
    for seal in seals:
        authority = name_beside(seal.number, "authority")
        if authority in there and name_beside(seal.number, "stamp") not in there:
            message = "it is to vouch for a time stamp, and there is none"
            yield Flaw(rule="no-stamp-for-it", message=message, file=f"{PAYLOAD}{SEALS}{authority}")


def _at(seal: Seal) -> str:
    return f"{PAYLOAD}{SEALS}{seal.name}"


def _name_some(paths: Sequence[str]) -> str:
    names = ", ".join(f"`{tame(path.removeprefix('entries/'))}`" for path in paths[:MOST_SHOWN])
    return names + (f" and {len(paths) - MOST_SHOWN} more" if len(paths) > MOST_SHOWN else "")


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}" if number else ""
