"""Each look of this folder finds the fault that it is for, and finds nothing on a plain page.

`faulty/` holds one page for each fault, named by it. A page is looked at alone: its fault is the only one there, or
the look for it would not be shown to work.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser

from tests.browser import eyes, files

FAULTY = Path(__file__).parent / "faulty"


def on_disk(*names: str) -> eyes.Place:
    return eyes.Place(base=FAULTY.as_uri() + "/", pages=tuple(f"{name}.html" for name in names))


def told(found: list[str], page: str) -> list[str]:
    return [line for line in found if line.startswith(page)]


@pytest.fixture(scope="module")
def markup_errors() -> list[str]:
    return files.find_markup_errors(sorted(FAULTY.glob("*.html")) + sorted(FAULTY.glob("*.css")))


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("no-title.html", "Element “title” must not be empty"),
        ("impossible-date.html", "Day out of range"),
        ("no-alternative.html", "An “img” element must have an “alt” attribute"),
        ("unknown-property.css", "Property “colour” doesn't exist"),
    ],
)
def test_validator(markup_errors: list[str], page: str, words: str) -> None:
    """The validator tells an empty title, an impossible date, a picture without text, an unknown property."""
    assert any(words in line for line in told(markup_errors, page)), markup_errors


def test_validator_passes_what_is_valid(markup_errors: list[str]) -> None:
    """A plain page and sheet pass: the one false alarm that is left out, about the policy, is not taken for a fault."""
    assert told(markup_errors, "plain.") == []


@pytest.mark.parametrize(
    ("page", "why"),
    [
        ("missing-file.html", "no such file"),
        ("missing-anchor.html", "no such anchor"),
        ("rooted-link.html", "counts from the host's root"),
        ("folder-link.html", "is a folder"),
        ("outside-link.html", "leads out of the folder"),
        ("missing-source.html", "no such file"),
        ("foreign-picture.html", "leaves the site"),
    ],
)
def test_links(page: str, why: str) -> None:
    """Each way in which a link or a loaded file can fail a reader who has only the folder is told."""
    assert [line for line in told(files.find_broken_links(FAULTY), page) if why in line]


def test_links_pass_what_leads_somewhere() -> None:
    """An anchor of the page itself and another site's address in a text are fine."""
    assert told(files.find_broken_links(FAULTY), "plain.html") == []


def test_late_policy() -> None:
    """A policy after other elements is told, and one in its place is not."""
    found = files.find_late_policies(FAULTY)
    assert told(found, "late-policy.html")
    assert told(found, "plain.html") == []


def test_unsized_picture() -> None:
    """A picture without width and height is told, and no other page is."""
    assert files.find_unsized_pictures(FAULTY) == ["unsized-picture.html: dot.png"]


def test_glued_words() -> None:
    """Pieces of a line without a blank are told; those with one, or with a comma, are not."""
    assert told(files.find_glued_words(FAULTY), "glued") == ["glued.html: `× 3` and `stated`"]
    assert told(files.find_glued_words(FAULTY), "plain") == []


def test_said_twice() -> None:
    """A name that is said twice running, and a figure that ends with its own name, are told, and nothing else."""
    assert files.find_said_twice(FAULTY) == [
        "said-twice.html: village garage, village garage",
        "said-twice.html: entries: 42 entries",
    ]


def test_orphans() -> None:
    """A page that is reached from no other is told, and one that is linked is not."""
    found = files.find_orphans(Path(__file__).parent / "orphaned")
    assert found == ["alone.html"]


@pytest.mark.parametrize(
    ("page", "words"),
    [
        ("inline-style", "Applying inline style violates"),
        ("failing-script", "on purpose"),
        ("foreign-picture", "leaves the site: http://127.0.0.1:1/dot.png"),
        ("broken-picture", "picture does not show"),
        ("missing-script", "failed: "),
    ],
)
def test_noise(browser: Browser, page: str, words: str) -> None:
    """A broken policy, a failing script, a foreign request, a picture that is none and a missing file are heard."""
    found = eyes.find_noise(browser, on_disk(page))
    assert any(words in line for line in found), found


def test_silence(browser: Browser) -> None:
    """A plain page makes no noise."""
    assert eyes.find_noise(browser, on_disk("plain")) == []


def test_overflow(browser: Browser) -> None:
    """A box of 500 px is too wide for 320 and 390 px, not for 1440 px; a plain page fits."""
    found = eyes.find_overflow(browser, on_disk("wide", "plain"))
    assert [line.split(" px")[0] for line in found] == ["wide.html: wider than 320", "wide.html: wider than 390"]


def test_small_targets(browser: Browser) -> None:
    """Links of 14 px in a row are told on a phone; those of a plain page, in a sentence, are as high as their line."""
    found = eyes.find_overflow(browser, on_disk("cramped", "plain"))
    assert [line.split(": ")[:2] for line in found] == [["cramped.html", "small targets (3)"]], found


@pytest.mark.parametrize(
    ("page", "scheme", "rule"),
    [
        ("pale", "light", "color-contrast"),
        ("pale-in-the-dark", "dark", "color-contrast"),
        ("cramped", "light", "target-size"),
        ("no-alternative", "light", "image-alt"),
    ],
)
def test_barriers(browser: Browser, page: str, scheme: Literal["light", "dark"], rule: str) -> None:
    """Low contrast (4.478 against 4.5), in one scheme only too, small targets and pictures without text are told."""
    found = eyes.find_barriers(browser, on_disk(page), scheme)
    assert [line.split(": ")[2].split()[0] for line in found] == [rule], found


@pytest.mark.parametrize("page", ["plain", "pale-in-the-dark"])
def test_no_barriers(browser: Browser, page: str) -> None:
    """A plain page has none; what is pale in the dark only is none in the light."""
    assert eyes.find_barriers(browser, on_disk(page), "light") == []


def test_scripts_off(browser: Browser) -> None:
    """Text that a script writes or shows is missed when scripts are off; a fold that opens by itself is not."""
    found = eyes.find_unread_text(browser, on_disk("written-by-script", "shown-by-script", "plain"))
    assert found == [
        "written-by-script.html: nothing to read without scripts",
        "shown-by-script.html: not shown without scripts: kilometres",
    ]


def test_print(browser: Browser) -> None:
    """A heading that is not printed and a picture wider than the paper are told; 900 px are more than 190 mm."""
    found = eyes.find_unprintable(browser, on_disk("no-heading-in-print", "wide-in-print", "plain"), "A4")
    assert found == [
        "no-heading-in-print.html: no heading in print",
        "wide-in-print.html: wider than 718 px: svg to 916",
    ]


def test_ground(browser: Browser) -> None:
    """The two grounds of the plain page are the ones of its sheet: #ffffff and #121212."""
    assert eyes.read_ground(browser, on_disk("plain"), "light") == "rgb(255, 255, 255)"
    assert eyes.read_ground(browser, on_disk("plain"), "dark") == "rgb(18, 18, 18)"


def test_fonts(browser: Browser) -> None:
    """Whatever is installed, and whatever a page asks for, the browser has the six fonts of `fonts.conf` alone."""
    styles = [f"font: {style} 1em {family}" for style in ("normal", "bold", "italic") for family in FAMILIES]
    with browser.new_context() as context:
        page = context.new_page()
        page.set_content("".join(f"<p style='{style}'>Pump, fitted 12 mm</p>" for style in styles))
        session = context.new_cdp_session(page)
        session.send("DOM.enable")
        session.send("CSS.enable")
        root = session.send("DOM.getDocument")["root"]["nodeId"]
        nodes = session.send("DOM.querySelectorAll", {"nodeId": root, "selector": "p"})["nodeIds"]
        told = [session.send("CSS.getPlatformFontsForNode", {"nodeId": node})["fonts"] for node in nodes]
    assert [len(fonts) for fonts in told] == [1] * len(styles)
    assert {fonts[0]["postScriptName"] for fonts in told} == {
        f"DejaVu{family}{weight}" for family in ("Sans", "SansMono", "Serif") for weight in ("", "-Bold")
    }


FAMILIES = ("serif", "sans-serif", "monospace", "system-ui", "Georgia", "'DejaVu Serif Condensed'")
