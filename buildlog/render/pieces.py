"""The small values that pages are made of: dates, links, photos, sums that open to their lines.

Every text is finished: formatted in the site's language, plain text (templates escape it). A field that holds HTML or
SVG says so. An empty string or tuple means "nothing to show". Each page has its own in `pages`.

Addresses (`href`) count from the top of the site, as in `entries/2024-05-18-lift-pump.html#cost`; templates put `root`
before them. Only `PhotoView` is different, and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from buildlog.frozen import frozen

Prices = Literal["shown", "totals", "hidden"]
"what of the money is public: every line; sums only; nothing"

State = Literal["overdue", "due", "later", "unknown"]
"state of a service item; `unknown` is never shown as fine"

FaultMark = Literal["open", "narrowed", "known", "unproved", "proved"]
"state of a fault; only `proved` is closed"

Level = Literal["paper", "pictures", "stated", "handed"]
"how a claim is backed: on paper, in pictures, stated by the entry only, handed down by an earlier owner"


Shape = Literal["", "upright", "panorama", "small"]
"of a photo: it fills a page's width; higher than wide; wider than three times its height; too few pixels for it"


@frozen
class When:
    """A day, month or year."""

    iso: str
    "value for `<time datetime>`: `2024-05-18`, `2024-05` or `2024`"
    text: str
    "`18 May 2024`"


@frozen
class Link:
    """Words that lead somewhere."""

    text: str
    "as shown"
    # Never with a scheme and host: the same site works from a folder on a disk and below any path of a host.
    href: str = ""
    "from the top of the site; empty: the words stand alone"


_HELD = "\ufdd2"
"A noncharacter, which no text can hold (The Unicode Standard, section 23.7)."


def hold(name: str) -> str:
    """Goes into a place of a text where links are to stand, see `fill`."""
    return f"{_HELD}{name}{_HELD}"


def fill(text: str, **links: Iterable[Link]) -> Iterator[Link]:
    """The pieces of a text, with links where it holds a place for them by their name."""
    # A whole sentence is translated, and only then cut: in another language the links may stand in another order.
    for at, piece in enumerate(text.split(_HELD)):
        if at % 2:
            yield from links[piece]
        elif piece:
            yield Link(text=piece)


@frozen
class Fact:
    """A named value."""

    name: str
    "`Frame number`"
    value: str
    "`•••••••••••112480`"
    # Kept apart from the value: a theme can set it small, and whoever copies the number gets the number alone.
    note: str = ""
    "a short sentence about the value: `masked`, `check digit agrees`"


@frozen
class Source:
    """One modern format of a photo."""

    type: str
    "media type: `image/webp`"
    srcset: str
    "`../photos/…-640.webp 640w, …`, relative to the page"


@frozen
class PhotoView:
    """One published photo; `sizes` is missing because only the theme knows how wide it shows it.

    All addresses are relative to the page that shows it, as `srcset` cannot be prefixed: make one for each page. A
    picture inside a story is `story_photo.html`, rendered with `photo` (this) and `alt` (the story's words, or empty).
    """

    src: str
    "JPEG of a middling width"
    srcset: str
    "the JPEG's widths"
    # A browser takes the first that it can read, and falls back to `src`, which every one can.
    sources: tuple[Source, ...] = ()
    "better formats, the best first"
    # Known before the picture comes: nothing on the page moves when it does.
    width: int
    "pixels of the widest variant; with `height` it gives the browser the shape"
    height: int
    "pixels"
    alt: str
    "what it shows; empty when the owner wrote nothing"
    caption: str = ""
    "the words under it; empty: none"
    full: str = ""
    "the widest variant, to open by itself"
    tone: str = ""
    "class of the colour that stands there until the picture has come, see `tones`"
    # A picture is never shown larger than it is, and a theme may not cut off most of one: both need to know.
    shape: Shape = ""
    "what keeps it from filling a page's width"


@frozen
class PairView:
    """What was, and what became of it, side by side."""

    before: PhotoView
    "as it was"
    after: PhotoView
    "the same afterwards"
    before_in: Link | None = None
    "the entry that has it, where that is another than the page's"
    after_in: Link | None = None
    "the entry that has it, where that is another than the page's"


@frozen
class Evidence:
    """How a claim is backed."""

    level: Level
    "chooses the letter and the words"
    # A letter, not a colour: it survives print and a reader's own colours.
    letter: str
    "`P`: what stands for the level where there is no room for words; the legend explains it"
    text: str
    "`on paper`, in the site's words"
    href: str = ""
    "a published paper, or the entry's photo"


@frozen
class CostLine:
    """One line behind a sum."""

    when: When
    "the day on which the money moved, or was promised"
    what: str
    "`Lift pump`"
    supplier: str = ""
    "empty when hidden"
    entry: Link
    "the entry that states it"
    amount: str
    "`£190.30`; below zero with a true minus sign"


@frozen
class Sum:
    """A named amount that opens to the lines it is made of."""

    name: str
    "`Spent`, a system, a supplier"
    amount: str
    "`£1,234.50`, or hours"
    note: str = ""
    "`3 orders`, `before 9 refunds`"
    href: str = ""
    "where the name leads"
    is_total: bool = False
    "drawn under a rule"
    key: str = ""
    "its anchor, where it has one"
    bar: str = ""
    "how much it is beside the others of its list: SVG, already safe; empty: not drawn"
    parts: tuple[Sum, ...] = ()
    "the sums that it is made of, where its lines are on pages of their own; each leads to its lines"
    # Right behind the sum, so that whoever doubts it can add them up.
    lines: tuple[CostLine, ...] = ()
    "empty unless prices are shown"


@frozen
class SumTable:
    """One way of splitting the same money."""

    key: str
    "anchor: `by-system`"
    title: str
    "`By system`"
    rows: tuple[Sum, ...]
    "empty: `empty` is shown"
    total: Sum | None = None
    "None: there is no row"
    empty: str = ""
    "the sentence to show when there is no row"


@frozen
class Margin:
    """The figures in the margin beside an entry."""

    when: When
    "the entry's day"
    reading: str = ""
    "`112,530 mi`"
    hours: str = ""
    "own hours of this entry: `4.5 h`"
    cost: str = ""
    "cash of this entry; empty when there was none or money is hidden"
    # The cost is the entry's, whenever it was paid; the running total goes by the calendar. Without this day the two
    # would seem to contradict each other where an order was paid later.
    cost_by: str = ""
    "the day by which that was paid or came back, where it is after the entry's: `12 June 2024`"
    running: str = ""
    "net of all entries by the entry's own day; empty when money is hidden"


@frozen
class EntryCard:
    """An entry as lists show it."""

    name: str
    "file stem; anchor in lists"
    title: str
    "as the owner wrote it"
    href: str
    "its page"
    margin: Margin
    "its figures"
    lead: str = ""
    "first paragraph as plain text"
    photo: PhotoView | None = None
    "the first that the entry lists; None: none, or the list shows no photos"
    systems: tuple[Link, ...] = ()
    "names of systems, leading to `systems/KEY.html`"
    # Names may be any text; these stand in one attribute, with blanks between them.
    system_keys: tuple[str, ...] = ()
    "short names of the same, for the filter; made of letters, digits and `-`"
    milestone: str = ""
    "`First start`"


@frozen
class Milestone:
    """Something reached."""

    when: When
    "the entry's day"
    text: str
    "in the owner's words"
    href: str
    "the entry's page"
    reading: str = ""
    "of the meter that day; empty: not noted"


@frozen
class PostRow:
    """Something ordered that has not arrived."""

    what: Link
    "leads to the part, or to the entry"
    qty: str = ""
    "`2`, `5 m`"
    supplier: str = ""
    "empty when hidden"
    ref: str = ""
    "order number; empty: none, or suppliers are hidden"
    ordered: When
    "the day it was ordered"
    waiting: str
    "`23 days`, as of the site's date"
    amount: str = ""
    "landed so far as known; empty unless prices are shown"
    # Shown only where it is False: most of what is in the post has been paid for.
    paid: bool = True
    "False: committed, not spent"


@frozen
class DueRow:
    """One service item, or one fastener to be checked again, and when it is due."""

    item: Link
    "leads to `service.html#item-KEY`, or to the entry that asks for the recheck"
    state: State
    "chooses the mark"
    state_text: str
    "`overdue by 41 days`, `due within 26 days`, `history unknown`"
    when: When | None = None
    "the day it falls due"
    reading: str = ""
    "the reading at which it falls due: `124,530 mi`"
    # Kept apart from the limit, which is a fact of the plan; this is an estimate from how the machine is used.
    forecast: str = ""
    "`about March 2025 at 14 mi a day`; empty: no forecast"


@frozen
class TemporaryRow:
    """Something fitted only for now."""

    what: str
    "in the owner's words"
    until: str = ""
    "what it waits for"
    since: When
    "the day it was fitted"
    entry: Link
    "the entry that fitted it"
    age: str = ""
    "`112 days`"


@frozen
class FaultRow:
    """One fault that is not closed, and how far the hunt has got."""

    fault: Link
    "the symptom, leading to `faults.html#fault-KEY`"
    state: FaultMark
    "chooses the mark"
    state_text: str
    "`open, 3 suspects`, `narrowed, 2 of 11 left`, `cause known: Stop solenoid`, `fixed, not proved`"
    since: When
    "the day it was first named"
    entry: Link
    "the entry that first names it"
    age: str = ""
    "`126 days`"
