"""A site published as of an earlier day is the site that the owner would have published on that day."""

from __future__ import annotations

import datetime
import re
import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.output.write import Content
from buildlog.problems import Place, has_errors
from buildlog.read.reader import read_log
from buildlog.read.records import Log
from buildlog.render.render import render_site
from buildlog.render.theme import load_theme
from tests.bench.make_log import make_log
from tests.support import log_of

EXAMPLE = Path(__file__).parent.parent.parent / "example_project"

TOLD_LATE = (
    """
    date: 2024-05-04
    arrived: {ref: A1, date: 2024-05-03}
    paid: {ref: A1, date: 2024-05-02}
    removed: [{part: original, name: Pump, fate: kept}]
    fitted: [{part: pump, instead_of: original}, {part: seal}]
    serviced: {item: oil, parts: [oil-filter]}
    tightened: {what: Bolts, to: 22 N·m, part: bolt}
    photos: {file: a.jpg, shows: [pump]}
    """,
    "date: 2024-05-05\nreturned: {ref: A1, part: bolt, qty: 1, refund: 1.00}\nsold: {part: spare, price: 5.00}",
    "date: 2024-05-06\nremoved: [{part: seal, fate: kept}]\nfitted: [{part: seal, at: left}]\nscrapped: [seal-kit]",
    """
    date: 2024-05-18
    bought:
      from: North
      ref: A1
      ordered: 2024-05-01
      lines:
        - {part: pump, number: LP 1, each: 100.00}
        - {part: seal, each: 2.00, fault: leak}
        - {part: oil-filter, each: 9.00}
        - {part: bolt, qty: 4, each: 1.00, single_use: true}
        - {part: spare, each: 3.00}
        - {part: seal-kit, each: 3.00}
    faults: {fault: leak, name: Leaks}
    """,
)
"An order that is written down two weeks after it came, and was used, paid for and partly sent back meanwhile."
PLAN = """
machine: {name: Test machine, meter: {unit: km}}
money: {currency: GBP}
systems: {fuel: Fuel}
service: {oil: {name: Oil, every: {months: 12}}}
public: {prices: shown}
"""

TELLS = re.compile(
    rb" <strong>(\d+) entr(?:y|ies) of a later day (?:is|are) left out: not counted, and not on any page\.</strong>"
)
"What each page that names the day says of entries that are not on it."


MAY_DIFFER = {
    "index.html": "what is due within how many days, how old faults, temporary repairs and orders are",
    "costs.html": "its drawing goes on to the day",
    "parts.html": "how long each part has been fitted, and ordered",
    "faults.html": "how long each fault has been open, a strip-down off, a temporary repair in",
    "service.html": "what is due within how many days",
    "theme/seal.css": "prints the day at the foot of the service history",
    "record.html": "says as of which day the site stands",
    "tightening.html": "what is to be checked again within how many days",
    "to-do.html": "how long each item has been open",
    "systems/[^/]*[^/-]-?.html": "what is due within how many days, how long each part has been fitted",
}
"Files that are others a day later though no entry was added, and why: by patterns of paths."


def find_reason(path: str) -> str:
    """Why a page hangs on the day; empty: it does not."""
    if "--" in path.removesuffix("-.html"):
        return ""  # a period of a system, which is over
    return next((why for form, why in MAY_DIFFER.items() if re.fullmatch(form, path)), "")


def render(log: Log, day: datetime.date) -> dict[str, Content]:
    """Every file of the site but the photos."""
    theme, _ = load_theme("margin", place=Place("log.yaml", 1, 1))
    assert theme is not None
    return render_site(compute_figures(log, day), theme, lambda name: None)[0]


def check_day(log: Log, day: datetime.date) -> None:
    """Every page, the feed and all other text is, byte for byte, that of the log cut off after the day.

    But for one sentence at the foot of each page that names the day, which tells how many entries are left out.
    """
    short = replace(log, entries=tuple(entry for entry in log.entries if entry.date <= day))
    whole, then = render(log, day), render(short, day)
    assert whole.keys() == then.keys()
    left_out = len(log.entries) - len(short.entries)
    pages = {path for path in whole if path.endswith(".html")}
    told = {path: TELLS.findall(bytes(whole[path])) for path in pages}
    assert {path for path, found in told.items() if found == [str(left_out).encode()]} == (
        {path for path in pages if find_reason(path)} if left_out else set()
    )
    assert {path for path, found in told.items() if found} <= {path for path in pages if find_reason(path)}
    assert {"index.html", "record.html", "service.html"} <= {path for path in pages if find_reason(path)}
    bare = {path: TELLS.sub(b"", bytes(whole[path])) if path in pages else whole[path] for path in whole}
    assert [path for path, content in bare.items() if content != then[path]] == []
    assert {f"entries/{entry.name}.html" for entry in short.entries} <= whole.keys()


@pytest.mark.parametrize("day", ["2023-09-01", "2024-01-20", "2024-05-17", "2024-05-18", "2024-09-20"])
def test_no_page_tells_of_a_later_entry(day: str) -> None:
    """The demonstration on some days, with entries before and after."""
    log = read_log(EXAMPLE).log
    assert log is not None and log.entries[-1].date > datetime.date.fromisoformat(day)
    check_day(log, datetime.date.fromisoformat(day))


@pytest.mark.parametrize("day", ["2024-05-03", "2024-05-04", "2024-05-05", "2024-05-06", "2024-05-17", "2024-05-18"])
def test_what_is_told_late_is_not_known_before(day: str) -> None:
    """Parts and orders that a later entry makes known are mere words on the pages of earlier days, and break none."""
    log = log_of(*TOLD_LATE, settings=PLAN)
    assert not has_errors(compute_figures(log, datetime.date(2024, 5, 18)).problems)
    check_day(log, datetime.date.fromisoformat(day))


@cache
def read_long() -> Log:
    """A log that is too long for one page of anything, of entries that hang together as an owner's do."""
    with tempfile.TemporaryDirectory() as name:
        make_log(Path(name) / "log", 200)
        log = read_log(Path(name) / "log").log
    assert log is not None
    return log


@pytest.mark.parametrize("long", [False, True], ids=["example", "200 entries"])
def test_a_day_later_only_what_hangs_on_the_day_is_another(long: bool) -> None:
    """Of two days in a row without an entry in between: every entry, month, year and index is the same, byte for byte.

    Whoever publishes each night sends no more than those few files.
    """
    log = read_long() if long else read_log(EXAMPLE).log
    assert log is not None
    day = log.entries[-1].date + datetime.timedelta(days=1)
    today, tomorrow = (render(log, day + datetime.timedelta(days=n)) for n in (0, 1))
    assert today.keys() == tomorrow.keys()
    differ = {path for path, content in today.items() if content != tomorrow[path]}
    assert {path for path in differ if not find_reason(path)} == set()
    assert differ >= {"index.html", "record.html", "service.html", "systems/fuel.html"}
    assert len(differ) < len(today) / 2
    if long:
        assert {"costs", "parts", "timeline", "service", "systems"} <= {path.partition("/")[0] for path in today}
        assert [path for path in today if path.startswith("systems/") and not find_reason(path)]


def test_a_page_that_is_the_same_on_every_day_names_none() -> None:
    """Neither beside its title nor at its foot; all others name it at both."""
    log = read_log(EXAMPLE).log
    assert log is not None
    pages = {
        path: bytes(page).decode() for path, page in render(log, datetime.date(2024, 12, 1)).items() if ".html" in path
    }
    named = {path for path, page in pages.items() if "Generated as of" in page}
    assert named == {path for path in pages if find_reason(path)}
    assert named == {path for path, page in pages.items() if "as of</span>" in page}
