"""How long reading and computing take, by processor time, beside the YAML parser alone on the same front matter.

Run as `python -m tests.bench.bench_stages [--entries 200 2000] [--rounds 5]`. Each round is a process of its own, in
which nothing is warm but the disk, and in which the parser takes its turn right after: so a machine that is shared, or
whose speed drifts, moves the ratios little. `modules` is what importing costs before the first stage. A question is a
whole process, from its start to its exit, which takes nothing from earlier runs. Medians, with the least and the most
behind them.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
QUESTIONS = ("costs", "parts", "due", "faults", "check")


def measure_stages(log: Path) -> dict[str, float]:
    """Processor seconds of each stage of this process, and of the parser alone."""
    marks = [time.process_time()]
    from buildlog.compute.figures import compute_figures
    from buildlog.read.reader import read_log

    marks.append(time.process_time())
    reading = read_log(log)
    marks.append(time.process_time())
    assert reading.log is not None
    compute_figures(reading.log, reading.log.entries[-1].date)
    marks.append(time.process_time())
    heads = [text.split("\n---\n", 1)[0] for text in reading.texts.values()]
    start = time.process_time()
    for head in heads:
        parse(head)
    names = ("modules", "read", "compute")
    spent = {name: after - before for name, before, after in zip(names, marks, marks[1:], strict=False)}
    return spent | {"parser": time.process_time() - start}


def parse(head: str) -> None:
    """All events of one text, as the reader takes them, and nothing made of them."""
    import yaml

    parser = getattr(yaml, "CBaseLoader", yaml.BaseLoader)(re.sub("^---\n", "", head))
    while not isinstance(parser.get_event(), yaml.StreamEndEvent):
        pass


def run_apart(*command: str) -> tuple[float, str]:
    """Processor seconds of a process, and what it printed."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = os.environ | {"PYTHONPATH": str(TOP)}
    done = subprocess.run([sys.executable, *command], check=True, capture_output=True, text=True, env=environment)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, done.stdout


def show(name: str, seconds: list[float], ratios: list[float]) -> None:
    """One line of the table."""
    spread = f"{statistics.median(seconds):6.3f} s ({min(seconds):.3f} to {max(seconds):.3f})"
    print(f"  {name:10} {spread}, ratio {statistics.median(ratios):5.2f} ({min(ratios):.2f} to {max(ratios):.2f})")


def compare(entries: int, rounds: int) -> None:
    """Print the table for a log of so many entries."""
    with tempfile.TemporaryDirectory() as name:
        log = Path(name) / "log"
        options = ("--as-of", str(make_log(log, entries)), "--from-scratch")
        stages: list[dict[str, float]] = []
        questions: dict[str, list[float]] = {question: [] for question in QUESTIONS}
        for turn in range(-1, rounds):  # the first turn warms the disk and is not counted
            spent = json.loads(run_apart("-m", "tests.bench.bench_stages", "--stages", str(log))[1])
            asked = {each: run_apart("-m", "buildlog", each, str(log), *options)[0] for each in QUESTIONS}
            if turn >= 0:
                stages.append(spent)
                for question, seconds in asked.items():
                    questions[question].append(seconds)
    parser = [spent["parser"] for spent in stages]
    print(f"{entries} entries; the parser alone: {statistics.median(parser):.3f} s")
    for stage in ("modules", "read", "compute"):
        seconds = [spent[stage] for spent in stages]
        show(stage, seconds, [one / other for one, other in zip(seconds, parser, strict=True)])
    for question, seconds in questions.items():
        show(question, seconds, [one / other for one, other in zip(seconds, parser, strict=True)])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, nargs="+", default=[200, 2000])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--stages", type=Path, help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.stages:
        gc.disable()  # as the commands do
        print(json.dumps(measure_stages(arguments.stages)))
        return
    for entries in arguments.entries:
        compare(entries, arguments.rounds)


if __name__ == "__main__":
    main()
