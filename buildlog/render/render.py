"""Figures → the files of the site, in memory: pages, feed, sitemap, style sheets. Nothing is written here."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from urllib.parse import quote

from buildlog.compute.figures import Figures
from buildlog.output.write import Content
from buildlog.photos.recipe import PhotoSet
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry
from buildlog.record.published import PublishedRecord
from buildlog.render.feed import Feed, FeedEntry, write_feed
from buildlog.render.fitness import tell_old_id
from buildlog.render.language import mark_said, show_language, speaks_english
from buildlog.render.markdown import ShowPhoto, Story, render_story
from buildlog.render.pages import appendix as seal_sheet
from buildlog.render.pages.context import PageContext, entry_href
from buildlog.render.pages.costs import CostsView, make_costs
from buildlog.render.pages.entry import EntryView, make_entry
from buildlog.render.pages.faults import FaultsView, make_faults
from buildlog.render.pages.frame import SECTIONS
from buildlog.render.pages.front import FrontView, make_front
from buildlog.render.pages.parts import PartsView, make_parts
from buildlog.render.pages.photos import Lazily, Photos, view_photos
from buildlog.render.pages.record import RecordView, make_record
from buildlog.render.pages.service import ServiceView, make_service
from buildlog.render.pages.timeline import TimelineView, make_timeline
from buildlog.render.sitemap import write_sitemap
from buildlog.render.theme import Theme, place_failure
from buildlog.render.words import Words

View = FrontView | TimelineView | EntryView | CostsView | PartsView | FaultsView | ServiceView | RecordView
"a whole page"


NOTHING_SEALED = PublishedRecord()
StoryPhotos = Mapping[str, Mapping[str, ShowPhoto]]
"How a story shows each photo: by entry name, then by file name."


def render_stories(figures: Figures, shows: StoryPhotos) -> tuple[dict[str, Story], tuple[Problem, ...]]:
    """Each entry's story as HTML, by entry name, and what in them cannot be shown as it was written."""
    stories = dict(_tell_stories(figures, shows))
    return stories, _list_problems(stories)


def _tell_stories(figures: Figures, shows: StoryPhotos) -> Mapping[str, Story]:
    """Each entry's story, rendered when it is asked for."""
    entries = {entry.name: entry for entry in figures.entries}
    pages = {name: f"{name}.html" for name in entries}

    def tell(name: str) -> Story:
        entry = entries[name]
        place = Place(entry.place.file, entry.body_line)
        return render_story(entry.body, place=place, photos=shows.get(name, {}), pages=pages)

    return Lazily(entries, tell)


def _list_problems(stories: Mapping[str, Story]) -> tuple[Problem, ...]:
    return tuple(problem for story in stories.values() for problem in story.problems)


def list_story_photos(photos: Photos, theme: Theme) -> StoryPhotos:
    """The markup of each photo inside a story, as the theme has it."""

    def show(entry: str, file: str) -> ShowPhoto:
        photo = photos[entry][file].below()
        return lambda alt: theme.render("story_photo.html", {"photo": photo, "alt": alt})

    return Lazily(photos, lambda entry: {file: show(entry, file) for file in photos[entry]})


def render_site(
    figures: Figures,
    theme: Theme,
    find_photo: Callable[[str], PhotoSet | None],
    *,
    papers: Mapping[str, str] | None = None,
    record: PublishedRecord = NOTHING_SEALED,
) -> tuple[dict[str, Content], tuple[Problem, ...]]:
    """Every file of the site but the photos by its path, and what in the stories cannot be shown as it was written.

    `find_photo` waits for a published photo by the name of its request: what shows none is rendered before. `papers`
    says where papers stand that are kept outside the site, see `Edition.papers`, `record` what is sealed. Where one of
    the log's own templates fails, there are no files, and that is the one problem.
    """
    photos = view_photos(figures, find_photo)
    stories = _tell_stories(figures, list_story_photos(photos, theme))
    language = figures.log.settings.site.language
    words = Words(language, str if speaks_english(language) else mark_said)
    context = PageContext(figures=figures, words=words, stories=stories, photos=photos, papers=papers, record=record)
    try:
        return _render_files(context, theme), _list_problems(stories)
    except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
        folder = figures.log.folder
        problem = place_failure(error, folder) if folder else None
        if problem is None:
            raise
        return {}, (problem,)


def _render_files(context: PageContext, theme: Theme) -> dict[str, Content]:
    files: dict[str, Content] = {**theme.read_statics()}
    files |= _list_papers(context.figures) if context.papers is None else {}
    files[seal_sheet.PATH] = seal_sheet.write_seal_sheet(context)
    for view in make_views(context):
        values = {"view": view, "frame": view.frame, "root": view.frame.root}
        page = theme.render(view.TEMPLATE, values)
        files[view.frame.path] = show_language(page, context.words_language).encode()
    files["feed.xml"] = write_feed(describe_feed(context))
    address = context.figures.log.settings.site.address
    if address:
        files["sitemap.xml"] = write_sitemap(address, _list_pages(context))
    return files


def make_views(context: PageContext) -> Iterator[View]:
    """Every page of the site, finished down to the last word; first those that show no photo and wait for none."""
    for make in (make_costs, make_parts, make_faults, make_service, make_record):
        yield make(context)
    entries: tuple[Entry | None, ...] = (None, *context.entries.values(), None)
    for before, entry, after in zip(entries, entries[1:], entries[2:], strict=False):
        if entry is not None:
            yield make_entry(context, entry, before=before, after=after)
    yield make_timeline(context)
    yield make_front(context)


def describe_feed(context: PageContext) -> Feed:
    """What the feed is made from."""
    settings = context.figures.log.settings
    return Feed(
        title=context.title,
        language=settings.site.language,
        author=settings.site.author or context.title,
        address=settings.site.address,
        seed=settings.site.id or tell_old_id(settings),
        as_of=context.figures.as_of,
        entries=tuple(
            FeedEntry(
                name=entry.name,
                title=entry.title,
                day=entry.date,
                page=quote(entry_href(entry.name)),
                lead=context.stories[entry.name].lead,
            )
            for entry in context.entries.values()
        ),
    )


def _list_pages(context: PageContext) -> dict[str, datetime.date | None]:
    """Every page with the day of the last entry that it tells of."""
    entries = {quote(entry_href(entry.name)): entry.date for entry in context.entries.values()}
    last = max(entries.values(), default=None)
    return {"": last, **{href: last for _, href in SECTIONS[1:]}, **entries}


def _list_papers(figures: Figures) -> dict[str, Path]:
    """The papers that records name, where papers are published."""
    folder, public = figures.log.folder, figures.log.settings.public
    if folder is None or public.papers != "shown":
        return {}
    named = {claim.paper for claim in figures.evidence.claims if claim.paper}
    root = os.path.realpath(folder)
    here = {paper: figures.log.locate(paper) for paper in sorted(named & figures.log.papers)}
    return {paper: path for paper, path in here.items() if Path(os.path.realpath(path)).is_relative_to(root)}
