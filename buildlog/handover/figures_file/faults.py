"""What went wrong, how it was hunted, and where to look next."""

from __future__ import annotations

from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures, FaultLink, FaultsFigures
from buildlog.compute.faults.steps import CheckFigures, FixFigures, SightingFigures, SuspectFigures
from buildlog.handover.figures_file.spelling import Json


def write_faults(faults: FaultsFigures) -> Json:
    return {
        "faults": [*map(_write_fault, faults.faults)],
        "by_entry": {key: [*map(_write_fault_link, found)] for key, found in faults.by_entry.items()},
    }


def _write_fault(fault: FaultFigures) -> Json:
    return {
        "key": fault.key,
        "name": fault.name,
        "state": fault.state,
        "suspects": [*map(_write_suspect, fault.suspects)],
        "left": fault.left,
        "checks": [*map(_write_check, fault.checks)],
        "cause": fault.cause,
        "cause_name": fault.cause_name,
        "fixes": [*map(_write_fix, fault.fixes)],
        "sightings": [*map(_write_sighting, fault.sightings)],
        "opened": fault.opened,
        "opened_in": fault.opened_in,
        "closed": fault.closed,
        "closed_in": fault.closed_in,
        "days_open": fault.days_open,
        "entries": fault.entries,
        "parts_cost": fault.parts_cost,
        "cost_lines": fault.cost_lines,
        "check_hours": fault.check_hours,
        "checks_without_hours": fault.checks_without_hours,
        "place": fault.place,
    }


def _write_suspect(suspect: SuspectFigures) -> Json:
    return {
        "key": suspect.key,
        "name": suspect.name,
        "group": suspect.group,
        "since": suspect.since,
        "entry": suspect.entry,
        "verdict": suspect.verdict,
        "judged_on": suspect.judged_on,
        "judged_in": suspect.judged_in,
        "judged_by": suspect.judged_by,
    }


def _write_check(check: CheckFigures) -> Json:
    return {
        "date": check.date,
        "entry": check.entry,
        "did": check.did,
        "named": check.named,
        "clears": check.clears,
        "cause": check.cause,
        "hours": check.hours,
        "left": check.left,
        "place": check.place,
    }


def _write_fix(fix: FixFigures) -> Json:
    return {
        "date": fix.date,
        "entry": fix.entry,
        "how": fix.how,
        "cause": fix.cause,
        "proved": fix.proved,
        "proved_on": fix.proved_on,
        "proved_in": fix.proved_in,
        "failed_on": fix.failed_on,
        "place": fix.place,
    }


def _write_sighting(sighting: SightingFigures) -> Json:
    return {
        "date": sighting.date,
        "entry": sighting.entry,
        "note": sighting.note,
        "reopened": sighting.reopened,
        "place": sighting.place,
    }


def _write_fault_link(fault_link: FaultLink) -> Json:
    return {
        "fault": fault_link.fault,
        "name": fault_link.name,
        "before": fault_link.before,
        "after": fault_link.after,
        "previous": fault_link.previous,
        "next": fault_link.next,
    }


def write_look(look: CheckOrder) -> Json:
    return {
        "fault": look.fault,
        "steps": [*map(_write_look_step, look.steps)],
        "chances": look.chances,
        "expected": look.expected,
        "expected_hours": look.expected_hours,
        "exact": look.exact,
        "no_hours": look.no_hours,
    }


def _write_look_step(look_step: CheckStep) -> Json:
    return {
        "suspect": look_step.suspect,
        "name": look_step.name,
        "takes_off": look_step.takes_off,
        "takes_off_names": look_step.takes_off_names,
        "strip_hours": look_step.strip_hours,
        "check_hours": look_step.check_hours,
        "hours": look_step.hours,
        "hours_so_far": look_step.hours_so_far,
        "likely": look_step.likely,
    }
