"""Papers are filed by day and supplier where their name or text says so; what says neither is listed, never guessed."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject

from tests.bring.drawers import HEAD, list_orders, plan, put, start_log, write
from tests.killing import read_tree
from tests.photos.test_intake import shoot

ORDER = """\
---
date: 2024-05-06
title: Lift pump ordered
bought: {from: Kanaal Motordelen, ref: KM-77120, lines: [{what: Lift pump, each: 118.40}]}
---
"""


def make_pdf(*lines: str) -> bytes:
    """A PDF with these lines as its text layer (ISO 32000-1, 9.4)."""
    writer, made = PdfWriter(), io.BytesIO()
    page = writer.add_blank_page(width=400, height=400)
    font = DictionaryObject({
        NameObject("/Type"): NameObject("/Font"), NameObject("/Subtype"): NameObject("/Type1"),
        NameObject("/BaseFont"): NameObject("/Helvetica"),
    })  # fmt: skip
    fonts = DictionaryObject({NameObject("/F1"): font})
    page[NameObject("/Resources")] = DictionaryObject({NameObject("/Font"): fonts})
    stream = DecodedStreamObject()
    shown = " T* ".join(f"({line}) Tj" for line in lines)
    stream.set_data(f"BT /F1 12 Tf 14 TL 20 380 Td {shown} ET".encode("latin-1"))
    page[NameObject("/Contents")] = writer._add_object(stream)
    writer.write(made)
    return made.getvalue()


INVOICE = make_pdf("Kanaal Motordelen", "Invoice KM-77120", "6.5.2024", "delivered 16.5.2024")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return put(start_log(tmp_path / "log"), {"entries/2024-05-06-ordered.md": ORDER})


FILED = {
    "number and supplier in its text": ("scan0001.pdf", INVOICE, "2024-05-06-kanaal-motordelen-km-77120.pdf"),
    "number and supplier in its name": (
        "Kanaal_Motordelen KM-77120.pdf", make_pdf("x"), "2024-05-06-kanaal-motordelen-km-77120.pdf",
    ),
    "day and supplier in its name": (
        "2024-05-06 kanaal motordelen.pdf", make_pdf(), "2024-05-06-kanaal-motordelen-km-77120.pdf",
    ),
    "another day": ("20240611_Kanaal-Motordelen.pdf", make_pdf("x"), "2024-06-11-kanaal-motordelen.pdf"),
    "one day and the supplier in its text": (
        "x.pdf", make_pdf("Kanaal Motordelen", "11.06.2024"), "2024-06-11-kanaal-motordelen.pdf",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", FILED)
def test_a_paper_is_filed_by_what_it_says(what: str, log: Path) -> None:
    """Copied byte for byte under day, supplier and number; the owner's entry is not changed, but told what to add."""
    name, data, path = FILED[what]
    drawer = put(log.parent / "drawer", {name: data})
    before = read_tree(log)
    made = plan(drawer, "--log", log)
    write(log, drawer)
    after = read_tree(log)
    assert {key: value for key, value in after.items() if key not in before} == {f"papers/{path}": data}
    [left] = made["left"]
    if "km-77120" in path:
        assert f"write `paper: papers/{path}` into its order in entries/2024-05-06-ordered.md" in left["why"]
    again = write(log, drawer)
    assert f"is in the log already, as papers/{path}" in again.output
    assert read_tree(log) == after


SORTED = {
    "nothing at all": ("scan0001.pdf", make_pdf(), "a known supplier or a date"),
    "a supplier and two days": ("x.pdf", make_pdf("Kanaal Motordelen", "1.2.2024", "3.4.2024"), "a date"),
    "a day and an unknown supplier": ("2024-05-06 somebody.pdf", make_pdf(), "a known supplier"),
    "a day with slashes": ("x.pdf", make_pdf("Kanaal Motordelen", "05/06/2024"), "a date"),
}


@pytest.mark.parametrize("what", SORTED)
def test_what_says_neither_is_listed(what: str, log: Path) -> None:
    """Nothing is guessed: it stays where it is, and the plan says what it lacks."""
    name, data, lacks = SORTED[what]
    drawer = put(log.parent / "drawer", {name: data})
    made = plan(drawer, "--log", log)
    [left] = made["left"]
    assert left["why"].endswith(f"neither its name nor its text gives {lacks}")
    assert made["copies"] == []


def test_a_paper_comes_with_its_order(log: Path) -> None:
    """A receipt of a spreadsheet gets the scan that has its number, or its day and supplier, as its paper."""
    rows = HEAD + "2024-06-11,Werft Nord,W-2024-9,Prop shaft,1,500.00,500.00\n2024-06-12,Hof & Sohn,,Hose,1,5.00,5.00\n"
    drawer = put(log.parent / "drawer", {"r.csv": rows, "a.pdf": make_pdf("Werft Nord", "Rechnung W-2024-9")})
    shoot(drawer / "2024-06-12 Hof Sohn.jpg", 1, None)
    write(log, drawer)
    papers = {order.supplier: order.paper for _, order in list_orders(log) if order.paper}
    assert papers == {
        "Werft Nord": "papers/2024-06-11-werft-nord-w-2024-9.pdf",
        "Hof & Sohn": "papers/2024-06-12-hof-sohn.jpg",
    }


def test_a_name_that_is_taken_is_not_given_twice(log: Path) -> None:
    """Two papers of one day and supplier stand side by side, and neither replaces what is there."""
    put(log, {"papers/2024-06-11-kanaal-motordelen.pdf": b"mine"})
    files = {f"2024-06-11 Kanaal Motordelen {n}.pdf": make_pdf(str(n)) for n in (1, 2)}
    write(log, put(log.parent / "drawer", files))
    assert (log / "papers/2024-06-11-kanaal-motordelen.pdf").read_bytes() == b"mine"
    assert {path.name for path in (log / "papers").iterdir()} == {
        "2024-06-11-kanaal-motordelen.pdf",
        "2024-06-11-kanaal-motordelen-2.pdf",
        "2024-06-11-kanaal-motordelen-3.pdf",
    }
