"""While it is apart: what else is within reach and due, what does it save to do it now, and what does the shelf lack?

What there is to do behind strip-downs is gathered in `access`, which also finds what was left undone at refit. This
module is asked with a plan, so it works from the finished figures and is no part of them.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from buildlog.arithmetic import EXACT, sum_exactly
from buildlog.compute.access import Reach, ReachKind
from buildlog.compute.figures import Figures
from buildlog.compute.strip_downs import list_needs, list_to_open, sum_hours
from buildlog.frozen import frozen

__all__ = ["ApartFigures", "Missing", "Opening", "Reach", "ReachKind", "compute_apart"]


@frozen
class Opening:
    """One strip-down that is off, or would come off."""

    key: str
    "the strip-down's key"
    name: str
    "as shown"
    hours: Decimal
    "to take it off and put it back, without what must come off first"
    off_since: datetime.date | None
    "the day that it came off; None: it is on, and would have to come off"
    asked: bool
    "whether it was asked for, or is off; False: it must come off first"


@frozen
class Missing:
    """One part that the shelf lacks to do it all."""

    part: str
    "the part's key; the component's where no part of its name was ever bought"
    name: str
    "as shown"
    number: str | None
    "the maker's number, the newest; None where not known"
    wanted: Decimal
    "how many the work needs, those that several jobs want counted once"
    shelf: Decimal
    "how many lie there"
    lacks: Decimal
    "wanted less shelf, above zero"
    in_the_post: Decimal
    "how many are ordered and have not arrived"
    why: tuple[str, ...]
    """what wants it: `service KEY` (it went in last time), `cause KEY` (found faulty), `temporary KEY` (a temporary
    repair of its name stands in for it), `single use KEY` (it sits behind the strip-down KEY, or was fitted in the
    entry that put that back last time)"""


@frozen
class ApartFigures:
    """All that is worth doing while some strip-downs are off."""

    planned: tuple[str, ...]
    "keys of the strip-downs asked for"
    openings: tuple[Opening, ...]
    "everything that is off or would come off, in an order in which it can"
    hours_to_open: Decimal
    "of the openings that are still on"
    reach: tuple[Reach, ...]
    "suspects, causes, fixes, service items (most pressing first), temporary repairs, shelf parts"
    separate_hours: Decimal
    "strip-down hours if each fault, service item, repair and part had a visit of its own, from closed up"
    together_hours: Decimal
    "strip-down hours of one visit for all of them, each strip-down once"
    saved_hours: Decimal
    "separate less together"
    missing: tuple[Missing, ...]
    "in the order of `reach`"


def compute_apart(figures: Figures, planned: Sequence[str] = ()) -> ApartFigures:
    """What is worth doing with the planned strip-downs off, beside those that are off on the day of the figures.

    Raises `KeyError` for a strip-down that `log.yaml` does not have.
    """
    strip_downs = figures.log.settings.strip_downs
    off = figures.strip_downs.off
    for key in planned:
        # Asked for its `KeyError`: further down a name that leads nowhere is left out in silence.
        strip_downs[key]
    to_open = list_to_open(strip_downs, planned, off=off)
    openings = tuple(_list_openings(figures, {*off, *to_open}, asked={*off, *planned}))
    # All its needs, not only what is right in front: what went back over an open strip-down hides it again.
    reach = tuple(thing for thing in figures.to_do if {*off, *to_open}.issuperset(thing.needs))
    # Both from closed up, whatever is off now: what is left for a later visit has to be opened up again.
    separate = sum_exactly(sum_hours(strip_downs, needs) for needs in _list_visits(figures, reach))
    together = sum_hours(strip_downs, dict.fromkeys(key for thing in reach for key in thing.needs))
    return ApartFigures(
        planned=tuple(planned),
        openings=openings,
        hours_to_open=sum_hours(strip_downs, to_open),
        reach=reach,
        separate_hours=separate,
        together_hours=together,
        saved_hours=EXACT.subtract(separate, together),
        missing=tuple(_list_missing(figures, openings, reach)),
    )


def _list_openings(figures: Figures, keys: set[str], *, asked: set[str]) -> Iterator[Opening]:
    known = {strip_down.key: strip_down for strip_down in figures.strip_downs.strip_downs}
    for key in list_needs(figures.log.settings.strip_downs, known):
        if key in keys:
            strip_down = known[key]
            yield Opening(
                key=key,
                name=strip_down.name,
                hours=strip_down.hours,
                off_since=strip_down.off_since,
                asked=key in asked,
            )


def _list_visits(figures: Figures, reach: Iterable[Reach]) -> Iterable[Iterable[str]]:
    """The strip-downs of each visit, if each fault, service item, repair and part had its own.

    A part that lies ready for one of the others goes in on the visit for that one. Shelf parts are the last in `reach`.
    """
    visits: dict[tuple[str, str], dict[str, None]] = {}
    served: dict[str, tuple[str, str]] = {}
    for thing in reach:
        # One visit for a fault and not for each suspect: whoever opens up to find it looks at all that is there.
        job = ("fault", thing.fault) if thing.fault is not None else (thing.kind, thing.key)
        names = _list_names(figures, thing)
        if thing.kind == "shelf":
            job = next((served[name] for name in names if name in served), job)
        else:
            # The first that could use a part keeps it, so that it counts for one visit only.
            served = {**dict.fromkeys(names, job), **served}
        visits.setdefault(job, {}).update(dict.fromkeys(thing.needs))
    return visits.values()


def _list_names(figures: Figures, thing: Reach) -> tuple[str, ...]:
    """Keys of the components and parts that a thing within reach is about."""
    if thing.kind == "shelf":
        return next((part.key, *part.aliases) for part in figures.parts.parts if part.key == thing.key)
    if thing.kind != "service":
        return (thing.key,)
    item = next(item for item in figures.service.items if item.key == thing.key)
    last = tuple(part.key for part in item.last.parts) if item.last else ()
    return (thing.key, *figures.log.settings.service[thing.key].covers, *last)


@frozen
class _Want:
    """Some units of a part that are wanted; two jobs may want the same units."""

    part: str
    "key of the part, or of the component"
    name: str
    "as shown"
    number: str | None
    "the maker's, of the part that a service item took last; None for all else, and where not known"
    source: str
    "name of the entry that fitted as many before; empty where none did"
    qty: Decimal
    "how many"
    why: str
    "what wants it, as in `Missing.why`"


def _list_missing(figures: Figures, openings: Iterable[Opening], reach: Iterable[Reach]) -> Iterator[Missing]:
    """What the shelf lacks, each part once; units that one entry fitted are wanted once, whoever asks for them."""
    wants = [*_list_wants(figures, reach), *_list_single_use(figures, openings)]
    parts = {key: part for part in figures.parts.parts for key in (*part.aliases, part.key)}
    by_part: dict[str, list[_Want]] = {}
    for want in wants:
        by_part.setdefault(parts[want.part].key if want.part in parts else want.part, []).append(want)
    for key, mine in by_part.items():
        # By source, so that a gasket which a service takes and which sits behind the cover too is one gasket. Wants
        # without a source are for the same one unit, that on the machine.
        wanted = sum_exactly({want.source: want.qty for want in mine}.values())
        part = parts.get(key)
        shelf = part.shelf if part else Decimal(0)
        # What is in the post is shown and not counted: nobody knows that it comes in time.
        if wanted > shelf:
            yield Missing(
                part=key,
                name=part.name if part else mine[0].name,
                number=part.numbers[0] if part and part.numbers else mine[0].number,
                wanted=wanted,
                shelf=shelf,
                lacks=EXACT.subtract(wanted, shelf),
                in_the_post=part.in_the_post if part else Decimal(0),
                why=tuple(dict.fromkeys(want.why for want in mine)),
            )


def _list_wants(figures: Figures, reach: Iterable[Reach]) -> Iterator[_Want]:
    items = {item.key: item for item in figures.service.items}
    bought = {name for part in figures.parts.parts for name in (part.key, *part.aliases)}
    fitted = _count_fitted(figures)
    for thing in reach:
        # Only where a part of its name was bought is a repair known to stand in for a part; else its name is no more
        # than a name. The log does not say how many a component takes: one at least.
        if thing.kind == "cause" or (thing.kind == "temporary" and thing.key in bought):
            why = f"{thing.kind} {thing.key}"
            yield _Want(part=thing.key, name=thing.name, number=None, source="", qty=Decimal(1), why=why)
        last = items[thing.key].last if thing.kind == "service" else None
        for part in last.parts if last else ():
            source = (last.entry or "") if last else ""
            yield _Want(
                part=part.key,
                name=part.name,
                number=part.number,
                source=source,
                qty=fitted.get((source, part.key), Decimal(1)),
                why=f"service {thing.key}",
            )


def _list_single_use(figures: Figures, openings: Iterable[Opening]) -> Iterator[_Want]:
    """Single-use parts on the machine that sit behind a strip-down, or went in when it was put back the last time."""
    visits = {strip_down.key: strip_down.visits for strip_down in figures.strip_downs.strip_downs}
    components = figures.log.settings.components
    fitted = _count_fitted(figures)
    for part in figures.parts.parts:
        if not part.single_use or part.on_machine <= 0:
            continue
        known = (components.get(key) for key in (part.key, *part.aliases))
        behind = {component.reached_by for component in known if component}
        last = [event.entry for event in part.life if event.kind == "fitted"][-1]
        for opening in openings:
            ended = [visit.back_in for visit in visits[opening.key] if visit.back_in is not None]
            # Where `log.yaml` says what the part sits behind, its last fitting tells how many. Else the only hint is
            # that it went in when this was put back.
            source = last if opening.key in behind else ended[-1] if ended else ""
            qty = fitted.get((source, part.key))
            if qty is not None:
                why = f"single use {opening.key}"
                yield _Want(part=part.key, name=part.name, number=None, source=source, qty=qty, why=why)


def _count_fitted(figures: Figures) -> Mapping[tuple[str, str], Decimal]:
    """How many of each part each entry fitted, by entry name and part key."""
    counts: dict[tuple[str, str], Decimal] = {}
    for move in figures.parts.story.movements:
        if move.kind == "fitted" and move.date <= figures.as_of:
            key = (move.entry, move.key)
            counts[key] = EXACT.add(counts.get(key, Decimal(0)), move.qty)
    return counts
