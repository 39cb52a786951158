"""The Chromium of this machine, driven headless: one way to start it for tests, benchmarks and drawn pictures."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from playwright.sync_api import Browser, BrowserType, Playwright

NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
"The first is the same engine without a browser's own interface, which takes longer to start than a page of ours."

FONTS = Path(__file__).parent / "browser/fonts.conf"

FLAGS = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
"Headless as any user, and no traffic of the browser's own."

CLOSED = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
"No page reaches another machine."


def start_chromium(playwright: Playwright) -> Browser:
    """The browser with a set of fonts that is the same on every machine; AssertionError where there is none."""
    return start_with(playwright.chromium)


def start_with(chromium: BrowserType, *flags: str) -> Browser:
    """The same with more flags."""
    path = next((found for found in map(shutil.which, NAMES) if found), None)
    assert path, f"no Chromium found: run tests/run, which installs it (or install the package `{NAMES[0]}`)"
    environment = os.environ | {"FONTCONFIG_FILE": str(FONTS)}
    return chromium.launch(executable_path=path, args=[*FLAGS, CLOSED, *flags], env=environment)
