"""The page of photos: all of them by month, each system's by itself, and what was before and after, side by side.

Each leads to its entry. Where they are many, periods and systems have pages of their own; see `periods`. Which photos a
page has is known before any is made, so that a page waits for its own alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import ClassVar

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen, kept_by
from buildlog.read.records import Entry, StandingPage
from buildlog.render.addresses import PICTURES, page_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.periods import (
    LATEST_PAIRS,
    PICTURES_ON_PAGE,
    STANDING_PICTURES,
    WHOLE_PICTURES,
    list_neighbours,
    name_periods,
)
from buildlog.render.pages.photos import Told, count_published, list_told
from buildlog.render.pieces import Link, PairView, PhotoView, When


@frozen
class EntryPhotos:
    """The photos of one entry, or of one standing page."""

    entry: Link
    "leading to it, by its title"
    when: When | None = None
    "its day; None: a standing page has none"
    photos: tuple[PhotoView, ...]
    "small; some of them, where the month has too many, or the standing pages"
    more: str = ""
    "`12 more`; empty: these are all"


@frozen
class PhotoMonth:
    """The photos of one month."""

    when: When
    "`2024-05`, `May 2024`; its anchor is `m-2024-05`"
    told: tuple[EntryPhotos, ...]
    "oldest first"


@frozen
class PicturesView:
    """What did it look like?"""

    TEMPLATE: ClassVar[str] = "pictures.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Photos`, `Photos, 2024`, `Photos: Fuel`"
    number: str = ""
    "how many there are"
    is_part: bool = False
    "whether it has some of the photos only"
    before: Link | None = None
    "the period before; None: this is the first, or all"
    after: Link | None = None
    "the one after; None: this is the last, or all"
    pairs: tuple[PairView, ...] = ()
    "of before and after; the latest first"
    months: tuple[PhotoMonth, ...] = ()
    "oldest first; empty where each period has a page"
    periods: tuple[Link, ...] = ()
    "the pages of periods, with how many photos each has"
    systems: tuple[Link, ...] = ()
    "the pages of systems, with how many photos each has"
    standing: tuple[EntryPhotos, ...] = ()
    "those of standing pages, in their order"


@frozen
class PicturePage:
    """A page that has some of the photos."""

    href: str
    "`pictures/2024.html`"
    title: str
    "its heading"
    short: str
    "as other pages of photos call it"
    number: int
    "of photos"
    entries: tuple[str, ...]
    "names of those whose photos it has"


Parts = Mapping[str, PicturePage]
"Pages by their addresses, in order."


def list_picture_pages(context: PageContext) -> dict[str, Callable[[], PicturesView]]:
    """The pages by their paths; none in a log without a photo."""
    if not count_published(context.figures, list_told(context.figures)):
        return {}
    periods, systems = list_parts(context)

    # A function, as a lambda made in the loop below would make the last page for each.
    def make(page: PicturePage, beside: Parts) -> Callable[[], PicturesView]:
        return lambda: _make_part(context, page, beside)

    pages = {PICTURES: lambda: _make_overview(context, periods, systems)}
    for some in (periods, *systems):
        pages |= {href: make(page, some) for href, page in some.items()}
    return pages


def list_parts(context: PageContext) -> tuple[Parts, tuple[Parts, ...]]:
    """The pages of periods, none where one page has all photos, and those of each system that has one."""
    counts = count_published(context.figures)
    whole = sum(counts.values()) <= WHOLE_PICTURES
    systems = []
    for key in context.figures.log.settings.systems:
        own = {name: number for name, number in counts.items() if key in context.entries[name].systems}
        if own:
            systems.append(_deal(context, own, f"pictures/system-{key}", context.system_name(key)))
    return {} if whole else _deal(context, counts, "pictures/", ""), tuple(systems)


def _deal(context: PageContext, counts: Mapping[str, int], start: str, name: str) -> Parts:
    """The photos of some entries, dealt out to pages; those of a `name` on one page, as long as they are few enough."""
    found: dict[str, list[str]] = {}
    months: Counter[str] = Counter()
    for entry, number in counts.items():
        months[_month_of(context, entry)] += number
    whole = name and months.total() <= PICTURES_ON_PAGE
    periods = dict.fromkeys(months, "") if whole else name_periods(months, PICTURES_ON_PAGE)
    for entry in counts:
        found.setdefault(periods[_month_of(context, entry)], []).append(entry)
    pages = {}
    for period, some in found.items():
        href = f"{start}{'-' if name and period else ''}{period}.html"
        words = ", ".join(filter(None, [name, period and context.period(period)]))
        number = sum(counts[entry] for entry in some)
        title = context.words.say("Photos: %(what)s", what=words)
        pages[href] = PicturePage(href=href, title=title, short=words, number=number, entries=tuple(some))
    return pages


def _month_of(context: PageContext, name: str) -> str:
    return context.entries[name].date.isoformat()[:7]


def _make_overview(context: PageContext, periods: Parts, systems: Iterable[Parts]) -> PicturesView:
    counts, standing = count_published(context.figures), count_published(context.figures, context.figures.pages)
    say = context.words.say
    title = say("Photos")
    description = say("Every photo of %(title)s, by month and by system.", title=context.title)
    return PicturesView(
        frame=make_frame(context, PICTURES, title, description),
        title=title,
        number=_count_photos(context, sum(counts.values()) + sum(standing.values())),
        pairs=tuple(pair for pair, _ in list_pairs(context))[:LATEST_PAIRS],
        months=() if periods else tuple(_list_months(context, counts, "")),
        periods=tuple(map(_link, periods.values())),
        systems=tuple(_link(page) for pages in systems for page in pages.values()),
        standing=tuple(_list_standing(context, [page for page in context.figures.pages if page.name in standing])),
    )


def _list_standing(context: PageContext, pages: list[StandingPage]) -> Iterator[EntryPhotos]:
    shown = pages[:STANDING_PICTURES]
    for page in shown:
        photos, left = _pick_photos(context, page, max(1, STANDING_PICTURES // len(shown)), "")
        entry = Link(text=context.owner_text(page.title), href=page_href(page.name))
        yield EntryPhotos(entry=entry, photos=photos, more=_say_more(context, left))


def _count_photos(context: PageContext, number: int) -> str:
    return context.words.say_count("%(number)s photo", "%(number)s photos", number)


def _say_more(context: PageContext, left: int) -> str:
    # TRANSLATORS: photos
    return context.words.say_count("%(number)s more", "%(number)s more", left) if left else ""


def _link(page: PicturePage) -> Link:
    return Link(text=f"{page.short} ({page.number})", href=page.href)


def _make_part(context: PageContext, page: PicturePage, beside: Parts) -> PicturesView:
    before, after = (beside[href] if href else None for href in list_neighbours(beside)[page.href])
    return PicturesView(
        frame=make_frame(context, page.href, page.title, f"{context.title}: {page.title}."),
        title=page.title,
        number=_count_photos(context, page.number),
        is_part=True,
        before=Link(text=before.short, href=before.href) if before else None,
        after=Link(text=after.short, href=after.href) if after else None,
        months=tuple(_list_months(context, page.entries, "../")),
    )


def _list_months(context: PageContext, names: Collection[str], root: str) -> Iterator[PhotoMonth]:
    # Of these alone: a long log has hundreds of such pages.
    counts = count_published(context.figures, map(context.entries.__getitem__, names))
    for month, some in groupby(names, key=lambda name: _month_of(context, name)):
        entries = tuple(some)
        # A month is never split: of one with too many, each entry shows its first, and has the others on its own page.
        many = sum(counts[name] for name in entries) > PICTURES_ON_PAGE
        most = max(1, PICTURES_ON_PAGE // len(entries)) if many else PICTURES_ON_PAGE
        yield PhotoMonth(
            when=context.month(month),
            told=tuple(_describe(context, context.entries[name], most, root) for name in entries),
        )


def _describe(context: PageContext, entry: Entry, most: int, root: str) -> EntryPhotos:
    photos, left = _pick_photos(context, entry, most, root)
    return EntryPhotos(
        entry=context.entry_link(entry.name),
        when=context.when(entry.date),
        photos=photos,
        more=_say_more(context, left),
    )


def _pick_photos(context: PageContext, told: Told, most: int, root: str) -> tuple[tuple[PhotoView, ...], int]:
    """The first photos of an entry or a standing page, and how many more there are."""
    photos = context.photos.get(told.name, {})
    # Asked for by name, as going through them would wait for those too that are not shown.
    files = [*dict.fromkeys(photo.file for photo in told.photos if _is_there(context.figures, told.name, photo.file))]
    found = [*filter(None, map(photos.get, files[:most]))]
    return tuple(photo.small(root) for photo in found), len(files[most:])


def _is_there(figures: Figures, name: str, file: str) -> bool:
    return file in figures.log.photos.get(name, ())


# ── before and after ─────────────────────────────────────────────────────────────────────────────────────────────


def list_pairs(context: PageContext, entry: str = "") -> Iterator[tuple[PairView, tuple[str, ...]]]:
    """The pairs of one entry, as its page shows them, with its own files in each; else all, the latest first."""
    for first, last in _group_pairs(context).get(entry, ()) if entry else _find_pairs(context):
        before, after = (context.photos.get(name, {}).get(file) for name, file in (first, last))
        if before is None or after is None:
            continue
        own = tuple(file for name, file in (first, last) if name == entry)
        before_in, after_in = (None if name == entry else context.entry_link(name) for name, _ in (first, last))
        pair = PairView(
            before=before.below() if entry else before.at_top(),
            after=after.below() if entry else after.at_top(),
            before_in=before_in,
            after_in=after_in,
        )
        yield pair, own


Half = tuple[str, str]
"An entry, and a file in its photo folder."


@kept_by
def _find_pairs(context: PageContext) -> Sequence[tuple[Half, Half]]:
    """What was and what became of it; that which is told of last comes first."""
    figures = context.figures
    days = {entry.name: entry.date for entry in figures.entries}
    pairs: list[tuple[Half, Half]] = []
    for entry in figures.entries:
        for photo in entry.photos:
            if photo.after is not None:
                last = figures.log.name_photo(photo.after, entry.name)
                # One of a day to come is not there yet; one of an earlier day was told as a mistake.
                if last[0] in days and days[last[0]] >= entry.date and last != (entry.name, photo.file):
                    pairs.append(((entry.name, photo.file), last))
    return sorted(pairs, key=lambda pair: (days[pair[1][0]], pair), reverse=True)


@kept_by
def _group_pairs(context: PageContext) -> Mapping[str, Sequence[tuple[Half, Half]]]:
    """The pairs in which each entry has a part, in the same order."""
    found: dict[str, list[tuple[Half, Half]]] = {}
    for pair in _find_pairs(context):
        for name in {name for name, _ in pair}:
            found.setdefault(name, []).append(pair)
    return found


def list_shown(context: PageContext, path: str) -> tuple[str, ...]:
    """The entries whose photos a page of photos shows, for whoever makes them a page at a time."""
    periods, systems = list_parts(context)
    if path != PICTURES:
        return next((pages[path].entries for pages in (periods, *systems) if path in pages), ())
    paired = [name for pair in _find_pairs(context) for name, _ in pair]
    return tuple(dict.fromkeys([*([] if periods else count_published(context.figures)), *paired]))
