"""Stories: the text of each entry and standing page as HTML, with its photos and with links to the others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from buildlog.problems import Place, Problem
from buildlog.read.records import StandingPage, list_old_names
from buildlog.render.markdown import ShowPhoto, Story, render_story
from buildlog.render.pages.photos import LazyMapping, PassingMapping, Photos, Told, list_told

if TYPE_CHECKING:
    from buildlog.compute.figures import Figures
    from buildlog.render.theme import Theme

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


StoryPhotos = Mapping[str, Mapping[str, ShowPhoto]]
"How a story shows each photo: by the name of its entry or page, then by file name."


def render_stories(figures: Figures, shows: StoryPhotos) -> Mapping[str, Story]:
    """The story of each entry and standing page as HTML, by name, rendered when it is asked for."""
    told = {each.name: each for each in list_told(figures)}
    links = list_links(told.values())

    # Rendered only when asked for: a story with pictures waits for them, and until they are there the pages without
    # any are made.
    def render(name: str) -> Story:
        return tell_story(told[name], shows.get(name, {}), links)

    return LazyMapping(told, render)


def list_problems(stories: Mapping[str, Story]) -> tuple[Problem, ...]:
    """What in the stories cannot be shown as it was written, in the order of the stories."""
    return tuple(problem for story in stories.values() for problem in story.problems)


def list_story_photos(photos: Photos, theme: Theme) -> StoryPhotos:
    """The markup of each photo inside a story, as the theme has it."""

    # A function, as a lambda made in the loop below would show the last photo for each. Its view is made only where a
    # story shows it: most photos stand below their story, and in none.
    def show(entry: str, file: str) -> ShowPhoto:
        return lambda alt: theme.render("story_photo.html", {"photo": photos[entry][file].below(), "alt": alt})

    return PassingMapping(photos, lambda entry: {file: show(entry, file) for file in photos[entry]})
