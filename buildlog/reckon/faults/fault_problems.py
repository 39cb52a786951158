"""How is each slip in a fault's story told to the owner?

Whether there is one is for `faults.stories`. A name that leads nowhere is an error; a contradiction is a doubt, as
later work may have shown that earlier work was wrong.
"""

from __future__ import annotations

from collections.abc import Mapping

from buildlog.problems import Place, Problem, suggest
from buildlog.reckon.faults.steps import FixFigures, SightingFigures, SuspectFigures
from buildlog.source.records import Check, Entry, Fault, Fix, Line, SeenAgain


def tell_unknown(record: Line | Check | Fix | SeenAgain, key: str, named: Mapping[str, Place]) -> Problem:
    """A fault that was not named by then; `named` says where each fault of the log is first named."""
    later = named.get(key)
    near = suggest(key, named)
    help = near if near.startswith("did") else f"name it first: faults: {{fault: {key}, name: …}}"
    return Problem(
        rule="unknown-fault",
        message=f"no fault `{key}` is named " + ("before this" if later else "in any entry"),
        place=record.spot("fault"),
        help="name it in an earlier entry, or correct one of the dates" if later else help,
        also=(later,) if later else (),
    )


def tell_closed(proof: FixFigures, record: Fault | Check | Fix, entry: Entry, what: str) -> Problem:
    """Work on a fault whose fix is proved."""
    return Problem(
        rule="fault-closed",
        message=f"`{record.fault}` {what} on {entry.date}, but its fix is proved since {proof.proved_on}",
        place=record.spot("fault"),
        help=f"if it came back, write `seen_again: {record.fault}` first; else name another fault",
        severity="doubt",
        also=(proof.place,),
    )


def tell_cleared_twice(suspect: SuspectFigures, check: Check, entry: Entry, name: str) -> Problem:
    """A suspect, or every suspect of a group, cleared once more."""
    return Problem(
        rule="cleared-twice",
        message=f"`{name}` is cleared of `{check.fault}` on {entry.date}, and was on {suspect.judged_on} already",
        place=check.spot("clears", name),
        help="name what this check cleared; if it came under suspicion again, say so first under `faults:`",
        severity="doubt",
    )


def tell_condemned(suspect: SuspectFigures, check: Check, entry: Entry) -> Problem:
    """A suspect condemned that was cleared."""
    cleared = f"which was cleared on {suspect.judged_on}"
    return Problem(
        rule="condemned-cleared",
        message=f"the check of {entry.date} condemns `{suspect.key}` for `{check.fault}`, {cleared}",
        place=check.spot("cause"),
        help="if the earlier check was wrong, suspect it again first, under `faults:`",
        severity="doubt",
    )


def tell_early_proof(fix: Fix, entry: Entry, *, seen: SightingFigures | None) -> Problem:
    """A proof of what was not fixed by then, or not since it was seen again last."""
    when = f"since {seen.date}" if seen else "before"
    return Problem(
        rule="proof-before-fix",
        message=f"`{fix.fault}` is proved on {entry.date}, but nothing was done about it {when}",
        place=fix.spot("proved"),
        help="add `how:` here, or correct the date of the entry that fixed it",
        severity="doubt",
        also=(seen.place,) if seen else (),
    )


def tell_nameless(key: str, place: Place) -> Problem:
    """A fault that no entry gives a name."""
    message, help = f"the fault `{key}` has no name", "add `name: …`, the symptom as you would tell it"
    return Problem(rule="fault-without-name", message=message, place=place, help=help, severity="doubt")


def tell_nothing_left(key: str, place: Place) -> Problem:
    """A fault of which everything is cleared and nothing condemned."""
    return Problem(
        rule="nothing-left",
        message=f"every suspect of `{key}` is cleared, and no cause is known",
        place=place,
        help="add suspects under `faults:`, or `cause:` to the check that found it",
        severity="doubt",
    )
