"""What was tightened to what, in both units, and what of it is to be checked again?

The text is read here, stage by stage. When it is to be checked again is for `rechecks`, whether a part for single use
was tightened again for `parts.fittings`.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from buildlog.compute.meter.meter import MeterFigures
from buildlog.compute.quantities.units import KIND_WORDS, Unit, convert, convert_as_written, find_unit, get_unit
from buildlog.compute.service.rechecks import RecheckDone, RecheckFigures, check_rechecks, compute_rechecks
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Log, Tightened

NEWTON_METRE, POUND_FOOT = get_unit("N·m"), get_unit("lbf·ft")
TIGHTENING_KINDS = ("torque", "angle", "length")
"Kinds of unit that a fastener can be tightened to; a length is the stretch of a bolt."

LONGEST_TEXT = 200
"Characters of a text that is read; a longer one is a story, and no manual's figure."

APART = Fraction(1, 20)
"Two torques of one stage that differ by more than this share are a warning: common practice in rounding, no source."


@frozen
class Stage:
    """One step of tightening."""

    written: str
    "this step in the owner's words: `22 N·m`"
    unit: Unit | None
    "None: words, or a unit that is not known"
    numbers: tuple[Decimal, ...]
    "one, or the two of a range or of a tolerance; empty for words and for fractions of a turn"
    join: str
    "what is between two numbers: `–` or ` ± `; empty for one"
    stated: tuple[tuple[Decimal, ...], Unit] | None
    "the same torque in another unit, where the owner wrote it in brackets behind; None: not written"

    @property
    def is_torque(self) -> bool:
        return self.unit is not None and self.unit.kind == "torque"

    def to_unit(self, unit: Unit) -> tuple[Decimal, ...]:
        """The torque's numbers in another unit, to the precision that they were written with; of no torque, none."""
        if self.unit is None or not self.is_torque:
            return ()
        # What the manual prints goes before what we would compute: its own rounding is the one that counts.
        if self.stated and self.stated[1] == unit:
            return self.stated[0]
        return tuple(convert_as_written(number, self.unit, unit) for number in self.numbers)


# Digits are bounded, as a stranger may have written them; how much of a text is read at all is `LONGEST_TEXT`.
_NUMBER = r"[0-9]{1,9}(?:\.[0-9]{1,6})?"
_STAGE = re.compile(
    rf"""(?: [^:()]{{1,30}} : \s+ )?
    (?P<low> {_NUMBER} (?: / [0-9]+ )? ) \s*
    (?: (?P<join> - | – | — | to\b | ± | \+/- ) \s* (?P<high> {_NUMBER} ) \s* )?
    (?P<unit> [^\d\s(),;:] [^\d(),;:]*? [23²³]? )?
    \s* (?: \( (?P<brackets> [^()]* ) \) )?""",
    re.VERBOSE,
)
_BETWEEN = re.compile(r"\s*\+\s*(?=[0-9])|\s+plus\s+|\s*[,;]?\s+(?:and\s+)?then\s+|\s*[,;]\s+(?:and\s+)?|\s*→\s*")


@lru_cache(maxsize=500)  # each text is read to be shown and to be checked, and most stand in several entries
def read_stages(text: str) -> tuple[Stage, ...]:
    """The steps of a tightening text in their order; none where a step cannot be read for certain.

    A number without a unit takes that of the torque after it: `20, 40, 60 N·m` are three torques.
    """
    if len(text) > LONGEST_TEXT:
        return ()
    stages: list[Stage] = []
    # Runs of blanks are one: patterns that look for blanks twice over would take minutes for a stranger's thousands.
    # Backwards, since a number without a unit takes that of the stage after it.
    for piece in reversed(_BETWEEN.split(" ".join(text.split()))):
        stage = _read_stage(piece, after=stages[-1] if stages else None)
        # All or nothing: half of a procedure in converted figures is worse than none.
        if stage is None:
            return ()
        stages.append(stage)
    return tuple(reversed(stages))


def _read_stage(piece: str, *, after: Stage | None) -> Stage | None:
    if piece and not re.search("[0-9]", piece):
        return Stage(written=piece, unit=None, numbers=(), join="", stated=None)
    match = _STAGE.fullmatch(piece)
    if match is None:
        return None
    inherited = after.unit if after and after.is_torque else None
    unit = find_unit(match["unit"], "torque") if match["unit"] else inherited
    # A quarter of a turn stays words: as 0.25 of some unit it would look like a figure of the manual's.
    numbers = () if "/" in match["low"] else tuple(Decimal(text) for text in (match["low"], match["high"]) if text)
    join = "" if not match["high"] else " ± " if match["join"] in ("±", "+/-") else "–"
    stage = Stage(written=piece, unit=unit, numbers=numbers, join=join, stated=None)
    brackets = _read_stage(match["brackets"], after=None) if match["brackets"] else None
    # Brackets may hold a remark; only a torque of as many numbers is the same one said again.
    if brackets and brackets.unit and brackets.is_torque and len(brackets.numbers) == len(numbers):
        return replace(stage, stated=(brackets.numbers, brackets.unit))
    return stage


def check_stages(text: str, stages: Sequence[Stage], place: Place) -> Iterator[Problem]:
    """What is wrong with a tightening text: a unit that is no torque, a number without one, two torques that differ."""
    if not stages and re.search("[0-9],[0-9]", text):
        message = f"`{text}` has a comma in a number, so it is shown as written and not converted"
        yield _warn("tightening-number", message, place, help="use a decimal point, as in `22.5 N·m`")
    for stage in stages:
        if stage.unit and stage.unit.kind not in TIGHTENING_KINDS:
            message = f"`{stage.written}` is {KIND_WORDS[stage.unit.kind]}, but a fastener is tightened to a torque"
            help = "write the torque as the manual gives it, as in `22 N·m` or `16 lbf·ft`, or an angle, as in `90°`"
            yield Problem(rule="unit-kind", message=message, place=place, help=help)
        # Not where letters stand beside the number: they may be a unit that we do not know.
        elif stage.numbers and stage.unit is None and re.fullmatch(r"[^A-Za-z°\"]*", stage.written):
            message = f"`{stage.written}` has no unit, so it is not converted"
            help = f"write `{stage.written} N·m`, or whatever unit the manual uses"
            yield _warn("tightening-number", message, place, help=help)
        elif stage.stated and stage.unit and _differ(stage, stage.unit, *stage.stated):
            message = f"`{stage.written}` gives two torques that do not agree"
            same = ", ".join(f"{number:f}" for number in replace(stage, stated=None).to_unit(stage.stated[1]))
            yield _warn("torques-differ", message, place, help=f"the first is {same} {stage.stated[1].name}")


def _differ(stage: Stage, unit: Unit, stated: tuple[Decimal, ...], other: Unit) -> bool:
    if unit.kind != "torque":
        return False
    pairs = zip((convert(n, unit, NEWTON_METRE) for n in stage.numbers), stated, strict=True)
    return any(abs(one - convert(n, other, NEWTON_METRE)) > APART * one for one, n in pairs)


def _warn(rule: str, message: str, place: Place, *, help: str) -> Problem:
    return Problem(rule=rule, message=message, place=place, help=help, severity="warning")


@frozen
class TightenedFigures:
    """One fastener that was tightened."""

    record: Tightened
    "as the owner wrote it"
    entry: str
    "name of its entry"
    date: datetime.date
    "the day of its entry"
    stages: tuple[Stage, ...]
    "in their order; empty where the text could not be read for certain"
    equivalents: tuple[Unit, ...]
    "N·m and lbf·ft where there is a torque, without those that the owner wrote"
    recheck: RecheckFigures | None
    "still to be done; None: none is"
    rechecked: RecheckDone | None
    "the time that it was; None: it was not, or no recheck is asked for"


@frozen
class TighteningFigures:
    """Everything that was tightened by a day."""

    tightened: Mapping[Place, TightenedFigures]
    "by the place of the record, in the order of the log"
    rechecks: tuple[RecheckFigures, ...]
    "still to be done, most pressing first"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_tightening(log: Log, as_of: datetime.date, *, meter: MeterFigures) -> TighteningFigures:
    """What was tightened, and what is to be checked again as of a day; log and `meter` are as they stood on it."""
    story = compute_rechecks(log, as_of, meter=meter)
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
        tightened=tightened,
        rechecks=story.open,
        problems=(*_check_texts(log), *check_rechecks(log, meter.unit)),
    )


def _choose_units(stages: tuple[Stage, ...]) -> tuple[Unit, ...]:
    torques = [(stage.unit, stage.stated[1] if stage.stated else None) for stage in stages if stage.is_torque]
    return tuple(unit for unit in (NEWTON_METRE, POUND_FOOT) if any(unit not in written for written in torques))


def _check_texts(log: Log) -> Iterator[Problem]:
    for record in (item for entry in log.entries for item in entry.tightened):
        yield from check_stages(record.to, read_stages(record.to), record.field_place("to"))
