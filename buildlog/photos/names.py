"""What the copy of a photo is called in the log: a short name that works on every system."""

from __future__ import annotations

import posixpath
import re
import unicodedata


def simplify_stem(file: str, *, longest: int) -> str:
    """The stem of a file's name in small letters, digits and dashes; `photo` where it holds none."""
    stem = posixpath.splitext(posixpath.basename(file))[0]
    if not stem.isascii():
        stem = unicodedata.normalize("NFKD", stem).encode("ascii", "ignore").decode()
    return "-".join(re.findall("[a-z0-9]+", stem.lower()))[:longest].rstrip("-") or "photo"
