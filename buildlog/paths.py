"""Names of files: the one spelling in which they are compared, and short ones that do on every system.

`é` is one character or two (NFC and NFD, Unicode Standard Annex 15); some disks hand back another one than was typed.
"""

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


def compose(name: str) -> str:
    """A file's name or path in form NFC, as it stands in every record, whatever form the disk or the owner has."""
    return name if name.isascii() else unicodedata.normalize("NFC", name)
