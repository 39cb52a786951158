"""Whether what is built and installed is all that a user needs, far from the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from buildlog import __version__

TOP = Path(__file__).parent.parent.parent

pytestmark = [pytest.mark.packaging, pytest.mark.xdist_group("packaging")]


def run(*command: str | Path, cwd: Path) -> str:
    """What a command prints, run without anything that would let it find the checkout."""
    clean = {name: value for name, value in os.environ.items() if name not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(
        [str(part) for part in command], cwd=cwd, env=clean, capture_output=True, text=True, check=False, timeout=600
    )
    assert done.returncode == 0, f"{command} ended with {done.returncode}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the source archive, and the wheel that was built from that archive alone."""
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", out, TOP, cwd=out)
    return out


@pytest.fixture(scope="module")
def installed(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The `bin` folder of a fresh environment that holds the wheel and what it depends on."""
    top = tmp_path_factory.mktemp("fresh")
    run(sys.executable, "-m", "venv", top / "env", cwd=top)
    scripts = top / "env" / "bin"
    (wheel,) = built.glob("*.whl")
    run(scripts / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check", wheel, cwd=top)
    return scripts


def test_the_wheel_carries_the_themes(built: Path) -> None:
    """Every file of `themes/` is in the wheel below `buildlog/themes/`, and nothing but the package is beside it."""
    (wheel,) = built.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    themes = [path.relative_to(TOP) for path in (TOP / "themes").rglob("*") if path.is_file()]
    themes = [path for path in themes if "__pycache__" not in path.parts]  # what templates were compiled to here
    assert themes
    assert [str(path) for path in themes if f"buildlog/{path.as_posix()}" not in names] == []
    assert {name.split("/")[0] for name in names} == {"buildlog", f"buildlog-{__version__}.dist-info"}


def test_the_wheel_carries_the_guide(built: Path) -> None:
    """Its pages, and the pictures that they show."""
    (wheel,) = built.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    guide = [path.relative_to(TOP).as_posix() for path in (TOP / "buildlog/guide").rglob("*") if path.is_file()]
    assert {Path(path).suffix for path in guide} == {".md", ".png"}
    assert [path for path in guide if path not in names] == []


def test_the_archive_carries_the_licence_and_the_tests(built: Path) -> None:
    """Whoever has the source archive can read the licence, build the package and run its tests."""
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        names = {name.split("/", 1)[1] for name in tar.getnames()}
    assert {"LICENSE", "README.md", "pyproject.toml", "tests/run", "tests/test_house.py"} <= names
    assert not {name for name in names if name.startswith((".venv", ".git/", "build/"))}


def test_an_installed_copy_starts_and_publishes_a_log(installed: Path, tmp_path: Path) -> None:
    """In an empty folder: the help is shown, a log is started, and its site is published with the carried themes."""
    where = run(installed / "python", "-c", "import buildlog; print(buildlog.__file__)", cwd=tmp_path)
    assert Path(where.strip()).is_relative_to(installed.parent)
    assert run(installed / "buildlog", "--version", cwd=tmp_path) == f"buildlog {__version__}\n"
    assert "publish" in run(installed / "buildlog", "--help", cwd=tmp_path)
    run(installed / "buildlog", "start", "my-machine", cwd=tmp_path)
    run(installed / "buildlog", "publish", "my-machine", cwd=tmp_path)
    site = tmp_path / "my-machine" / "site"
    assert (site / "index.html").is_file()
    assert list(site.rglob("*.css"))
