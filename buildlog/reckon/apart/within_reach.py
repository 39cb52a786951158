"""What is to be done that lies behind a strip-down: by what is it reached, and for whom?

What of it is worth doing now is for `apart`; what was closed up undone, for `closed_up`. Our own rule for service
items, which name no strip-down: one lies open where all that it covers does, and the component of its own name.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Literal

from buildlog.frozen import frozen
from buildlog.reckon.apart.strip_downs import list_needs
from buildlog.reckon.apart.temporary import TemporaryFigures
from buildlog.reckon.faults.faults import FaultFigures
from buildlog.reckon.parts.lives import PartFigures
from buildlog.reckon.parts.names import plain_name
from buildlog.reckon.service.calendar import add_months
from buildlog.reckon.service.items import ServiceItemFigures
from buildlog.source.records import Settings

ReachKind = Literal["suspect", "cause", "fix", "service", "temporary", "shelf"]
"""A suspect that is left; a cause that waits for its fix; a fix that waits for its proof; a service item that is due
within a year; a temporary measure; a part on the shelf."""

MONTHS_AHEAD = 12
"A service item that is due within so many months is worth doing while it lies open."


@frozen
class Reach:
    """One thing to do behind one strip-down or several."""

    kind: ReachKind
    key: str
    "component (suspect, cause, fix), service item, temporary measure or part"
    name: str
    "as shown"
    reached_by: tuple[str, ...]
    "keys of the strip-downs right in front of it, one or more"
    needs: tuple[str, ...]
    "keys of those and all that must come off first, in an order in which they can"
    fault: str | None = None
    "key of the fault: suspect, cause, fix"
    fault_name: str | None = None
    hours: Decimal | None = None
    "to check it: suspect; None where not stated"
    state: str | None = None
    "service: `overdue`, `due`, `history unknown` or `later`"
    due_on: datetime.date | None = None
    "service: when it is due; None where not known"
    since: datetime.date | None = None
    "suspected, condemned, fixed or fitted for now since; service: last done, None: never on record"
    qty: Decimal | None = None
    "shelf: how many lie there"
    entry: str | None = None
    "name of the entry of `since`, where there is one"


def list_to_do(
    settings: Settings,
    as_of: datetime.date,
    *,
    faults: Iterable[FaultFigures],
    service: Iterable[ServiceItemFigures],
    temporary: Iterable[TemporaryFigures],
    parts: Iterable[PartFigures],
) -> tuple[Reach, ...]:
    """All that is to be done behind strip-downs as of the day of the figures, in the order of `ReachKind`."""
    finder = _Finder(settings, as_of)
    of_faults = [reach for fault in faults for reach in finder.list_fault(fault)]
    kinds: tuple[ReachKind, ...] = ("suspect", "cause", "fix")
    return (
        *(reach for kind in kinds for reach in of_faults if reach.kind == kind),
        *(reach for item in service for reach in finder.list_service(item)),
        *(reach for measure in temporary for reach in finder.list_temporary(measure)),
        *(reach for part in parts for reach in finder.list_shelf(part)),
    )


class _Finder:
    """Finds by which strip-downs things are reached; each of its lists is empty where none has to come off."""

    def __init__(self, settings: Settings, as_of: datetime.date) -> None:
        self._settings = settings
        self._as_of = as_of

    def list_fault(self, fault: FaultFigures) -> Iterator[Reach]:
        """What is left of a fault, or its cause, or its fix."""
        common: dict[str, Any] = {"fault": fault.key, "fault_name": fault.name}
        if fault.state in ("open", "narrowed"):
            yield from self._list_suspects(fault, common)
        elif fault.state == "cause known" and fault.cause is not None:
            judged = next(suspect for suspect in fault.suspects if suspect.key == fault.cause)
            common |= {"since": judged.judged_on, "entry": judged.judged_in}
            yield from self._reach("cause", fault.cause, judged.name, **common)
        elif fault.state == "fixed, not proved" and fault.fixes[-1].cause is not None:
            fix, key = fault.fixes[-1], fault.fixes[-1].cause
            name = next((suspect.name for suspect in fault.suspects if suspect.key == key), plain_name(key))
            yield from self._reach("fix", key, name, since=fix.date, entry=fix.entry, **common)

    def _list_suspects(self, fault: FaultFigures, common: Mapping[str, Any]) -> Iterator[Reach]:
        again = [seen for seen in fault.sightings if seen.reopened]
        for suspect in fault.suspects:
            if suspect.key in fault.left:
                since, entry = suspect.since, suspect.entry
                if again and again[-1].date >= since:
                    since, entry = again[-1].date, again[-1].entry
                component = self._settings.components.get(suspect.key)
                hours = component.check_hours if component else None
                yield from self._reach(
                    "suspect", suspect.key, suspect.name, hours=hours, since=since, entry=entry, **common
                )

    def list_service(self, item: ServiceItemFigures) -> Iterator[Reach]:
        """A service item that is due, or will be before long."""
        plan = self._settings.service.get(item.key)
        soon = item.due_on is not None and item.due_on <= add_months(self._as_of, MONTHS_AHEAD)
        if plan is not None and (item.state != "later" or soon):
            last = item.last
            yield from self._reach(
                "service",
                item.key,
                item.name,
                covers=plan.covers,
                state=item.state,
                due_on=item.due_on,
                since=last.date if last else None,
                entry=last.entry if last else None,
            )

    def list_temporary(self, measure: TemporaryFigures) -> Iterator[Reach]:
        """A temporary measure that still stands."""
        front = measure.behind
        if measure.made_good is None and front is not None and front in self._settings.strip_downs:
            told: dict[str, Any] = {"since": measure.since, "entry": measure.entry}
            yield self._make("temporary", measure.key, measure.what, (front,), **told)

    def list_shelf(self, part: PartFigures) -> Iterator[Reach]:
        """A part that lies on the shelf."""
        if part.shelf > 0:
            yield from self._reach("shelf", part.key, part.name, covers=part.aliases, qty=part.shelf)

    def _reach(
        self, kind: ReachKind, key: str, name: str, *, covers: Iterable[str] = (), **more: Any
    ) -> Iterator[Reach]:
        """The thing, where the component of its name, or one that it covers, lies behind a strip-down."""
        components = (self._settings.components.get(component) for component in (key, *covers))
        fronts = [component.reached_by for component in components if component and component.reached_by]
        reached_by = tuple(dict.fromkeys(front for front in fronts if front in self._settings.strip_downs))
        if reached_by:
            yield self._make(kind, key, name, reached_by, **more)

    def _make(self, kind: ReachKind, key: str, name: str, reached_by: tuple[str, ...], **more: Any) -> Reach:
        needs = list_needs(self._settings.strip_downs, reached_by)
        return Reach(kind=kind, key=key, name=name, reached_by=reached_by, needs=needs, **more)
