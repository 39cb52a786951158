"""What belongs to each system of the machine: entries, parts, money, faults, service, measurements, fasteners?

Asked by the pages of the systems alone, so it works from the finished figures and is no part of them. A record that
names a system belongs to that; one that cannot name any belongs to those of its entry: what was measured, tightened,
fitted for now or left to be done in an entry about brakes and fuel stands with both. A fault belongs to the systems of
the components that were suspected or found to be the cause; where none has a system, to those of the entry that
opened it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar

from buildlog.compute.access import TemporaryFigures
from buildlog.compute.costs.plan import BudgetRow, WantedFigures
from buildlog.compute.costs.sums import Total
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.figures import Figures
from buildlog.compute.measures.measures import MeasuredSet
from buildlog.compute.measures.tightening import TightenedFigures
from buildlog.compute.parts.fittings import Fitting
from buildlog.compute.parts.part_history import PartFigures
from buildlog.compute.parts.suppliers import InThePost
from buildlog.compute.plans import PlanItem
from buildlog.compute.service.items import ServiceItemFigures
from buildlog.frozen import frozen
from buildlog.read.records import Entry
from buildlog.text import fold_words

SystemKeys = Iterable[str | None]
"Keys of systems; None: in no system that was named."


@frozen
class SystemFigures:
    """All that belongs to one system as of a day; each in the order in which the figures have it."""

    key: str | None
    "as in `log.yaml`; None: all that names no system"
    entries: tuple[Entry, ...]
    "those that name it"
    parts: tuple[PartFigures, ...]
    "those first bought for it, or taken off it"
    fittings: tuple[Fitting, ...]
    "what is on the machine there"
    post: tuple[InThePost, ...]
    "what of its parts is on its way"
    spent: Total | None
    "what was spent on it; None: nothing"
    budget: BudgetRow | None
    "None: no budget was set for it"
    items: tuple[ServiceItemFigures, ...]
    "the recurring jobs that `log.yaml` gives to it"
    faults: tuple[FaultFigures, ...]
    "closed ones too"
    temporary: tuple[TemporaryFigures, ...]
    "those that ended too"
    measured: tuple[MeasuredSet, ...]
    "every set of values, oldest first"
    tightened: tuple[TightenedFigures, ...]
    "every fastener, oldest first"
    to_do: tuple[PlanItem, ...]
    "open `next:` items, oldest first; none where no entry ever said what became of such an item"
    wanted: tuple[WantedFigures, ...]
    "what is wanted for it and not ordered yet, in the order in which it was wanted"


def group_by_system(figures: Figures) -> dict[str | None, SystemFigures]:
    """Each system to which something belongs by its key, in the order of `log.yaml`; what names none last."""
    about: dict[str, SystemKeys] = {entry.name: entry.systems or (None,) for entry in figures.entries}
    parts = {part.key: part for part in figures.parts.parts}
    fitted = {group.system: group.fittings for group in figures.as_fitted}
    spent = {total.key: total for total in figures.costs.by_system}
    budget = {row.system: row for row in figures.costs.plan.budget}
    entries = _group(figures.entries, lambda entry: about[entry.name])
    own = _group(parts.values(), lambda part: (part.system,))
    post = _group((one for one in figures.in_the_post if one.key in parts), lambda one: (parts[one.key or ""].system,))
    items = _group(figures.service.items, lambda item: (item.system,))
    faults = _group(figures.faults.faults, lambda fault: _find_systems(figures, fault) or about[fault.opened_in])
    temporary = _group(figures.temporary, lambda one: about[one.entry])
    measured = _group(figures.measures.sets.values(), lambda one: about[one.entry])
    tightened = _group(figures.tightening.tightened.values(), lambda one: about[one.entry])
    plans = figures.plans
    to_do = _group(plans.list_open() if plans.kept else (), lambda item: about[item.entry])
    wanted = _group(figures.costs.plan.list_open(), lambda item: (item.system,))
    groups: tuple[Mapping[str | None, object], ...] = (entries, own, fitted, spent, items, faults, wanted)
    return {
        key: SystemFigures(
            key=key,
            entries=entries.get(key, ()),
            parts=own.get(key, ()),
            fittings=fitted.get(key, ()),
            post=post.get(key, ()),
            spent=spent.get(key),
            # The row of all of it has no system either.
            budget=budget.get(key) if key else None,
            items=items.get(key, ()),
            faults=faults.get(key, ()),
            temporary=temporary.get(key, ()),
            measured=tuple(sorted(measured.get(key, ()), key=lambda one: one.date)),
            tightened=tightened.get(key, ()),
            to_do=to_do.get(key, ()),
            wanted=wanted.get(key, ()),
        )
        for key in (*figures.log.settings.systems, None)
        if any(key in group for group in groups)
    }


@frozen
class Fastener:
    """One fastener, or one set of them, as it was last tightened."""

    systems: tuple[str, ...]
    "keys of the systems that it belongs to: its part's, else those of the entry about it that names the fewest"
    last: TightenedFigures
    "the last time"
    times: int
    "how often it was tightened"


def list_fasteners(figures: Figures) -> dict[tuple[str, ...], tuple[Fastener, ...]]:
    """Every fastener that was tightened, by its systems in the order of `log.yaml`, those without any last.

    What has the same words is the same fastener, as where one is to be checked again.
    """
    parts = {key: part for part in figures.parts.parts for key in (*part.aliases, part.key)}
    own = {entry.name: entry.systems for entry in figures.entries}
    found: dict[str, Fastener] = {}
    for one in figures.tightening.tightened.values():
        part, key = parts.get(one.record.part or ""), fold_words(one.record.what)
        systems, before = (part.system,) if part and part.system else own[one.entry], found.get(key)
        # Wheel nuts that were checked in an evening about fuel are still those of the wheels.
        if before and before.systems and (not systems or len(before.systems) <= len(systems)):
            systems = before.systems
        found[key] = Fastener(systems=systems, last=one, times=before.times + 1 if before else 1)
    order = {key: at for at, key in enumerate(figures.log.settings.systems)}
    groups: dict[tuple[str, ...], list[Fastener]] = {}
    for fastener in found.values():
        groups.setdefault(fastener.systems, []).append(fastener)
    ranked = sorted(groups, key=lambda systems: (not systems, [order.get(key, len(order)) for key in systems]))
    return {systems: tuple(groups[systems]) for systems in ranked}


def _find_systems(figures: Figures, fault: FaultFigures) -> tuple[str, ...]:
    """The systems of the components that were suspected, or found to be the cause; those that have one."""
    components = figures.log.settings.components
    named = (*(suspect.key for suspect in fault.suspects), *filter(None, [fault.cause]))
    systems = (components[key].system for key in named if key in components)
    return tuple(dict.fromkeys(system for system in systems if system))


Value = TypeVar("Value")


def _group(values: Iterable[Value], choose: Callable[[Value], SystemKeys]) -> dict[str | None, tuple[Value, ...]]:
    found: dict[str | None, list[Value]] = {}
    for value in values:
        for key in choose(value):
            found.setdefault(key, []).append(value)
    return {key: tuple(some) for key, some in found.items()}
