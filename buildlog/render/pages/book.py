"""The book: the whole log in one document, chapter by chapter, out of the views of the site's pages.

Whatever is shown was filled by the makers of those pages, so that what `public:` closes is closed here too. What pages
of a site are split into stands whole in a book.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.render.addresses import entry_href, page_href
from buildlog.render.marks import remove_marks
from buildlog.render.pages.condition import say_condition
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import CostsView, make_costs
from buildlog.render.pages.coverage import CLAIM_NAMES, list_levels
from buildlog.render.pages.entry import EntryView, make_entry
from buildlog.render.pages.frame import Frame, find_cover, make_frame
from buildlog.render.pages.front import list_identity, say_model
from buildlog.render.pages.hunt import FaultView, describe_fault
from buildlog.render.pages.part_lives import PartLives
from buildlog.render.pages.part_tables import (
    FittedGroup,
    NumberRow,
    PartView,
    list_fitted,
    list_groups,
    list_numbers,
)
from buildlog.render.pages.record import RecordView, make_record
from buildlog.render.pages.service import SealLine, ServiceView, describe_seal, make_service
from buildlog.render.pages.standing import StandingView, list_standing_pages
from buildlog.render.pages.tightening import TighteningView, has_torques, make_tightening
from buildlog.render.pages.timeline import list_milestones, say_span
from buildlog.render.pieces import Evidence, Fact, Link, Milestone, PhotoView


# Like what it extends, no `@frozen`.
@dataclass(frozen=True, kw_only=True)
class BookContext(PageContext):
    """A context in which nothing is split: a book has one page as long as it takes."""

    @cached_property
    def cost_periods(self) -> Mapping[str, str]:
        return {}

    @cached_property
    def part_pages(self) -> Mapping[str, str]:
        return {}

    @cached_property
    def fault_periods(self) -> Mapping[str, str]:
        return {}

    @cached_property
    def timeline_periods(self) -> Mapping[str, str]:
        return {}


@frozen
class BookEntry:
    """One entry, as the book numbers it."""

    number: str
    "`12`: counted from 1; its anchor is `entry-NUMBER`"
    page: EntryView
    "as on its own page"


@frozen
class BookPage:
    """One standing page, as the book numbers it."""

    number: str
    "`1`: counted from 1; its anchor is `page-NUMBER`"
    page: StandingView | None
    "as on its own page"


@frozen
class PartRow:
    """One part in the index."""

    key: str
    "its anchor is `part-KEY`"
    name: str
    "as first written"
    detail: str = ""
    "maker and number: `Vostrand LP 4410-A`"
    where: str
    "where it is as of the book's day"
    entries: tuple[Link, ...] = ()
    "those in which something happened to it, each once, in order"


@frozen
class PaperRow:
    """One paper that the record names."""

    name: str
    "its file name"
    path: str
    "in the log"
    backs: str
    "what kinds of claims: `Money, Parts fitted`; empty: it goes with a standing page"
    entries: tuple[Link, ...] = ()
    "that name it, each once"


@frozen
class BookView:
    """What is this machine, what was done to it, and what of that can be relied upon?"""

    TEMPLATE: ClassVar[str] = "book.html"
    frame: Frame
    "language, title and description; nothing surrounds a book"
    machine: str
    "the owner's name for it"
    model: str = ""
    "`Fennick Drover, road vehicle, 1991`"
    identity: tuple[Fact, ...] = ()
    "its numbers, as far as they are public"
    span: str = ""
    "`41 entries from 3 February 2024 to 9 November 2024`"
    state: tuple[Link, ...] = ()
    "how the machine stands, as pieces of one sentence; empty: the log speaks of none of it"
    cover: PhotoView | None = None
    "the machine, as the owner chose; else the first photo of the last entry that has one; None: there is no photo"
    seal: SealLine | None = None
    "the latest; None: nothing is sealed, or the seals do not hold"
    milestones: tuple[Milestone, ...] = ()
    "what was reached, oldest first"
    entries: tuple[BookEntry, ...] = ()
    "in order"
    standing: tuple[BookPage, ...] = ()
    "in the owner's order"
    costs: CostsView
    "with every line once, month by month"
    parts: tuple[PartRow, ...] = ()
    "by name"
    numbers: tuple[NumberRow, ...] = ()
    "every number of a part, superseded ones included"
    fitted: tuple[FittedGroup, ...] = ()
    "as of the book's day"
    faults: tuple[FaultView, ...] = ()
    "every one, in the order in which they came up"
    tightening: TighteningView | None = None
    "None: nothing was tightened"
    service: ServiceView
    "the appendix"
    papers: tuple[PaperRow, ...] = ()
    "empty where papers are not published"
    papers_closed: bool = False
    "whether there are papers that are not published"
    record: RecordView
    "the seals, and what is closed to readers"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"


def make_book(context: BookContext) -> BookView:
    """The finished book."""
    figures = context.figures
    machine = figures.log.settings.machine.name
    description = f"{machine}: {say_model(context)}. {say_span(context, context.figures.entries)}."
    service = make_service(context)
    return BookView(
        frame=make_frame(context, "book.html", context.owner_text(context.title), description, dated=True),
        machine=context.owner_text(machine),
        model=say_model(context),
        identity=list_identity(context),
        span=say_span(context, context.figures.entries),
        state=say_condition(context),
        cover=_find_cover(context),
        seal=describe_seal(context),
        milestones=list_milestones(context),
        entries=tuple(
            BookEntry(number=str(n), page=make_entry(context, entry, before=None, after=None))
            for n, entry in enumerate(context.entries.values(), 1)
        ),
        standing=tuple(_list_standing(context)),
        costs=make_costs(context),
        parts=tuple(_list_parts(context)),
        numbers=list_numbers(context),
        fitted=tuple(list_fitted(context, figures.as_fitted)),
        faults=tuple(describe_fault(context, fault, None) for fault in figures.faults.faults),
        tightening=make_tightening(context) if has_torques(context) else None,
        service=service,
        papers=tuple(_list_papers(context)),
        papers_closed=figures.log.settings.public.papers != "shown" and bool(figures.log.papers),
        record=make_record(context),
        legend=list_levels(context),
    )


def find_anchor(context: BookContext, anchors: Mapping[str, str], href: str) -> str:
    """Where in the book an address of the site leads, without `#`; nothing for what the book does not have."""
    # All that a table or a list of the site leads to stands once in the book, under the anchor that it has there.
    path, _, anchor = href.partition("#")
    if anchor.startswith("part-"):
        part = context.parts.get(anchor.removeprefix("part-"))
        return f"part-{part.key}" if part else ""
    return anchors.get(path) or anchors.get(f"#{anchor}", "")


def list_anchors(context: BookContext) -> dict[str, str]:
    """The anchor of each entry, standing page, fault, service item and measurement, by its address in the site."""
    entries = {entry_href(name): f"entry-{n}" for n, name in enumerate(context.entries, 1)}
    pages = {page_href(page.name): f"page-{n}" for n, page in enumerate(context.figures.pages, 1)}
    others = [f"fault-{fault.key}" for fault in context.figures.faults.faults]
    others += [f"item-{key}" for key in context.figures.log.settings.service]
    others += [f"measured-{key}" for key in context.repeated_measures]
    return entries | pages | {f"#{anchor}": anchor for anchor in others}


def _find_cover(context: BookContext) -> PhotoView | None:
    chosen = find_cover(context)
    if chosen:
        return chosen.at_top()
    for name in reversed(tuple(context.entries)):
        for photo in context.photos.get(name, {}).values():
            return photo.at_top()
    return None


def _list_standing(context: BookContext) -> Iterator[BookPage]:
    makers = list_standing_pages(context)
    for n, page in enumerate(context.figures.pages, 1):
        view = makers[page_href(page.name)]()
        yield BookPage(number=str(n), page=view if isinstance(view, StandingView) else None)


def _list_parts(context: BookContext) -> Iterator[PartRow]:
    groups = list_groups(context, context.figures.parts.parts, PartLives(context))
    views = [part for group in groups for part in group.parts]
    for part in sorted(views, key=lambda part: remove_marks(part.name).casefold()):
        entries = {event.entry.href: event.entry for event in part.life if event.entry}
        yield PartRow(
            key=part.key,
            name=part.name,
            detail=_say_number(part),
            where=part.where,
            entries=tuple(entries.values()),
        )


def _say_number(part: PartView) -> str:
    current = [number.text for number in part.numbers if not number.old]
    return " ".join(filter(None, [part.maker, *current]))


def _list_papers(context: BookContext) -> Iterator[PaperRow]:
    """Every paper that is named and there, by its path; none where papers are closed."""
    log = context.figures.log
    if log.settings.public.papers != "shown":
        return
    found: dict[str, tuple[dict[str, None], dict[str, Link]]] = {}
    for claim in context.figures.evidence.claims:
        if claim.paper and claim.paper in log.papers:
            kinds, entries = found.setdefault(claim.paper, ({}, {}))
            kinds[context.words.say(CLAIM_NAMES[claim.kind])] = None
            if claim.entry:
                entries[claim.entry] = context.entry_link(claim.entry)
    for page in context.figures.pages:
        for paper in page.papers:
            found.setdefault(paper, ({}, {}))[1][page.name] = Link(
                text=context.owner_text(page.title), href=page_href(page.name)
            )
    for path, (kinds, entries) in sorted(found.items()):
        yield PaperRow(name=path.rsplit("/", 1)[-1], path=path, backs=", ".join(kinds), entries=tuple(entries.values()))
