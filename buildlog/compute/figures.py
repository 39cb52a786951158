"""Every figure of a log as of a day: the questions are asked here once, each of the module that answers it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from functools import cache, partial
from typing import ClassVar

from buildlog.compute.access import Reach, TemporaryFigures, check_closed_up, compute_temporary, list_to_do
from buildlog.compute.as_of import cut_to_day
from buildlog.compute.condition import ConditionFigures, compute_condition
from buildlog.compute.costs.beside_totals import ShelfFigures, compute_shelf
from buildlog.compute.costs.rework import ReworkFigures, compute_rework, spend_by_line
from buildlog.compute.costs.totals import CostFigures, compute_costs
from buildlog.compute.evidence.claims import check_shown
from buildlog.compute.evidence.coverage import EvidenceFigures, compute_evidence
from buildlog.compute.faults.check_order import CheckOrder, find_check_order
from buildlog.compute.faults.faults import FaultsFigures, compute_faults
from buildlog.compute.identity.identity import IdentityFigures, compute_identity
from buildlog.compute.measures.measures import MeasureFigures, compute_measures
from buildlog.compute.measures.tightening import TighteningFigures, compute_tightening
from buildlog.compute.meter.meter import MeterFigures, compute_meter, find_total
from buildlog.compute.parts.deadlines import Deadline, Failure, list_deadlines, list_failures
from buildlog.compute.parts.fittings import SystemFittings, as_fitted
from buildlog.compute.parts.part_history import PartsFigures, compute_parts
from buildlog.compute.parts.suppliers import InThePost, list_in_the_post
from buildlog.compute.plans import PlanFigures, compute_plans
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.compute.service.due_status import Due, rank_due
from buildlog.compute.service.items import ServiceFigures, compute_service
from buildlog.compute.strip_downs import StripDownsFigures, compute_strip_downs
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, StandingPage


@frozen
class Figures:
    """All that the tool knows of a machine on a day."""

    DEFERRED: ClassVar[bool] = False
    "Whether those that take time are computed only when somebody asks for one: not those of this class."
    log: Log
    "as it was read, entries written later included"
    as_of: datetime.date
    "the day that every figure is of"
    entries: tuple[Entry, ...]
    "written by the day, in order"
    pages: tuple[StandingPage, ...]
    "standing pages that hold by the day, in order"
    identity: IdentityFigures
    "VIN, HIN and other numbers, and what they say"
    costs: CostFigures
    "what was spent, recovered and committed, with every total by its lines"
    parts: PartsFigures
    "every part of the log, its history and where it is"
    as_fitted: tuple[SystemFittings, ...]
    "what is on the machine on the day, by system"
    rework: ReworkFigures
    "what replaced something fitted earlier in this log, in money and hours"
    deadlines: tuple[Deadline, ...]
    "warranties, days to send something back by, cores to be handed in; by date"
    failures: tuple[Failure, ...]
    "what came off for a reason within its warranty"
    shelf: ShelfFigures
    "what lies on the shelf, where, and what it is worth"
    in_the_post: tuple[InThePost, ...]
    "what is ordered and has not arrived"
    temporary: tuple[TemporaryFigures, ...]
    "temporary repairs, those made good included, oldest first"
    meter: MeterFigures
    "readings, true totals and daily use"
    service: ServiceFigures
    "what is due and the history of each service item"
    tightening: TighteningFigures
    "what was tightened, and what of it is to be checked again"
    due: tuple[Due, ...]
    "service items and fasteners to be checked again, most pressing first"
    measures: MeasureFigures
    "what was measured, with verdicts and trends"
    faults: FaultsFigures
    "every fault, its suspects, checks, fixes and cost"
    next_checks: Mapping[str, CheckOrder]
    "the order in which to check, by key of each fault that is neither fixed nor has a known cause"
    strip_downs: StripDownsFigures
    "what is off on the day, and each time that something came off"
    to_do: tuple[Reach, ...]
    "everything to do behind a strip-down; what `compute_apart` chooses from"
    plans: PlanFigures
    "what is still to be done: `next:` items, and lists that entries tick"
    condition: ConditionFigures
    "laid up or not, what is open and overdue: what the front page says in one sentence"
    evidence: EvidenceFigures
    "every claim and how it is backed"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day; so are those of each answer"


ANSWERS = (
    "identity", "meter", "parts", "costs", "service", "tightening", "measures", "evidence", "faults", "strip_downs",
    "plans",
)  # fmt: skip
"The fields of `Figures` that hold problems too."


def compute_figures(log: Log, as_of: datetime.date) -> Figures:
    """The figures of a log as it stood at the end of a day, with the problems of the whole of it.

    An entry counts from its own day on, with everything in it; `log.yaml` has no day and counts on every day.
    Raises nothing for what an owner can get wrong: that is in `problems`.
    """
    # Cut here and nowhere else: no module below has to remember that an entry may be of a later day.
    by_then = cut_to_day(log, as_of)
    figures = _compute_all(by_then, as_of)
    if by_then is log:
        return figures
    # Of the whole log, so that an early day hides no slip in a later entry; as of the last entry's day, so that the
    # problems are the same whatever day is asked for. Only an early day pays for it, with everything computed twice.
    whole = _compute_all(log, log.entries[-1].date)
    answers = {name: replace(getattr(figures, name), problems=getattr(whole, name).problems) for name in ANSWERS}
    return replace(figures, log=log, problems=whole.problems, **answers)


def _compute_all(log: Log, as_of: datetime.date) -> Figures:
    """The answer to every question, from all entries that are there."""
    identity, meter, parts = compute_identity(log), compute_meter(log, as_of), compute_parts(log, as_of)
    costs = compute_costs(parts.story, as_of)
    service = compute_service(log, as_of, meter=meter, names=parts.story.names)
    tightening, measures = compute_tightening(log, as_of, meter=meter), compute_measures(log)
    evidence = compute_evidence(log, as_of, amounts=_list_amounts(costs))
    temporary, temporary_problems = compute_temporary(log, as_of)
    faults, strip_downs = compute_faults(log, as_of, costs=costs), compute_strip_downs(log)
    to_do = list_to_do(
        log.settings, as_of, faults=faults.faults, service=service.items, temporary=temporary, parts=parts.parts
    )
    spent = spend_by_line(parts.story, costs.lines)
    landed = {bought.landed.line.place: bought.landed.landed for bought in costs.landed_lines}
    committed = frozenset(line.place for line in costs.committed_lines)
    plans, due = compute_plans(log, as_of), rank_due((*service.items, *tightening.rechecks))
    deadlines = list_deadlines(parts.story, as_of, owed={core.place for core in costs.cores_owed})
    in_the_post = list_in_the_post(parts.story, as_of, landed=landed, committed=committed)
    answers = (identity, meter, parts, costs, service, tightening, measures, evidence, faults, strip_downs, plans)
    return Figures(
        log=log,
        as_of=as_of,
        entries=log.entries,
        pages=log.list_pages(as_of),
        identity=identity,
        costs=costs,
        parts=parts,
        # The meter is handed in, so that `parts` need not know of it: `service` knows both already.
        as_fitted=as_fitted(parts.story, parts.spans, on_date=as_of, total_at=cache(partial(find_total, meter))),
        rework=compute_rework(parts.story, parts.spans, spent=spent, as_of=as_of),
        deadlines=deadlines,
        failures=list_failures(parts.story, parts.spans, as_of),
        shelf=compute_shelf(parts.story, parts.shelves, bought=costs.landed_lines, refunds=costs.refunds, as_of=as_of),
        in_the_post=in_the_post,
        temporary=temporary,
        meter=meter,
        service=service,
        tightening=tightening,
        due=due,
        measures=measures,
        faults=faults,
        next_checks=_order_checks(log, faults, strip_downs),
        strip_downs=strip_downs,
        to_do=to_do,
        plans=plans,
        condition=compute_condition(
            log.settings, as_of, plans=plans, faults=faults, due=(*due, *deadlines), in_the_post=in_the_post
        ),
        evidence=evidence,
        problems=(
            *(problem for answer in answers for problem in answer.problems),
            *temporary_problems,
            *check_closed_up(log, to_do, strip_downs=strip_downs),
            *check_shown(log, parts.story.names.keys),
        ),
    )


def _order_checks(log: Log, faults: FaultsFigures, strip_downs: StripDownsFigures) -> Mapping[str, CheckOrder]:
    # With a cause found there is nothing left to look for, and a fix waits for its proof.
    return {
        fault.key: find_check_order(fault, log.settings, off=strip_downs.off)
        for fault in faults.faults
        if fault.state in ("open", "narrowed")
    }


def _list_amounts(costs: CostFigures) -> Mapping[Place, Money]:
    """The home amount of each order, return and sale, by the place of its record."""
    amounts = {purchase.landed.order.place: purchase.landed.landed for purchase in costs.purchases}
    # An order has one landed total; a return or a sale may move several lines, so they are added up by its place.
    moved: dict[Place, list[Money]] = {}
    for line in (*costs.refund_lines, *costs.recovered_lines):
        moved.setdefault(line.place, []).append(line.landed)
    return amounts | {place: sum_money(some, costs.currency) for place, some in moved.items()}
