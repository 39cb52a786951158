"""Editions for tests: a log as an owner writes it, and everything that a page is finished from."""

from __future__ import annotations

from datetime import date

from buildlog.compute.figures import compute_figures
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.stories import list_problems, render_stories
from tests.support import log_of


def edition_of(
    *heads: str, settings: str, as_of: str = "2024-12-01", papers: frozenset[str] = frozenset()
) -> PageContext:
    """The edition of entries (named `e1`, `e2` …) as of a day, without photos."""
    figures = compute_figures(log_of(*heads, settings=settings, papers=papers), date.fromisoformat(as_of))
    stories = render_stories(figures, {})
    problems = list_problems(stories)
    assert problems == ()
    return PageContext(figures=figures, words=Words("en-GB"), stories=stories, photos={})
