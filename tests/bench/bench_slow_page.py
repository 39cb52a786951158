"""How soon a reader on a slow connection sees something: first screen and layout shift, in Chromium.

Run as `python -m tests.bench.bench_slow_page [--entries 200 2000] [--times 5]`. The pages of the example, which
has photos, and of logs of `make_log` are served from this machine without compression; the browser is held to 1.44
Mbit/s each way, 150 ms of delay and a quarter of its processor (DevTools protocol: `Network.emulateNetworkConditions`,
`Emulation.setCPUThrottlingRate`). The first screen is there at the largest contentful paint (W3C, Largest Contentful
Paint), the shift is the sum of all layout shifts (W3C, Layout Instability; at most one session window on such a page).
The goals: 1.5 s, 0.01. Ends with 1 where a median misses one.
"""

from __future__ import annotations

import argparse
import functools
import statistics
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from tests.bench.make_log import make_log
from tests.chromium import start_chromium

TOP = Path(__file__).parent.parent.parent
BYTES_PER_SECOND = 1_440_000 / 8
DELAY_MS = 150
SLOWER = 4
FIRST_SCREEN_MS = 1500
SHIFT = 0.01
WATCH = """
window.seen = {lcp: 0, shift: 0};
new PerformanceObserver(list => list.getEntries().forEach(e => { seen.lcp = e.startTime; }))
  .observe({type: "largest-contentful-paint", buffered: true});
new PerformanceObserver(list => list.getEntries().forEach(e => { if (!e.hadRecentInput) seen.shift += e.value; }))
  .observe({type: "layout-shift", buffered: true});
"""


class _Quiet(SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def log_message(self, *_: object) -> None:
        pass


@contextmanager
def serve(folder: Path) -> Iterator[str]:
    """The folder's address while it is served."""
    with ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Quiet, directory=str(folder))) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
        thread.join()


def open_slowly(browser: Browser, address: str) -> tuple[float, float]:
    """Milliseconds to the largest contentful paint, and the sum of layout shifts, of a page opened for once."""
    context = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2)
    page = context.new_page()
    cdp = context.new_cdp_session(page)
    cdp.send("Network.enable")
    limits = {"latency": DELAY_MS, "downloadThroughput": BYTES_PER_SECOND, "uploadThroughput": BYTES_PER_SECOND}
    cdp.send("Network.emulateNetworkConditions", {"offline": False, **limits})
    cdp.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.add_init_script(WATCH)
    page.goto(address, wait_until="load", timeout=120_000)
    # What the page does after its load event: photos below, and the scripts' own work.
    page.wait_for_load_state("networkidle")
    seen = page.evaluate("seen")
    context.close()
    return seen["lcp"], seen["shift"]


def publish(log: Path, out: Path, day: str) -> dict[str, Path]:
    """The pages to open, by what they are: the heaviest, and one of each kind that readers come to first."""
    command = [sys.executable, "-m", "buildlog", "publish", str(log), "--out", str(out), "--as-of", day]
    subprocess.run(command, check=True, capture_output=True, cwd=TOP)
    pages = sorted(out.rglob("*.html"), key=lambda path: path.stat().st_size)
    periods = sorted(out.glob("timeline/*.html"), key=lambda path: path.stat().st_size)
    entries = sorted(out.glob("entries/*.html"), key=lambda path: path.stat().st_size)
    return {
        "heaviest": pages[-1],
        "front": out / "index.html",
        "entry": entries[-1],
        "timeline": out / "timeline.html",
        **({"timeline, a period": periods[-1]} if periods else {}),
    }


def measure(browser: Browser, log: Path, day: str, times: int, title: str) -> list[str]:
    """Print a row for each page, and say which miss a goal."""
    missed = []
    with tempfile.TemporaryDirectory() as name:
        pages = publish(log, Path(name) / "site", day)
        with serve(Path(name) / "site") as base:
            print(f"{title}: first screen in ms, median (least to most of {times}); layout shift")
            for what, path in pages.items():
                where = path.relative_to(Path(name) / "site").as_posix()
                seen = [open_slowly(browser, base + where) for _ in range(times)]
                first, shift = [lcp for lcp, _ in seen], max(shift for _, shift in seen)
                row = f"{statistics.median(first):6.0f} ({min(first):.0f} to {max(first):.0f}); {shift:.4f}"
                print(f"  {what:20} {path.stat().st_size:>7} bytes  {row}  {where}", flush=True)
                if statistics.median(first) > FIRST_SCREEN_MS or shift > SHIFT:
                    missed.append(f"{title}: {where}")
    return missed


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, nargs="*", default=[200, 2000])
    parser.add_argument("--times", type=int, default=5)
    arguments = parser.parse_args()
    missed = []
    with sync_playwright() as playwright:
        browser = start_chromium(playwright)
        missed += measure(browser, TOP / "example_project", "2024-12-01", arguments.times, "the example, with photos")
        for entries in arguments.entries:
            with tempfile.TemporaryDirectory() as name:
                day = make_log(Path(name) / "log", entries)
                missed += measure(browser, Path(name) / "log", str(day), arguments.times, f"{entries} entries")
        browser.close()
    print(f"missed: {missed}" if missed else "all goals are met")
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
