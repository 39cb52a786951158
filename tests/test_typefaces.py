"""The letters that a site brings: few bytes, always the same, under their own name; none where the owner wants none."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import pytest
from fontTools.ttLib import TTFont

from buildlog import typefaces
from buildlog.problems import Place
from buildlog.render.fitness import check_fitness
from buildlog.render.found import list_found
from buildlog.render.pages.costs import make_costs
from buildlog.render.theme import find_themes, load_theme
from tests.render.editions import edition_of

SETTINGS = "machine: {name: Test machine}\nmoney: {currency: GBP}\n"
WORDS = ("bundled", "system")

MOST_BYTES = 45_000
"Of all fonts of a site in English together."


@pytest.fixture(scope="module")
def made() -> dict[str, bytes]:
    return typefaces.make_typefaces("en-GB")


@pytest.fixture(scope="module")
def fonts(made: dict[str, bytes]) -> dict[str, Any]:
    return {path: TTFont(io.BytesIO(data)) for path, data in made.items() if path.endswith(".woff2")}


def test_all_fonts_together_are_small(made: dict[str, bytes]) -> None:
    """45 kB and less, compressed as WOFF2 (W3C Recommendation "WOFF File Format 2.0": the signature is `wOF2`)."""
    files = {path: data for path, data in made.items() if path.endswith(".woff2")}
    assert len(files) == len(typefaces.FACES)
    assert all(data.startswith(b"wOF2") for data in files.values())
    assert sum(map(len, files.values())) <= MOST_BYTES


def test_letters_are_there_and_figures_stand_below_each_other(fonts: dict[str, Any]) -> None:
    """ASCII and Latin-1 (ISO 8859-1) in all, every sign in the upright ones; all digits of a font are as wide."""
    for path, font in fonts.items():
        letters = {letter for letter in typefaces.LETTERS if letter < 0x100 or "italic" not in path}
        assert font.getBestCmap().keys() >= letters, path
        assert len({font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789"}) == 1, path


def test_a_changed_font_has_a_name_of_its_own(made: dict[str, bytes], fonts: dict[str, Any]) -> None:
    """SIL Open Font License 1.1, conditions 2 and 3: the licence goes with it, a reserved name does not."""
    for path, font in fonts.items():
        named = [str(record) for record in font["name"].names if record.nameID not in (0, 13, 14)]
        assert named and not [name for name in named if "Source" in name], path
        assert "Copyright" in str(font["name"].getDebugName(0)) or "©" in str(font["name"].getDebugName(0)), path
    for licence in typefaces.LICENCES.values():
        assert b"SIL OPEN FONT LICENSE Version 1.1" in made[f"theme/{licence}"]


def test_the_same_bytes_without_and_with_what_was_kept(
    made: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cut anew, read again, and cut again where what was kept is damaged: one and the same."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    anew = dict(typefaces._make.__wrapped__(frozenset()))
    kept = sorted((tmp_path / "buildlog" / "type").rglob("*.woff2"))
    assert (anew, len(kept)) == (made, len(typefaces.FACES))
    monkeypatch.setattr(typefaces, "_cut_apart", lambda letters: pytest.fail("cut, though it is kept"))
    assert dict(typefaces._make.__wrapped__(frozenset())) == made
    kept[0].write_bytes(kept[0].read_bytes()[:-1] + b"?")
    with pytest.raises(pytest.fail.Exception, match="cut, though"):
        typefaces._make.__wrapped__(frozenset())


def test_where_no_process_can_be_started_they_are_cut_all_the_same(
    made: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same bytes, from this one."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    for broken in (str(tmp_path / "no-python"), "/bin/false", "/bin/true"):
        monkeypatch.setattr("sys.executable", broken)
        assert typefaces._cut_apart(typefaces.LETTERS) == {Path(path).name: data for path, data in made.items()}


def test_a_language_has_its_letters() -> None:
    """Polish has ł in all faces, and pages in English do without; of the two only the language is asked."""
    assert 0x142 in typefaces.MORE["pl"]
    assert 0x142 not in typefaces.LETTERS


def test_an_owner_can_have_the_system_s_letters() -> None:
    """With `type: system` no font is published and no page asks for one."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), themes=find_themes())
    assert theme is not None
    own, none = (edition_of("date: 2024-05-01", settings=SETTINGS + f"site: {{type: {word}}}\n") for word in WORDS)
    assert typefaces.SHEET in list_found(theme, own.figures, ())
    assert not [path for path in list_found(theme, none.figures, ()) if re.search(r"woff2|type\.css|licence", path)]
    assert [link.href for link in make_costs(own).frame.links] == [typefaces.SHEET]
    assert make_costs(none).frame.links == ()


def test_without_the_packages_the_owner_is_told_and_the_site_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """One warning names the package and both remedies; pages are in the letters of the system."""
    monkeypatch.setattr(typefaces, "LIBRARIES", {"fonttools": "fontTools", "brotli": "no_such_module"})
    context = edition_of("date: 2024-05-01", settings=SETTINGS)
    (problem,) = [one for one in check_fitness(context.figures) if one.rule == "no-letters"]
    assert problem.severity == "warning"
    assert problem.message == (
        "the package `brotli` is not installed, so pages are in the letters of each reader's system"
    )
    assert problem.help == "install `brotli`, or write `type: system` under `site:`"
    assert make_costs(context).frame.links == ()
