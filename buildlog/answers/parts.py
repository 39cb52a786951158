"""`buildlog parts`: what was bought and fitted, what lies on the shelf, what is in the post?"""

from __future__ import annotations

from decimal import Decimal

from buildlog.answers.tables import Answer, Table
from buildlog.reckon.figures import Figures
from buildlog.reckon.parts.lives import PartFigures, find_parts


def answer_parts(figures: Figures, find: str | None = None) -> Answer:
    """Every part, or those that a number or a name means."""
    parts = find_parts(figures.parts, find) if find else figures.parts.parts
    rows = tuple(
        (part.name, ", ".join(part.numbers), *(f"{qty:f}" for qty in _quantities(part).values())) for part in parts
    )
    columns = ("Part", "Numbers", "Bought>", "Fitted>", "Shelf>", "In the post>")
    empty = f"no part has the number or name `{find}`" if find else "no part is on record"
    data = [
        {
            "part": part.key,
            "name": part.name,
            "numbers": list(part.numbers),
            "system": part.system,
            **{name: f"{qty:f}" for name, qty in _quantities(part).items()},
        }
        for part in parts
    ]
    table = Table(title=f"Parts as of {figures.as_of}", columns=columns, rows=rows, empty=empty)
    return Answer(tables=(table,), data=data)


def _quantities(part: PartFigures) -> dict[str, Decimal]:
    return {
        "bought": part.bought,
        "fitted": part.fitted,
        "shelf": part.shelf,
        "in_the_post": part.in_the_post,
    }
