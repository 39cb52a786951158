"""Standing pages: what is looked up again and again, as the owner wrote it; where they are many, a list of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.read.records import StandingPage
from buildlog.render.addresses import LISTED, page_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import MOST_IN_NAVIGATION, Frame, make_frame
from buildlog.render.pages.record import SealedView, describe_sealed
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
