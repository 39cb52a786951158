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
    assert len(rows) == 5
    for row in rows:
        assert all(cell["label"] == name for cell, name in zip(row, NAMES, strict=True) if cell["text"] != "–")
        assert all(cell["text"] == "–" or cell["seen"] for cell in row)


def test_on_a_wide_screen_the_budget_is_a_table(browser: Browser, on_disk: eyes.Place) -> None:
    """The names stand once, over their columns."""
    with eyes.visiting(browser, on_disk, viewport={"width": 1280, "height": 800}) as visit:
        table = visit.open("costs.html").locator("#budget ~ .wide table")
        assert table.locator("thead").is_visible()
        assert {cell["label"] for row in table.evaluate(READ) for cell in row} == {"none"}


@pytest.mark.parametrize("width", [390, 1280])
def test_whoever_hears_the_page_hears_a_table_at_every_width(browser: Browser, on_disk: eyes.Place, width: int) -> None:
    """The browser tells programs that read aloud of a table, its rows and the heads of its columns, stacked or not."""
    with eyes.visiting(browser, on_disk, viewport={"width": width, "height": 844}) as visit:
        page = visit.open("costs.html")
        session = visit.context.new_cdp_session(page)
        session.send("DOM.enable")
        root = session.send("DOM.getDocument")["root"]["nodeId"]
        node = session.send("DOM.querySelector", {"nodeId": root, "selector": "#budget ~ .wide table"})["nodeId"]
        told = {
            role: session.send("Accessibility.queryAXTree", {"nodeId": node, "role": role})["nodes"]
            for role in ("table", "row", "columnheader", "rowheader", "cell")
        }
    assert {role: len(nodes) for role, nodes in told.items()} == {
        "table": 1, "row": 6, "columnheader": 7, "rowheader": 5, "cell": 30,
    }  # fmt: skip
    assert [node["name"]["value"] for node in told["columnheader"]] == ["System", *NAMES]
