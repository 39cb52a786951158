"""Whether a code that somebody kept from earlier is that of a seal in a bag: what ties the bag to that day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from buildlog.record.bag import PAYLOAD
from buildlog.record.codes import SHORT_DIGITS, KeptCode
from buildlog.record.findings import Finding, Flaw, judge
from buildlog.record.seals import FOLDER, Seal

SHORT = f"it is short, {SHORT_DIGITS * 4} bits: an owner who wants to can make two logs that have it"


def compare_code(found: Finding, seals: Sequence[Seal], kept: KeptCode) -> Finding:
    """What was found of the chain of seals, with what the code adds to it."""
    seal = next((seal for seal in seals if kept.fits(seal.root)), None)
    if seal is None:
        flaw = Flaw(rule="code-unknown", message="no seal has the code that you kept", file=f"{PAYLOAD}{FOLDER}")
        return judge(found.key, [*found.flaws, flaw], "")
    says = f"the code that you kept is that of seal {seal.number}, of {seal.date}"
    return replace(found, says=f"{found.says}; {says}{f'; {SHORT}' if kept.short else ''}")
