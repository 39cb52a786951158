"""What the questions on the command line answer: the same figures as a table to read, or as JSON to go on with."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from buildlog.reckon.cost_lines import CostLine
from buildlog.reckon.costs import Total
from buildlog.reckon.figures import Figures
from buildlog.reckon.money import to_minor
from buildlog.reckon.parts import PartFigures, find_parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Some rows under headings."""

    title: str
    columns: tuple[str, ...]
    "a heading that ends in `>` is of a column of figures, set to the right"
    rows: tuple[tuple[str, ...], ...]
    empty: str = "nothing"
    "what to say when there is no row"


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answer in both forms."""

    tables: tuple[Table, ...]
    data: Any
    "plain values; amounts are decimal strings in the home currency"

    def as_text(self) -> str:
        """Tables for a terminal."""
        return "\n".join(_draw(table) for table in self.tables)

    def as_json(self) -> str:
        """The figures, indented, with one line end at the end."""
        return json.dumps(self.data, indent=2, ensure_ascii=False) + "\n"


def answer_costs(figures: Figures) -> Answer:
    """What was spent, recovered and committed, and on what."""
    costs = figures.costs
    sums = {"spent": costs.spent, "recovered": costs.recovered, "net": costs.net, "committed": costs.committed}
    ways = {
        "by_month": costs.by_month,
        "by_system": costs.by_system,
        "by_kind": costs.by_kind,
        "by_supplier": costs.by_supplier,
        "by_entry": costs.by_entry,
    }
    data = {
        "currency": costs.currency,
        "as_of": figures.as_of.isoformat(),
        **{name: _amount(figures, amount) for name, amount in sums.items()},
        "acquired": None if costs.acquired is None else _amount(figures, costs.acquired),
        "own_hours": f"{costs.own_hours:f}",
        "own_hours_worth": None if costs.own_hours_worth is None else _amount(figures, costs.own_hours_worth),
        "done_twice": {
            "cost": _amount(figures, figures.twice.cost),
            "hours": f"{figures.twice.hours:f}",
        },
        **{name: {total.name: _amount(figures, total.amount) for total in totals} for name, totals in ways.items()},
        "lines": [_cost_line(figures, line) for line in costs.lines],
        "committed_lines": [_cost_line(figures, line) for line in costs.committed_lines],
        "recovered_lines": [_cost_line(figures, line) for line in costs.recovered_lines],
    }
    rows = [(name, _amount(figures, amount)) for name, amount in sums.items()]
    if costs.acquired is not None:
        rows.append(("the machine itself, apart", _amount(figures, costs.acquired)))
    if figures.twice.items:
        rows.append(("done twice, in spent", _amount(figures, figures.twice.cost)))
    tables = [Table(title=f"Costs as of {figures.as_of}", columns=("", f"{costs.currency}>"), rows=tuple(rows))]
    for title, totals in (("System", costs.by_system), ("Supplier", costs.by_supplier), ("Month", costs.by_month)):
        tables.append(_total_table(figures, title, totals))
    return Answer(tables=tuple(tables), data=data)


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


def answer_due(figures: Figures) -> Answer:
    """Every service item, most pressing first."""
    items = figures.service.items
    data = [
        {
            "item": item.key,
            "name": item.name,
            "state": item.state,
            "due_date": item.due_date.isoformat() if item.due_date else None,
            "due_reading": None if item.due_reading is None else f"{item.due_reading:f}",
            "unit": figures.meter.unit if item.due_reading is not None else None,
            "forecast": item.forecast.isoformat() if item.forecast else None,
            "last_done": item.last.when if item.last else None,
        }
        for item in items
    ]
    rows = tuple(
        (
            item.name,
            item.state,
            item.due_date.isoformat() if item.due_date else "",
            "" if item.due_reading is None else f"{item.due_reading:f} {figures.meter.unit}",
            item.forecast.isoformat() if item.forecast else "",
            item.last.when if item.last else "never on record",
        )
        for item in items
    )
    columns = ("Item", "State", "Due by", "Or at>", "Reached about", "Last done")
    title = f"Service as of {figures.as_of}"
    empty = "`log.yaml` states no service intervals"
    return Answer(tables=(Table(title=title, columns=columns, rows=rows, empty=empty),), data=data)


def _quantities(part: PartFigures) -> dict[str, Decimal]:
    return {
        "bought": part.bought,
        "fitted": part.fitted,
        "shelf": part.shelf,
        "in_the_post": part.in_the_post,
    }


def _cost_line(figures: Figures, line: CostLine) -> dict[str, str | None]:
    return {
        "entry": line.entry,
        "what": line.what,
        "landed": _amount(figures, line.landed),
        "sort": line.sort,
        "date": line.date.isoformat(),
        "qty": f"{line.qty:f}",
        "part": line.part,
        "system": line.system,
        "kind": line.kind,
        "supplier": line.supplier,
        "order": line.ref,
    }


def _amount(figures: Figures, amount: Decimal) -> str:
    """An amount with the decimals of the home currency, as text that no reader turns into a binary float."""
    return f"{to_minor(amount, figures.costs.currency):f}"


def _total_table(figures: Figures, title: str, totals: Iterable[Total]) -> Table:
    rows = tuple((total.name, _amount(figures, total.amount)) for total in totals)
    return Table(title="", columns=(title, f"{figures.costs.currency}>"), rows=rows, empty=f"{title}: nothing spent")


def _draw(table: Table) -> str:
    """The table as lines of text; columns as wide as their widest cell."""
    head = f"{table.title}\n" if table.title else ""
    if not table.rows:
        return f"{head}{table.empty}\n"
    titles = tuple(column.removesuffix(">") for column in table.columns)
    widths = [max(len(row[at]) for row in (titles, *table.rows)) for at in range(len(titles))]
    rule = tuple("-" * width for width in widths)
    lines = (_draw_row(row, widths, table.columns) for row in (titles, rule, *table.rows))
    return head + "".join(f"{line}\n" for line in lines)


def _draw_row(row: Sequence[str], widths: Sequence[int], columns: Sequence[str]) -> str:
    cells = (
        cell.rjust(width) if column.endswith(">") else cell.ljust(width)
        for cell, width, column in zip(row, widths, columns, strict=True)
    )
    return "  ".join(cells).rstrip()
