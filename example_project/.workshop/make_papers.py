# The points of a shape, and the lines of a paper, are read as one row: they are not wrapped.
# fmt: off
"""Write the papers of the demonstration log: invoices from its orders, and the certificates that its history names.

Each paper is a PDF 1.4 file of one page, written by hand: four objects, one of the fonts that every reader has, no compression.
The invoices add up their own figures, so a paper and the site agree only if both are right.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

LOG = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(LOG.parent))

from buildlog.read.reader import read_log  # noqa: E402
from buildlog.read.records import Line, Log, Order, Returned  # noqa: E402

PENNY = Decimal("0.01")
INVENTED = "Invented for a demonstration. No such firm, person or vehicle exists."
BUYER = ["J. Tallow", "for the Wendmoor Sedge, registration 0417-WX-M"]
SUPPLIERS = {
    "Oxbow Motor Factors": "Parts counter, open till the kettle boils",
    "Bellwether Brake and Clutch": "Everything that stops, and some that goes",
    "Anvil End Steel Stock": "Sheet, strip and section, cut while you wait",
    "Zandloper Onderdelen": "Pompen, slangen, afdichtingen",
    "Granbark Reservdelar": "Reservdelar till äldre arbetsfordon",
    "Lantern Row Electrics": "Lamps, looms and patience",
    "Hobnail Tyres": "Round, black, fitted",
}


def main() -> None:
    """Write every paper that the log names."""
    log = read_log(LOG).log
    if log is None:
        raise SystemExit("the log cannot be read; `python -m buildlog check example_project` says why")
    papers = write_certificates() | write_invoices(log) | write_credits(log)
    for name, lines in papers.items():
        (LOG / name).parent.mkdir(exist_ok=True)
        (LOG / name).write_bytes(make_pdf(lines))
    print(f"{len(papers)} papers")


def write_invoices(log: Log) -> dict[str, list[str]]:
    """The text of each order's invoice, by the paper's path."""
    orders = [order for entry in log.entries for order in entry.bought]
    own = {"papers/test-sheet-2024.pdf"}
    return {order.paper: list(invoice(order)) for order in orders if order.paper and order.paper not in own}


def invoice(order: Order) -> Iterable[str]:
    """The lines of one invoice."""
    currency = order.currency or "GBP"
    yield from head(order.supplier, f"INVOICE {order.ref}", f"{order.ordered or order.arrived[0].date}")
    if order.prices:
        yield f"Prices in {currency}, {'without tax' if order.prices == 'net' else f'with {order.tax} % tax inside'}."
    else:
        yield f"Prices in {currency}, outside the scope of tax."
    yield ""
    yield f"{'':12}{'':38}{'qty':>8}{'each':>10}{'value':>10}"
    for line in order.lines:
        yield from invoice_line(line)
    yield "-" * 78
    yield from totals(order, currency)
    if order.charged is not None:
        yield ""
        yield f"Taken from your card in your own currency: GBP {order.charged}"
    yield ""
    for paid in order.paid:
        yield f"Paid {paid.date}{f': {paid.amount}' if paid.amount else ''}."
    if not order.paid or order.paid[-1].amount:
        yield "Please pay within 30 days."


def invoice_line(line: Line) -> Iterable[str]:
    """One line, and under it its exchange surcharge and the number that it took over."""
    text = line.name or line.what or ""
    qty = f"{line.qty}{' ' + line.unit if line.unit else ''}"
    yield f"{line.number or '':12}{text[:37]:38}{qty:>8}{line.each:>10}{value(line):>10}"
    if line.core:
        yield f"{'':12}{'surcharge until the old unit is back':38}{'':18}{line.core:>10}"
    if line.replaces_number:
        yield f"{'':12}takes the place of {line.replaces_number}"


def totals(order: Order, currency: str) -> Iterable[str]:
    """The foot of an invoice: lines, discount, carriage, tax, total."""
    goods = sum((value(line) + (line.core or 0) for line in order.lines), Decimal(0))
    off, carriage = (sum((extra.amount for extra in extras), Decimal(0)) for extras in (order.discount, order.carriage))
    base = goods - off + carriage
    rows = [("Goods", goods)]
    rows += [("Discount", -off)] if off else []
    rows += [("Carriage", carriage)] if carriage else []
    if order.prices == "net" and order.tax is not None:
        tax = rounded(base * order.tax / 100)
        rows += [(f"Tax {order.tax} % of {base}", tax), (f"TOTAL {currency}", base + tax)]
    elif order.prices == "gross" and order.tax is not None:
        inside = base - rounded(base / (1 + order.tax / 100))
        rows += [(f"TOTAL {currency}", base), (f"  of which tax {order.tax} %", inside)]
    else:
        rows += [(f"TOTAL {currency}", base)]
    for label, amount in rows:
        yield f"{label:>68}{amount:>10}"


def value(line: Line) -> Decimal:
    """What a line comes to, without its surcharge."""
    return rounded(line.qty * line.each) if line.each is not None else line.total or Decimal(0)


def rounded(amount: Decimal) -> Decimal:
    """To the penny, half up."""
    return amount.quantize(PENNY, ROUND_HALF_UP)


def write_credits(log: Log) -> dict[str, list[str]]:
    """The text of each credit note, by the paper's path."""
    suppliers = {order.ref: order.supplier for entry in log.entries for order in entry.bought}
    backs = [back for entry in log.entries for back in entry.returned if back.paper]
    return {back.paper: list(credit(back, suppliers[back.ref])) for back in backs if back.paper}


def credit(back: Returned, supplier: str) -> Iterable[str]:
    """The lines of one credit note."""
    yield from head(supplier, f"CREDIT NOTE on {back.ref}", f"{back.date}")
    yield f"Reason: {back.why}"
    yield f"Article: {back.part}" + (f", quantity {back.qty}" if back.qty else "")
    if back.core:
        yield f"Surcharge of {back.core} and the tax on it given back."
    yield ""
    yield f"Returned to your card: GBP {back.charged}"


def head(supplier: str, title: str, day: str) -> Iterable[str]:
    """The top of a supplier's paper."""
    yield f"# {supplier}"
    yield SUPPLIERS.get(supplier, "")
    yield ""
    yield f"## {title}"
    yield f"Date: {day}"
    yield ""
    yield from BUYER
    yield ""


def write_certificates() -> dict[str, list[str]]:
    """The papers that no order makes: sale, registration, services and tests."""
    vehicle = ["Vehicle: Wendmoor Sedge D, 1991", "Registration: 0417-WX-M", "Chassis: FNZWMS250MP004217", ""]
    return {
        "papers/bill-of-sale.pdf": [
            "# Bill of sale", "", "Date: 2023-09-02", "", *vehicle,
            "Sold as seen, standing since October 2016, to J. Tallow", "for GBP 1150.00 (one thousand one hundred and fifty).", "",
            "Meter at sale: 87412 miles", "Signed by both parties; the seller's name is withheld here.",
        ],
        "papers/registration-extract.pdf": [
            "# Extract from the register of vehicles", "", *vehicle, "First registered: June 1991", "Keeper then: a hill farm estate",
            "Engine: W25-D-11806, diesel, 2.5 litres", "Meter on delivery: 11 miles",
        ],
        "papers/service-sheet-1996.pdf": [
            "# Village garage: service sheet", "", "Date: 14 March 1996", *vehicle, "Meter: 31870 miles", "",
            "[x] engine oil and filter", "[x] fuel filter", "[ ] axle oils          (customer declined)", "[x] grease",
            "[ ] valve clearances   (no time)",
        ],
        "papers/axle-invoice-2004.pdf": [
            "# Agricultural workshop", "", "## Invoice 04/1187", "October 2004", *vehicle, "Meter: 64300 miles", "",
            "Front and rear axle, gearbox: oil changed       41.00", "Brake fluid renewed and bled                    18.50",
            "Labour 2.5 h                                    62.50", "-" * 54, "Total, tax included                            122.00",
        ],
        "papers/test-certificate-2012.pdf": test_sheet("21 September 2012", "79655", ["none"]),
        "papers/test-certificate-2015.pdf": test_sheet("30 September 2015", "85902", ["brake pipes corroded at the rear axle, not yet a fail"]),
        "papers/test-sheet-2024.pdf": [
            *test_sheet("19 July 2024", "41281 (meter head changed in May 2024)", ["free play in the steering box", "weep at the transfer box; yellow plug, cannot be opened"]),
            "", "Brake forces, kN       left    right   difference", "front axle             3.31     3.21      3.0 %",
            "rear axle              2.12     2.05      3.3 %", "handbrake              1.61     1.52      5.6 %", "",
            "Receipt TH-24-0719: test fee GBP 54.00, no tax, paid.",
        ],
    }  # fmt: skip


def test_sheet(day: str, meter: str, advisories: Sequence[str]) -> list[str]:
    """The text of one roadworthiness certificate."""
    return [
        "# Roadworthiness test", "", f"Date: {day}", "Vehicle: Wendmoor Sedge D, 1991", "Registration: 0417-WX-M",
        "Chassis: FNZWMS250MP004217", f"Meter: {meter} miles", "", "## RESULT: PASSED", "",
        "Advisories:", *(f"  - {advisory}" for advisory in advisories),
    ]  # fmt: skip


def make_pdf(lines: Sequence[str]) -> bytes:
    """A page of text as a PDF; `# ` starts the title line, `## ` a bold line."""
    stream = "\n".join(place(number, line) for number, line in enumerate(lines) if line)
    rule = f"0.8 w 60 808 m 535 808 l S\nBT /F1 7 Tf 60 40 Td ({escape(INVENTED)}) Tj ET"
    content = f"{stream}\n{rule}".encode("cp1252")
    fonts = "/F1 << /Type /Font /Subtype /Type1 /BaseFont /Courier /Encoding /WinAnsiEncoding >> " \
            "/F2 << /Type /Font /Subtype /Type1 /BaseFont /Courier-Bold /Encoding /WinAnsiEncoding >>"  # fmt: skip
    page = f"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Resources << /Font << {fonts} >> >> >>"
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        page.encode(),
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(content), content),
    ]
    return join_objects(bodies)


def join_objects(bodies: Sequence[bytes]) -> bytes:
    """Numbered objects, their cross-reference table and the trailer."""
    file, offsets = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n", []
    for number, body in enumerate(bodies, 1):
        offsets.append(len(file))
        file += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % offset for offset in offsets)
    count = len(bodies) + 1
    return file + b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (
        count, table, count, len(file),
    )  # fmt: skip


def place(number: int, line: str) -> str:
    """One line of text at its height on the page."""
    font, size, text = ("F2", 15, line[2:]) if line.startswith("# ") else ("F1", 9, line)
    if line.startswith("## "):
        font, size, text = "F2", 11, line[3:]
    return f"BT /{font} {size} Tf 60 {782 - 13 * number} Td ({escape(text)}) Tj ET"


def escape(text: str) -> str:
    """A text between the brackets of a PDF string."""
    return text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")


if __name__ == "__main__":
    main()
