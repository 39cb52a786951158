"""One small log, everything that can happen to it between two publishes, and the publishes themselves.

Each step is a name and what it was drawn with, so that a sequence that fails can be read and run again.
"""

from __future__ import annotations

import datetime
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from buildlog.kept.store import NAME, Store
from buildlog.kept.unchanged import Look
from buildlog.kept.work import Work
from buildlog.output.write import OutputRefused, WriteReport
from buildlog.problems import Problem
from buildlog.stages import CHECKS, Run, run_stages
from tests.killing import die_at, read_tree, run_apart
from tests.random_logs import FIRST, SETTINGS

Step = tuple[Any, ...]
LATER_NS = 3600 * 10**9
PROGRAM = b"the program of the tests"
OWN_FILES = {
    "front.html": '{{% extends "margin/front.html" %}}{{% block scripts %}}<!-- {0} -->{{% endblock %}}',
    "entry.html": '{{% extends "margin/entry.html" %}}{{% block scripts %}}<!-- own {0} -->{{% endblock %}}',
    "margin.css": "body{{margin:{0}px}}",
    "own.css": "p{{margin:{0}px}}",
}
SETTINGS_CHANGES = {
    "title": ("title: Test log", "title: Other log"),
    "prices": ("prices: shown", "prices: hidden"),
    "totals": ("prices: shown", "prices: totals"),
    "papers": ("papers: shown", "papers: hidden"),
    "system": ("fuel: Fuel", "fuel: Diesel"),
    "service": ("every: {months: 2", "every: {months: 4"),
    "language": ("site: {id", "site: {language: de-DE, id"),
    "address": ("site: {id", "site: {address: https://example.org/, id"),
    "error": ("unit: km", "unit: furlong"),
}


STATEMENTS = {
    "values": ["UPDATE kept SET value = substr(value, 1, length(value) / 2) || x'00'"],
    "swapped": ["UPDATE kept SET value = (SELECT value FROM kept LIMIT 1)"],
    "version": ["ALTER TABLE kept RENAME TO other", "PRAGMA user_version=77"],
}
"What somebody may have done to the file, by SQL."


@dataclass(frozen=True)
class Outcome:
    """What a publish did."""

    problems: str
    published: bool


unchanged, published, refused = [0], [0], [0]
"How often a publish found nothing to do by a look; how often it wrote a site, and how often it did not."


def publish(
    log: Path, out: Path, options: tuple[datetime.date, bool], store: Store | None, look: Look | None
) -> Outcome:
    """Publish as the command does."""
    day, strict = options
    told = look.find() if look else None
    if told is not None:
        unchanged[0] += 1
        return Outcome(problems=told["problems"], published=True)

    def keep(run: Run, report: WriteReport) -> None:
        if look and run.site:
            look.keep(run.site.files, {"problems": repr(run.problems)})

    work = Work(store) if store else None
    run = Run(folder=log, out=out, as_of=day, strict=strict, work=work, anew=work is None, written=keep)
    run = run_stages(run)
    return Outcome(problems=repr(run.problems), published=run.report is not None)


def check(log: Path, day: datetime.date, work: Work | None) -> tuple[Problem, ...]:
    """What the command of that name tells."""
    run = Run(folder=log, as_of=day, work=work, anew=work is None)
    return run_stages(run, until="render", instead=CHECKS).problems


class World:
    """A log, its cache, two folders to publish into, and the day."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.log = folder, folder / "log"
        (self.log / "entries").mkdir(parents=True)
        (self.log / "log.yaml").write_text(SETTINGS, encoding="utf-8")
        self.kept = folder / "cache/buildlog/kept"
        self.day = FIRST + datetime.timedelta(days=60)
        self.strict = False
        self.out = "a"
        self.later = LATER_NS
        self.program = PROGRAM
        self.heads: dict[str, dict[str, Any]] = {}
        self.stories: dict[str, str] = {}

    # ── what can happen ──────────────────────────────────────────────────────────────────────────────────────────

    def do(self, step: Step) -> None:
        name, *drawn = step
        getattr(self, f"do_{name}")(*drawn)

    def pick(self, number: int) -> str | None:
        names = sorted(self.heads)
        return names[number % len(names)] if names else None

    def write(self, name: str) -> None:
        text = f"---\n{json.dumps(self.heads[name], indent=1)}\n---\n{self.stories[name]}"
        (self.log / f"entries/{name}.md").write_text(text, encoding="utf-8")

    def do_entry(self, head: dict[str, Any], story: str) -> None:
        name = f"{head['date']}-e{len(self.heads)}"
        self.heads[name], self.stories[name] = head, story
        self.write(name)

    def do_head(self, number: int, head: dict[str, Any]) -> None:
        if name := self.pick(number):
            self.heads[name] = head | {"date": self.heads[name]["date"]}
            self.write(name)

    def do_words(self, number: int, story: str) -> None:
        if name := self.pick(number):
            self.stories[name] = story
            self.write(name)

    def do_error(self, number: int) -> None:
        """A mistake in an entry; made once more it is mended."""
        if name := self.pick(number):
            head = self.heads[name]
            self.heads[name] = {key: value for key, value in head.items() if key != "hours"}
            if head.get("hours") != "many":
                self.heads[name]["hours"] = "many"
            self.write(name)

    def do_rename(self, number: int) -> None:
        if name := self.pick(number):
            other = f"{name}x"
            self.heads[other], self.stories[other] = self.heads.pop(name), self.stories.pop(name)
            os.replace(self.log / f"entries/{name}.md", self.log / f"entries/{other}.md")

    def do_delete(self, number: int) -> None:
        if name := self.pick(number):
            del self.heads[name], self.stories[name]
            (self.log / f"entries/{name}.md").unlink()

    def do_same_size(self, number: int) -> None:
        """Other words of the same length, in the same file with the same time, as some tools leave it."""
        if (name := self.pick(number)) and (story := self.stories[name]):
            swapped = story.swapcase()
            self.stories[name] = swapped
            path = self.log / f"entries/{name}.md"
            found = path.stat()
            with path.open("r+b") as file:
                file.seek(-len(story.encode()), os.SEEK_END)
                file.write(swapped.encode())
            os.utime(path, ns=(found.st_atime_ns, found.st_mtime_ns))

    def do_settings(self, change: str) -> None:
        path, (old, new) = self.log / "log.yaml", SETTINGS_CHANGES[change]
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace(new, old) if new in text else text.replace(old, new), encoding="utf-8")

    def do_theme(self, name: str, number: int) -> None:
        path = self.log / "theme" / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(OWN_FILES[name].format(number), encoding="utf-8")

    def do_no_theme(self) -> None:
        shutil.rmtree(self.log / "theme", ignore_errors=True)

    def do_photo(self, number: int, file: str, letters: str) -> None:
        from tests.photos.pictures import draw

        if name := self.pick(number):
            path = self.log / f"photos/{name}/{file}"
            path.parent.mkdir(parents=True, exist_ok=True)
            draw(letters, 2).save(path, "JPEG")

    def do_same_photo(self, number: int, file: str, letters: str) -> None:
        """Another photo of the same size in the same file, with the same time."""
        name = self.pick(number)
        path = self.log / f"photos/{name}/{file}"
        if name and path.exists():
            found, before = path.stat(), path.read_bytes()
            self.do_photo(number, file, letters)
            with path.open("r+b") as source:
                data = source.read().ljust(len(before), b"\0")[: max(len(before), path.stat().st_size)]
            path.write_bytes(data)
            os.utime(path, ns=(found.st_atime_ns, found.st_mtime_ns))

    def do_no_photo(self, number: int, file: str) -> None:
        if name := self.pick(number):
            (self.log / f"photos/{name}/{file}").unlink(missing_ok=True)

    def do_page(self, name: str, head: dict[str, Any], story: str) -> None:
        """A standing page, new or another one."""
        path = self.log / f"pages/{name}.md"
        path.parent.mkdir(exist_ok=True)
        path.write_text(f"---\n{json.dumps(head, indent=1)}\n---\n{story}", encoding="utf-8")

    def do_page_words(self, name: str, story: str) -> None:
        path = self.log / f"pages/{name}.md"
        if path.exists():
            head, mark, _ = path.read_text(encoding="utf-8").rpartition("\n---\n")
            path.write_text(head + mark + story, encoding="utf-8")

    def do_page_photo(self, name: str, file: str, letters: str) -> None:
        from tests.photos.pictures import draw

        path = self.log / f"photos/{name}/{file}"
        path.parent.mkdir(parents=True, exist_ok=True)
        draw(letters, 2).save(path, "JPEG")

    def do_no_page(self, name: str) -> None:
        (self.log / f"pages/{name}.md").unlink(missing_ok=True)

    def do_paper(self, name: str, words: str) -> None:
        path = self.log / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(words, encoding="utf-8")

    def do_no_paper(self, name: str) -> None:
        (self.log / name).unlink(missing_ok=True)

    def do_seal(self) -> None:
        from buildlog.record.sealing import seal_log

        seal_log(self.log, date=self.day, reason="as it came")

    def do_nothing(self) -> None:
        """Publish again."""

    def do_day(self, days: int) -> None:
        self.day = FIRST + datetime.timedelta(days=days)

    def do_strict(self) -> None:
        self.strict = not self.strict

    def do_out(self, out: str) -> None:
        self.out = out

    def do_clock(self, later: bool) -> None:
        """Whether files look settled, so that their times are believed."""
        self.later = LATER_NS if later else 0

    def do_tamper(self, number: int, how: str) -> None:
        """Somebody changes a file of the site."""
        site = self.folder / self.out
        files = sorted(path for path in site.rglob("*") if path.is_file() and path.suffix in (".html", ".css", ".xml"))
        if not files:
            return
        # A disk's clock ticks every hundredth of a second: what is done within one tick cannot be told apart.
        time.sleep(0.012)
        path = files[number % len(files)]
        if how == "gone":
            path.unlink()
        elif how == "cut":
            os.truncate(path, path.stat().st_size // 2)
        else:
            path.write_bytes(path.read_bytes().swapcase())

    # ── what can happen to what is kept ──────────────────────────────────────────────────────────────────────────

    def do_damage(self, how: str, at: int) -> None:
        file = self.kept / NAME
        if not file.exists():
            return
        size = file.stat().st_size
        if how == "cut":
            os.truncate(file, size * at // 100)
        elif how == "flip":
            with file.open("r+b") as opened:
                opened.seek(size * at // 100)
                byte = opened.read(1)
                opened.seek(-len(byte), os.SEEK_CUR)
                opened.write(bytes(each ^ 0x41 for each in byte))
        elif how == "rubbish":
            file.write_bytes(b"\0 no file of ours" * at)
        elif how == "gone":
            file.unlink()
        else:  # damaged already, it may be no such file any more
            with suppress(sqlite3.Error), closing(sqlite3.connect(file)) as connection, connection:
                for statement in STATEMENTS[how]:
                    connection.execute(statement)

    def do_program(self, number: int) -> None:
        """Another version of the program."""
        self.program = PROGRAM + bytes([number])

    def do_killed(self, number: int, longest: int | None) -> None:
        """A publish that is killed at one of its events, or in the midst of a write."""
        ask_zygote(self, {"die": number, "longest": longest})

    def do_two_at_once(self, out: str) -> None:
        """Two publishes at the same time, into two folders or into one, where either may find the other at work."""
        start_zygote(self, {"out": out})
        with suppress(OutputRefused):
            self.publish()
        await_zygote()

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Another process holds the file."""
        self.kept.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(self.kept / NAME, isolation_level=None)) as connection:
            connection.execute("BEGIN EXCLUSIVE")
            yield

    # ── publishing ───────────────────────────────────────────────────────────────────────────────────────────────

    def read_clock(self) -> int:
        return time.time_ns() + self.later

    @contextmanager
    def working(self) -> Iterator[Store]:
        store = Store(self.kept, self.program, clock=self.read_clock)
        try:
            yield store
        finally:
            store.close()

    def publish(self) -> Outcome:
        """With all that is kept."""
        out = self.folder / self.out
        with self.working() as store:
            look = Look(store, self.log, out, (self.day.isoformat(), str(self.strict)), clock=self.read_clock)
            return publish(self.log, out, (self.day, self.strict), store, look)

    def check(self) -> tuple[Problem, ...]:
        with self.working() as store:
            return check(self.log, self.day, Work(store))

    def publish_anew(self) -> tuple[Outcome, dict[str, bytes]]:
        """From scratch, into an empty folder; and what is in it then."""
        fresh = self.folder / "fresh"
        shutil.rmtree(fresh, ignore_errors=True)
        outcome = publish(self.log, fresh, (self.day, self.strict), None, None)
        return outcome, read_tree(fresh) if fresh.exists() else {}

    def compare(self) -> str:
        """What differs between the two ways; empty where nothing does."""
        before = self.read()
        kept = self.publish()
        anew, files = self.publish_anew()
        if kept != anew:
            return f"told {kept}, from scratch {anew}"
        if (told := self.check()) != (expected := check(self.log, self.day, None)):
            return f"checked {told}, from scratch {expected}"
        wanted, found = (files if anew.published else before), self.read()
        if wrong := [name for name in {*wanted, *found} if wanted.get(name) != found.get(name)]:
            return ", ".join(sorted(wrong))
        # Once more, which most often is a look.
        again = self.publish()
        if again != kept or self.read() != found:
            return f"told {again}, once more {kept}"
        (published if kept.published else refused)[0] += 1
        self._keep_or_mend(kept.published)
        return ""

    def _keep_or_mend(self, good: bool) -> None:
        """Have the log as it last was without an error, or nothing would be published from here on."""
        backup = self.folder / "backup"
        if good:
            shutil.rmtree(backup, ignore_errors=True)
            shutil.copytree(self.log, backup)
            self._state = dict(self.heads), dict(self.stories), self.strict
        elif backup.exists():
            shutil.rmtree(self.log)
            shutil.copytree(backup, self.log)
            self.heads, self.stories, self.strict = dict(self._state[0]), dict(self._state[1]), self._state[2]

    def read(self) -> dict[str, bytes]:
        site = self.folder / self.out
        return read_tree(site) if site.exists() else {}


# ── publishes in a process of their own: forks of one that has a single thread and has everything imported ──────────

_zygote: list[subprocess.Popen[str]] = []


def start_zygote(world: World, asked: dict[str, Any]) -> None:
    """Have a fork publish the world's log, and do not wait for it."""
    if not _zygote:
        command = [sys.executable, "-m", "tests.kept.world"]
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        _zygote.append(process)
    told = {
        "folder": str(world.folder), "out": world.out, "day": world.day.isoformat(), "strict": world.strict,
        "later": world.later, "program": world.program.hex(), "die": 0, "longest": None,
    }  # fmt: skip
    stdin = _zygote[0].stdin
    assert stdin
    print(json.dumps(told | asked), file=stdin, flush=True)


def await_zygote() -> int:
    """The signal that ended it, 0 for none."""
    assert _zygote[0].stdout
    return int(_zygote[0].stdout.readline())


def ask_zygote(world: World, asked: dict[str, Any]) -> int:
    start_zygote(world, asked)
    return await_zygote()


def close_zygote() -> None:
    """End it, at the end of the tests."""
    while _zygote:
        process = _zygote.pop()
        process.communicate()


def _publish_asked(asked: dict[str, Any]) -> None:
    world = World.__new__(World)
    world.folder, world.log = Path(asked["folder"]), Path(asked["folder"]) / "log"
    world.kept = world.folder / "cache/buildlog/kept"
    world.day, world.strict = datetime.date.fromisoformat(asked["day"]), asked["strict"]
    world.out, world.later, world.program = asked["out"], asked["later"], bytes.fromhex(asked["program"])
    if asked["die"]:
        die_at(asked["die"], longest=asked["longest"])
    try:
        world.publish()
    except OutputRefused:  # another run is writing there just now
        return


def warm_up() -> None:
    """Import all that a publish needs, and compile the themes' templates once for all publishes of this process."""
    import tempfile

    from tests.kept.steps import draw_first_world

    with tempfile.TemporaryDirectory() as folder:
        world = draw_first_world(Path(folder))
        world.compare()


def _serve() -> None:
    warm_up()
    for line in sys.stdin:
        asked = json.loads(line)
        os.environ["XDG_CACHE_HOME"] = str(Path(asked["folder"]) / "cache")
        print(run_apart(lambda asked=asked: _publish_asked(asked)), flush=True)  # type: ignore[misc]


if __name__ == "__main__":
    _serve()
