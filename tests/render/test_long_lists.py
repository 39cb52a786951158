"""Whatever a log has most of, no page grows without bound, every link leads somewhere and nothing is left out."""

from __future__ import annotations

import re
import tempfile
from functools import cache
from pathlib import Path

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.problems import Place, has_errors
from buildlog.read.reader import read_log
from buildlog.render.render import render_site
from buildlog.render.theme import load_theme
from tests.bench.make_mass import make_mass
from tests.render.test_long_logs import find_dead_links

ENTRIES = 420
MASSES = ("faults", "closed", "supplier", "open", "month", "temporary", "rework", "one-part", "plans")
CEILINGS = {"service.html": 500_000, "index.html": 40_000}
"Bytes of HTML, of pages that have another than 150,000."


@cache
def publish(mass: str) -> dict[str, str]:
    """The pages of a log that has so many of one thing."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    with tempfile.TemporaryDirectory() as name:
        day = make_mass(Path(name) / "log", mass, ENTRIES)
        reading = read_log(Path(name) / "log")
    assert reading.log is not None and not has_errors(reading.problems)
    files, problems = render_site(compute_figures(reading.log, day), theme, lambda name: None)
    assert problems == ()
    return {path: bytes(made).decode() for path, made in files.items() if path.endswith((".html", "feed.xml"))}


@pytest.mark.parametrize("mass", MASSES)
def test_no_page_is_too_heavy_and_every_link_leads_somewhere(mass: str) -> None:
    """150 kB of HTML, the service history 500 kB, the front page 40 kB."""
    pages = publish(mass)
    heavy = {path: len(page) for path, page in pages.items() if len(page.encode()) > CEILINGS.get(path, 150_000)}
    assert heavy == {}
    assert find_dead_links(pages) == []


@pytest.mark.parametrize(
    ("mass", "paths", "row"),
    [
        ("faults", r"faults/\d.*", r'<h3 id="fault-fault-(\d+)">'),
        ("closed", r"faults/\d.*", r'<h3 id="fault-fault-(\d+)">'),
        ("open", r"parts/post-\d.*", r">Pump (\d+)</a>"),
        ("temporary", r"faults/temporary-\d.*", r"A clamp round hose (\d+)"),
        ("rework", r"costs/rework-\d.*", r"then <a [^>]*>Evening (\d+) with"),
        ("plans", r"to-do/open-\d.*", r">Job (\d+) "),
        ("plans", r"to-do/wanted-\d.*", r">Thing (\d+)<"),
        ("one-part", r"parts/filter--\d.*", r'did|<a class="source" [^>]*>Evening (\d+) with'),
    ],
)
def test_all_of_it_stands_on_the_pages_of_periods(mass: str, paths: str, row: str) -> None:
    """Each once; what belongs to one day may be named more than once."""
    pages = publish(mass)
    found = {int(n) for path, page in pages.items() if re.fullmatch(paths, path) for n in re.findall(row, page) if n}
    # What took the place of something, there is one less of, and the first job is done.
    assert found == set(range(1 if mass == "rework" or "open" in paths else 0, ENTRIES))


def test_a_few_stay_where_they_belong_with_the_number_of_the_rest() -> None:
    """The front page leads to the rest, the page of faults to the pages of periods, all pages by links of one step."""
    front, faults = publish("faults")["index.html"], publish("faults")["faults.html"]
    assert f'<a href="faults.html#open">and {ENTRIES - 12} more</a>' in front
    assert f"and {ENTRIES - 150} more, each on the page of its period" in faults
    assert f"{ENTRIES} faults: {ENTRIES} open, 0 confirmed fixed" in faults
    # The first of them, whose address was on this page while it was short.
    assert re.search(r'<li id="fault-fault-0"><a href="faults/2000[^"]*#fault-fault-0">', faults)
    assert f'<a href="faults.html#open">and {ENTRIES - 300} more</a>' in publish("faults")["service.html"]
    costs = publish("rework")["costs.html"]
    assert re.search(r'All of them: <a href="costs/rework-2000[^"]*">', costs)
    life = publish("one-part")["parts.html"]
    assert re.search(r'All of them: <a href="parts/filter--2000[^"]*">', life)


def test_hidden_money_has_no_long_list() -> None:
    """With `prices: hidden` there is neither rework nor a gift on any page, as on the page of costs."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None
    with tempfile.TemporaryDirectory() as name:
        day = make_mass(Path(name) / "log", "rework", 200)
        settings = Path(name) / "log/log.yaml"
        settings.write_text(settings.read_text().replace("prices: shown", "prices: hidden"))
        log = read_log(Path(name) / "log").log
    assert log is not None
    files, _ = render_site(compute_figures(log, day), theme, lambda name: None)
    assert [path for path in files if path.startswith("costs/")] == []
    assert not [path for path, made in files.items() if isinstance(made, bytes) and "£".encode() in made]
