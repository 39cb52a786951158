"""What does an electronic invoice say: UBL 2.1 (ISO/IEC 19845) and UN/CEFACT CII D16B, as EN 16931-1 uses both?

Elements are found by the syntax tables of CEN/TS 16931-3-2 (UBL) and -3-3 (CII); `BT-…` are the standard's names of
what stands in them. A line costs its net amount (BT-131), whatever price and base quantity are printed beside it.
Charges, allowances and the rounding amount of the whole document stand by themselves, with the tax that they bear; in a
credit note they are lines below zero. Where the document contradicts itself, it is said where.
"""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from buildlog.arithmetic import EXACT, sum_exactly
from buildlog.bring.bills import Bill, BillExtra, BillLine, Origin
from buildlog.bring.sources import Unreadable
from buildlog.compute.quantities.money import is_currency, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.text import cut

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

CAC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
UBL = "{urn:oasis:names:specification:ubl:schema:xsd:Invoice-2}Invoice"
UBL_CREDIT = "{urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2}CreditNote"
CII = "{urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100}CrossIndustryInvoice"
INVOICES = frozenset((UBL, UBL_CREDIT, CII))
"Names of the root elements."
CREDIT_NOTES = frozenset("81 83 261 262 296 308 381 396 420 458 532".split())
"BT-3: types of UNTDID 1001 that EN 16931 takes for credit notes."
PIECES = frozenset("C62 EA H87 PCE NAR NMP XPP ZZ 1".split())
"UN/ECE Recommendation 20: codes for one of anything, which a log has no unit for."
UNITS = {
    "MTR": "m", "CMT": "cm", "MMT": "mm", "MTK": "m²", "MTQ": "m³", "LTR": "l", "MLT": "ml", "KGM": "kg", "GRM": "g",
    "HUR": "h", "MIN": "min", "DAY": "day", "KWH": "kWh", "KWT": "kW", "SET": "set", "PR": "pair", "BX": "box",
}  # fmt: skip
"UN/ECE Recommendation 20: codes and how an owner writes them; another code stands as it is."
PREFIXES = {
    CAC: "cac:", CBC: "cbc:",
    "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}": "ram:",
    "{urn:un:unece:uncefact:data:standard:CrossIndustryInvoice:100}": "rsm:",
    "{urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100}": "udt:",
}  # fmt: skip
SPACES = {prefix.rstrip(":"): space.strip("{}") for space, prefix in PREFIXES.items()}


@frozen
class Extra:
    """A charge or an allowance, of the document or of a line."""

    charge: bool
    "else it is an allowance"
    amount: Decimal
    "BT-92 or BT-99, without sign"
    what: str
    "BT-97 or BT-104"
    rate: Decimal | None
    "percent; None on a line, which has one rate for all of it"

    @property
    def signed(self) -> Decimal:
        return self.amount if self.charge else -self.amount

    def as_extra(self) -> BillExtra:
        """As a bill has it, which is never below zero."""
        return BillExtra(amount=abs(self.amount), what=self.what, tax=self.rate or Decimal(0))


class _Syntax:
    """Where each business term stands in one syntax; the paths are those of its table."""

    paths: Mapping[str, str]
    line: str
    extra: str
    tax: str

    def __init__(self, root: Element) -> None:
        self.root = root

    def text(self, name: str, element: Element | None = None) -> str | None:
        """What stands in the first of the places of a term, in one line; None where there is nothing."""
        start = self.root if element is None else element
        for path in self.paths[name].split("|"):
            for found in start.iterfind(path.strip(), SPACES):
                if words := " ".join((found.text or "").split()):
                    return words
        return None

    def number(self, name: str, element: Element | None = None) -> Decimal | None:
        text = self.text(name, element)
        return None if text is None else _read_decimal(text, self.paths[name].split("|")[0])

    def day(self, name: str) -> datetime.date | None:
        text = self.text(name)
        return None if text is None else _read_day(text, self.paths[name].split("|")[0])

    def unit(self, element: Element) -> str | None:
        found = element.find(self.paths["qty"].split("|")[0], SPACES)
        if found is None:
            found = element.find(self.paths["qty"].split("|")[-1], SPACES)
        code = found.get("unitCode") if found is not None else None
        return None if code is None or code in PIECES else UNITS.get(code, cut(code, 8))

    def extras(self, element: Element | None = None, path: str | None = None) -> list[Extra]:
        """The charges and allowances of the document, or of a line."""
        start = self.root if element is None else element
        found = []
        for each in start.iterfind(path or self.extra, SPACES):
            charge = self.text("indicator", each) in ("true", "1")
            amount = self.number("extra-amount", each)
            what = self.text("extra-reason", each) or ("Charge" if charge else "Allowance")
            found.append(
                Extra(charge=charge, amount=amount or Decimal(0), what=what, rate=self.number("extra-rate", each))
            )
        return found

    def tax_totals(self, currency: str) -> Decimal | None:
        """BT-110: the tax in the document's own currency; there may be another in the supplier's."""
        raise NotImplementedError


class _Ubl(_Syntax):
    line = "cac:InvoiceLine"
    extra = "cac:AllowanceCharge"
    line_extra = "cac:AllowanceCharge"
    tax = "cac:TaxTotal/cac:TaxSubtotal"
    paths: Mapping[str, str] = {
        "ref": "cbc:ID",
        "day": "cbc:IssueDate",
        "type": "cbc:InvoiceTypeCode|cbc:CreditNoteTypeCode",
        "currency": "cbc:DocumentCurrencyCode",
        "supplier": "cac:AccountingSupplierParty/cac:Party/cac:PartyName/cbc:Name|"
        "cac:AccountingSupplierParty/cac:Party/cac:PartyLegalEntity/cbc:RegistrationName",
        "delivered": "cac:Delivery/cbc:ActualDeliveryDate",
        "credits": "cac:BillingReference/cac:InvoiceDocumentReference/cbc:ID",
        "lines": "cac:LegalMonetaryTotal/cbc:LineExtensionAmount",
        "net": "cac:LegalMonetaryTotal/cbc:TaxExclusiveAmount",
        "gross": "cac:LegalMonetaryTotal/cbc:TaxInclusiveAmount",
        "prepaid": "cac:LegalMonetaryTotal/cbc:PrepaidAmount",
        "rounding": "cac:LegalMonetaryTotal/cbc:PayableRoundingAmount",
        "payable": "cac:LegalMonetaryTotal/cbc:PayableAmount",
        "indicator": "cbc:ChargeIndicator",
        "extra-amount": "cbc:Amount",
        "extra-reason": "cbc:AllowanceChargeReason",
        "extra-rate": "cac:TaxCategory/cbc:Percent",
        "tax-base": "cbc:TaxableAmount",
        "tax-amount": "cbc:TaxAmount",
        "tax-rate": "cac:TaxCategory/cbc:Percent",
        "id": "cbc:ID",
        "qty": "cbc:InvoicedQuantity|cbc:CreditedQuantity",
        "total": "cbc:LineExtensionAmount",
        "what": "cac:Item/cbc:Name|cac:Item/cbc:Description",
        "number": "cac:Item/cac:SellersItemIdentification/cbc:ID",
        "rate": "cac:Item/cac:ClassifiedTaxCategory/cbc:Percent",
        "price": "cac:Price/cbc:PriceAmount",
        "base-qty": "cac:Price/cbc:BaseQuantity",
    }

    def tax_totals(self, currency: str) -> Decimal | None:
        amounts = self.root.findall("cac:TaxTotal/cbc:TaxAmount", SPACES)
        own = [each for each in amounts if each.get("currencyID") == currency] or amounts
        return _read_decimal(own[0].text or "", "cac:TaxTotal/cbc:TaxAmount") if own else None


class _UblCredit(_Ubl):
    line = "cac:CreditNoteLine"


DEAL = "rsm:SupplyChainTradeTransaction/"
SETTLED = f"{DEAL}ram:ApplicableHeaderTradeSettlement/"
SUMS = f"{SETTLED}ram:SpecifiedTradeSettlementHeaderMonetarySummation/"
ITEM_SETTLED = "ram:SpecifiedLineTradeSettlement/"


class _Cii(_Syntax):
    line = f"{DEAL}ram:IncludedSupplyChainTradeLineItem"
    extra = f"{SETTLED}ram:SpecifiedTradeAllowanceCharge"
    line_extra = f"{ITEM_SETTLED}ram:SpecifiedTradeAllowanceCharge"
    tax = f"{SETTLED}ram:ApplicableTradeTax"
    paths: Mapping[str, str] = {
        "ref": "rsm:ExchangedDocument/ram:ID",
        "day": "rsm:ExchangedDocument/ram:IssueDateTime/udt:DateTimeString",
        "type": "rsm:ExchangedDocument/ram:TypeCode",
        "currency": f"{SETTLED}ram:InvoiceCurrencyCode",
        "supplier": f"{DEAL}ram:ApplicableHeaderTradeAgreement/ram:SellerTradeParty/ram:SpecifiedLegalOrganization/"
        f"ram:TradingBusinessName|{DEAL}ram:ApplicableHeaderTradeAgreement/ram:SellerTradeParty/ram:Name",
        "delivered": f"{DEAL}ram:ApplicableHeaderTradeDelivery/ram:ActualDeliverySupplyChainEvent/"
        "ram:OccurrenceDateTime/udt:DateTimeString",
        "credits": f"{SETTLED}ram:InvoiceReferencedDocument/ram:IssuerAssignedID",
        "lines": f"{SUMS}ram:LineTotalAmount",
        "net": f"{SUMS}ram:TaxBasisTotalAmount",
        "gross": f"{SUMS}ram:GrandTotalAmount",
        "prepaid": f"{SUMS}ram:TotalPrepaidAmount",
        "rounding": f"{SUMS}ram:RoundingAmount",
        "payable": f"{SUMS}ram:DuePayableAmount",
        "indicator": "ram:ChargeIndicator/udt:Indicator",
        "extra-amount": "ram:ActualAmount",
        "extra-reason": "ram:Reason",
        "extra-rate": "ram:CategoryTradeTax/ram:RateApplicablePercent",
        "tax-base": "ram:BasisAmount",
        "tax-amount": "ram:CalculatedAmount",
        "tax-rate": "ram:RateApplicablePercent",
        "id": "ram:AssociatedDocumentLineDocument/ram:LineID",
        "qty": "ram:SpecifiedLineTradeDelivery/ram:BilledQuantity",
        "total": f"{ITEM_SETTLED}ram:SpecifiedTradeSettlementLineMonetarySummation/ram:LineTotalAmount",
        "what": "ram:SpecifiedTradeProduct/ram:Name|ram:SpecifiedTradeProduct/ram:Description",
        "number": "ram:SpecifiedTradeProduct/ram:SellerAssignedID",
        "rate": f"{ITEM_SETTLED}ram:ApplicableTradeTax/ram:RateApplicablePercent",
        "price": "ram:SpecifiedLineTradeAgreement/ram:NetPriceProductTradePrice/ram:ChargeAmount",
        "base-qty": "ram:SpecifiedLineTradeAgreement/ram:NetPriceProductTradePrice/ram:BasisQuantity",
    }

    def tax_totals(self, currency: str) -> Decimal | None:
        amounts = self.root.findall(f"{SUMS}ram:TaxTotalAmount", SPACES)
        own = [each for each in amounts if each.get("currencyID") == currency] or amounts
        return _read_decimal(own[0].text or "", "ram:TaxTotalAmount") if own else None


SYNTAXES: Mapping[str, Any] = {UBL: _Ubl, UBL_CREDIT: _UblCredit, CII: _Cii}


def read_invoice(root: Element, origin: Origin, home: str) -> Bill:
    """The bill that a document tells; raises `Unreadable` where it lacks what every invoice has."""
    syntax: _Syntax = SYNTAXES[root.tag](root)
    ref, day, currency = syntax.text("ref"), syntax.day("day"), syntax.text("currency")
    supplier, payable = syntax.text("supplier"), syntax.number("payable")
    for value, name in ((day, "day"), (supplier, "supplier"), (currency, "currency"), (payable, "payable")):
        if value is None:
            raise _miss(syntax.paths[name])
    assert day is not None and supplier is not None and currency is not None and payable is not None
    if not is_currency(currency):
        raise Unreadable(f"there is no currency `{cut(currency, 12)}`", "ask for it again", at=syntax.paths["currency"])
    credit = root.tag == UBL_CREDIT or syntax.text("type") in CREDIT_NOTES
    lines = [_read_line(syntax, each) for each in root.iterfind(syntax.line, SPACES)]
    extras = found = [each for each in syntax.extras() if each.amount]
    if not lines:
        lines, extras = list(_sum_up(syntax, currency)), []
    rounding = syntax.number("rounding") or None
    if credit:
        # an order below zero: what was added to it is taken off, so each is a line of its own
        lines += [BillLine(what=each.what, total=each.signed, tax=each.rate, kind="fee") for each in extras]
        lines += [BillLine(what="Rounding", total=rounding, tax=Decimal(0), kind="fee")] if rounding else []
        lines = [_turn(line) for line in lines]
        extras, rounding = [], None
    prepaid = syntax.number("prepaid") or Decimal(0)
    delivered = syntax.day("delivered")
    return Bill(
        origin=origin,
        supplier=supplier,
        ref=ref,
        day=day,
        lines=tuple(lines),
        # most invoices are written after the goods were sent, and none says when they were ordered
        ordered=delivered if delivered and delivered < day else None,
        arrived=delivered,
        # asked for nothing: it was paid by the day that it was written
        paid=day if payable == 0 and prepaid else None,
        currency=currency if currency != home else None,
        added=tuple(each.as_extra() for each in extras if each.signed > 0),
        taken_off=tuple(each.as_extra() for each in extras if each.signed < 0),
        rounding=rounding,
        prices="net" if any(each.tax for each in lines) or any(each.rate for each in extras) else None,
        payable=-payable if credit else payable,
        prepaid=-prepaid if credit else prepaid,
        prepaid_on=day if prepaid > 0 and payable and not credit else None,
        paper=origin.source,
        credit=credit,
        credits=syntax.text("credits") if credit else None,
        remarks=tuple(_find_contradictions(syntax, currency, found)),
    )


def _miss(path: str) -> Unreadable:
    at = path.split("|", maxsplit=1)[0]
    return Unreadable(f"this invoice has no {at.rsplit('/', 1)[-1]}", "ask the supplier for a complete one", at=at)


def _read_line(syntax: Any, element: Element) -> BillLine:
    total, qty = syntax.number("total", element), syntax.number("qty", element)
    if total is None:
        raise _miss(f"{syntax.line}/{syntax.paths['total']}")
    number, price = syntax.text("number", element), syntax.number("price", element)
    exact = price is not None and qty is not None and qty > 0 and EXACT.multiply(qty, price) == total and total >= 0
    return BillLine(
        what=syntax.text("what", element) or f"Line {syntax.text('id', element) or ''}".strip(),
        total=total,
        # a quantity below zero takes something off, as its net amount says
        qty=abs(qty) if qty else Decimal(1),
        each=price if exact else None,
        unit=syntax.unit(element),
        number=number if total >= 0 else None,
        tax=syntax.number("rate", element) or Decimal(0),
        kind="other" if total < 0 else None,
    )


def _turn(line: BillLine) -> BillLine:
    """A line of a credit note: what it takes off, and no part that comes."""
    return BillLine(
        what=line.what, total=-line.total, qty=line.qty, unit=line.unit, tax=line.tax, kind=line.kind or "other"
    )


def _sum_up(syntax: _Syntax, currency: str) -> Iterator[BillLine]:
    """Of a document without lines, as some profiles have it: a line for each rate, or what there is of sums."""
    # what a rate is computed on has the charges and allowances of the document in it
    rows, net, tax = syntax.root.findall(syntax.tax, SPACES), syntax.number("net"), syntax.tax_totals(currency)
    if rows:
        for row in rows:
            base, rate = syntax.number("tax-base", row), syntax.number("tax-rate", row)
            yield BillLine(what="Not itemised", total=base or Decimal(0), tax=rate or Decimal(0))
    elif net is not None:
        yield BillLine(what="Not itemised", total=net, tax=None)
        if tax:
            yield BillLine(what="Tax", total=tax, kind="fee")
    else:
        raise _miss(syntax.line)


# ── contradictions ───────────────────────────────────────────────────────────────────────────────────────────────


def _find_contradictions(syntax: Any, currency: str, extras: Sequence[Extra]) -> Iterator[str]:
    """What a document says of itself and does not hold, by the rules of EN 16931-1 (BR-CO-10, -13, -15, -16, -17)."""
    elements = syntax.root.findall(syntax.line, SPACES)
    for element in elements:
        yield from _check_line(syntax, element, currency)
    lines, net, gross = (syntax.number(name) for name in ("lines", "net", "gross"))
    zero = Decimal(0)
    if elements and lines is not None:
        summed = sum_exactly(syntax.number("total", element) or zero for element in elements)
        yield from _compare("its lines", summed, lines, syntax.paths["lines"])
    if lines is not None and net is not None:
        summed = sum_exactly([lines, *(each.signed for each in extras)])
        yield from _compare("its lines, charges and allowances", summed, net, syntax.paths["net"])
    taxes = defaultdict[Decimal, list[Decimal]](list)
    for row in syntax.root.iterfind(syntax.tax, SPACES):
        base, tax, rate = (syntax.number(name, row) for name in ("tax-base", "tax-amount", "tax-rate"))
        if base is not None and tax is not None:
            exact = EXACT.scaleb(EXACT.multiply(base, rate or zero), -2)
            computed = round_to_minor_unit(exact, currency).amount
            yield from _compare(f"the tax of {rate or zero:f} % on {base:f}", computed, tax, syntax.tax)
            taxes[rate or zero].append(tax)
    total = syntax.tax_totals(currency)
    if taxes and total is not None:
        yield from _compare("its taxes", sum_exactly(tax for some in taxes.values() for tax in some), total, "TaxTotal")
    if net is not None and gross is not None:
        yield from _compare("its net amount and tax", EXACT.add(net, total or zero), gross, syntax.paths["gross"])
    payable, prepaid, rounding = (syntax.number(name) or zero for name in ("payable", "prepaid", "rounding"))
    if gross is not None:
        due = sum_exactly([gross, -prepaid, rounding])
        yield from _compare("its gross amount, less what was paid, and rounding", due, payable, syntax.paths["payable"])


def _check_line(syntax: Any, element: Element, currency: str) -> Iterator[str]:
    qty, price, total = (syntax.number(name, element) for name in ("qty", "price", "total"))
    if qty is None or price is None or total is None:
        return
    base = syntax.number("base-qty", element) or Decimal(1)
    extras = sum_exactly(each.signed for each in syntax.extras(element, syntax.line_extra))
    exact = EXACT.divide(EXACT.multiply(qty, price), base)
    computed = round_to_minor_unit(EXACT.add(exact, extras), currency).amount
    name = f"line {syntax.text('id', element) or '?'}, {qty:f} at {price:f}{f' for {base:f}' if base != 1 else ''}"
    yield from _compare(name, computed, total, f"{syntax.line}/{syntax.paths['total']}")


def _compare(what: str, computed: Decimal, told: Decimal, path: str) -> Iterator[str]:
    if computed != told:
        name = path.split("|", maxsplit=1)[0].rsplit("/", 1)[-1]
        yield f"{what} come{'' if what.startswith('its') else 's'} to {computed + 0:f}, but `{name}` says {told:f}"


def _read_decimal(text: str, path: str) -> Decimal:
    """An amount or a quantity (XML Schema, xs:decimal); raises `Unreadable`."""
    if not re.fullmatch(r"[-+]?(\d{1,15}(\.\d{0,15})?|\.\d{1,15})", text.strip()):
        raise Unreadable(f"`{cut(text, 30)}` is no number", "ask the supplier for a corrected one", at=path)
    return Decimal(text.strip())


def _read_day(text: str, path: str) -> datetime.date:
    """A day: xs:date, or eight digits (UN/CEFACT format 102); raises `Unreadable`."""
    found = re.match(r"(\d{4})-?(\d{2})-?(\d{2})", text)
    try:
        if not found:
            raise ValueError
        return datetime.date(*map(int, found.groups()))
    except ValueError:
        raise Unreadable(f"`{cut(text, 30)}` is no day", "ask the supplier for a corrected one", at=path) from None
