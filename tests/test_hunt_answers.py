"""What `buildlog faults` and `buildlog apart` print, whole; and the guide says what each key of their JSON holds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

import buildlog
from buildlog.compute.faults import check_order
from tests.compute.fault_logs import find_order
from tests.test_cli import DAY, EXAMPLE, make_log, read_json, run
from tests.whole_log import AS_OF, read_whole

GUIDE = Path(buildlog.__file__).parent / "guide"

SETTINGS = """\
machine: {name: Test machine, meter: {unit: km}}
money: {currency: GBP}
systems: {fuel: Fuel}
components:
  return-hose: {name: Return hose, check_hours: 0.1, likely: 2}
  lift-pump: {name: Lift pump, check_hours: 0.3, likely: 3, reached_by: pump-cover}
  gauge: {name: Gauge}
strip_downs:
  tray-off: {name: Tray, hours: 1}
  pump-cover: {name: Pump cover, hours: 1.5, after: [tray-off]}
"""
FIRST = """\
---
date: 2024-05-01
title: Hot again
faults:
  - {fault: hot-start, name: Will not start hot, suspects: [return-hose, lift-pump, gauge]}
  - {fault: squeal, name: Squeals}
temporary: {name: clip, what: A clip of wire, until: the clip comes, behind: pump-cover}
---
"""
SECOND = """\
---
date: 2024-05-08
title: Pump
bought:
  from: A shop
  arrived: 2024-05-08
  paid: 2024-05-08
  lines:
    - {part: seal, name: Seal, number: S 1, qty: 2, each: 2.50, single_use: true, fault: squeal}
stripped: pump-cover
fitted: {part: seal, qty: 2}
refitted: [pump-cover, tray-off]
checks: {fault: squeal, did: Looked, hours: 0.5}
---
"""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    folder = make_log(tmp_path / "log", {"2024-05-01-hot.md": FIRST, "2024-05-08-pump.md": SECOND})
    (folder / "log.yaml").write_text(SETTINGS)
    return folder


def test_faults_as_tables(log: Path) -> None:
    """Hose: 2 of 6 chances for 0.1 h; pump: 3 for 1 + 1.5 + 0.3 = 2.8 h, 2.9 so far; (2 × 0.1 + 3 × 2.9) / 5 = 1.78 h,
    shown to a tenth.

    The gauge weighs 1 and states no hours, so it is in the chances and not in the order.
    """
    result = run("faults", log, "--as-of", "2024-05-11")
    assert result.exit_code == 0
    assert result.stdout == (
        "Faults as of 2024-05-11\n"
        "Fault               State  Suspects  Left  Open for  Check hours   GBP\n"
        "------------------  -----  --------  ----  --------  -----------  ----\n"
        "Will not start hot  open          3     3   10 days            0  0.00\n"
        "Squeals             open          0     0   10 days          0.5  5.00\n"
        "\n"
        "Where to look next: Will not start hot, 1.8 h on average\n"
        "Suspect      Why                                     Take off first    Hours so far\n"
        "-----------  --------------------------------------  ----------------  ------------\n"
        "Return hose  2-in-6 likely, 0.1 h to check                                      0.1\n"
        "Lift pump    3-in-6 likely, 2.8 h to check           Tray, Pump cover           2.9\n"
        "Gauge        left out: no `check_hours` in log.yaml\n"
        "\n"
        "Where to look next: Squeals\n"
        "no suspects named yet\n"
        "\n"
        "Temporary repairs\n"
        "What            Since           For  Until\n"
        "--------------  ----------  -------  --------------\n"
        "A clip of wire  2024-05-01  10 days  the clip comes\n"
    )


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


def test_an_order_that_may_not_be_the_best_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not every way could be tried, the table's title says so, and `best` in JSON is false.

    Left first: a after 3 h, then c after 3 + 3 + 1 + 1 = 8 h, then b after 10 h: (1 × 3 + 9 × 8 + 2 × 10) / 12 = 95/12.
    c first: after 2 + 3 + 1 + 1 = 7 h, then a after 8 h, b after 10 h: (9 × 7 + 1 × 8 + 2 × 10) / 12 = 91/12 = 7.583 h.
    """
    head = "---\ndate: 2024-05-01\ntitle: T\nfaults: {fault: f, name: Hunts, suspects: [a, b, c]}\n---\n"
    folder = make_log(tmp_path / "log", {"2024-05-01-hot.md": head})
    (folder / "log.yaml").write_text(MEETING)
    titles, best = [], []
    for trees in (check_order.MOST_TREES, 1):
        monkeypatch.setattr(check_order, "MOST_TREES", trees)
        # What was answered is kept, and another limit is another program.
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / f"cache-{trees}"))
        lines = run("faults", folder, "--as-of", "2024-05-11").stdout.splitlines()
        titles += [line for line in lines if line.startswith("Where to look next")]
        best.append(read_json("faults", folder, "--json", "--as-of", "2024-05-11")["faults"][0]["next_check"]["best"])
    title = "Where to look next: Hunts, 7.6 h on average"
    assert titles == [title, f"{title}; there may be a better order"]
    assert best == [True, False]


def test_apart_for_a_planned_strip_down(log: Path) -> None:
    """Two visits of 2.5 h, for the pump and for the clip, are 5 h; one for both is 2.5 h. Both seals must be new."""
    result = run("apart", "pump-cover", "--log", log, "--as-of", "2024-05-11")
    assert result.exit_code == 0
    assert result.stdout == (
        "Strip-downs as of 2024-05-11\n"
        "Strip-down  Off since          Hours\n"
        "----------  -----------------  -----\n"
        "Tray        to come off first      1\n"
        "Pump cover  to come off          1.5\n"
        "\n"
        "Do while it's apart  What            Why                 Hours\n"
        "-------------------  --------------  ------------------  -----\n"
        "check                Lift pump       Will not start hot    0.3\n"
        "make good            A clip of wire  since 2024-05-01\n"
        "\n"
        "Strip-down hours   Hours\n"
        "-----------------  -----\n"
        "one job at a time      5\n"
        "all in one go        2.5\n"
        "saved                2.5\n"
        "\n"
        "Parts still needed  Number  Short  In the post  For\n"
        "------------------  ------  -----  -----------  ------------------------------------------\n"
        "Seal                S 1         2            0  single use tray-off, single use pump-cover\n"
    )


def test_apart_without_a_name_speaks_of_what_is_off(log: Path) -> None:
    """On 8 May all went back; an entry that opens the tray again makes it the answer."""
    nothing = "nothing is stripped at the moment, going by the entries; name a strip-down to see what is behind it\n"
    assert run("apart", "--log", log, "--as-of", "2024-05-11").stdout == f"Strip-downs as of 2024-05-11\n{nothing}"
    (log / "entries" / "2024-05-12-off.md").write_text("---\ndate: 2024-05-12\ntitle: Off\nstripped: tray-off\n---\n")
    data = read_json("apart", "--log", log, "--json", "--as-of", "2024-05-13")
    assert [(row["strip_down"], row["off_since"]) for row in data["openings"]] == [("tray-off", "2024-05-12")]
    assert read_json("apart", "--log", log, "--json", "--as-of", "2024-05-11")["openings"] == []
    assert run("apart", "--log", log, "--as-of", "2024-05-13").stdout.endswith(
        "\n"
        "Opened more than once  Times  Repeat hours\n"
        "---------------------  -----  ------------\n"
        "Tray                       2             1\n"
    )


@pytest.mark.parametrize(
    ("name", "told"),
    [("trayoff", "; did you mean `tray-off`?"), ("engine", "; known here: `pump-cover`, `tray-off`")],
)
def test_an_unknown_strip_down_is_wrong_use(log: Path, name: str, told: str) -> None:
    """Exit code 2, and the name that was meant or those that there are."""
    result = run("apart", name, "--log", log)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.splitlines()[-1] == f"Error: there is no strip-down `{name}` in log.yaml{told}"


def test_faults_as_json_hold_what_the_tables_hold(log: Path) -> None:
    """The same figures, as decimal strings: expected hours rounded and as a fraction."""
    data = read_json("faults", log, "--json", "--as-of", "2024-05-11")
    hunt, squeal = data["faults"]
    assert (hunt["fault"], hunt["state"], hunt["left"], hunt["cost"]) == (
        "hot-start",
        "open",
        ["return-hose", "lift-pump", "gauge"],
        "0.00",
    )
    look = hunt["next_check"]
    assert (look["expected_hours"], look["expected_exactly"], look["best"]) == ("1.780", "89/50", True)
    assert (look["without_hours"], look["steps"][1]["takes_off"]) == (["gauge"], ["tray-off", "pump-cover"])
    assert (squeal["cost"], squeal["check_hours"]) == ("5.00", "0.5")
    assert [repair["repair"] for repair in data["temporary"]] == ["clip"]


def list_records(value: Any, name: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every record of a JSON answer, with the key that it stands under."""
    if isinstance(value, dict):
        yield name, value
        for key, inside in value.items():
            yield from list_records(inside, key)
    elif isinstance(value, list):
        for inside in value:
            yield from list_records(inside, name)


def name_maps(data: Any) -> set[str]:
    """The keys under which stand objects whose own keys are names of the log: sums of money by something."""
    return {key for key in data if key.startswith("by_")} if isinstance(data, dict) else set()


def read_tables(chapter: str) -> list[list[str]]:
    """The keys of each table of a chapter of the guide, in order."""
    text = (GUIDE / "answers.md").read_text(encoding="utf-8").split(f"\n## {chapter}\n")[1].split("\n## ")[0]
    blocks = [block for block in text.split("\n\n") if block.lstrip().startswith("| key")]
    return [re.findall(r"^\| `(\w+)` \|", block, re.M) for block in blocks]


@pytest.mark.parametrize(
    ("arguments", "chapter"),
    [
        (("faults", str(EXAMPLE)), "The faults as JSON"),
        (("apart", "timing-cover", "--log", str(EXAMPLE)), "What is apart as JSON"),
        (("costs", str(EXAMPLE)), "The costs as JSON"),
        (("parts", str(EXAMPLE)), "The parts as JSON"),
        (("due", str(EXAMPLE)), "What is due as JSON"),
        (("next", str(EXAMPLE)), "What is still to do as JSON"),
    ],
)
def test_the_guide_says_what_every_key_holds(arguments: tuple[str, ...], chapter: str, tmp_path: Path) -> None:
    """Each record of the answers has just the keys of one table of the guide, and every table is used.

    The answers are the example's, and for what is planned those of a log that plans everything.
    """
    tables = read_tables(chapter)
    answers = [read_json(*arguments, "--json", "--as-of", DAY)]
    if arguments[0] in ("costs", "next"):
        whole = str(read_whole().write(tmp_path / "whole"))
        answers.append(read_json(arguments[0], whole, "--json", "--as-of", str(AS_OF)))
    shapes = []
    for data in answers:
        by_name = name_maps(data)
        records = list_records(data, "")
        shapes += [list(record) for name, record in records if name != "seen_again" and name not in by_name]
    assert [shape for shape in shapes if shape not in tables] == []
    assert [table for table in tables if table not in shapes] == []


def test_the_example_has_a_whole_hunt() -> None:
    """Eleven suspects, a group cleared by one check, a wrong lead, strip-downs done again, a fix unproved."""
    data = read_json("faults", EXAMPLE, "--json", "--as-of", DAY)
    faults = {fault["fault"]: fault for fault in data["faults"]}
    hunt = faults["hot-start"]
    assert len(hunt["suspects"]) == 11
    assert max(len(check["clears"]) for check in hunt["checks"]) == 2
    assert any(fix["failed_on"] for fix in faults["drumming"]["fixes"])
    assert {fault["state"] for fault in data["faults"]} == {"narrowed", "fixed, not proved", "proved"}
    assert data["temporary"]
    apart = read_json("apart", "--log", EXAMPLE, "--json", "--as-of", DAY)
    assert [row["strip_down"] for row in apart["openings"]] == ["tray-off"]
    again = {row["strip_down"]: (len(row["entries"]), row["again_hours"]) for row in apart["opened_again"]}
    assert again == {"tray-off": (5, "3.2"), "seat-box": (2, "1.5"), "rear-drums": (2, "1.4"), "pump-cover": (2, "1.4")}
    assert {thing["kind"] for thing in apart["reach"]} == {"suspect", "service", "temporary"}


def test_the_worked_hunt_of_the_guide_is_what_is_computed() -> None:
    """Each number of both tables in figures.md is the one that the code finds; so are its 431/110 and 3.918 hours."""
    text = (GUIDE / "figures.md").read_text(encoding="utf-8")
    suspects = re.findall(r"^\| ([a-z -]+) \| (\d) \| ([\d.]+) \| (.*?) ?\|$", text, re.M)
    behind = {name: front for name, _, _, front in suspects}
    assert len(suspects) == 5 and behind["feed banjo"] == "the same two"
    assert behind["lift pump"] == "the tray (1 h), then the pump cover (1.5 h)"
    assert behind["tank pick-up"] == "the tank (4 h)"
    fronts = {"lift pump": "cover", "feed banjo": "cover", "tank pick-up": "tank"}
    reached = {name: f", reached_by: {front}" for name, front in fronts.items()}
    keys = {name: name.replace(" ", "-") for name in behind}
    plan = "components:\n" + "".join(
        f"  {keys[name]}: {{name: {name}, likely: {likely}, check_hours: {hours}{reached.get(name, '')}}}\n"
        for name, likely, hours, _ in suspects
    )
    plan += "strip_downs:\n  tray: {name: T, hours: 1}\n  cover: {name: C, hours: 1.5, after: [tray]}\n"
    plan += "  tank: {name: D, hours: 4}\n"
    look = find_order(keys.values(), plan)
    rows = re.findall(r"^\| ([a-z -]+) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", text, re.M)
    assert rows == [
        (step.name, f"{step.hours:f}", f"{step.hours_so_far:f}", f"{step.likely * step.hours_so_far:.1f}")
        for step in look.steps
    ]
    assert sum(Decimal(row[3]) for row in rows) == Decimal("43.1")
    assert (look.expected, f"{look.expected_hours:f}", f"{look.chances:f}") == (Fraction(431, 110), "3.918", "11")
    assert "431/110, or 3.918 hours" in text
    assert f"pages and tables say\n{look.about_hours:f} h." in text
