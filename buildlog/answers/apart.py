"""`buildlog apart`: what else is worth doing while it is apart, what does that save, and what is not on the shelf?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from buildlog.answers.tables import Answer, Table
from buildlog.compute.figures import Figures
from buildlog.compute.while_apart import ApartFigures, Missing, Opening, Reach, ReachKind, compute_apart
from buildlog.problems import suggest
from buildlog.text import tame

KINDS: dict[ReachKind, str] = {
    "suspect": "check",
    "cause": "repair",
    "fix": "confirm",
    "service": "service",
    "temporary": "make good",
    "shelf": "fit",
}
"What there is to do with each kind of thing within reach."


class UnknownStripDown(LookupError):
    """A strip-down was asked for that `log.yaml` does not have; says what was meant."""


def answer_apart(figures: Figures, planned: Sequence[str]) -> Answer:
    """What is within reach with the planned strip-downs off, or with those alone that are off on the day.

    Raises `UnknownStripDown`.
    """
    known = figures.log.settings.strip_downs
    for key in planned:
        if key not in known:
            help = suggest(key, known)
            # typed on a command line, where nothing was read that would have refused a control character
            raise UnknownStripDown(f"there is no strip-down `{tame(key)}` in log.yaml" + (f"; {help}" if help else ""))
    apart = compute_apart(figures, planned)
    return Answer(tables=tuple(_list_tables(figures, apart)), data=_write_apart(figures, apart))


def _list_tables(figures: Figures, apart: ApartFigures) -> Iterator[Table]:
    yield _draw_openings(figures, apart)
    if apart.openings:
        yield from _draw_work(apart)
    again = [item for item in figures.strip_downs.strip_downs if len(item.visits) > 1]
    if again and not apart.planned:  # who names strip-downs asks of a plan, and not of the past
        rows = tuple((item.name, str(len(item.visits)), f"{item.again_hours:f}") for item in again)
        yield Table(title="", columns=("Opened more than once", "Times>", "Repeat hours>"), rows=rows)


def _draw_openings(figures: Figures, apart: ApartFigures) -> Table:
    return Table(
        title=f"Strip-downs as of {figures.as_of}",
        columns=("Strip-down", "Off since", "Hours>"),
        rows=tuple(_draw_opening(opening) for opening in apart.openings),
        empty="nothing is stripped at the moment, going by the entries; name a strip-down to see what is behind it",
    )


def _draw_work(apart: ApartFigures) -> Iterator[Table]:
    yield Table(
        title="",
        columns=("Do while it's apart", "What", "Why", "Hours>"),
        rows=tuple(_draw_reach(reach) for reach in apart.reach),
        empty="Do while it's apart: nothing else that the log knows of",
    )
    if apart.reach:  # without anything else to do there is nothing to save
        hours = (
            ("one job at a time", f"{apart.separate_hours:f}"),
            ("all in one go", f"{apart.together_hours:f}"),
            ("saved", f"{apart.saved_hours:f}"),
        )
        yield Table(title="", columns=("Strip-down hours", "Hours>"), rows=hours)
    yield Table(
        title="",
        columns=("Parts still needed", "Number", "Short>", "In the post>", "For"),
        rows=tuple(_draw_missing(missing) for missing in apart.missing),
        empty="Parts still needed: none that the log knows of",
    )


def _draw_opening(opening: Opening) -> tuple[str, ...]:
    on = "to come off" if opening.asked else "to come off first"
    return opening.name, opening.off_since.isoformat() if opening.off_since else on, f"{opening.hours:f}"


def _draw_reach(reach: Reach) -> tuple[str, ...]:
    why = (
        reach.fault_name,
        reach.state,
        f"due {reach.due_on}" if reach.due_on else None,
        f"since {reach.since}" if reach.since and reach.kind in ("temporary", "fix") else None,
        f"{reach.qty:f} on the shelf" if reach.qty is not None else None,
    )
    hours = "" if reach.hours is None else f"{reach.hours:f}"
    return KINDS[reach.kind], reach.name, ", ".join(filter(None, why)), hours


def _draw_missing(missing: Missing) -> tuple[str, ...]:
    lacks, post = f"{missing.lacks:f}", f"{missing.in_the_post:f}"
    return missing.name, missing.number or "", lacks, post, ", ".join(missing.why)


def _write_apart(figures: Figures, apart: ApartFigures) -> dict[str, Any]:
    return {
        "as_of": figures.as_of.isoformat(),
        "planned": list(apart.planned),
        "openings": [
            {
                "strip_down": opening.key,
                "name": opening.name,
                "hours": f"{opening.hours:f}",
                "off_since": opening.off_since.isoformat() if opening.off_since else None,
                "asked": opening.asked,
            }
            for opening in apart.openings
        ],
        "hours_to_open": f"{apart.hours_to_open:f}",
        "reach": [_write_reach(reach) for reach in apart.reach],
        "separate_hours": f"{apart.separate_hours:f}",
        "together_hours": f"{apart.together_hours:f}",
        "saved_hours": f"{apart.saved_hours:f}",
        "missing": [_write_missing(missing) for missing in apart.missing],
        "opened_again": [
            {
                "strip_down": item.key,
                "entries": [visit.off_in for visit in item.visits],
                "again_hours": f"{item.again_hours:f}",
            }
            for item in figures.strip_downs.strip_downs
            if len(item.visits) > 1
        ],
    }


def _write_reach(reach: Reach) -> dict[str, Any]:
    return {
        "kind": reach.kind,
        "key": reach.key,
        "name": reach.name,
        "fault": reach.fault,
        "needs": list(reach.needs),
        "hours": None if reach.hours is None else f"{reach.hours:f}",
        "state": reach.state,
        "due": reach.due_on.isoformat() if reach.due_on else None,
        "since": reach.since.isoformat() if reach.since else None,
        "qty": None if reach.qty is None else f"{reach.qty:f}",
        "entry": reach.entry,
    }


def _write_missing(missing: Missing) -> dict[str, Any]:
    return {
        "part": missing.part,
        "name": missing.name,
        "number": missing.number,
        "wanted": f"{missing.wanted:f}",
        "shelf": f"{missing.shelf:f}",
        "lacks": f"{missing.lacks:f}",
        "in_the_post": f"{missing.in_the_post:f}",
        "why": list(missing.why),
    }
