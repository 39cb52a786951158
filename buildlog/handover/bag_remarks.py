"""What is remarked of a bag, question by question: reads what `remarks` needs, puts each remark beside its answer."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import field
from decimal import Decimal
from typing import Any

from buildlog.frozen import frozen
from buildlog.handover.bag import INFO, PAYLOAD
from buildlog.handover.findings import Flaw
from buildlog.handover.manifest import FIGURES, SEALS, SIGNERS, Handover
from buildlog.handover.remarks import (
    Money,
    Sealed,
    check_dates,
    check_info,
    check_signers,
    list_unvouched,
    remark_alone,
    remark_dates,
    remark_day,
    remark_info,
    remark_keys,
    remark_last,
    remark_unvouched,
)
from buildlog.handover.unpack import Bag, Refused, read_start
from buildlog.record.attest import LARGEST_SIGNATURE
from buildlog.record.canonical import NotCanonical, read_canonical
from buildlog.record.leaves import is_covered
from buildlog.record.limits import LARGEST_FIGURES, LARGEST_INFO, LARGEST_SIGNERS, MOST_FIGURES
from buildlog.record.seal_check import SealReport
from buildlog.record.seals import BESIDE, BESIDE_NAME


@frozen
class Remarks:
    """What is remarked, by the key of the question that it belongs to."""

    flaws: Mapping[str, tuple[Flaw, ...]] = field(default_factory=dict)
    notes: Mapping[str, tuple[Flaw, ...]] = field(default_factory=dict)

    def list_flaws(self, key: str) -> list[Flaw]:
        """The contradictions that make a question fail."""
        return [*self.flaws.get(key, ())]


def remark_bag(
    bag: Bag,
    handover: Handover | None,
    report: SealReport,
    *,
    paths: Iterable[str],
    today: datetime.date | None,
) -> Remarks:
    """All remarks; `paths` are those of the log's files that are here. Raises `Refused` for a file that is damaged."""
    sealed = Sealed(seals=report.seals, leaves=report.leaves, beside=_read_beside(bag))
    info = _read(bag, INFO, LARGEST_INFO).decode("utf-8", "replace") if INFO in bag.sizes else ""
    signers = _read(bag, PAYLOAD + SIGNERS, LARGEST_SIGNERS) if PAYLOAD + SIGNERS in bag.sizes else None
    withheld = handover.withheld if handover else ()
    known = {*filter(is_covered, paths), *(held.path for held in withheld if held.leaf is not None)}
    unvouched = list_unvouched(sealed, known)
    money = _read_money(bag) if unvouched else None
    where = "signatures" if any(sealed.has(seal, "signature") for seal in sealed.seals) else "stamps"
    notes: dict[str, list[Flaw]] = {
        "files": [*remark_info(info)],
        "seals": [*remark_dates(sealed), *remark_alone(sealed.seals, sealed.beside)],
        "stamps": [*remark_last(sealed, "stamp")],
        "signatures": [*remark_last(sealed, "signature"), *remark_keys(sealed)],
        "withheld": [*remark_day(paths, report.last, handover, today)] if handover else [],
    }
    notes[where] += remark_unvouched(sealed, known, money)
    flaws = {
        "files": tuple(check_info(info, handover)) if handover and info else (),
        "seals": tuple(check_dates(report.seals, today)),
        "signatures": tuple(check_signers(sealed, signers)),
    }
    return Remarks(flaws=flaws, notes={key: tuple(found) for key, found in notes.items()})


def _read(bag: Bag, name: str, most: int) -> bytes:
    """A file as far as it is looked at; nothing of one that cannot be read, which question 1 tells."""
    try:
        return read_start(bag, name, most)[:most]
    except Refused:
        return b""


def _read_beside(bag: Bag) -> dict[str, bytes]:
    """What lies beside the seals by name; the bytes of signatures alone."""
    start = PAYLOAD + SEALS
    names = [name for name in sorted(bag.sizes) if name.startswith(start) and BESIDE_NAME.fullmatch(name[len(start) :])]
    signed = BESIDE["signature"]
    return {name[len(start) :]: _read(bag, name, LARGEST_SIGNATURE) if name.endswith(signed) else b"" for name in names}


def _read_money(bag: Bag) -> Money | None:
    """What was spent by entry, as `figures.json` says; None where it says nothing that can be read as that."""
    name = PAYLOAD + FIGURES
    if bag.sizes.get(name, LARGEST_FIGURES + 1) > LARGEST_FIGURES:
        return None
    try:
        value: Any = read_canonical(_read(bag, name, LARGEST_FIGURES).removesuffix(b"\n"), most=MOST_FIGURES)
        costs = value["costs"]
        amounts = {_take(ANY, row["name"]): Decimal(_take(AMOUNT, row["amount"])) for row in costs["by_entry"]}
        return amounts, _take(CURRENCY, costs["currency"])
    except (NotCanonical, LookupError, TypeError):
        return None


def _take(pattern: re.Pattern[str], value: Any) -> str:
    """The text, when it is one of that pattern; raises `TypeError`."""
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise TypeError(value)
    return value


ANY, AMOUNT, CURRENCY = re.compile(r"(?s).*"), re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?"), re.compile("[A-Z]{3}")
