"""Whether questions are answered from what is kept as they are from scratch, and computed only when they have to be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from buildlog.cli import main
from buildlog.compute import figures as figures_module
from buildlog.kept import store as store_module
from tests.preview.logs import DAY, ENTRIES, make_log

QUESTIONS = (
    ("costs",), ("costs", "--json"), ("costs", "--csv"), ("parts",), ("parts", "--find", "pump"), ("due",),
    ("due", "--ics"), ("faults",), ("next",), ("check",),
)  # fmt: skip


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(store_module, "find_program", lambda: b"program")
    return make_log(tmp_path / "log")


def ask(log: Path, *more: str) -> dict[str, tuple[int, str, str]]:
    """Every answer: its exit code, what it said and what it said beside."""
    told = {}
    for question in QUESTIONS:
        result = CliRunner().invoke(main, [*question, str(log), "--as-of", str(DAY), *more])
        told[" ".join(question)] = (result.exit_code, result.stdout, result.stderr)
    result = CliRunner().invoke(main, ["apart", "--log", str(log), "--as-of", str(DAY), *more])
    return told | {"apart": (result.exit_code, result.stdout, result.stderr)}


def swap(name: str, old: str, new: str) -> Callable[[Path], object]:
    def edit(log: Path) -> None:
        path = log / name
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")

    return edit


PUMP, FITTED, BRAKES = (f"entries/{name}.md" for name in ENTRIES)


def test_answers_follow_every_edit(log: Path) -> None:
    """Words, a price, a mistake and its end, a title in the words, settings; and again with nothing changed."""
    edits = (
        swap(BRAKES, "New pipes", "Old pipes"),
        swap(PUMP, "61.00", "62.50"),
        swap(PUMP, "hours: 2", "hours: x"),
        swap(PUMP, "hours: x", "hours: 2"),
        swap(BRAKES, "Old", "![](none.jpg) Old"),
        swap(FITTED, "title: Fitted\n", ""),
        swap(FITTED, "---\nSee", "---\n# Fitted at last\n\nSee"),
        swap("log.yaml", "currency: GBP", "currency: EUR"),
        lambda log: (log / BRAKES).unlink(),
    )
    seen = [ask(log)]
    for edit in (lambda log: None, *edits):
        edit(log)
        anew = ask(log, "--from-scratch")
        assert ask(log) == ask(log) == anew
        seen.append(anew)
    assert seen[0] == seen[1] == seen[2]
    assert len({str(one) for one in seen}) > 6, "edits without effect prove nothing"


def test_words_cost_no_figure(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After an edit of words alone nothing is computed again."""
    before = ask(log)

    def refuse(*_: object) -> None:
        raise AssertionError("computed twice")

    monkeypatch.setattr(figures_module, "compute_figures", refuse)
    swap(BRAKES, "New pipes", "Old pipes")(log)
    after = ask(log)
    # A calendar is not kept.
    assert [name for name in before if after[name] != before[name]] == ["due --ics"]
    swap(PUMP, "61.00", "62.50")(log)
    result = CliRunner().invoke(main, ["costs", str(log), "--as-of", str(DAY)])
    assert str(result.exception) == "computed twice"


def test_a_strangers_bag_is_judged_without_what_is_kept(log: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither packing nor `verify` opens the file, in whatever process."""
    from buildlog.kept.store import Store, find_kept

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("opened")

    assert CliRunner().invoke(main, ["seal", str(log), "--as-of", str(DAY)]).exit_code == 0
    for name in ("find", "keep", "_open"):
        monkeypatch.setattr(Store, name, refuse)
    bag = log.parent / "bag.zip"
    packed = CliRunner().invoke(main, ["handover", str(log), "--out", str(bag), "--as-of", str(DAY)])
    assert (packed.exit_code, packed.exception) == (0, None)
    assert CliRunner().invoke(main, ["verify", str(bag)]).exit_code in (0, 4)
    assert not find_kept().exists()
