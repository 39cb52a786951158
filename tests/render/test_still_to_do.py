"""What is still to do on pages: open items, what is wanted, lists with what is missing; an older log has none."""

from __future__ import annotations

from buildlog.render import addresses
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import make_costs
from buildlog.render.pages.entry import make_entry
from buildlog.render.pages.front import OPEN_ITEMS, make_front
from buildlog.render.pages.long_lists import LongListView
from buildlog.render.pages.still_to_do import make_to_do
from buildlog.render.pages.system import list_system_makers
from buildlog.render.pages.tightening import make_tightening
from buildlog.render.pieces import Link
from buildlog.render.render import list_view_makers
from tests.render.editions import edition_of

SETTINGS = """
machine: {name: Test machine, meter: {unit: mi}}
money: {currency: GBP, budget: {brakes: 20.00}}
systems: {brakes: Brakes, fuel: Fuel}
public: {prices: PRICES, suppliers: SUPPLIERS}
"""
LISTS = """
lists:
  road:
    name: Before the road
    items: [{what: Pedal hard, caution: Brakes belong to qualified people, for: brakes}, Lamps burn, Horn sounds]
"""
FIRST = """
date: 2024-05-01
title: First
next: [Bleed again, Order a cap]
wanted: [{part: hose, qty: 3, about: 45.00, for: brakes, from: Hose man}, {what: Grease, for: brakes}]
"""
SECOND = """
date: 2024-05-11
title: Second
systems: [brakes]
done: [Order a cap]
ticked: {list: road, items: [Pedal hard, lamps], note: By two people}
"""


def edit(*heads: str, prices: str = "shown", suppliers: str = "shown", lists: str = LISTS) -> PageContext:
    settings = SETTINGS.replace("PRICES", prices).replace("SUPPLIERS", suppliers) + lists
    return edition_of(*heads, settings=settings, as_of="2024-06-01")


def test_the_front_lists_what_is_open_with_its_entry() -> None:
    """Oldest first, 31 days from 1 May to 1 June; what is done is not there, nor what only the last entry says."""
    view = make_front(edit(FIRST, SECOND))
    assert [(row.what, row.since.text, row.entry, row.age) for row in view.open_items] == [
        ("Bleed again", "1 May 2024", Link(text="First", href="entries/e1.html"), "4 weeks")
    ]
    assert (view.next, view.more_items) == ((), None)


def test_a_log_that_ends_no_item_shows_what_its_last_entry_says() -> None:
    """As before items stayed open: the last entry's alone, and no page of what is still to do."""
    plain = "date: 2024-05-01\nnext: [Bleed again]", "date: 2024-05-11\nnext: [Order a cap]"
    context = edit(*plain, lists="")
    view = make_front(context)
    assert (view.next, view.open_items, view.lists, view.wanted) == (("Order a cap",), (), (), ())
    assert addresses.TO_DO not in list_view_makers(context)


def test_a_long_list_is_cut_on_the_front_and_whole_on_its_page() -> None:
    """Twenty open items: the oldest eight, and the way to all of them."""
    many = f"date: 2024-05-01\nnext: [{', '.join(f'Job {n}' for n in range(21))}]", "date: 2024-05-02\ndone: [Job 20]"
    view, page = make_front(edit(*many)), make_to_do(edit(*many))
    assert [row.what for row in view.open_items] == [f"Job {n}" for n in range(OPEN_ITEMS)]
    assert view.more_items == Link(text="and 12 more", href="to-do.html#items")
    assert (len(page.items), page.items_pages) == (20, ())
    assert [(row.what, row.how, row.ended_in) for row in page.ended] == [
        ("Job 20", "done", Link(text="e2", href="entries/e2.html"))
    ]


def test_hundreds_of_items_have_pages_of_periods() -> None:
    """Of 300, the oldest 40, and all of them on the page of their year; so with what is wanted, but for log.yaml's."""
    jobs = ", ".join(f"Job {n}" for n in range(301))
    wishes = ", ".join(f"{{what: Thing {n}}}" for n in range(101))
    many = f"date: 2024-05-01\nnext: [{jobs}]\nwanted: [{wishes}]", "date: 2024-05-02\ndone: [Job 300]"
    context = edit(*many, lists="wanted: {what: Hood}")
    page, makers = make_to_do(context), list_view_makers(context)
    assert [row.what for row in page.items] == [f"Job {n}" for n in range(40)]
    assert page.items_pages == (Link(text="2024", href="to-do/open-2024.html"),)
    assert [row.what.text for row in page.wanted] == ["Hood", *(f"Thing {n}" for n in range(40))]
    assert page.wanted_pages == (Link(text="2024", href="to-do/wanted-2024.html"),)
    items, wanted = makers["to-do/open-2024.html"](), makers["to-do/wanted-2024.html"]()
    assert isinstance(items, LongListView) and isinstance(wanted, LongListView)
    assert (len(items.items), len(wanted.wanted)) == (300, 101)


def test_a_system_has_the_open_items_of_its_entries_and_what_is_wanted_for_it() -> None:
    """An entry about both stands with both; what is done, ordered or of another system is not there."""
    context = edit(
        "date: 2024-05-01\nsystems: [brakes]\nnext: [Bleed again, Order a cap]\n"
        "wanted: [{what: Hose, for: brakes}, {what: Cap, for: fuel}, {what: Pads, for: brakes}]",
        "date: 2024-05-02\nsystems: [brakes, fuel]\nnext: [Clean up]\ndone: [Order a cap]\n"
        "bought: {from: A, lines: [{what: Pads, each: 1}]}",
        lists="",
    )
    pages = {path: make() for path, make in list_system_makers(context).items()}
    brakes, fuel = pages["systems/brakes.html"], pages["systems/fuel.html"]
    assert [row.what for row in brakes.to_do] == ["Bleed again", "Clean up"]
    assert [row.what.text for row in brakes.wanted] == ["Hose"]
    assert ([row.what for row in fuel.to_do], [row.what.text for row in fuel.wanted]) == (["Clean up"], ["Cap"])
    assert (brakes.more_to_do, brakes.more_wanted) == (None, None)


def test_a_system_s_page_cuts_what_is_too_much() -> None:
    """The oldest thirty of 41, with the way to all of them."""
    jobs = ", ".join(f"Job {n}" for n in range(42))
    wishes = ", ".join(f"{{what: Thing {n}, for: fuel}}" for n in range(41))
    first = f"date: 2024-05-01\nsystems: [fuel]\nnext: [{jobs}]\nwanted: [{wishes}]"
    context = edit(first, "date: 2024-05-02\ndone: [Job 41]")
    fuel = list_system_makers(context)["systems/fuel.html"]()
    assert (len(fuel.to_do), fuel.more_to_do) == (30, Link(text="and 11 more", href="to-do.html#items"))
    assert (len(fuel.wanted), fuel.more_wanted) == (30, Link(text="and 11 more", href="to-do.html#wanted"))


def test_a_list_shows_what_is_missing_with_its_caution() -> None:
    """Two of three ticked: the missing one on the front, every one on the page, with its tick's entry or `missing`."""
    (front,) = make_front(edit(FIRST, SECOND)).lists
    assert (front.name, front.state) == ("Before the road", "1 of 3 missing")
    assert [row.what for row in front.missing] == ["Horn sounds"]
    pedal, lamps, horn = make_to_do(edit(FIRST, SECOND)).lists[0].rows
    assert pedal.ticked is not None and pedal.ticked.text == "11 May 2024"
    assert (pedal.caution, pedal.note, pedal.worked) == ("Brakes belong to qualified people", "By two people", None)
    assert (lamps.entry, horn.ticked, horn.entry) == (Link(text="Second", href="entries/e2.html"), None, None)


def test_later_work_stands_beside_a_tick() -> None:
    """Brakes were ticked on 11 May and worked on on 20 May: the list says so, and does not call itself done."""
    later = "date: 2024-05-20\ntitle: Third\nsystems: [brakes]\nticked: {list: road, items: horn}"
    (checklist,) = make_to_do(edit(FIRST, SECOND, later)).lists
    assert checklist.state == "all 3 ticked, 1 of them before later work"
    assert checklist.rows[0].worked == Link(text="Third", href="entries/e3.html")


def test_wanted_things_have_prices_only_where_prices_are_shown() -> None:
    """A single guess is a single price, and a sum of few tells of it; who has it is a supplier."""
    shown, totals = make_to_do(edit(FIRST)), make_to_do(edit(FIRST, prices="totals", suppliers="hidden"))
    hidden = make_to_do(edit(FIRST, prices="hidden"))
    assert [(row.what.text, row.qty, row.system, row.supplier, row.amount) for row in shown.wanted] == [
        ("Hose", "3", "Brakes", "Hose man", "£45.00"), ("Grease", "", "Brakes", "", "")
    ]  # fmt: skip
    assert (shown.wanted_sum, shown.unpriced) == ("£45.00", "1 without a price, counted as nothing")
    assert [(row.supplier, row.amount) for row in totals.wanted] == [("", ""), ("", "")]
    assert (totals.wanted_sum, hidden.wanted_sum, hidden.unpriced) == ("", "", "")


def test_the_costs_page_has_a_forecast_where_something_is_wanted() -> None:
    """Of 20.00 for brakes nothing is spent and 45.00 wanted: the forecast is over it; without a wish it is nothing."""
    view = make_costs(edit(FIRST))
    brakes, whole = view.plan
    assert (brakes.name, brakes.wanted, brakes.forecast, brakes.budget, brakes.forecast_over, brakes.over) == (
        "Brakes", "£45.00", "£45.00", "£20.00", True, False,
    )  # fmt: skip
    assert (whole.name, whole.forecast, whole.is_total) == ("All of it", "£45.00", True)
    assert [row.what.text for row in view.wanted] == ["Hose", "Grease"]
    none = make_costs(edit("date: 2024-05-01"))
    assert [row.budget for row in none.plan] == ["£20.00", "£20.00"]
    assert (none.plan[0].forecast, none.wanted) == ("£0.00", ())
    assert make_costs(edit(FIRST, prices="hidden")).plan == ()


def test_an_entry_says_what_it_ends_ticks_and_wants() -> None:
    """Each under its own heading, leading to where it comes from."""
    context = edit(FIRST, SECOND, "date: 2024-05-20\nunwanted: grease")
    first, second, third = (
        make_entry(context, entry, before=None, after=None).plans for entry in context.figures.entries
    )
    assert [(part.title, [act.what.text for act in part.acts]) for part in first] == [("Wanted", ["Hose", "Grease"])]
    assert first[0].acts[0].notes == ("about £45.00", "Hose man", "not ordered yet")
    assert first[0].acts[1].notes == ("no longer wanted",)
    done, ticked = second
    assert done.acts[0].what == Link(text="Order a cap", href="entries/e1.html#next")
    assert ticked.acts[0].what == Link(text="Before the road", href="to-do.html#list-road")
    assert ticked.acts[0].notes == ("Pedal hard, lamps", "By two people")
    assert [(part.title, part.acts[0].what.text) for part in third] == [("No longer wanted", "grease")]


# ── the tightening sheet ─────────────────────────────────────────────────────────────────────────────────────────

WHEELS = "date: 2024-05-01\ntitle: On\nsystems: [brakes]\ntightened: [{what: Wheel nuts, qty: 20, to: 110 N·m}]"
AGAIN = (
    "date: 2024-05-09\nreading: 100\ntitle: Again\nsystems: [fuel, brakes]\ntightened: [{what: wheel nuts, qty: 20, "
    "to: 80 lbf·ft + 90°, method: crosswise, recheck: 20 days}, {what: Rod, to: 4 kgf·m}, {what: Cap, to: by hand}]"
)


def test_the_sheet_has_each_fastener_once_as_it_was_last_tightened() -> None:
    """By system; 80 lbf·ft is 108.5 N·m to three figures, 110 as exact as it is written: 80 is two, so 110."""
    view = make_tightening(edit(WHEELS, AGAIN))
    assert [group.name for group in view.groups] == ["Brakes", "Brakes and Fuel"] or [
        group.name for group in view.groups
    ] == ["Brakes", "Fuel and Brakes"]
    (wheels,) = view.groups[0].rows
    assert (wheels.what, wheels.qty, wheels.imperial, wheels.method, wheels.times) == (
        "wheel nuts", "20", "80\u00a0lbf·ft + 90°", "crosswise", "2 times",
    )  # fmt: skip
    assert wheels.metric.endswith("\u00a0N·m + 90°") and wheels.written == ""
    assert wheels.entry == Link(text="Again", href="entries/e2.html#tightened")
    # 20 days from 9 May is 29 May, and it is 1 June: three days late, at the top of the sheet as well.
    assert (wheels.recheck, wheels.state) == ("check again: overdue by 3 days", "overdue")
    assert view.to_check == ("wheel nuts: check again: overdue by 3 days",)
    rod, cap = view.groups[1].rows
    # 4 kgf·m = 39.2266 N·m (1 kgf = 9.80665 N, NIST SP 811), to as many figures as were written.
    assert (rod.metric, rod.written) == ("39\u00a0N·m", "4 kgf·m")
    assert (cap.metric, cap.imperial, cap.written) == ("by hand", "", "")


def test_there_is_no_sheet_without_a_torque() -> None:
    """The page comes with the first fastener, and the service history leads to it."""
    assert addresses.TORQUES not in list_view_makers(edit(FIRST))
    makers = list_view_makers(edit(WHEELS))
    assert addresses.TORQUES in makers
