"""Every part of the log: what it is, where it is, and what happened to it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal

from buildlog.compute.parts.deadlines import check_deadlines
from buildlog.compute.parts.fittings import check_single_use
from buildlog.compute.parts.ledger import Ledger, Units, check_ledger, check_shelf, count_parts
from buildlog.compute.parts.movements import DAY_RANK, Movement, MovementKind, PartStory, follow_parts
from buildlog.compute.parts.names import Part
from buildlog.compute.parts.spans import Span, follow_fittings
from buildlog.compute.parts.suppliers import SupplierFigures, compute_suppliers
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import Amount, Log
from buildlog.text import list_search_words


@frozen
class LifeEvent:
    """One thing that happened to some of a part."""

    kind: MovementKind
    "what happened; one that was replaced counts as `removed`"
    date: datetime.date
    "when it happened"
    qty: Decimal
    "how many"
    entry: str
    "name of the entry that tells it"
    place: Place
    "where it is written"
    reading: Amount | None
    "the meter, where the entry is of the same day and has it"
    supplier: str | None
    "ordered, cancelled, arrived, returned"
    ref: str | None
    "the order's"
    at: str | None
    "position: fitted, removed"
    instead_of: str | None
    "fitted: key of the part whose place it took; `original` for the machine's own"
    why: str | None
    "removed, returned, scrapped"
    fate: str | None
    "what became of a removed one"
    replaced_by: str | None = None
    "key of what took its place, where nobody wrote that it came off: `why` says so in words"


@frozen
class PartFigures:
    """One part as of a day."""

    key: str
    "its id in figures and addresses"
    aliases: tuple[str, ...]
    "other keys of the same part"
    name: str
    "as shown"
    numbers: tuple[str, ...]
    "as written, newest first, superseded ones included"
    maker: str | None
    "as written; None: not told"
    system: str | None
    "key"
    unit: str | None
    "of every quantity here; None: pieces"
    spec: str | None
    "how it compares with what the maker fitted, as the line bought last states it; None: not stated"
    single_use: bool
    "whether it must be new each time it is tightened"
    original: bool
    "whether it is the machine's own"
    bought: Decimal
    "ordered, ever"
    came_with: Decimal
    "taken off, and never fitted in this log: the machine came with them"
    cancelled: Decimal
    "ordered, and paid back before it came"
    arrived: Decimal
    "ever"
    fitted: Decimal
    "fitted, ever"
    removed: Decimal
    "written as taken off, ever"
    kept: Decimal
    "taken off and laid on the shelf"
    returned: Decimal
    "sent back after they came"
    sold: Decimal
    "from the shelf"
    scrapped: Decimal
    "thrown or given away from the shelf"
    gone: Decimal
    "thrown or given away, from the shelf or when it came off"
    on_machine: Decimal
    "on the machine now; 0 for an original that never came off and back"
    shelf: Decimal
    "arrived + kept − fitted − returned − sold − scrapped"
    in_the_post: Decimal
    "bought − cancelled − arrived"
    life: tuple[LifeEvent, ...]
    "in the order of time"


@frozen
class PartsFigures:
    """All parts and suppliers as of a day."""

    as_of: datetime.date
    "the day"
    parts: tuple[PartFigures, ...]
    "every part that moved by the day, in the order in which they first appear; the machine's own last"
    suppliers: tuple[SupplierFigures, ...]
    "in the order of the log"
    story: PartStory
    "what the figures were computed from"
    spans: tuple[Span, ...]
    "every fitting of the log, for `list_fittings`, `as_fitted` and `compute_rework`"
    shelves: Mapping[str, tuple[Units, ...]]
    "what lies on the shelf of each part on the day"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_parts(log: Log, as_of: datetime.date) -> PartsFigures:
    """The parts of a log as of a day, and everything about them that cannot be."""
    story = follow_parts(log)
    spans, shelves, span_problems = follow_fittings(story, as_of)
    problems = (*story.problems, *check_ledger(story), *span_problems, *check_single_use(story, spans))
    problems = (*problems, *check_deadlines(story), *check_shelf(log))
    return PartsFigures(
        as_of=as_of,
        parts=tuple(_compute_each(story, spans, as_of)),
        suppliers=compute_suppliers(story, as_of),
        story=story,
        spans=spans,
        shelves=shelves,
        problems=problems,
    )


def find_parts(figures: PartsFigures, query: str) -> tuple[PartFigures, ...]:
    """The part that a key, any number of a chain, or a name means; where none does, those that have every word of it.

    However it is spaced and capitalised, with its accents or without. A word is one of a name, a key, a maker or a
    number.
    """
    words = list_search_words(query)
    if not words:
        return ()
    number, wanted = "".join(words), " ".join(words)
    # First, as the flange seal of a lift pump has the words of the lift pump too.
    exact = tuple(part for part in figures.parts if number in _spell_numbers(part) or wanted in _spell_names(part))
    return exact or tuple(part for part in figures.parts if _list_words(part).issuperset(words))


def _spell_numbers(part: PartFigures) -> set[str]:
    return {"".join(list_search_words(number)) for number in part.numbers}


def _spell_names(part: PartFigures) -> set[str]:
    return {" ".join(list_search_words(name)) for name in (part.key, *part.aliases, part.name)}


def _list_words(part: PartFigures) -> set[str]:
    texts = (part.key, *part.aliases, part.name, part.maker or "", *part.numbers)
    return {word for text in texts for word in list_search_words(text)} | _spell_numbers(part)


def _compute_each(story: PartStory, spans: tuple[Span, ...], as_of: datetime.date) -> Iterable[PartFigures]:
    moves = [move for move in story.movements if move.date <= as_of]
    ledgers = count_parts(moves)
    lives: dict[str, list[LifeEvent]] = {key: [] for key in ledgers}
    fitted = {key: dict.fromkeys(FITTED, Decimal(0)) for key in ledgers}
    for move in moves:
        lives[move.key].append(_tell(move))
    for span in spans:
        if span.move.date <= as_of:
            # As of the day: what came off later is on.
            how = span.ending.how if span.ending is not None and span.ending.date <= as_of else "still on"
            fitted[span.move.key][how] += span.qty
            if how == "replaced":
                # No movement tells of it, so the life of the part would end on the machine.
                lives[span.move.key].append(_tell_replaced(span))
    for part in story.names.parts.values():
        # A part that is ordered later than the day is not there yet.
        if part.key in ledgers:
            yield _compute_part(part, ledgers[part.key], fitted[part.key], lives[part.key])


FITTED = ("still on", "removed", "replaced")
"What became of what was fitted in this log."


def _compute_part(part: Part, ledger: Ledger, fitted: Mapping[str, Decimal], life: list[LifeEvent]) -> PartFigures:
    return PartFigures(
        key=part.key,
        aliases=part.aliases,
        name=part.name,
        numbers=part.numbers,
        maker=part.maker,
        system=part.system,
        unit=part.unit,
        spec=part.spec,
        single_use=part.single_use,
        original=part.original,
        bought=ledger.ordered,
        # What came off and never went on: the rest of `removed` closed a fitting.
        came_with=ledger.removed - fitted["removed"],
        cancelled=ledger.cancelled,
        arrived=ledger.arrived,
        fitted=ledger.fitted,
        removed=ledger.removed,
        kept=ledger.kept,
        returned=ledger.returned,
        sold=ledger.sold,
        scrapped=ledger.scrapped,
        gone=ledger.scrapped + ledger.removed - ledger.kept + fitted["replaced"],
        on_machine=fitted["still on"],
        shelf=ledger.shelf,
        in_the_post=ledger.in_the_post,
        life=tuple(sorted(life, key=lambda event: (event.date, DAY_RANK[event.kind]))),
    )


def _tell(move: Movement) -> LifeEvent:
    return LifeEvent(
        kind=move.kind,
        date=move.date,
        qty=move.qty,
        entry=move.entry,
        place=move.place,
        reading=move.reading,
        supplier=move.supplier,
        ref=move.ref,
        at=move.at,
        instead_of=move.instead_of,
        why=move.why,
        fate=move.fate,
    )


def _tell_replaced(span: Span) -> LifeEvent:
    """The end of a fitting that nobody wrote down, as if it had been."""
    ending, move = span.ending, span.move
    assert ending is not None
    return LifeEvent(
        kind="removed",
        date=ending.date,
        qty=span.qty,
        entry=ending.entry,
        place=ending.place,
        reading=ending.reading,
        supplier=None,
        ref=None,
        at=move.at,
        instead_of=None,
        why=ending.why,
        fate=ending.fate,
        replaced_by=ending.replaced_by,
    )
