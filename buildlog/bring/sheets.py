"""What stands in the cells of a spreadsheet, and in which notation its days and amounts are.

CSV of any common dialect and encoding is read here, XLSX and ODS by `workbooks`. Texts stay as they are written; only
what the file itself says is a number or a day is one. A notation is found once for a whole file, from all its cells
together, and never row by row; where two read them equally well, and differently, its owner is asked. What the cells
mean is for `columns`.
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

from buildlog.bring.sources import Unreadable
from buildlog.frozen import frozen
from buildlog.read.numbers import MOST_DIGITS
from buildlog.text import cut, join_words

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


# ── CSV ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def read_csv(data: bytes, settled: Mapping[str, str]) -> Sheet:
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
            check_size(len(rows), len(row), first)
            check_cells(cells)
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


def check_size(rows: int, columns: int, line: int) -> None:
    if rows > MOST_ROWS:
        raise Unreadable(
            f"this sheet has more than {MOST_ROWS:,} rows", "bring it in in parts", line=line, rule="too-large"
        )
    if columns > MOST_COLUMNS:
        message = f"this sheet has more than {MOST_COLUMNS} columns"
        raise Unreadable(message, "keep those that say what was bought", line=line, rule="too-large")


def check_cells(cells: int) -> None:
    if cells > MOST_CELLS:
        message = f"this sheet has more than {MOST_CELLS:,} cells"
        raise Unreadable(message, "keep the columns that say what was bought", rule="too-large")


# ── names ────────────────────────────────────────────────────────────────────────────────────────────────────────


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


DATES = {"year-month-day": "ymd", "day-month-year": "dmy", "month-day-year": "mdy"}
"The notations of days, by how a mapping names each."
DECIMALS = {"point": ".", "comma": ","}
LONGEST_VALUE = 40
"Characters of a day or an amount: what is longer is neither."
SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY", "zł": "PLN", "Fr.": "CHF", "CHF": "CHF", "Kč": "CZK"}
"Signs that stand for one currency; `$` and `kr` stand for several, so they have to be settled."
DAY_FORMS = {
    "ymd": re.compile(r"(?P<y>\d{4})[-./ ](?P<m>\d{1,2})[-./ ](?P<d>\d{1,2})"),
    "dmy": re.compile(r"(?P<d>\d{1,2})[-./ ]{1,2}(?P<m>\d{1,2})[-./ ]{1,2}(?P<y>\d{4}|\d{2})"),
    # with points it is day, month, year wherever it is written so
    "mdy": re.compile(r"(?P<m>\d{1,2})[-/ ](?P<d>\d{1,2})[-/ ](?P<y>\d{4}|\d{2})"),
}
CLOCK = re.compile(r"[ T]\d{1,2}:\d{2}(:\d{2})?( ?[AaPp][Mm])?$")


def read_day(cell: Cell, notation: str) -> datetime.date | None:
    """The day of a cell in the notation of its file; None where it is none."""
    if isinstance(cell, datetime.date):
        return cell
    short = isinstance(cell, str) and len(cell) <= LONGEST_VALUE
    found = DAY_FORMS[DATES[notation]].fullmatch(CLOCK.sub("", str(cell))) if short else None
    if not found:
        return None
    year = int(found["y"])
    try:
        # two digits: this century, as nobody brings in receipts of the last one by two digits
        return datetime.date(year + 2000 if year < 100 else year, int(found["m"]), int(found["d"]))
    except ValueError:
        return None


def find_notation(cells: Sequence[str]) -> str:
    """The one notation in which most cells are days; raises `Unreadable` where two read them equally well."""
    if not cells:
        return "year-month-day"
    read = {name: [read_day(cell, name) for cell in cells] for name in DATES}
    scores = {name: sum(day is not None for day in days) for name, days in read.items()}
    most = max(scores.values())
    best = [name for name, score in scores.items() if score == most]
    if most == 0:
        return "year-month-day"  # the cells hold real days, or each one is told with its row
    # where two notations give the same days, as 03/03/2024, it makes no difference
    if len({tuple(read[name]) for name in best}) > 1:
        words = join_words([f"`{name}`" for name in best], "or")
        shown = next(
            cell for cell, *days in zip(cells, *(read[name] for name in best), strict=True) if len({*days}) > 1
        )
        message = f"`{shown}` may be {words}: nothing in this file says which"
        raise Unreadable(message, f"dates: {best[0]} or dates: {best[-1]} in a mapping", at="dates", rule="mapping")
    return best[0]


GROUPS = "[ \u00a0\u202f\u2009'’]"
"Blanks and apostrophes between thousands."


def _make_form(point: str, other: str) -> re.Pattern[str]:
    groups = rf"\d{{1,3}}(?:{re.escape(other)}\d{{3}})+|\d{{1,3}}(?:{GROUPS}\d{{3}})+"
    return re.compile(rf"(?P<whole>\d+|{groups})?(?:{re.escape(point)}(?P<rest>\d+|-|–|—))?")


FORMS = {"point": _make_form(".", ","), "comma": _make_form(",", ".")}
BARE = {"point": re.compile(r"\d{1,9}(\.\d{1,6})?", re.ASCII), "comma": re.compile(r"\d{1,9}(,\d{1,6})?", re.ASCII)}
"What most cells are: read without looking for more."


def read_number(text: str, decimals: str) -> Decimal | None:
    """A bare number in the notation of its file; None where it is none."""
    plain = FORMS[decimals].fullmatch(text)
    if not plain or not (plain["whole"] or plain["rest"]):
        return None
    whole, rest = re.sub(r"\D", "", plain["whole"] or "0"), re.sub(r"\D", "", plain["rest"] or "")
    return Decimal(f"{whole}.{rest}" if rest else whole) if len(whole + rest) <= MOST_DIGITS else None


def read_cell_amount(cell: Cell, decimals: str) -> tuple[Decimal, str | None] | None:
    """The number of a cell and the currency that stands with it: its code, or its sign; None where it is none.

    `(12,50)`, `12,50-` and `-12,50 €` are below zero.
    """
    if isinstance(cell, Decimal):
        return cell, None
    if not isinstance(cell, str) or len(cell) > LONGEST_VALUE:
        return None
    if BARE[decimals].fullmatch(cell):
        return Decimal(cell.replace(",", ".")), None
    text, currency = _part_currency(cell)
    minus = re.fullmatch(r"\((.*)\)|[-−–]\s*(.*)|(.*?)\s*[-−–]", text)
    if minus and not re.search(r"[.,][-–—]$", text):
        text = next(group for group in minus.groups() if group is not None)
        # the sign may stand on the far side of the minus, as in `-€ 12,50`
        if currency is None:
            text, currency = _part_currency(text)
    number = read_number(text.strip(" \u00a0+"), decimals)
    if number is None:
        return None
    return (-number if minus and number else number), currency


def _part_currency(text: str) -> tuple[str, str | None]:
    """An amount without the currency around it, and that: a code, what a sign stands for, or the sign itself."""
    found = re.match(r"\s*([^\d\s().,+−–'’-]{1,4}\.?)?\s*(.*?)\s*([^\d\s().,+−–'’-]{1,4})?\s*$", text, re.DOTALL)
    if not found:
        return text, None
    sign = found[1] or found[3]
    if not sign or sign == "%":
        return found[2], None
    return found[2], SIGNS.get(sign, sign.upper() if sign.isascii() and sign.isalpha() else sign)


def find_decimals(cells: Sequence[str]) -> str:
    """The one notation in which most cells are numbers; raises `Unreadable` where both read them, and differently."""
    read = {name: [read_cell_amount(cell, name) for cell in cells] for name in DECIMALS}
    scores = {name: sum(number is not None for number in numbers) for name, numbers in read.items()}
    if scores["point"] != scores["comma"]:
        return max(scores, key=scores.__getitem__)
    for cell, one, other in zip(cells, read["point"], read["comma"], strict=True):
        if one != other:
            message = f"`{cut(cell, 30)}` may be {_show(one)} or {_show(other)}: nothing in this file says which"
            raise Unreadable(message, "decimals: point or decimals: comma in a mapping", at="decimals", rule="mapping")
    return "point"


def _show(amount: tuple[Decimal, str | None] | None) -> str:
    return f"{amount[0].normalize():f}" if amount else "no number"
