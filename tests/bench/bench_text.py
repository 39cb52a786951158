"""How long publishing a log's text takes, as a ratio to the hand-written loop of `floor_text.py`, both whole processes.

Run as `python -m tests.bench.bench_text [--entries 200] [--rounds 7]`. The two run in turn, each into a fresh folder,
so that a machine whose speed drifts does not move the ratio; the median of the pairs counts. The goal is 1.4 at 200
entries and 1.25 at 2,000, or less.
Both publish every entry, as of the last one's day; ours takes nothing from earlier runs and keeps nothing.
It also tells the time of `buildlog --help`, whose goal is 0.1 s or less.
"""

from __future__ import annotations

import argparse
import dataclasses
import datetime
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.render import make_views
from buildlog.render.stories import render_stories
from buildlog.stages import Run, run_stages
from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
FLOOR = TOP / "tests" / "bench" / "floor_text.py"
GOALS = {200: 1.4, 2000: 1.25}
HELP_GOAL = 0.1


def time_process(command: list[str]) -> tuple[float, float]:
    """Wall seconds and processor seconds of one process."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    environment = os.environ | {"PYTHONPATH": str(TOP)}
    subprocess.run([sys.executable, *command], check=True, capture_output=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - start, spent


def write_views(log: Path, views: Path, as_of: datetime.date) -> None:
    """What each page says, as the product finishes it, for the loop that only renders."""
    figures = run_stages(Run(folder=log, as_of=as_of), until="compute").figures
    assert figures is not None
    stories = dict(render_stories(figures, {}))
    context = PageContext(figures=figures, words=Words(figures.log.settings.site.language), stories=stories, photos={})
    told = [(view.TEMPLATE, dataclasses.asdict(view)) for view in make_views(context)]
    views.write_text(json.dumps(told, default=dict))  # of mappings that can only be read


def count_bytes(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=200)
    parser.add_argument("--rounds", type=int, default=7)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        day = make_log(top / "log", arguments.entries)
        write_views(top / "log", top / "views.json", day)
        pairs, goal = [], GOALS.get(arguments.entries)
        for turn in range(-1, arguments.rounds):  # the first turn warms the disk and is not counted
            out = str(top / f"ours{turn}")
            ours = ["-m", "buildlog", "publish", str(top / "log"), "--out", out, "--as-of", str(day), "--from-scratch"]
            floor = [str(FLOOR), str(top / "log"), str(top / "views.json"), str(top / f"floor{turn}")]
            pairs.append((time_process(ours), time_process(floor)))
        for at, unit in ((0, "wall"), (1, "processor")):
            ratios = [ours[at] / floor[at] for ours, floor in pairs[1:]]
            seconds = [statistics.median(pair[side][at] for pair in pairs[1:]) for side in (0, 1)]
            print(
                f"{arguments.entries} entries, {unit:9}: {seconds[0]:.3f} s over {seconds[1]:.3f} s, "
                f"ratio {statistics.median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f}), goal {goal}"
            )
        print(f"bytes written: {count_bytes(top / 'ours0')} over {count_bytes(top / 'floor0')}")
    helps = [time_process(["-m", "buildlog", "--help"])[0] for _ in range(arguments.rounds)]
    print(f"--help: {statistics.median(helps):.3f} s, goal {HELP_GOAL}")


if __name__ == "__main__":
    main()
