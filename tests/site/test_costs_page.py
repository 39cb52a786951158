"""The costs: what stands over lines is what the lines come to."""

from __future__ import annotations

import re

from buildlog.problems import Place
from buildlog.site.pages.costs import make_costs
from buildlog.site.theme import load_theme
from tests.site.editions import edition_of

SETTINGS = """\
machine: {name: Test machine}
money: {currency: GBP}
public: {prices: shown}
"""
HEAD = """
    date: 2024-06-08
    bought: {from: A, paid: 2024-06-08, lines: {what: Tyres, each: 585.00}}
    sold: {what: Plough frame, price: 140.00}
"""


def test_a_month_comes_to_what_its_lines_come_to() -> None:
    """585.00 spent and 140.00 recovered: the lines £585.00 and −£140.00 stand under £445.00."""
    view = make_costs(edition_of(HEAD, settings=SETTINGS))
    (month,) = view.months
    assert (month.spent, month.recovered, month.net) == ("£585.00", "£140.00", "£445.00")
    assert [line.amount for line in month.lines] == ["£585.00", "−£140.00"]
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    page = theme.render("costs.html", {"view": view, "frame": view.frame, "root": ""})
    fold = re.search('<summary><span class="what">June 2024</span>.*', page)
    assert fold and "£445.00" in fold[0]
