"""Which program made a bag: the same files anywhere are the same program, and one edited byte makes another."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

import buildlog
from buildlog.handover import handed_log as maker
from buildlog.handover.handed_log import hash_program, name_maker
from buildlog.render.theme import find_themes


def test_the_name_is_version_and_sum() -> None:
    """`0.1.0 (3f2a9c1b04de)`."""
    assert re.fullmatch(rf"{re.escape(buildlog.__version__)} \([0-9a-f]{{12}}\)", name_maker())


def test_an_installed_copy_is_the_same_program(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a wheel the themes lie inside the package, in a checkout beside it; then a style sheet is edited."""
    before = hash_program()
    copy = shutil.copytree(Path(buildlog.__file__).parent, tmp_path / "buildlog")
    shutil.copytree(find_themes(), copy / "themes")
    monkeypatch.setattr(buildlog, "__file__", str(copy / "__init__.py"))
    monkeypatch.setattr(maker, "find_themes", lambda: copy / "themes")
    assert hash_program() == before
    with open(copy / "themes/margin/margin.css", "a") as file:
        file.write("\n")
    assert hash_program() != before
