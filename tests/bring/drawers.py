"""A log to bring things into, and what is asked of it: files made here, plans as JSON, logs that are sound."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from click.testing import Result

from buildlog.read.reader import read_log
from buildlog.read.records import Entry, Log, Order
from tests.test_cli import run

HEAD = "Date,Supplier,Receipt,Item,Qty,Each,Total\n"


def start_log(folder: Path, currency: str = "EUR") -> Path:
    """A log with its settings and no entry."""
    (folder / "entries").mkdir(parents=True)
    settings = f"machine: {{name: Old Tom, meter: {{unit: km}}}}\nmoney: {{currency: {currency}}}\nsite: {{id: tom}}\n"
    (folder / "log.yaml").write_text(settings + "systems: {fuel: Fuel, brakes: Brakes}\n", encoding="utf-8")
    return folder


def put(folder: Path, files: Mapping[str, str | bytes]) -> Path:
    """A drawer with these files."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


def bring(*arguments: str | Path) -> Result:
    return run("bring", *arguments)


def plan(*arguments: str | Path) -> dict[str, Any]:
    """The plan as JSON; nothing is written."""
    done = bring(*arguments, "--dry-run", "--json")
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    made = json.loads(done.stdout)
    assert isinstance(made, dict)
    return made


def write(log: Path, *sources: str | Path) -> Result:
    """What is brought in is written, and the log is sound after it: no error, and no warning but its owner's own.

    Those are descriptions of pictures, which only an owner can give, what was warned of before, and what the plan
    warned of.
    """
    before = find_rules(run("check", log, "--as-of", "2030-01-01").output)
    done = bring(*sources, "--log", log, "--yes")
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    checked = run("check", log, "--as-of", "2030-01-01")
    assert checked.exit_code == 0, checked.output
    assert find_rules(checked.output) <= before | find_rules(done.output) | {"photo-says-nothing"}, checked.output
    return done


def find_rules(output: str) -> set[str]:
    """The rules of all problems that a command tells."""
    return set(re.findall(r"^ +\[([a-z-]+)\]$", output, re.MULTILINE))


def read(log: Path) -> Log:
    reading = read_log(log)
    assert reading.log is not None and not [one for one in reading.problems if one.severity == "error"]
    return reading.log


def list_orders(log: Path) -> list[tuple[Entry, Order]]:
    return [(entry, order) for entry in read(log).entries for order in entry.bought]


def list_lines(log: Path) -> list[str]:
    """Each line of each order in one row: supplier, number, day, quantity, what, and what it cost."""
    return [
        f"{order.supplier} {order.ref or '-'} {order.ordered}: {line.qty:f} {line.what} "
        f"{line.each if line.total is None else line.total}{'' if line.total is None else ' in all'}"
        for _, order in list_orders(log)
        for line in order.lines
    ]


def list_problems(made: Mapping[str, Any], severity: str = "error") -> list[str]:
    """The problems of a plan: row, column and message."""
    return [
        f"{one['row']} {one['element'] or ''}: {one['message']}"
        for one in made["problems"]
        if one["severity"] == severity
    ]
