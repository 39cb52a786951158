"""Spreadsheets as people keep them become the orders that an owner would have typed; a wrong guess is told or shown."""

from __future__ import annotations

import csv
import datetime
import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from buildlog.bring.sheets import read_cell_amount, read_csv, read_day
from tests.bring.drawers import HEAD, list_lines, list_problems, plan, put, start_log, write

SEMICOLONS = """\
Datum;Lieferant;Beleg;Artikel;Menge;Einzelpreis;Betrag
16.05.2024;Kanaal Motordelen;KM-77120;Förderpumpe;1;1.118,40;1.118,40
16.05.2024;Kanaal Motordelen;KM-77120;Dichtung;2;7,35;14,70
"""
TWO = [
    "Kanaal Motordelen KM-77120 2024-05-16: 1 Förderpumpe 1118.40",
    "Kanaal Motordelen KM-77120 2024-05-16: 2 Dichtung 7.35",
]
HOSE = ["A. Seller 17 2024-05-16: 5 Hose 6.10"]


def make_xlsx(fill: Callable[[Any], object]) -> bytes:
    """A workbook with one sheet, as openpyxl writes it."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Receipts"
    fill(sheet)
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def fill_plain(sheet: Any) -> None:
    sheet.append(["Date", "Supplier", "Receipt", "Item", "Qty", "Each", "Total"])
    sheet.append([datetime.date(2024, 5, 16), "A. Seller", 17, "Hose", 5, 6.1, 30.5])


def fill_titled(sheet: Any) -> None:
    """Merged rows of titles above the headings, a total below the last row."""
    sheet["A1"] = "What the car cost so far"
    sheet.merge_cells("A1:G2")
    sheet.append([])
    fill_plain(sheet)
    sheet.append(["Total", None, None, None, None, None, 30.5])


def fill_hidden(sheet: Any) -> None:
    """A hidden column whose heading means what another one's does."""
    sheet.append(["Total", "Date", "Supplier", "Receipt", "Item", "Qty", "Each", "Amount"])
    sheet.append([99, datetime.date(2024, 5, 16), "A. Seller", "17", "Hose", 5, 6.1, 30.5])
    sheet.column_dimensions["A"].hidden = True


def fill_filtered(sheet: Any) -> None:
    """Rows that a filter hides, as it is left on by accident."""
    sheet.append(["Date", "Supplier", "Receipt", "Item", "Qty", "Each", "Total"])
    for n in range(1, 6):
        sheet.append([datetime.date(2024, 5, n), "A. Seller", f"R-{n}", "Hose", 1, 6.1, 6.1])
    for row in (3, 5, 6):
        sheet.row_dimensions[row].hidden = True


def make_computed(kept: str) -> bytes:
    """A workbook whose total is a formula, with what was last computed of it; openpyxl writes no such value."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(make_xlsx(fill_plain))) as old, zipfile.ZipFile(made, "w") as new:
        for item in old.infolist():
            part = old.read(item)
            if item.filename.endswith("sheet1.xml"):
                assert b"<v>30.5</v>" in part
                part = part.replace(b"<v>30.5</v>", b"<f>E2*F2</f>" + kept.encode())
            new.writestr(item.filename, part)
    return made.getvalue()


SPACE = "urn:oasis:names:tc:opendocument:xmlns"
ODS = (
    f'<office:document-content xmlns:office="{SPACE}:office:1.0" xmlns:table="{SPACE}:table:1.0" '
    f'xmlns:text="{SPACE}:text:1.0" office:version="1.3"><office:body><office:spreadsheet>'
    '<table:table table:name="Bons">{rows}<table:table-row table:number-rows-repeated="1048000">'
    '<table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>'
    "</office:spreadsheet></office:body></office:document-content>"
)


def make_ods(*rows: list[object]) -> bytes:
    """A spreadsheet in OpenDocument 1.3 (part 3, chapters 3 and 9), with the empty rest of its sheet."""

    def cell(value: object) -> str:
        if value is None:
            return "<table:table-cell/>"
        if isinstance(value, datetime.date):
            return f'<table:table-cell office:value-type="date" office:date-value="{value}"/>'
        if isinstance(value, float | int):
            shown = f"<text:p>{value}</text:p>"
            return f'<table:table-cell office:value-type="float" office:value="{value}">{shown}</table:table-cell>'
        return f'<table:table-cell office:value-type="string"><text:p>{value}</text:p></table:table-cell>'

    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
    )
    body = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr("META-INF/manifest.xml", manifest)
        packed.writestr("content.xml", ODS.format(rows=body))
    return made.getvalue()


SHAPES: dict[str, tuple[str, str | bytes, list[str]]] = {
    "semicolons, decimal commas, dotted days": ("r.csv", SEMICOLONS, TWO),
    "Latin-1": ("r.csv", SEMICOLONS.encode("latin-1"), TWO),
    "UTF-8 with BOM": ("r.csv", b"\xef\xbb\xbf" + SEMICOLONS.encode(), TWO),
    "UTF-16 with tabs": ("r.csv", SEMICOLONS.replace(";", "\t").encode("utf-16"), TWO),
    "CRLF, quotes, sep= in front": (
        "r.csv",
        "sep=,\r\n" + HEAD.replace("\n", "\r\n") + '2024-05-16,"A. Seller",17,"Hose",5,6.10,30.50\r\n',
        HOSE,
    ),
    "a cell of two lines": (
        "r.csv",
        HEAD + '2024-05-16,A. Seller,17,"Hose,\n8 mm ""thick""",5,6.10,30.50\n',
        ['A. Seller 17 2024-05-16: 5 Hose, 8 mm "thick" 6.10'],
    ),
    "merged title rows, a totals row, XLSX": ("r.xlsx", make_xlsx(fill_titled), HOSE),
    "titles and totals in a CSV": (
        "r.csv",
        f"What the car cost,,,,,,\n,,,,,,\n{HEAD}2024-05-16,A. Seller,17,Hose,5,6.10,30.50\n,,,,,Total:,30.50\n",
        HOSE,
    ),
    "a refund below zero": (
        "r.csv",
        HEAD + "2024-05-16,A. Seller,17,Hose,5,6.10,30.50\n2024-05-20,A. Seller,18,Hose back,1,,-6.10\n",
        [*HOSE, "A. Seller 18 2024-05-20: 1 Hose back -6.10 in all"],
    ),
    "refunds in brackets and with the minus behind": (
        "r.csv",
        "Date;Supplier;Item;Total\n2024-05-16;A. Seller;Back;(6.10)\n2024-05-17;A. Seller;Back;6.20-\n",
        ["A. Seller - 2024-05-16: 1 Back -6.10 in all", "A. Seller - 2024-05-17: 1 Back -6.20 in all"],
    ),
    "the currency in the cell": (
        "r.csv",
        "Date;Supplier;Item;Total\n16/05/2024;A. Seller;Hose;€ 30,50\n17/05/2024;A. Seller;Clip;1,20 EUR\n",
        ["A. Seller - 2024-05-16: 1 Hose 30.50 in all", "A. Seller - 2024-05-17: 1 Clip 1.20 in all"],
    ),
    "days as month/day/year": ("r.csv", HEAD + "5/16/2024,A. Seller,17,Hose,5,6.10,30.50\n", HOSE),
    "days as year-month-day": ("r.csv", HEAD + "2024-05-16,A. Seller,17,Hose,5,6.10,30.50\n", HOSE),
    "days as day.month.year of two digits": ("r.csv", HEAD + "16.5.24,A. Seller,17,Hose,5,6.10,30.50\n", HOSE),
    "receipts of several lines, said once": (
        "r.csv",
        HEAD
        + "2024-05-16,A. Seller,17,Hose,5,6.10,30.50\n,,,Clip,4,0.30,1.20\n2024-05-16,B. Seller,,Nut,1,0.10,0.10\n",
        [*HOSE, "A. Seller 17 2024-05-16: 4 Clip 0.30", "B. Seller - 2024-05-16: 1 Nut 0.10"],
    ),
    "formulas in a CSV, where nothing needs them": (
        "r.csv",
        HEAD + "2024-05-16,A. Seller,17,=HYPERLINK(1),5,6.10,30.50\n",
        ["A. Seller 17 2024-05-16: 5 =HYPERLINK(1) 6.10"],
    ),
    "formulas in a workbook, as they were last computed": ("r.xlsx", make_computed("<v>30.5</v>"), HOSE),
    "hidden rows": (
        "r.xlsx",
        make_xlsx(fill_filtered),
        [f"A. Seller R-{n} 2024-05-0{n}: 1 Hose 6.10" for n in range(1, 6)],
    ),
    "a hidden column": ("r.xlsx", make_xlsx(fill_hidden), HOSE),
    "XLSX with real days and numbers": ("r.xlsx", make_xlsx(fill_plain), HOSE),
    "ODS": (
        "r.ods",
        make_ods(
            ["Datum", "Winkel", "Bon", "Omschrijving", "Aantal", "Prijs", "Totaal"],
            [datetime.date(2024, 5, 16), "A. Seller", "17", "Hose", 5, 6.1, 30.5],
        ),
        HOSE,
    ),
    "quantities with their unit, blanks between thousands": (
        "r.csv",
        "Datum;Winkel;Artikel;Aantal;Bedrag\n16-05-2024;A. Seller;Hose;5 m;1 030,50\n",
        ["A. Seller - 2024-05-16: 5 Hose 1030.50 in all"],
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_a_shape_becomes_its_orders(shape: str, tmp_path: Path) -> None:
    """Each line with its day, supplier, number, quantity and amount, to the cent, in a log that `check` finds sound."""
    name, content, lines = SHAPES[shape]
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {name: content})
    done = write(log, drawer)
    assert done.exit_code == 0, done.output
    assert list_lines(log) == lines


ROWS = [
    ["Date", "Supplier", "Item", "Total"],
    ["2024-05-16", "Hof & Sohn, Nord", 'Hose, 8 mm "thick"', "30.50"],
    ["2024-05-17", "A|B;C", "two\nlines", "-1.20"],
    ["2024-05-18", "It's", "x\ty", ""],
]


@pytest.mark.outside
@pytest.mark.parametrize("quoting", [csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC])
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("sign", [*",;|\t"])
def test_dialects_of_the_standard_library(sign: str, end: str, quoting: Any) -> None:
    """What its writer makes of any separator, line end and quoting is read back cell by cell, and nobody is asked."""
    # a line end within a cell is that of the file: of another one some versions of the writer forget the quotes
    rows = [[cell.replace("\n", end) for cell in row] for row in ROWS]
    made = io.StringIO(newline="")
    csv.writer(made, delimiter=sign, lineterminator=end, quoting=quoting).writerows(rows)
    sheet = read_csv(made.getvalue().encode(), {})
    assert [[cell or "" for cell in row] for row in sheet.rows] == rows


@pytest.mark.outside
@pytest.mark.parametrize("dialect", csv.list_dialects())
def test_named_dialects_of_the_standard_library(dialect: str) -> None:
    """Those that it has by name: excel, excel-tab and unix."""
    made = io.StringIO(newline="")
    csv.writer(made, dialect).writerows(ROWS)
    assert [[cell or "" for cell in row] for row in read_csv(made.getvalue().encode(), {}).rows] == ROWS


def test_one_read_row_is_told_in_words(tmp_path: Path) -> None:
    """A wrong guess cannot be missed: the plan says what it takes the first receipt for, before anything is written."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": SEMICOLONS})
    made = plan(drawer, "--log", log)
    says = [one["says"] for one in made["read"]]
    assert says[0] == "text in utf-8, cells between `;`"
    assert says[1] == "days are day-month-year, decimals have a comma"
    assert (
        "read like this, rows 2 to 3: on 16 May 2024, bought from Kanaal Motordelen, number KM-77120: Förderpumpe for "
        "1118.40 EUR, and 1 more line" in says
    )
    assert says[-1] == (
        "columns: date = Datum, supplier = Lieferant, ref = Beleg, what = Artikel, qty = Menge, each = Einzelpreis, "
        "total = Betrag"
    )


HIDDEN_ROW = "<table:table-row>", '<table:table-row table:visibility="collapse">'


def make_hidden_ods() -> bytes:
    """Three rows, of which the last two are hidden."""
    rows = [["Date", "Supplier", "Receipt", "Item", "Total"]]
    rows += [[f"2024-05-0{n}", "A. Seller", f"R-{n}", "Hose", "6.10"] for n in (1, 2, 3)]
    made, old = io.BytesIO(), zipfile.ZipFile(io.BytesIO(make_ods(*rows)))
    with zipfile.ZipFile(made, "w") as new:
        for item in old.infolist():
            text = old.read(item).decode()
            head, *parts = text.split("<table:table-row>")
            shown = "<table:table-row>".join([head, *parts[:2]])
            new.writestr(item.filename, shown + "".join(HIDDEN_ROW[1] + part for part in parts[2:]))
    return made.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "rows", "kept"),
    [
        ("r.xlsx", make_xlsx(fill_filtered), "rows 3 and 5 to 6", ["R-1", "R-3"]),
        ("r.ods", make_hidden_ods(), "rows 3 to 4", ["R-1"]),
    ],
)
def test_what_is_hidden_is_told(name: str, data: bytes, rows: str, kept: list[str], tmp_path: Path) -> None:
    """Hidden rows are receipts all the same: they are read, the plan names them, and a mapping can leave them out."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {name: data})
    says = [one["says"] for one in plan(drawer, "--log", log)["read"]]
    assert f"hidden {rows}: read like the others, unless a mapping says `hidden_rows: skip`" in says
    (tmp_path / "m.yaml").write_text("hidden_rows: skip", encoding="utf-8")
    made = plan(drawer, "--log", log, "--mapping", tmp_path / "m.yaml")
    assert f"hidden {rows}: left out, as the mapping says" in [one["says"] for one in made["read"]]
    assert [order["ref"] for entry in made["entries"] for order in entry["orders"]] == kept
    assert "hidden_rows: skip" in made["mappings"][f"drawer/{name}"]


def test_hidden_columns_and_sheets_are_told(tmp_path: Path) -> None:
    """Both are left aside, and the plan says which they are."""

    def fill(sheet: Any) -> None:
        fill_hidden(sheet)
        other = sheet.parent.create_sheet("Old ones")
        fill_plain(other)
        other.sheet_state = "hidden"

    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.xlsx": make_xlsx(fill)})
    says = [one["says"] for one in plan(drawer, "--log", log)["read"]]
    assert "hidden columns, left aside unless a mapping names them: Total" in says
    assert "hidden, and left aside unless a mapping names it: the sheet `Old ones`" in says


def test_a_formula_that_was_never_computed_is_no_amount(tmp_path: Path) -> None:
    """Nothing is computed of it here: where no value was kept, the price and the quantity say what was paid."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.xlsx": make_computed("")})
    made = plan(drawer, "--log", log)
    assert [order["total"] for entry in made["entries"] for order in entry["orders"]] == ["30.50"]
    assert "1 cell with a formula: what was last computed is read" in [one["says"] for one in made["read"]]


UNTOLD = {
    "days": (
        "Date,Supplier,Total\n05/06/2024,A,12.50\n",
        "`05/06/2024` may be `day-month-year` or `month-day-year`: nothing in this file says which",
    ),
    "decimals": (
        "Date;Supplier;Total\n2024-05-16;A;1,234\n",
        "`1,234` may be 1234 or 1.234: nothing in this file says which",
    ),
    "headings": ("a,b,c\n1,2,3\n", "no row of headings is known among the first 30"),
    "supplier": ("Date,Item,Total\n2024-05-16,Hose,12.50\n", "no column says who sold it"),
    "amount": ("Date,Supplier,Item\n2024-05-16,A,Hose\n", "no column says what was paid"),
    "several dollars": ("Date,Supplier,Total\n2024-05-16,A,$12.50\n", "row 2: `$` stands for more than one currency"),
    "tax": (
        "Date,Supplier,Total,VAT\n2024-05-16,A,12.50,20\n",
        "row 2: nothing says whether these prices include tax",
    ),
}


@pytest.mark.parametrize("what", UNTOLD)
def test_what_the_file_does_not_tell_is_asked(what: str, tmp_path: Path) -> None:
    """Nothing is guessed where two readings are as likely: the file is left out until a mapping settles it."""
    text, message = UNTOLD[what]
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": text})
    made = plan(drawer, "--log", log)
    assert made["entries"] == []
    assert message in list_problems(made)[0]


SETTLED = {
    "days": ("Date,Supplier,Total\n05/06/2024,A,12.50\n", "dates: month-day-year", "2024-05-06: 1 Not itemised 12.50"),
    "decimals": ("Date;Supplier;Total\n2024-05-16;A;1,234\n", "decimals: point", "2024-05-16: 1 Not itemised 1234.00"),
    "supplier": (
        "Date,Item,Total\n2024-05-16,Hose,12.50\n", "always: {supplier: A}", "2024-05-16: 1 Hose 12.50"
    ),
    "no headings": (
        "2024-05-16,A,Hose,12.50\n", "header: 0\ncolumns: {date: A, supplier: B, what: C, total: D}",
        "2024-05-16: 1 Hose 12.50",
    ),
    "other names": (
        "Wann,Wo,Was,Wieviel\n2024-05-16,A,Hose,12.50\n",
        "columns: {date: Wann, supplier: Wo, what: Was, total: Wieviel}", "2024-05-16: 1 Hose 12.50",
    ),
    "separator and encoding": (
        "Date!Supplier!Item!Total\n2024-05-16!A!Hose!12.50\n", "separator: '!'\nencoding: ascii",
        "2024-05-16: 1 Hose 12.50",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", SETTLED)
def test_a_mapping_settles_it(what: str, tmp_path: Path) -> None:
    """What a mapping says holds for every row; what it does not say is found as before."""
    text, mapping, line = SETTLED[what]
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": text})
    (tmp_path / "mapping.yaml").write_text(mapping, encoding="utf-8")
    done = write(log, drawer, "--mapping", tmp_path / "mapping.yaml")
    assert done.exit_code == 0, done.output
    assert list_lines(log) == [f"A - {line} in all"]


def test_how_it_was_read_can_be_kept(tmp_path: Path) -> None:
    """The mapping that is written settles what was guessed: read by it, the same file makes the same plan."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": SEMICOLONS})
    kept = tmp_path / "kept.yaml"
    first = plan(drawer, "--log", log, "--save-mapping", kept)
    assert "dates: day-month-year" in kept.read_text(encoding="utf-8")
    again = plan(drawer, "--log", log, "--mapping", kept)
    assert again["entries"] == first["entries"]
    assert again["mappings"] == {"drawer/r.csv": kept.read_text(encoding="utf-8")}


def test_rows_that_cannot_be_read_are_left_out_loudly(tmp_path: Path) -> None:
    """Each with its number and column, and its receipt with it: half a receipt would be wrong money."""
    text = HEAD + (
        "2024-05-16,A,17,Hose,5,6.10,30.50\n"
        "2024-05-17,B,18,Clip,1,twelve,12.00\n"
        "2024-05-17,B,18,Nut,1,1.00,1.00\n"
        "18.05.2024,C,19,Bolt,1,1.00,1.00\n"
        "2024-05-19,D,20,Pin,2,1.00,3.00\n"
        "2024-05-20,E,21,Cap,1,,\n"
    )
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": text})
    made = plan(drawer, "--log", log)
    assert list_problems(made) == [
        "3 Each: row 3: `twelve` is no number with a decimal point; it is left out",
        "5 Date: row 5: `18.05.2024` is no day written as year-month-day; it is left out",
        "7 Total: row 7: this row says no amount; it is left out",
    ]
    assert list_problems(made, "warning") == [
        "4 : 1 row of the same receipt is left out with row 3",
        "6 Total: 2 × 1.00 is 2.00, but this row says 3.00",
    ]
    assert [entry["title"] for entry in made["entries"]] == ["Bought from A", "Bought from D"]


def test_a_total_that_is_none_is_told(tmp_path: Path) -> None:
    """The row of the total is no receipt; where it is not the sum of the rows above, one of them was not read."""
    text = HEAD + "2024-05-16,A,17,Hose,5,6.10,30.50\n,,,,,Total,31.50\n"
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": text})
    [warning] = list_problems(plan(drawer, "--log", log), "warning")
    assert warning == "3 : row 3 says 31.50 in total, but the rows above it come to 30.50"


def test_receipts_in_another_currency_need_a_rate(tmp_path: Path) -> None:
    """What a paid receipt cost at home is never guessed: one problem for each currency, and none of them is written."""
    text = "Date,Supplier,Item,Total\n2024-05-16,A,Hose,GBP 30.50\n2024-05-17,A,Clip,GBP 1.20\n"
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": text})
    made = plan(drawer, "--log", log)
    assert list_problems(made) == ["2 : 2 paid bills in GBP, and nothing tells what they cost in EUR"]
    assert made["entries"] == []
    done = write(log, drawer, "--rate", "GBP=1.17")
    assert done.exit_code == 0, done.output
    assert list_lines(log) == ["A - 2024-05-16: 1 Hose 30.50 in all", "A - 2024-05-17: 1 Clip 1.20 in all"]


def test_a_thousand_receipts_take_as_many_steps_each(tmp_path: Path) -> None:
    """Twice as many receipts take about twice the work: a drawer of two years is no matter of minutes."""
    from tests.work import grows_with_its_input

    def make(size: int) -> Callable[[], object]:
        rows = "".join(f"2024-{1 + n % 12:02}-{1 + n % 28:02},A. Seller,R{n},Hose,1,6.10,6.10\n" for n in range(size))
        log = start_log(tmp_path / f"log{size}")
        drawer = put(tmp_path / f"drawer{size}", {"r.csv": HEAD + rows})
        return lambda: plan(drawer, "--log", log)

    assert grows_with_its_input(make, 60) < 2.6


def test_cells_of_blanks_take_no_time(tmp_path: Path) -> None:
    """A cell that is far too long for an amount or a day is not looked through again and again."""
    from tests.work import grows_with_its_input

    def make(size: int) -> Callable[[], object]:
        cell = "1" + " " * size + "x"
        return lambda: (read_cell_amount(cell, "point"), read_day(cell, "day-month-year"))

    assert grows_with_its_input(make, 30_000) < 2.2
    assert make(60_000)() == (None, None)
