"""The timeline's choice of a system in a real browser: it stands in the address, and hides nothing that was sought."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser import eyes

FUEL, ALL = "Fuel", "All systems"


@pytest.fixture(params=["disk", "host"])
def place(request: pytest.FixtureRequest, on_disk: eyes.Place, on_host: eyes.Place) -> eyes.Place:
    """The timeline opened from a folder, and from a host."""
    return on_disk if request.param == "disk" else on_host


@pytest.fixture
def page(browser: Browser, place: eyes.Place) -> Iterator[Page]:
    with eyes.visiting(browser, place, viewport={"width": 1280, "height": 800}) as visit:
        visit.page.set_default_timeout(10_000)
        visit.open("timeline.html")
        yield visit.page
        assert visit.found == []


def choose(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).click()


def read_choice(page: Page) -> str:
    """The pressed button, which has to be what is shown."""
    pressed = page.locator("[data-system][aria-pressed=true], button[aria-pressed=true]")
    name = pressed.inner_text()
    entries = page.locator("article[data-systems]")
    shown = [set((entry.get_attribute("data-systems") or "").split()) for entry in entries.all() if entry.is_visible()]
    assert (len(shown) == entries.count()) == (name == ALL)
    assert name == ALL or all(name.lower() in systems for systems in shown)
    return name


def test_the_choice_stands_in_the_address(page: Page) -> None:
    """A reload and a shared address show the same; each choice is a step that the way back takes again."""
    choose(page, FUEL)
    assert page.url.endswith("timeline.html?system=fuel")
    page.reload()
    assert read_choice(page) == FUEL
    choose(page, ALL)
    assert page.url.endswith("timeline.html")
    page.go_back()
    assert read_choice(page) == FUEL
    page.go_back()
    assert read_choice(page) == ALL


def test_the_choice_is_there_on_the_way_back(page: Page) -> None:
    """Who opens an entry from a chosen system comes back to that system."""
    choose(page, FUEL)
    page.locator("article[data-systems]:not([hidden]) h3 a").first.click()
    page.wait_for_url("**/entries/*")
    page.go_back()
    page.wait_for_url("**/timeline.html?system=fuel")
    assert read_choice(page) == FUEL


@pytest.mark.parametrize("follow", ["load", "click"])
def test_what_a_link_leads_to_is_shown(page: Page, place: eyes.Place, follow: str) -> None:
    """An anchor inside what the choice hides is shown, and the choice given up."""
    choose(page, FUEL)
    target = page.locator("article[data-systems][hidden] h3").first.get_attribute("id") or ""
    if follow == "load":
        page.goto(f"{place.base}timeline.html?system=fuel#{target}")
    else:
        page.evaluate("where => { location.hash = where; }", target)
        page.wait_for_function("() => !document.querySelector('article[hidden]')")
    assert page.locator(f"[id='{target}']").is_visible()
    assert read_choice(page) == ALL
    assert page.url.endswith(f"timeline.html#{target}")
    page.wait_for_function("id => document.getElementById(id).getBoundingClientRect().top < innerHeight", arg=target)


@pytest.mark.parametrize("address", ["?system=nonsense", "?system=", "#%", "#nowhere"])
def test_an_address_that_is_none_of_ours_shows_everything(page: Page, place: eyes.Place, address: str) -> None:
    """A system that there is not hides nothing."""
    page.goto(f"{place.base}timeline.html{address}")
    page.reload()
    assert read_choice(page) == ALL


def read_titles(page: Page) -> list[str]:
    return page.locator("article[data-systems] h3").all_inner_texts()


def turn(page: Page) -> None:
    page.get_by_role("button", name="Newest first", exact=True).click()


def test_the_order_stands_in_the_address(page: Page) -> None:
    """Newest first is one click away, is a step of its own, and stays beside the choice of a system and on a reload."""
    oldest_first = read_titles(page)
    turn(page)
    assert page.url.endswith("timeline.html?order=newest")
    assert read_titles(page) == oldest_first[::-1]
    choose(page, FUEL)
    assert page.url.endswith("timeline.html?system=fuel&order=newest")
    page.reload()
    assert read_titles(page) == oldest_first[::-1]
    turn(page)
    assert page.url.endswith("timeline.html?system=fuel")
    page.go_back()
    assert read_titles(page) == oldest_first[::-1]
    page.go_back()
    page.go_back()
    assert page.url.endswith("timeline.html")
    assert read_titles(page) == oldest_first


def test_months_turn_with_their_entries(page: Page) -> None:
    """The list of months runs as the months do, and each keeps its own entries."""
    where = "sections => sections.map(one => [one.querySelector('h2').id, one.querySelectorAll('article').length])"
    before = page.locator("section.month").evaluate_all(where)
    turn(page)
    assert page.locator("section.month").evaluate_all(where) == before[::-1]
    links = page.locator("[data-months] a").evaluate_all("links => links.map(link => link.hash.slice(1))")
    assert links == [name for name, _ in before[::-1]]


def test_without_script_the_oldest_is_first(browser: Browser, on_disk: eyes.Place) -> None:
    """Whatever the address says; and there is no control that would do nothing."""
    with eyes.visiting(browser, on_disk, java_script_enabled=False) as visit:
        page = visit.open("timeline.html?order=newest")
        assert page.get_by_role("button").count() == 0
        anchors = page.locator("section.month h2").evaluate_all("heads => heads.map(head => head.id)")
        assert anchors == sorted(anchors)
        assert page.locator("[data-turn]").evaluate("room => room.offsetHeight") == 0
