"""How is a table of many columns read on a phone: as rows below each other, each value behind the name of its column?

A style sheet alone can set a table so, if each cell carries the name that stands over it. No template writes that: it
is taken from the table's own head when the page is finished, so that label and head cannot differ, and so that a table
in an owner's story, or in a log's own template, is stacked as ours are. Which width is a phone's is the style sheet's.

The elements stay those of a table: browsers tell programs that read aloud of one, however its boxes are laid out (a
test asks). No roles are written out for older ones, as HTML forbids them inside a table (ARIA in HTML, section 4).
"""

from __future__ import annotations

import re

from buildlog.render.marks import remove_marks

MOST_BESIDE = 4
"Columns that a phone shows beside each other."

NOTHING = "–"
"What a cell says that has nothing to say."

# Jinja and the renderer of stories write `>` as `&gt;` inside an attribute, and no table of theirs holds another.
_TABLE = re.compile(r"<table\b([^>]*)>(.*?)</table>", re.DOTALL)
_HEAD = re.compile(r"<thead\b[^>]*>(.*?)</thead>", re.DOTALL)
_ROW = re.compile(r"<tr\b([^>]*)>(.*?)</tr>", re.DOTALL)
_CELL = re.compile(r"<(th|td)\b([^>]*)>(.*?)</\1>", re.DOTALL)
_VALUE = re.compile(r"<td\b[^>]*>")
_FIGURE = re.compile(r'class="(?:[^"]* )?n(?: [^"]*)?"')
"A cell of a column of figures, by the class that templates give it."
_TAG = re.compile(r"<[^>]*>")
_SPANNING = re.compile(r'\bcolspan="?(\d+)')
_CLASS = re.compile(r'\bclass="')


def stack_tables(page: str) -> str:
    """A page in which each value of a table of more than `MOST_BESIDE` columns has a `data-name`.

    Such a table has the class `stacked`; where nothing but figures stands in it, `even` as well. One without a head, or
    whose end tags are left out, stays as it is.
    """
    return _TABLE.sub(_stack, page) if "<table" in page else page


def _stack(table: re.Match[str]) -> str:
    attributes, inside = table[1], table[2]
    head = _HEAD.search(inside)
    names = [_read_name(cell[3]) for cell in _CELL.finditer(head[1])] if head else []
    if len(names) <= MOST_BESIDE:
        return table[0]
    rows = _ROW.sub(lambda row: f"<tr{row[1]}>{_name_cells(row[2], names)}</tr>", inside)
    kind = "stacked" if any(not _FIGURE.search(cell) for cell in _VALUE.findall(inside)) else "stacked even"
    return f"<table{_add_class(attributes, kind)}>{rows}</table>"


def _name_cells(row: str, names: list[str]) -> str:
    """The cells of a row, each value with the name over it, each blank one marked as such."""
    column = 0
    made = []
    for cell in _CELL.finditer(row):
        kind, attributes, inside = cell.groups()
        spanning = _SPANNING.search(attributes)
        name = names[column] if column < len(names) and not spanning else ""
        column += int(spanning[1]) if spanning else 1
        if kind == "td":
            if inside.strip() in ("", NOTHING):
                attributes = _add_class(attributes, "blank")
            elif name:
                attributes += f' data-name="{name}"'
        made.append(f"<{kind}{attributes}>{inside}</{kind}>")
    return "".join(made)


def _read_name(inside: str) -> str:
    """What a head says, as an attribute holds it."""
    return " ".join(remove_marks(_TAG.sub("", inside)).split()).replace('"', "&quot;")


def _add_class(attributes: str, name: str) -> str:
    if _CLASS.search(attributes):
        return _CLASS.sub(f'class="{name} ', attributes, count=1)
    return f'{attributes} class="{name}"'
