"""Figures → the files of the site, in memory: pages, feed, sitemap, style sheets. Nothing is written here.

What cannot go onto a site is reported first: papers' names that no host can serve, an unknown language, a missing id.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial

from buildlog.compute.figures import Figures
from buildlog.output.write import Content
from buildlog.photos.card import Card, draw_card
from buildlog.photos.recipe import PhotoSet
from buildlog.problems import Problem
from buildlog.read.records import Entry
from buildlog.record.published import PublishedRecord
from buildlog.render.addresses import entry_href
from buildlog.render.found import list_found, name_papers
from buildlog.render.hosting import list_host_makers
from buildlog.render.language import Words
from buildlog.render.marks import mark_owner_text, show_language
from buildlog.render.pages import still_to_do, tightening
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import CostPeriodView, CostsView, list_cost_periods, make_costs
from buildlog.render.pages.entry import EntryView, make_entry
from buildlog.render.pages.faults import FaultsView, make_faults
from buildlog.render.pages.front import FrontView, make_front
from buildlog.render.pages.leads import LeadView, MovedView, list_lead_makers, list_moved_makers
from buildlog.render.pages.long_lists import FaultPeriodView, LongListView, list_long_makers
from buildlog.render.pages.meter_readings import ReadingsView, list_reading_makers
from buildlog.render.pages.parts import (
    PartIndexView,
    PartPeriodView,
    PartsView,
    list_life_makers,
    list_part_pages,
    make_parts,
)
from buildlog.render.pages.photos import view_photos
from buildlog.render.pages.pictures import PicturesView, list_picture_pages
from buildlog.render.pages.record import RecordView, make_record
from buildlog.render.pages.service import SEAL_SHEET, ServiceView, make_service, write_seal_sheet
from buildlog.render.pages.service_items import TimesView, list_times_pages
from buildlog.render.pages.standing import PagesView, list_standing_pages
from buildlog.render.pages.system import SystemView, list_system_makers
from buildlog.render.pages.timeline import TimelinePeriodView, TimelineView, list_timeline_pages, make_timeline
from buildlog.render.search import SearchIndex
from buildlog.render.stacked import stack_tables
from buildlog.render.stories import list_problems, list_story_photos, render_stories
from buildlog.render.theme import Theme, blame_template

View = (
    FrontView
    | TimelineView
    | TimelinePeriodView
    | SystemView
    | still_to_do.ToDoView
    | tightening.TighteningView
    | EntryView
    | CostsView
    | CostPeriodView
    | PartsView
    | PartPeriodView
    | PartIndexView
    | FaultsView
    | ServiceView
    | ReadingsView
    | TimesView
    | RecordView
    | PagesView
    | PicturesView
    | LeadView
    | FaultPeriodView
    | LongListView
    | MovedView
)
"a whole page"


NOTHING_SEALED = PublishedRecord()


def render_site(
    figures: Figures,
    theme: Theme,
    find_photo: Callable[[str], PhotoSet | None],
    *,
    papers: Mapping[str, str] | None = None,
    record: PublishedRecord = NOTHING_SEALED,
    draw: Callable[[Card], bytes] = draw_card,
) -> tuple[dict[str, Content], tuple[Problem, ...]]:
    """Every file of the site but the photos by its path, and what in the stories cannot be shown as it was written.

    `find_photo` waits for a published photo by the name of its request: what shows none is rendered before. `papers`
    says where papers stand that are kept outside the site, see `PageContext.papers`, `record` what is sealed; `draw`
    draws the picture for whoever shares the site. Where one of the log's own templates fails, there are no files, and
    that is the one problem.
    """
    context = replace(make_context(figures, theme, find_photo, papers=papers, record=record), draw=draw)
    return render_context(context, theme, lambda content: content)


def render_context(
    context: PageContext, theme: Theme, lay: Callable[[bytes], Content]
) -> tuple[dict[str, Content], tuple[Problem, ...]]:
    """What `render_site` gives, from what all pages share; `lay` puts away each file that is made."""
    # All of it before a file is written: a template that fails leaves the site as it was.
    try:
        made = ((path, make()) for path, make in list_makers(context, theme).items())
        files = {path: lay(content) if isinstance(content, bytes) else content for path, content in made}
    except Exception as error:  # a template can fail in every way; what is not the owner's is ours and goes on
        return {}, (blame_template(error, context.figures),)
    return files, list_problems(context.stories)


def make_context(
    figures: Figures,
    theme: Theme,
    find_photo: Callable[[str], PhotoSet | None],
    *,
    papers: Mapping[str, str] | None = None,
    record: PublishedRecord = NOTHING_SEALED,
    words: Words | None = None,
) -> PageContext:
    """What every page is made from, see `render_site`; stories and photos are made when a page asks for them.

    `words` are those of the log's language, where they are there already.
    """
    photos = view_photos(figures, find_photo, theme.catalogue)
    stories = render_stories(figures, list_story_photos(photos, theme))
    return PageContext(
        figures=figures,
        words=words or make_words(figures, theme),
        stories=stories,
        photos=photos,
        papers=papers,
        record=record,
    )


def make_words(figures: Figures, theme: Theme) -> Words:
    """What writes dates and amounts in the site's language, and says the words of pages as the theme has them."""
    language, catalogue = figures.log.settings.site.language, theme.catalogue
    return Words(language, str if catalogue.speaks(language) else mark_owner_text, catalogue)


Makers = Mapping[str, Callable[[], Content]]
"What makes each file, by its path in the site."


def list_makers(context: PageContext, theme: Theme) -> Makers:
    """Every file of the site but the photos, by its path, with what makes it when it is asked for; in order."""

    # A function, as a lambda made in the loop below would give the last one for each.
    def give(content: Content) -> Callable[[], Content]:
        return lambda: content

    named = name_papers(context.figures) if context.papers is None else ()
    found = list_found(theme, context.figures, named)
    return {path: give(content) for path, content in found.items()} | list_page_makers(context, theme)


Finish = Callable[[View], Content]
"Renders a page, or knows it rendered."


def list_page_makers(
    context: PageContext, theme: Theme, *, finish: Finish | None = None, index: SearchIndex | None = None
) -> dict[str, Callable[[], Content]]:
    """What is not there already: pages, the feed, the sitemap.

    `finish` stands for `render_view`, and `index` is that of the search where it is there already.
    """
    # Whatever file the theme has of that name: it says whether the log is sealed.
    files: dict[str, Callable[[], Content]] = {SEAL_SHEET: lambda: write_seal_sheet(context)}
    views = list_view_makers(context)
    files |= _render_later(views, finish or partial(render_view, context, theme))
    files |= list_host_makers(context, theme, views)
    # Last, as what it says of entries comes out of their stories.
    files |= (index or SearchIndex(context)).list_makers()
    return files


def list_entry_makers(context: PageContext, theme: Theme) -> Makers:
    """The pages of entries among them: in a long log, to list all others takes many times as long."""
    return _render_later(_list_entry_views(context), partial(render_view, context, theme))


def _render_later(makers: Mapping[str, Callable[[], View]], finish: Finish) -> dict[str, Callable[[], Content]]:
    def render(make: Callable[[], View]) -> Content:
        return finish(make())

    return {path: partial(render, make) for path, make in makers.items()}


def render_view(context: PageContext, theme: Theme, view: View) -> bytes:
    """The page of a view: what it says, and in which language the owner's words are, is all that a page is made of."""
    frame = view.frame
    page = theme.render(view.TEMPLATE, {"view": view, "frame": frame, "root": frame.root})
    # Values have addresses from the top of the site; what leads to the page itself needs none of that.
    page = page.replace(f'href="{frame.root}{frame.path}#', 'href="#')
    # On the finished page, since only there is it known which element a text ended up in.
    return show_language(stack_tables(page), context.words_language).encode()


def list_view_makers(context: PageContext) -> dict[str, Callable[[], View]]:
    """Every page by its path, with what makes its view; first those that show no photo and wait for none."""
    makers: dict[str, Callable[[], View]] = {
        "costs.html": lambda: make_costs(context),
        "parts.html": lambda: make_parts(context),
        "faults.html": lambda: make_faults(context),
        "service.html": lambda: make_service(context),
        "record.html": lambda: make_record(context),
        **tightening.list_makers(context),
        **still_to_do.list_makers(context),
        **list_cost_periods(context),
        **list_part_pages(context),
        **list_life_makers(context),
        **list_reading_makers(context),
        **list_times_pages(context),
        **list_system_makers(context),
        **list_long_makers(context),
        **list_lead_makers(context),
        **list_moved_makers(context),
    }
    makers |= _list_entry_views(context)
    # Behind the entries, as their leads come out of the stories, which wait for photos.
    makers |= list_standing_pages(context)
    makers |= list_picture_pages(context)
    makers |= list_timeline_pages(context)
    makers["timeline.html"] = lambda: make_timeline(context)
    makers["index.html"] = lambda: make_front(context)
    return makers


def _list_entry_views(context: PageContext) -> dict[str, Callable[[], View]]:
    entries: tuple[Entry | None, ...] = (None, *context.entries.values(), None)
    return {
        entry_href(entry.name): partial(make_entry, context, entry, before=before, after=after)
        for before, entry, after in zip(entries, entries[1:], entries[2:], strict=False)
        if entry is not None
    }


def make_views(context: PageContext) -> Iterator[View]:
    """Every page of the site, finished down to the last word, in the order of `list_view_makers`."""
    # One at a time, and none kept: each page is rendered before the values of the next one are made.
    for make in list_view_makers(context).values():
        yield make()
