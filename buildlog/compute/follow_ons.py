"""Which problems of the figures would vanish if what could not be read were mended?

A log with a hole in it is computed with stand-ins, so that one slip hides no other. What is found there may be the
hole's doing: a part is not unknown while the line that brought it cannot be read. Such problems are held back, by three
questions: does the rule depend on the unread key, is the hole about what the problem is about, or is the problem inside
the record with the hole?
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import NAMING, Hole, Log, LogRecord, list_slots


def drop_follow_ons(
    problems: Iterable[Problem], log: Log, *, read: Iterable[Problem], holes: Iterable[Hole]
) -> tuple[Problem, ...]:
    """The problems that stay whatever the holes may hold; `read` are those of reading.

    A name that leads nowhere is a hole too: what its help says may have been meant.
    """
    problems = tuple(problems)
    holes = tuple(holes)
    names = tuple(_make_hole(problem) for problem in (*read, *problems) if problem.rule in UNKNOWN_NAME_RULES)
    if not (holes or names):
        return problems
    # Every hole is held against every problem, and a file garbled from top to bottom has thousands of each.
    if len(holes) + len(names) > MOST_HOLES:
        return tuple(problem for problem in problems if problem.rule not in DEPENDS_ON)
    holes = tuple(_widen(hole, log) for hole in holes)
    subjects = _list_subjects(log)
    # A name that leads nowhere is not the doing of such names, its own among them: else it would hide itself.
    of_each = ((problem, holes if problem.rule in UNKNOWN_NAME_RULES else (*holes, *names)) for problem in problems)
    return tuple(problem for problem, some in of_each if not any(_follows(problem, hole, subjects) for hole in some))


def _widen(hole: Hole, log: Log) -> Hole:
    """The hole with what is on the orders that it mentions: what becomes of an order becomes of its parts."""
    orders = (order for entry in log.entries for order in entry.bought if order.ref and hole.mentions(order.ref))
    parts = [name for order in orders for line in order.lines for name in (line.part, line.number) if name]
    return hole if hole.text is None or not parts else replace(hole, text="\n".join([hole.text, *parts]))


MOST_HOLES = 500
"Holes up to which each is held against each problem, our own limit; with more, whatever may depend on one waits."

UNKNOWN_NAME_RULES = frozenset(
    """
    unknown-part unknown-ref part-not-in-order unknown-fault unknown-component unknown-strip-down unknown-service-item
    nothing-to-make-good next-not-open tick-not-on-list not-wanted
    """.split()
)
"Rules that are broken by a name which leads nowhere."


def _make_hole(problem: Problem) -> Hole:
    key = re.sub(r"\[[0-9]+\]$", "", problem.place.path).rpartition(".")[2]
    text = "\n".join([*_list_quoted(f"{problem.message} {problem.help}"), *problem.place.path.split(".")])
    return Hole(place=problem.place, owner=problem.place, keys=frozenset([key]), text=text)


def _keys(text: str) -> frozenset[str]:
    return frozenset(text.split())


PART_KEYS = _keys(
    """
    date from ref ordered arrived paid bought lines part what number maker replaces_number name qty unit returned sold
    fitted removed scrapped serviced parts instead_of at single_use planned
    cancelled
    """
)
"Keys that say what was bought, and what became of it."
# What a part cost depends on everything that says which part it is.
MONEY_KEYS = PART_KEYS | _keys(
    """
    each total core worth tax prices currency charged rate carriage handling discount duty charges refund price money
    amount settles per surcharge rounding untaxed category why
    """
)
DATE_KEYS = _keys("warranty months until return_by core_by")
METER_KEYS = _keys(
    "reading date rollover meter_changed old new reading_of unit digits meter acquired history machine statement since"
)
FAULT_KEYS = _keys(
    "date fault faults name suspects checks clears cause did fixed how proved seen_again driven_by components"
)
STRIP_DOWN_KEYS = _keys(
    """
    date stripped refitted strip_downs after hours temporary made_good name behind reached_by components suspects cause
    fitted arrived service covers serviced item fixed fault how proved did clears checks
    """
)
# By hand: what a rule reads cannot be taken from its code. Too much here hides a problem until the hole is mended, too
# little reports one that mending would cure; the tests that make slips together and alone find both.
DEPENDS_ON: Mapping[str, frozenset[str]] = {
    rule: keys
    for rules, keys in (
        ("unknown-part part-not-in-order", _keys("part number maker name lines bought removed fitted sold")),
        ("unknown-ref", _keys("ref bought paid arrived returned")),
        ("unknown-fault", _keys("fault faults")),
        ("original-without-name shelf-below-zero removed-not-fitted", PART_KEYS),
        ("replaced-never-fitted returned-which single-use-again one-number-two-names part-has-two-makers", PART_KEYS),
        ("part-has-two-numbers number-replaces-itself repeated-ref arrived-twice paid-twice", PART_KEYS),
        ("arrived-too-many cancelled-not-in-post", PART_KEYS),
        ("paid-too-much settles-without-currency total-and-more untaxed-and-taxed", MONEY_KEYS),
        ("rounding-large untaxed-without-reason", MONEY_KEYS),
        ("warranty-without-end warranty-two-ends core-by-without-core deadline-before-order", MONEY_KEYS | DATE_KEYS),
        ("shelf-not-kept", _keys("removed shelf fate")),
        ("arrived-before-ordered unknown-shown suppliers-alike", PART_KEYS | _keys("service shows")),
        ("order-without-lines sold-what empty-return no-price two-prices tax-without-prices no-rate", MONEY_KEYS),
        ("discount-too-large charged-differs charged-not-paid charged-twice rate-at-home foreign-charge", MONEY_KEYS),
        ("amount-too-large too-many-decimals unknown-currency refund-before-payment core-above-charge", MONEY_KEYS),
        ("refund-above-price refund-above-cost returned-too-many", MONEY_KEYS),
        ("meter-falls reading-two-ways meter-jumps rollover-not-seen rollover-digits reading-unit", METER_KEYS),
        ("reading-digits no-meter meter-digits meter-statement", METER_KEYS),
        ("recheck-unit interval-unit", METER_KEYS | _keys("every recheck")),
        ("interval-empty interval-too-long", _keys("every months distance hours service")),
        ("fault-without-name fault-closed proof-before-fix cleared-twice faulty-cleared", FAULT_KEYS),
        ("nothing-left", FAULT_KEYS),
        ("refitted-not-off refitted-before stripped-twice strip-down-circle refitted-over-work", STRIP_DOWN_KEYS),
        ("nothing-to-make-good", _keys("made_good temporary name")),
        ("temporary-twice", STRIP_DOWN_KEYS),
        ("next-not-open next-ended next-which next-name-twice", _keys("next done dropped what name date")),
        ("tick-not-on-list tick-which list-item-twice list-name-twice list-empty", _keys("lists items what name list")),
        (
            "shows-elsewhere",
            PART_KEYS | FAULT_KEYS | _keys("service item reading meter_changed tightened looked_at shows"),
        ),
        ("cover-missed", STRIP_DOWN_KEYS | _keys("looked_at parts clears checks did fault")),
        ("laid-up-backwards", _keys("laid_up from until")),
        ("limits-reversed measured-nothing measured-twice", _keys("measured what value values limits min max")),
        ("unit-kind unit-ambiguous units-apart torques-differ tightening-number", _keys("date what unit to measured")),
        ("vin-length vin-character vin-check-digit vin-filler vin-as-stamped vin-year", _keys("kind market vin year")),
        ("hin-form hin-dates", _keys("kind hin year acquired date")),
        ("paper-used-twice evidence-without-file paper-name", _keys("paper evidence")),
        ("unknown-theme", _keys("theme site")),
        ("unknown-language", _keys("language site")),
        ("stray-photo-date", _keys("taken date file photos")),
    )
    for rule in rules.split()
}
"The keys that each rule depends on; a problem of it may come from one that is unread. Any other rule: its own record."


@frozen
class _Subject:
    """A record, or a value in one, that a problem points at."""

    owner: Place
    "where the record starts"
    names: frozenset[str]
    "what it is about: names of parts, orders, faults and so on; none where it names nothing"
    day: datetime.date | None
    "the day of its entry; None in `log.yaml`"


def _follows(problem: Problem, hole: Hole, subjects: Mapping[Place, _Subject]) -> bool:
    keys = DEPENDS_ON.get(problem.rule)
    found = [subjects[place] for place in (problem.place, *problem.also) if place in subjects]
    if keys is None:
        # Not for a whole file: one slip at the top of `log.yaml` would hide whatever else is wrong there.
        return any(subject.owner == hole.owner != Place(hole.place.file) for subject in found)
    if hole.keys and keys.isdisjoint(hole.keys):
        return False
    # A reading has no name to be found by. One that is missing matters to those around it in time, and to no other.
    if keys >= METER_KEYS and _may_be_between(hole, problem, subjects):
        return True
    # What a top key of `log.yaml` holds, the currency or the meter, counts for every entry and is named in none.
    if hole.place.file == "log.yaml" and "." not in hole.owner.path:
        return True
    inside = any(_is_inside(place, hole.owner) for place in (problem.place, *problem.also))
    # Its own name is all that an unknown name is about: by the others in its record an unrelated hole would hide it.
    names = set(_list_quoted(problem.message))
    if problem.rule not in UNKNOWN_NAME_RULES:
        names |= {name for subject in found for name in subject.names}
    return inside or any(map(hole.mentions, names))


def _may_be_between(hole: Hole, problem: Problem, subjects: Mapping[Place, _Subject]) -> bool:
    """Whether the hole may be of a day from the first to the last of those in a problem with the meter."""
    days = [subjects[place].day for place in (problem.place, *problem.also) if place in subjects]
    day = subjects[hole.owner].day if hole.owner in subjects else None
    known = [each for each in days if each is not None]
    return day is None or not known or min(known) <= day <= max(known)


def _list_quoted(text: str) -> list[str]:
    return re.findall("`([^`]+)`", text)


def _is_inside(place: Place, owner: Place) -> bool:
    if place.file != owner.file:
        return False
    return place.path == owner.path or place.path.startswith((f"{owner.path}.", f"{owner.path}[")) or not owner.path


def _list_subjects(log: Log) -> dict[Place, _Subject]:
    """What every place in the log is about."""
    subjects: dict[Place, _Subject] = {}
    _Lister(subjects, None).add(log.settings, frozenset())
    for entry in log.entries:
        _Lister(subjects, entry.date).add(entry, frozenset())
    return subjects


class _Lister:
    """Lists what every place of one file is about."""

    def __init__(self, subjects: dict[Place, _Subject], day: datetime.date | None) -> None:
        self._subjects = subjects
        self._day = day

    def add(self, record: LogRecord, names: frozenset[str]) -> frozenset[str]:
        """Add a record with all that is in it; what it is about comes back."""
        own = set(names)
        for slot, value in ((slot, getattr(record, slot.field)) for slot in list_slots(type(record)).values()):
            items = value.items() if isinstance(value, Mapping) else [("", each) for each in _as_tuple(value)]
            for name, item in items:
                if isinstance(item, LogRecord):
                    own |= self.add(item, frozenset(filter(None, [name])))
                elif slot.key in NAMING and isinstance(item, str):
                    own.add(item)
        whole = frozenset(own)
        for field_place, place in record.field_places.list_places(record.place.file):
            item = field_place.partition(" ")[2]
            self._subjects.setdefault(place, self._describe(record, frozenset([item]) if item else whole))
        self._subjects[record.place] = self._describe(record, whole)
        return whole

    def _describe(self, record: LogRecord, names: frozenset[str]) -> _Subject:
        return _Subject(owner=record.place, names=names, day=self._day)


def _as_tuple(value: object) -> tuple[object, ...]:
    return value if isinstance(value, tuple) else (value,)
