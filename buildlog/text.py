"""When do two texts of the owner's name the same thing?"""

from __future__ import annotations


def fold_words(text: str) -> str:
    """A text as it is compared with another: capitals and runs of blanks make no difference."""
    return " ".join(text.casefold().split())
