"""The costs: what stands over lines is what the lines come to."""

from __future__ import annotations

import re

from buildlog.problems import Place
from buildlog.render.marks import mark_owner_text
from buildlog.render.pages.costs import make_costs
from buildlog.render.pages.entry import make_entry
from buildlog.render.pages.faults import make_faults
from buildlog.render.pages.parts import make_parts
from buildlog.render.pieces import Link
from buildlog.render.theme import load_theme
from tests.render.editions import edition_of

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


def test_before_anything_is_bought_that_is_said_once() -> None:
    """No heading stands over nothing: neither a way of adding up, nor what was done twice."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    heads = []
    for entry in ("date: 2024-06-08\nhours: 4.5", HEAD):
        view = make_costs(edition_of(entry, settings=SETTINGS))
        page = theme.render("costs.html", {"view": view, "frame": view.frame, "root": ""})
        heads.append(re.findall(r"<h2[^>]*>([^<]*)</h2>", page))
    assert heads[0] == ["Not in these totals", "Month by month"]
    assert {"By system", "By kind", "By supplier", "Rework"} <= {*heads[1]}


def test_a_gift_and_a_core_are_shown_by_their_own_names() -> None:
    """What is kept track of as a part links to its life; anything else has its own words, and the entry beside it."""
    head = """
    date: 2024-06-08
    title: A parcel
    bought:
      from: A
      paid: 2024-06-08
      lines:
        - {what: Box of rags, each: 0, worth: 8.00}
        - {part: pump, name: Lift pump, each: 0, worth: 90.00}
        - {what: Exchange starter, each: 50.00, core: 20.00}
    """
    view = make_costs(edition_of(head, settings=SETTINGS))
    entry = Link(text="A parcel", href="entries/e1.html")
    assert [(row.what, row.entry) for row in view.gifts] == [
        (Link(text="Box of rags"), entry), (Link(text="Lift pump", href="parts.html#part-pump"), entry)
    ]  # fmt: skip
    assert [row.part for row in view.cores] == [Link(text="Exchange starter", href="entries/e1.html")]


def test_a_line_without_name_or_number_is_called_unnamed_wherever_it_stands() -> None:
    """A number does for a name; with neither, the site's own words stand there, and are not marked as the owner's."""
    head = """
    date: 2024-06-08
    title: Parcels
    faults: {fault: leak}
    bought:
      - {from: A, paid: 2024-06-08, lines: [{each: 5.00, fault: leak, worth: 8.00}, {number: HS 12, each: 6.00}]}
      - {from: B, lines: {each: 7.00, qty: 2}}
    """
    edition = edition_of(head, settings=SETTINGS + "site: {language: de}\n")
    view = make_costs(edition)
    unnamed = Link(text="unnamed item")
    assert [line.what for line in view.months[0].lines] == ["unnamed item", mark_owner_text("HS 12")]
    assert [row.what for row in view.gifts] == [unnamed]
    (entry,) = edition.entries.values()
    lines = [line.what for order in make_entry(edition, entry, before=None, after=None).orders for line in order.lines]
    assert lines == [unnamed, Link(text=mark_owner_text("HS 12"), href="parts.html#part-hs12"), unnamed]
    (post,) = [row for row in make_parts(edition).post if row.supplier == mark_owner_text("B")]
    assert post.what == Link(text="unnamed item", href="entries/e1.html")
    (fault,) = make_faults(edition).open
    assert [row.what for row in fault.story if row.did == "Bought for it"] == ["unnamed item"]


def test_what_was_sold_is_named_on_its_entry() -> None:
    """A part off the shelf, one of the machine's own by its name alone, and what nobody kept track of."""
    off = "date: 2024-06-01\nremoved: {part: original, name: Lift pump, fate: kept}\n"
    bought = "bought: {from: A, arrived: 2024-06-01, lines: {part: seal, name: Seal, each: 2.00}}"
    sold = "{part: seal, price: 1.00}, {name: Lift pump, price: 20.00}, {what: Rack, price: 5.00}"
    context = edition_of(off + bought, f"date: 2024-06-08\nsold: [{sold}]", settings=SETTINGS)
    acts = make_entry(context, context.entries["e2"], before=None, after=None).sold
    assert [act.what for act in acts] == [
        Link(text="Seal", href="parts.html#part-seal"),
        Link(text="Lift pump", href="parts.html#part-original-lift-pump"),
        Link(text="Rack"),
    ]


def test_what_one_entry_tells_of_a_part_leads_there_once() -> None:
    """Ordered, come and fitted by one entry: its link stands below the last of them, and none is without a link."""
    bought = "bought: {from: A, arrived: 2024-06-01, lines: {part: hose, qty: 2, each: 2.00}}"
    fitted, removed = "fitted: {part: hose}", "removed: {part: hose, fate: scrapped}"
    context = edition_of(f"date: 2024-06-01\n{bought}\n{fitted}", f"date: 2024-06-08\n{removed}", settings=SETTINGS)
    (group,) = make_parts(context).groups
    life = [(event.did, event.entry and event.entry.href) for event in group.parts[0].life]
    assert life == [
        ("ordered 2", None), ("arrived 2", None), ("fitted", "entries/e1.html"), ("removed", "entries/e2.html")
    ]  # fmt: skip


def test_quantities_of_a_part_have_their_unit() -> None:
    """Five metres of hose, two of them fitted: on the entry, the shelf, the machine, in each event of its life."""
    bought = "bought: {from: A, arrived: 2024-06-01, lines: {part: hose, qty: 5, unit: m, each: 2.00}}"
    context = edition_of(f"date: 2024-06-01\n{bought}\nfitted: {{part: hose, qty: 2}}", settings=SETTINGS)
    (act,) = make_entry(context, context.entries["e1"], before=None, after=None).fitted
    assert act.qty == "2\u00a0m"
    view = make_parts(context)
    (group,) = view.groups
    assert group.parts[0].where == "2\u00a0m fitted, 3\u00a0m on the shelf"
    assert [event.did for event in group.parts[0].life] == [
        "ordered 5\u00a0m", "arrived 5\u00a0m", "fitted 2\u00a0m"
    ]  # fmt: skip
    assert [row.qty for row in view.shelf] == ["3\u00a0m"]
    assert [row.qty for group in view.fitted for row in group.rows] == ["2\u00a0m"]
