"""The theme `margin`: every page stands with the least it can be given, and its colours can be read."""

from __future__ import annotations

import re
from typing import get_args

import pytest

from buildlog.problems import Place
from buildlog.render.pages.costs import CostPeriodView, CostsView
from buildlog.render.pages.entry import EntryView
from buildlog.render.pages.faults import FaultsView
from buildlog.render.pages.frame import Frame, Section
from buildlog.render.pages.front import FrontView
from buildlog.render.pages.leads import LeadView, MovedView
from buildlog.render.pages.long_lists import FaultPeriodView, LongListView
from buildlog.render.pages.meter_readings import ReadingsView
from buildlog.render.pages.parts import PartIndexView, PartPeriodView, PartsView
from buildlog.render.pages.pictures import PicturesView
from buildlog.render.pages.record import RecordView
from buildlog.render.pages.service import ServiceView
from buildlog.render.pages.service_items import TimesView
from buildlog.render.pages.standing import PageListView, StandingView
from buildlog.render.pages.still_to_do import ToDoView
from buildlog.render.pages.system import SystemView
from buildlog.render.pages.tightening import TighteningView
from buildlog.render.pages.timeline import TimelinePeriodView, TimelineView
from buildlog.render.pieces import Link, Margin, When
from buildlog.render.render import View
from buildlog.render.theme import Theme, find_themes, load_theme

DAY = When(iso="2024-11-09", text="9 November 2024")
FRAME = Frame(
    language="en-GB",
    site_title="An <Invented> Machine",
    page_title="Page",
    description="",
    root="",
    path="costs.html",
    sections=(Section(name="Costs", href="costs.html", current=True),),
    as_of=DAY,
)
LEAST: tuple[View, ...] = (
    FrontView(frame=FRAME, machine="The Invented", prices="totals", beside={}),
    TimelineView(frame=FRAME, prices="totals"),
    TimelinePeriodView(frame=FRAME, title="Timeline, 2024"),
    SystemView(frame=FRAME, title="Fuel", prices="totals"),
    EntryView(frame=FRAME, title="A title & no more", margin=Margin(when=DAY), prices="totals"),
    CostsView(frame=FRAME, prices="totals", currency="GBP"),
    CostPeriodView(frame=FRAME, title="Costs, 2024"),
    PartsView(frame=FRAME, prices="totals"),
    PartPeriodView(frame=FRAME, title="Parts, 2024"),
    PartIndexView(frame=FRAME, title="Parts by name: A to Z"),
    FaultsView(frame=FRAME, prices="totals"),
    ServiceView(frame=FRAME, machine="The Invented"),
    ReadingsView(frame=FRAME, title="Readings, 2024"),
    TimesView(frame=FRAME, title="Engine oil, 2024"),
    FaultPeriodView(frame=FRAME, title="Faults, 2024", prices="totals"),
    LongListView(frame=FRAME, title="In the post, 2024", back=Link(text="All parts", href="parts.html")),
    LeadView(frame=FRAME, title="Timeline, 2024"),
    ToDoView(frame=FRAME, prices="totals"),
    MovedView(frame=FRAME, entry=Link(text="A title & no more", href="2024.html")),
    TighteningView(frame=FRAME, machine="The Invented"),
    RecordView(frame=FRAME, verdict="Nothing is sealed."),
    StandingView(frame=FRAME, title="Wiring"),
    PageListView(frame=FRAME),
    PicturesView(frame=FRAME, title="Photos"),
)
POLICY = (
    "default-src 'none'; img-src 'self'; style-src 'self'; script-src 'self'; font-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)


@pytest.fixture(scope="module")
def theme() -> Theme:
    theme, problems = load_theme("margin", place=Place("log.yaml", 1, 1))
    assert theme is not None, problems
    return theme


def render(theme: Theme, view: View) -> str:
    return theme.render(view.TEMPLATE, {"view": view, "frame": view.frame, "root": view.frame.root})


def test_every_page_is_tried_with_the_least() -> None:
    """A page that is added is added here too."""
    assert {type(view) for view in LEAST} == {*get_args(View)}


@pytest.mark.parametrize("view", LEAST, ids=lambda view: view.TEMPLATE)
def test_a_page_stands_with_the_least_it_can_be_given(theme: Theme, view: View) -> None:
    """With nothing but what must be there, a page renders under strict names, and says that there is nothing yet."""
    page = render(theme, view)
    assert page.count("<h1") == 1
    assert re.search(r"class=\"quiet\"", page), "an empty page says so"
    assert "An &lt;Invented&gt; Machine" in page


@pytest.mark.parametrize("view", LEAST, ids=lambda view: view.TEMPLATE)
def test_the_policy_stands_first_and_nothing_breaks_it(theme: Theme, view: View) -> None:
    """The policy follows the charset at once (CSP Level 3, section 3.3), and no style or script stands in the page."""
    page = render(theme, view)
    assert re.search(rf'<head>\s*<meta charset="utf-8">\s*<meta http-equiv="\S+" content="{POLICY}">', page)
    assert not re.search(r"<style|\sstyle=|type=\"module\"|\son[a-z]+=", page)
    # Each script is a file, and nothing stands between its tags; what it says is in attributes of its own.
    assert "</script>" not in re.sub(r'<script src="[^"]+" (?:defer|async)[^>]*></script>', "", page)


def test_hidden_money_shows_nowhere(theme: Theme) -> None:
    """A log whose prices are hidden has a costs page that says so, and no table of sums."""
    page = render(theme, CostsView(frame=FRAME, prices="hidden", currency="GBP"))
    assert "keeps the costs private" in page
    assert "<table" not in page and 'class="sums"' not in page


def read_schemes() -> dict[str, dict[str, str]]:
    """The colour tokens of each block of custom properties in the style sheet: by day, by night, on paper."""
    sheet = (find_themes() / "margin" / "margin.css").read_text(encoding="utf-8")
    blocks = re.findall(r":root \{(.*?)\}", sheet, re.DOTALL)
    return dict(zip(("day", "night", "paper"), (dict(_tokens(block)) for block in blocks), strict=True))


def _tokens(block: str) -> list[tuple[str, str]]:
    found = re.findall(r"--(\w+): #([0-9a-f]{3}|[0-9a-f]{6});", block)
    return [(name, value if len(value) == 6 else "".join(c * 2 for c in value)) for name, value in found]


def measure_contrast(one: str, other: str) -> float:
    """Contrast ratio of two sRGB colours (WCAG 2.2, definitions "relative luminance" and "contrast ratio")."""
    lights = sorted((_measure_light(one), _measure_light(other)), reverse=True)
    return (lights[0] + 0.05) / (lights[1] + 0.05)


def _measure_light(colour: str) -> float:
    parts = [int(colour[n : n + 2], 16) / 255 for n in (0, 2, 4)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_the_measure_is_right() -> None:
    """WCAG 2.2: black on white is 21; #767676 is the lightest grey that passes on white, #777777 fails."""
    assert measure_contrast("000000", "ffffff") == pytest.approx(21)
    assert measure_contrast("767676", "ffffff") == pytest.approx(4.542225, abs=1e-6)
    assert measure_contrast("777777", "ffffff") < 4.5


@pytest.mark.parametrize("scheme", ["day", "night", "paper"])
@pytest.mark.parametrize(
    ("upon", "least", "colours"),
    [("paper", 4.5, "ink soft mark"), ("wash", 4.5, "ink soft mark"), ("paper", 3, "edge")],
)
def test_colours_can_be_read(scheme: str, upon: str, least: float, colours: str) -> None:
    """WCAG 2.2: text has 4.5 : 1 (SC 1.4.3), marks that carry meaning 3 : 1 (SC 1.4.11), by day, by night, on paper."""
    tokens = read_schemes()[scheme]
    assert [name for name in colours.split() if measure_contrast(tokens[name], tokens[upon]) < least] == []
