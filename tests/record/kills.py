"""Kills one command again and again at events drawn by lot, and sees after each what stands and what the next run does.

    python -m tests.record.kills seal|publish|folder|zip TIMES SEED FOLDER

Ends with 0 when every rule held, and prints how often a run died; run by `test_kills`. It is a program of its own, as a
process that is forked must have one thread.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import re
import shutil
import sys
from abc import ABC, abstractmethod
from pathlib import Path

from buildlog.cli import main as buildlog
from buildlog.output.write import MARKER
from tests.killing import DEATHS, count_events, die_at, read_tree, run_apart
from tests.record import bags
from tests.record.logs import check_folder, list_rules

OWNERS = ("log.yaml", "entries", "photos", "papers")
LATER = "---\ndate: 2024-06-20\ntitle: Second drive\nhours: 1\nreading: 112700\n---\nIt drove again.\n"


class Case(ABC):
    """A command on a log in `folder / "log"`, and what must hold when it was killed."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "log"
        self.folder = folder

    @abstractmethod
    def prepare(self) -> None:
        """Make what stands before the command is run."""

    @abstractmethod
    def work(self) -> None:
        """Run the command to its end."""

    @abstractmethod
    def read_result(self) -> dict[str, bytes]:
        """What the command writes, by path."""

    @abstractmethod
    def is_visibly_unfinished(self) -> bool:
        """Whether what stands says of itself that it is neither the old nor the new."""

    def read_originals(self) -> dict[str, bytes]:
        tree = read_tree(self.log)
        return {path: data for path, data in tree.items() if path.partition("/")[0] in OWNERS}

    def run(self, *arguments: str | Path) -> None:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            buildlog([*map(str, arguments), "--as-of", "2024-11-30"], standalone_mode=False)


class Sealing(Case):
    """A third seal over one new entry, one changed one and one that is gone."""

    def prepare(self) -> None:
        bags.write_sealed(self.log)
        (self.log / "entries/2024-06-20-second-drive.md").write_text(LATER)
        (self.log / "papers/loan.pdf").unlink()

    def work(self) -> None:
        bags.seal(self.log, bags.DAY, "the loan is paid back")

    def read_result(self) -> dict[str, bytes]:
        return {path: data for path, data in read_tree(self.log / "seals").items() if path != ".lock"}

    def is_visibly_unfinished(self) -> bool:
        return "unfinished" in list_rules(check_folder(self.log))


class Publishing(Case):
    """A site whose log has since got an entry with a photo and lost another one; a file in it is somebody else's."""

    def prepare(self) -> None:
        bags.write_log(self.log)
        self.run("publish", self.log)
        (self.log / "site/CNAME").write_text("somebody else's")
        (self.log / "entries/2024-06-02-first-drive.md").unlink()
        (self.log / "entries/2024-06-20-second-drive.md").write_text(LATER.replace("hours: 1", "photos: {file: a.jpg}"))
        bags.write_log(self.log, {"photos/2024-06-20-second-drive/a.jpg": bags.draw_photo()})

    def work(self) -> None:
        self.run("publish", self.log)

    def read_result(self) -> dict[str, bytes]:
        return read_tree(self.log / "site")

    def is_visibly_unfinished(self) -> bool:
        return (self.log / "site" / MARKER).exists()


class HandingOver(Case):
    """A bag as a folder: many files, of which none may stand alone."""

    out = "record"

    def prepare(self) -> None:
        bags.write_sealed(self.log)

    def work(self) -> None:
        self.run("handover", self.log, "--out", self.folder / self.out)

    def read_result(self) -> dict[str, bytes]:
        beside = {path.name for path in self.folder.iterdir()} - {"log", self.out}
        assert all(re.fullmatch(rf"{self.out}\.\d+\.unfinished", name) for name in beside), beside
        return {path: data for path, data in read_tree(self.folder).items() if path.split("/")[0] == self.out}

    def is_visibly_unfinished(self) -> bool:
        return False  # nothing stands at its place before all of it does


class HandingOverZip(HandingOver):
    out = "record.zip"


CASES = {"seal": Sealing, "publish": Publishing, "folder": HandingOver, "zip": HandingOverZip}


def try_kills(make: type[Case], times: int, seed: int, top: Path) -> list[int]:
    """Kill so many runs; the signals that they died by. Raises AssertionError with the draw that broke a rule."""
    lot = random.Random(seed)
    before = make(top / "before")
    before.prepare()
    undisturbed = make(top / "undisturbed")
    shutil.copytree(before.folder, undisturbed.folder)

    def count() -> None:
        told = count_events()
        undisturbed.work()
        (top / "count").write_text(str(told()))

    assert run_apart(count) == 0
    events = int((top / "count").read_text())
    old, new, originals = before.read_result(), undisturbed.read_result(), before.read_originals()
    deaths: list[int] = []
    while len(deaths) < times:
        at, longest = lot.randint(1, events), lot.choice([*[None] * 5, 0, 1, 40, 900, 20_000])
        case = make(top / f"{len(deaths)}")
        shutil.copytree(before.folder, case.folder)

        def die(case: Case = case, at: int = at, longest: int | None = longest) -> None:
            die_at(at, longest=longest)
            case.work()

        draw = f"event {at} of {events}, longest file {longest}"
        signal = run_apart(die)
        assert signal in (0, *DEATHS), draw
        deaths += [signal] if signal else []
        stands = case.read_result()
        shown = {path: data for path, data in stands.items() if not Path(path).name.startswith(".")}
        assert shown in (old, new) or case.is_visibly_unfinished(), f"{draw}: neither old nor new, and nothing says so"
        if stands != new:
            assert run_apart(case.work) == 0, f"{draw}: the next run does not finish"
        assert case.read_result() == new, f"{draw}: the next run ends otherwise than one that nothing disturbed"
        assert case.read_originals() == originals, f"{draw}: the owner's files were touched"
        shutil.rmtree(case.folder)
    return deaths


if __name__ == "__main__":
    name, times, seed, top = sys.argv[1:]
    os.environ["XDG_CACHE_HOME"] = f"{top}/cache"
    deaths = try_kills(CASES[name], int(times), int(seed), Path(top))
    print(*(deaths.count(signal) for signal in DEATHS))
