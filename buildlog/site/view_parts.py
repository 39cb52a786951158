"""What the page of parts is given: each part's life, the shelf, the post, what is fitted as of the site's date."""

from __future__ import annotations

from typing import ClassVar

from buildlog.frozen import frozen
from buildlog.site.frame import Frame
from buildlog.site.pieces import Evidence, Link, PostRow, Prices, When


@frozen
class PartNumber:
    """One number of a part, as it is written on it."""

    text: str
    "`LP 4410-A`"
    note: str = ""
    "`superseded by LP 4410-B`, `as bought`"
    old: bool = False
    "whether another number has taken its place"


@frozen
class LifeEvent:
    """One thing that happened to a part."""

    when: When
    did: str
    "`ordered`, `arrived`, `fitted`, `removed`, `returned`, `sold`, `scrapped`, in the site's words"
    detail: str = ""
    "from whom, where, instead of what, why, how old it was then"
    reading: str = ""
    entry: Link


@frozen
class PartView:
    """One part and its whole life."""

    key: str
    "short name; its anchor is `part-KEY`"
    name: str
    maker: str = ""
    spec: str = ""
    numbers: tuple[PartNumber, ...] = ()
    "the current one first"
    stands: str
    "where it is as of the site's date: `fitted, left of block`, `1 fitted, 1 on the shelf`, `in the post`"
    life: tuple[LifeEvent, ...] = ()
    "oldest first"


@frozen
class PartGroup:
    """The parts of one system."""

    key: str
    "its anchor is `parts-KEY`"
    name: str
    parts: tuple[PartView, ...]


@frozen
class NumberRow:
    """One number in the index by number."""

    number: str
    part: Link
    note: str = ""
    "`superseded by LP 4410-B`"


@frozen
class ShelfRow:
    """Something on hand and not fitted."""

    part: Link
    qty: str
    note: str = ""
    "`kept from the machine`, `second one kept as spare`"


@frozen
class FittedRow:
    """One open fitting."""

    part: Link
    at: str = ""
    number: str = ""
    qty: str = ""
    "empty for one"
    spec: str = ""
    since: When
    reading: str = ""
    age: str = ""
    "`412 days`"
    distance: str = ""
    "`3,120 mi`"
    entry: Link
    evidence: Evidence | None = None


@frozen
class FittedGroup:
    """What is fitted in one system."""

    name: str
    rows: tuple[FittedRow, ...]


@frozen
class SupplierRow:
    """One supplier's figures."""

    name: str
    orders: str
    spent: str = ""
    "empty when money is hidden"
    median_days: str = ""
    "from order to arrival; empty: nothing has arrived"
    longest_days: str = ""
    returns: str = ""


@frozen
class PartsView:
    """What was bought, where is it now, what is fitted?"""

    TEMPLATE: ClassVar[str] = "parts.html"
    frame: Frame
    prices: Prices
    count: str = ""
    "`38 parts: 26 fitted, 7 on the shelf, 2 in the post`"
    groups: tuple[PartGroup, ...] = ()
    by_name: tuple[Link, ...] = ()
    "every part by name, leading to `parts.html#part-KEY`"
    by_number: tuple[NumberRow, ...] = ()
    "every number, superseded ones included"
    shelf: tuple[ShelfRow, ...] = ()
    post: tuple[PostRow, ...] = ()
    fitted: tuple[FittedGroup, ...] = ()
    "as of the site's date"
    suppliers: tuple[SupplierRow, ...] = ()
    "empty when hidden"
