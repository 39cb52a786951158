"""Tests of leaving the search for cycles out of a command."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from buildlog import stages
from buildlog.cli import main
from buildlog.collector import without_collector


@pytest.fixture(autouse=True)
def thawed() -> Iterator[None]:
    """Other tests find the interpreter as it was."""
    yield
    gc.unfreeze()


def test_no_search_runs_inside_and_what_is_left_is_frozen() -> None:
    """Afterwards the search is on again, over new objects alone."""
    before = gc.get_freeze_count()
    with without_collector():
        assert not gc.isenabled()
    assert gc.isenabled()
    assert gc.get_freeze_count() > before


def test_the_search_is_on_again_after_a_failure() -> None:
    """A command that fails leaves nothing switched off behind it."""
    with pytest.raises(KeyError), without_collector():
        raise KeyError
    assert gc.isenabled()


def test_a_search_that_is_off_stays_off() -> None:
    """Who switched it off keeps the say."""
    gc.disable()
    try:
        with without_collector():
            assert not gc.isenabled()
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_publishing_runs_without_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From reading to writing; and its options stay the command's."""
    seen: list[bool] = []
    check = stages.check_log

    def check_log(*args: Any, **options: Any) -> Any:
        seen.append(gc.isenabled())
        return check(*args, **options)

    monkeypatch.setattr(stages, "check_log", check_log)
    assert CliRunner().invoke(main, ["start", str(tmp_path / "log"), "--as-of", "2024-05-18"]).exit_code == 0
    result = CliRunner().invoke(main, ["publish", str(tmp_path / "log"), "--as-of", "2024-05-18"])
    assert (result.exit_code, seen, gc.isenabled()) == (0, [False], True), result.output
