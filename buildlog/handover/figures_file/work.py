"""What the file of figures holds of parts and of work: lives of parts, faults, next checks, what is stripped, proof."""

from __future__ import annotations

from buildlog.compute.access import Reach, TemporaryFigures
from buildlog.compute.evidence.claims import Claim
from buildlog.compute.evidence.coverage import Coverage, EvidenceFigures
from buildlog.compute.faults.check_order import CheckOrder, CheckStep
from buildlog.compute.faults.faults import FaultFigures, FaultLink, FaultsFigures
from buildlog.compute.faults.steps import CheckFigures, FixFigures, SightingFigures, SuspectFigures
from buildlog.compute.parts.fittings import Fitting, SystemFittings
from buildlog.compute.parts.part_history import LifeEvent, PartFigures, PartsFigures
from buildlog.compute.parts.suppliers import InThePost, SupplierFigures
from buildlog.compute.plans import ListFigures, PlanFigures, PlanItem, TickItem
from buildlog.compute.strip_downs import StripDownFigures, StripDownsFigures, Visit
from buildlog.handover.figures_file import Json


def write_parts(parts: PartsFigures) -> Json:
    return {"parts": [*map(_write_part, parts.parts)], "suppliers": [*map(_write_supplier, parts.suppliers)]}


def _write_part(part: PartFigures) -> Json:
    return {
        "key": part.key,
        "aliases": part.aliases,
        "name": part.name,
        "numbers": part.numbers,
        "maker": part.maker,
        "system": part.system,
        "unit": part.unit,
        "spec": part.spec,
        "single_use": part.single_use,
        "original": part.original,
        "bought": part.bought,
        "came_with": part.came_with,
        "cancelled": part.cancelled,
        "arrived": part.arrived,
        "fitted": part.fitted,
        "removed": part.removed,
        "kept": part.kept,
        "returned": part.returned,
        "sold": part.sold,
        "scrapped": part.scrapped,
        "gone": part.gone,
        "on_machine": part.on_machine,
        "shelf": part.shelf,
        "in_the_post": part.in_the_post,
        "life": [*map(_write_life_event, part.life)],
    }


def _write_life_event(life_event: LifeEvent) -> Json:
    return {
        "kind": life_event.kind,
        "date": life_event.date,
        "qty": life_event.qty,
        "entry": life_event.entry,
        "place": life_event.place,
        "reading": life_event.reading,
        "supplier": life_event.supplier,
        "ref": life_event.ref,
        "at": life_event.at,
        "instead_of": life_event.instead_of,
        "why": life_event.why,
        "fate": life_event.fate,
    }


def _write_supplier(supplier: SupplierFigures) -> Json:
    return {
        "name": supplier.name,
        "orders": supplier.orders,
        "arrived": supplier.arrived,
        "median_days": supplier.median_days,
        "longest_days": supplier.longest_days,
        "returns": supplier.returns,
    }


def write_system_fittings(system_fittings: SystemFittings) -> Json:
    return {"system": system_fittings.system, "fittings": [*map(_write_fitting, system_fittings.fittings)]}


def _write_fitting(fitting: Fitting) -> Json:
    return {
        "key": fitting.key,
        "name": fitting.name,
        "at": fitting.at,
        "qty": fitting.qty,
        "since": fitting.since,
        "until": fitting.until,
        "fitted_in": fitting.fitted_in,
        "removed_in": fitting.removed_in,
        "ended": fitting.ended,
        "why": fitting.why,
        "fate": fitting.fate,
        "replaces": fitting.replaces,
        "earlier": fitting.earlier,
        "planned": fitting.planned,
        "system": fitting.system,
        "spec": fitting.spec,
        "paper": fitting.paper,
        "note": fitting.note,
        "start_reading": fitting.start_reading,
        "end_reading": fitting.end_reading,
        "age_days": fitting.age_days,
        "distance": fitting.distance,
        "place": fitting.place,
    }


def write_in_the_post(in_the_post: InThePost) -> Json:
    return {
        "key": in_the_post.key,
        "name": in_the_post.name,
        "qty": in_the_post.qty,
        "unit": in_the_post.unit,
        "supplier": in_the_post.supplier,
        "ref": in_the_post.ref,
        "ordered": in_the_post.ordered,
        "days": in_the_post.days,
        "entry": in_the_post.entry,
        "landed": in_the_post.landed,
        "paid": in_the_post.paid,
    }


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


def write_plans(plans: PlanFigures) -> Json:
    return {
        "kept": plans.kept,
        "items": [*map(_write_plan_item, plans.items)],
        "lists": [*map(_write_list, plans.lists)],
    }


def _write_plan_item(item: PlanItem) -> Json:
    return {
        "name": item.name,
        "what": item.what,
        "entry": item.entry,
        "since": item.since,
        "place": item.place,
        "state": item.state,
        "ended": item.ended,
        "ended_in": item.ended_in,
        "days": item.days,
    }


def _write_list(checklist: ListFigures) -> Json:
    return {
        "key": checklist.key,
        "name": checklist.name,
        "items": [*map(_write_tick, checklist.items)],
        "ticked": checklist.ticked,
        "missing": checklist.missing,
        "place": checklist.place,
    }


def _write_tick(item: TickItem) -> Json:
    return {
        "name": item.name,
        "what": item.what,
        "caution": item.caution,
        "system": item.system,
        "ticked": item.ticked,
        "ticked_in": item.ticked_in,
        "note": item.note,
        "worked_on": item.worked_on,
        "worked_in": item.worked_in,
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
