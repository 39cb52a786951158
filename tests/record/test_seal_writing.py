"""That a sealing killed at any step leaves the seal before it whole, and that the next run finishes or undoes it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.record.logs import check_folder, list_rules, seal, seal_three_times, write_files

LIST = "seals/leaves.jsonl"
TOP = Path(__file__).parent.parent.parent

# The calls through which anything of a sealing reaches the disk. A run is killed before each of them, in turn.
KILLED = """
import datetime, os, signal, sys
from pathlib import Path
from buildlog.record import sealing as seal_writing
from buildlog.record.sealing import seal_log

left = int(sys.argv[2])

def count(call):
    def counted(*arguments, **named):
        global left
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        left -= 1
        return call(*arguments, **named)
    return counted

class Half:
    "A file of which the first half is on the disk when the run is killed."
    def __init__(self, *arguments):
        self.file = open(*arguments)
    def __enter__(self):
        return self
    def __exit__(self, *error):
        self.file.close()
    def __getattr__(self, name):
        return getattr(self.file, name)
    def write(self, data):
        self.file.write(data[: len(data) // 2])
        self.file.flush()
        count(lambda: None)()
        self.file.write(data[len(data) // 2 :])

seal_writing.open = Half
for name in ("fsync", "replace", "truncate"):
    setattr(os, name, count(getattr(os, name)))
Path.unlink = count(Path.unlink)
print(seal_log(Path(sys.argv[1]), date=datetime.date(2024, 7, 1), reason="why"))
"""


def run_killed(log: Path, steps: int) -> int:
    """The exit code of a sealing that is killed by itself after so many steps."""
    command = [sys.executable, "-c", KILLED, str(log), str(steps)]
    return subprocess.run(command, cwd=TOP, capture_output=True, check=False).returncode


@pytest.mark.parametrize("sealed_before", [False, True])
def test_a_sealing_killed_at_any_step_harms_nothing(tmp_path: Path, sealed_before: bool) -> None:
    """Before each write, flush, rename and removal in turn: sealed lines stay, and the next run ends in good order."""
    steps, killed = 0, True
    seen: set[tuple[str, ...]] = set()
    while killed:
        log = tmp_path / str(steps)
        write_files(log)
        if sealed_before:
            seal_three_times(log)
        write_files(log, {"papers/fourth.pdf": b"four", "log.yaml": b"machine: {name: Third}\n"})
        lines = (log / LIST).read_bytes() if sealed_before else b""
        seals = {path.name: path.read_bytes() for path in log.glob("seals/0*.json")}
        killed = run_killed(log, steps) == -signal.SIGKILL
        assert not lines or (log / LIST).read_bytes().startswith(lines)
        assert all((log / "seals" / name).read_bytes() == data for name, data in seals.items())
        seen.add(tuple(list_rules(check_folder(log))))
        done = seal(log, 60, "why")
        assert done.problems == ()
        report = check_folder(log)
        assert report.failures == () and not report.files.differs
        assert (log / LIST).read_bytes().startswith(lines)
        assert len(report.seals) == len(seals) + 1
        assert not [name for name in os.listdir(log / "seals") if name.startswith("unfinished")]
        steps += 1
    assert steps == 4 + 2 + 4 + 1 + 1, "the marker, the list, the seal, no marker; and one run that lived"
    assert seen >= {(), ("unfinished",), ("leaves-not-sealed", "unfinished")}
    assert any("leaf-cut" in rules for rules in seen)
    assert all(not rules or rules[-1] == "unfinished" for rules in seen)


def test_an_undoing_that_is_killed_is_undone_by_the_next(tmp_path: Path) -> None:
    """Killed while it seals, then killed while it clears away: still nothing sealed is lost."""
    for steps in range(8):
        log = seal_three_times(tmp_path / str(steps))
        lines = (log / LIST).read_bytes()
        write_files(log, {"papers/fourth.pdf": b"four"})
        assert run_killed(log, 8) == -signal.SIGKILL
        assert (log / LIST).read_bytes() != lines, "leaves were added and no seal counts them"
        run_killed(log, steps)
        assert seal(log, 60).problems == ()
        report = check_folder(log)
        assert report.failures == () and not report.files.differs
        assert (log / LIST).read_bytes().startswith(lines)


def test_the_next_run_says_that_it_cleared_away(tmp_path: Path) -> None:
    """The owner learns that a run before was cut off."""
    log = seal_three_times(tmp_path)
    write_files(log, {"papers/fourth.pdf": b"four"})
    assert run_killed(log, 8) == -signal.SIGKILL
    done = seal(log, 60)
    assert done.finished
    assert str(done).splitlines()[0] == "what an interrupted run had left was cleared away"


def test_lines_without_a_seal_are_never_dropped_unless_a_run_was_cut_off(tmp_path: Path) -> None:
    """A last seal that somebody took away is no interrupted sealing: its lines stay, and sealing is refused."""
    log = seal_three_times(tmp_path)
    lines = (log / LIST).read_bytes()
    (log / "seals/0003.json").unlink()
    done = seal(log, 60, "why")
    assert [problem.rule for problem in done.problems] == ["leaves-not-sealed"]
    assert (log / LIST).read_bytes() == lines


@pytest.mark.parametrize("marker", [b"", b"{}", b'{"number":3.0}', b'{"number":9}\n', b"[" * 900])
def test_a_marker_that_fits_nothing_is_not_followed(tmp_path: Path, marker: bytes) -> None:
    """Somebody else's marker undoes nothing: sealing is refused and the folder stays as it is."""
    log = seal_three_times(tmp_path)
    (log / "seals/unfinished.json").write_bytes(marker)
    write_files(log, {"papers/fourth.pdf": b"four"})
    lines = (log / LIST).read_bytes()
    assert [problem.rule for problem in seal(log, 60).problems] == ["unfinished"]
    assert (log / LIST).read_bytes() == lines
    assert (log / "seals/unfinished.json").read_bytes() == marker


def test_the_lock_ends_with_its_process(tmp_path: Path) -> None:
    """Another process holds the seals: we wait outside; it is killed: we may."""
    log = write_files(tmp_path)
    code = (
        "import sys; from pathlib import Path; from buildlog.record.sealing import hold_seals\n"
        "with hold_seals(Path(sys.argv[1])):\n    print('held', flush=True); sys.stdin.read()"
    )
    command = [sys.executable, "-c", code, str(log)]
    with subprocess.Popen(command, cwd=TOP, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        assert holder.stdout and holder.stdout.readline() == b"held\n"
        assert [problem.rule for problem in seal(log).problems] == ["seals-busy"]
        holder.kill()
        holder.wait()
        assert seal(log).leaves
