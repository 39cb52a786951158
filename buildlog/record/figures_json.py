"""Every computed figure of a log as plain values with one spelling, so that it can be reckoned again and compared.

Nothing is computed here, and no figure is chosen: whatever `Figures` holds goes in, under the names that it has there.
Amounts and all other numbers with a fraction are texts, days are `2024-05-18`; a record of the log stands as the place
where it is written, an entry as its name, and a line of the costs as its number in the list `lines`.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from buildlog.problems import Place
from buildlog.reckon.costs.lines import CostLine
from buildlog.reckon.figures import Figures
from buildlog.record.canonical import write_canonical
from buildlog.source.records import Entry, Record

FORMAT = 1
"Raised whenever the same log gives other figures, or the same figures stand elsewhere in the file."
LEFT_OUT = frozenset({"log", "problems", "story", "spans"})
"Fields that are no figures: the log itself, what is wrong with it, and what figures were made from on the way."


def write_figures(figures: Figures) -> bytes:
    """The file `figures.json`: canonical JSON (RFC 8785), ended by one LF."""
    return write_canonical(list_figures(figures)) + b"\n"


def list_figures(figures: Figures) -> dict[str, Any]:
    """The figures as texts, integers, lists and objects."""
    costs = figures.costs
    lines = dict.fromkeys((*costs.lines, *costs.committed_lines, *costs.recovered_lines))
    plainer = _Plainer({line: number for number, line in enumerate(lines)})
    return {
        "format": FORMAT,
        "lines": [plainer.open_up(line) for line in lines],
        **{field.name: plainer.plain(getattr(figures, field.name)) for field in fields(figures) if _counts(field.name)},
    }


def _counts(name: str) -> bool:
    return name not in LEFT_OUT


class _Plainer:
    """Turns figures into plain values; lines of the costs become their numbers."""

    def __init__(self, numbers: Mapping[CostLine, int]) -> None:
        self._numbers = numbers

    def plain(self, value: Any) -> Any:
        if value is None or isinstance(value, str | bool | int):
            return value
        if isinstance(value, Decimal):
            return f"{value:f}"
        if isinstance(value, datetime.date | Fraction | Place):
            return str(value)
        if isinstance(value, CostLine):
            return self._numbers[value]
        if isinstance(value, Entry):
            return value.name
        if isinstance(value, Record):
            return str(value.place)
        if isinstance(value, Mapping):
            return {str(key): self.plain(item) for key, item in value.items()}
        if isinstance(value, tuple) and not hasattr(value, "_fields"):
            return [self.plain(item) for item in value]
        return self.open_up(value)

    def open_up(self, value: Any) -> dict[str, Any]:
        """A record of figures as an object; raises `TypeError` for a kind of value that has no place here."""
        if not is_dataclass(value):
            raise TypeError(f"a {type(value).__name__} is no figure")
        return {field.name: self.plain(getattr(value, field.name)) for field in fields(value) if _counts(field.name)}


def find_difference(written: Any, reckoned: Any, at: str = "") -> str:
    """The first figure in which two files differ, as `costs.spent: 133.10, reckoned 133.11`; empty where they agree.

    `written` is a stranger's; it is compared value by value, never added up.
    """
    if type(written) is type(reckoned):
        if isinstance(reckoned, dict):
            return _differ_in_keys(written, reckoned, at)
        if isinstance(reckoned, list):
            for number, (left, right) in enumerate(zip(written, reckoned, strict=False)):
                if found := find_difference(left, right, f"{at}[{number}]"):
                    return found
            written, reckoned = f"{len(written)} values", f"{len(reckoned)} values"
        if written == reckoned:
            return ""
    return f"{at}: {_show(written)}, reckoned {_show(reckoned)}"


def _differ_in_keys(written: dict[str, Any], reckoned: dict[str, Any], at: str) -> str:
    for key in (*reckoned, *(key for key in written if key not in reckoned)):
        inner = f"{at}.{key}" if at else key
        if key not in written or key not in reckoned:
            return f"{inner} is {'missing' if key not in written else 'no figure that is reckoned'}"
        if found := find_difference(written[key], reckoned[key], inner):
            return found
    return ""


def _show(value: Any) -> str:
    if isinstance(value, dict | list):
        return "a list" if isinstance(value, list) else "an object"
    return "nothing" if value is None else str(value)[:80]
