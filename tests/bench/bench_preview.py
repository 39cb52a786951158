"""How long it takes from a save to the changed page in a real browser, median and spread.

Run as `python -m tests.bench.bench_preview [--entries 200] [--photos 10] [--rounds 25]`. The real command shows a log
of so many entries with so many photos each; the page of one entry is open in Chromium, and its file is written as an
editor writes it. The time begins before the write and ends when the page holds what was written, by one clock. Three
kinds of saves: words of the story, a figure of the entry (hours), and the price of an order. The goals are 0.1 s at 200
entries and 2,000 photos, 0.3 s at 2,000 and 20,000. It also tells the memory of the preview before and after.
"""

from __future__ import annotations

import argparse
import os
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

from tests.bench.make_log import make_log
from tests.chromium import start_chromium

TOP = Path(__file__).parent.parent.parent
GOALS = {200: 0.1, 2000: 0.3}
SEEN = """words => {
  window.seen = new Promise(told => {
    const look = () => document.querySelector("main").textContent.includes(words);
    const watch = new MutationObserver(() => { if (look()) { watch.disconnect(); told(Date.now()); } });
    watch.observe(document, {subtree: true, childList: true, characterData: true});
  });
}"""
"The moment at which the page holds some words, told by the browser's clock, which is the system's."


def add_photos(log: Path, number: int) -> None:
    """So many photos for each entry, listed in it; all of one small picture, since none but the page's own is made."""
    first = log / "first.jpg"
    Image.new("RGB", (1600, 1200), (90, 120, 150)).save(first)
    for entry in sorted((log / "entries").iterdir()):
        home = log / "photos" / entry.stem
        home.mkdir(parents=True)
        names = [f"{n:02}.jpg" for n in range(number)]
        for name in names:
            os.link(first, home / name)
        listed = "photos:\n" + "".join(f"  - {{file: {name}, says: Photo}}\n" for name in names)
        head, rest = entry.read_text(encoding="utf-8").split("\n---\n", 1)
        entry.write_text(f"{head}\n{listed}---\n{rest}", encoding="utf-8")
    first.unlink()


def time_saves(page: Page, entry: Path, save: Callable[[str, int], tuple[str, str]], rounds: int) -> list[float]:
    """Seconds from each write to the page that shows it; `save` gives the text of a round, and words that it brings."""
    text = entry.read_text(encoding="utf-8")
    times = []
    for n in range(-2, rounds):  # the first ones load what is loaded once, and are not counted
        changed, words = save(text, n + 10)
        page.evaluate(SEEN, words)
        start = time.time()
        entry.write_text(changed, encoding="utf-8")
        times.append(page.evaluate("window.seen") / 1000 - start)
        time.sleep(0.5)  # nobody saves at once again; what the preview does when it is idle is done meanwhile
    entry.write_text(text, encoding="utf-8")
    return times[2:]


def write_words(text: str, n: int) -> tuple[str, str]:
    return f"{text}\nRound number {n} it was.\n", f"Round number {n} it was."


def write_hours(text: str, n: int) -> tuple[str, str]:
    return re.sub(r"hours: .*", f"hours: {n}.5", text), f"{n}.5\u00a0h"


def write_price(text: str, n: int) -> tuple[str, str]:
    return re.sub(r"charged: 2.*", f"charged: {n}111.11", text), "111.11"


def read_memory(process: subprocess.Popen[str]) -> float:
    """Megabytes that the process holds in memory now."""
    status = Path(f"/proc/{process.pid}/status").read_text()
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    return int(found[1]) / 1024 if found else 0.0


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=200)
    parser.add_argument("--photos", type=int, default=10)
    parser.add_argument("--rounds", type=int, default=25)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        log = Path(name) / "log"
        day = make_log(log, arguments.entries)
        add_photos(log, arguments.photos)
        command = [sys.executable, "-m", "buildlog", "preview", str(log), "--as-of", str(day)]
        environment = os.environ | {"XDG_CACHE_HOME": f"{name}/cache"}
        start = time.perf_counter()
        with subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True, env=environment) as process:
            assert process.stdout
            address = re.search(r"http\S+", process.stdout.readline())
            assert address
            print(f"ready after {time.perf_counter() - start:.2f} s, {read_memory(process):.0f} MB")
            entry = sorted((log / "entries").iterdir())[arguments.entries // 2]
            browser = start_chromium(playwright)
            page = browser.new_page()
            page.goto(f"{address[0]}entries/{entry.stem}.html")
            for what, save in (("words", write_words), ("hours", write_hours), ("a price", write_price)):
                times = time_saves(page, entry, save, arguments.rounds)
                low, _, high = statistics.quantiles(times, n=4)
                goal = GOALS.get(arguments.entries)
                print(
                    f"{arguments.entries} entries, {arguments.entries * arguments.photos} photos, {what:8}: "
                    f"median {statistics.median(times):.3f} s, middle half {low:.3f} to {high:.3f}, "
                    f"all {min(times):.3f} to {max(times):.3f}, goal {goal}"
                )
            print(f"after {3 * (arguments.rounds + 2)} saves: {read_memory(process):.0f} MB")
            browser.close()
            process.send_signal(signal.SIGINT)


if __name__ == "__main__":
    main()
