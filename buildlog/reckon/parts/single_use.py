"""Whether a part that must be new each time was tightened again without a new one."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from decimal import Decimal

from buildlog.problems import Problem
from buildlog.reckon.parts.movements import PartStory
from buildlog.reckon.parts.spans import Span
from buildlog.source.records import Tightened


def check_single_use(story: PartStory, spans: tuple[Span, ...]) -> tuple[Problem, ...]:
    """A doubt for each entry in which a single-use part was tightened more often than new ones were fitted.

    Pieces and times are counted, and both must be too many: four bolts in two rows are no doubt, and one set that is
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
        if pieces > new and times > len({span.move.place for span in fitted}):
            yield _tell(lines[0], key, pieces, new)


def _count_new(span: Span) -> Decimal:
    return sum((unit.qty for unit in span.units if unit.new), Decimal(0))


def _tell(tightened: Tightened, key: str, pieces: Decimal, new: Decimal) -> Problem:
    return Problem(
        rule="single-use-again",
        message=f"`{key}` is for single use: {pieces:f} tightened by now, and {new:f} new fitted",
        place=tightened.place,
        help=f"if a new one went in, add it: fitted: {{part: {key}}}",
        severity="doubt",
    )
