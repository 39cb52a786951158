"""The budget in a real browser: on a phone no figure of it is off the screen, and each says what it is."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from tests.browser import eyes

NAMES = ("Budget", "Spent", "Committed", "Wanted", "Forecast", "Left")

READ = """table => {
    const read = cell => {
        const box = cell.getBoundingClientRect();
        return {
            label: getComputedStyle(cell, "::before").content.split(" / ")[0].replaceAll('"', ""),
            text: cell.innerText.trim(),
            seen: box.width > 0 && box.left >= 0 && box.right <= document.documentElement.clientWidth,
        };
    };
    return [...table.querySelectorAll("tbody tr, tfoot tr")].map(row => [...row.querySelectorAll("td")].map(read));
}"""
"The cells of each row: what stands in front of each, its figure, and whether all of it is on the screen."


@pytest.mark.parametrize("width", [320, 390])
def test_every_figure_of_the_budget_is_on_a_phone_s_screen(browser: Browser, on_disk: eyes.Place, width: int) -> None:
    """Each system's figures stand below each other, each behind its name; none has to be scrolled to sideways."""
    with eyes.visiting(browser, on_disk, viewport={"width": width, "height": 844}) as visit:
        rows = visit.open("costs.html").locator("#budget ~ .wide table").evaluate(READ)
    assert len(rows) == 4
    for row in rows:
        assert tuple(cell["label"] for cell in row) == NAMES
        assert all(cell["text"] and cell["seen"] for cell in row)


def test_on_a_wide_screen_the_budget_is_a_table(browser: Browser, on_disk: eyes.Place) -> None:
    """The names stand once, over their columns."""
    with eyes.visiting(browser, on_disk, viewport={"width": 1280, "height": 800}) as visit:
        table = visit.open("costs.html").locator("#budget ~ .wide table")
        assert table.locator("thead").is_visible()
        assert {cell["label"] for row in table.evaluate(READ) for cell in row} == {"none"}
