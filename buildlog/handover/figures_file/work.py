"""What the file of figures holds of the work: faults, the next checks, what is stripped, and what backs each claim."""

from __future__ import annotations

from buildlog.compute.access import Reach, TemporaryFigures
from buildlog.compute.evidence.claims import Claim
from buildlog.compute.evidence.coverage import Coverage, EvidenceFigures
from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures, FaultLink, FaultsFigures
from buildlog.compute.faults.steps import CheckFigures, FixFigures, SightingFigures, SuspectFigures
from buildlog.compute.strip_downs import StripDownFigures, StripDownsFigures, Visit
from buildlog.handover.figures_file import Json


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


def write_check_order(order: CheckOrder) -> Json:
    return {
        "fault": order.fault,
        "steps": [*map(_write_check_step, order.steps)],
        "chances": order.chances,
        "expected": order.expected,
        "expected_hours": order.expected_hours,
        "exact": order.exact,
        "no_hours": order.no_hours,
    }


def _write_check_step(step: CheckStep) -> Json:
    return {
        "suspect": step.suspect,
        "name": step.name,
        "takes_off": step.takes_off,
        "takes_off_names": step.takes_off_names,
        "strip_hours": step.strip_hours,
        "check_hours": step.check_hours,
        "hours": step.hours,
        "hours_so_far": step.hours_so_far,
        "likely": step.likely,
    }


def write_temporary(temporary: TemporaryFigures) -> Json:
    return {
        "key": temporary.key,
        "what": temporary.what,
        "until": temporary.until,
        "behind": temporary.behind,
        "since": temporary.since,
        "entry": temporary.entry,
        "made_good": temporary.made_good,
        "made_good_in": temporary.made_good_in,
        "days": temporary.days,
    }


def write_strip_downs(strip_downs: StripDownsFigures) -> Json:
    return {
        "strip_downs": [*map(_write_strip_down, strip_downs.strip_downs)],
        "off": strip_downs.off,
        "again_hours": strip_downs.again_hours,
    }


def _write_strip_down(strip_down: StripDownFigures) -> Json:
    return {
        "key": strip_down.key,
        "name": strip_down.name,
        "hours": strip_down.hours,
        "needs": strip_down.needs,
        "total_hours": strip_down.total_hours,
        "off": strip_down.off,
        "off_since": strip_down.off_since,
        "off_in": strip_down.off_in,
        "visits": [*map(_write_visit, strip_down.visits)],
        "again_hours": strip_down.again_hours,
        "place": strip_down.place,
    }


def _write_visit(visit: Visit) -> Json:
    return {
        "key": visit.key,
        "off_on": visit.off_on,
        "off_in": visit.off_in,
        "back_on": visit.back_on,
        "back_in": visit.back_in,
        "implied": visit.implied,
    }


def write_reach(reach: Reach) -> Json:
    return {
        "kind": reach.kind,
        "key": reach.key,
        "name": reach.name,
        "reached_by": reach.reached_by,
        "needs": reach.needs,
        "fault": reach.fault,
        "fault_name": reach.fault_name,
        "hours": reach.hours,
        "state": reach.state,
        "due_on": reach.due_on,
        "since": reach.since,
        "qty": reach.qty,
        "entry": reach.entry,
    }


def write_evidence(evidence: EvidenceFigures) -> Json:
    return {
        "claims": [*map(_write_claim, evidence.claims)],
        "coverage": [*map(_write_coverage, evidence.coverage)],
        "by_kind": {key: [*map(_write_coverage, found)] for key, found in evidence.by_kind.items()},
        "money": evidence.money,
        "gaps": [*map(_write_claim, evidence.gaps)],
    }


def _write_claim(claim: Claim) -> Json:
    return {
        "kind": claim.kind,
        "date": claim.date,
        "when": claim.when,
        "what": claim.what,
        "level": claim.level,
        "paper": claim.paper,
        "entry": claim.entry,
        "place": claim.place,
        "amount": claim.amount,
    }


def _write_coverage(coverage: Coverage) -> Json:
    return {
        "level": coverage.level,
        "claims": coverage.claims,
        "claims_percent": coverage.claims_percent,
        "money": coverage.money,
        "money_percent": coverage.money_percent,
    }
