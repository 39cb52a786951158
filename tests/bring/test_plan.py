"""A plan is shown before anything is done, adds nothing twice, touches nothing that is there, and survives a kill."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from buildlog.cli import main
from tests.bring.drawers import HEAD, bring, list_lines, list_orders, list_problems, plan, put, read, start_log, write
from tests.killing import read_tree
from tests.photos.test_intake import shoot
from tests.record.test_careful_handover import find_dead_process
from tests.test_cli import run

TOP = Path(__file__).parent.parent.parent
RECEIPTS = HEAD + (
    "2024-05-16,A. Seller,17,Hose,5,6.10,30.50\n"
    "2024-05-16,B. Seller,,Clip,4,0.30,1.20\n"
    "2024-05-18,A. Seller,18,Nut,1,0.10,0.10\n"
)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return start_log(tmp_path / "log")


@pytest.fixture
def drawer(tmp_path: Path) -> Path:
    return put(tmp_path / "drawer", {"receipts.csv": RECEIPTS})


def test_a_dry_run_only_shows(log: Path, drawer: Path) -> None:
    """As a table: what was read, each bill with its entry and its total, and what would be written. No file is made."""
    before = read_tree(log.parent)
    done = bring(drawer, "--log", log, "--dry-run")
    assert (done.exit_code, read_tree(log.parent)) == (0, before)
    assert (
        "read like this, row 2: on 16 May 2024, bought from A. Seller, number 17: 5 × Hose for 30.50 EUR" in done.output
    )
    rows = [line.split("  ") for line in done.output.splitlines() if line.startswith("entries/")]
    assert [[cell.strip() for cell in row if cell.strip()] for row in rows] == [
        [
            "entries/2024-05-16-bought-from-a-seller-and-b-seller.md",
            "A. Seller",
            "17",
            "1 line",
            "30.50 EUR",
            "2024-05-16",
        ],
        ["entries/2024-05-16-bought-from-a-seller-and-b-seller.md", "B. Seller", "1 line", "1.20 EUR", "2024-05-16"],
        ["entries/2024-05-18-bought-from-a-seller.md", "A. Seller", "18", "1 line", "0.10 EUR", "2024-05-18"],
    ]
    assert done.output.splitlines()[-1] == "To write: 2 entries"


def test_the_json_holds_the_same(log: Path, drawer: Path) -> None:
    """Every entry with its whole text, its orders and totals; what is written is that text, byte for byte."""
    made = plan(drawer, "--log", log)
    assert [entry["path"] for entry in made["entries"]] == [
        "entries/2024-05-16-bought-from-a-seller-and-b-seller.md",
        "entries/2024-05-18-bought-from-a-seller.md",
    ]
    assert [order["total"] for entry in made["entries"] for order in entry["orders"]] == ["30.50", "1.20", "0.10"]
    write(log, drawer)
    assert {entry["path"]: entry["text"] for entry in made["entries"]} == {
        path: data.decode() for path, data in read_tree(log).items() if path.startswith("entries/")
    }


def test_an_entry_is_what_an_owner_would_type(log: Path, drawer: Path) -> None:
    """Front matter in the owner's own keys, marked with where it came from, and an empty story."""
    write(log, drawer)
    text = (log / "entries/2024-05-18-bought-from-a-seller.md").read_text(encoding="utf-8")
    [mark] = [mark for entry in read(log).entries for mark in entry.brought_from if mark.at == "row 4"]
    assert (
        text
        == f"""\
---
date: 2024-05-18
title: Bought from A. Seller
brought_from:
  - {{file: receipts.csv, digest: {mark.digest}, at: row 4}}
bought:
  - from: A. Seller
    ref: 18
    ordered: 2024-05-18
    arrived: 2024-05-18
    paid: 2024-05-18
    lines:
      - {{what: Nut, each: 0.10}}
---

"""
    )


def test_without_a_terminal_nothing_is_written(log: Path, drawer: Path) -> None:
    """Nobody can be asked: the plan is shown, and what to give is said."""
    before = read_tree(log)
    done = bring(drawer, "--log", log)
    assert (done.exit_code, read_tree(log)) == (2, before)
    assert "To write: 2 entries" in done.output
    assert "there is no terminal to ask on; --yes writes, --dry-run only shows" in done.output


@pytest.mark.parametrize(("answer", "entries"), [("y\n", 2), ("n\n", 0), ("\n", 0)])
def test_on_a_terminal_it_asks(
    answer: str, entries: int, log: Path, drawer: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is shown is written if its owner says so, and only then."""
    monkeypatch.setattr("buildlog.commands.bringing.is_terminal", lambda: True)
    done = CliRunner().invoke(main, ["bring", str(drawer), "--log", str(log)], input=answer)
    assert done.exit_code == 0
    assert "Write this? [y/N]" in done.output
    assert len(list((log / "entries").iterdir())) == entries


def test_bringing_twice_adds_nothing(log: Path, drawer: Path) -> None:
    """What is in the log is known by its mark; it is said where it is."""
    write(log, drawer)
    before = read_tree(log)
    done = write(log, drawer)
    assert (done.exit_code, read_tree(log)) == (0, before)
    assert "brought in before, in entries/2024-05-18-bought-from-a-seller.md" in done.output
    assert "To write: nothing" in done.output


def test_a_spreadsheet_that_grew_adds_what_is_new(log: Path, drawer: Path) -> None:
    """Another file by its digest, but its old receipts are known by their number, or by what they say."""
    write(log, drawer)
    put(drawer, {"receipts.csv": RECEIPTS + "2024-05-20,B. Seller,,Pin,1,2.00,2.00\n"})
    write(log, drawer)
    assert list_lines(log) == [
        "A. Seller 17 2024-05-16: 5 Hose 6.10",
        "B. Seller - 2024-05-16: 4 Clip 0.30",
        "A. Seller 18 2024-05-18: 1 Nut 0.10",
        "B. Seller - 2024-05-20: 1 Pin 2.00",
    ]


def test_what_an_owner_typed_or_edited_is_left_alone(log: Path, drawer: Path) -> None:
    """An order that is typed already is not brought in; an entry that was brought in and then rewritten stays so."""
    typed = (
        "---\ndate: 2024-05-18\ntitle: T\nbought: {from: a. seller, ref: 18, lines: [{what: A nut, each: 0.10}]}\n---\n"
    )
    put(log, {"entries/2024-05-18-mine.md": typed})
    write(log, drawer)
    [name] = [path for path in read_tree(log) if "2024-05-16" in path]
    text = (log / name).read_text(encoding="utf-8").replace("ref: '17'", "ref: '71'").replace("B. Seller", "C. Other")
    (log / name).write_text(text, encoding="utf-8")
    before = read_tree(log)
    write(log, drawer)
    assert read_tree(log) == before


def test_a_file_in_the_way_is_not_replaced(log: Path, drawer: Path) -> None:
    """A file that appears between the plan and the writing stays as it is, and the run ends with a sentence."""
    from buildlog.bring.carry_out import carry_out
    from buildlog.bring.plan import Wish, make_plan
    from tests.bring.kills import LAST

    made = make_plan(Wish(sources=(drawer,)), read(log), LAST)
    put(log, {made.entries[0].path: "mine"})
    with pytest.raises(FileExistsError):
        list(carry_out(made, log))
    assert (log / made.entries[0].path).read_text(encoding="utf-8") == "mine"


def test_an_entry_that_would_break_the_log_is_left_out(log: Path, drawer: Path) -> None:
    """What `check` would call an error is told in the plan, and the other entries are written."""
    rows = "2024-05-19,A. Seller,19,Cap,1,1.00,1.00,paintwork\n"
    head, first, *_ = RECEIPTS.splitlines()
    text = f"{head},For\n{first},fuel\n{rows}"
    made = plan(put(drawer, {"receipts.csv": text}), "--log", log)
    assert [problem["file"] for problem in made["problems"]] == ["entries/2024-05-19-bought-from-a-seller.md"]
    assert list_problems(made)[0].endswith("there is no system `paintwork` in `log.yaml`; so this entry is not written")
    assert [entry["path"] for entry in made["entries"]] == ["entries/2024-05-16-bought-from-a-seller.md"]


def test_a_run_that_is_killed_leaves_no_half_entry(log: Path, drawer: Path) -> None:
    """Killed at each thing that it does to the disk: no half file, nothing lost, and the next run finishes it.

    An entry that is there is what it was, or has all its pictures; none names one that is not there yet.
    """
    put(log, {"entries/2024-05-16-mine.md": "---\ndate: 2024-05-16\ntitle: Mine\n---\nMy own words.\n"})
    shoot(drawer / "more.jpg", 3, "2024:05:16 15:00:00")
    for n in range(3):
        shoot(drawer / f"{n}.jpg", n, f"2024:05:1{6 + n} 12:00:00")
    command = [sys.executable, "-m", "tests.bring.kills", str(log.parent)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=TOP, check=False)
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) > 50


def test_what_a_killed_run_left_half_written_is_removed(log: Path, drawer: Path) -> None:
    """By the next run, once the killed one is gone; what another run writes stays, and so does what is none of ours."""
    dead = find_dead_process()
    name = "2024-05-18-bought-from-a-seller.md"
    shoot(drawer / "a.jpg", 1, "2024:05:18 12:00:00")
    left = [f"entries/.{name}.{dead}", f"photos/{name.removesuffix('.md')}/.01-a.jpg.{dead}"]
    stay = [f"entries/.{name}.{os.getppid()}", f"entries/.other.md.{dead}", "entries/.notes"]
    put(log, dict.fromkeys([*left, *stay], "half"))
    write(log, drawer)
    assert [path for path in read_tree(log) if path.rpartition("/")[2].startswith(".")] == sorted(stay)


def test_a_log_with_an_error_is_mended_first(log: Path, drawer: Path) -> None:
    """Nothing is brought into a log that cannot be read: its problems are told as `check` tells them."""
    put(log, {"entries/2024-05-01-x.md": "---\ndate: 1.5.2024\ntitle: T\n---\n"})
    done = bring(drawer, "--log", log, "--yes")
    assert done.exit_code == 1
    assert "entries/2024-05-01-x.md:2:7" in done.output
    assert list(log.glob("entries/2024-05-16*")) == []


MISSING = """
import sys
for name in ("defusedxml", "pypdf", "python_calamine"):
    sys.modules[name] = None
from buildlog.cli import main
main(sys.argv[1:])
"""


def test_absent_readers_are_told_in_one_sentence_each(log: Path, drawer: Path) -> None:
    """Without the optional readers CSV is brought in all the same, and the command that installs them is said."""
    put(drawer, {"a.xml": "<x/>", "b.pdf": "%PDF-1.4", "c.xlsx": b"PK\x03\x04"})
    command = [sys.executable, "-c", MISSING, "bring", str(drawer), "--log", str(log), "--dry-run", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=TOP, check=False)
    made = json.loads(done.stdout)
    assert list_problems(made) == [
        "1 : XML cannot be read here yet",
        "1 : PDF cannot be read here yet",
        "1 : XLSX and ODS cannot be read here yet",
    ]
    assert {problem["help"] for problem in made["problems"]} == {"install: pip install 'buildlog[bring]'"}
    assert len(made["entries"]) == 2


def test_the_marks_stay_out_of_the_site(log: Path, drawer: Path) -> None:
    """The name of a file may hold a person's: no page has it."""
    write(log, drawer)
    assert run("publish", log, "--as-of", "2024-12-31").exit_code == 0
    assert all(b"receipts.csv" not in data for data in read_tree(log / "site").values())
    assert len(list_orders(log)) == 3


def test_hostile_words_stay_words(log: Path, drawer: Path) -> None:
    """Whatever a supplier calls its goods, it is written as a text that the log takes, and read back as it was."""
    words = [
        "a: b",
        "- x",
        "{y}",
        "#z",
        "'q'",
        '"d"',
        "*a &b",
        "@c",
        "no",
        "0123",
        "12,50",
        "<b>x</b>",
        "=1+1",
        "\u202eturned",
    ]
    rows = "".join(
        f'2024-05-{n:02},"S {n}","{word.replace(chr(34), chr(34) * 2)}",1.00\n' for n, word in enumerate(words, 1)
    )
    put(drawer, {"receipts.csv": "Date,Supplier,Item,Total\n" + rows})
    done = write(log, drawer)
    assert done.exit_code == 0, done.output
    assert [line.what for _, order in list_orders(log) for line in order.lines] == [*words[:-1], "turned"]
