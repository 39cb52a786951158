"""A page or any other file of a site, asked for by its path and made alone."""

from __future__ import annotations

import datetime

from buildlog.compute.figures import compute_figures
from buildlog.render.render import list_makers, list_view_makers, make_context, render_site
from buildlog.render.theme import load_theme
from tests.support import SETTINGS, log_of

DAY = datetime.date(2024, 7, 1)
HEADS = (
    "date: 2024-05-18\nbought: {from: A, lines: [{part: hose, each: 6.10}]}",
    "date: 2024-05-20\nfitted: hose",
)


def test_each_page_is_made_under_its_own_path() -> None:
    """What is made under a path says that it is that page, an entry's as well as the front page."""
    log = log_of(*HEADS, settings=SETTINGS)
    theme, _ = load_theme("margin", place=log.settings.place)
    assert theme is not None
    makers = list_view_makers(make_context(compute_figures(log, DAY), theme, lambda name: None))
    assert {path: make().frame.path for path, make in makers.items()} == {path: path for path in makers}
    assert {"index.html", "entries/e1.html", "entries/e2.html"} < {*makers}


def test_a_file_made_alone_is_the_one_of_the_whole_site() -> None:
    """In any order, each with values of its own: no file needs another to be made before it."""
    log = log_of(*HEADS, settings=SETTINGS + "site: {address: 'https://example.org/', id: x}")
    theme, _ = load_theme("margin", place=log.settings.place)
    assert theme is not None
    figures = compute_figures(log, DAY)
    whole, _ = render_site(figures, theme, lambda name: None)
    alone = {
        path: list_makers(make_context(figures, theme, lambda name: None), theme)[path]() for path in reversed([*whole])
    }
    assert alone == whole
    assert {"feed.xml", "sitemap.xml", "timeline.html", "theme/margin.css"} < {*whole}


def test_what_leads_to_the_page_itself_says_no_more_than_where() -> None:
    """A part is linked by its place alone on the page of parts, and from elsewhere by that page."""
    log = log_of(*HEADS, settings=SETTINGS)
    theme, _ = load_theme("margin", place=log.settings.place)
    assert theme is not None
    files, _ = render_site(compute_figures(log, DAY), theme, lambda name: None)
    parts, entry = files["parts.html"], files["entries/e2.html"]
    assert isinstance(parts, bytes) and isinstance(entry, bytes)
    assert b'href="#part-hose"' in parts and b'href="parts.html#' not in parts
    assert b'href="../parts.html#part-hose"' in entry
