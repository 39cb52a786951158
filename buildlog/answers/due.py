"""`buildlog due`: what is overdue, due, later, or has no history?"""

from __future__ import annotations

from buildlog.answers.tables import Answer, Table
from buildlog.compute.figures import Figures
from buildlog.compute.service.due_status import Due, say_counts


def answer_due(figures: Figures) -> Answer:
    """Every service item and every fastener to be checked again, most pressing first."""
    items = figures.due
    data = [
        {
            "item": item.key,
            "name": item.name,
            "state": item.state,
            "due_date": item.due_date.isoformat() if item.due_date else None,
            "due_reading": None if item.due_reading is None else f"{item.due_reading:f}",
            "unit": figures.meter.unit if item.due_reading is not None else None,
            "forecast": item.forecast.isoformat() if item.forecast else None,
            "last_done": item.last_when,
        }
        for item in items
    ]
    rows = tuple(
        (
            item.name,
            item.state,
            item.due_date.isoformat() if item.due_date else "",
            _say_reading(item, figures.meter.unit),
            item.forecast.isoformat() if item.forecast else "",
            item.last_when or "never on record",
        )
        for item in items
    )
    columns = ("Item", "State", "Due by", "Or at>", "Reached about", "Last done")
    title = ": ".join(filter(None, [f"Service as of {figures.as_of}", say_counts(items)]))
    empty = "`log.yaml` states no service intervals"
    return Answer(tables=(Table(title=title, columns=columns, rows=rows, empty=empty),), data=data)


def _say_reading(item: Due, unit: str | None) -> str:
    """The true total, and what the meter will show then where that is something else."""
    if item.due_total is None:
        return ""
    shown = "" if item.due_reading in (None, item.due_total) else f" (meter {item.due_reading:f})"
    return f"{item.due_total:f} {unit}{shown}"
