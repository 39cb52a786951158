"""Draws the pictures of the guide's page on themes, `buildlog/guide/pictures/`: `python -m tests.browser.show_themes`.

Each is the example's site with one change and nothing else, made by the files that stand in the guide, as
`test_own_theme.py` makes it, and shows what changed. A picture's name is that of the chapter that links it.
"""

from __future__ import annotations

import io
import shutil
import tempfile
from pathlib import Path
from typing import Literal

from PIL import Image
from playwright.sync_api import Browser, FloatRect, sync_playwright

from tests.browser.conftest import EXAMPLE, place_on_disk, publish
from tests.browser.eyes import Place
from tests.browser.test_own_theme import GUIDE, write_change
from tests.chromium import start_chromium

PICTURES = GUIDE.parent / "pictures"
WIDTH = 840
"CSS pixels of the window: hardly more than a page needs to have its margin beside the words."
SHOWN = {
    "Another colour": ("costs.html", "body", 0, 256),
    "A line in the footer": ("costs.html", "footer", 24, 168),
    "Letters of your own": ("entries/2024-03-02-lift-pump-in.html", "main", 0, 336),
}
"Of each chapter the page, what its picture begins at, how many CSS pixels before that, and how many it is high."


def shoot(browser: Browser, place: Place, heading: str, scheme: Literal["light", "dark"]) -> Image.Image:
    """What somebody sees of the page who has opened it."""
    path, first, before, height = SHOWN[heading]
    page = browser.new_page(viewport={"width": WIDTH, "height": height}, color_scheme=scheme)
    page.goto(place.base + path, wait_until="load")
    page.evaluate("document.fonts.ready.then(() => 0)")
    top = page.locator(first).evaluate("element => element.getBoundingClientRect().top") - before
    clip: FloatRect = {"x": 0, "y": max(top, 0), "width": WIDTH, "height": height}
    shown = Image.open(io.BytesIO(page.screenshot(full_page=True, clip=clip))).convert("RGB")
    page.close()
    return shown


def stack(*images: Image.Image) -> Image.Image:
    sheet = Image.new("RGB", (WIDTH, sum(image.height for image in images)))
    top = 0
    for image in images:
        sheet.paste(image, (0, top))
        top += image.height
    return sheet


def draw(browser: Browser, heading: str, folder: Path) -> Image.Image:
    """What a chapter's change looks like: in both schemes if it has a colour for each."""
    log = folder / "log"
    shutil.copytree(EXAMPLE, log, ignore=shutil.ignore_patterns("site"))
    write_change(heading, log)
    place = place_on_disk(publish(log, folder / "site"))
    schemes: tuple[Literal["light", "dark"], ...] = ("light", "dark") if heading == "Another colour" else ("light",)
    return stack(*(shoot(browser, place, heading, scheme) for scheme in schemes))


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = start_chromium(playwright)
        for heading in SHOWN:
            with tempfile.TemporaryDirectory() as name:
                picture = draw(browser, heading, Path(name))
            out = PICTURES / f"{heading.lower().replace(' ', '-')}.png"
            # Few colours are on such a page: a palette keeps them, and letters stay sharp.
            picture.quantize(96, dither=Image.Dither.NONE).save(out, optimize=True)
            print(out, picture.size, out.stat().st_size)
        browser.close()


if __name__ == "__main__":
    main()
