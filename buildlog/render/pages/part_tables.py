"""What pages of parts show: each part's life, the shelf, what is fitted; and which page has which, if they are many."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import zip_longest

from buildlog.compute.costs.beside_totals import ShelfItem
from buildlog.compute.parts.fittings import Fitting, SystemFittings
from buildlog.compute.parts.part_history import LifeEvent, PartFigures
from buildlog.frozen import frozen, kept_by
from buildlog.render.pages.choices import say_choice
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import evidence_of
from buildlog.render.pages.part_lives import PartLives, PlaceLife
from buildlog.render.pages.part_words import DID, DID_MANY, IN_POST, ON_MACHINE, ON_SHELF
from buildlog.render.pages.periods import INDEX_ROWS, LIFE_LATEST, month_of, name_life_periods
from buildlog.render.pieces import Evidence, Link, When


@frozen
class PartsPeriod:
    """One page of parts: those that came, or first did anything, in one period."""

    page: Link
    "`2024`, leading to it"
    parts: str
    "how many it has"
    fitted: str = ""
    "of those how many are on the machine; empty: none"
    shelf: str = ""
    "how many are on the shelf; empty: none"
    post: str = ""
    "how many are in the post; empty: none"


def list_periods(context: PageContext) -> Iterator[PartsPeriod]:
    """The pages that have parts, oldest first."""
    for path, parts in group_parts(context).items():
        yield PartsPeriod(
            page=Link(text=name_part_page(context, path), href=path),
            parts=str(len(parts)),
            fitted=str(sum(part.on_machine > 0 for part in parts) or ""),
            shelf=str(sum(part.shelf > 0 for part in parts) or ""),
            post=str(sum(part.in_the_post > 0 for part in parts) or ""),
        )


def group_parts(context: PageContext) -> dict[str, tuple[PartFigures, ...]]:
    """The parts by the page that has them, oldest first; empty where one page has all."""
    found: dict[str, list[PartFigures]] = {}
    parts = context.figures.parts.parts if context.part_pages else ()
    for part in sorted(parts, key=month_of):
        found.setdefault(context.part_pages[part.key], []).append(part)
    return {path: tuple(some) for path, some in found.items()}


def name_part_page(context: PageContext, path: str) -> str:
    """The period of a page of parts: `2024`, `May 2024`; of one that goes on `May 2024, page 2`."""
    name = path.removeprefix("parts/").removesuffix(".html")
    # A month is `2024-05`, and what goes on from one `2024-05-2`.
    period, page = (name[:7], name[8:]) if name.count("-") == 2 else (name, "")
    if not page:
        return context.period(period)
    return context.words.say("%(period)s, page %(number)s", period=context.period(period), number=page)


def list_life_pages(context: PageContext, part: PartFigures) -> dict[str, Link]:
    """The pages that have all of a long life, by period; none where it stands whole with the part."""
    periods = dict.fromkeys(name_life_periods(part).values())
    # Two dashes, which no key of a part has.
    return {p: Link(text=context.period(p), href=f"parts/{part.key}--{p}.html") for p in periods}


def list_indexes(context: PageContext, kind: str, texts: Sequence[str]) -> tuple[Link, ...]:
    """The pages of an index, each with what it begins and ends with."""

    def say_range(first: str, last: str) -> str:
        # TRANSLATORS: of an index, from one word to another: Bearing to Pump
        return first if first == last else context.words.say("%(first)s to %(last)s", first=first, last=last)

    starts = range(0, len(texts), INDEX_ROWS)
    return tuple(
        Link(
            text=say_range(texts[at], texts[min(at + INDEX_ROWS, len(texts)) - 1]),
            href=f"parts/by-{kind}-{n}.html",
        )
        for n, at in enumerate(starts, 1)
    )


@frozen
class PartNumber:
    """One number of a part, as it is written on it."""

    text: str
    "`LP 4410-A`"
    note: str = ""
    "`superseded by LP 4410-B`, `as bought`"
    old: bool = False
    "whether another number has taken its place"


@frozen
class LifeEventView:
    """One thing that happened to a part."""

    when: When
    "the day it happened"
    did: str
    "`ordered`, `arrived`, `fitted`, `removed`, `returned`, `sold`, `scrapped`, in the site's words"
    detail: str = ""
    "from whom, where, instead of what, why, how old it was then"
    reading: str = ""
    "of the meter that day; empty: not noted, or the entry is of another day"
    entry: Link | None = None
    "the entry that states it; None: that of the next one, which follows"


@frozen
class PartView:
    """One part and its whole life."""

    key: str
    "short name; its anchor is `part-KEY`"
    name: str
    "as first written, else its key in plain words"
    maker: str = ""
    "empty: not known"
    spec: str = ""
    "`equivalent`, `single use`: how it compares with what the maker fitted"
    numbers: tuple[PartNumber, ...] = ()
    "the current one first"
    where: str
    "where it is as of the site's date: `fitted, left of block`, `1 fitted, 1 on the shelf`, `in the post`"
    places: tuple[PlaceLife, ...] = ()
    "a bar for each place where it was fitted, and for what waits"
    life: tuple[LifeEventView, ...] = ()
    "oldest first; of a long one the latest"
    pages: tuple[Link, ...] = ()
    "the pages that have all of a long life; else empty"


@frozen
class PartGroup:
    """The parts of one system."""

    key: str
    "its anchor is `parts-KEY`"
    system: Link
    "the system's name, leading to its page, or `No system given`"
    parts: tuple[PartView, ...]
    "in the order of the log"


@frozen
class NumberRow:
    """One number in the index by number."""

    number: str
    "as written on the part"
    part: Link
    "leads to its history"
    note: str = ""
    "`superseded by LP 4410-B`"


@frozen
class ShelfRow:
    """Something on hand and not fitted."""

    part: Link
    "leads to its history"
    qty: str
    "`2`, `1.5 m`"
    note: str = ""
    "`kept from the machine`, `second one kept as spare`"


@frozen
class FittedRow:
    """One open fitting."""

    part: Link
    "leads to its history"
    at: str = ""
    "where on the machine, in the owner's words"
    number: str = ""
    "the newest of its numbers; empty: none known"
    qty: str = ""
    "empty for one"
    spec: str = ""
    "`equivalent`; empty: not stated"
    since: When
    "the day it was fitted"
    reading: str = ""
    "of the meter that day; empty: not noted"
    age: str = ""
    "`412 days`"
    distance: str = ""
    "`3,120 mi`"
    entry: Link
    "the entry that fitted it"
    evidence: Evidence | None = None
    "how the fitting is backed"


@frozen
class FittedGroup:
    """What is fitted in one system."""

    system: Link | None = None
    "its name, leading to its page, or `No system given`; None: the page is about one alone"
    rows: tuple[FittedRow, ...]
    "at least one"


def list_groups(
    context: PageContext, parts: Iterable[PartFigures], lives: PartLives, *, life: tuple[LifeEvent, ...] = ()
) -> Iterator[PartGroup]:
    """Some parts by system, in the owner's order; those of no system last. `life`: what of it to show, if not all."""
    parts = tuple(parts)
    for key in (*context.figures.log.settings.systems, None):
        views = tuple(_describe_part(context, part, life, lives) for part in parts if part.system == key)
        if views:
            yield PartGroup(key=key or "none", system=context.system_link(key), parts=views)


def _describe_part(context: PageContext, part: PartFigures, life: tuple[LifeEvent, ...], lives: PartLives) -> PartView:
    pages, words = tuple(list_life_pages(context, part).values()), context.words
    once = words.say("single use") if part.single_use else ""
    return PartView(
        key=part.key,
        name=context.owner_text(part.name),
        maker=context.owner_text(part.maker),
        spec=", ".join(filter(None, [say_choice(words, part.spec), once])),
        numbers=tuple(_describe_numbers(context, part)),
        where=_say_where(context, part),
        places=tuple(lives.list_places(part)),
        life=tuple(_describe_life(context, life or part.life[-LIFE_LATEST if pages else 0 :], part.unit)),
        pages=() if life else pages,
    )


def _describe_numbers(context: PageContext, part: PartFigures) -> Iterator[PartNumber]:
    # Newest first, so the one before is the one that took its place.
    for newer, number in zip((None, *part.numbers), part.numbers, strict=False):
        note = context.words.say("superseded by %(number)s", number=context.owner_text(newer)) if newer else ""
        yield PartNumber(text=context.owner_text(number), note=note, old=newer is not None)


def _say_where(context: PageContext, part: PartFigures) -> str:
    """Where the part is: `1 fitted, 1 on the shelf`."""
    say = context.words.say
    places = ((part.on_machine, ON_MACHINE), (part.shelf, ON_SHELF), (part.in_the_post, IN_POST))
    # A part that was sold or thrown away is in none of them, and keeps its history.
    phrases = [say(where, qty=context.quantity(qty, part.unit)) for qty, where in places if qty > 0]
    # TRANSLATORS: of a part that was sold or thrown away
    return ", ".join(phrases) or say("gone")


def _describe_life(context: PageContext, life: Sequence[LifeEvent], unit: str | None) -> Iterator[LifeEventView]:
    say = context.words.say
    for event, after in zip_longest(life, life[1:]):
        qty = _say_qty(context, event.qty, unit)
        # What one entry tells of a part, as that it was ordered, came and was fitted, leads there once.
        told_below = after is not None and after.entry == event.entry
        yield LifeEventView(
            when=context.when(event.date),
            did=say(DID_MANY[event.kind], qty=qty) if qty else say(DID[event.kind]),
            detail=", ".join(filter(None, _list_details(context, event))),
            reading=context.reading_in(event.entry) if event.reading else "",
            entry=None if told_below else context.entry_link(event.entry),
        )


def _list_details(context: PageContext, event: LifeEvent) -> Iterator[str]:
    say = context.words.say
    # Once, and not again with every step that follows from the order.
    if event.kind in ("ordered", "cancelled"):
        yield context.supplier(event.supplier)
    yield context.owner_text(event.at)
    if event.instead_of:
        if event.instead_of == "original":
            yield say("replacing the original")
        else:
            yield say("replacing %(part)s", part=context.part_link(event.instead_of).text)
    if event.replaced_by:
        yield say("replaced by %(part)s", part=context.part_link(event.replaced_by).text)
    else:
        yield context.owner_text(event.why)
    if event.kind == "removed":
        yield say_choice(context.words, event.fate)


def list_names(context: PageContext) -> tuple[Link, ...]:
    """Every part by name."""
    # Not in the order of the site's language: Python knows that only from the system that it runs on, and the same log
    # would give other bytes on another machine.
    links = (context.part_link(part.key) for part in context.figures.parts.parts)
    return tuple(sorted(links, key=lambda link: link.text.casefold()))


def list_numbers(context: PageContext) -> tuple[NumberRow, ...]:
    """Every number by itself."""
    return tuple(sorted(_list_numbers(context), key=lambda row: row.number.casefold()))


def _list_numbers(context: PageContext) -> Iterator[NumberRow]:
    for part in context.figures.parts.parts:
        for number in _describe_numbers(context, part):
            yield NumberRow(number=number.text, part=context.part_link(part.key), note=number.note)


def list_shelf(context: PageContext, parts: Iterable[PartFigures]) -> Iterator[ShelfRow]:
    """Those of some parts that are on the shelf."""
    items = _find_lying(context)
    for part in parts:
        # Told apart from spares that were bought: it has run, nobody knows how long.
        if part.shelf > 0:
            notes = [context.words.say("taken off and kept") if part.original else ""]
            item = items.get(part.key)
            if item and context.figures.shelf.placed:
                notes += [_say_lying(context, item, part), context.line_money(item.worth) if item.worth else ""]
            note = ", ".join(filter(None, notes))
            yield ShelfRow(part=context.part_link(part.key), qty=context.quantity(part.shelf, part.unit), note=note)


@kept_by
def _find_lying(context: PageContext) -> Mapping[str, ShelfItem]:
    """What lies on the shelf, by the key of its part."""
    return {item.key: item for item in context.figures.shelf.items}


def _say_lying(context: PageContext, item: ShelfItem, part: PartFigures) -> str:
    """`box 4`; `2 in box 4, 1 on the beam` where they lie apart."""
    if len(item.lying) == 1:
        return context.owner_text(item.lying[0].where)
    nowhere = context.words.say("place not given")
    return ", ".join(
        f"{context.quantity(some.qty, part.unit)}: {context.owner_text(some.where) or nowhere}" for some in item.lying
    )


def say_shelf_worth(context: PageContext) -> str:
    """`Worth £123.40, at what it cost delivered.`; empty where no place is told of, or money is hidden."""
    shelf = context.figures.shelf
    amount = context.line_money(shelf.worth) if shelf.placed and shelf.items else ""
    return context.words.say("Worth %(amount)s at delivered cost.", amount=amount) if amount else ""


def list_fitted(context: PageContext, fitted: Iterable[SystemFittings]) -> Iterator[FittedGroup]:
    """What is fitted, or some of it, by system."""
    for group in fitted:
        rows = tuple(describe_fitting(context, one) for one in group.fittings)
        yield FittedGroup(system=context.system_link(group.system), rows=rows)


def describe_fitting(context: PageContext, fitting: Fitting) -> FittedRow:
    """One part on the machine."""
    part = context.parts[fitting.key]
    return FittedRow(
        part=context.part_link(fitting.key),
        at=context.owner_text(fitting.at),
        number=context.owner_text(part.numbers[0]) if part.numbers else "",
        qty=_say_qty(context, fitting.qty, part.unit),
        spec=say_choice(context.words, fitting.spec),
        since=context.when(fitting.since),
        reading=context.reading_in(fitting.fitted_in) if fitting.start_reading else "",
        age=context.words.span(fitting.age_days),
        distance=context.distance(fitting.distance),
        entry=context.entry_link(fitting.fitted_in),
        evidence=evidence_of(context, fitting.place),
    )


def _say_qty(context: PageContext, qty: Decimal, unit: str | None) -> str:
    """How many; nothing for one of a thing that is counted in pieces."""
    return "" if qty == 1 and not unit else context.quantity(qty, unit)
