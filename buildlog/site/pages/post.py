"""What is in the post: rows that the front page and the page of parts share."""

from __future__ import annotations

from buildlog.site.pages.edition import Edition
from buildlog.site.pieces import PostRow
from buildlog.site.words import count


def list_post(edition: Edition) -> tuple[PostRow, ...]:
    """Every order line that was ordered by the day and has not arrived, the longest wait first."""
    rows = []
    for item in edition.figures.in_the_post:
        rows.append(
            PostRow(
                what=edition.part_link(item.key, item.name) if item.key else edition.entry_link(item.entry),
                qty="" if item.qty == 1 and not item.unit else edition.quantity(item.qty, item.unit),
                supplier=edition.supplier(item.supplier),
                ref=edition.order_ref(item.ref),
                ordered=edition.when(item.ordered),
                waiting=count(item.days, "day"),
                amount=edition.line_money(item.landed) if item.landed is not None else "",
                paid=item.paid,
            )
        )
    return tuple(rows)
