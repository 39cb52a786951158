"""The one spelling of a file's name, as its accents can be written in two ways.

`é` is one character or two (NFC and NFD, Unicode Standard Annex 15); some disks hand back another one than was typed.
"""

from __future__ import annotations

import unicodedata


def compose(name: str) -> str:
    """A file's name or path in form NFC, as it stands in every record, whatever form the disk or the owner has."""
    return name if name.isascii() else unicodedata.normalize("NFC", name)
