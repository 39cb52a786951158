"""Files that are made to do harm: each is one clear problem, within bounds, with nothing fetched, run or written.

Bounds are counted and not timed: what is unpacked, built and allocated.
"""

from __future__ import annotations

import io
import socket
import subprocess
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject, TextStringObject

from buildlog.bring import sources
from tests.bring.documents import write_ubl
from tests.bring.drawers import plan, put, start_log
from tests.bring.test_einvoices import MIXED
from tests.bring.test_receipts import fill_plain, make_ods, make_xlsx
from tests.killing import read_tree

MOST_MEMORY = 150_000_000
"Bytes that Python allocates at most for any of them: half of what a whole run may take."
INVOICE = write_ubl(MIXED)
HEAD, BODY = INVOICE.split(b"?>", 1)
LOL = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10 if n else "lol"}">' for n in range(12))


def declare(declaration: str, body: bytes = BODY) -> bytes:
    return HEAD + b"?>" + declaration.encode() + body


def repack(data: bytes, **changes: bytes) -> bytes:
    """A packed file with some parts exchanged: the first whose name ends so."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for item in old.infolist():
            part = next((each for end, each in changes.items() if item.filename.endswith(end.replace("_", "."))), None)
            new.writestr(item.filename, old.read(item) if part is None else part)
    return made.getvalue()


XLSX = make_xlsx(fill_plain)
SHEET = (
    '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</sheetData></worksheet>'
)
FAR = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
ODS = make_ods(["Date", "Supplier", "Total"], ["2024-05-16", "A", 12.5])
REPEATED = (
    b'<table:table-row table:number-rows-repeated="1000000"><table:table-cell table:number-columns-repeated="16000"'
    b' office:value-type="float" office:value="1"/></table:table-row>'
)


def make_pdf(fill: Callable[[PdfWriter], object]) -> bytes:
    writer, made = PdfWriter(), io.BytesIO()
    writer.add_blank_page(width=200, height=200)
    fill(writer)
    writer.write(made)
    return made.getvalue()


def fill_bomb(writer: PdfWriter) -> None:
    """A page whose text unpacks to a hundred megabytes."""
    stream = DecodedStreamObject()
    stream.set_data(b"BT (x) Tj ET\n" * 8_000_000)
    writer.pages[0][NameObject("/Contents")] = writer._add_object(stream.flate_encode())


def fill_script(writer: PdfWriter) -> None:
    script = TextStringObject("app.launchURL('http://127.0.0.1:9/x'); this.exportDataObject({cName: 'x', nLaunch: 2});")
    action = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): script}
    writer._root_object[NameObject("/OpenAction")] = DictionaryObject(action)
    writer.add_attachment("run.sh", b"#!/bin/sh\ntouch pwned\n")


def nest(depth: int) -> bytes:
    return declare("", b"<a>" * depth + b"</a>" * depth)


RELATION = (
    b'<Relationship Id="rId99" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"'
    b' Target="sharedStrings.xml"/></Relationships>'
)
REPEATED_TEXT = (
    b'<table:table-cell table:number-columns-repeated="150" office:value-type="string"><text:p>' + b"A" * 300_000
)


def share_text() -> bytes:
    """A workbook whose cells all name one shared text (ECMA-376, 18.4.8)."""
    cells = "".join(f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c></row>' for n in range(1, 19_001))
    links = zipfile.ZipFile(io.BytesIO(XLSX)).read("xl/_rels/workbook.xml.rels")
    links = links.replace(b"</Relationships>", RELATION)
    made = io.BytesIO(repack(XLSX, sheet1_xml=SHEET.format(cells).encode(), workbook_xml_rels=links))
    with zipfile.ZipFile(made, "a", zipfile.ZIP_DEFLATED) as packed:
        space = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
        packed.writestr("xl/sharedStrings.xml", f"<sst {space}><si><t>{'x' * 30_000}</t></si></sst>")
    return made.getvalue()


HOSTILE: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "an entity bomb": ("x.xml", lambda: declare(f"<!DOCTYPE x [{LOL}]>", b"<x>&l11;</x>"), "declares a document type"),
    "a bomb of one long entity": (
        "x.xml",
        lambda: declare(f'<!DOCTYPE x [<!ENTITY a "{"x" * 100_000}">]>', b"<x>" + b"&a;" * 10_000 + b"</x>"),
        "declares a document type",
    ),
    "a file of this machine": (
        "x.xml",
        lambda: declare('<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>', b"<x>&a;</x>"),
        "declares a document type",
    ),
    "a file of another machine": (
        "x.xml",
        lambda: declare('<!DOCTYPE Invoice SYSTEM "http://127.0.0.1:9/x.dtd">'),
        "declares a document type",
    ),
    "elements a hundred thousand deep": ("x.xml", lambda: nest(100_000), "elements more than 64 deep"),
    "a million elements": (
        "x.xml",
        lambda: declare("", b"<x>" + b"<a/>" * 1_000_000 + b"</x>"),
        "more than 100,000 elements",
    ),
    "XML of twenty megabytes and more": (
        "x.xml",
        lambda: b"<x>" + b" " * 20_000_001,
        "more than the 20,000,000 that are read",
    ),
    "an encoding that does not exist": (
        "x.xml",
        lambda: b'<?xml version="1.0" encoding="x-none"?><x/>',
        "this XML cannot be decoded",
    ),
    "an encoding that is another": (
        "x.xml",
        lambda: INVOICE.decode().encode("utf-16-be"),
        "this is no well-formed XML",
    ),
    "no XML at all": ("x.xml", lambda: b"\x00\xff" * 50, "this is no well-formed XML"),
    "half an invoice": ("x.xml", lambda: INVOICE[: len(INVOICE) // 2], "this is no well-formed XML"),
    "a bomb in a workbook": (
        "x.xlsx",
        lambda: repack(XLSX, sheet1_xml=SHEET.format(" " * 60_000_000).encode()),
        "unpacked, this file has more",
    ),
    "a bomb beside the sheets": (
        "x.xlsx",
        lambda: repack(XLSX, app_xml=b"<x>" + b" " * 90_000_000),
        "unpacked, this file has more",
    ),
    "a cell in the far corner": (
        "x.xlsx",
        lambda: repack(XLSX, sheet1_xml=SHEET.format(FAR).encode()),
        "more than 20,000 rows",
    ),
    "a sheet with entities": (
        "x.xlsx",
        lambda: repack(XLSX, sheet1_xml=f"<!DOCTYPE x [{LOL}]>".encode() + SHEET.format("&l11;").encode()),
        "declares a document type",
    ),
    "a row a million times": (
        "x.ods",
        lambda: repack(
            ODS,
            content_xml=zipfile.ZipFile(io.BytesIO(ODS))
            .read("content.xml")
            .replace(b"<table:table-row>", REPEATED + b"<table:table-row>", 1),
        ),
        "more than 20,000 rows",
    ),
    "a sheet that is called otherwise": (
        "x.xlsx",
        lambda: repack(
            XLSX.replace(b"sheet1.xml", b"other1.bin"), other1_bin=SHEET.format(FAR.replace("1048576", "9")).encode()
        ),
        "more than 200 columns",
    ),
    "one long text in twenty thousand cells": (
        "x.xlsx",
        share_text,
        "the texts of its cells come to more than 40,000,000 characters",
    ),
    "one long text in a cell that is repeated": (
        "x.ods",
        lambda: repack(
            ODS,
            content_xml=zipfile.ZipFile(io.BytesIO(ODS))
            .read("content.xml")
            .replace(b'<table:table-cell office:value-type="string"><text:p>A', REPEATED_TEXT, 1),
        ),
        "the texts of its cells come to more than 40,000,000 characters",
    ),
    "thousands of parts": ("x.xlsx", lambda: pack_many(3_000), "more than any spreadsheet"),
    "a packed file that is cut short": ("x.xlsx", lambda: XLSX[:-40], "this file is damaged"),
    "a workbook that is none": ("x.xlsx", lambda: b"MZ" + b"\0" * 100, "this is not a spreadsheet"),
    "an old workbook": (
        "x.xlsx",
        lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
        "in an older format, or locked",
    ),
    "a CSV of one endless cell": ("x.csv", lambda: b'Date,Total\n"' + b"x" * 1_000_000, "this row cannot be read"),
    "a CSV of a million columns": ("x.csv", lambda: b"Date,Total" + b"," * 1_000_000, "more than 200 columns"),
    "a CSV of a million rows": ("x.csv", lambda: b"Date,Total\n" + b"1,2\n" * 1_000_000, "more than 20,000 rows"),
    "a CSV that is a program": ("x.csv", lambda: b"\x7fELF\0\0\0" * 100, "this is no text"),
    "a CSV of half characters": ("x.csv", lambda: b"\xff\xfe" + b"D\0a", "this file is not whole"),
    "a PDF that is none": ("x.pdf", lambda: b"%PDF-1.7\n" + b"1 0 obj <<" * 20_000, "this PDF is damaged"),
    "a PDF of arrays in arrays": (
        "x.pdf",
        lambda: b"%PDF-1.7\ntrailer <</Root " + b"[" * 200_000,
        "this PDF is damaged",
    ),
}


def pack_many(parts: int) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        for n in range(parts):
            packed.writestr(f"xl/{n}.xml", "<x/>")
    return made.getvalue()


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was started or connected to: nothing may be."""
    met: list[str] = []

    def refuse(*arguments: Any, **named: Any) -> Any:
        met.append(str(arguments))
        raise OSError("nothing is fetched or run")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(subprocess.Popen, "__init__", refuse)
    return met


def test_a_bomb_in_a_pdf_is_unpacked_no_further_than_its_bound(tmp_path: Path) -> None:
    """A page of a hundred megabytes tells nothing that is read: the paper is listed to be sorted."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"x.pdf": make_pdf(fill_bomb)})
    tracemalloc.start()
    made = plan(drawer, "--log", log)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert [one["what"] for one in made["left"]] + [one["rule"] for one in made["problems"]] in (["paper"], ["damaged"])
    assert peak < MOST_MEMORY


@pytest.mark.parametrize("what", HOSTILE)
def test_a_hostile_file_is_one_problem(what: str, tmp_path: Path, watched: list[str]) -> None:
    """It is told in one sentence, and what is beside it is read all the same; nothing is written, fetched or run."""
    name, make, message = HOSTILE[what]
    log = start_log(tmp_path / "log")
    drawer = put(tmp_path / "drawer", {name: make(), "z.csv": "Date,Supplier,Total\n2024-05-16,A,12.50\n"})
    before = read_tree(tmp_path)
    tracemalloc.start()
    try:
        made = plan(drawer, "--log", log)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    [problem] = [one for one in made["problems"] if one["file"] == f"drawer/{name}"]
    assert message in problem["message"]
    assert problem["help"]
    assert len(made["entries"]) == 1
    assert read_tree(tmp_path) == before
    assert watched == []
    assert peak < MOST_MEMORY


def test_a_script_in_a_pdf_is_never_run(tmp_path: Path, watched: list[str]) -> None:
    """A PDF is bytes to be kept: what it would have a viewer do is not looked at, no attachment is taken out of it."""
    log = start_log(tmp_path / "log")
    drawer = put(tmp_path / "drawer", {"x.pdf": make_pdf(fill_script)})
    made = plan(drawer, "--log", log)
    assert [(one["what"], one["why"].split(":")[0]) for one in made["left"]] == [("paper", "needs sorting by hand")]
    assert (watched, list(tmp_path.rglob("run.sh")), made["problems"]) == ([], [], [])


def test_a_gigabyte_is_not_read(tmp_path: Path) -> None:
    """A file is looked at by its size first; one that grows while it is read is noticed."""
    log, drawer = start_log(tmp_path / "log"), tmp_path / "drawer"
    drawer.mkdir()
    for name in ("a.csv", "b.xml", "c.xlsx", "d.pdf", "e.jpg"):
        with (drawer / name).open("wb") as file:
            file.truncate(2 << 30)  # a hole: no byte of it is on the disk
    tracemalloc.start()
    made = plan(drawer, "--log", log)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(made["problems"]) == 5
    assert all("2,147,483,648 bytes" in one["message"] for one in made["problems"])
    assert peak < 20_000_000


def test_a_size_that_lies_is_noticed(tmp_path: Path) -> None:
    """What is read is counted, whatever size the system gave: that is 0 for some files that never end."""
    source = sources.Source(path=Path("/dev/zero"), name="zero.csv", size=0)
    with pytest.raises(sources.Unreadable, match="grows while it is read"):
        source.read()


def test_links_and_pipes_are_not_followed(tmp_path: Path) -> None:
    """A link may lead out of the folder or in a circle, a pipe makes a reader wait: both are passed over and told."""
    import os

    log, drawer = start_log(tmp_path / "log"), tmp_path / "drawer"
    drawer.mkdir()
    (drawer / "loop").symlink_to(drawer)
    (drawer / "out.csv").symlink_to("/etc/hostname")
    os.mkfifo(drawer / "pipe.csv")
    made = plan(drawer, "--log", log)
    assert [one["file"] for one in made["left"]] == ["drawer/loop", "drawer/out.csv", "drawer/pipe.csv"]


MAPPINGS = {
    "aliases": "a: &a [x, x, x]\n" + "\n".join(f"{n}: [*a, *a, *a]" for n in range(20)),
    "an object": "!!python/object/apply:os.system [touch pwned]",
    "depth": "[" * 5_000,
    "length": "# " + "x" * 30_000,
    "a list where a word stands": "dates: [day-month-year]",
    "a mapping where a word stands": "encoding: {a: b}",
}


@pytest.mark.parametrize("what", MAPPINGS)
def test_a_hostile_mapping(what: str, tmp_path: Path) -> None:
    """A mapping is read as text and short lists of names alone."""
    log, drawer = start_log(tmp_path / "log"), put(tmp_path / "drawer", {"r.csv": "Date,Supplier,Total\n"})
    (tmp_path / "m.yaml").write_text(MAPPINGS[what], encoding="utf-8")
    made = plan(drawer, "--log", log, "--mapping", tmp_path / "m.yaml")
    assert [one["rule"] for one in made["problems"]] == ["mapping"]
    assert not (tmp_path / "pwned").exists()


def test_a_sheet_of_many_cells_is_bounded_by_them(tmp_path: Path) -> None:
    """Rows and columns within their bounds may still be more cells than are kept."""
    row = ",".join(["1"] * 200) + "\n"
    drawer = put(tmp_path / "drawer", {"x.csv": "Date,Supplier,Total\n" + row * 2_500, "y.csv": b"x" * 8_000_001})
    made = plan(drawer, "--log", start_log(tmp_path / "log"))
    assert [one["message"] for one in made["problems"]] == [
        "this sheet has more than 400,000 cells",
        "this file has 8,000,001 bytes, more than the 8,000,000 of a CSV that are read",
    ]
