"""How long a keystroke of the search takes in Chromium, from a disk, and how much is loaded for it.

Run as `python -m tests.bench.bench_search [--entries 200 2000]`. The logs are those of `make_log`, each story with 300
words more, drawn as words are in any text: the commoner one is, the more often (G. K. Zipf, "Human Behavior and the
Principle of Least Effort", 1949; from memory). How steeply that falls is so that 5,487 words have as many different
ones as the 5,487 in the stories of the example: 1,254. Typed letter by letter, once the field has the focus: names,
numbers in several spellings, words of stories, and words with a slip. A keystroke lasts until its results are laid out,
files that it loads included. The goals: 60 ms at 2,000 entries, 60 kB for 200. Ends with 1 where one is missed.
"""

from __future__ import annotations

import argparse
import random
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.bench.make_log import make_log
from tests.chromium import start_chromium

TOP = Path(__file__).parent.parent.parent
MOST_MS, MOST_BYTES = 60.0, 60_000
WORDS, FALL = 30_000, 1.2
TYPED = ("pump 117", "lp 117-a", "0410 117", "0410117", "0410.117", "0410171", "brakes", "vostrand", "bleed", "gaskte")
"Letter by letter; the words of stories are added."

KEYSTROKE = """async text => {
  const input = document.getElementById("search");
  const began = performance.now();
  input.value = text;
  input.dispatchEvent(new Event("input", { bubbles: true }));
  const isDone = () => {
    const box = document.querySelector(".found");
    return box && box.getAttribute("aria-busy") !== "true" && box.querySelector(".status").textContent;
  };
  const wait = done => {
    const channel = new MessageChannel();
    channel.port1.onmessage = done;
    channel.port2.postMessage(0);
  };
  while (!isDone()) await new Promise(wait);
  document.querySelector(".found").offsetHeight;
  return performance.now() - began;
}"""


def make_words(draw: random.Random) -> list[str]:
    """So many made-up words of three to eleven letters."""
    return ["".join(draw.choices("etaoinshrdlucmfwypvbgkqjxz", k=draw.randrange(3, 12))) for _ in range(WORDS)]


def publish(top: Path, entries: int) -> tuple[Path, list[str]]:
    """The site of a log of so many entries, and some words of its stories."""
    day = make_log(top / "log", entries)
    draw = random.Random(2)
    words = make_words(draw)
    weights = [1 / (rank + 1) ** FALL for rank in range(WORDS)]
    for path in sorted((top / "log/entries").iterdir()):
        with path.open("a", encoding="utf-8") as file:
            file.write("\n" + " ".join(draw.choices(words, weights, k=300)) + "\n")
    command = [sys.executable, "-m", "buildlog", "publish", str(top / "log"), "--out", str(top / "site")]
    subprocess.run([*command, "--as-of", str(day)], check=True, capture_output=True, cwd=TOP)
    return top / "site", [words[1], words[40], words[900]]


def swap(word: str) -> str:
    """The word with its second and third letter the wrong way round."""
    return word[0] + word[2] + word[1] + word[3:]


def type_all(page: Page, site: Path, typed: list[str]) -> tuple[list[float], dict[str, int]]:
    """Milliseconds of every keystroke, and the bytes loaded for each of the texts when it alone is typed."""
    loaded: list[str] = []
    page.on("request", lambda request: loaded.append(request.url))
    taken, sizes = [], {}
    for text in typed:
        loaded.clear()
        page.goto((site / "index.html").as_uri())
        assert not [url for url in loaded if "search" in url], "nothing is loaded before it is used"
        loaded.clear()
        page.focus("#search")
        page.wait_for_selector(".found", state="attached")
        for end in range(2, len(text) + 1):
            taken.append(float(page.evaluate(KEYSTROKE, text[:end])))
        names = {Path(url.removeprefix("file://")) for url in loaded}
        sizes[text] = sum(name.stat().st_size for name in names)
    return taken, sizes


def measure(entries: int) -> bool:
    """Print the figures of a log of so many entries, and say whether they reach the goals."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        site, words = publish(Path(name), entries)
        browser = start_chromium(playwright)
        typed = [*TYPED, *words, *(swap(word) for word in words if len(word) > 3), "x" + words[0][1:], "a" * 10_000]
        taken, sizes = type_all(browser.new_page(), site, [text[:40] for text in typed])
        browser.close()
        whole = sum(path.stat().st_size for path in (site / "search").iterdir())
    taken.sort()
    median, late = statistics.median(taken), taken[int(len(taken) * 0.95)]
    print(f"{entries} entries: {len(taken)} keystrokes, {median:.1f} ms in the median, {late:.1f} ms at 95 of 100")
    print(f"  loaded for one search: {min(sizes.values())} to {max(sizes.values())} bytes, of {whole} in all")
    print(f"  the most for `{max(sizes, key=lambda text: sizes[text])}`; the slowest took {taken[-1]:.1f} ms")
    return late <= MOST_MS and (entries > 200 or max(sizes.values()) <= MOST_BYTES)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, nargs="*", default=[200, 2000])
    reached = [measure(entries) for entries in parser.parse_args().entries]
    print("the goals are reached" if all(reached) else "a goal is missed")
    sys.exit(0 if all(reached) else 1)


if __name__ == "__main__":
    main()
