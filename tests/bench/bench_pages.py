"""How heavy the pages of a site are: the ten heaviest, their nodes and bytes, for logs of 40, 200 and 2,000 entries.

Run as `python -m tests.bench.bench_pages [--entries 40 200 2000]`. The logs are those of `make_log`, text only, as of
the day of their last entry, so that every entry counts. The goals: no page over 150 kB of HTML (the service history
500 kB), the front page at most 40 kB. Ends with 1 where one is missed.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from html.parser import HTMLParser
from pathlib import Path

from tests.bench.make_log import make_log

TOP = Path(__file__).parent.parent.parent
SHOWN = 10
MOST = 150_000
EXCEPT = {"service.html": 500_000, "index.html": 40_000}
"Ceilings in bytes of HTML: of every page, and of those that have another."


class _Nodes(HTMLParser):
    """Counts elements and texts, as a browser makes a node of each."""

    def __init__(self) -> None:
        super().__init__()
        self.count = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.count += 1

    def handle_data(self, data: str) -> None:
        self.count += 1


def count_nodes(page: str) -> int:
    """Elements and texts, blank ones included."""
    nodes = _Nodes()
    nodes.feed(page)
    return nodes.count


def weigh(entries: int) -> list[str]:
    """Publish a log of so many entries, print its heaviest pages, and say which are too heavy."""
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        day = make_log(top / "log", entries)
        command = [sys.executable, "-m", "buildlog", "publish", str(top / "log"), "--out", str(top / "site")]
        subprocess.run([*command, "--as-of", str(day)], check=True, capture_output=True, cwd=TOP)
        pages = {path.relative_to(top / "site").as_posix(): path.read_bytes() for path in top.rglob("site/**/*.html")}
    order = sorted(pages, key=lambda path: (-len(pages[path]), path))
    print(f"{entries} entries: {len(pages)} pages, {sum(map(len, pages.values()))} bytes in all")
    for path in [*order[:SHOWN], *(path for path in EXCEPT if path not in order[:SHOWN])]:
        print(f"  {len(pages[path]):>9} bytes {count_nodes(pages[path].decode()):>7} nodes  {path}")
    return [path for path in order if len(pages[path]) > EXCEPT.get(path, MOST)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, nargs="*", default=[40, 200, 2000])
    heavy = {entries: weigh(entries) for entries in parser.parse_args().entries}
    missed = {entries: paths for entries, paths in heavy.items() if paths}
    print(f"too heavy: {missed}" if missed else "no page is too heavy")
    sys.exit(1 if missed else 0)


if __name__ == "__main__":
    main()
