"""The published example and the browser that reads it, each made once a run.

Nothing here is skipped: without a browser or a validator these tests fail, and say what to install.
"""

from __future__ import annotations

import functools
import os
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from buildlog.problems import Place as TextPlace
from buildlog.render.theme import load_theme
from tests.browser.eyes import Place
from tests.browser.files import list_pages
from tests.chromium import start_chromium

HERE = Path(__file__).parent
TOP = HERE.parent.parent
EXAMPLE = TOP / "example_project"
ALL_THEMES = sorted(path.parent.name for path in (TOP / "themes").glob("*/theme.yaml"))
THEMES = [
    name
    for name in ALL_THEMES
    if (theme := load_theme(name, place=TextPlace("log.yaml"))[0]) is None or theme.makes_sites
]
"Those that make sites: the others set a book."

AS_OF = "2024-12-01"
"A week after the example's last entry: what is due and how old things are does not change with the calendar."

SUB_PATH = "some/where/below"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All browser tests are marked, and those of one theme run in one worker, which publishes its site once."""
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)
            theme = item.callspec.params.get("site", "") if hasattr(item, "callspec") else ""
            item.add_marker(pytest.mark.xdist_group(f"browser {theme}"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The system's Chromium, driven headless, with a set of fonts that is the same on every machine."""
    with sync_playwright() as playwright:
        chromium = start_chromium(playwright)
        yield chromium
        chromium.close()


def publish(log: Path, out: Path) -> Path:
    """A log published as a user would, by the command in its own process."""
    command = [sys.executable, "-m", "buildlog", "publish", str(log), "--out", str(out), "--as-of", AS_OF]
    run = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=False, timeout=600)
    assert run.returncode == 0, f"{' '.join(command)} ended with {run.returncode}\n{run.stdout}\n{run.stderr}"
    assert (out / "index.html").is_file(), run.stdout
    return out


@pytest.fixture(scope="session", params=THEMES)
def site(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example published once for each theme; the log is copied, so that nothing is written beside it."""
    top = tmp_path_factory.mktemp(f"theme-{request.param}")
    log = top / "log"
    shutil.copytree(EXAMPLE, log, ignore=shutil.ignore_patterns("site"))
    choose_theme(log / "log.yaml", request.param)
    return publish(log, top / "site")


def choose_theme(settings: Path, theme: str) -> None:
    """Write the theme's name into a log's settings, as its owner would."""
    text = re.sub(r"^  theme:.*\n", "", settings.read_text(encoding="utf-8"), flags=re.MULTILINE)
    changed, times = re.subn(r"^site:\n", f"site:\n  theme: {theme}\n", text, flags=re.MULTILINE)
    assert times == 1, f"{settings} has no block `site:`"
    settings.write_text(changed, encoding="utf-8")


ALL_LOOKS = os.environ.get("BUILDLOG_LOOKS") == "all"
"Rules of accessibility in each scheme at each width: by hand before a release, as they take long."


def place_on_disk(root: Path) -> Place:
    """A published folder as a reader has it who opens it from a disk."""
    return Place(base=root.as_uri() + "/", pages=tuple(str(page.relative_to(root)) for page in list_pages(root)))


@pytest.fixture(scope="session")
def on_disk(site: Path) -> Place:
    return place_on_disk(site)


class QuietHandler(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="session")
def on_host(site: Path, on_disk: Place, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Place]:
    """The same folder below a path of a plain static host."""
    top = tmp_path_factory.mktemp("host")
    below = top / SUB_PATH
    below.parent.mkdir(parents=True)
    below.symlink_to(site, target_is_directory=True)
    with ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(QuietHandler, directory=str(top))) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield Place(base=f"http://127.0.0.1:{server.server_port}/{SUB_PATH}/", pages=on_disk.pages)
        server.shutdown()
        thread.join()
