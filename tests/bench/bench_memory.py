"""How much memory a long log takes: publish cold, publish again, questions, and a preview over many saves.

Run as `python -m tests.bench.bench_memory [--entries 2000] [--photos 10] [--saves 200]`. For commands it is the most
that the process held at any moment; photos are made in threads of it, and no other process is begun. Of the preview it
is what is held after so many saves, each of which changes a figure and words and looks at the entry's page: a tenth of
all saves beside all of them shows what is kept for good. All photos are one small picture, as what is decoded is
another question, that of `bench_photos`. The goal is 150 MiB.
"""

from __future__ import annotations

import argparse
import datetime
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.bench_preview import add_photos
from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
GOAL = 150
MIB = 1 << 20


def measure_peak(command: list[str], cache: Path) -> float:
    """The most that a command held in memory, in MiB."""
    environment = os.environ | {"XDG_CACHE_HOME": str(cache)}
    full, nowhere = [sys.executable, "-m", "buildlog", *command], subprocess.DEVNULL
    with subprocess.Popen(full, cwd=TOP, env=environment, stdout=nowhere, stderr=nowhere) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, command
    return used.ru_maxrss / 1024


def save_often(log: Path, cache: Path, day: datetime.date, saves: int) -> None:
    """Print what a preview holds after a tenth of the saves, and after all of them."""
    from buildlog.preview.running import searching_when_idle
    from buildlog.preview.site import PreviewSite

    site = PreviewSite(log, lambda: day, lambda: cache)
    entries = sorted((log / "entries").iterdir())
    entry = entries[len(entries) // 2]
    text = entry.read_text(encoding="utf-8")
    with searching_when_idle() as search:
        site.refresh()
        print(f"preview, ready: {read_held():.0f} MiB")
        for n in range(1, saves + 1):
            changed = re.sub("hours: .*", f"hours: {n % 97 + 10}.25", text) + f"\nRound {n} it was.\n"
            entry.write_text(changed, encoding="utf-8")
            site.refresh()
            site.answer(f"entries/{entry.stem}.html")
            site.check_stories(60)
            search()
            if n in (max(1, saves // 10), saves):
                print(f"preview, after {n} saves: {read_held():.0f} MiB, goal {GOAL}")
    site.end()


def read_held() -> float:
    """What this process holds in memory now, in MiB."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / MIB


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=2000)
    parser.add_argument("--photos", type=int, default=10)
    parser.add_argument("--saves", type=int, default=200)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        log, cache = top / "log", top / "cache"
        day = make_log(log, arguments.entries)
        if arguments.photos:
            add_photos(log, arguments.photos)
        print(f"{arguments.entries} entries, {arguments.entries * arguments.photos} photos")
        publish = ["publish", str(log), "--out", str(top / "site"), "--as-of", str(day)]
        for what, command in (
            ("publish, cold", publish),
            ("publish, nothing changed", publish),
            ("publish --from-scratch", [*publish, "--from-scratch"]),
            ("check", ["check", str(log)]),
            ("costs", ["costs", str(log), "--as-of", str(day)]),
        ):
            print(f"{what}: {measure_peak(command, cache):.0f} MiB, goal {GOAL}", flush=True)
        save_often(log, cache, day, arguments.saves)


if __name__ == "__main__":
    main()
