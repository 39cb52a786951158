"""The figures beside an entry: two sums that mean different days say which."""

from __future__ import annotations

import re

import pytest

from buildlog.problems import Place
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry import make_entry
from buildlog.render.pages.timeline import make_timeline
from buildlog.render.theme import load_theme
from tests.render.editions import edition_of

SETTINGS = "machine: {name: Test machine}\nmoney: {currency: GBP}\npublic: {prices: shown}\n"
EARLIER = "date: 2024-03-01\nbought: {from: A, paid: 2024-03-01, lines: {what: Jack, each: 40.00}}"
ORDERED = "date: 2024-03-03\nbought: {from: A, ref: B1, paid: %s, lines: {what: Tyres, each: 585.00}}"


def list_figures(context: PageContext, name: str) -> list[list[tuple[str, str]]]:
    """The figures beside an entry as a reader sees them: on its own page, and on the timeline."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    pages = (make_entry(context, context.entries[name], before=None, after=None), make_timeline(context))
    found = []
    for view in pages:
        page = theme.render(view.TEMPLATE, {"view": view, "frame": view.frame, "root": view.frame.root})
        lists = re.findall(r'<dl class="figures">.*?</dl>', page, re.DOTALL)
        found.append(re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", lists[-1]))
    return found


@pytest.mark.parametrize(
    ("paid", "figures"),
    [
        ("2024-03-03", [("cost", "£585.00"), ("net to date", "£625.00")]),
        ("2024-02-27", [("cost", "£585.00"), ("net to date", "£625.00")]),
        ("2024-06-12", [("cost by 12 June 2024", "£585.00"), ("net to date", "£40.00")]),
    ],
)
def test_cost_and_running_total_say_their_days(paid: str, figures: list[tuple[str, str]]) -> None:
    """An order that was paid after its entry's day is in the cost of the entry, not in the total of that day."""
    context = edition_of(EARLIER, ORDERED % paid, settings=SETTINGS)
    assert list_figures(context, "e2") == [figures, figures]


def test_hidden_money_leaves_no_day_of_it() -> None:
    """Where prices are hidden neither a sum nor the day of a payment stands there."""
    context = edition_of(ORDERED % "2024-06-12", settings=SETTINGS.replace("shown", "hidden"))
    margin = context.margin("e1")
    assert (margin.cost, margin.cost_by, margin.running) == ("", "", "")
