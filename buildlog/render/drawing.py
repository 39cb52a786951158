"""What drawings are made of: labels that have room, ticks, and SVG that keeps the size of its letters.

A drawing is as wide as its column: places across are percents of it, heights are in `em` of its own letters. So it is
stretched and never scaled, and words stay as large as the page's small type on every window. Words are placed twice,
for the narrowest column and for one of a desk; the theme shows `tight` ones on the one and `roomy` ones on the other.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from decimal import Decimal
from html import escape
from itertools import pairwise
from math import ceil, floor
from typing import Literal, NamedTuple

from buildlog.frozen import frozen
from buildlog.render.marks import change_owner_text, remove_marks
from buildlog.text import shorten

NARROW, WIDE = Decimal(21), Decimal(37)
"Widths in em for which words are placed: a window of 320 px, and the narrowest column that the theme calls wide."
ASCENT, DESCENT = Decimal("1.0"), Decimal("0.4")
"Parts of the size above and below the base line that a browser gives to the tallest of the usual fonts and of ours."
GAP = Decimal("0.35")
"Em between two labels beside each other, at least."
LINE = Decimal("1.4")
"Em from one line of words to the next: both parts of a letter's height, which browsers take in whole pixels."

Anchor = Literal["start", "middle", "end"]
BEFORE: dict[Anchor, Decimal] = {"start": Decimal(0), "middle": Decimal("0.5"), "end": Decimal(1)}
"Part of a label that stands left of its place."


class Box(NamedTuple):
    """Some room, in em."""

    left: Decimal
    "the smaller x"
    top: Decimal
    "the smaller y: y grows downwards"
    right: Decimal
    "the greater x"
    bottom: Decimal
    "the greater y"


@frozen
class Label:
    """Words at a place."""

    kind: str
    "class, by which the theme sets it"
    x: Decimal
    "of the anchor, in percent of the drawing's width"
    y: Decimal
    "of the base line, in em"
    text: str
    "as shown; may hold the marks around an owner's words, which take no room"
    anchor: Anchor = "start"
    "which part of the text stands at `x`, as SVG's `text-anchor` names it"
    aside: Decimal = Decimal(0)
    "em by which it stands right of `x`"

    def box(self, width: Decimal) -> Box:
        """The room that it takes at most in a drawing of this width."""
        own = measure_text(self.text) * (Decimal("1.12") if self.kind == "total" else 1)
        left = self.x * width / 100 + self.aside - own * BEFORE[self.anchor]
        return Box(left, self.y - ASCENT, left + own, self.y + DESCENT)


@frozen
class Wanted:
    """Words that should stand in a drawing, and what is drawn only where they do."""

    key: Hashable
    "the same for the same thing on every width"
    places: tuple[Label, ...]
    "where they may stand, the best first"
    shapes: tuple[str, ...] = ()
    'SVG elements without their end, each with its class last: `<circle cx=… class="dot`'
    foot: Decimal | None = None
    "the height of what is named, to which a stem is drawn from the words; None: no stem"


def measure_text(text: str) -> Decimal:
    """How wide a text is at most, in em."""
    # An estimate, since only the browser knows which font the reader has.
    return Decimal(sum(map(_measure_letter, remove_marks(text)))) / 100


def _measure_letter(letter: str) -> int:
    """Hundredths of the size, by the wider ones of the usual fonts without serifs."""
    # Better too wide: a label that is left out is hardly missed, two printed over each other cannot be read.
    if unicodedata.east_asian_width(letter) in "WF":
        return 105
    if letter in "ijl.,:;'|!’":
        return 36
    if letter in "mwMW%@—…":
        return 105
    if letter.isspace() or letter in "frt()-":
        return 46
    return 80 if letter.isupper() else 66 if letter.isascii() or letter.islower() else 80


def cut_text(text: str, most: Decimal) -> str:
    """A text, or its first words and an ellipsis, so that it is no wider than so many em."""
    if measure_text(text) <= most:
        return text

    def cut(plain: str) -> str:
        fitting = (short for n in range(len(plain), 1, -1) if measure_text(short := shorten(plain, n)) <= most)
        return next(fitting, "…")

    return change_owner_text(text, cut)


def place_labels(
    wanted: Iterable[Wanted], *, width: Decimal, height: Decimal, placed: Iterable[Label] = ()
) -> dict[Hashable, Label]:
    """Each label at the first of its places that is free and on the paper; one without such a place is left out.

    Who comes first is placed first. `placed` are there already. A stem is kept out of the words of others with a stem.
    """
    # Nothing that is placed is moved again. A search for the best places of all might fit one more, at no use.
    taken = [label.box(width) for label in placed]
    flags: list[Box] = []
    stems: list[Box] = []
    found: dict[Hashable, Label] = {}
    for one in wanted:
        for label in one.places:
            box = label.box(width)
            stem = _stem_box(label, one.foot, width)
            free = _fits(box, taken, width, height) and not any(_cross(other, box) for other in stems)
            if free and not (stem and any(_cross(stem, other) for other in flags)):
                found[one.key] = label
                taken.append(box)
                if stem:
                    flags.append(box)
                    stems.append(stem)
                break
    return found


def _stem_box(label: Label, foot: Decimal | None, width: Decimal) -> Box | None:
    if foot is None:
        return None
    x = label.x * width / 100
    return Box(x, min(label.y, foot), x, max(label.y, foot))


def _cross(stem: Box, other: Box) -> bool:
    return other.left < stem.left < other.right and stem.top < other.bottom and other.top < stem.bottom


def _touch(one: Box, other: Box) -> bool:
    # No gap is asked for above and below, where ascent and descent leave some.
    beside = one.left < other.right + GAP and other.left < one.right + GAP
    return beside and one.top < other.bottom and other.top < one.bottom


def _fits(box: Box, taken: Iterable[Box], width: Decimal, height: Decimal) -> bool:
    on_paper = box.left >= 0 and box.top >= 0 and box.right <= width and box.bottom <= height
    return on_paper and not any(_touch(box, other) for other in taken)


Track = Sequence[tuple[Decimal, Decimal]]
"A drawn line: its corners, each in percent across and in em down."


def clear_first(places: Iterable[Label], tracks: Sequence[Track], width: Decimal) -> tuple[Label, ...]:
    """Places of a label in their order, those first through which no line runs."""
    return tuple(sorted(places, key=lambda label: is_crossed(label, tracks, width)))


def is_crossed(label: Label, tracks: Iterable[Track], width: Decimal) -> bool:
    """Whether a line runs through the room of a label."""
    box = label.box(width)
    lines = ([(x * width / 100, y) for x, y in track] for track in tracks)
    return any(_runs_through(box, *ends) for line in lines for ends in pairwise(line))


def _runs_through(box: Box, one: tuple[Decimal, Decimal], other: tuple[Decimal, Decimal]) -> bool:
    (x1, y1), (x2, y2) = sorted((one, other))
    left, right = max(x1, box.left), min(x2, box.right)
    if left > right:
        return False
    # Upright lines have all of their heights at one place.
    heights = [y1 + (y2 - y1) * (x - x1) / (x2 - x1) for x in (left, right)] if x2 > x1 else [y1, y2]
    return min(heights) < box.bottom and max(heights) > box.top


def name_levels(
    levels: Sequence[Decimal],
    up: Callable[[Decimal], Decimal],
    write: Callable[[Decimal], str],
    tracks: Sequence[Track],
    width: Decimal,
) -> Iterator[Wanted]:
    """The amounts of level lines: above theirs and at the left, or wherever no line runs through them."""

    def list_places(amount: Decimal, side: Decimal) -> list[Label]:
        # Below the lowest line are the days: it stands at the right there, away from the next one's.
        lowest, ends = amount == levels[0], LEVEL_ENDS
        y = up(amount) + (ABOVE if lowest else side)
        ends = ends[::-1] if lowest and side != ABOVE else ends
        return [Label(kind="amount", x=x, y=y, text=write(amount), anchor=anchor) for x, anchor in ends]

    # All above or all below: else one below its line would be read as that of the next, which stands above its own.
    def count_crossed(side: Decimal) -> int:
        return sum(all(is_crossed(one, tracks, width) for one in list_places(amount, side)) for amount in levels)

    side = min((ABOVE, BELOW), key=count_crossed)
    for amount in levels:
        places = list_places(amount, side)
        yield Wanted(key=("level", amount), places=clear_first(places, tracks, width))


ABOVE, BELOW = Decimal("-0.35"), Decimal("1.05")
"Em from a level line to the base line of its amount."
LEVEL_ENDS: tuple[tuple[Decimal, Anchor], ...] = ((Decimal(0), "start"), (Decimal(100), "end"))
"Where the amount of a level line may stand across."


def write_words(
    narrow: Sequence[Wanted], wide: Sequence[Wanted], *, height: Decimal, widest: Decimal = WIDE
) -> tuple[list[str], list[str]]:
    """Shapes and words of what has room, on a narrow column and on a wide one; what is the same on both stands once."""
    on_narrow = place_labels(narrow, width=NARROW, height=height)
    on_wide = place_labels(wide, width=widest, height=height)
    things = {one.key: one for one in (*narrow, *wide)}
    shapes: list[str] = []
    words: list[str] = []
    for key, one in things.items():
        tight, roomy = on_narrow.get(key), on_wide.get(key)
        ways = [("", tight)] if tight == roomy else [(" tight", tight), (" roomy", roomy)]
        words += [write_label(label, way) for way, label in ways if label]
        shown = {(True, True): "", (True, False): " tight", (False, True): " roomy"}.get((bool(tight), bool(roomy)))
        if shown is not None:
            shapes += [f'{shape}{shown}"/>' for shape in one.shapes]
        if one.foot is not None:
            shapes += [_write_stem(label, one.foot, way) for way, label in ways if label]
    return shapes, words


def _write_stem(label: Label, foot: Decimal, way: str) -> str:
    ends = (label.y + DESCENT, foot) if label.y < foot else (foot, label.y - ASCENT)
    return rule("stem" + way, x=label.x, top=ends[0], bottom=ends[1])


def write_label(label: Label, way: str = "") -> str:
    """The label in SVG."""
    anchor = "" if label.anchor == "start" else f' text-anchor="{label.anchor}"'
    aside = f' dx="{em(label.aside)}"' if label.aside else ""
    where = f'x="{percent(label.x)}" y="{em(label.y)}"{aside}'
    # The stroke lies behind the letters, where a theme sets one: the ground, so that no line runs through them.
    return f'<text class="{label.kind}{way}" paint-order="stroke" {where}{anchor}>{escape(label.text)}</text>'


def show_place(value: Decimal, digits: int = 1) -> str:
    """A coordinate without needless zeros."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(value: Decimal) -> str:
    """A place across."""
    return f"{show_place(value, 2)}%"


def em(value: Decimal) -> str:
    """A height, or a distance in the size of the letters."""
    return f"{show_place(value, 2)}em"


def rule(kind: str, *, x: Decimal, top: Decimal, bottom: Decimal) -> str:
    """An upright line."""
    at = percent(x)
    return f'<line class="{kind}" x1="{at}" y1="{em(top)}" x2="{at}" y2="{em(bottom)}"/>'


def level(kind: str, y: Decimal) -> str:
    """A line across all of it."""
    return f'<line class="{kind}" x1="0" y1="{em(y)}" x2="100%" y2="{em(y)}"/>'


def stretch(inside: Iterable[str], *, top: Decimal, height: Decimal) -> str:
    """Paths in a thousand units each way, stretched over the whole width at a height."""
    # Strokes would be stretched as well, thick one way and thin the other.
    paths = "".join(inside).replace("<path ", '<path vector-effect="non-scaling-stroke" ')
    return (
        f'<svg y="{em(top)}" width="100%" height="{em(height)}" viewBox="0 0 1000 1000" preserveAspectRatio="none"'
        f' overflow="visible">{paths}</svg>'
    )


def wrap(kind: str, parts: Iterable[str], *, height: Decimal, title: str, description: str, key: str) -> str:
    """The whole drawing, with its name and what it shows for those who do not see it."""
    role = f'role="img" aria-labelledby="{key}-title {key}-words"'
    named = (f'<title id="{key}-title">{escape(title)}</title>', f'<desc id="{key}-words">{escape(description)}</desc>')
    return _put_together(kind, role, (*named, *parts), height)


def wrap_unnamed(kind: str, parts: Iterable[str], *, height: Decimal) -> str:
    """A drawing that is part of another, which has the name."""
    return _put_together(kind, 'aria-hidden="true" focusable="false"', parts, height)


def _put_together(kind: str, role: str, parts: Iterable[str], height: Decimal) -> str:
    head = f'<svg class="{kind}" width="100%" height="{em(height)}" {role} xmlns="http://www.w3.org/2000/svg">'
    return "\n".join((head, *parts, "</svg>"))


def lean(x: Decimal) -> Anchor:
    """How words below a tick are anchored, so that those at the ends stay on the paper."""
    return "start" if x < 4 else "end" if x > 96 else "middle"


def choose_step(span: Decimal, most: int) -> Decimal:
    """The smallest of 1, 2, 5, 10, 20, 50 … (and 0.5, 0.2, 0.1 …) of which at most `most` steps cover the span."""
    if span <= 0:
        return Decimal(1)
    # The power of ten at or below the step that is wanted, so that one of the four factors always fits.
    power = Decimal(1).scaleb((span / most).adjusted())
    return next(power * n for n in (1, 2, 5, 10) if power * n * most >= span)


def choose_levels(low: Decimal, high: Decimal, most: int) -> tuple[Decimal, ...]:
    """Round level lines from at or below the least to at or above the greatest, two or more."""
    step = choose_step(high - low, most)
    first, last = floor(low / step), ceil(high / step)
    # At least two lines: values that are all the same span nothing, and heights are divided by the span.
    return tuple(step * n for n in range(first, max(last, first + 1) + 1))


def thin(make: Callable[[int], Sequence[Wanted]], *, width: Decimal, height: Decimal, most: int) -> Sequence[Wanted]:
    """The most of so many ticks that all have their words on this width; none where not even one has.

    `make` gives the ticks for a number of steps; each of them is drawn only with its words.
    """
    for steps in range(most, 0, -1):
        ticks = make(steps)
        if len(place_labels(ticks, width=width, height=height)) == len(ticks):
            return ticks
    return ()
