"""Which program made something: its version, and a sum of its own files, as a checkout may be edited.

Pages are compared byte for byte only with those of the very same program: another one's may differ and be right.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import buildlog
from buildlog.site.theme import find_themes

DIGITS = 12
"Hexadecimal digits of the sum that are told: enough to tell programs apart, and no proof of anything."


@cache
def name_maker() -> str:
    """`0.1.0 (3f2a9c1b04de)`, as this program was when it was first asked."""
    return f"{buildlog.__version__} ({sum_program()[:DIGITS]})"


def sum_program() -> str:
    """The sum of this program's files as they lie on the disk: the same wherever the same files are installed."""
    total = hashlib.sha256()
    for name, path in sorted(_list_files()):
        total.update(f"{name}\0{hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return total.hexdigest()


def _list_files() -> Iterator[tuple[str, Path]]:
    """The package's files and the themes', wherever the themes stand."""
    package, themes = Path(buildlog.__file__).parent, find_themes()
    for path in package.rglob("*"):
        if _counts(path) and not path.is_relative_to(themes):
            yield f"buildlog/{path.relative_to(package).as_posix()}", path
    for path in themes.rglob("*"):
        if _counts(path):
            yield f"themes/{path.relative_to(themes).as_posix()}", path


def _counts(path: Path) -> bool:
    return path.is_file() and path.suffix != ".pyc" and not path.name.startswith(".")
