"""Which pages of its own the site leads to: those that have something to say, of a log as short as it may be."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from buildlog.render.addresses import SECTIONS
from buildlog.render.hosting import _list_pages
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import make_costs
from buildlog.render.pages.faults import make_faults
from buildlog.render.pages.frame import Frame, list_sections, make_frame
from buildlog.render.pages.parts import make_parts
from buildlog.render.search import SearchIndex
from tests.render.editions import edition_of

MACHINE = "machine: {name: Test machine, meter: km}\n"
SETTINGS = f"{MACHINE}money: {{currency: GBP}}\n"
FIRST = "date: 2024-05-18\ntitle: Home on a trailer"
ALWAYS = {"index.html", "timeline.html", "service.html", "record.html"}

MAKERS: dict[str, Callable[[PageContext], Frame]] = {
    "costs.html": lambda context: make_costs(context).frame,
    "parts.html": lambda context: make_parts(context).frame,
    "faults.html": lambda context: make_faults(context).frame,
}


def test_a_log_of_one_entry_leads_to_what_it_has() -> None:
    """Costs, parts and faults stand in no navigation; the pages are there, and search engines pass them over."""
    context = edition_of(FIRST, settings=SETTINGS)
    front = make_frame(context, "index.html", "Test machine", "")
    assert [section.href for section in front.sections] == [href for _, href in SECTIONS if href in ALWAYS]
    assert {path: make(context).unlisted for path, make in MAKERS.items()} == dict.fromkeys(MAKERS, True)
    assert not front.unlisted


@pytest.mark.parametrize(
    ("more", "settings", "found"),
    [
        ("bought: {from: A, paid: 2024-05-18, lines: [{what: rope, each: 6.10}]}", "", {"costs.html", "parts.html"}),
        ("bought: {from: A, lines: [{what: rope, each: 6.10}]}", "", {"costs.html", "parts.html"}),
        ("hours: 2", "", {"costs.html"}),
        ("stripped: [floor]", "strip_downs: {floor: {name: Floor, hours: 1}}\n", {"faults.html"}),
        ("", "strip_downs: {floor: {name: Floor, hours: 1}}\n", set()),
        ("", "public: {prices: hidden}\n", {"costs.html"}),
        ("", "systems: {fuel: Fuel}\nmoney: {currency: GBP, budget: {fuel: 500}}\n", {"costs.html"}),
        ("", "acquired: {date: 2024-05-01, price: 900, reading: 1200}\npublic: {prices: shown}\n", {"costs.html"}),
        ("", "acquired: {date: 2024-05-01, price: 900, reading: 1200}\npublic: {prices: totals}\n", set()),
        ("faults: [{fault: smoke, name: Smoke}]", "", {"faults.html"}),
    ],
)
def test_what_there_is_has_its_page(more: str, settings: str, found: set[str]) -> None:
    """An order, paid or not, hours, what came off, a budget, a fault: the navigation leads there."""
    context = edition_of(f"{FIRST}\n{more}", settings=(MACHINE if "money:" in settings else SETTINGS) + settings)
    assert {href for _, href in list_sections(context)} - ALWAYS == found
    assert {path for path, make in MAKERS.items() if not make(context).unlisted} == found


def test_nobody_is_sent_to_what_has_nothing() -> None:
    """Neither the sitemap nor the search names a page without anything; both name it when it has something."""
    for more, found in (("", set()), ("\nhours: 2", {"costs.html"})):
        context = edition_of(FIRST + more, settings=SETTINGS)
        paths = [href for _, href in SECTIONS]
        assert set(_list_pages(context, paths)) & set(MAKERS) == found
        assert {row[0] for row in SearchIndex(context)._list_pages()} & set(MAKERS) == found
