"""What the file of figures says: one module a group of questions, which names each key that is written.

A key keeps its name and meaning, whatever the values are called inside the program. When one comes, goes or gets
another meaning, that is a new format: see `FORMAT` and `CHANGED` in `figures_json`, and the guide's list of keys.

Amounts and all other numbers with a fraction are texts, an amount of money in the home currency where no other is
said; days are `2024-05-18`; a record of the log stands as the place
where it is written, an entry as its name, and a line of the costs as its number in the list `lines`.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from buildlog.compute.costs.lines import CostLine
from buildlog.compute.quantities.money import Money
from buildlog.problems import Place
from buildlog.read.records import Amount, Entry, LogRecord, Span

Json = dict[str, Any]
"An object of the file, its figures not yet spelled."


def spell(value: Any, numbers: Mapping[CostLine, int]) -> Any:
    """A value as texts, integers, lists and objects; `numbers` are those of the lines of the costs.

    Raises `TypeError` for a kind of value that has no place here: whatever stands in the file was named by a writer.
    """
    # No float is in this list: canonical JSON would take one, and no two languages print all of them alike.
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, Money):
        return f"{value.amount:f}"
    if isinstance(value, datetime.date | Fraction | Place):
        return str(value)
    if isinstance(value, CostLine):
        return numbers[value]
    if isinstance(value, Entry):
        return value.name
    if isinstance(value, LogRecord):
        return str(value.place)
    if isinstance(value, Amount | Span):
        return {"value": f"{value.value:f}", "unit": value.unit}
    if isinstance(value, Mapping):
        return {str(key): spell(item, numbers) for key, item in value.items()}
    # A NamedTuple is a record: its keys have to be named by a writer, or a field that is added would change the file.
    if isinstance(value, tuple | list) and not hasattr(value, "_fields"):
        return [spell(item, numbers) for item in value]
    raise TypeError(f"a {type(value).__name__} is no figure")
