"""What stands in the cells of a workbook, XLSX (ECMA-376) or ODS (ISO/IEC 26300), and how much would its reader build?

A reader of workbooks builds every cell between two, and every text as often as a cell names it: a few bytes in a file
become gigabytes. So each part is gone through as a stream first, and nothing that is too large reaches that reader.
"""

from __future__ import annotations

import datetime
import io
import itertools
import posixpath
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from buildlog.bring.sheets import MOST_ROWS, Cell, Sheet, check_cells, check_size, find_column
from buildlog.bring.sources import LARGEST_UNPACKED, Unreadable, need, read_stream, read_tree, unpack
from buildlog.text import count

SIGNIFICANT = ".15g"
"A spreadsheet keeps fifteen digits of a number (ECMA-376, 18.3.1.96, as IEEE 754 doubles); more are noise of its sums."


def read_workbook(data: bytes, settled: Mapping[str, str]) -> Sheet:
    """A sheet of an XLSX (ECMA-376) or ODS file, its cells with the values that were last computed."""
    calamine = need("python_calamine", "XLSX and ODS")
    parts = unpack(data)
    texts = _measure_texts(parts)
    # whatever a part is called: the list of sheets may name any
    looks = {
        name: read_stream(part, Look(texts))
        for name, part in parts.items()
        if name == CONTENT or b"worksheet" in part[:MOST_HEAD] or b"sheetData" in part
    }
    try:
        book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        shown = [meta.name for meta in book.sheets_metadata if meta.visible == calamine.SheetVisibleEnum.Visible]
        name = settled.get("sheet")
        if name is not None and name not in book.sheet_names:
            known = ", ".join(f"`{each}`" for each in book.sheet_names)
            raise Unreadable(f"there is no sheet `{name}`", f"known here: {known}", rule="mapping")
        names = [name] if name else shown
        grids = {each: book.get_sheet_by_name(each).to_python(skip_empty_area=False) for each in names}
    except Unreadable:
        raise
    except BaseException as error:  # what panics in Rust is no `Exception`
        if isinstance(error, KeyboardInterrupt | SystemExit):
            raise
        raise Unreadable(f"this spreadsheet is damaged ({error})", "save it again, or as CSV", rule="damaged") from None
    filled = [each for each, grid in grids.items() if any(map(any, grid))]
    if not filled:
        raise Unreadable("there is nothing in this spreadsheet", "name its sheet by `sheet:`", rule="empty")
    chosen = filled[0]
    hidden = [each for each in book.sheet_names if each not in shown and each != chosen]
    return _make_sheet(filled, grids[chosen], _find_table(parts, looks, book.sheet_names, chosen), hidden)


def _find_table(parts: Mapping[str, bytes], looks: Mapping[str, Look], names: Sequence[str], chosen: str) -> Table:
    """What was seen of one sheet: an ODS has all in one part, an XLSX one a sheet, which its list of sheets names."""
    at = names.index(chosen)
    if CONTENT in looks:
        return looks[CONTENT].tables[at] if at < len(looks[CONTENT].tables) else Table()
    home, links = "xl/workbook.xml", "xl/_rels/workbook.xml.rels"
    if home not in parts or links not in parts:
        return Table()
    targets = {one.get("Id", ""): one.get("Target", "") for one in read_tree(parts[links])}
    for sheet in read_tree(parts[home]).iter():
        link = next((value for key, value in sheet.attrib.items() if key.endswith("}id")), None)
        if sheet.tag.endswith("}sheet") and sheet.get("name") == chosen and link in targets:
            part = posixpath.normpath(posixpath.join("/xl", targets[link])).lstrip("/")
            return looks[part].tables[0] if part in looks and looks[part].tables else Table()
    return Table()


def _make_sheet(filled: Sequence[str], grid: Any, look: Table, hidden: Sequence[str]) -> Sheet:
    chosen, *others = filled
    rows = tuple(tuple(map(_read_cell, row)) for row in grid)
    said = [f"the sheet `{chosen}`"]
    said += [f"left aside: {', '.join(f'the sheet `{each}`' for each in others)}"] if others else []
    said += [f"hidden, and left aside unless a mapping names it: the sheet `{each}`" for each in hidden]
    said += [f"{count(look.formulas, 'cell')} with a formula: what was last computed is read"] if look.formulas else []
    return Sheet(
        rows=rows,
        lines=tuple(range(1, len(rows) + 1)),
        said=tuple(said),
        name=chosen,
        hidden=frozenset(look.hidden),
        hidden_rows=frozenset(at for at in look.hidden_rows if at < len(rows) and any(rows[at])),
    )


def _read_cell(value: Any) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return Decimal(format(value, SIGNIFICANT))
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    return str(value).strip() or None


CONTENT = "content.xml"
"The part of an ODS that has all its sheets."
MOST_HEAD = 4_096
"Bytes of a part in which the name of its root element stands."
FAR = 16_384
"Columns of the widest sheet there is: more are looked at nowhere."


class Table:
    """What is seen of one sheet before it is read: how far it reaches, what is hidden, what is computed."""

    def __init__(self) -> None:
        self.hidden: set[int] = set()
        self.hidden_rows: set[int] = set()
        self.formulas = 0
        self.row = self.column = self.repeat = 0


class Look:
    """Goes through the XML of a sheet, builds nothing, and stops where a reader would have to build too much.

    A cell at the far corner of a sheet, or one that is repeated a million times, takes a few bytes in the file.
    """

    def __init__(self, texts: Sequence[int] = ()) -> None:
        self.tables: list[Table] = []
        self.texts = texts
        self.area = self.built = self.times = 0
        self.names_text = self.is_value = False
        self.value = ""

    def start(self, tag: str, attrs: Mapping[str, str]) -> None:
        name = tag.rpartition("}")[2]
        own = {key.rpartition("}")[2]: value for key, value in attrs.items()}
        if name in ("worksheet", "table"):
            self.tables.append(Table())
        elif self.tables:
            self.meet(name, own, self.tables[-1])

    def data(self, text: str) -> None:
        """A text between elements: the number of a shared one, or one that a cell of an ODS repeats."""
        if self.is_value and len(self.value) < 9:
            self.value += text
        if self.times:
            self.build(len(text) * self.times)

    def meet(self, name: str, own: Mapping[str, str], table: Table) -> None:
        if name == "c":
            self.names_text = own.get("t") == "s"
        if name == "col" and own.get("hidden") in ("1", "true"):
            table.hidden.update(range(_count(own, "min") - 1, min(FAR, _count(own, "max"))))
        elif name == "table-column":
            times = min(FAR, _count(own, "number-columns-repeated"))
            if own.get("visibility") in ("collapse", "filter"):
                table.hidden.update(range(table.column, table.column + times))
            table.column += times
        elif name in ("f", "shared"):
            table.formulas += 1
        elif name == "v":
            self.is_value = self.names_text
        elif name == "c" and (at := re.fullmatch(r"\$?([A-Z]{1,3})\$?(\d{1,7})", own.get("r", ""))):
            self.reach(int(at[2]), find_column(at[1]) + 1, 1)
        elif name == "row":
            table.row = max(_count(own, "r"), table.row + 1)
            self.reach(table.row, 0, 0)
            if own.get("hidden") in ("1", "true"):
                table.hidden_rows.add(table.row - 1)
        elif name == "table-row":
            table.row, table.column = table.row + table.repeat, 0
            table.repeat = _count(own, "number-rows-repeated")
            if own.get("visibility") in ("collapse", "filter"):
                table.hidden_rows.update(range(table.row, min(MOST_ROWS, table.row + table.repeat)))
        elif name in ("table-cell", "covered-table-cell"):
            times = _count(own, "number-columns-repeated")
            table.column += times
            table.formulas += "formula" in own
            if "value-type" in own or "formula" in own:
                self.reach(table.row + table.repeat, table.column, times * table.repeat)
                self.times = times * table.repeat
                self.build(len(own.get("string-value", "")) * self.times)

    def reach(self, row: int, column: int, cells: int) -> None:
        check_size(row, column, row)
        self.area += cells
        check_cells(self.area)

    def end(self, tag: str) -> None:
        """At the end of a value, what its text comes to is counted: nothing else is kept."""
        if self.is_value and tag.endswith("}v"):
            number = int(self.value) if re.fullmatch(r"\d{1,8}", self.value.strip()) else len(self.texts)
            self.is_value, self.value = False, ""
            self.build(self.texts[number] if number < len(self.texts) else 0)
        elif tag.endswith("table-cell"):
            self.times = 0

    def build(self, length: int) -> None:
        """So much text would be built."""
        self.built += length
        if self.built > LARGEST_UNPACKED:
            message = f"the texts of its cells come to more than {LARGEST_UNPACKED:,} characters"
            raise Unreadable(message, "save the sheet by itself, or as CSV", rule="hostile")

    def close(self) -> Look:
        """What was seen."""
        return self


def _count(own: Mapping[str, str], key: str) -> int:
    text = own.get(key, "1")
    return int(text) if re.fullmatch(r"\d{1,8}", text) else 1


class Texts:
    """Goes through the texts that the cells of an XLSX share, and keeps how long each is."""

    def __init__(self) -> None:
        self.lengths: list[int] = []

    def start(self, tag: str, attrs: Mapping[str, str]) -> None:
        """At the beginning of a text."""
        if tag.endswith("}si"):
            self.lengths.append(0)

    def data(self, text: str) -> None:
        """A part of one."""
        if self.lengths:
            self.lengths[-1] += len(text)

    def end(self, tag: str) -> None:
        """Nothing is kept, so nothing ends."""

    def close(self) -> list[int]:
        """How long each is."""
        return self.lengths


def _measure_texts(parts: Mapping[str, bytes]) -> list[int]:
    """How long each shared text is; of several lists of them, the longest at each number."""
    found = [read_stream(part, Texts()) for part in parts.values() if b"<si" in part or b":si" in part]
    return [max(lengths) for lengths in itertools.zip_longest(*found, fillvalue=0)]
