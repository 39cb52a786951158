"""The service history: no date more exact than it is known, no difference left out, no supplier told who is hidden."""

from __future__ import annotations

from buildlog.render.pages.service import make_service
from buildlog.render.pieces import Link
from tests.render.editions import edition_of

SETTINGS = """\
machine: {name: Test machine, meter: {unit: km}}
acquired: {date: 2024-01-01, reading: 71400}
history: [{date: 1994, what: Frame welded}, {date: 2009-05, what: Clutch, reading: 71000}]
money: {currency: GBP}
public: {suppliers: hidden}
"""


def test_a_claim_without_backing_has_the_date_as_it_is_known() -> None:
    """1994 stays a year and May 2009 a month: neither becomes the first day that it can be of."""
    gaps = make_service(edition_of(settings=SETTINGS)).gaps
    assert [(gap.when.text, gap.when.iso, gap.what) for gap in gaps] == [
        ("1994", "1994", "Frame welded"),
        ("May 2009", "2009-05", "Clutch"),
        ("May 2009", "2009-05", "reading 71,000\u00a0km"),
        ("1 January 2024", "2024-01-01", "reading 71,400\u00a0km"),
    ]


def test_readings_say_how_much_was_driven_since_the_one_before() -> None:
    """71,400 less 71,000 are 400 km, 71,450.5 less 71,400 are 50.5 km."""
    readings = make_service(edition_of("date: 2024-02-01\nreading: 71450.5", settings=SETTINGS)).readings
    assert [reading.since for reading in readings] == ["", "400\u00a0km", "50.5\u00a0km"]


def test_a_reading_says_where_it_comes_from_and_apart_from_that_how_it_is_backed() -> None:
    """One from before the log may have a paper, and is then not called anybody's word."""
    settings = SETTINGS.replace("reading: 71000}", "reading: 71000, paper: papers/c.pdf}")
    head = "date: 2024-02-01\ntitle: Home\nreading: 71450"
    readings = make_service(edition_of(head, settings=settings, papers=frozenset({"papers/c.pdf"}))).readings
    assert [(row.source, row.note, row.evidence and row.evidence.level) for row in readings] == [
        (Link(text="before this log", href="service.html#inherited"), "", "paper"),
        (Link(text="at purchase"), "", "stated"),
        (Link(text="Home", href="entries/e1.html"), "", "stated"),
    ]


def test_a_hidden_supplier_is_not_named_and_a_sale_is_no_order() -> None:
    """An order would name its supplier, and so would its number; what was sold does not."""
    head = """
        date: 2024-02-01
        bought: {from: Tollgate Spares, ref: TS-1, paid: 2024-02-01, lines: {what: Hose, each: 9.00}}
        returned: {ref: TS-1, refund: 4.00}
        sold: {what: Roof rack, price: 5.00}
    """
    whats = [gap.what for gap in make_service(edition_of(head, settings=SETTINGS)).gaps]
    assert whats[:3] == ["an order", "money that came back", "sold Roof rack"]
