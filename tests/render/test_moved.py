"""The page at the old address of an entry that was renamed leads on, and the feed knows the entry by its first name."""

from __future__ import annotations

import datetime
import re
from dataclasses import replace

from buildlog.compute.figures import compute_figures
from buildlog.problems import Place
from buildlog.render.hosting import describe_feed, write_feed
from buildlog.render.render import make_context, render_site
from buildlog.render.theme import load_theme
from tests.support import log_of

SETTINGS = """
machine: {name: Test machine}
money: {currency: GBP}
site: {id: test, address: https://example.org/log/, language: LANGUAGE}
"""
HEAD = "date: 2024-05-18\ntitle: Pump <off>\nwas: [first, second]"


def render(*heads: str, body: str = "", day: str = "2024-12-01", language: str = "en-GB") -> dict[str, str]:
    """The pages and the feed of a log, the first entry with a story."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    log = log_of(*heads, settings=SETTINGS.replace("LANGUAGE", language))
    log = replace(log, entries=(replace(log.entries[0], body=body), *log.entries[1:]))
    files, problems = render_site(compute_figures(log, datetime.date.fromisoformat(day)), theme, lambda name: None)
    assert problems == ()
    texts = (".html", ".xml", ".js", ".css", ".svg")
    return {path: bytes(made).decode() for path, made in files.items() if path.endswith(texts)}


def test_an_old_address_leads_on() -> None:
    """At once, without a script, by a relative address, so from a folder on a disk as well; search engines pass by."""
    pages = render(HEAD)
    for old in ("first", "second"):
        page = pages[f"entries/{old}.html"]
        assert '<meta http-equiv="refresh" content="0; url=e1.html">' in page
        assert '<link rel="canonical" href="https://example.org/log/entries/e1.html">' in page
        assert '<meta name="robots" content="noindex">' in page
        assert '<a href="e1.html">Pump &lt;off&gt;</a>' in page
        assert "<script" not in page
        # First after the charset, as on every page (CSP Level 3, section 3.3).
        assert re.search(r'<meta charset="utf-8">\s*<meta http-equiv="Content-Security-Policy"', page)
        assert f"{old}.html" not in pages["sitemap.xml"]
        assert not [path for path, text in pages.items() if f'href="{old}.html"' in text or f"entries/{old}" in text]


def test_before_its_day_a_renamed_entry_has_no_page_at_all() -> None:
    """An old name gives away no entry of a later day."""
    assert not [path for path in render(HEAD, day="2024-05-17") if path.startswith("entries/")]


def test_the_id_in_the_feed_is_that_of_the_first_name() -> None:
    """RFC 4287, section 4.2.6: an id is kept whatever else is changed. Renamed twice, it is the oldest name's."""

    def find_id(name: str, *was: str) -> str:
        log = log_of("date: 2024-05-18\ntitle: A", settings=SETTINGS.replace("LANGUAGE", "en-GB"))
        log = replace(log, entries=(replace(log.entries[0], name=name, was=was),))
        theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
        assert theme is not None
        context = make_context(compute_figures(log, datetime.date(2024, 12, 1)), theme, lambda name: None)
        return re.findall("<id>(.*?)</id>", write_feed(describe_feed(context)).decode())[1]

    assert find_id("one") == find_id("two", "one") == find_id("three", "one", "two")
    assert find_id("one") != find_id("two")


def test_links_by_an_old_name_go_on_working() -> None:
    """Without a warning: whoever sealed a story will not change it for a link."""
    pages = render("date: 2024-05-17\ntitle: Before", HEAD, body="[the one](first.md) and [again](e2.md)")
    assert '<a href="e2.html">the one</a> and <a href="e2.html">again</a>' in pages["entries/e1.html"]


def test_in_another_language_the_title_says_so() -> None:
    """The page is English, and the owner's words on it are marked."""
    page = render(HEAD, language="de")["entries/first.html"]
    assert '<html lang="en-GB">' in page
    assert re.search(r'<h1[^>]*lang="de"', page) and re.search(r'<a [^>]*lang="de"', page)
