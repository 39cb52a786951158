"""What photos are called: short names that work on every system and in every address."""

from __future__ import annotations

import posixpath
import re
import unicodedata
from collections.abc import Iterable


def name_photos(files: Iterable[str]) -> dict[str, str]:
    """A stem for each file of one folder, none twice: small letters, digits and dashes.

    Files whose stems would be the same are numbered in the order of their names: it depends on nothing else.
    """
    stems: dict[str, str] = {}
    taken: set[str] = set()
    for file in sorted(files):
        plain = simplify_stem(file)
        stem, number = plain, 1
        while stem in taken:
            number += 1
            stem = f"{plain}-{number}"
        taken.add(stem)
        stems[file] = stem
    return stems


def simplify_stem(file: str, *, longest: int = 80) -> str:
    """The stem of a file's name in small letters, digits and dashes; `photo` where it holds none."""
    stem = posixpath.splitext(posixpath.basename(file))[0]
    if not stem.isascii():
        stem = unicodedata.normalize("NFKD", stem).encode("ascii", "ignore").decode()
    return "-".join(re.findall("[a-z0-9]+", stem.lower()))[:longest].rstrip("-") or "photo"
