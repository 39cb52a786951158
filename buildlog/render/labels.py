"""Where the words of a drawing stand: none over another, none off the paper.

A drawing is scaled with its page, and its words are set larger in it where it is small. They are placed for the largest
size that the theme sets, and so have room at every other.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from html import escape
from typing import Literal, NamedTuple

from buildlog.frozen import frozen
from buildlog.render.language import remove_marks

SIZE = 26
"Units of the letters on the narrowest phone; the theme sets none larger."
ASCENT, DESCENT = Decimal("0.95"), Decimal("0.25")
"Parts of the size above and below the base line, with accents, in the tallest of the usual fonts."
GAP = 3
"Units between two labels, at least."

Anchor = Literal["start", "middle", "end"]
BEFORE: dict[Anchor, Decimal] = {"start": Decimal(0), "middle": Decimal("0.5"), "end": Decimal(1)}
"Part of a label that stands left of its place."


class Box(NamedTuple):
    """The room of a label, in units of the drawing."""

    left: Decimal
    top: Decimal
    right: Decimal
    bottom: Decimal


@frozen
class Label:
    """Words at a place."""

    kind: str
    "class, by which the theme sets it"
    x: Decimal
    "of the anchor"
    y: Decimal
    "of the base line"
    text: str
    anchor: Anchor = "start"

    @property
    def box(self) -> Box:
        """The room that it takes at most."""
        width = measure_text(self.text)
        left = self.x - width * BEFORE[self.anchor]
        return Box(left, self.y - ASCENT * SIZE, left + width, self.y + DESCENT * SIZE)


def measure_text(text: str) -> Decimal:
    """How wide a text is at most, in units."""
    return Decimal(sum(map(_measure_letter, remove_marks(text)))) * SIZE / 100


def _measure_letter(letter: str) -> int:
    """Hundredths of the size, by the wider ones of the usual fonts without serifs."""
    if unicodedata.east_asian_width(letter) in "WF":
        return 105
    if letter in "ijl.,:;'|!’":
        return 36
    if letter in "mwMW%@—…":
        return 105
    if letter.isspace() or letter in "frt()-":
        return 46
    return 80 if letter.isupper() else 66 if letter.isascii() or letter.islower() else 80


def place_labels(
    wanted: Iterable[Sequence[Label]], *, width: int, height: int, placed: Iterable[Label] = ()
) -> Iterator[Label]:
    """Each label at the first of its places that is free and on the paper; one without such a place is left out.

    Who comes first is placed first. `placed` are there already.
    """
    taken = [label.box for label in placed]
    for places in wanted:
        free = (place for place in places if _fits(place.box, taken, width, height))
        if label := next(free, None):
            taken.append(label.box)
            yield label


def _fits(box: Box, taken: Iterable[Box], width: int, height: int) -> bool:
    on_paper = box.left >= 0 and box.top >= 0 and box.right <= width and box.bottom <= height
    return on_paper and not any(
        box.left < other.right + GAP
        and other.left < box.right + GAP
        and box.top < other.bottom
        and other.top < box.bottom
        for other in taken
    )


def write_label(label: Label) -> str:
    """The label in SVG."""
    anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
    where = f'x="{show_place(label.x)}" y="{show_place(label.y)}"'
    # The stroke lies behind the letters, where a theme sets one: the ground, so that no line runs through them.
    return f'<text class="{label.kind}" paint-order="stroke" {where}{anchor}>{escape(label.text)}</text>'


def show_place(value: Decimal) -> str:
    """A coordinate to a tenth of a unit, without needless zeros."""
    return f"{value:.1f}".removesuffix(".0")
