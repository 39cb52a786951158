"""Which problems of the figures would vanish if what could not be read were mended?

A log with a hole in it is reckoned with stand-ins, so that one slip hides no other. What is found there may be the
hole's doing: a part is not unknown while the line that brought it cannot be read. Such problems are held back, by three
questions: does the rule hang on the key that is unread, is the hole about what the problem is about, or is the problem
inside the record with the hole?
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.source.records import NAMING, Hole, Log, Record, list_slots


def drop_follow_ons(problems: Iterable[Problem], log: Log, holes: Iterable[Hole]) -> tuple[Problem, ...]:
    """The problems that stay whatever stands in the holes."""
    holes, problems = tuple(holes), tuple(problems)
    if not holes:
        return problems
    subjects = _list_subjects(log)
    return tuple(problem for problem in problems if not any(_follows(problem, hole, subjects) for hole in holes))


def _keys(text: str) -> frozenset[str]:
    return frozenset(text.split())


STORY = _keys(
    """
    date from ref ordered arrived paid bought lines part what number maker replaces_number name qty unit returned sold
    fitted removed scrapped serviced parts instead_of at single_use planned
    """
)
"Keys that say what was bought, and what became of it."
MONEY = STORY | _keys(
    """
    each total core worth tax prices currency charged rate carriage handling discount duty charges refund price money
    amount
    """
)
METER = _keys(
    "reading date rollover meter_changed old new reading_of unit digits meter acquired history machine statement since"
)
HUNT = _keys("date fault faults name suspects checks clears cause did fixed how proved seen_again driven_by components")
APART = _keys(
    """
    date stripped refitted strip_downs after hours temporary made_good name behind reached_by components suspects cause
    fitted arrived service covers serviced item
    """
)
HANGS_ON: Mapping[str, frozenset[str]] = {
    rule: keys
    for rules, keys in (
        ("unknown-part original-without-name part-not-in-order shelf-below-zero removed-not-fitted", STORY),
        ("replaced-never-fitted returned-which single-use-again one-number-two-names part-has-two-makers", STORY),
        ("part-has-two-numbers number-replaces-itself unknown-ref repeated-ref arrived-twice paid-twice", STORY),
        ("arrived-before-ordered unknown-shown suppliers-alike", STORY | _keys("service shows")),
        ("order-without-lines sold-what empty-return no-price two-prices tax-without-prices no-rate", MONEY),
        ("discount-too-large charged-differs charged-not-paid charged-twice rate-at-home foreign-charge", MONEY),
        ("amount-too-large too-many-decimals unknown-currency refund-before-payment core-above-charge", MONEY),
        ("refund-above-price refund-above-cost returned-too-many", MONEY),
        ("meter-falls reading-two-ways meter-jumps rollover-not-seen rollover-digits reading-unit", METER),
        ("reading-digits no-meter meter-digits meter-statement", METER),
        ("recheck-unit interval-unit", METER | _keys("every recheck")),
        ("interval-empty interval-too-long", _keys("every months distance hours service")),
        ("unknown-fault fault-without-name fault-closed proof-before-fix cleared-twice condemned-cleared", HUNT),
        ("nothing-left", HUNT),
        ("refitted-not-off refitted-before stripped-twice strip-down-circle closed-up", APART),
        ("nothing-to-make-good temporary-twice", APART),
        ("cover-missed", APART | _keys("looked_at parts")),
        ("laid-up-backwards", _keys("laid_up from until")),
        ("limits-reversed measured-nothing measured-twice", _keys("measured what value values limits min max")),
        ("unit-kind unit-ambiguous units-apart torques-differ tightening-number", _keys("date what unit to measured")),
        ("vin-length vin-character vin-check-digit vin-filler vin-as-stamped vin-year", _keys("kind market vin year")),
        ("hin-form hin-dates", _keys("kind hin year acquired date")),
        ("paper-used-twice evidence-without-file", _keys("paper evidence")),
    )
    for rule in rules.split()
}
"What a problem of each rule can be the doing of, when it is unread. Of any other rule, whatever its record holds."
OF_ALL = METER
"Keys that a hole speaks of for the whole log: there is one meter."


@frozen
class _Subject:
    """A record, or a value in one, that a problem points at."""

    owner: Place
    "where the record starts"
    names: frozenset[str]
    "what it is about"


def _follows(problem: Problem, hole: Hole, subjects: Mapping[Place, _Subject]) -> bool:
    keys = HANGS_ON.get(problem.rule)
    found = [subjects[place] for place in (problem.place, *problem.also) if place in subjects]
    if keys is None:
        return any(subject.owner == hole.owner != Place(hole.place.file) for subject in found)
    if hole.keys and keys.isdisjoint(hole.keys):
        return False
    if keys >= METER or (hole.place.file == "log.yaml" and "." not in hole.owner.path):
        return True
    inside = any(_is_inside(place, hole.owner) for place in (problem.place, *problem.also))
    return inside or any(hole.mentions(name) for subject in found for name in subject.names)


def _is_inside(place: Place, owner: Place) -> bool:
    if place.file != owner.file:
        return False
    return place.path == owner.path or place.path.startswith((f"{owner.path}.", f"{owner.path}[")) or not owner.path


def _list_subjects(log: Log) -> dict[Place, _Subject]:
    """What every place in the log is about."""
    subjects: dict[Place, _Subject] = {}
    for record in (log.settings, *log.entries):
        _add_subjects(record, frozenset(), subjects)
    return subjects


def _add_subjects(record: Record, names: frozenset[str], subjects: dict[Place, _Subject]) -> frozenset[str]:
    """Add a record with all that is in it; what it is about comes back."""
    own = set(names)
    for slot, value in ((slot, getattr(record, slot.field)) for slot in list_slots(type(record)).values()):
        items = value.items() if isinstance(value, Mapping) else [("", each) for each in _as_tuple(value)]
        for name, item in items:
            if isinstance(item, Record):
                own |= _add_subjects(item, frozenset(filter(None, [name])), subjects)
            elif slot.key in NAMING and isinstance(item, str):
                own.add(item)
    whole = frozenset(own)
    for spot, place in record.spots.items():
        item = spot.partition(" ")[2]
        subjects.setdefault(place, _Subject(owner=record.place, names=frozenset([item]) if item else whole))
    subjects[record.place] = _Subject(owner=record.place, names=whole)
    return whole


def _as_tuple(value: object) -> tuple[object, ...]:
    return value if isinstance(value, tuple) else (value,)
