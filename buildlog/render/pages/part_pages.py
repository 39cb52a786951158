"""The pages of parts where they are too many for one: a system's of one period, and the indexes to all."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from buildlog.compute.parts.part_history import PartFigures
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import list_legend
from buildlog.render.pages.frame import Frame, make_frame
from buildlog.render.pages.parts import (
    FittedGroup,
    NumberRow,
    PartGroup,
    ShelfRow,
    list_fitted,
    list_groups,
    list_names,
    list_numbers,
    list_shelf,
)
from buildlog.render.pages.parts_by_period import group_parts, list_indexes, name_part_page
from buildlog.render.pages.periods import INDEX_ROWS, list_neighbours
from buildlog.render.pieces import Evidence, Link


@frozen
class PartPeriodView:
    """What became of the parts of one system that came in this period?"""

    TEMPLATE: ClassVar[str] = "part_period.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Parts: Fuel, 2024`"
    before: Link | None = None
    "the same system before; None: this is the first"
    after: Link | None = None
    "the same system after; None: this is the last"
    fitted: tuple[FittedGroup, ...] = ()
    "those on the machine, as of the site's date"
    legend: tuple[Evidence, ...] = ()
    "what the letters of the evidence mean"
    shelf: tuple[ShelfRow, ...] = ()
    "those on hand, in the order of the log"
    groups: tuple[PartGroup, ...] = ()
    "all of them with their lives"


@frozen
class PartIndexView:
    """Where is the part of this name, or of this number?"""

    TEMPLATE: ClassVar[str] = "part_index.html"
    frame: Frame
    "what surrounds the page"
    title: str
    "`Parts by name: Bearing to Pump`"
    before: Link | None = None
    "what stands before in the alphabet; None: this is the first"
    after: Link | None = None
    "what follows; None: this is the last"
    names: tuple[Link, ...] = ()
    "each leads to the part's life"
    numbers: tuple[NumberRow, ...] = ()
    "each with its part"


PartPage = PartPeriodView | PartIndexView


def list_part_pages(context: PageContext) -> dict[str, Callable[[], PartPage]]:
    """The pages by their paths; none where one page has every part."""
    if not context.part_pages:
        return {}
    groups, names, numbers = group_parts(context), list_names(context), list_numbers(context)
    by_system: dict[str | None, list[str]] = {}
    for path, parts in groups.items():
        by_system.setdefault(parts[0].system, []).append(path)
    beside = {path: both for paths in by_system.values() for path, both in list_neighbours(paths).items()}

    def lead(path: str | None) -> Link | None:
        return Link(text=name_part_page(context, path, groups[path])[1], href=path) if path else None

    def make_period(path: str) -> Callable[[], PartPage]:
        before, after = beside[path]
        return lambda: _make_period(context, path, groups[path], lead(before), lead(after))

    pages = {path: make_period(path) for path in groups}
    for kind, rows in (("name", names), ("number", numbers)):
        links: tuple[Link | None, ...] = (None, *list_indexes(kind, [_say_row(row) for row in rows]), None)
        for n, (before, here, after) in enumerate(zip(links, links[1:], links[2:], strict=False)):
            if here:
                shown = rows[n * INDEX_ROWS : (n + 1) * INDEX_ROWS]
                pages[here.href] = _make_index(context, kind, here, shown, before, after)
    return pages


def _say_row(row: Link | NumberRow) -> str:
    return row.text if isinstance(row, Link) else row.number


def _make_period(
    context: PageContext, path: str, parts: tuple[PartFigures, ...], before: Link | None, after: Link | None
) -> PartPeriodView:
    title = f"Parts: {', '.join(name_part_page(context, path, parts))}"
    fitted = tuple(list_fitted(context, parts))
    return PartPeriodView(
        frame=make_frame(context, path, title, f"{title}: bought, fitted, on the shelf."),
        title=title,
        before=before,
        after=after,
        fitted=fitted,
        legend=list_legend(context, (row.evidence for group in fitted for row in group.rows)),
        shelf=tuple(list_shelf(context, parts)),
        groups=tuple(list_groups(context, parts)),
    )


def _make_index(
    context: PageContext,
    kind: str,
    here: Link,
    rows: tuple[Link | NumberRow, ...],
    before: Link | None,
    after: Link | None,
) -> Callable[[], PartPage]:
    title = f"Parts by {kind}: {here.text}"
    return lambda: PartIndexView(
        frame=make_frame(context, here.href, title, f"{title}."),
        title=title,
        before=before,
        after=after,
        names=tuple(row for row in rows if isinstance(row, Link)),
        numbers=tuple(row for row in rows if isinstance(row, NumberRow)),
    )
