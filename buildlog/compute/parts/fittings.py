"""What was fitted where, how old it is, what is on the machine on some day, and what was tightened again unrenewed."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from buildlog.compute.parts.movements import PartStory
from buildlog.compute.parts.spans import Ending, Span
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Amount, Tightened

TotalAt = Callable[[datetime.date], Decimal | None]
"The meter's true total on a day, in the unit that distances are wanted in; None where it is not known."


@frozen
class Fitting:
    """Some units of one part in one position, from one date and reading to another."""

    key: str
    "the part"
    name: str
    "the part's name as shown"
    at: str | None
    "position, as written"
    qty: Decimal
    "how many, in the unit of the part"
    since: datetime.date
    "when they were fitted"
    until: datetime.date | None
    "None: still on the machine on the day asked for"
    fitted_in: str
    "name of the entry that tells of the fitting"
    removed_in: str | None
    "name of the entry that tells of the end"
    ended: str | None
    "`removed`, or `replaced` where another took its place and nobody wrote that it came off"
    why: str | None
    "why it came off"
    fate: str | None
    "what became of it"
    replaces: str | None
    "key of the part whose place it took; `original` for the machine's own"
    earlier: str | None
    "key of what it replaces, where that was fitted in this log before; None where it is the first in its place"
    planned: bool
    "whether it was always meant to be replaced"
    system: str | None
    "key of a system; None: none is named"
    spec: str | None
    "how it compares with what the maker fitted"
    paper: str | None
    "a paper that backs it"
    note: str | None
    "as written"
    start_reading: Amount | None
    "the meter when it was fitted, where its entry has one"
    end_reading: Amount | None
    "the meter when it came off, where that entry has one"
    age_days: int
    "until it came off, or until the day asked for"
    distance: Decimal | None
    "by the meter over the same time; None where either total is unknown"
    place: Place
    "where the fitting is written"


@frozen
class SystemFittings:
    """What is on the machine in one system."""

    system: str | None
    "None: in no system that was named"
    fittings: tuple[Fitting, ...]
    "in the order of fitting"


def list_fittings(
    story: PartStory, spans: Iterable[Span], *, as_of: datetime.date, total_at: TotalAt
) -> tuple[Fitting, ...]:
    """Every fitting made by the day, in the order of fitting; what came off later is still on."""
    # What came off on two days after the one asked for is one fitting still: such spans are put together.
    rows: dict[tuple[tuple[Place, str], Ending | None], tuple[Span, Decimal]] = {}
    for span in spans:
        if span.move.date <= as_of:
            ending = span.ending if span.ending is not None and span.ending.date <= as_of else None
            _, qty = rows.get((span.move.which, ending), (span, Decimal(0)))
            rows[span.move.which, ending] = span, qty + span.qty
    merged = (
        # Most are whole and end as they are told.
        span if qty == span.qty and ending is span.ending else replace(span, qty=qty, ending=ending)
        for (_, ending), (span, qty) in rows.items()
    )
    return tuple(_describe(story, span, _measure(span, as_of, total_at)) for span in merged)


def as_fitted(
    story: PartStory, spans: Iterable[Span], *, on_date: datetime.date, total_at: TotalAt
) -> tuple[SystemFittings, ...]:
    """What was on the machine at the end of a day, by system in the order of `log.yaml`; those in no system last."""
    groups: dict[str | None, list[Fitting]] = {system: [] for system in story.log.settings.systems}
    for fitting in list_fittings(story, spans, as_of=on_date, total_at=total_at):
        if fitting.until is None:
            groups.setdefault(fitting.system, []).append(fitting)
    stated = {system: group for system, group in groups.items() if system is not None}
    ordered = (*stated.items(), (None, groups.get(None, [])))
    return tuple(SystemFittings(system=system, fittings=tuple(group)) for system, group in ordered if group)


def _describe(story: PartStory, span: Span, measures: tuple[int, Decimal | None]) -> Fitting:
    move, part, written, ending = span.move, story.names.parts[span.move.key], span.move.fitted, span.ending
    # The line that brought these very units; `part.spec` is what the latest line says, of others perhaps.
    bought = next((story.lines[unit.line].spec for unit in span.units if unit.line is not None), None)
    return Fitting(
        key=part.key,
        name=part.name,
        at=move.at,
        qty=span.qty,
        since=move.date,
        until=ending.date if ending else None,
        fitted_in=move.entry,
        removed_in=ending.entry if ending else None,
        ended=ending.how if ending else None,
        why=ending.why if ending else None,
        fate=ending.fate if ending else None,
        replaces=move.instead_of,
        earlier=span.earlier,
        planned=written.planned if written else False,
        system=move.system,
        spec=(written.spec if written else None) or bought or part.spec,
        paper=written.paper if written else None,
        note=written.note if written else None,
        start_reading=move.reading,
        end_reading=ending.reading if ending else None,
        age_days=measures[0],
        distance=measures[1],
        place=move.place,
    )


def _measure(span: Span, as_of: datetime.date, total_at: TotalAt) -> tuple[int, Decimal | None]:
    """Days and distance from the fitting to its end, or to the day asked for."""
    end = span.ending.date if span.ending else as_of
    start_total, end_total = total_at(span.move.date), total_at(end)
    # Of true totals, so that a changed instrument in between makes no difference.
    distance = None if start_total is None or end_total is None else end_total - start_total
    return (end - span.move.date).days, distance


def check_single_use(story: PartStory, spans: tuple[Span, ...]) -> tuple[Problem, ...]:
    """A warning for each entry in which a single-use part was tightened more often than new ones were fitted.

    Pieces and times are counted, and both must be too many: four bolts in two rows are no warning, and one set that is
    tightened in two entries is. Common practice: bolts that are tightened by angle are stretched for good.
    """
    fitted: dict[str, list[Span]] = {key: [] for key, part in story.names.parts.items() if part.single_use}
    for span in spans:
        if span.move.key in fitted:
            fitted[span.move.key].append(span)
    told = _list_tightened(story, fitted)
    return tuple(problem for key, mine in fitted.items() for problem in _check_part(key, told[key], mine))


def _list_tightened(story: PartStory, keys: Iterable[str]) -> dict[str, list[tuple[datetime.date, list[Tightened]]]]:
    """What tightened each part, by its key: each entry's day with its lines, in the order of the log."""
    told: dict[str, list[tuple[datetime.date, list[Tightened]]]] = {key: [] for key in keys}
    for entry in story.log.entries:
        lines: dict[str, list[Tightened]] = {}
        for line in entry.tightened:
            key = story.names.keys.get(line.part) if line.part else None
            if key in told:
                lines.setdefault(key, []).append(line)
        for key, mine in lines.items():
            told[key].append((entry.date, mine))
    return told


def _check_part(key: str, told: list[tuple[datetime.date, list[Tightened]]], spans: list[Span]) -> Iterator[Problem]:
    pieces = Decimal(0)
    for times, (day, lines) in enumerate(told, start=1):
        pieces += sum((line.qty for line in lines), Decimal(0))
        fitted = [span for span in spans if span.move.date <= day and _count_new(span)]
        new = sum((_count_new(span) for span in fitted), Decimal(0))
        # By pieces alone one set told in two rows would be a warning, by entries alone half a set today and half of it
        # tomorrow.
        if pieces > new and times > len({span.move.place for span in fitted}):
            yield _tell(lines[0], key, pieces, new)


def _count_new(span: Span) -> Decimal:
    return sum((unit.qty for unit in span.units if unit.new), Decimal(0))


def _tell(tightened: Tightened, key: str, pieces: Decimal, new: Decimal) -> Problem:
    return Problem(
        rule="single-use-again",
        message=f"`{key}` is single use: {pieces:f} tightened so far, but {new:f} new fitted",
        place=tightened.place,
        help=f"if a new one went in, add it: fitted: {{part: {key}}}",
        severity="warning",
    )
