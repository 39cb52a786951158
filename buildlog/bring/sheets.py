"""What stands in the cells of a spreadsheet: CSV of any common dialect and encoding, XLSX, ODS.

Texts stay as they are written; only what the file itself says is a number or a day is one. What the cells mean is
for `columns`.
"""

from __future__ import annotations

import codecs
import csv
import datetime
import io
import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from buildlog.bring.sources import Unreadable, need, read_stream, unpack
from buildlog.frozen import frozen
from buildlog.text import count, join_words

MOST_ROWS = 20_000
"Rows of one sheet: ten receipts a day for five years."
MOST_COLUMNS = 200
"Columns of one sheet."
MOST_CELLS = 400_000
"Cells of one sheet with anything in them, or between two that have: 20 a row."
LARGEST_TEXT = 8_000_000
"Bytes of a CSV: 400 a row."
LONGEST_SAMPLE = 100_000
"Characters by which a separator is found."
SEPARATORS = ";,\t|"
SIGNIFICANT = ".15g"
"A spreadsheet keeps fifteen digits of a number (ECMA-376, 18.3.1.96, as IEEE 754 doubles); more are noise of its sums."

Cell = str | Decimal | datetime.date | None
"None: empty. A text is as it was typed, less the blanks around it."


@frozen
class Sheet:
    """One table of cells, as it stands in the file."""

    rows: tuple[tuple[Cell, ...], ...]
    "each as long as it is written"
    lines: tuple[int, ...]
    "for each row its number, counted from 1; of a CSV, its first line in the file"
    said: tuple[str, ...]
    "how it was read, a sentence each"
    name: str | None = None
    "of the sheet; None: a CSV has none"
    hidden: frozenset[int] = frozenset()
    "columns that are hidden in the file, counted from 0"
    hidden_rows: frozenset[int] = frozenset()
    "rows that are hidden in the file, as by a filter, counted from 0; those alone that have anything in them"


def read_sheet(data: bytes, suffix: str, settled: Mapping[str, str]) -> Sheet:
    """The sheet that `settled` names, or the first one with anything in it; raises `Unreadable`.

    `settled` may say `sheet`, and of a CSV `encoding` and `separator`, as a mapping does.
    """
    if data.startswith(b"PK\x03\x04"):
        return _read_workbook(data, settled)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise Unreadable("this is a spreadsheet of an older form, or locked", "save it as XLSX or CSV", rule="format")
    if suffix in (".xlsx", ".xlsm", ".ods"):
        raise Unreadable("this is no spreadsheet, whatever its name says", "save it again, or as CSV", rule="damaged")
    return _read_csv(data, settled)


# ── CSV ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _read_csv(data: bytes, settled: Mapping[str, str]) -> Sheet:
    """RFC 4180 and its relatives: another separator, blanks, `sep=` in front, line ends of any system."""
    if len(data) > LARGEST_TEXT:
        message = f"this file has {len(data):,} bytes, more than the {LARGEST_TEXT:,} of a CSV that are read"
        raise Unreadable(message, "bring it in in parts", rule="too-large")
    text, encoding = _decode(data, settled.get("encoding"))
    told = re.match(r"sep=(.)\r?\n", text)  # some spreadsheets put their separator in front
    separator = settled.get("separator") or (told[1] if told else _find_separator(text))
    separator = {"tab": "\t", "\\t": "\t"}.get(separator, separator)
    if len(separator) != 1:
        raise Unreadable(f"`{separator}` is no separator", "write one sign, or `tab`", rule="mapping")
    rows, lines = [], []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    first, cells = 1, 0
    try:
        for row in reader:
            if not (told and first == 1):
                rows.append(tuple(cell.strip() or None for cell in row))
                lines.append(first)
            first, cells = reader.line_num + 1, cells + len(row)
            _check_size(len(rows), len(row), first)
            _check_cells(cells)
    except csv.Error as error:
        raise Unreadable(
            f"this row cannot be read ({error})", "look for a quote that is not closed", line=first
        ) from None
    shown = {"\t": "tabs"}.get(separator, f"`{separator}`")
    return Sheet(rows=tuple(rows), lines=tuple(lines), said=(f"text in {encoding}, cells between {shown}",))


def _decode(data: bytes, told: str | None) -> tuple[str, str]:
    """The text, and the encoding that it was read by."""
    if told:
        try:
            return data.decode(codecs.lookup(told).name), told
        except (LookupError, UnicodeError) as error:
            raise Unreadable(
                f"this file is not text in {told} ({error})", "correct `encoding:`", rule="encoding"
            ) from None
    for mark, name in (
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if data.startswith(mark):
            try:
                return data.decode(name), name.removesuffix("-sig")
            except UnicodeDecodeError as error:
                raise Unreadable(
                    f"this file is not whole ({error})", "save it again as UTF-8", rule="encoding"
                ) from None
    if b"\0" in data:
        raise Unreadable("this is no text, and no spreadsheet that can be read", "save it as CSV", rule="encoding")
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        # what spreadsheets of Western Europe write, and all of ISO 8859-1 that can be seen
        return data.decode("cp1252", "replace"), "windows-1252"


def _find_separator(text: str) -> str:
    """The sign that parts most rows into the same number of cells, more than one; a comma where none does."""
    sample = "".join(text[:LONGEST_SAMPLE].splitlines(keepends=True)[:50])
    best = (0, 0)
    found = ","
    for sign in SEPARATORS:
        try:
            widths = [len(row) for row in csv.reader(io.StringIO(sample, newline=""), delimiter=sign) if row]
        except csv.Error:
            continue
        usual = max(set(widths), key=lambda width: (widths.count(width) * (width > 1), width), default=0)
        score = (widths.count(usual), usual) if usual > 1 else (0, 0)
        if score > best:
            best, found = score, sign
    return found


def _check_size(rows: int, columns: int, line: int) -> None:
    if rows > MOST_ROWS:
        raise Unreadable(
            f"this sheet has more than {MOST_ROWS:,} rows", "bring it in in parts", line=line, rule="too-large"
        )
    if columns > MOST_COLUMNS:
        message = f"this sheet has more than {MOST_COLUMNS} columns"
        raise Unreadable(message, "keep those that say what was bought", line=line, rule="too-large")


def _check_cells(cells: int) -> None:
    if cells > MOST_CELLS:
        message = f"this sheet has more than {MOST_CELLS:,} cells"
        raise Unreadable(message, "keep the columns that say what was bought", rule="too-large")


# ── workbooks ────────────────────────────────────────────────────────────────────────────────────────────────────


def _read_workbook(data: bytes, settled: Mapping[str, str]) -> Sheet:
    """A sheet of an XLSX (ECMA-376) or ODS file, its cells with the values that were last computed."""
    calamine = need("python_calamine", "XLSX and ODS")
    looks = [_look_through(name, part) for name, part in unpack(data).items() if SHEET_PART.fullmatch(name)]
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
    return _make_sheet(filled, grids, looks, book.sheet_names, [each for each in book.sheet_names if each not in shown])


def _make_sheet(
    filled: Sequence[str], grids: Mapping[str, Any], looks: Sequence[Look], names: Sequence[str], hidden: Sequence[str]
) -> Sheet:
    chosen, *others = filled
    hidden = [each for each in hidden if each != chosen]
    rows = tuple(tuple(map(_read_cell, row)) for row in grids[chosen])
    said = [f"the sheet `{chosen}`"]
    said += [f"left aside: {', '.join(f'the sheet `{each}`' for each in others)}"] if others else []
    said += [f"hidden, and left aside unless a mapping names it: the sheet `{each}`" for each in hidden]
    # an ODS has all its sheets in one part, an XLSX one a sheet, in order
    at = names.index(chosen)
    told = [each for look in looks for each in look.tables]
    look = told[at] if at < len(told) else Table()
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


SHEET_PART = re.compile(r"xl/worksheets/sheet\d+\.xml|content\.xml")
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

    def __init__(self) -> None:
        self.tables: list[Table] = []
        self.area = 0

    def start(self, tag: str, attrs: Mapping[str, str]) -> None:
        name = tag.rpartition("}")[2]
        own = {key.rpartition("}")[2]: value for key, value in attrs.items()}
        if name in ("worksheet", "table"):
            self.tables.append(Table())
        elif self.tables:
            self.meet(name, own, self.tables[-1])

    def meet(self, name: str, own: Mapping[str, str], table: Table) -> None:
        if name == "col" and own.get("hidden") in ("1", "true"):
            table.hidden.update(range(_count(own, "min") - 1, min(FAR, _count(own, "max"))))
        elif name == "table-column":
            times = min(FAR, _count(own, "number-columns-repeated"))
            if own.get("visibility") in ("collapse", "filter"):
                table.hidden.update(range(table.column, table.column + times))
            table.column += times
        elif name in ("f", "shared"):
            table.formulas += 1
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

    def reach(self, row: int, column: int, cells: int) -> None:
        _check_size(row, column, row)
        self.area += cells
        _check_cells(self.area)

    def end(self, tag: str) -> None:
        """Nothing is kept, so nothing ends."""

    def close(self) -> None:
        """Nothing was built."""


def _count(own: Mapping[str, str], key: str) -> int:
    text = own.get(key, "1")
    return int(text) if re.fullmatch(r"\d{1,8}", text) else 1


def _look_through(name: str, part: bytes) -> Look:
    look = Look()
    read_stream(part, look)
    return look


def find_column(letters: str) -> int:
    """The column that a spreadsheet calls so, counted from 0: A, B … Z, AA."""
    number = 0
    for sign in letters:
        number = number * 26 + ord(sign) - ord("A") + 1
    return number - 1


def name_column(number: int) -> str:
    """What a spreadsheet calls a column that is counted from 0."""
    letters = ""
    for _ in itertools.repeat(None, 4):
        letters = chr(ord("A") + number % 26) + letters
        number = number // 26 - 1
        if number < 0:
            break
    return letters


def name_rows(rows: Iterable[int], most: int = 8) -> str:
    """Rows that are counted from 0 as their owner sees them: `4 and 7 to 9`."""
    runs: list[list[int]] = []
    for row in sorted(rows):
        if runs and runs[-1][1] == row:
            runs[-1][1] = row + 1
        else:
            runs.append([row + 1, row + 1])
    names = [f"{first}" if first == last else f"{first} to {last}" for first, last in runs]
    return join_words(names[:most] + ([f"{len(names) - most} more"] if len(names) > most else []))
