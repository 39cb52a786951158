"""What was tightened to what, in both units, and what of it is to be checked again?

How the text is read is for `torques`, when it is to be checked again for `rechecks`, whether a part for single use was
tightened twice for `single_use`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.reckon.measures.torques import NEWTON_METRE, POUND_FOOT, Stage, check_stages, read_stages
from buildlog.reckon.measures.unit_table import Unit
from buildlog.reckon.meter.meter import MeterFigures
from buildlog.reckon.service.rechecks import RecheckDone, RecheckFigures, check_rechecks, reckon_rechecks
from buildlog.source.records import Log, Tightened


@frozen
class TightenedFigures:
    """One fastener that was tightened."""

    record: Tightened
    entry: str
    date: datetime.date
    stages: tuple[Stage, ...]
    "in their order; empty where the text could not be read for certain"
    equivalents: tuple[Unit, ...]
    "N·m and lbf·ft where there is a torque, without those that the owner wrote"
    recheck: RecheckFigures | None
    "still to be done"
    rechecked: RecheckDone | None


@frozen
class TighteningFigures:
    """Everything that was tightened by a day."""

    tightened: Mapping[Place, TightenedFigures]
    "by the place of the record, in the order of the log"
    rechecks: tuple[RecheckFigures, ...]
    "still to be done, most pressing first"
    problems: tuple[Problem, ...]
    "of the whole log"


def reckon_tightening(log: Log, as_of: datetime.date, *, meter: MeterFigures) -> TighteningFigures:
    """What was tightened, and what is to be checked again as of a day; log and `meter` are as they stood on it."""
    story = reckon_rechecks(log, as_of, meter=meter)
    waiting = {recheck.place: recheck for recheck in story.open}
    tightened: dict[Place, TightenedFigures] = {}
    for entry in log.entries:
        for record in entry.tightened:
            stages = read_stages(record.to)
            asked = record.recheck.place if record.recheck else None
            tightened[record.place] = TightenedFigures(
                record=record,
                entry=entry.name,
                date=entry.date,
                stages=stages,
                equivalents=_choose_units(stages),
                recheck=waiting.get(asked) if asked else None,
                rechecked=story.done.get(asked) if asked else None,
            )
    return TighteningFigures(
        tightened=MappingProxyType(tightened),
        rechecks=story.open,
        problems=(*_check_texts(log), *check_rechecks(log, meter.unit)),
    )


def _choose_units(stages: tuple[Stage, ...]) -> tuple[Unit, ...]:
    torques = [(stage.unit, stage.stated[1] if stage.stated else None) for stage in stages if stage.is_torque]
    return tuple(unit for unit in (NEWTON_METRE, POUND_FOOT) if any(unit not in written for written in torques))


def _check_texts(log: Log) -> Iterator[Problem]:
    for record in (item for entry in log.entries for item in entry.tightened):
        yield from check_stages(record.to, read_stages(record.to), record.spot("to"))
