"""The page of faults: each hunt told whole, nothing closed without a proof, money no further than it is opened."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from buildlog.compute.faults import check_order
from buildlog.problems import Place
from buildlog.render.pages.entry import make_entry
from buildlog.render.pages.entry_work import Act, FaultNeighbours
from buildlog.render.pages.faults import (
    AgainRow,
    ApartView,
    FaultsView,
    MadeGoodRow,
    MissingRow,
    OpeningRow,
    ReachRow,
    make_faults,
)
from buildlog.render.pages.front import make_front
from buildlog.render.pages.hunt import FaultView, StoryRow, SuspectRow
from buildlog.render.pages.hunt_drawn import ThreadsView
from buildlog.render.pages.hunt_next import CheckOrderView, CheckRow
from buildlog.render.pages.service import make_service
from buildlog.render.pieces import CostLine, Fact, FaultRow, Link, Sum, TemporaryRow, When
from buildlog.render.render import View
from buildlog.render.theme import load_theme
from tests.render.editions import edition_of

SETTINGS = """\
machine: {name: Test machine, meter: {unit: km}}
money: {currency: GBP}
systems: {fuel: Fuel}
public: {prices: shown}
components:
  return-hose: {name: Return hose, check_hours: 0.1, likely: 2}
  filter-head: {name: Filter head, check_hours: 0.2}
  lift-pump: {name: Lift pump, check_hours: 0.3, likely: 3, reached_by: pump-cover}
  feed-banjo: {name: Feed banjo, check_hours: 0.2, reached_by: pump-cover}
  tank-pickup: {name: Tank pick-up, check_hours: 0.2, likely: 4, reached_by: tank-down}
  belt: {name: Belt}
  water-pump: {name: Water pump, driven_by: belt}
  strainer: {name: Strainer, reached_by: pump-cover}
strip_downs:
  tray-off: {name: Tray, hours: 1}
  pump-cover: {name: Pump cover, hours: 1.5, after: [tray-off]}
  tank-down: {name: Tank, hours: 4}
service:
  strainer: {name: Fuel strainer, every: {months: 12}, system: fuel}
"""
SUSPECTS = "[return-hose, filter-head, lift-pump, feed-banjo, tank-pickup]"
NAMED = f"""\
date: 2024-05-01
title: Hot again
faults: {{fault: hot-start, name: Will not start hot, suspects: {SUSPECTS}}}"""
CLEARED = """\
date: 2024-05-08
title: Two checks
checks:
  - {fault: hot-start, did: Clear hose, clears: return-hose, hours: 0.2}
  - {fault: hot-start, did: Bled it hot, clears: filter-head}"""
CONDEMNED = """\
date: 2024-05-15
title: The pump
stripped: [tray-off, pump-cover]
refitted: [pump-cover, tray-off]
checks: {fault: hot-start, did: Gauge on the bench, cause: lift-pump, hours: 0.5}"""
FIXED = """\
date: 2024-05-22
title: New pump
bought:
  from: A shop
  arrived: 2024-05-20
  paid: 2024-05-20
  lines: {part: lift-pump, name: Lift pump, each: 118.40, fault: hot-start}
fitted: {part: lift-pump, instead_of: original}
fixed: {fault: hot-start, how: New pump}"""
PROVED = """\
date: 2024-06-01
title: Three restarts
fixed: {fault: hot-start, proved: three hot restarts}"""

FIRST = When(iso="2024-05-01", text="1 May 2024")
SECOND = When(iso="2024-05-08", text="8 May 2024")
THIRD = When(iso="2024-05-15", text="15 May 2024")
HOT = Link(text="Hot again", href="entries/e1.html")
TWO = Link(text="Two checks", href="entries/e2.html")
PUMP = Link(text="The pump", href="entries/e3.html")


def faults_of(*heads: str, settings: str = SETTINGS, as_of: str = "2024-06-10") -> FaultsView:
    return make_faults(edition_of(*heads, settings=settings, as_of=as_of))


def render(view: View) -> str:
    theme, _ = load_theme("margin", place=Place("log.yaml", 1, 1))
    assert theme is not None
    return theme.render(view.TEMPLATE, {"view": view, "frame": view.frame, "root": view.frame.root})


def test_an_open_hunt_is_told_whole() -> None:
    """Two of five suspects cleared: state, figures, suspects, order of checks and story stand word for word.

    Left weigh 3 + 1 + 4 = 8. Pump: 1 + 1.5 + 0.3 = 2.8 h; banjo 0.2 h more: 3.0; pick-up 4.2 h more: 7.2.
    Expected: (3 × 2.8 + 1 × 3.0 + 4 × 7.2) / 8 = 40.2 / 8 = 5.025 h, shown to a tenth.
    """
    view = faults_of(NAMED, CLEARED)
    assert (view.count, view.closed) == ("1 fault: 1 open, 0 confirmed fixed", ())
    # What is drawn of it is for the next test.
    (told,) = view.open
    assert told.look
    assert (replace(told, narrowed=ThreadsView(), look=replace(told.look, tree=())),) == (
        FaultView(
            key="hot-start",
            name="Will not start hot",
            state="narrowed",
            state_text="narrowed down, 3 of 5 left",
            facts=(
                Fact(name="open", value="6 weeks"),
                Fact(name="checks", value="2"),
                Fact(name="checking", value="0.2\u00a0h", note="plus 1 check with no time given"),
            ),
            left=tuple(SuspectRow(name=name, verdict="left") for name in ("Lift pump", "Feed banjo", "Tank pick-up")),
            cleared=(
                SuspectRow(name="Return hose", verdict="cleared", by="Clear hose", when=SECOND, entry=TWO),
                SuspectRow(name="Filter head", verdict="cleared", by="Bled it hot", when=SECOND, entry=TWO),
            ),
            look=CheckOrderView(
                rows=(
                    CheckRow(
                        name="Lift pump",
                        reason="3-in-8 likely, 2.8\u00a0h to check",
                        first="of which 2.5\u00a0h to get there: Tray, then Pump cover",
                        so_far="2.8\u00a0h",
                    ),
                    CheckRow(name="Feed banjo", reason="1-in-8 likely, 0.2\u00a0h to check", so_far="3\u00a0h"),
                    CheckRow(
                        name="Tank pick-up",
                        reason="4-in-8 likely, 4.2\u00a0h to check",
                        first="of which 4\u00a0h to get there: Tank",
                        so_far="7.2\u00a0h",
                    ),
                ),
                expected="5\u00a0h",
            ),
            story=(
                StoryRow(
                    when=FIRST,
                    did="Fault reported",
                    what="Return hose, Filter head, Lift pump, Feed banjo, Tank pick-up",
                    entry=HOT,
                ),
                StoryRow(
                    when=SECOND,
                    did="Checked",
                    what="Clear hose",
                    found=("cleared Return hose",),
                    left="4 left",
                    hours="0.2\u00a0h",
                    entry=TWO,
                ),
                StoryRow(
                    when=SECOND,
                    did="Checked",
                    what="Bled it hot",
                    found=("cleared Filter head",),
                    left="3 left",
                    entry=TWO,
                ),
            ),
            entries=(HOT, TWO),
        ),
    )


def test_a_hunt_is_drawn_as_threads_and_what_is_behind_what() -> None:
    """Each thread ends at the check that cleared it: of two checks at a third and two thirds of 98 %, from 1 % on.

    Those that are left run to the end, last and of another class; the tree has the numbers of the order to check.
    """
    (told,) = faults_of(NAMED, CLEARED).open
    ends = [(one.name, one.verdict, re.findall(r'x2="([\d.]+)%"', one.strip)[0]) for one in told.narrowed.threads]
    assert ends == [
        ("Return hose", "cleared", "33.67"),
        ("Filter head", "cleared", "66.33"),
        *((name, "left", "99") for name in ("Lift pump", "Feed banjo", "Tank pick-up")),
    ]
    assert told.look
    tray, tank = told.look.tree
    (cover,) = tray.behind
    assert (tray.name, tray.note, cover.name) == ("Tray", "1\u00a0h to take off and put back", "Pump cover")
    assert [(one.number, one.name) for one in (*cover.behind, *tank.behind)] == [
        ("1", "Lift pump"),
        ("2", "Feed banjo"),
        ("3", "Tank pick-up"),
    ]


def test_each_day_of_a_hunt_is_named_once() -> None:
    """Also where it was looked at on the day on which it came up."""
    looked = CLEARED.replace("2024-05-08", "2024-05-01")
    for second, days in ((CLEARED, ["8 May", "1 May"]), (looked, ["1 May"])):
        (told,) = faults_of(NAMED, second).open
        assert re.findall(r">([^<>]+)</text>", told.narrowed.axis) == days


def test_a_known_cause_stands_apart_from_what_was_never_cleared() -> None:
    """The condemned one is the cause; there is no more order of checks; the fault waits for its fix."""
    (fault,) = faults_of(NAMED, CLEARED, CONDEMNED).open
    assert (fault.state, fault.state_text, fault.look) == ("known", "cause known", None)
    assert fault.now == "The cause is known, but not fixed yet."
    by = "Gauge on the bench"
    assert fault.cause == SuspectRow(name="Lift pump", verdict="condemned", by=by, when=THIRD, entry=PUMP)
    assert [row.name for row in fault.left] == ["Feed banjo", "Tank pick-up"]


def test_a_fix_without_a_proof_is_open() -> None:
    """Fixed and not proved, it stands among the open faults of all three pages, and says what is missing."""
    heads = (NAMED, CLEARED, CONDEMNED, FIXED)
    context = edition_of(*heads, settings=SETTINGS, as_of="2024-06-10")
    view = make_faults(context)
    assert [(fault.state, fault.state_text) for fault in view.open] == [("unproved", "fixed, not confirmed")]
    assert view.open[0].now == "A fix is in, but nothing has confirmed it yet. Until then the fault counts as open."
    assert view.open[0].story[-1].found == ("not confirmed yet",)
    row = FaultRow(
        fault=Link(text="Will not start hot", href="faults.html#fault-hot-start"),
        state="unproved",
        state_text="fixed, not confirmed",
        since=FIRST,
        entry=HOT,
        age="6 weeks",
    )
    assert (make_front(context).faults, make_front(context).faults_count) == ((row,), "1 open")
    assert make_service(context).faults == (row,)


def test_a_proved_fault_is_closed_and_keeps_its_story() -> None:
    """Open from 1 May to 1 June: 31 days; one pump at 118.40; the proof is a row of its own."""
    view = faults_of(NAMED, CLEARED, CONDEMNED, FIXED, PROVED, as_of="2024-12-01")
    (fault,) = view.closed
    assert (view.open, view.count) == ((), "1 fault: 0 open, 1 confirmed fixed")
    assert (fault.state, fault.state_text, fault.now, fault.look) == ("proved", "confirmed fixed", "", None)
    assert fault.facts == (
        Fact(name="open for", value="4 weeks"),
        Fact(name="checks", value="3"),
        Fact(name="checking", value="0.7\u00a0h", note="plus 1 check with no time given"),
        Fact(name="cost", value="£118.40"),
    )
    assert [(row.did, row.what, row.found) for row in fault.story[-3:]] == [
        ("Bought for it", "Lift pump", ()),
        ("Fixed", "New pump", ("confirmed on 1 June 2024",)),
        ("Confirmed", "three hot restarts", ()),
    ]


@pytest.mark.parametrize(
    ("prices", "fact", "lines"), [("shown", "£118.40", 1), ("totals", None, None), ("hidden", None, None)]
)
def test_money_goes_no_further_than_the_owner_opens_it(prices: str, fact: str | None, lines: int | None) -> None:
    """Lines only where prices are shown; with totals no total of one line, and nothing where money is hidden."""
    settings = SETTINGS.replace("prices: shown", f"prices: {prices}")
    view = faults_of(NAMED, CLEARED, CONDEMNED, FIXED, settings=settings)
    (fault,) = view.open
    assert {row.name: row.value for row in fault.facts}.get("cost") == fact
    assert (len(fault.cost.lines) if fault.cost else None) == lines
    if prices == "shown":
        line = CostLine(
            when=When(iso="2024-05-20", text="20 May 2024"),
            what="Lift pump",
            supplier="A shop",
            entry=Link(text="New pump", href="entries/e4.html"),
            amount="£118.40",
        )
        assert fault.cost == Sum(name="Bought for it", amount="£118.40", lines=(line,))
    if prices == "hidden":
        assert "118" not in repr(view) and "£" not in repr(view)


def test_a_fix_that_did_not_hold_says_so() -> None:
    """Seen again, the fault is open, its first fix is told as failed, and the condemned one is left once more."""
    again = "date: 2024-06-20\ntitle: Again\nseen_again: {fault: hot-start, note: On the hill}"
    (fault,) = faults_of(NAMED, CLEARED, CONDEMNED, FIXED, again, as_of="2024-07-01").open
    assert (fault.state, fault.state_text, fault.cause) == ("narrowed", "came back, 3 of 5 left", None)
    told = {row.did: row.found for row in fault.story}
    assert told["Fixed"] == ("did not hold: seen again on 20 June 2024",)
    assert told["Seen again"] == ("the last fix did not hold",)


def test_a_group_is_told_as_one_and_cleared_one_by_one() -> None:
    """A component that drives others is named with all of them; each member says whom it is driven by."""
    named = "date: 2024-05-01\ntitle: Squeal\nfaults: {fault: squeal, name: Squeals, suspects: belt}"
    check = "date: 2024-05-02\ntitle: Turned\nchecks: {fault: squeal, did: Turned by hand, clears: belt}"
    (fault,) = faults_of(named, check).open
    assert [row.what for row in fault.story] == ["Belt and what it drives", "Turned by hand"]
    assert fault.story[1].found == ("cleared Belt and Water pump",)
    assert [(row.name, row.note) for row in fault.cleared] == [("Belt", ""), ("Water pump", "driven by Belt")]
    missing = "something is missing from the list of suspects"
    assert fault.now == f"Every suspect has been cleared and the cause is still unknown: {missing}."


def test_suspects_without_stated_hours_are_said_to_be_left_out() -> None:
    """An order that leaves a suspect out says so, with its name."""
    named = "date: 2024-05-01\ntitle: T\nfaults: {fault: f, name: F, suspects: [belt, return-hose]}"
    (fault,) = faults_of(named).open
    assert fault.look is not None
    assert [row.reason for row in fault.look.rows] == ["2-in-4 likely, 0.1\u00a0h to check"]
    assert fault.look.notes == ("Left out, because no time is given for the check: Belt and Water pump.",)


MEETING = """\
machine: {name: Test machine, meter: {unit: km}}
money: {currency: GBP}
systems: {fuel: Fuel}
components:
  a: {check_hours: 1, reached_by: left}
  b: {check_hours: 2, likely: 2, reached_by: right}
  c: {check_hours: 1, likely: 9, reached_by: both}
strip_downs:
  left: {name: Left, hours: 2}
  right: {name: Right, hours: 3}
  both: {name: Both, hours: 1, after: [left, right]}
"""


def test_an_order_that_may_not_be_the_best_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not every way could be tried the page never calls its order the best; where it could, it says nothing."""
    named = "date: 2024-05-01\ntitle: T\nfaults: {fault: f, name: F, suspects: [a, b, c]}"
    (sure,) = faults_of(named, settings=MEETING).open
    monkeypatch.setattr(check_order, "MOST_TREES", 1)
    context = edition_of(named, settings=MEETING, as_of="2024-06-10")
    assert not context.figures.next_checks["f"].exact
    view = make_faults(context)
    assert sure.look is not None and view.open[0].look is not None
    assert (sure.look.notes, view.open[0].look.notes) == (
        (),
        (
            "There may be a better order: these strip-downs can be combined in too many ways to try them all. "
            "This is the best of those tried.",
        ),
    )
    assert f'<p class="quiet">{view.open[0].look.notes[0]}</p>' in render(view)


OFF = """\
date: 2024-06-02
title: Cover off
stripped: pump-cover
temporary:
  - {name: clip, what: A clip of wire, until: the clip comes, behind: pump-cover}"""


def test_what_is_apart_and_what_is_within_reach() -> None:
    """Behind the cover: pump and banjo to check, a strainer never seen, a clip to make good. Each visit is 2.5 h.

    The two suspects are of one fault, so there would be three visits, 7.5 h, in place of one: 5 h saved.
    """
    view = faults_of(NAMED, CLEARED, OFF)
    off = When(iso="2024-06-02", text="2 June 2024")
    cover = Link(text="Cover off", href="entries/e3.html")
    hunt = "faults.html#fault-hot-start"
    assert view.apart == ApartView(
        openings=(
            OpeningRow(name="Tray", hours="1\u00a0h", since=off, entry=cover),
            OpeningRow(name="Pump cover", hours="1.5\u00a0h", since=off, entry=cover),
        ),
        reach=(
            ReachRow(
                kind="to check", what=Link(text="Lift pump", href=hunt), note="Will not start hot", hours="0.3\u00a0h"
            ),
            ReachRow(
                kind="to check", what=Link(text="Feed banjo", href=hunt), note="Will not start hot", hours="0.2\u00a0h"
            ),
            ReachRow(
                kind="service",
                what=Link(text="Fuel strainer", href="service.html#item-strainer"),
                note="history unknown",
            ),
            ReachRow(kind="to make good", what=Link(text="A clip of wire", href=cover.href), note="since 2 June 2024"),
        ),
        saved="5\u00a0h saved: 2.5\u00a0h of stripping and refitting in one go, 7.5\u00a0h one job at a time",
    )
    assert view.open[0].look and view.open[0].look.rows[0].first == "", "what is off already costs nothing"


def test_what_the_shelf_lacks_for_a_known_cause() -> None:
    """A condemned component that no part of its name lies ready for is missing."""
    view = faults_of(NAMED, CLEARED, CONDEMNED, OFF)
    assert view.apart.missing == (MissingRow(part=Link(text="Lift pump"), lacks="1", note="to replace Lift pump"),)


def test_what_the_shelf_lacks_for_a_temporary_measure() -> None:
    """The clip that the wire stands in for is in the post: one short, and one on its way."""
    clip = "{part: clip, name: Hose clip, number: C 1, each: 2}"
    order = f"date: 2024-06-03\ntitle: A clip\nbought: {{from: A shop, lines: [{clip}]}}"
    (missing,) = faults_of(OFF, order).apart.missing
    assert (missing.part.text, missing.number, missing.lacks) == ("Hose clip", "C 1", "1")
    assert missing.note == "to replace the temporary repair, 1 in the post"


def test_what_was_opened_more_than_once() -> None:
    """Tray and cover came off on 15 May and again on 2 June: 1 + 1.5 h spent again."""
    view = faults_of(NAMED, CLEARED, CONDEMNED, OFF)
    times = (PUMP, Link(text="Cover off", href="entries/e4.html"))
    assert view.again == (
        AgainRow(name="Tray", hours="1\u00a0h", times=times),
        AgainRow(name="Pump cover", hours="1.5\u00a0h", times=times),
    )
    assert view.again_hours == "2.5\u00a0h"


def test_temporary_measures_open_and_made_good() -> None:
    """Open ones with their age as of the day; ended ones with how long they lasted: 2 to 30 June, 28 days."""
    later = "date: 2024-06-30\ntitle: Clip\nmade_good: clip"
    context = edition_of(OFF, later, settings=SETTINGS, as_of="2024-06-12")
    off = When(iso="2024-06-02", text="2 June 2024")
    row = TemporaryRow(
        what="A clip of wire",
        until="the clip comes",
        since=off,
        entry=Link(text="Cover off", href="entries/e1.html"),
        age="10 days",
    )
    assert (make_faults(context).temporary, make_faults(context).made_good) == ((row,), ())
    assert make_service(context).temporary == make_front(context).temporary == (row,)
    view = faults_of(OFF, later, as_of="2024-12-01")
    assert view.temporary == ()
    assert view.made_good == (
        MadeGoodRow(
            what="A clip of wire",
            since=off,
            until=When(iso="2024-06-30", text="30 June 2024"),
            entry=Link(text="Clip", href="entries/e2.html"),
            age="4 weeks",
        ),
    )


def test_entries_lead_to_the_hunt_and_on_within_it() -> None:
    """An entry's faults, checks and fixes lead to the story; its neighbours in the same hunt are linked."""
    context = edition_of(NAMED, CLEARED, CONDEMNED, FIXED, PROVED, settings=SETTINGS)
    story = "faults.html#fault-hot-start"
    entry = context.entries["e2"]
    view = make_entry(context, entry, before=None, after=None)
    assert view.checks == (
        Act(what=Link(text="Clear hose", href=story), notes=("clears Return hose", "0.2\u00a0h")),
        Act(what=Link(text="Bled it hot", href=story), notes=("clears Filter head",)),
    )
    assert view.fault_neighbours == (
        FaultNeighbours(
            fault=Link(text="Will not start hot", href=story), state="open, then narrowed down", before=HOT, after=PUMP
        ),
    )
    assert [(act.what.text, act.notes) for act in view.same_fault] == [
        ("Hot again", ("1 May 2024",)),
        ("The pump", ("15 May 2024",)),
        ("New pump", ("22 May 2024",)),
        ("Three restarts", ("1 June 2024",)),
    ]
    fixed = make_entry(context, context.entries["e4"], before=None, after=None).fixed
    assert fixed == (
        Act(what=Link(text="Will not start hot", href=story), notes=("New pump", "confirmed on 1 June 2024")),
    )


def test_a_proof_that_did_not_last_is_told_with_its_end() -> None:
    """Fixed and proved in one entry, or in two, and seen again: proof and failure stand together on both pages."""
    once = "date: 2024-05-05\ntitle: A\nfixed: {fault: hot-start, how: New hoses, proved: ran an hour}"
    seen = "date: 2024-05-09\ntitle: B\nseen_again: hot-start"
    context = edition_of(NAMED, once, seen, settings=SETTINGS)
    end = "did not hold: seen again on 9 May 2024"
    (fault,) = make_faults(context).open
    assert fault.story[1].found == ("confirmed: ran an hour", end)
    pages = [make_entry(context, entry, before=None, after=None) for entry in context.entries.values()]
    assert pages[1].fixed[0].notes == ("New hoses", "confirmed: ran an hour", end)
    fixed = "date: 2024-05-05\ntitle: A\nfixed: {fault: hot-start, how: New hoses}"
    proved = "date: 2024-05-06\ntitle: P\nfixed: {fault: hot-start, proved: ran an hour}"
    context = edition_of(NAMED, fixed, proved, seen, settings=SETTINGS)
    pages = [make_entry(context, entry, before=None, after=None) for entry in context.entries.values()]
    assert [act.notes for page in pages for act in page.fixed] == [("New hoses", end), ("confirmed: ran an hour", end)]


def test_a_fix_that_another_followed_waits_for_no_proof() -> None:
    """The second of two fixes is proved: of the first it is said that another followed."""
    first = "date: 2024-05-05\ntitle: A\nfixed: {fault: hot-start, how: New hoses}"
    then = "date: 2024-05-09\ntitle: B\nfixed: {fault: hot-start, how: New pump, proved: ran an hour}"
    context = edition_of(NAMED, first, then, settings=SETTINGS)
    (fault,) = make_faults(context).closed
    assert [row.found for row in fault.story] == [
        (),
        ("not confirmed; another fix followed",),
        ("confirmed: ran an hour",),
    ]
    (act,) = make_entry(context, context.entries["e2"], before=None, after=None).fixed
    assert act.notes == ("New hoses", "not confirmed; another fix followed")


def test_a_temporary_measure_and_its_entries_lead_to_each_other() -> None:
    """The entry that tells of it and the one that ends it lead to the list; a name used again means the second one."""
    again = OFF.replace("2024-06-02", "2024-06-04").replace("Cover off\nstripped: pump-cover", "Again")
    again = again.replace("A clip of wire", "Two clips of wire")
    first = "date: 2024-06-03\ntitle: A clip\nmade_good: clip"
    context = edition_of(OFF, first, again, "date: 2024-06-05\ntitle: Two\nmade_good: clip", settings=SETTINGS)
    views = [make_entry(context, entry, before=None, after=None) for entry in context.entries.values()]
    told = [act.what for view in views for act in (*view.temporary, *view.made_good)]
    names = ("A clip of wire", "A clip of wire", "Two clips of wire", "Two clips of wire")
    assert told == [Link(text=name, href="faults.html#temporary") for name in names]
    page = render(make_faults(context))
    assert 'id="temporary"' in page
    assert [f'href="entries/e{n}.html"' in page for n in (2, 4)] == [True, True]


@pytest.mark.parametrize(
    ("head", "cautioned"),
    [
        ("fixed: {fault: hot-start, how: Two new hoses}", True),
        ("measured: {what: Coolant freezing point, unit: °C, value: -36}", True),
        ("hours: 2", False),
    ],
)
def test_an_entry_of_fixes_or_measurements_carries_the_caution(head: str, cautioned: bool) -> None:
    """Figures off a gauge and what mended a fault are this owner's record as much as torques and checks are."""
    context = edition_of(NAMED, f"date: 2024-05-08\ntitle: T\n{head}", settings=SETTINGS)
    view = make_entry(context, context.entries["e2"], before=None, after=None)
    assert ("Follow the maker’s manual" in render(view)) is cautioned


def test_nothing_known_is_said_so() -> None:
    """A log without a fault: no count, no claim that there is none, and an honest page."""
    context = edition_of("date: 2024-05-01\ntitle: T", settings=SETTINGS)
    view = make_faults(context)
    assert view == FaultsView(frame=view.frame, prices="shown")
    assert make_front(context).faults_count == ""
    text = " ".join(re.sub(r"<[^>]+>", " ", render(view)).split())
    assert "No faults have been recorded yet. That does not mean there are none." in text
    assert "Follow the maker’s manual" in text
    assert "stripped" not in text and "temporary" not in text  # one sentence says it, and not one for each section
    known = " ".join(re.sub(r"<[^>]+>", " ", render(faults_of(NAMED, CLEARED))).split())
    assert "Nothing is stripped at the moment, going by the entries." in known
    assert "There are no temporary repairs." in known
