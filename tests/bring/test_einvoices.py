"""E-invoices in both syntaxes and inside PDFs become orders that come to the payable amount, to the cent.

Outside: the figures of the example invoices published with EN 16931-1 (`tests/outside/data/en16931_invoices.json`), in
documents written by the syntax tables; documents and PDFs that another library writes; its schema for what is written
here.
"""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable, Mapping
from copy import deepcopy
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from drafthorse.models.accounting import ApplicableTradeTax
from drafthorse.models.document import Document
from drafthorse.models.tradelines import LineItem
from drafthorse.pdf import attach_xml
from drafthorse.utils import validate_xml
from pypdf import PdfWriter

from buildlog.compute.figures import compute_figures
from tests.bring.documents import SELLER, write_cii, write_ubl
from tests.bring.drawers import list_lines, list_orders, list_problems, plan, put, read, start_log, write
from tests.test_cli import run

OUTSIDE = Path(__file__).parent.parent / "outside" / "data" / "en16931_invoices.json"
PUBLISHED = json.loads(OUTSIDE.read_text(encoding="utf-8"))["invoices"]
SYNTAXES: dict[str, Callable[[Mapping[str, Any]], bytes]] = {"UBL": write_ubl, "CII": write_cii}

MIXED: dict[str, Any] = {
    # Two rates, a charge and an allowance of the document, one of each on a line, a base quantity, rounding, a part
    # paid before. Base at 21 %: 176.00 + 9.90 - 5.00 = 180.90, tax 37.99; at 6 %: 30.00, tax 1.80. By hand.
    "currency": "EUR",
    "lines": [
        {"qty": "12", "price": "150.00", "price_base_qty": "10", "net": "176.00", "rate": "21", "number": "LP 4410-A",
         "extras": [{"charge": "true", "amount": "6.00", "what": "Packing"},
                    {"charge": "false", "amount": "10.00", "what": "Discount"}]},
        {"qty": "3", "price": "10.00", "net": "30.00", "rate": "6", "unit": "MTR", "what": "Hose, 8 mm"},
    ],
    "extras": [{"charge": "true", "amount": "9.90", "what": "Freight", "rate": "21"},
               {"charge": "false", "amount": "5.00", "what": "Loyalty", "rate": "21"}],
    "tax": [{"base": "180.90", "tax": "37.99", "rate": "21"}, {"base": "30.00", "tax": "1.80", "rate": "6"}],
    "tax_total": "39.79",
    "LineExtensionAmount": "206.00", "AllowanceTotalAmount": "5.00", "ChargeTotalAmount": "9.90",
    "TaxExclusiveAmount": "210.90", "TaxInclusiveAmount": "250.69", "PrepaidAmount": "50.00",
    "PayableRoundingAmount": "0.01", "PayableAmount": "200.70", "delivered": "2024-05-20", "ref": "KM-77120",
}  # fmt: skip


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return start_log(tmp_path / "log")


def bring_one(log: Path, name: str, data: bytes, *more: str) -> dict[str, Any]:
    """The plan of one document, which is written and checked as well; its one order."""
    drawer = put(log.parent / "drawer", {name: data})
    made = plan(drawer, "--log", log, *more)
    write(log, drawer, *more)
    [order] = [order for entry in made["entries"] for order in entry["orders"]]
    return {**made, "order": order}


# ── the published examples ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.outside
@pytest.mark.parametrize("syntax", SYNTAXES)
@pytest.mark.parametrize("invoice", PUBLISHED, ids=lambda invoice: invoice["file"])
def test_published_examples_come_to_their_payable_amount(syntax: str, invoice: dict[str, Any], log: Path) -> None:
    """BT-115: the order comes to what the document asks for, to the cent, and nothing is said to contradict itself."""
    signed = deepcopy(invoice)
    for row in signed["lines"]:  # the figures give quantities without their sign
        row["qty"] = f"-{row['qty']}" if row["net"].startswith("-") else row["qty"]
    made = bring_one(log, "invoice.xml", SYNTAXES[syntax](signed), "--rate", "DKK=0.134")
    order = made["order"]
    assert (order["total"], order["payable"], Decimal(order["difference"])) == (
        invoice["PayableAmount"], invoice["PayableAmount"], 0,
    )  # fmt: skip
    assert order["lines"] == len(invoice["lines"])
    assert made["problems"] == []
    [(_, written)] = list_orders(log)
    costs = json.loads(run("costs", log, "--json").stdout)
    rate = Decimal("0.134") if invoice["currency"] == "DKK" else 1
    assert Decimal(costs["committed"]) == Decimal(invoice["PayableAmount"]) * rate
    assert [line.qty for line in written.lines] == [Decimal(row["qty"]) for row in invoice["lines"]]


SLIPS = {
    # as they are printed in the published files: a credit line with a quantity above zero; prices for as many as they
    # cost, in the CII form of the eighth
    "UBL, example 1": ("UBL", 0, {}, 'line 20, 6 at 18.33 comes to 109.98, but `cbc:LineExtensionAmount` says -109.98'),
    "CII, example 1": ("CII", 0, {}, "line 20, 6 at 18.33 comes to 109.98, but `ram:LineTotalAmount` says -109.98"),
    "CII, example 8": (
        "CII", 2, {0: "0.00880", 1: "0.00101", 2: "15.24", 3: "1.53", 4: "441", 5: "678"},
        "line 1, 16000 at 0.00880 for 0.00880 comes to 16000.00, but `ram:LineTotalAmount` says 140.80",
    ),
}  # fmt: skip


@pytest.mark.outside
@pytest.mark.parametrize("which", SLIPS)
def test_published_examples_with_their_own_slips(which: str, log: Path) -> None:
    """Some published files contradict themselves: it is said where, and the order comes to what is to be paid."""
    syntax, at, bases, sentence = SLIPS[which]
    invoice = deepcopy(PUBLISHED[at])
    for n, base in bases.items():
        invoice["lines"][n]["price_base_qty"] = base
    made = bring_one(log, "invoice.xml", SYNTAXES[syntax](invoice))
    assert (made["order"]["total"], Decimal(made["order"]["difference"])) == (invoice["PayableAmount"], Decimal(0))
    [problem] = made["problems"]
    assert sentence in problem["message"]
    assert problem["help"] == f"it asks for {invoice['PayableAmount']} all the same, and that is what is brought in"


@pytest.mark.outside
def test_what_is_written_here_is_valid() -> None:
    """The documents of these tests are such as the other library's schema (Factur-X 1.0, EN 16931 profile) accepts."""
    for invoice in (*PUBLISHED, MIXED):
        assert validate_xml(write_cii(invoice), "FACTUR-X_EN16931")


# ── all that an invoice may have ─────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("syntax", SYNTAXES)
def test_charges_allowances_rounding_and_part_payment(syntax: str, log: Path) -> None:
    """Charges and allowances of the document stand by themselves, with their tax; those of a line are in its total."""
    made = bring_one(log, "invoice.xml", SYNTAXES[syntax](MIXED))
    order = made["order"]
    assert (order["total"], order["prepaid"], order["payable"]) == ("250.70", "50.00", "200.70")
    assert Decimal(order["difference"]) == 0
    assert order["arrived"] == "2024-05-20"
    assert list_lines(log) == [
        f"{SELLER} KM-77120 2024-05-16: 12 Article 1 176.00 in all",
        f"{SELLER} KM-77120 2024-05-16: 3 Hose, 8 mm 10.00",
    ]
    [(entry, written)] = list_orders(log)
    assert [line.unit for line in written.lines] == [None, "m"]
    assert [line.number for line in written.lines] == ["LP 4410-A", None]
    extras = [(each.amount, each.what, each.tax) for each in (*written.handling, *written.discount)]
    assert extras == [(Decimal("9.90"), "Freight", 21), (Decimal("5.00"), "Loyalty", 21)]
    assert written.rounding == Decimal("0.01")
    assert written.paper == "papers/2024-05-16-kanaal-motordelen-b-v-km-77120.xml"
    assert (log / written.paper).read_bytes() == SYNTAXES[syntax](MIXED)
    assert entry.brought_from[0].digest.startswith("sha256:")
    [warning] = list_problems(made, "warning")
    assert warning == (
        "1 : 50.00 of it was paid before, on a day that the invoice does not give: 2024-05-16, its own day, is taken"
    )
    claims = compute_figures(read(log), date(2030, 1, 1)).evidence.claims
    assert [(claim.level, claim.paper) for claim in claims if claim.kind == "money"] == [("on paper", written.paper)]
    # BT-113 is `paid` with an `amount`, as the guide's table says; what is left is BT-115
    assert [(one.date, one.amount) for one in written.paid] == [(date(2024, 5, 16), Decimal("50.00"))]
    costs = json.loads(run("costs", log, "--json").stdout)
    assert (costs["spent"], costs["committed"]) == ("50.00", "200.70")


@pytest.mark.parametrize("syntax", SYNTAXES)
def test_an_invoice_written_after_the_goods_were_sent(syntax: str, log: Path) -> None:
    """BT-72 before BT-2, as in example 2 of CEN TC 434: ordered by that day at the latest, told on the invoice's."""
    made = bring_one(log, "invoice.xml", SYNTAXES[syntax]({**MIXED, "delivered": "2024-05-02"}))
    assert list_problems(made, "error") == []
    [(entry, written)] = list_orders(log)
    assert (entry.date, written.ordered) == (date(2024, 5, 16), date(2024, 5, 2))
    assert [each.date for each in written.arrived] == [date(2024, 5, 2)]


def test_an_invoice_of_which_all_was_paid_before(log: Path) -> None:
    """Nothing is left to pay: it was paid by the day of the invoice, and the plan says that this day is taken."""
    made = bring_one(log, "i.xml", write_ubl({**MIXED, "PrepaidAmount": "250.70", "PayableAmount": "0.00"}))
    [warning] = list_problems(made, "warning")
    assert warning.endswith("2024-05-16, its own day, is taken")
    costs = json.loads(run("costs", log, "--json").stdout)
    assert (costs["spent"], costs["committed"]) == ("250.70", "0.00")


def test_what_was_paid_before_in_another_currency_needs_a_rate(log: Path) -> None:
    """What it cost at home is not guessed: the plan says what to add; with a rate it is written."""
    data = write_ubl({**MIXED, "currency": "SEK"})
    drawer = put(log.parent / "drawer", {"i.xml": data})
    made = plan(drawer, "--log", log)
    words = "on a day that the invoice does not give"
    assert any(words in one and "taken" not in one for one in list_problems(made, "warning"))
    made = bring_one(log, "i.xml", data, "--rate", "SEK=0.1")
    assert made["order"]["prepaid_on"] == "2024-05-16"


@pytest.mark.parametrize("syntax", SYNTAXES)
def test_a_credit_note_is_an_order_below_zero(syntax: str, log: Path) -> None:
    """What it takes off is taken off, and no part of it comes onto the shelf."""
    note = {**MIXED, "ref": "CN-9"}
    data = write_ubl(note, "CreditNote") if syntax == "UBL" else write_cii(note, "381")
    made = bring_one(log, "note.xml", data)
    assert (made["order"]["total"], made["order"]["payable"]) == ("-250.70", "-200.70")
    assert made["entries"][0]["title"] == f"Credit note from {SELLER}"
    assert json.loads(run("parts", log, "--json").stdout) == []


@pytest.mark.parametrize("syntax", SYNTAXES)
def test_both_syntaxes_of_one_invoice_are_one_order(syntax: str, log: Path) -> None:
    """The same number of the same supplier is brought in once, whatever file it comes in."""
    first = {"UBL": write_ubl, "CII": write_cii}[syntax](MIXED)
    other = write_cii(MIXED) if syntax == "UBL" else write_ubl(MIXED)
    drawer = put(log.parent / "drawer", {"a.xml": first, "b.xml": other})
    write(log, drawer)
    assert len(list_orders(log)) == 1
    assert len(list((log / "papers").iterdir())) == 1


CONTRADICTIONS = {
    "a line": ({"lines.1.net": "31.00"}, "line 2, 3 at 10.00 comes to 30.00, but `{line}` says 31.00", "+1.06"),
    "the tax": ({"tax.0.tax": "38.99"}, "the tax of 21 % on 180.90 comes to 37.99, but `{tax}` says 38.99", None),
    "the sum": ({"LineExtensionAmount": "207.00"}, "its lines come to 206.00, but `{lines}` says 207.00", None),
    "what is to be paid": (
        {"PayableAmount": "201.70"},
        "its gross amount, less what was paid, and rounding come to 200.70, but `{due}` says 201.70",
        "-1.00",
    ),
}
NAMES = {
    "UBL": {
        "line": "cbc:LineExtensionAmount", "tax": "cac:TaxSubtotal", "lines": "cbc:LineExtensionAmount",
        "due": "cbc:PayableAmount",
    },
    "CII": {
        "line": "ram:LineTotalAmount", "tax": "ram:ApplicableTradeTax", "lines": "ram:LineTotalAmount",
        "due": "ram:DuePayableAmount",
    },
}  # fmt: skip


@pytest.mark.parametrize("syntax", SYNTAXES)
@pytest.mark.parametrize("what", CONTRADICTIONS)
def test_a_document_that_contradicts_itself_says_where(what: str, syntax: str, log: Path) -> None:
    """The element is named; where the order then comes to something else than is asked for, by how much is said."""
    changes, sentence, apart = CONTRADICTIONS[what]
    invoice = deepcopy(MIXED) | {"PrepaidAmount": "50.00"}
    for path, value in changes.items():
        at: Any = invoice
        *way, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        for step in way:
            at = at[step]
        at[last] = value
    made = plan(put(log.parent / "drawer", {"i.xml": SYNTAXES[syntax](invoice)}), "--log", log)
    told = [f"{one['message']} {one['help']}" for one in made["problems"]]
    assert any(sentence.format(**NAMES[syntax]) in one for one in told), told
    if apart:
        assert any(one.split(" ")[:2] == ["comes", "to"] and f": {apart}" in one for one in told), told


def test_a_document_without_lines_is_its_sums(log: Path) -> None:
    """Some profiles (Factur-X, BASIC WL) have no lines: a line for each rate, and the same payable amount."""
    invoice = {**MIXED, "lines": [], "extras": []}
    invoice |= {"AllowanceTotalAmount": "0.00", "ChargeTotalAmount": "0.00"}
    made = bring_one(log, "i.xml", write_cii(invoice))
    assert Decimal(made["order"]["difference"]) == 0
    assert [line.split(": ")[1] for line in list_lines(log)] == [
        "1 Not itemised 180.90 in all", "1 Not itemised 30.00 in all",
    ]  # fmt: skip


LACKING = {
    "no supplier": (SELLER, "", "this invoice has no cbc:RegistrationName|this invoice has no cbc:Name"),
    "no amount": ("200.70", "", "this invoice has no cbc:PayableAmount"),
    "a day that is none": ("2024-05-16", "2024-13-16", "`2024-13-16` is no day"),
    "an amount that is none": ("200.70", "1e9999", "`1e9999` is no number"),
    "no currency": ("<cbc:DocumentCurrencyCode>EUR", "<cbc:DocumentCurrencyCode>XQX", "there is no currency `XQX`"),
}


@pytest.mark.parametrize("what", LACKING)
def test_what_every_invoice_has_and_this_one_lacks(what: str, log: Path) -> None:
    """One problem, with the element; nothing is brought in."""
    old, new, message = LACKING[what]
    data = write_ubl(MIXED).replace(old.encode(), new.encode())
    made = plan(put(log.parent / "drawer", {"i.xml": data}), "--log", log)
    [problem] = made["problems"]
    assert re.fullmatch(message, problem["message"])
    assert problem["element"]
    assert made["entries"] == []


# ── another library's documents ──────────────────────────────────────────────────────────────────────────────────


def make_with_drafthorse() -> bytes:
    """An invoice in CII by a library that knows nothing of us: two lines, tax of 19 %."""
    doc = Document()
    doc.context.guideline_parameter.id = "urn:cen.eu:en16931:2017"
    doc.header.id = "RE-2024-118"
    doc.header.type_code = "380"
    doc.header.issue_date_time = date(2024, 5, 16)
    doc.trade.agreement.seller.name = "Hof & Sohn"
    doc.trade.agreement.seller.address.country_id = "DE"
    doc.trade.agreement.buyer.name = "Somebody"
    doc.trade.agreement.buyer.address.country_id = "DE"
    doc.trade.delivery.event.occurrence = datetime(2024, 5, 18, tzinfo=UTC)
    doc.trade.settlement.currency_code = "EUR"
    for n, (name, qty, price) in enumerate([("Lift pump", 1, "118.40"), ("Seal", 2, "7.35")], 1):
        line = LineItem()
        line.document.line_id = str(n)
        line.product.name = name
        line.agreement.net.amount = Decimal(price)
        line.agreement.net.basis_quantity = (Decimal("1"), "C62")
        line.delivery.billed_quantity = (Decimal(qty), "C62")
        line.settlement.trade_tax.type_code = "VAT"
        line.settlement.trade_tax.category_code = "S"
        line.settlement.trade_tax.rate_applicable_percent = Decimal("19.00")
        line.settlement.monetary_summation.total_amount = Decimal(price) * qty
        doc.trade.items.add(line)
    tax = ApplicableTradeTax()
    tax.calculated_amount, tax.basis_amount = Decimal("25.29"), Decimal("133.10")
    tax.type_code, tax.category_code = "VAT", "S"
    tax.rate_applicable_percent = Decimal("19.00")
    doc.trade.settlement.trade_tax.add(tax)
    sums = doc.trade.settlement.monetary_summation
    sums.line_total, sums.charge_total, sums.allowance_total = Decimal("133.10"), Decimal("0.00"), Decimal("0.00")
    sums.tax_basis_total = Decimal("133.10")
    sums.tax_total = (Decimal("25.29"), "EUR")
    sums.grand_total, sums.due_amount = Decimal("158.39"), Decimal("158.39")
    made: bytes = doc.serialize(schema="FACTUR-X_EN16931")
    return made


def make_hybrid(xml: bytes) -> bytes:
    """A PDF with the invoice inside, as that library makes it."""
    writer, plain = PdfWriter(), io.BytesIO()
    writer.add_blank_page(width=210, height=297)
    writer.write(plain)
    made: bytes = attach_xml(plain.getvalue(), xml, "EN 16931")
    return made


MADE = {
    "CII": ("invoice.xml", make_with_drafthorse),
    "hybrid PDF": ("invoice.pdf", lambda: make_hybrid(make_with_drafthorse())),
    # facturex 0.6.4 (PyPI) wrote it of the same figures, with other prefixes than the standard's; kept as it came
    "UBL": ("invoice.xml", (Path(__file__).parent / "data" / "ubl-of-another-library.xml").read_bytes),
}


@pytest.mark.outside
@pytest.mark.parametrize("form", MADE)
def test_another_librarys_invoice(form: str, log: Path) -> None:
    """CII by drafthorse, checked by it against the schema, as XML and as a hybrid PDF; UBL by another: all 158.39."""
    name, make = MADE[form]
    data = make()
    made = bring_one(log, name, data)
    assert (made["order"]["total"], Decimal(made["order"]["difference"])) == ("158.39", 0)
    assert made["problems"] == []
    assert list_lines(log) == [
        "Hof & Sohn RE-2024-118 2024-05-16: 1 Lift pump 118.40",
        "Hof & Sohn RE-2024-118 2024-05-16: 2 Seal 7.35",
    ]
    [(_, order)] = list_orders(log)
    assert order.paper == f"papers/2024-05-16-hof-sohn-re-2024-118.{name[-3:]}"
    assert (log / order.paper).read_bytes() == data
    served = json.loads(run("costs", log, "--json").stdout)
    assert served["committed"] == "158.39"


PLAIN_INVOICE: dict[str, Any] = {
    "currency": "EUR", "ref": "KM-77120", "lines": [{"qty": "2", "price": "50.00", "net": "100.00", "rate": "21"}],
    "tax": [{"base": "100.00", "tax": "21.00", "rate": "21"}], "tax_total": "21.00", "LineExtensionAmount": "100.00",
    "TaxExclusiveAmount": "100.00", "TaxInclusiveAmount": "121.00", "PayableAmount": "121.00",
}  # fmt: skip
CREDIT: dict[str, Any] = {
    **PLAIN_INVOICE, "ref": "CN-9", "day": "2024-05-28", "credits": "KM-77120",
    "lines": [{"qty": "1", "price": "50.00", "net": "50.00", "rate": "21"}],
    "tax": [{"base": "50.00", "tax": "10.50", "rate": "21"}], "tax_total": "10.50", "LineExtensionAmount": "50.00",
    "TaxExclusiveAmount": "50.00", "TaxInclusiveAmount": "60.50", "PayableAmount": "60.50",
}  # fmt: skip


@pytest.mark.parametrize("together", [True, False])
def test_a_credit_note_on_a_known_order_is_its_refund(together: bool, log: Path) -> None:
    """It takes off what is left to pay, to the cent, and names its paper; brought twice it adds nothing."""
    first, note = write_ubl(PLAIN_INVOICE), write_ubl(CREDIT, "CreditNote")
    if not together:
        write(log, put(log.parent / "before", {"a.xml": first}))
    drawer = put(log.parent / "drawer", {"a.xml": first, "b.xml": note})
    made = plan(drawer, "--log", log)
    orders = {order["ref"]: order for entry in made["entries"] for order in entry["orders"]}
    assert (orders["CN-9"]["total"], Decimal(orders["CN-9"]["difference"])) == ("-60.50", 0)
    write(log, drawer)
    [(entry, returned)] = [(entry, one) for entry in read(log).entries for one in entry.returned]
    assert (entry.title, returned.ref, returned.refund, returned.why) == (
        f"Credit note from {SELLER}", "KM-77120", Decimal("60.50"), "credit note CN-9",
    )  # fmt: skip
    assert returned.paper == "papers/2024-05-28-kanaal-motordelen-b-v-cn-9.xml"
    assert json.loads(run("costs", log, "--json").stdout)["committed"] == "60.50"
    assert plan(drawer, "--log", log)["entries"] == []
