"""How long a page of the preview takes to its first picture, of photos that nobody has made before.

Run as `python -m tests.bench.bench_first_picture [--corpus FOLDER] [--entries 20] [--photos 10] [--browser]`. The real
command shows a log of so many entries, each with so many photos of 12 megapixels and bytes of its own. Each page is
asked for once; the time begins before that and ends when the first picture on it has come, at 960 pixels as a desk
asks for it, while all other photos of the page are being made. In Chromium it ends when the picture is decoded, in
whatever size the browser chose. The goal is 0.15 s.
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
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.request import urlopen

from playwright.sync_api import Page, sync_playwright

from tests.bench.make_log import make_log
from tests.bench.make_photos import make_photos
from tests.chromium import start_chromium

TOP = Path(__file__).parent.parent.parent
GOAL = 0.15
DECODED = """async () => {
  const picture = document.querySelector("main img");
  await picture.decode();
  return Date.now();
}"""
"The moment at which the first picture is there, by the browser's clock, which is the system's."


def add_photos(log: Path, corpus: list[Path], number: int) -> None:
    """So many photos for each entry, none with the bytes of another: a reader of JPEG stops before what is added."""
    for at, entry in enumerate(sorted((log / "entries").iterdir())):
        home = log / "photos" / entry.stem
        home.mkdir(parents=True)
        for n in range(number):
            whole = corpus[(at * number + n) % len(corpus)].read_bytes()
            (home / f"{n:02}.jpg").write_bytes(whole + f"{at} {n}".encode())
        listed = "photos:\n" + "".join(f"  - {{file: {n:02}.jpg, says: Photo}}\n" for n in range(number))
        head, rest = entry.read_text(encoding="utf-8").split("\n---\n", 1)
        entry.write_text(f"{head}\n{listed}---\n{rest}", encoding="utf-8")


@contextmanager
def show(log: Path, day: str, cache: str) -> Iterator[str]:
    """The address of a preview with nothing in its cache."""
    command = [sys.executable, "-m", "buildlog", "preview", str(log), "--as-of", day]
    environment = os.environ | {"XDG_CACHE_HOME": cache}
    with subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout
        address = re.search(r"http\S+", process.stdout.readline())
        assert address
        yield address[0]
        process.send_signal(signal.SIGINT)


def time_answer(address: str, name: str) -> float:
    """Seconds from asking for an entry's page to the last byte of its first picture."""
    start = time.perf_counter()
    with urlopen(f"{address}entries/{name}.html") as answer:
        page = answer.read().decode()
    picture = re.search(r"photos/[^ \"]+-960\.webp", page)
    assert picture
    with urlopen(address + picture[0]) as answer:
        answer.read()
    return time.perf_counter() - start


def time_browser(page: Page, address: str, name: str) -> float:
    """The same in a browser, until the picture is decoded."""
    start = time.time()
    page.goto(f"{address}entries/{name}.html", wait_until="commit")
    page.wait_for_selector("main img", state="attached")
    return float(page.evaluate(DECODED)) / 1000 - start


def tell(what: str, names: list[str], measure: Callable[[str], float]) -> None:
    """Print how long each page took; the first ones load what is loaded once, and are not counted."""
    times = []
    for name in names:
        times.append(measure(name))
        time.sleep(2)  # the rest of its photos are made meanwhile, as far as they will be
    times = times[2:]
    low, _, high = statistics.quantiles(times, n=4)
    print(
        f"{what}: median {statistics.median(times):.3f} s, middle half {low:.3f} to {high:.3f}, "
        f"all {min(times):.3f} to {max(times):.3f}, goal {GOAL}",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--corpus", type=Path)
    parser.add_argument("--entries", type=int, default=20)
    parser.add_argument("--photos", type=int, default=10)
    parser.add_argument("--browser", action="store_true")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, ExitStack() as stack:
        top = Path(name)
        corpus = make_photos(given.corpus or top / "corpus", 4)
        log = top / "log"
        day = make_log(log, given.entries)
        add_photos(log, corpus, given.photos)
        names = [entry.stem for entry in sorted((log / "entries").iterdir())]
        with show(log, str(day), str(top / "cache")) as address:
            tell("answered", names, lambda name: time_answer(address, name))
        if given.browser:
            playwright = stack.enter_context(sync_playwright())
            browser = start_chromium(playwright)
            page = browser.new_page()
            with show(log, str(day), str(top / "other-cache")) as address:
                tell("seen in a browser", names, lambda name: time_browser(page, address, name))
            browser.close()


if __name__ == "__main__":
    main()
