"""Computing a stranger's log in a process of its own: the same answers, and an end to everything."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any, BinaryIO

import pytest
from click.testing import CliRunner

import buildlog
from buildlog.commands.handover import verify
from buildlog.handover import run_apart
from buildlog.handover.findings import leave_open
from buildlog.handover.hashed_bag import read_through
from buildlog.handover.manifest import Handover
from buildlog.handover.recompute import recheck
from buildlog.handover.run_apart import recheck_apart
from buildlog.handover.verify import RECOMPUTED, verify_bag
from tests.record.bags import hand, write_log


@pytest.fixture(scope="module")
def bag(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, Handover]:
    """A bag that was read and packed, and what its list says."""
    folder, packed = tmp_path_factory.mktemp("handed"), io.BytesIO()
    handover = hand(write_log(folder / "log"), folder / "bag").handover
    assert handover
    read_through(folder / "bag").pack(packed)
    return packed.getvalue(), handover


@pytest.fixture
def handed(bag: tuple[bytes, Handover], tmp_path: Path) -> Iterator[tuple[BinaryIO, Handover]]:
    """What `verify` gives to whoever computes."""
    (tmp_path / "packed").write_bytes(bag[0])
    with open(tmp_path / "packed", "rb") as packed:
        yield packed, bag[1]


def test_the_answers_are_the_same(handed: tuple[BinaryIO, Handover]) -> None:
    """Through JSON and back: each finding whole."""
    found = recheck_apart(*handed)
    handed[0].seek(0)
    assert found == recheck(*handed)


def test_what_takes_too_long_is_stopped(handed: tuple[BinaryIO, Handover], monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is said to hold that was not seen to the end."""
    monkeypatch.setattr(run_apart, "PATIENCE", 0.01)
    found = recheck_apart(*handed)
    assert {finding.state for finding in found.values()} == {"cannot be checked"}
    assert found.keys() == {*RECOMPUTED}
    assert found["totals"].says == "it took longer than 0.01 seconds and was stopped (with `--no-time-limit` it is not)"
    handed[0].seek(0)
    assert {finding.state for finding in recheck_apart(*handed, unhurried=True).values()} != {"cannot be checked"}


def test_what_was_answered_before_the_end_stands(
    handed: tuple[BinaryIO, Handover], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Time or memory that runs out over the pictures takes nothing from the sums that were finished."""
    wanted = recheck(*handed)
    handed[0].seek(0)
    lines = [f"{json.dumps(asdict(wanted[key]))}\n" for key in RECOMPUTED]
    code = "import sys; from buildlog.handover import recompute, run_apart; "
    code += "recompute.answer_pages = lambda *given, **more: sys.exit(run_apart.OUT_OF_MEMORY); "
    found = run_apart.run_python("-c", f"{code}run_apart.main()", given=handed[0])
    assert found == wanted | {"pages": leave_open("pages", run_apart.ENDS[run_apart.OUT_OF_MEMORY])}

    def run_out_of_time(*given: object, **more: object) -> None:
        raise subprocess.TimeoutExpired("python", 70, output="".join(lines[:-1]).encode() + lines[-1].encode()[:40])

    monkeypatch.setattr(subprocess, "run", run_out_of_time)
    found = recheck_apart(*handed)
    assert found == wanted | {
        "pages": leave_open(
            "pages", "it took longer than 70 seconds and was stopped (with `--no-time-limit` it is not)"
        )
    }


def test_what_takes_too_much_memory_is_stopped(tmp_path: Path) -> None:
    """The bound is set from inside, before anything of the bag is read; what is left does not hold a long entry."""
    hand(write_log(tmp_path / "log"), tmp_path / "bag")
    (tmp_path / "bag/data/log/entries/long.md").write_bytes(b"x" * 40_000_000)
    code = "from buildlog.handover import run_apart; run_apart.MOST_MEMORY = 50_000_000"
    with open(tmp_path / "packed", "w+b") as packed:
        read_through(tmp_path / "bag").pack(packed)
        packed.seek(0)
        found = run_apart.run_python("-c", f"{code}; run_apart.main()", given=packed)
    assert {finding.state for finding in found.values()} == {"cannot be checked"}
    assert found["totals"].says == run_apart.ENDS[run_apart.OUT_OF_MEMORY]


def test_a_process_that_gives_no_answer_is_no_crash(tmp_path: Path) -> None:
    """Whatever ends the other process early, it is told in one line: here it is given nothing that it can read."""
    (tmp_path / "packed").write_bytes(b"{")
    with open(tmp_path / "packed", "rb") as packed:
        found = run_apart.run_python("-m", "buildlog.handover.run_apart", given=packed)
    assert {finding.state for finding in found.values()} == {"cannot be checked"}
    assert found["totals"].says == run_apart.ENDED


def test_a_process_that_cannot_start_is_told_in_one_sentence(
    handed: tuple[BinaryIO, Handover], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program that is not there, as where no more processes may be made: every question is left open, with why."""
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no-such-program"))
    found = recheck_apart(*handed)
    assert found.keys() == {*RECOMPUTED}
    assert {(finding.state, finding.says) for finding in found.values()} == {
        ("cannot be checked", "the program that computes could not be started: No such file or directory")
    }


def test_nothing_beside_the_bag_is_run(
    handed: tuple[BinaryIO, Handover], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file `yaml.py` in the folder that one stands in is not what `import yaml` means."""
    (tmp_path / "yaml.py").write_text("raise SystemExit(7)")
    monkeypatch.chdir(tmp_path)
    assert recheck_apart(*handed)["totals"].state == "holds"


def test_the_option_takes_away_both_limits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is started has no time set, and is told to compare all pictures; without the option it is as ever."""
    hand(write_log(tmp_path / "log"), tmp_path / "bag")
    calls: list[tuple[bool, object]] = []
    plain = subprocess.run

    def note(command: Any, *given: Any, **named: Any) -> Any:
        if "buildlog.handover.run_apart" in command:
            calls.append((run_apart.UNHURRIED in command, named["timeout"]))
        return plain(command, *given, **named)

    monkeypatch.setattr(subprocess, "run", note)
    for options in ([], [run_apart.UNHURRIED]):
        assert CliRunner().invoke(verify, [str(tmp_path / "bag"), *options]).exit_code in (0, 4)
    assert calls == [(False, run_apart.PATIENCE), (True, None)]


def test_verify_runs_what_the_guide_says_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Over a bag with signatures and a stamp: this program once more, and `ssh-keygen`; both are named to the user."""
    started: list[str] = []
    plain = subprocess.Popen.__init__

    def note(self: Any, command: Any, *given: Any, **named: Any) -> None:
        started.append(command[0])
        plain(self, command, *given, **named)

    monkeypatch.setattr(subprocess.Popen, "__init__", note)
    bag = max((Path(__file__).parent.parent / "record/golden").iterdir())
    assert not verify_bag(bag, recheck_apart).failed
    assert set(started) == {sys.executable, "ssh-keygen"}
    guide = (Path(buildlog.__file__).parent / "guide/handover.md").read_text(encoding="utf-8")
    assert "Two programs on your own computer are run: a\nsecond copy of `buildlog`" in guide
    for told in (guide, verify.help or "", verify_bag.__doc__ or ""):
        assert "ssh-keygen" in told
