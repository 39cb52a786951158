"""`buildlog parts`: what was bought and came with the machine, and where is each of it now?"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from buildlog.answers.tables import Answer, Table
from buildlog.compute.figures import Figures
from buildlog.compute.parts.part_history import PartFigures, find_parts

COLUMNS: tuple[tuple[str, Callable[[PartFigures], Decimal]], ...] = (
    ("Bought>", lambda part: part.bought),
    ("Own>", lambda part: part.came_with),
    ("In post>", lambda part: part.in_the_post),
    ("Shelf>", lambda part: part.shelf),
    ("On it>", lambda part: part.on_machine),
    ("Cancelled>", lambda part: part.cancelled),
    ("Sent back>", lambda part: part.returned),
    ("Sold>", lambda part: part.sold),
    ("Gone>", lambda part: part.gone),
)
"What a row counts: the first two columns are all that there was, and the others add up to that."
QUANTITIES = (
    "bought", "came_with", "in_the_post", "shelf", "on_machine", "cancelled", "returned", "sold", "gone", "arrived",
    "fitted", "removed", "kept", "scrapped",
)  # fmt: skip


def answer_parts(figures: Figures, find: str | None = None) -> Answer:
    """Every part, or those that a number or a name means."""
    parts = find_parts(figures.parts, find) if find else figures.parts.parts
    heads = ("Part", "Short name", "Numbers", "Unit", *(head for head, _ in COLUMNS))
    table = Table(
        title=f"Parts as of {figures.as_of}",
        columns=heads,
        rows=tuple(_draw_part(part) for part in parts),
        empty=f"no part has the number or name `{find}`" if find else "no part is on record",
    )
    return Answer(tables=(table.without_empty_columns(),), data=[_write_part(part) for part in parts])


def _draw_part(part: PartFigures) -> tuple[str, ...]:
    counts = (count(part) for _, count in COLUMNS)
    return part.name, part.key, ", ".join(part.numbers), part.unit or "", *(f"{qty:f}" if qty else "" for qty in counts)


def _write_part(part: PartFigures) -> dict[str, Any]:
    return {
        "part": part.key,
        "aliases": list(part.aliases),
        "name": part.name,
        "numbers": list(part.numbers),
        "maker": part.maker,
        "system": part.system,
        "spec": part.spec,
        "single_use": part.single_use,
        "original": part.original,
        "unit": part.unit,
        **{name: f"{getattr(part, name):f}" for name in QUANTITIES},
    }
