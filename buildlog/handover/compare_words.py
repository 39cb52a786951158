"""What two versions of one page say: their words compared, where their bytes need not be the same.

Another version of the program may write other markup; it makes no other figures of the same entries. So the words are
what a reader has to know of, and where they first differ.
"""

from __future__ import annotations

from html.parser import HTMLParser
from itertools import zip_longest

SHOWN = 60
"Characters of what differs that are told."
UNSEEN = frozenset({"script", "style"})


def find_other_words(here: bytes, made: bytes) -> str:
    """Where a page that is here says something else than the one that was made; empty where they say the same."""
    left, right = (list_words(page) for page in (here, made))
    for at, (one, other) in enumerate(zip_longest(left, right, fillvalue="")):
        if one != other:
            said, wanted = (" ".join(words[at : at + 4])[:SHOWN] for words in (left, right))
            return (
                f"`{said or 'nothing more'}` where this program says `{wanted or 'nothing more'}` of the same entries"
            )
    return ""


def list_words(page: bytes) -> list[str]:
    """The words that a page shows or reads out, in order."""
    reader = _Reader()
    reader.feed(page.decode("utf-8", "replace"))
    reader.close()
    return " ".join(reader.texts).split()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._unseen = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Which picture it is, and what is read out in its place, are words too."""
        self._unseen += tag in UNSEEN
        told = ("alt", "aria-label", "src") if tag == "img" else ("alt", "aria-label")
        self.texts += [value for name, value in attrs if name in told and value]

    def handle_endtag(self, tag: str) -> None:
        """Behind a script there are words again."""
        self._unseen -= tag in UNSEEN

    def handle_data(self, data: str) -> None:
        """Words between tags."""
        if self._unseen <= 0:
            self.texts.append(data)
