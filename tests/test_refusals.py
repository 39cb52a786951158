"""That whatever a system refuses ends any command in one sentence and with an exit code that means something.

The commands are found by walking the group, so that one that comes later is tried as well. Nothing here hangs on
rights, which do not stop root: a refusal is put in the system's mouth, or is one that stops everybody.
"""

from __future__ import annotations

import errno
import fcntl
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
import pytest

from buildlog.cli import main
from buildlog.record.sealing import SealsBusy, hold_seals
from tests.killing import EVENTS
from tests.record import bags
from tests.test_cli import run

TOP = Path(__file__).parent.parent
ERRORS = (errno.EACCES, errno.ENOSPC, errno.EIO, errno.ELOOP, errno.ENOTDIR, errno.ENOLCK)
TRIES = 8
"Events of each call that are refused, from its first to its last, at even distances."

# What is given for a parameter by its name; one of a new name has to be added here.
GIVEN = {
    "log": "{log}", "folder": "{new}", "bag": "{bag}", "title": "A title",
    "photos": "{camera}", "sign": "{key}", "stamp_ca": "{ca}", "out": "{out}",
    "sources": "{drawer}", "mapping": "{mapping}", "save_mapping": "{new}", "book out": "{out}.html",
}  # fmt: skip


def list_calls() -> Iterator[list[str]]:
    """Every command with its log and what else it needs, and once more with each other file that it may be given."""
    for name, command in sorted(main.commands.items()):
        needed = [one for one in command.params if one.required or one.name in ("log", "title")]
        more = [one for one in command.params if isinstance(one.type, click.Path) and one not in needed]
        for options in ([], *([one] for one in more)):
            yield [name, *(word for parameter in (*needed, *options) for word in give(parameter, name))]


def give(parameter: click.Parameter, command: str) -> list[str]:
    assert parameter.name in GIVEN, f"say what `{parameter.name}` is given"
    value = GIVEN.get(f"{command} {parameter.name}", GIVEN[parameter.name])
    return [value] if isinstance(parameter, click.Argument) else [parameter.opts[0], value]


CALLS = [*list_calls()]
pytestmark = pytest.mark.usefixtures("preview_ends")


@pytest.fixture(scope="module")
def ready(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all that calls name: a sealed log, a bag of it, a camera's photos, and files that are no keys."""
    top = tmp_path_factory.mktemp("ready")
    bags.hand(bags.write_sealed(top / "log"), top / "bag")
    (top / "camera").mkdir()
    (top / "camera" / "a.jpg").write_bytes(bags.draw_photo())
    (top / "drawer").mkdir()
    (top / "drawer" / "r.csv").write_text("Date,Supplier,Item,Total\n2024-05-18,A. Seller,Hose,12.50\n")
    (top / "drawer" / "a.jpg").write_bytes(bags.draw_photo())
    (top / "mapping").write_text("dates: year-month-day\n")
    (top / "key").write_text("no key")
    (top / "ca").write_text("no certificate")
    return top


@pytest.fixture
def place(ready: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it, with a cache of its own."""
    shutil.copytree(ready, tmp_path / "place")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "place" / "cache"))
    return tmp_path / "place"


def fill(call: list[str], place: Path) -> list[str]:
    return [re.sub(r"\{(\w+)\}", lambda name: str(place / name[1]), word) for word in call]


def check_end(code: int, told: str) -> None:
    """It ended with one of the exit codes, and said why where that is not 0: a sentence, problems, or what fails."""
    assert code in (0, 1, 2, 3)
    assert "Traceback" not in told and "Error(" not in told
    assert code == 0 or re.search(r"^Error: .|:\d+:\d+: .|\bfails ", told, re.MULTILINE), told


# ── a refusal at any event ───────────────────────────────────────────────────────────────────────────────────────


class Refuser:
    """Counts what a command does to files below a folder, and refuses one of it."""

    def __init__(self) -> None:
        self.folder: str | None = None
        self.met = 0
        self.refused = 0
        self.number = errno.EIO

    def hear(self, event: str, arguments: tuple[Any, ...]) -> None:
        if self.folder is not None and event in EVENTS:
            named = [os.fsdecode(one) for one in arguments if isinstance(one, (str, bytes, os.PathLike))]
            self.meet(next((one for one in named if one.startswith(self.folder)), None), event)

    def meet(self, path: str | None, event: str) -> None:
        if path is not None or event == "fcntl.flock":
            self.met += 1
            if self.met == self.refused:
                raise OSError(self.number, os.strerror(self.number), path)

    @contextmanager
    def refusing(self, folder: Path, at: int, number: int) -> Iterator[None]:
        self.folder, self.met, self.refused, self.number = str(folder), 0, at, number
        try:
            yield
        finally:
            self.folder = None


REFUSER = Refuser()
sys.addaudithook(REFUSER.hear)  # for the whole of this process, as none can be taken away


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """A look at a file can be refused too, as it is below a folder that may not be searched; no hook hears of it."""
    for name in ("stat", "lstat"):
        real = getattr(os, name)

        def look(path: Any, *rest: Any, real: Any = real, **named: Any) -> Any:
            if REFUSER.folder is not None and not isinstance(path, int):
                shown = os.fsdecode(path)
                REFUSER.meet(shown if shown.startswith(REFUSER.folder) else None, "os.stat")
            return real(path, *rest, **named)

        monkeypatch.setattr(os, name, look)


@pytest.mark.usefixtures("looks")
@pytest.mark.parametrize("call", CALLS, ids=" ".join)
def test_refused_at_any_event(call: list[str], place: Path, tmp_path: Path) -> None:
    """Whatever a command opens, lists, makes, renames, removes or looks at, a refusal of it ends in a sentence."""
    top = place / "first"
    shutil.copytree(place, top, ignore=shutil.ignore_patterns("first"))
    with REFUSER.refusing(top, 0, errno.EIO):
        run(*fill(call, top))
    events = REFUSER.met
    shutil.rmtree(top)
    for n in range(min(TRIES, events)):
        shutil.copytree(place, top, ignore=shutil.ignore_patterns("first"))
        at, number = 1 + n * (events - 1) // max(1, min(TRIES, events) - 1), ERRORS[n % len(ERRORS)]
        with REFUSER.refusing(top, at, number):
            result = run(*fill(call, top))
        assert isinstance(result.exception, SystemExit | None), (at, number, result.exc_info)
        check_end(result.exit_code, result.output)
        shutil.rmtree(top)


# ── what stops everybody ─────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("stands", ["file", "loop"])
@pytest.mark.parametrize("path", ["log/entries", "log/photos", "log/papers", "log/seals", "log/theme", "log/log.yaml",
                                  "log/site", "bag/data", "camera", "cache", "out", "new"])  # fmt: skip
def test_something_else_stands_there(path: str, stands: str, place: Path, tmp_path: Path) -> None:
    """A file, or a link that leads to itself, where a folder or another file should be: every command ends in words."""
    meant = [call for call in CALLS if f"{{{path.partition('/')[0]}}}" in call or path == "cache"]
    assert meant
    for n, call in enumerate(meant):
        top = tmp_path / str(n)
        shutil.copytree(place, top)
        where = top / path
        shutil.rmtree(where, ignore_errors=True)
        where.unlink(missing_ok=True)
        if stands == "loop":
            where.symlink_to(where.name)
        else:
            where.write_text("something else")
        result = run(*fill(call, top))
        assert isinstance(result.exception, SystemExit | None), (call, result.exc_info)
        check_end(result.exit_code, result.output)
        shutil.rmtree(top)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
@pytest.mark.parametrize("call", [["--help"], *CALLS, ["schema", "log"]], ids=" ".join)
def test_an_output_that_is_full(call: list[str], place: Path) -> None:
    """One sentence, exit code 1, and nothing that Python adds at its end; unless there is another reason to end."""
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "buildlog", *fill(call, place)]
        done = subprocess.run(command, cwd=TOP, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    *_, last = done.stderr.splitlines()
    if "--stamp-ca" in call or call == ["schema"]:
        assert (done.returncode, last[:6]) == (2, "Error:")
    elif call[0] == "check":
        assert (done.returncode, "output" in last) == (0, False), "its answer is told on the other one"
    else:
        assert (done.returncode, last) == (1, "Error: the output cannot be written: No space left on device")


def test_who_stops_reading_hears_no_complaint(place: Path) -> None:
    """`buildlog parts | head -1` ends quietly."""
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "buildlog", "costs", str(place / "log")]
    done = subprocess.run(command, cwd=TOP, stdout=writer, stderr=subprocess.PIPE, text=True, check=False)
    os.close(writer)
    assert (done.returncode, done.stderr) == (1, "")


# ── the words ────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("error", "words", "code"),
    [
        (OSError(errno.ENOSPC, "No space left", "a/b"), "`a/b` cannot be read or written: No space left", 1),
        (OSError(errno.EACCES, "Permission denied", b"a"), "`a` cannot be read or written: Permission denied", 1),
        (OSError(errno.EIO, "Input/output error"), "a file cannot be read or written: Input/output error", 1),
        (OSError("the index is damaged"), "the index is damaged", 1),
        (FileExistsError(errno.EEXIST, "File exists", "a", None, "b"), "`b` already exists and has been left alone", 2),
    ],
)
def test_the_sentence(error: OSError, words: str, code: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """What it is about, and the system's own words for it."""

    def refuse() -> None:
        raise error

    monkeypatch.setitem(main.commands, "schema", click.Command("schema", callback=refuse))
    result = run("schema")
    assert result.exit_code == code
    assert result.output.splitlines()[-1] == f"Error: {words}"


def test_a_lock_that_cannot_be_had_is_not_held_by_another(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what a system says of a lock that is held reads so (flock(2), EWOULDBLOCK)."""
    for number, rule in ((errno.ENOLCK, "seals-not-written"), (errno.EOPNOTSUPP, "seals-not-written"),
                         (errno.EWOULDBLOCK, "seals-busy")):  # fmt: skip

        def refuse(*_: Any, number: int = number) -> None:
            raise OSError(number, os.strerror(number))

        monkeypatch.setattr(fcntl, "flock", refuse)
        result = run("seal", place / "log")
        assert (result.exit_code, f"[{rule}]" in result.output or rule in result.output) == (1, True), result.output
        assert ("another run" in result.output) == (number == errno.EWOULDBLOCK)
    with pytest.raises(SealsBusy), hold_seals(place / "log"):
        pass
