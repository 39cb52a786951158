"""Standing pages: what is looked up again and again, as the owner wrote it; where they are many, a list of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import ClassVar

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.read.records import StandingPage
from buildlog.render.markdown import ShowPhoto, Story, render_story
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import LISTED, MOST_IN_NAVIGATION, PICTURES, SECTIONS, Frame, make_frame
from buildlog.render.pages.periods import list_old_names, page_href
from buildlog.render.pages.photos import Told
from buildlog.render.pages.record import SealedView, describe_sealed
from buildlog.render.pages.still_to_do import PAGE as TO_DO
from buildlog.render.pages.tightening import PAGE as SHEET
from buildlog.render.pieces import Link, PhotoView, When


@frozen
class StandingView:
    """What does the owner keep to look up?"""

    TEMPLATE: ClassVar[str] = "standing.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "as the owner wrote it"
    holds_from: When | None = None
    "the day from which it holds; None: not said"
    text: str = ""
    "HTML, already safe"
    text_language: str = ""
    "its `lang`, where that is another than the page's"
    photos: tuple[PhotoView, ...] = ()
    "those that the text does not show itself"
    papers: tuple[Link, ...] = ()
    "that it goes with; empty where papers are not published"
    sealed: SealedView | None = None
    "None: nothing is to be said of it"


@frozen
class PageListView:
    """Which standing pages are there?"""

    TEMPLATE: ClassVar[str] = "standing_list.html"
    frame: Frame
    "what surrounds the page"
    pages: tuple[Link, ...] = ()
    "in the owner's order"


PagesView = StandingView | PageListView


def list_standing_pages(context: PageContext) -> dict[str, Callable[[], PagesView]]:
    """The standing pages by their paths, in the owner's order; and their list, where the navigation has no room."""

    # A function, as a lambda made in the loop below would make the last page for each.
    def make(page: StandingPage) -> Callable[[], StandingView]:
        return lambda: _make_page(context, page)

    pages: dict[str, Callable[[], PagesView]] = {page_href(page.name): make(page) for page in context.figures.pages}
    if len(context.figures.pages) > MOST_IN_NAVIGATION:
        pages[LISTED] = lambda: _make_list(context)
    return pages


def _make_page(context: PageContext, page: StandingPage) -> StandingView:
    story, photos = context.stories[page.name], context.photos.get(page.name, {})
    title = context.owner_text(page.title)
    papers = (context.paper_link(paper) for paper in page.papers)
    return StandingView(
        frame=make_frame(context, page_href(page.name), title, context.owner_text(story.lead or page.title)),
        title=title,
        holds_from=context.when(page.date) if page.date else None,
        text=story.html,
        text_language=context.words_language,
        photos=tuple(photo.below() for file, photo in photos.items() if file not in story.photos),
        papers=tuple(paper for paper in papers if paper),
        sealed=describe_sealed(context, page),
    )


def _make_list(context: PageContext) -> PageListView:
    say = context.words.say
    description = say("%(title)s: what the owner keeps to look up.", title=context.title)
    return PageListView(
        frame=make_frame(context, LISTED, say("Pages"), description),
        pages=tuple(
            Link(text=context.owner_text(page.title), href=page_href(page.name)) for page in context.figures.pages
        ),
    )


def check_page_names(figures: Figures) -> Iterator[Problem]:
    """An error for each standing page that is named like one of the site's own, whose place readers know."""
    others = (("Photos", PICTURES), ("the list of pages", LISTED), ("Still to do", TO_DO), ("Tightening sheet", SHEET))
    ours = {path.removesuffix(".html"): name for name, path in (*SECTIONS, *others)}
    for page in figures.log.pages:
        if page.name in ours:
            yield Problem(
                rule="page-name",
                message=f"`{page.name}` is the name of one of the site's own pages: {ours[page.name]}",
                place=Place(page.place.file),
                help=f"rename it, as in `pages/our-{page.name}.md`",
            )


StoryLinks = Mapping[str, Mapping[str, str]]
"Where a link in a story leads, by what it is told in (`entry`, `page`), then by the name that the link gives."


def list_links(told: Iterable[Told]) -> StoryLinks:
    """Where links may lead: to the entries and standing pages that are given."""
    some = tuple(told)
    # By an old name too, and without a word: whoever sealed a story will not change it for the sake of a link.
    old = list_old_names(each for each in some if not isinstance(each, StandingPage))
    pages = [each.name for each in some if isinstance(each, StandingPage)]
    entries = [each.name for each in some if not isinstance(each, StandingPage)]
    # Relative, as every link: both kinds stand one folder down, each in its own.
    leads = {name: entry.name for name, entry in old.items()} | {name: name for name in entries}
    return {
        "entry": {name: f"{to}.html" for name, to in leads.items()} | {name: f"../pages/{name}.html" for name in pages},
        "page": {name: f"../entries/{to}.html" for name, to in leads.items()}
        | {name: f"{name}.html" for name in pages},
    }


def tell_story(told: Told, shows: Mapping[str, ShowPhoto], links: StoryLinks) -> Story:
    """The story of an entry, or the text of a standing page; `shows` has its photos by file name."""
    whose = "page" if isinstance(told, StandingPage) else "entry"
    place = Place(told.place.file, told.body_line)
    return render_story(told.body, place=place, photos=shows, pages=links[whose], whose=whose)
