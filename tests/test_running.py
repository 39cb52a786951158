"""How a command runs the stages: what an owner sees on a terminal meanwhile, the log of times, no search for cycles.

What is on the terminal is read by a terminal emulator (`pyte`), which knows the control sequences of real ones.
"""

from __future__ import annotations

import ast
import gc
import os
import pty
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

import pyte
import pytest
from click.testing import CliRunner

from buildlog import stages
from buildlog.cli import main
from buildlog.commands.shared import StageLine, watched, without_collector
from buildlog.stages import STAGES
from tests.test_cli import ENTRY, HEAD, make_log, run

TOP = Path(__file__).parent.parent

# ── what is loaded ───────────────────────────────────────────────────────────────────────────────────────────────

HEAVY = (
    "PIL",
    "babel",
    "cryptography",
    "dhash",
    "fontTools",
    "jinja2",
    "markdown_it",
    "pillow_heif",
    "sqlite3",
    "yaml",
)
NEEDED: dict[str, tuple[str, ...]] = {
    "--help": (),
    "costs {log}": ("sqlite3", "yaml"),
    "publish {log}": ("babel", "jinja2", "markdown_it", "sqlite3", "yaml"),
}
"What of all that takes long to load a call needs, of a log without photos."


@pytest.mark.parametrize("call", NEEDED)
def test_a_command_loads_what_it_needs_and_no_more(call: str, tmp_path: Path) -> None:
    """Stages load what they work with when they are gone through: help and questions are answered at once."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    code = (
        "import sys; from buildlog.cli import main\n"
        f"main({call.format(log=log).split()!r}, standalone_mode=False)\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])\n"
        "print([name for name in sys.modules if name.startswith(('buildlog.render', 'buildlog.photos'))])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=TOP)
    heavy, ours = done.stdout.splitlines()[-2:]
    assert heavy == repr([*NEEDED[call]])
    assert (ours == "[]") is ("publish" not in call)


def test_a_publish_after_words_loads_no_page(tmp_path: Path) -> None:
    """What a story says is put where it stood: no figure is computed, no template rendered, no date written anew."""
    name = "2024-05-18-lift-pump.md"
    log = make_log(tmp_path / "log", {name: f"{ENTRY}\nIt came off.\n\nThen it went on again.\n"})
    watched = ("buildlog.compute.figures", "buildlog.render.render", *HEAVY)
    code = (
        "import sys; from buildlog.cli import main\n"
        f"main({['publish', str(log)]!r}, standalone_mode=False)\n"
        f"print([name for name in {watched!r} if name in sys.modules])"
    )
    loaded = []
    for words in ("", "Not a drop since.\n"):
        with (log / "entries" / name).open("a", encoding="utf-8") as entry:
            entry.write(words)
        environment = os.environ | {"XDG_CACHE_HOME": str(tmp_path / "cache")}
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=TOP, env=environment
        )
        loaded.append(ast.literal_eval(done.stdout.splitlines()[-1]))
    assert {"buildlog.compute.figures", "buildlog.render.render", "jinja2", "babel"} <= set(loaded[0])
    assert loaded[1] == ["markdown_it", "sqlite3", "yaml"]
    assert "Not a drop since." in (log / "site" / "entries" / name).with_suffix(".html").read_text(encoding="utf-8")


# ── on a terminal ────────────────────────────────────────────────────────────────────────────────────────────────


class Terminal:
    """A terminal of 80 columns and 10 rows: what is written into `stream` is seen on `screen`."""

    def __init__(self) -> None:
        self._seen_by, inside = pty.openpty()
        self.stream: TextIO = os.fdopen(inside, "w")
        self.screen = pyte.Screen(80, 10)
        self.bytes = b""
        self._emulator = pyte.ByteStream(self.screen)

    def look(self) -> list[str]:
        """The rows of the screen that are not empty."""
        self.stream.write("\0")  # which nothing shows, so that there is something to be read
        self.stream.flush()
        while not self.bytes.endswith(b"\0"):
            self.bytes += os.read(self._seen_by, 65536)
        self._emulator.feed(self.bytes)
        self.bytes = b""
        return [row.rstrip() for row in self.screen.display if row.strip()]

    def close(self) -> None:
        self.stream.close()
        os.close(self._seen_by)


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    terminal = Terminal()
    yield terminal
    terminal.close()


def test_the_stage_at_work_is_one_line_that_goes_again(terminal: Terminal) -> None:
    """Its name alone, or with a bar and numbers where it counts; behind it the terminal is as it was before."""
    terminal.stream.write("before\n")
    line = StageLine(terminal.stream)
    line.show("read", 0, 0)
    assert terminal.look() == ["before", "read"]
    line.show("photos", 0, 8)
    assert terminal.look() == ["before", f"photos  [{'-' * 24}]  0/8"]
    line.show("photos", 3, 8)
    assert terminal.look() == ["before", f"photos  [{'#' * 9}{'-' * 15}]  3/8"]  # 24 × 3 ÷ 8 = 9
    line.show("render", 0, 0)
    assert terminal.look() == ["before", "render"]
    line.show("", 0, 0)
    assert terminal.look() == ["before"]
    cursor = terminal.screen.cursor
    assert (cursor.y, cursor.x, cursor.hidden) == (1, 0, False)


def test_no_colour_is_in_the_line(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    """With NO_COLOR it is shown and taken away as without, and without it there is no colour either."""
    for value in ("", "1"):
        monkeypatch.setenv("NO_COLOR", value)
        line = StageLine(terminal.stream)
        line.show("photos", 3, 8)
        assert terminal.look() == [f"photos  [{'#' * 9}{'-' * 15}]  3/8"]
        seen = {(cell.fg, cell.bg, cell.bold, cell.reverse) for cell in terminal.screen.buffer[0].values()}
        assert seen == {("default", "default", False, False)}
        line.show("", 0, 0)
        assert terminal.look() == []


@pytest.mark.parametrize(("name", "value"), [("TERM", "dumb"), ("COLUMNS", "40")])
def test_no_line_where_it_could_not_be_taken_away(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    """A terminal that cannot erase, or so narrow that a bar would break: nothing is shown there, as in a pipe."""
    monkeypatch.setattr(sys, "stderr", terminal.stream)
    with watched(False) as watch, watch.stage("read"):
        assert terminal.look() == ["read"]
        watch.rest()
    monkeypatch.setenv(name, value)
    with watched(False) as watch, watch.stage("read"):
        assert terminal.look() == []


# ── the log of times ─────────────────────────────────────────────────────────────────────────────────────────────


def list_log(*arguments: str | Path, code: int = 0) -> list[str]:
    """What a command with `--verbose` says on standard error, times left out."""
    result = run(*arguments, "--as-of", "2024-11-30", "--verbose")
    assert result.exit_code == code, result.output
    return [re.sub(r"[0-9]+\.[0-9]{2} s", "…", line) for line in result.stderr.splitlines()]


def use_fresh_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is kept yet: figures of the same text may have been computed in another test."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def test_publishing_tells_the_time_of_every_stage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line each, in the order of `STAGES`; the second time nothing is made and nothing written."""
    use_fresh_cache(tmp_path, monkeypatch)
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    first, second = list_log("publish", log), list_log("publish", log)
    assert [line.split()[0] for line in first] == [name for name, _ in STAGES]
    assert first[:3] == ["read       …  1 entry", "compute    …  2 cost lines, 2 parts", "photos     …  0 made, 0 kept"]
    pages = len([*(log / "site").rglob("*.html")])
    files = len([path for path in (log / "site").rglob("*") if path.is_file()]) - 1
    assert first[3:] == [f"render     …  {pages} pages", f"output     …  {files} files written, 0 unchanged"]
    assert second == [first[0], "compute    …  kept", *first[2:4], f"output     …  0 files written, {files} unchanged"]


def test_a_check_and_a_question_tell_the_times_of_their_stages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check writes nothing, a question needs no photo and no page; problems are told before the times."""
    use_fresh_cache(tmp_path, monkeypatch)
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    read, computed = "read       …  1 entry", "compute    …  2 cost lines, 2 parts"
    assert list_log("check", log) == ["no problems", read, computed, "photos     …  0 photos", "render     …  1 story"]
    for name in ("costs", "parts", "due", "faults"):
        assert list_log(name, log) == [read, "compute    …  kept"]
    assert list_log("apart", "--log", log) == [read, "compute    …  kept"]


def test_a_run_that_stops_tells_how_far_it_came(tmp_path: Path) -> None:
    """An error in the log ends publishing behind the figures; without `log.yaml` there is nothing to compute."""
    log = make_log(tmp_path / "log", {"2024-06-01-fit.md": HEAD + "fitted: hose\n---\n"})
    told = list_log("publish", log, code=1)
    assert told[-3:] == ["1 error", "read       …  1 entry", "compute    …  0 cost lines, 0 parts"]
    (log / "log.yaml").unlink()
    assert list_log("check", log, code=1)[-2:] == ["read       …", "compute    …  not begun"]


def test_handing_over_tells_the_time_of_every_stage(tmp_path: Path) -> None:
    """The same names; what is packed is counted."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    lines = list_log("handover", log, "--out", tmp_path / "bag")[-len(STAGES) :]
    assert [line.split()[0] for line in lines] == [name for name, _ in STAGES]
    packed = len([path for path in (tmp_path / "bag/data").rglob("*") if path.is_file()])
    assert lines[-1] == f"output     …  {packed} files packed"


def test_without_verbose_nothing_is_told_of_times(tmp_path: Path) -> None:
    """Standard error stays empty when all is well."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    assert run("publish", log, "--as-of", "2024-11-30").stderr == ""


# ── the search for cycles ────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(autouse=True)
def thawed() -> Iterator[None]:
    """Other tests find the interpreter as it was."""
    yield
    gc.unfreeze()


def test_no_search_runs_inside_and_what_is_left_is_frozen() -> None:
    """Afterwards the search is on again, over new objects alone."""
    before = gc.get_freeze_count()
    with without_collector():
        assert not gc.isenabled()
    assert gc.isenabled()
    assert gc.get_freeze_count() > before


def test_the_search_is_on_again_after_a_failure() -> None:
    """A command that fails leaves nothing switched off behind it."""
    with pytest.raises(KeyError), without_collector():
        raise KeyError
    assert gc.isenabled()


def test_a_search_that_is_off_stays_off() -> None:
    """Who switched it off keeps the say."""
    gc.disable()
    try:
        with without_collector():
            assert not gc.isenabled()
        assert not gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.parametrize("command", ["publish", "check", "costs", "parts", "due", "faults"])
def test_commands_that_end_run_without_it(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From reading to the end; and the command's options stay its own."""
    seen: list[bool] = []
    run_stages = stages.run_stages

    def look(*args: Any, **options: Any) -> Any:
        seen.append(gc.isenabled())
        return run_stages(*args, **options)

    monkeypatch.setattr(stages, "run_stages", look)
    assert CliRunner().invoke(main, ["start", str(tmp_path / "log"), "--as-of", "2024-05-18"]).exit_code == 0
    result = CliRunner().invoke(main, [command, str(tmp_path / "log"), "--as-of", "2024-05-18"])
    assert (result.exit_code, set(seen), gc.isenabled()) == (0, {False}, True), result.output
