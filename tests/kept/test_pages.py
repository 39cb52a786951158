"""What is made of a site when words of a story alone are others, and when a figure is."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from buildlog.compute import figures
from buildlog.kept.pages import LateMakers
from buildlog.kept.store import Store
from buildlog.render.pages.context import PageContext
from buildlog.render.render import View, render_view
from buildlog.render.theme import Theme
from tests.kept.steps import draw_first_world
from tests.kept.world import Step, World

TABLE = "| a | b | c | d | e |\n| - | - | - | - | - |\n| 1 | 2 |  | 4 | 5 |\n"
STORIES = (
    f"Off it came.\n\nOn went Ärger.\n\n{TABLE}",  # stacked, as the page's own tables are
    "Off it came.\n\nOn it went & <b>off</b>.\n",
    f"Off it came.\n\n{TABLE}\n{TABLE}",
    "Off it came.\n\nSecond pump.\n",  # what its title and its parts say is found when its story says it no more
    "Off it came.\n",
)


@pytest.fixture
def world(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> World:
    """A log that was published once."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    made = draw_first_world(tmp_path)
    assert made.compare() == ""
    return made


def test_words_ask_for_no_figure(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Words behind a story's first paragraph change its page and the search, and nothing is computed for it."""
    for story in STORIES:
        world.do_words(1, story)
        before = world.read()
        with monkeypatch.context() as patch:
            patch.setattr(figures, "compute_figures", None)
            assert world.publish().published
        after = world.read()
        changed = {path for path in after if after[path] != before.get(path)}
        assert {path for path in changed if not path.startswith("search/")} == {"entries/2024-02-01-e1.html"}
        _, anew = world.publish_anew()
        assert anew == after


def test_a_story_is_not_put_where_something_else_stands(world: World) -> None:
    """A page that somebody changed is made anew, and so are words of the search."""
    for path in ("entries/2024-02-01-e1.html", "search/words-0.js", "search/ends-0.js"):
        site = world.folder / world.out / path
        site.write_bytes(site.read_bytes().replace(b"e", b"E"))
        world.do_words(1, f"Off it came.\n\nNew words for {path}.\n")
        assert world.compare() == ""


def test_what_is_given_to_a_template_again_is_not_rendered_again(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another figure in one entry renders the pages that show it, and no other."""
    rendered = []

    def note(context: PageContext, theme: Theme, view: View) -> bytes:
        rendered.append(view.frame.path)
        return render_view(context, theme, view)

    world.do_head(1, {**world.heads["2024-02-01-e1"], "next": ["Bleed again"]})
    with monkeypatch.context() as patch:
        patch.setattr("buildlog.kept.makers.render_view", note)
        assert world.publish().published
    assert "entries/2024-02-01-e1.html" in rendered
    assert "entries/2024-01-01-e0.html" not in rendered
    assert world.compare() == ""


@pytest.mark.parametrize("foreseen", [True, False])
def test_what_may_have_to_be_made_is_kept_at_hand(foreseen: bool) -> None:
    """A page foreseen before anything else had to be made can be made afterwards; without one all is let go."""
    made: Any = mock.Mock(**{"remake.side_effect": str.encode})
    makers = LateMakers(lambda: made)
    later = makers.defer("costs.html") if foreseen else None
    assert makers.get() is made
    makers.let_go()
    assert made.let_go.called is not foreseen
    assert later is None or later() == b"costs.html"


def test_what_is_new_is_written_before_the_end(tmp_path: Path) -> None:
    """A long log's new values are not all held in memory: most are in the file before it is closed."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("buildlog.kept.store.MOST_HELD", 100)
        store = Store(tmp_path, b"")
        store.keep({b"a": b"x" * 90})
        assert Store(tmp_path, b"").find_one(b"a") is None
        store.keep({b"b": b"y" * 90})
        assert Store(tmp_path, b"").find_one(b"a") == b"x" * 90
        assert store.find_one(b"b") == b"y" * 90
        store.close()


def test_each_change_around_a_story_shows(world: World) -> None:
    """What stands in the search, on pages and in their heads goes and comes with what it was made of."""
    name = "2024-02-01-e1"
    head = world.heads[name]
    steps: list[Step] = [
        ("words", 1, "Back it went.\n\nOn it went.\n"),  # its first paragraph stands in the page's head as well
        ("head", 1, {**head, "title": "Gasket glued", "next": ["Bleed again"]}),
        ("head", 1, {**head, "title": "Second"}),  # words of the title are found no more
        ("theme", "entry.html", 3),  # the same values, and another template
        ("no_theme",),
        ("words", 1, "Back it went.\n\nSecond it went.\n"),
        ("words", 0, "Off it came.\n\nNothing is to be seen.\n"),  # its photo stands below it from now on
        ("rename", 0),  # as many entries, and other ones
        ("delete", 0),
    ]
    for step in steps:
        world.do(step)
        assert world.compare() == "", step


def test_a_part_is_found_by_the_name_that_another_entry_gives_it(world: World) -> None:
    """Words of an entry hang on names told elsewhere: the entry is as it was, and is found by other words."""
    line, head = {"part": "belt", "each": "9.00"}, world.heads["2024-02-01-e1"]
    order = {"from": "North", "ref": "B9", "paid": "2024-02-01", "arrived": "2024-02-01"}
    world.do_entry({"date": "2024-02-20", "title": "Third", "fitted": [{"part": "belt"}]}, "On.\n")
    for name in ("Fan", "Cooling"):
        world.do_head(1, {**head, "bought": [{**order, "lines": [{**line, "name": name}]}]})
        assert world.compare() == ""
        # Two entries say it: that which bought it, and that which fitted it.
        assert any(f"{name.lower()} 1,1" in told.decode() for path, told in world.read().items() if "words-" in path)
