"""What is done again after a change, and what is not; that nothing is wrongly kept, `test_site` holds page by page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from buildlog.kept.store import hash_folders
from buildlog.preview import kept
from buildlog.preview.site import PreviewSite
from buildlog.read import reader
from tests.preview.logs import ENTRIES, look, make_log, open_site

PUMP, FITTED, BRAKES = ENTRIES


@pytest.fixture
def done(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is read, computed and rendered from now on, in order."""
    noted: list[str] = []

    def note(module: Any, name: str, say: Callable[..., str]) -> None:
        real = getattr(module, name)
        monkeypatch.setattr(
            module, name, lambda *given, **named: noted.append(say(*given, **named)) or real(*given, **named)
        )

    note(reader, "_read_text", lambda path, text: path)
    note(kept, "compute_figures", lambda log, day: "figures")
    note(kept, "load_site_theme", lambda figures: "theme")
    note(kept, "tell_story", lambda told, shows, links: f"story of {told.place.file}")
    return noted


def change(site: PreviewSite, name: str, old: str, new: str) -> None:
    path = site.folder / name
    path.write_text(path.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
    site.refresh()
    look(site, "timeline.html")


def test_only_what_changed_is_done_again(tmp_path: Path, done: list[str]) -> None:
    """Words: their entry is read and rendered. A figure: all figures. Nothing at all: nothing."""
    site = open_site(make_log(tmp_path / "log"))
    look(site, "timeline.html")
    brakes = f"entries/{BRAKES}.md"
    done.clear()
    site.refresh()
    look(site, "timeline.html")
    assert done == []
    change(site, brakes, "New pipes", "Old pipes")
    assert done == [brakes, f"story of {brakes}"]
    done.clear()
    change(site, brakes, "hours: 3", "hours: 4")
    assert done == [brakes, "figures"]
    done.clear()
    change(site, "log.yaml", "fuel: Fuel", "fuel: Diesel")
    assert done == ["log.yaml", "figures"]


def test_a_line_more_above_the_story_is_a_change_of_figures(tmp_path: Path, done: list[str]) -> None:
    """Equal records that stand on other lines are not the same: problems and evidence go by where they stand."""
    site = open_site(make_log(tmp_path / "log"))
    done.clear()
    change(site, f"entries/{PUMP}.md", "hours:", "# a remark\nhours:")
    assert "figures" in done


def test_any_byte_of_a_theme_counts(tmp_path: Path) -> None:
    """Names, bytes and links, in any folder below; the same again gives the same."""
    (tmp_path / "a/b").mkdir(parents=True)
    seen = {hash_folders([tmp_path], "w")}
    for act in (
        lambda: (tmp_path / "a/b/x.css").write_text("1"),
        lambda: (tmp_path / "a/b/x.css").write_text("2"),
        lambda: (tmp_path / "a/b/x.css").rename(tmp_path / "a/x.css"),
        lambda: (tmp_path / "a/link").symlink_to("x.css"),
        lambda: (tmp_path / "a/other").symlink_to("b"),
    ):
        act()
        seen.add(hash_folders([tmp_path], "w"))
    assert len(seen) == 6
    assert hash_folders([tmp_path], "w") in seen
    assert hash_folders([tmp_path], "v") not in seen
