"""An answer in both its forms: tables for a terminal, and the same figures as JSON to go on with."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from buildlog.compute.quantities.money import Money, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.text import tame


@frozen
class Table:
    """Some rows under headings."""

    title: str
    "line above it; empty: none"
    columns: tuple[str, ...]
    "a heading that ends in `>` is of a column of figures, set to the right"
    rows: tuple[tuple[str, ...], ...]
    "a cell for each column, finished text; the owner's words are tamed when the table is drawn"
    empty: str = "nothing"
    "what to say when there is no row"

    def without_empty_columns(self) -> Table:
        """The table less the columns in which no row says anything."""
        kept = [at for at in range(len(self.columns)) if any(row[at] for row in self.rows)]
        rows = tuple(tuple(row[at] for at in kept) for row in self.rows)
        return replace(self, columns=tuple(self.columns[at] for at in kept), rows=rows)


@frozen
class Answer:
    """One answer in both forms."""

    tables: tuple[Table, ...]
    "in the order in which they are printed"
    data: Any
    "plain values; amounts are decimal strings in the home currency"

    def as_text(self) -> str:
        """Tables for a terminal."""
        return "\n".join(_draw(table) for table in self.tables)

    def as_json(self) -> str:
        """The figures, indented, with one line end at the end."""
        # Letters as they are: JSON is UTF-8 (RFC 8259, section 8.1), and an owner reads it too.
        return json.dumps(self.data, indent=2, ensure_ascii=False) + "\n"


def write_amount(money: Money) -> str:
    """An amount with all decimals of its currency, as text that no reader turns into a binary float."""
    return f"{round_to_minor_unit(money.amount, money.currency).amount:f}"


def _draw(table: Table) -> str:
    """The table as lines of text; columns as wide as their widest cell."""
    head = f"{table.title}\n" if table.title else ""
    if not table.rows:
        return f"{head}{tame(table.empty)}\n"
    titles = tuple(column.removesuffix(">") for column in table.columns)
    rows = [tuple(map(tame, row)) for row in table.rows]
    # Characters, not columns of the terminal: wide letters (East Asian ones) set a row askew, and no figure wrong.
    widths = [max(len(row[at]) for row in (titles, *rows)) for at in range(len(titles))]
    rule = tuple("-" * width for width in widths)
    lines = (_draw_row(row, widths, table.columns) for row in (titles, rule, *rows))
    return head + "".join(f"{line}\n" for line in lines)


def _draw_row(row: Sequence[str], widths: Sequence[int], columns: Sequence[str]) -> str:
    cells = (
        cell.rjust(width) if column.endswith(">") else cell.ljust(width)
        for cell, width, column in zip(row, widths, columns, strict=True)
    )
    return "  ".join(cells).rstrip()
