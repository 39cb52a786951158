"""The case files beside this one: what an owner typed, and what is told or read.

    === title                   what the case shows
    ::: entry                   front matter from the fourth line on; the first three are `---`, a date and a title
    ::: file                    or the whole of the entry's file
    ::: log                     more of log.yaml, from its fourth line on
    ::: papers, ::: photos      files that are there, one a line
    ::: reads                   field = value of the entry, or of the log's settings
    ::: told                    every problem, as the terminal shows it without its quotes; none where it is left out

`⇥` stands for a tab. Lines before the first case are for readers.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from buildlog.read.files import LogFiles
from buildlog.read.reader import Reading, read_files
from tests.support import list_problems

CASES = Path(__file__).parent / "cases"

SETTINGS = """machine: {name: Test machine, meter: {unit: mi}}
systems: {fuel: Fuel, brakes: Brakes}
"""

FAULT_COMPONENTS = """components: {lift-pump: {system: fuel}}
"""


def list_cases() -> list[Any]:
    return [
        pytest.param(split_case(block), id=f"{path.stem}: {block.partition(chr(10))[0]}")
        for path in sorted(CASES.glob("*.txt"))
        for block in path.read_text(encoding="utf-8").split("\n=== ")[1:]
    ]


def split_case(block: str) -> dict[str, str]:
    """The parts of a case by their names."""
    title, *parts = re.split(r"^::: (\w+)$\n?", block, flags=re.MULTILINE)
    return {"title": title.strip()} | dict(zip(parts[::2], parts[1::2], strict=True))


def read_case(case: dict[str, str]) -> Reading:
    """What the case's input reads as: entries/case.md and log.yaml."""
    text = case.get("file", "---\ndate: 2024-05-18\ntitle: Pump off\n" + case.get("entry", "").strip("\n") + "\n---\n")
    settings = SETTINGS
    settings += "" if "money:" in case.get("log", "") else "money: {currency: GBP}\n"
    settings += "" if "components:" in case.get("log", "") else FAULT_COMPONENTS
    settings += case.get("log", "")
    photos = {"case": tuple(case["photos"].split())} if "photos" in case else {}
    papers = frozenset(case.get("papers", "").split())
    entries = {"case.md": text.replace("⇥", "\t").removesuffix("\n")}
    return read_files(LogFiles(settings=settings.replace("⇥", "\t"), entries=entries, papers=papers, photos=photos))


def tell(reading: Reading) -> str:
    """The problems as the case files have them: no quotes, no blank lines, no count."""
    return "\n".join("\n  ".join(rows) for rows in list_problems(reading.problems))


def follow(value: Any, path: str) -> Any:
    for step in path.split("."):
        value = value[step if hasattr(value, "keys") else int(step)] if step.isdigit() else getattr(value, step)
    return value


@pytest.mark.parametrize("case", list_cases())
def test_case(case: dict[str, str]) -> None:
    """What is typed is read, or told, exactly as the case says."""
    reading = read_case(case)
    assert tell(reading) == case.get("told", "").strip()
    for row in case.get("reads", "").strip().splitlines():
        assert reading.log is not None
        path, _, expected = row.partition(" = ")
        owner = reading.log if path.startswith("settings.") else reading.log.entries[0]
        assert str(follow(owner, path)) == expected, path


def test_every_case_expects_something() -> None:
    """A case without anything expected would pass whatever it reads."""
    assert [case.values[0]["title"] for case in list_cases() if not {"reads", "told"} & set(case.values[0])] == []
