"""What is due, as the front page and the service history show it."""

from __future__ import annotations

from buildlog.reckon.service.rechecks import RecheckFigures
from buildlog.reckon.service.standing import Due, ServiceState
from buildlog.site.pages.edition import Edition, entry_href
from buildlog.site.pieces import DueRow, Link, State
from buildlog.site.words import count

STATES: dict[ServiceState, State] = {
    "overdue": "overdue",
    "due": "due",
    "history unknown": "unknown",
    "later": "later",
}
"The theme's names of the states."


def list_due(edition: Edition) -> tuple[DueRow, ...]:
    """Every service item and every fastener to be checked again, most pressing first."""
    return tuple(_describe(edition, item) for item in edition.figures.due)


def _describe(edition: Edition, item: Due) -> DueRow:
    use = edition.figures.meter.use
    forecast = ""
    if item.forecast and use.per_day is not None and item.state != "overdue":
        unit = edition.figures.meter.unit or ""
        per_day = edition.words.measure(round(use.per_day, 1), unit)
        forecast = f"about {edition.words.month(item.forecast)} at {per_day} a day"
    return DueRow(
        item=_link(edition, item),
        state=STATES[item.state],
        state_text=say_state(edition, item),
        when=edition.when(item.due_date) if item.due_date else None,
        reading=edition.total(item.due_total, item.due_reading),
        forecast=forecast,
    )


def _link(edition: Edition, item: Due) -> Link:
    """A service item's history; of a recheck the entry that asks for it."""
    if isinstance(item, RecheckFigures):
        return Link(text=edition.said(item.name), href=f"{entry_href(item.entry)}#tightened")
    return edition.item_link(item.key)


def say_state(edition: Edition, item: Due) -> str:
    """`overdue by 41 days`, `due within 600 mi`, `history unknown`."""
    if item.state == "history unknown":
        return "history unknown: treat as due"
    left = _say_left(edition, item)
    if item.state == "overdue":
        return f"overdue by {left}" if left else "overdue"
    if item.state == "due":
        return f"due within {left}" if left else "due"
    return f"in {left}" if left else "later"


def _say_left(edition: Edition, item: Due) -> str:
    """How far it is to the limit that comes first, either way."""
    if item.reason == "date" and item.days_left is not None:
        return count(abs(item.days_left), "day") if item.days_left else ""
    if item.reason == "reading" and item.distance_left is not None:
        return edition.distance(abs(item.distance_left)) if item.distance_left else ""
    return ""
