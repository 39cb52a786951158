"""A log's own template that fails while its pages are made: the owner's problem, and no harm to the site."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildlog.render.theme import place_failure
from tests.photos.test_intake import shoot
from tests.test_cli import DAY, ENTRY, hash_folder, make_log, run

FAILURES = {
    "unknown name": ("{{ view.titel }}", "has no attribute 'titel'"),
    "sum of unlike things": ("{{ view.title + 1 }}", "can only concatenate str"),
    "division": ("{{ 1 // 0 }}", "by zero"),
    "missing template": ("{% include 'nowhere.html' %}", "there is no template `nowhere.html`"),
    "way out of the sandbox": ("{{ view.__class__.__mro__ }}", "is unsafe"),
    "endless list": ("{% for n in range(10 ** 9) %}{% endfor %}", "Range too big"),
}


@pytest.mark.parametrize("name", FAILURES)
def test_an_own_template_that_fails_is_one_problem(name: str, tmp_path: Path) -> None:
    """Exit 1, one error at the template's line, and the site published before stays byte for byte."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    assert run("publish", log, "--as-of", DAY).exit_code == 0
    before = hash_folder(log / "site")
    text, words = FAILURES[name]
    (log / "theme").mkdir()
    (log / "theme/entry.html").write_text("{# mine #}\n" + text)
    result = run("publish", log, "--as-of", DAY)
    assert (result.exit_code, type(result.exception)) == (1, SystemExit)
    head, *rest = result.output.splitlines()
    assert head.startswith("theme/entry.html:2:1: this template does not work: ")
    assert words in head
    remedy = "  correct it, or delete the file to use the theme's own"
    assert rest == [remedy, "  [own-template]", "", "1 error"]
    assert hash_folder(log / "site") == before


def test_a_photo_template_that_fails_is_told_too(tmp_path: Path) -> None:
    """What stories show goes through a template of the theme as well."""
    story = ENTRY + "\n![Crack](crack.jpg)\n"
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": story.replace("hours:", "photos: crack.jpg\nhours:")})
    shoot(log / "photos/2024-05-18-lift-pump/crack.jpg", 1, "2024:05:18 12:00:00")
    (log / "theme").mkdir()
    (log / "theme/story_photo.html").write_text("{{ photo.nothing }}")
    result = run("publish", log, "--as-of", DAY)
    assert result.exit_code == 1
    assert "theme/story_photo.html:1:1: this template does not work: " in result.output
    assert "1 error" in result.output
    assert not (log / "site").exists()


def test_a_failure_of_ours_is_not_called_the_owners(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What fails outside the log's own templates is raised as what it is."""
    log = make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})
    (log / "theme").mkdir()
    (log / "theme/look.css").write_text("")

    def fail(*_: object) -> str:
        raise ZeroDivisionError("ours")

    monkeypatch.setattr("buildlog.render.hosting.write_sitemap", fail)
    monkeypatch.setattr("buildlog.render.hosting.write_feed", fail)
    result = run("publish", log, "--as-of", DAY)
    assert isinstance(result.exception, ZeroDivisionError)


def test_a_failure_without_words_is_told_by_its_kind(tmp_path: Path) -> None:
    """An exception need not say anything."""
    with pytest.raises(ValueError) as caught:
        exec(compile("raise ValueError", str(tmp_path / "theme/page.html"), "exec"))
    problem = place_failure(caught.value, tmp_path)
    assert problem is not None and problem.message == "this template does not work: ValueError"
