"""What lies in the drawer: each file is told apart by what is in it, and read; all that is wrong is told at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from buildlog.bring.bills import Bill, Origin
from buildlog.bring.paper_files import PaperFile
from buildlog.bring.payments import Payment
from buildlog.bring.sources import PICTURES, TABLES, Left, Source, Unreadable, list_sources, make_digest, read_tree
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem

if TYPE_CHECKING:
    from buildlog.bring.sheets import Sheet


class Sentence(NamedTuple):
    """How one source was read."""

    source: str
    "name of the file"
    says: str
    "one sentence without its full stop"


@frozen
class Drawer:
    """Everything that was read of all sources."""

    bills: tuple[Bill, ...] = ()
    "invoices first, then receipts of spreadsheets"
    payments: tuple[Payment, ...] = ()
    "of statements"
    papers: tuple[PaperFile, ...] = ()
    "that are to be filed"
    pictures: tuple[Source, ...] = ()
    "not looked at yet"
    left: tuple[Left, ...] = ()
    "files of another kind"
    said: tuple[Sentence, ...] = ()
    "how spreadsheets were read"
    problems: tuple[Problem, ...] = ()
    "what could not be read"
    mappings: Mapping[str, str] = field(default_factory=dict)
    "by source, how each spreadsheet was read"


def open_drawer(paths: Sequence[Path], mapping: str | None, *, home: str, rates: Mapping[str, Decimal]) -> Drawer:
    """Every file below some paths, read; `home` is the log's currency, and `rates` tell what others cost in it."""
    reader = _Reader(home)
    try:
        if mapping is not None:
            reader.settle(mapping)
        sources, passed = list_sources(paths)
    except Unreadable as why:
        return Drawer(
            problems=(Source(path=paths[0], name="mapping.yaml" if why.rule == "mapping" else "", size=0).tell(why),)
        )
    for source in sources:
        reader.read(source)
    left = [*reader.left, *(Left(name, "link", "is not followed: name the file itself") for name in passed)]
    bills = [_rate(bill, rates) for bill in (*reader.invoices, *reader.receipts)]
    return Drawer(
        bills=tuple(bills),
        payments=tuple(reader.payments),
        papers=tuple(reader.papers),
        pictures=tuple(reader.pictures),
        left=tuple(left),
        said=tuple(reader.said),
        problems=tuple(reader.problems),
        mappings=reader.mappings,
    )


def _rate(bill: Bill, rates: Mapping[str, Decimal]) -> Bill:
    known = bill.charged is not None or bill.rate is not None
    rate = rates.get(bill.currency or "")
    return bill if known or rate is None else replace(bill, rate=rate)


def _read_table(data: bytes, suffix: str, settled: Mapping[str, str]) -> Sheet:
    """The sheet that `settled` names, or the first one with anything in it; raises `Unreadable`.

    `settled` may say `sheet`, and of a CSV `encoding` and `separator`, as a mapping does.
    """
    from buildlog.bring.sheets import read_csv
    from buildlog.bring.workbooks import read_workbook

    if data.startswith(b"PK\x03\x04"):
        return read_workbook(data, settled)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise Unreadable("this spreadsheet is in an older format, or locked", "save it as XLSX or CSV", rule="format")
    if suffix in (".xlsx", ".xlsm", ".ods"):
        raise Unreadable("this is not a spreadsheet, whatever it is called", "save it again, or as CSV", rule="damaged")
    return read_csv(data, settled)


class _Reader:
    """Reads one source after the other, noting what it finds."""

    def __init__(self, home: str) -> None:
        self.home = home
        self.settled: dict[str, Any] = {}
        self.invoices: list[Bill] = []
        self.receipts: list[Bill] = []
        self.payments: list[Payment] = []
        self.papers: list[PaperFile] = []
        self.pictures: list[Source] = []
        self.left: list[Left] = []
        self.said: list[Sentence] = []
        self.problems: list[Problem] = []
        self.mappings: dict[str, str] = {}

    def settle(self, mapping: str) -> None:
        from buildlog.bring.columns import load_mapping

        self.settled = load_mapping(mapping)

    def read(self, source: Source) -> None:
        """One file, by its suffix and then by its content; whatever is wrong with it is told, and the next one read."""
        try:
            if source.suffix in PICTURES:
                self.pictures.append(source)
            elif source.suffix in TABLES:
                self.read_sheet(source)
            elif source.suffix == ".xml":
                self.read_xml(source, source.read())
            elif source.suffix == ".pdf":
                self.read_pdf(source)
            else:
                self.left.append(Left(source.name, "file", "is of a kind that is not brought in"))
        except Unreadable as why:
            self.problems.append(source.tell(why))
        except OSError as error:
            message = f"this file cannot be read: {error.strerror or error}"
            self.problems.append(Problem(rule="source", message=message, place=Place(source.name)))

    def read_sheet(self, source: Source) -> None:
        from buildlog.bring.columns import settle, write_mapping
        from buildlog.bring.receipts import read_receipts

        data = source.read()
        sheet = _read_table(data, source.suffix, self.settled)
        if not sheet.rows:
            raise Unreadable("there is nothing in this spreadsheet", "choose another one", rule="empty")
        mapping = settle(sheet, self.settled)
        read = read_receipts(sheet, mapping, Origin(source=source, digest=make_digest(data)), self.home)
        self.receipts += read.bills
        self.problems += read.problems
        self.said += [Sentence(source.name, words) for words in read.said]
        self.said += [
            Sentence(source.name, f"columns: {', '.join(f'{key} = {head}' for key, head in read.columns.items())}")
        ]
        self.mappings[source.name] = write_mapping(mapping, sheet)

    def read_xml(self, source: Source, data: bytes, *, kept: Source | None = None) -> None:
        """An invoice or a statement; `kept` is the file that has it inside, where it stands in none of its own."""
        from buildlog.bring.einvoices import INVOICES, read_invoice
        from buildlog.bring.payments import STATEMENT, read_statement

        root = read_tree(data)
        origin = Origin(source=source, digest=make_digest(source.read() if kept else data))
        if root.tag in INVOICES:
            self.invoices.append(read_invoice(root, origin, self.home))
        elif STATEMENT.fullmatch(root.tag):
            self.payments += read_statement(root, origin)
        else:
            name = root.tag.rpartition("}")[2][:40]
            raise Unreadable(
                f"this XML is neither an invoice nor a statement, but `{name}`", "leave it out", rule="kind"
            )

    def read_pdf(self, source: Source) -> None:
        from buildlog.bring.paper_files import read_pdf

        data = source.read()
        invoice, text = read_pdf(data)
        if invoice is not None:
            self.read_xml(source, invoice, kept=source)
        else:
            self.papers.append(PaperFile(source=source, digest=make_digest(data), text=text))
