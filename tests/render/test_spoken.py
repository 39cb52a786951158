"""What templates know of the language that their words are in."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from buildlog.problems import Place
from buildlog.record.published import PublishedRecord
from buildlog.render.pages.record import make_record
from buildlog.render.pieces import PhotoView
from buildlog.render.theme import Theme, load_theme
from tests.render.editions import edition_of

GERMAN = (
    'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\nmsgid "Open the photo"\nmsgstr "Foto öffnen"\n'
)
PHOTO = PhotoView(src="a.jpg", srcset="", width=4, height=3, alt="")


@pytest.fixture
def german(tmp_path: Path) -> Theme:
    """The theme of a log that has a word of German."""
    (tmp_path / "theme" / "words").mkdir(parents=True)
    (tmp_path / "theme" / "words" / "de.po").write_text(GERMAN, encoding="utf-8")
    return load(tmp_path, "de")


def load(log: Path, language: str) -> Theme:
    theme, problems = load_theme("margin", place=Place("log.yaml", 1), log=log, language=language)
    assert theme and not problems
    return theme


def test_a_link_in_a_story_of_another_language_is_in_that_of_the_page(german: Theme, tmp_path: Path) -> None:
    """WCAG 2.2, SC 3.1.2: a photo without words has a link that the page names, inside the owner's story."""
    english = load(tmp_path / "other", "en-GB")
    said = [theme.render("story_photo.html", {"photo": PHOTO, "alt": ""}) for theme in (english, german)]
    assert ['lang="en" aria-label="Open the photo"' in said[0], 'lang="de" aria-label="Foto öffnen"' in said[1]] == [
        True
    ] * 2
    assert "lang=" not in german.render("story_photo.html", {"photo": PHOTO, "alt": "Pumpe"})


def test_a_heading_inside_a_sentence_is_small_in_english_alone(german: Theme, tmp_path: Path) -> None:
    """`Cost` becomes `cost`; a German noun keeps its capital (Rat für deutsche Rechtschreibung, § 55)."""
    english = load(tmp_path / "other", "en-GB")
    said = [theme.environment.from_string('{{ within("Kosten") }}').render() for theme in (english, german)]
    assert said == ["kosten", "Kosten"]


def test_what_the_check_of_seals_says_is_marked_as_english(german: Theme, tmp_path: Path) -> None:
    """WCAG 2.2, SC 3.1.2: `verify` and the page say it in the same words, which are not translated."""
    settings = "machine: {name: Tom, kind: road vehicle}\nmoney: {currency: GBP}\n"
    context = edition_of("date: 2024-02-01", settings=settings)
    view = make_record(replace(context, record=PublishedRecord(failures=("this is no seal",))))
    english = load(tmp_path / "other", "en-GB")
    said = [theme.render("record.html", {"view": view, "frame": view.frame, "root": ""}) for theme in (english, german)]
    assert '<li class="fails">this is no seal</li>' in said[0]
    assert '<li class="fails" lang="en">this is no seal</li>' in said[1]
