"""`buildlog faults`: where does each fault stand, where to look next, and what is fitted only for now?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from buildlog.answers.tables import Answer, Table, write_amount
from buildlog.compute.access import TemporaryFigures
from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.faults.steps import STATE_WORDS, CheckFigures, FixFigures, SuspectFigures
from buildlog.compute.figures import Figures


def answer_faults(figures: Figures) -> Answer:
    """Every fault, those without a proof first; for each open one the order of checks; the temporary measures."""
    faults = figures.faults.faults
    # What was made good is history: the answer is about the machine as it stands.
    measures = [measure for measure in figures.temporary if measure.made_good is None]
    data = {
        "as_of": figures.as_of.isoformat(),
        "currency": figures.costs.currency,
        "faults": [_write_fault(figures, fault) for fault in faults],
        "temporary": [_write_measure(measure) for measure in measures],
    }
    return Answer(tables=tuple(_list_tables(figures, measures)), data=data)


def _list_tables(figures: Figures, measures: list[TemporaryFigures]) -> Iterator[Table]:
    faults = figures.faults.faults
    yield Table(
        title=f"Faults as of {figures.as_of}",
        columns=("Fault", "State", "Suspects>", "Left>", "Days open>", "Check hours>", f"{figures.costs.currency}>"),
        rows=tuple(_draw_fault(figures, fault) for fault in faults),
        empty="no faults on record; that does not mean there are none",
    )
    for fault in faults:
        look = figures.next_checks.get(fault.key)
        if look is not None:
            yield _draw_look(fault, look)
    yield Table(
        title="Temporary repairs",
        columns=("What", "Since", "Days>", "Until"),
        rows=tuple((each.what, each.since.isoformat(), str(each.days), each.until or "") for each in measures),
        empty="nothing",
    )


def _draw_fault(figures: Figures, fault: FaultFigures) -> tuple[str, ...]:
    state = STATE_WORDS[fault.state] + (f": {fault.cause_name}" if fault.state == "cause known" else "")
    return (
        fault.name,
        state,
        str(len(fault.suspects)),
        "" if fault.cause else str(len(fault.left)),  # with a cause found, those not ruled out no longer matter
        str(fault.days_open),
        f"{fault.check_hours:f}",
        write_amount(fault.parts_cost),
    )


def _draw_look(fault: FaultFigures, look: CheckOrder) -> Table:
    names = {suspect.key: suspect.name for suspect in fault.suspects}
    steps = [
        (step.name, say_reason(look, step), ", ".join(step.takes_off_names), f"{step.hours_so_far:f}")
        for step in look.steps
    ]
    # Named all the same: without its hours a suspect has no place in the order, and may be the cause.
    left_out = [(names[key], "left out: no `check_hours` in log.yaml", "", "") for key in look.no_hours]
    expected = f", {look.about_hours:f} h on average" if look.steps else ""
    warning = "" if look.exact else "; there may be a better order"
    return Table(
        title=f"Where to look next: {fault.name}{expected}{warning}",
        columns=("Suspect", "Why", "Take off first", "Hours so far>"),
        rows=(*steps, *left_out),
        empty="no suspects left" if fault.suspects else "no suspects named yet",
    )


def say_reason(look: CheckOrder, step: CheckStep) -> str:
    """`3-in-11 likely, 0.1 h to check`"""
    return f"{step.likely:f}-in-{look.chances:f} likely, {step.hours:f} h to check"


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
                "why": say_reason(look, step),
            }
            for step in look.steps
        ],
        "without_hours": list(look.no_hours),
    }


def _write_measure(measure: TemporaryFigures) -> dict[str, Any]:
    return {
        "repair": measure.key,
        "what": measure.what,
        "until": measure.until,
        "since": measure.since.isoformat(),
        "days": measure.days,
        "entry": measure.entry,
    }
