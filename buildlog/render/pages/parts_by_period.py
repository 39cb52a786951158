"""Which page has which parts, where they are too many for one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildlog.compute.parts.part_history import PartFigures
from buildlog.frozen import frozen
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.periods import INDEX_ROWS
from buildlog.render.pieces import Link


@frozen
class PartsPeriod:
    """One page of parts: those of one system that came, or first did anything, in one period."""

    name: str
    "the system's name"
    page: Link
    "`2024`, leading to it"
    parts: str
    "how many it has"
    fitted: str = ""
    "of those how many are on the machine; empty: none"
    shelf: str = ""
    "how many are on the shelf; empty: none"
    post: str = ""
    "how many are in the post; empty: none"


def list_periods(context: PageContext) -> Iterator[PartsPeriod]:
    """The pages that have parts, those of one system after each other."""
    for path, parts in group_parts(context).items():
        name, period = name_part_page(context, path, parts)
        yield PartsPeriod(
            name=name,
            page=Link(text=period, href=path),
            parts=str(len(parts)),
            fitted=str(sum(part.on_machine > 0 for part in parts) or ""),
            shelf=str(sum(part.shelf > 0 for part in parts) or ""),
            post=str(sum(part.in_the_post > 0 for part in parts) or ""),
        )


def group_parts(context: PageContext) -> dict[str, tuple[PartFigures, ...]]:
    """The parts by the page that has them, system by system and oldest first; empty where one page has all."""
    found: dict[str, list[PartFigures]] = {}
    for part in context.figures.parts.parts if context.part_pages else ():
        found.setdefault(context.part_pages[part.key], []).append(part)
    systems = [*context.figures.log.settings.systems, None]
    order = sorted(found, key=lambda path: (systems.index(found[path][0].system), path))
    return {path: tuple(found[path]) for path in order}


def name_part_page(context: PageContext, path: str, parts: tuple[PartFigures, ...]) -> tuple[str, str]:
    """The system and the period of a page of parts: `Fuel`, `2024`."""
    system = parts[0].system
    return context.system_name(system), context.period(path[len(f"parts/{system or 'none'}-") : -len(".html")])


def list_indexes(kind: str, texts: Sequence[str]) -> tuple[Link, ...]:
    """The pages of an index, each with what it begins and ends with."""
    starts = range(0, len(texts), INDEX_ROWS)
    return tuple(
        Link(
            text=" to ".join(dict.fromkeys((texts[at], texts[min(at + INDEX_ROWS, len(texts)) - 1]))),
            href=f"parts/by-{kind}-{n}.html",
        )
        for n, at in enumerate(starts, 1)
    )
