"""Whether a code that somebody kept from earlier is that of a seal in a bag: what ties the bag to that day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from buildlog.handover.bag import PAYLOAD
from buildlog.handover.findings import Finding, judge, tell
from buildlog.record.codes import SHORT_DIGITS, KeptCode
from buildlog.record.seals import FOLDER, Seal
from buildlog.record.words import say


def compare_code(found: Finding, seals: Sequence[Seal], kept: KeptCode) -> Finding:
    """What was found of the chain of seals, with what the code adds to it."""
    seal = next((seal for seal in seals if kept.fits(seal.root)), None)
    if seal is None:
        return judge(found.key, [*found.flaws, tell("code-unknown", f"{PAYLOAD}{FOLDER}")], "")
    says = say("seals kept", says=found.says, number=seal.number, date=seal.date)
    return replace(found, says=say("seals short", says=says, bits=SHORT_DIGITS * 4) if kept.short else says)
