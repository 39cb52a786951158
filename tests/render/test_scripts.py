"""Scripts of pages have no words of their own: they say what the page gives them, in its language."""

from __future__ import annotations

import re

import pytest

from buildlog.render.search import KINDS, WORDS
from buildlog.render.theme import find_themes

MARGIN = find_themes() / "margin"
SCRIPTS = sorted(path.name for path in MARGIN.glob("*.js"))
TEXT = re.compile(r'"((?:\\.|[^"\\\n])*)"')
SAID = re.compile(r"^[A-Z]|[a-z],? [a-z]", re.ASCII)
"What looks like something to be read: a capital, or two words beside each other."
SELECTOR = re.compile(r"[.#\[>(]")
NO_WORDS = {"use strict", "NFKD", "UTC", "Escape", "Enter", "ArrowDown", *KINDS}
"A directive, a form of Unicode, a time zone, keys (W3C, UI Events KeyboardEvent key Values), kinds in the index."


def read_code(name: str) -> str:
    """A script without its comments; no text in one of ours has two slashes behind a blank."""
    return re.sub(r"(?m)(^|\s)//.*$", "", (MARGIN / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", SCRIPTS)
def test_scripts_have_no_words_of_their_own(name: str) -> None:
    """In another language they would be English on a page that is not."""
    texts = {text for text in TEXT.findall(read_code(name)) if not SELECTOR.search(text)}
    assert {text for text in texts if SAID.search(text)} - NO_WORDS == set()


def test_every_word_that_a_script_says_stands_in_a_page() -> None:
    """What a script reads off `data-` attributes is said by a template, or is a key that is no word."""
    asked = {name for script in SCRIPTS for name in re.findall(r"\bdataset\.(\w+)", read_code(script))}
    asked |= set(re.findall(r"(?<!index\.)\bwords\.(\w+)", read_code("photos.js")))
    pages = "".join(path.read_text(encoding="utf-8") for path in MARGIN.glob("*.html"))
    said = set(re.findall(r'\bdata-(\w+)="\{\{ say\("', pages))
    assert len(said) > 15
    assert asked - said == {"systems", "system"}, "keys of systems"
    assert said - asked == set()


def test_every_word_of_the_search_comes_with_its_index() -> None:
    """Neither a text that the script asks for in vain, nor one that it never asks for."""
    code = read_code("search.js")
    asked = set(re.findall(r"\bwords\.([a-z]+)\b", code))
    assert asked >= {"results", "nothing"}
    assert asked - {"forEach", "length", "filter", "join"} == set(WORDS)
