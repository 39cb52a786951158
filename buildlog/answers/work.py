"""What `buildlog faults` and `buildlog apart` print of the work that is left, as tables and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from buildlog.answers.forms import Answer, Table, write_amount
from buildlog.compute.access import TemporaryFigures
from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.faults.steps import STATE_WORDS, CheckFigures, FixFigures, SuspectFigures
from buildlog.compute.figures import Figures
from buildlog.compute.while_apart import ApartFigures, Missing, Opening, Reach, ReachKind, compute_apart
from buildlog.problems import suggest
from buildlog.spans import say_hours, say_span
from buildlog.text import tame


def answer_faults(figures: Figures) -> Answer:
    """Every fault, those without a proof first; for each open one the order of checks; the temporary repairs."""
    faults = figures.faults.faults
    # What was made good is history: the answer is about the machine as it stands.
    repairs = [repair for repair in figures.temporary if repair.made_good is None]
    data = {
        "as_of": figures.as_of.isoformat(),
        "currency": figures.costs.currency,
        "faults": [_write_fault(figures, fault) for fault in faults],
        "temporary": [_write_repair(repair) for repair in repairs],
    }
    return Answer(tables=tuple(_list_fault_tables(figures, repairs)), data=data)


def _list_fault_tables(figures: Figures, repairs: list[TemporaryFigures]) -> Iterator[Table]:
    faults = figures.faults.faults
    yield Table(
        title=f"Faults as of {figures.as_of}",
        columns=("Fault", "State", "Suspects>", "Left>", "Open for>", "Check hours>", f"{figures.costs.currency}>"),
        rows=tuple(_draw_fault(figures, fault) for fault in faults),
        empty="no faults on record; that does not mean there are none",
    )
    for fault in faults:
        look = figures.next_checks.get(fault.key)
        if look is not None:
            yield _draw_look(fault, look)
    yield Table(
        title="Temporary repairs",
        columns=("What", "Since", "For>", "Until"),
        rows=tuple((each.what, each.since.isoformat(), say_span(each.days), each.until or "") for each in repairs),
        empty="nothing",
    )


def _draw_fault(figures: Figures, fault: FaultFigures) -> tuple[str, ...]:
    state = STATE_WORDS[fault.state] + (f": {fault.cause_name}" if fault.state == "cause known" else "")
    return (
        fault.name,
        state,
        str(len(fault.suspects)),
        "" if fault.cause else str(len(fault.left)),  # with a cause found, those not ruled out no longer matter
        say_span(fault.days_open),
        say_hours(fault.check_hours),
        write_amount(fault.parts_cost),
    )


def _draw_look(fault: FaultFigures, look: CheckOrder) -> Table:
    names = {suspect.key: suspect.name for suspect in fault.suspects}
    steps = [
        (
            step.name,
            say_reason(look, step, say_hours(step.hours)),
            ", ".join(step.takes_off_names),
            say_hours(step.hours_so_far),
        )
        for step in look.steps
    ]
    # Named all the same: without its hours a suspect has no place in the order, and may be the cause.
    left_out = [(names[key], "left out: no `check_hours` in log.yaml", "", "") for key in look.no_hours]
    expected = f", {say_hours(look.about_hours)} h on average" if look.steps else ""
    warning = "" if look.exact else "; there may be a better order"
    return Table(
        title=f"Where to look next: {fault.name}{expected}{warning}",
        columns=("Suspect", "Why", "Take off first", "Hours so far>"),
        rows=(*steps, *left_out),
        empty="no suspects left" if fault.suspects else "no suspects named yet",
    )


def say_reason(look: CheckOrder, step: CheckStep, hours: str) -> str:
    """`3-in-11 likely, 0.1 h to check`; JSON has the hours exactly."""
    return f"{step.likely:f}-in-{look.chances:f} likely, {hours} h to check"


def _write_fault(figures: Figures, fault: FaultFigures) -> dict[str, Any]:
    look = figures.next_checks.get(fault.key)
    return {
        "fault": fault.key,
        "name": fault.name,
        "state": fault.state,
        "cause": fault.cause,
        "opened": fault.opened.isoformat(),
        "closed": fault.closed.isoformat() if fault.closed else None,
        "days_open": fault.days_open,
        "left": list(fault.left),
        "suspects": [_write_suspect(suspect) for suspect in fault.suspects],
        "checks": [_write_check(check) for check in fault.checks],
        "fixes": [_write_fix(fix) for fix in fault.fixes],
        "seen_again": [
            {"date": seen.date.isoformat(), "entry": seen.entry, "note": seen.note} for seen in fault.sightings
        ],
        "cost": write_amount(fault.parts_cost),
        "check_hours": f"{fault.check_hours:f}",
        "checks_without_hours": fault.checks_without_hours,
        "entries": list(fault.entries),
        "next_check": _write_look(look) if look else None,  # None behind a cause or a fix: there is nothing to look for
    }


def _write_suspect(suspect: SuspectFigures) -> dict[str, Any]:
    return {
        "component": suspect.key,
        "name": suspect.name,
        "group": suspect.group,
        "verdict": suspect.verdict,
        "judged": suspect.judged_on.isoformat() if suspect.judged_on else None,
        "entry": suspect.judged_in,
        "by": suspect.judged_by,
    }


def _write_check(check: CheckFigures) -> dict[str, Any]:
    return {
        "date": check.date.isoformat(),
        "entry": check.entry,
        "did": check.did,
        "clears": list(check.clears),
        "cause": check.cause,
        "hours": None if check.hours is None else f"{check.hours:f}",
        "left": check.left,
    }


def _write_fix(fix: FixFigures) -> dict[str, Any]:
    return {
        "date": fix.date.isoformat(),
        "entry": fix.entry,
        "how": fix.how,
        "proved": fix.proved,
        "proved_on": fix.proved_on.isoformat() if fix.proved_on else None,
        "failed_on": fix.failed_on.isoformat() if fix.failed_on else None,
    }


def _write_look(look: CheckOrder) -> dict[str, Any]:
    return {
        "chances": f"{look.chances:f}",
        "expected_hours": f"{look.expected_hours:f}",
        "expected_exactly": str(look.expected),
        "best": look.exact,
        "steps": [
            {
                "component": step.suspect,
                "takes_off": list(step.takes_off),
                "chances": f"{step.likely:f}",
                "hours": f"{step.hours:f}",
                "hours_so_far": f"{step.hours_so_far:f}",
                "why": say_reason(look, step, f"{step.hours:f}"),
            }
            for step in look.steps
        ],
        "without_hours": list(look.no_hours),
    }


def _write_repair(repair: TemporaryFigures) -> dict[str, Any]:
    return {
        "repair": repair.key,
        "what": repair.what,
        "until": repair.until,
        "since": repair.since.isoformat(),
        "days": repair.days,
        "entry": repair.entry,
    }


KINDS: dict[ReachKind, str] = {
    "suspect": "check",
    "cause": "repair",
    "fix": "confirm",
    "service": "service",
    "temporary": "make good",
    "shelf": "fit",
}
"What there is to do with each kind of thing within reach."


class UnknownStripDown(LookupError):
    """A strip-down was asked for that `log.yaml` does not have; says what was meant."""


def answer_apart(figures: Figures, planned: Sequence[str]) -> Answer:
    """What is within reach with the planned strip-downs off, or with those alone that are off on the day.

    Raises `UnknownStripDown`.
    """
    known = figures.log.settings.strip_downs
    for key in planned:
        if key not in known:
            help = suggest(key, known)
            # typed on a command line, where nothing was read that would have refused a control character
            raise UnknownStripDown(f"there is no strip-down `{tame(key)}` in log.yaml" + (f"; {help}" if help else ""))
    apart = compute_apart(figures, planned)
    return Answer(tables=tuple(_list_apart_tables(figures, apart)), data=_write_apart(figures, apart))


def _list_apart_tables(figures: Figures, apart: ApartFigures) -> Iterator[Table]:
    yield _draw_openings(figures, apart)
    if apart.openings:
        yield from _draw_work(apart)
    again = [item for item in figures.strip_downs.strip_downs if len(item.visits) > 1]
    if again and not apart.planned:  # who names strip-downs asks of a plan, and not of the past
        rows = tuple((item.name, str(len(item.visits)), say_hours(item.again_hours)) for item in again)
        yield Table(title="", columns=("Opened more than once", "Times>", "Repeat hours>"), rows=rows)


def _draw_openings(figures: Figures, apart: ApartFigures) -> Table:
    return Table(
        title=f"Strip-downs as of {figures.as_of}",
        columns=("Strip-down", "Off since", "Hours>"),
        rows=tuple(_draw_opening(opening) for opening in apart.openings),
        empty="nothing is stripped at the moment, going by the entries; name a strip-down to see what is behind it",
    )


def _draw_work(apart: ApartFigures) -> Iterator[Table]:
    yield Table(
        title="",
        columns=("Do while it's apart", "What", "Why", "Hours>"),
        rows=tuple(_draw_reach(reach) for reach in apart.reach),
        empty="Do while it's apart: nothing else that the log knows of",
    )
    if apart.reach:  # without anything else to do there is nothing to save
        hours = (
            ("one job at a time", say_hours(apart.separate_hours)),
            ("all in one go", say_hours(apart.together_hours)),
            ("saved", say_hours(apart.saved_hours)),
        )
        yield Table(title="", columns=("Strip-down hours", "Hours>"), rows=hours)
    yield Table(
        title="",
        columns=("Parts still needed", "Number", "Short>", "In the post>", "For"),
        rows=tuple(_draw_missing(missing) for missing in apart.missing),
        empty="Parts still needed: none that the log knows of",
    )


def _draw_opening(opening: Opening) -> tuple[str, ...]:
    on = "to come off" if opening.asked else "to come off first"
    return opening.name, opening.off_since.isoformat() if opening.off_since else on, say_hours(opening.hours)


def _draw_reach(reach: Reach) -> tuple[str, ...]:
    why = (
        reach.fault_name,
        reach.state,
        f"due {reach.due_on}" if reach.due_on else None,
        f"since {reach.since}" if reach.since and reach.kind in ("temporary", "fix") else None,
        f"{reach.qty:f} on the shelf" if reach.qty is not None else None,
    )
    hours = "" if reach.hours is None else say_hours(reach.hours)
    return KINDS[reach.kind], reach.name, ", ".join(filter(None, why)), hours


def _draw_missing(missing: Missing) -> tuple[str, ...]:
    lacks, post = f"{missing.lacks:f}", f"{missing.in_the_post:f}"
    return missing.name, missing.number or "", lacks, post, ", ".join(missing.why)


def _write_apart(figures: Figures, apart: ApartFigures) -> dict[str, Any]:
    return {
        "as_of": figures.as_of.isoformat(),
        "planned": list(apart.planned),
        "openings": [
            {
                "strip_down": opening.key,
                "name": opening.name,
                "hours": f"{opening.hours:f}",
                "off_since": opening.off_since.isoformat() if opening.off_since else None,
                "asked": opening.asked,
            }
            for opening in apart.openings
        ],
        "hours_to_open": f"{apart.hours_to_open:f}",
        "reach": [_write_reach(reach) for reach in apart.reach],
        "separate_hours": f"{apart.separate_hours:f}",
        "together_hours": f"{apart.together_hours:f}",
        "saved_hours": f"{apart.saved_hours:f}",
        "missing": [_write_missing(missing) for missing in apart.missing],
        "opened_again": [
            {
                "strip_down": item.key,
                "entries": [visit.off_in for visit in item.visits],
                "again_hours": f"{item.again_hours:f}",
            }
            for item in figures.strip_downs.strip_downs
            if len(item.visits) > 1
        ],
    }


def _write_reach(reach: Reach) -> dict[str, Any]:
    return {
        "kind": reach.kind,
        "key": reach.key,
        "name": reach.name,
        "fault": reach.fault,
        "needs": list(reach.needs),
        "hours": None if reach.hours is None else f"{reach.hours:f}",
        "state": reach.state,
        "due": reach.due_on.isoformat() if reach.due_on else None,
        "since": reach.since.isoformat() if reach.since else None,
        "qty": None if reach.qty is None else f"{reach.qty:f}",
        "entry": reach.entry,
    }


def _write_missing(missing: Missing) -> dict[str, Any]:
    return {
        "part": missing.part,
        "name": missing.name,
        "number": missing.number,
        "wanted": f"{missing.wanted:f}",
        "shelf": f"{missing.shelf:f}",
        "lacks": f"{missing.lacks:f}",
        "in_the_post": f"{missing.in_the_post:f}",
        "why": list(missing.why),
    }
