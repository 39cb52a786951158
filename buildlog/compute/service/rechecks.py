"""Which fasteners have to be tightened again, and when; were those before done in time?

A recheck is asked for where a fastener is tightened (`recheck: {after: 500 mi}`) and is done when a later entry
tightens the same `what`; capitals and blanks make no difference. Until then it falls due as a service item does.
Common practice, no source: wheel nuts are checked again after 50 to 100 km. The maker's manual comes first.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from itertools import chain, count

from buildlog.compute.meter.meter import MeterFigures, find_total
from buildlog.compute.quantities.units import are_comparable, convert_distance, show_decimal
from buildlog.compute.service.due_status import Due, DueLimits, compute_due_status, rank_due
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, Recheck, Span
from buildlog.text import fold_words

NOTICE_SHARE = 20
"This part of the distance, or of the days, before its limit it is called due; our own choice."


@frozen
class RecheckFigures(Due):
    """One fastener that has to be tightened again, as of a day."""

    what: str
    "as it was written when it was tightened"
    after: Span
    "how much later it is to be tightened again, as written"
    entry: str
    "name of the entry that tightened it"
    place: Place
    "of the record that asks for it"


@frozen
class RecheckDone:
    """One that was tightened again."""

    date: datetime.date
    "the day that it was"
    entry: str
    "name of the entry that tightened it again"
    days: int
    "after it was tightened"
    distance: Decimal | None
    "by the meter since then; None where no reading is known at or before either day"
    days_late: int | None
    "days after its date; below zero: early; None where it was not due by a date"
    distance_late: Decimal | None
    "the same by the meter; None where it was not due by the meter, or a total is not known"


@frozen
class RecheckStory:
    """Every recheck of a log as of a day."""

    open: tuple[RecheckFigures, ...]
    "most pressing first"
    done: Mapping[Place, RecheckDone]
    "by the place of the record that asked for it"


@frozen
class _Asked:
    """One recheck that an entry asks for."""

    what: str
    "what was tightened, as written"
    recheck: Recheck
    "when it is to be tightened again"
    entry: Entry
    "the entry that tightened it"


def compute_rechecks(log: Log, as_of: datetime.date, *, meter: MeterFigures) -> RecheckStory:
    """What has to be tightened again, and what was, as of a day; log and `meter` are as they stood on it."""
    asked: dict[str, _Asked] = {}
    done: dict[Place, RecheckDone] = {}
    for entry in log.entries:
        for key, item in _list_asked(entry).items():
            # Tightened again is checked again, whether or not the owner thinks of it as the recheck.
            if key in asked:
                before = asked.pop(key)
                done[before.recheck.place] = _close(before, entry, meter)
            if item is not None:
                asked[key] = item
    keys = _make_keys(asked, log.settings.service)
    open_now = [_stand(keys[key], item, meter=meter, as_of=as_of) for key, item in asked.items()]
    return RecheckStory(open=rank_due(open_now), done=done)


def check_rechecks(log: Log, unit: str | None) -> Iterator[Problem]:
    """An error for each recheck by something that the meter, whose unit is given, does not count."""
    for tightened in (item for entry in log.entries for item in entry.tightened):
        after = tightened.recheck.after if tightened.recheck else None
        if tightened.recheck and after and after.unit != "days" and not (unit and are_comparable(after.unit, unit)):
            meter = f"the meter is in `{unit}`" if unit else "`log.yaml` has no meter"
            yield Problem(
                rule="recheck-unit",
                message=f"`{tightened.what}` is to be rechecked after `{after.value:f} {after.unit}`, but {meter}",
                place=tightened.recheck.field_place("after"),
                help="use the meter's unit, or days, as in `30 days`",
            )


def _list_asked(entry: Entry) -> dict[str, _Asked | None]:
    """What an entry tightens, by its folded name, with the first recheck that it asks for."""
    found: dict[str, _Asked | None] = {}
    for item in entry.tightened:
        asked = _Asked(what=item.what, recheck=item.recheck, entry=entry) if item.recheck else None
        key = fold_words(item.what)
        # Two lines of one name in one entry are one job, say in two stages: the first that asks for a recheck counts.
        found[key] = found.get(key) or asked
    return found


def _make_keys(names: Iterable[str], taken: Iterable[str]) -> dict[str, str]:
    """A short name for each, `recheck-wheel-nuts`, with a number where it is taken already."""
    keys: dict[str, str] = {}
    for name in names:
        stem = "-".join(["recheck", *re.findall("[a-z0-9]+", name)])
        # Apart from the keys of service items: both are in one list of what is due.
        used = {*taken, *keys.values()}
        keys[name] = next(key for key in chain([stem], (f"{stem}-{n}" for n in count(2))) if key not in used)
    return keys


def _find_limits(asked: _Asked, meter: MeterFigures) -> DueLimits:
    after, day = asked.recheck.after, asked.entry.date
    if after.unit == "days":
        days = int(after.value)
        due = day + datetime.timedelta(days=days)
        return DueLimits(date=due, total=None, since=day, notice_days=days // NOTICE_SHARE, notice_distance=Decimal(0))
    # No date by the meter here: `compute_due_status` makes a forecast of it, as for any other limit.
    total, distance = find_total(meter, day), _find_distance(after, meter.unit)
    due_total = None if total is None or distance is None else total + distance
    notice = (distance or Decimal(0)) / NOTICE_SHARE
    return DueLimits(date=None, total=due_total, since=day, notice_days=0, notice_distance=notice)


def _find_distance(after: Span, unit: str | None) -> Decimal | None:
    """So much in the meter's unit; None where the meter does not count that."""
    # By what the meter does not count it never falls due; `check_rechecks` makes that an error.
    if unit is None or not are_comparable(after.unit, unit):
        return None
    return show_decimal(convert_distance(after.value, after.unit, unit))


def _stand(key: str, asked: _Asked, *, meter: MeterFigures, as_of: datetime.date) -> RecheckFigures:
    return RecheckFigures(
        **compute_due_status(_find_limits(asked, meter), meter=meter, as_of=as_of).as_fields(),
        key=key,
        name=f"{asked.what}: check again",
        last_when=asked.entry.date.isoformat(),
        what=asked.what,
        after=asked.recheck.after,
        entry=asked.entry.name,
        place=asked.recheck.place,
    )


def _close(asked: _Asked, entry: Entry, meter: MeterFigures) -> RecheckDone:
    limits, start = _find_limits(asked, meter), asked.entry.date
    before, now = find_total(meter, start), find_total(meter, entry.date)
    return RecheckDone(
        date=entry.date,
        entry=entry.name,
        days=(entry.date - start).days,
        distance=None if before is None or now is None else now - before,
        days_late=None if limits.date is None else (entry.date - limits.date).days,
        distance_late=None if limits.total is None or now is None else now - limits.total,
    )
