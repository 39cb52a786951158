"""Kills the writing of one plan at each thing that it does to the disk, and has it brought in again after each.

    python -m tests.bring.kills FOLDER

FOLDER has a log in `log` and a drawer in `drawer`. Ends with 0 when every rule held, and prints how often it died; run
by `test_plan`. It is a program of its own, as a process that is forked must have one thread.
"""

from __future__ import annotations

import datetime
import re
import shutil
import sys
from pathlib import Path

from buildlog.bring.carry_out import carry_out
from buildlog.bring.plan import Plan, Wish, make_plan
from buildlog.read.reader import read_log
from tests.killing import DEATHS, die_at, read_tree, run_apart

LAST = datetime.date(2030, 1, 1)
MINE = "entries/2024-05-16-mine.md"
"An entry that is there, and gets pictures."
PHOTOS = "photos/2024-05-16-mine"
NAMED = re.compile(r"file: (\S+\.jpg)")


def make(top: Path) -> Plan:
    log = read_log(top / "log").log
    assert log is not None
    return make_plan(Wish(sources=(top / "drawer",)), log, LAST)


def carry(top: Path) -> None:
    list(carry_out(make(top), top / "log"))


def main(top: Path) -> None:
    """Raises AssertionError where a rule does not hold."""
    before = read_tree(top / "log")
    whole = top.parent / "whole"
    shutil.copytree(top, whole)
    carry(whole)
    after = read_tree(whole / "log")
    assert len(after) > len(before) + 4
    assert after[MINE] != before[MINE]
    died = 0
    for number in range(1, 1000):
        for longest in (None, 10):
            place = top.parent / f"killed-{number}-{longest}"
            shutil.copytree(top, place)
            plan = make(place)

            def work(
                plan: Plan = plan, place: Path = place, longest: int | None = longest, number: int = number
            ) -> None:
                die_at(number, longest=longest)
                list(carry_out(plan, place / "log"))

            signal = run_apart(work)
            tree = {path: data for path, data in read_tree(place / "log").items() if not hidden(path)}
            whole_ones = all(data in (after.get(path), before.get(path)) for path, data in tree.items())
            assert whole_ones, "there is half a file"
            assert before.keys() <= tree.keys(), "something that was there is gone"
            entry = tree[MINE].decode()
            assert all(f"{PHOTOS}/{name}" in tree for name in NAMED.findall(entry)), "an entry names what is not there"
            if signal:
                assert signal in DEATHS
                died += 1
                carry(place)
            again = {path: data for path, data in read_tree(place / "log").items() if not hidden(path)}
            assert again == after, f"killed at {number}, the next run does not finish it"
            shutil.rmtree(place)
            if not signal and longest is None:
                print(died)
                return


def hidden(path: str) -> bool:
    return path.rpartition("/")[2].startswith(".")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
