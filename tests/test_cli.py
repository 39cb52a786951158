"""What the commands print and how they end: exit codes, whole outputs, and a site that survives a bad log."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from buildlog.cli import main
from tests.made_up import ELSEWHERE, make_vin

EXAMPLE = Path(__file__).parent.parent / "example_project"
DAY = "2024-11-30"
VIN = make_vin(f"{ELSEWHERE}WMS25", "M")

SETTINGS = """\
machine: {name: Test machine, meter: {unit: km, digits: 6}}
money: {currency: GBP}
systems: {fuel: Fuel}
service: {oil: {name: Engine oil, every: {months: 12, distance: 10000}}}
site: {id: test machine}
"""
ENTRY = """\
---
date: 2024-05-18
title: Lift pump
hours: 4.5
reading: 112530
systems: [fuel]
bought:
  from: A shop
  ref: A-1
  arrived: 2024-05-18
  paid: 2024-05-18
  lines:
    - {part: lift-pump, number: LP 4410-A, each: 118.40}
    - {part: seal, number: "0410 223", qty: 2, each: 7.35}
fitted: [lift-pump, seal]
serviced: [oil]
---
The pump came off.
"""


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], prog_name="buildlog")


def make_log(folder: Path, entries: Mapping[str, str | bytes]) -> Path:
    (folder / "entries").mkdir(parents=True)
    (folder / "log.yaml").write_text(SETTINGS, encoding="utf-8")
    for name, text in entries.items():
        path = folder / "entries" / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return folder


def hash_folder(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})


def test_check_of_a_sound_log_says_so_and_ends_with_0(log: Path) -> None:
    """Silence would leave an owner wondering whether anything was looked at."""
    result = run("check", log, "--as-of", DAY)
    assert (result.exit_code, result.output) == (0, "no problems\n")


def test_costs_as_a_table(log: Path) -> None:
    """Spent is 118.40 + 2 × 7.35 = 133.10; all of it for fuel, at one shop, in one month."""
    result = run("costs", log, "--as-of", DAY)
    assert result.exit_code == 0
    assert result.output == (
        "Costs as of 2024-11-30\n"
        "              GBP\n"
        "---------  ------\n"
        "spent      133.10\n"
        "recovered    0.00\n"
        "net        133.10\n"
        "committed    0.00\n"
        "\n"
        "System     GBP\n"
        "------  ------\n"
        "fuel    133.10\n"
        "\n"
        "Kind     GBP\n"
        "----  ------\n"
        "part  133.10\n"
        "\n"
        "Supplier     GBP\n"
        "--------  ------\n"
        "A shop    133.10\n"
        "\n"
        "Month       GBP\n"
        "-------  ------\n"
        "2024-05  133.10\n"
    )


def read_json(*arguments: str | Path) -> Any:
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_costs_as_json_add_up_every_way(log: Path) -> None:
    """Amounts are decimal strings; the lines and every split make the same sum as `spent`."""
    data = read_json("costs", EXAMPLE, "--json", "--as-of", DAY)
    spent = Decimal(data["spent"])
    assert spent > 0
    assert sum(Decimal(line["landed"]) for line in data["lines"]) == spent
    for way in ("by_month", "by_system", "by_kind", "by_supplier", "by_fault", "by_entry"):
        assert sum(map(Decimal, data[way].values())) == spent, way
    assert Decimal(data["net"]) == spent - Decimal(data["recovered"])
    assert sum(Decimal(line["landed"]) for line in data["committed_lines"]) == Decimal(data["committed"])
    assert {"currency", "acquired"} <= data.keys()
    assert all({"entry", "what", "landed"} <= line.keys() for line in data["lines"])


def test_parts_as_json(log: Path) -> None:
    """Two seals came, one is fitted, one lies on the shelf."""
    data = read_json("parts", log, "--json", "--as-of", DAY)
    seal = next(part for part in data if part["part"] == "seal")
    assert seal == {
        "part": "seal", "aliases": [], "name": "Seal", "numbers": ["0410 223"], "maker": None, "system": "fuel",
        "spec": None, "single_use": False, "original": False, "unit": None,
        "bought": "2", "came_with": "0", "in_the_post": "0", "shelf": "1", "on_machine": "1", "cancelled": "0",
        "returned": "0", "sold": "0", "gone": "0", "arrived": "2", "fitted": "1", "removed": "0", "kept": "0",
        "scrapped": "0", "deadlines": [], "failed": [], "lying": [{"qty": "1", "where": None}], "shelf_worth": "7.35",
    }  # fmt: skip


@pytest.mark.parametrize("query", ["0410 223", "0410223", "0410.223", "SEAL"])
def test_a_part_is_found_by_its_number_however_it_is_spaced(log: Path, query: str) -> None:
    """`--find` takes a number in any spelling, or a name."""
    assert [part["part"] for part in read_json("parts", log, "--find", query, "--json", "--as-of", DAY)] == ["seal"]


def test_due_as_json(log: Path) -> None:
    """Done on 18 May 2024 at 112,530 km: due a year later, or at 122,530 km."""
    [item] = read_json("due", log, "--json", "--as-of", DAY)
    assert (item["item"], item["state"], item["due_date"], item["due_reading"]) == (
        "oil", "later", "2025-05-18", "122530",
    )  # fmt: skip
    [item] = read_json("due", log, "--json", "--as-of", "2025-05-18")
    assert item["state"] == "due"
    [item] = read_json("due", log, "--json", "--as-of", "2025-05-19")
    assert item["state"] == "overdue"


def test_nothing_dated_later_counts(log: Path) -> None:
    """`--as-of` the day before knows of no order, no part and no service."""
    assert read_json("costs", log, "--json", "--as-of", "2024-05-17")["spent"] == "0.00"
    assert read_json("parts", log, "--json", "--as-of", "2024-05-17") == []
    assert read_json("due", log, "--json", "--as-of", "2024-05-17")[0]["state"] == "history unknown"


HEAD = "---\ndate: 2024-06-01\ntitle: x\n"
BAD_ENTRIES: dict[str, tuple[str, str | bytes, str]] = {
    "broken entry": ("2024-06-01-bad.md", "---\ndate: 2024-06-01\ntitle: a: b\n---\n", "2024-06-01-bad.md:3:9"),
    "missing paper": (
        "2024-06-01-bad.md",
        HEAD + "bought: {from: A, paper: papers/no.pdf, lines: [{what: a, each: 1.00}]}\n---\n",
        "missing-paper",
    ),
    "unknown currency": (
        "2024-06-01-bad.md",
        HEAD + "bought: {from: A, currency: QQQ, rate: 1.2, lines: [{what: a, each: 1.00}]}\n---\n",
        "unknown-currency",
    ),
    "a part fitted that never arrived": (
        "2024-06-01-bad.md",
        HEAD + "systems: [fuel]\nbought: {from: A, lines: [{part: hose, each: 1.00}]}\nfitted: hose\n---\n",
        "shelf-below-zero",
    ),
    "a meter going backwards": (
        "2024-06-01-bad.md",
        HEAD + "reading: 112000\n---\n",
        "meter-falls",
    ),
    "a date that does not exist": ("2024-06-01-bad.md", "---\ndate: 2024-06-31\ntitle: x\n---\n", "2024-06-31"),
    "a binary file": ("2024-06-01-bad.md", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "not-text"),
    "a 5 MB entry": ("2024-06-01-bad.md", "---\ndate: 2024-06-01\n---\n" + "x" * 5_000_000, "too-large"),
    "a path that leaves the log": (
        "2024-06-01-bad.md",
        HEAD + "bought: {from: A, paper: ../../etc/passwd, lines: [{what: a, each: 1.00}]}\n---\n",
        "is outside",
    ),
}


@pytest.mark.parametrize("name", BAD_ENTRIES)
def test_a_bad_log_gives_one_problem_and_leaves_the_site_alone(log: Path, name: str) -> None:
    """One error, told with its place; exit 1; the site published before stays byte for byte."""
    assert run("publish", log, "--as-of", DAY).exit_code == 0
    before = hash_folder(log / "site")
    file, text, told = BAD_ENTRIES[name]
    (log / "entries" / file).write_bytes(text if isinstance(text, bytes) else text.encode())
    for command in ("check", "publish", "costs"):
        result = run(command, log, "--as-of", DAY)
        assert result.exit_code == 1, result.output
        assert told in result.output
        assert "1 error" in result.output
        assert f"entries/{file}:" in result.output
    assert hash_folder(log / "site") == before


def test_all_problems_of_a_log_come_in_one_run(log: Path) -> None:
    """Three files with a mistake each, and one in log.yaml: four errors, not the first one."""
    for n in range(3):
        (log / "entries" / f"2024-07-0{n + 1}-bad.md").write_text(f"---\ndate: 2024-07-0{n + 1}\ntitel: x\n---\n")
    (log / "log.yaml").write_text(SETTINGS.replace("systems:", "sistems:"))
    result = run("check", log, "--as-of", DAY)
    assert result.exit_code == 1
    assert "log.yaml:3:1" in result.output
    assert all(f"entries/2024-07-0{n + 1}-bad.md:3:1" in result.output for n in range(3))


def test_strict_turns_warnings_into_errors(log: Path) -> None:
    """An unlisted picture is a warning: told by check, in the way only with --strict."""
    (log / "photos" / "2024-05-18-lift-pump").mkdir(parents=True)
    shutil.copy(next((EXAMPLE / "photos").rglob("*.jpg")), log / "photos" / "2024-05-18-lift-pump" / "a.jpg")
    assert run("check", log, "--as-of", DAY).exit_code == 0
    assert run("check", log, "--strict", "--as-of", DAY).exit_code == 1
    assert run("publish", log, "--strict", "--as-of", DAY).exit_code == 1
    assert not (log / "site").exists()


def test_publishing_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    """Same input, same day, same bytes; and the second run into one folder writes nothing."""
    first, second = tmp_path / "first", tmp_path / "second"
    assert run("publish", EXAMPLE, "--out", first, "--as-of", DAY).exit_code == 0
    assert run("publish", EXAMPLE, "--out", second, "--as-of", DAY).exit_code == 0
    assert hash_folder(first) == hash_folder(second)
    assert "files written: 0," in run("publish", EXAMPLE, "--out", first, "--as-of", DAY).output


def test_source_date_epoch_is_the_day(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """1716076800 is 2024-05-19T00:00:00Z (reproducible-builds.org, SOURCE_DATE_EPOCH specification)."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1716076800")
    assert read_json("costs", log, "--json")["as_of"] == "2024-05-19"


@pytest.mark.parametrize(
    ("epoch", "why"), [("253402300799", "a day between the years 1000 and 2999"), ("soon", "a number of seconds")]
)
def test_source_date_epoch_names_a_day_that_can_be_used(
    epoch: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """253402300799 is the last second of the year 9999, after which no month can be added."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
    result = run("due", make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY}))
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"SOURCE_DATE_EPOCH is `{epoch}`, which is not {why}\n" in result.stderr


def test_no_private_word_is_published(tmp_path: Path) -> None:
    """What `public:` does not open stands in no file of the site: seller, place, whole VIN, registration, papers."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    (log / "log.yaml").write_text(
        SETTINGS.replace(
            "name: Test machine",
            f"name: Test machine, vin: {VIN}, registration: QX 417 B, engine_number: ENG-55-77, place: Nowhere",
        )
        + "acquired: {date: 2024-01-01, from: The Seller, price: 1.00, reading: 112000}\n"
    )
    assert run("publish", log, "--as-of", DAY).exit_code == 0
    site = b"".join(path.read_bytes() for path in (log / "site").rglob("*") if path.is_file())
    for secret in (VIN, VIN[-7:], "QX 417 B", "ENG-55-77", "Nowhere", "The Seller", "118.40"):
        assert secret.encode() not in site, secret


def test_hidden_prices_leave_no_amount(tmp_path: Path) -> None:
    """With `prices: hidden` no page holds a sum either."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    (log / "log.yaml").write_text(SETTINGS + "public: {prices: hidden}\n")
    assert run("publish", log, "--as-of", DAY).exit_code == 0
    site = "".join(path.read_text() for path in (log / "site").rglob("*.html"))
    assert "133.10" not in site
    assert "£" not in site


def test_start_write_check_publish(tmp_path: Path) -> None:
    """A newcomer's first four commands work one after the other."""
    folder = tmp_path / "tom"
    started = run("start", folder, "--name", "Old Tom", "--as-of", "2024-05-18")
    assert started.exit_code == 0, started.output
    written = run("write", "Brake pipes, front left", "--log", folder, "--as-of", "2024-05-20")
    assert written.exit_code == 0, written.output
    assert (folder / "entries" / "2024-05-20-brake-pipes-front-left.md").is_file()
    assert run("check", folder, "--strict", "--as-of", "2024-05-20").exit_code == 0
    assert run("publish", folder, "--as-of", "2024-05-20").exit_code == 0


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """A second `start` in one folder is wrong use, and leaves every file as it was."""
    folder = tmp_path / "tom"
    run("start", folder)
    before = hash_folder(folder)
    result = run("start", folder)
    assert result.exit_code == 2
    assert "already exists and has been left alone" in result.output
    assert hash_folder(folder) == before


def test_a_folder_of_somebody_else_is_not_published_into(log: Path, tmp_path: Path) -> None:
    """A folder with files that are not ours is refused as wrong use."""
    other = tmp_path / "other"
    other.mkdir()
    (other / "letter.txt").write_text("mine")
    result = run("publish", log, "--out", other, "--as-of", DAY)
    assert result.exit_code == 2, result.output
    assert [path.name for path in other.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    "arguments",
    [
        ["publish", "/no/such/log"],
        ["costs", "--as-of", "18.05.2024"],
        ["schema"],
        ["nonsense"],
        ["start", "/no/such/log", "--kind", "ship"],
        ["start", "/no/such/log", "--currency", "EURO"],
    ],
)
def test_wrong_use_ends_with_2(arguments: list[str]) -> None:
    """A call that cannot be meant is told apart from a log with problems."""
    assert run(*arguments).exit_code == 2


SLIPS_OF_PLANS = """---
date: 2024-05-01
title: A
bought:
  - {from: S, ref: A1, arrived: {date: 2024-05-03, lines: {pump: 4}}, lines: [{part: pump, qty: 3, each: 4.00}],
     paid: [{date: 2024-05-01, amount: 8.00}, {date: 2024-05-02, amount: 8.00}]}
  - {from: S, paid: 2024-05-01, warranty: {}, lines: [{part: seal, each: 4.00}]}
done: [Never said]
---
"""
LISTS = """
lists: {road: {name: Before the road, items: [Lamps]}, again: {name: Before the road, items: [Horn]}}
"""


def test_slips_with_payments_parcels_plans_and_pages_are_told_once_each_with_a_remedy(tmp_path: Path) -> None:
    """Beyond the total, beyond the order, never open, no end, no such picture, one of our names, one name twice."""
    log = make_log(tmp_path / "log", {"2024-05-01-a.md": SLIPS_OF_PLANS})
    settings = log / "log.yaml"
    covered = settings.read_text(encoding="utf-8").replace("site: {", "site: {cover: 2024-05-01-a/none.jpg, ")
    settings.write_text(covered + LISTS, encoding="utf-8")
    (log / "pages").mkdir()
    (log / "pages/costs.md").write_text("# Ours\n\nx\n", encoding="utf-8")
    result = run("check", log, "--as-of", "2024-06-01")
    told = re.findall(r"^  \[([a-z-]+)\]$", result.stderr, re.MULTILINE)
    assert sorted(told) == sorted(
        "paid-too-much arrived-too-many next-not-open warranty-without-end no-cover page-name list-name-twice".split()
    )
    # Each has a line between what is wrong and its rule that says what would do.
    assert all(re.search(rf"\n  (?!at |see also )\S.*\n(?:         .*\n)*  \[{rule}\]", result.stderr) for rule in told)
    assert result.exit_code == 1
