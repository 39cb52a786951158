"""Invoices and statements as XML, written here by the syntax tables of the standards from plain figures.

UBL 2.1: CEN/TS 16931-3-2; CII D16B: CEN/TS 16931-3-3, the mandatory elements of EN 16931-1. camt.053.001.08: ISO 20022.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape

UBL = "urn:oasis:names:specification:ubl:schema:xsd"
CII = "urn:un:unece:uncefact:data:standard"
SELLER = "Kanaal Motordelen B.V."


def write_ubl(invoice: Mapping[str, Any], kind: str = "Invoice") -> bytes:
    """An invoice, or with `CreditNote` a credit note."""
    qty = "InvoicedQuantity" if kind == "Invoice" else "CreditedQuantity"
    currency = invoice["currency"]

    def amount(name: str, value: str) -> str:
        return f'<cbc:{name} currencyID="{currency}">{value}</cbc:{name}>'

    lines = "".join(
        f'<cac:{kind}Line><cbc:ID>{n}</cbc:ID><cbc:{qty} unitCode="{row.get("unit", "C62")}">{row["qty"]}</cbc:{qty}>'
        + amount("LineExtensionAmount", row["net"])
        + "".join(_write_ubl_extra(each, amount) for each in row.get("extras", ()))
        + f"<cac:Item><cbc:Name>{escape(row.get('what', f'Article {n}'))}</cbc:Name>"
        + (
            f"<cac:SellersItemIdentification><cbc:ID>{row['number']}</cbc:ID></cac:SellersItemIdentification>"
            if "number" in row
            else ""
        )
        + f"<cac:ClassifiedTaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>{row['rate']}</cbc:Percent>"
        + f"</cac:ClassifiedTaxCategory></cac:Item><cac:Price>{amount('PriceAmount', row['price'])}"
        + (f"<cbc:BaseQuantity>{row['price_base_qty']}</cbc:BaseQuantity>" if "price_base_qty" in row else "")
        + f"</cac:Price></cac:{kind}Line>"
        for n, row in enumerate(invoice["lines"], 1)
    )
    taxes = "".join(
        f"<cac:TaxSubtotal>{amount('TaxableAmount', row['base'])}{amount('TaxAmount', row['tax'])}<cac:TaxCategory>"
        f"<cbc:ID>S</cbc:ID><cbc:Percent>{row['rate']}</cbc:Percent></cac:TaxCategory></cac:TaxSubtotal>"
        for row in invoice["tax"]
    )
    sums = "".join(amount(name, invoice[name]) for name in UBL_SUMS if name in invoice)
    credits = invoice.get("credits")
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><{kind} xmlns="{UBL}:{kind}-2"'
        f' xmlns:cac="{UBL}:CommonAggregateComponents-2" xmlns:cbc="{UBL}:CommonBasicComponents-2">'
        "<cbc:CustomizationID>urn:cen.eu:en16931:2017</cbc:CustomizationID>"
        f"<cbc:ID>{invoice.get('ref', 'R-1')}</cbc:ID><cbc:IssueDate>{invoice.get('day', '2024-05-16')}</cbc:IssueDate>"
        f"<cbc:DocumentCurrencyCode>{currency}</cbc:DocumentCurrencyCode>"
        + (
            f"<cac:BillingReference><cac:InvoiceDocumentReference><cbc:ID>{credits}</cbc:ID>"
            "</cac:InvoiceDocumentReference></cac:BillingReference>"
            if credits
            else ""
        )
        + f"<cac:AccountingSupplierParty><cac:Party><cac:PartyLegalEntity><cbc:RegistrationName>{SELLER}"
        "</cbc:RegistrationName></cac:PartyLegalEntity></cac:Party></cac:AccountingSupplierParty>"
        + (
            f"<cac:Delivery><cbc:ActualDeliveryDate>{invoice['delivered']}</cbc:ActualDeliveryDate></cac:Delivery>"
            if "delivered" in invoice
            else ""
        )
        + "".join(_write_ubl_extra(each, amount) for each in invoice.get("extras", ()))
        + f"<cac:TaxTotal>{amount('TaxAmount', invoice['tax_total'])}{taxes}</cac:TaxTotal>"
        f"<cac:LegalMonetaryTotal>{sums}</cac:LegalMonetaryTotal>{lines}</{kind}>"
    ).encode()


UBL_SUMS = (
    "LineExtensionAmount", "TaxExclusiveAmount", "TaxInclusiveAmount", "AllowanceTotalAmount", "ChargeTotalAmount",
    "PrepaidAmount", "PayableRoundingAmount", "PayableAmount",
)  # fmt: skip
"In the order of the schema."
CII_SUMS = {
    "LineExtensionAmount": "LineTotalAmount", "ChargeTotalAmount": "ChargeTotalAmount",
    "AllowanceTotalAmount": "AllowanceTotalAmount", "TaxExclusiveAmount": "TaxBasisTotalAmount",
    "tax_total": "TaxTotalAmount", "PayableRoundingAmount": "RoundingAmount", "TaxInclusiveAmount": "GrandTotalAmount",
    "PrepaidAmount": "TotalPrepaidAmount", "PayableAmount": "DuePayableAmount",
}  # fmt: skip
"The same sums, and the tax, in the order of the other schema."


def _write_ubl_extra(extra: Mapping[str, str], amount: Any) -> str:
    rate = f"<cac:TaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>{extra.get('rate')}</cbc:Percent></cac:TaxCategory>"
    return (
        f"<cac:AllowanceCharge><cbc:ChargeIndicator>{extra['charge']}</cbc:ChargeIndicator><cbc:AllowanceChargeReason>"
        f"{extra['what']}</cbc:AllowanceChargeReason>{amount('Amount', extra['amount'])}"
        f"{rate if 'rate' in extra else ''}</cac:AllowanceCharge>"
    )


def write_cii(invoice: Mapping[str, Any], type_code: str = "380") -> bytes:
    """The same invoice in the other syntax."""

    def day(text: str) -> str:
        return f'<udt:DateTimeString format="102">{text.replace("-", "")}</udt:DateTimeString>'

    lines = "".join(
        "<ram:IncludedSupplyChainTradeLineItem><ram:AssociatedDocumentLineDocument>"
        f"<ram:LineID>{n}</ram:LineID></ram:AssociatedDocumentLineDocument><ram:SpecifiedTradeProduct>"
        + (f"<ram:SellerAssignedID>{row['number']}</ram:SellerAssignedID>" if "number" in row else "")
        + f"<ram:Name>{escape(row.get('what', f'Article {n}'))}</ram:Name></ram:SpecifiedTradeProduct>"
        "<ram:SpecifiedLineTradeAgreement><ram:NetPriceProductTradePrice>"
        f"<ram:ChargeAmount>{row['price']}</ram:ChargeAmount>"
        + (f"<ram:BasisQuantity>{row['price_base_qty']}</ram:BasisQuantity>" if "price_base_qty" in row else "")
        + "</ram:NetPriceProductTradePrice></ram:SpecifiedLineTradeAgreement><ram:SpecifiedLineTradeDelivery>"
        f'<ram:BilledQuantity unitCode="{row.get("unit", "C62")}">{row["qty"]}</ram:BilledQuantity>'
        "</ram:SpecifiedLineTradeDelivery><ram:SpecifiedLineTradeSettlement><ram:ApplicableTradeTax>"
        "<ram:TypeCode>VAT</ram:TypeCode><ram:CategoryCode>S</ram:CategoryCode>"
        f"<ram:RateApplicablePercent>{row['rate']}</ram:RateApplicablePercent></ram:ApplicableTradeTax>"
        + "".join(map(_write_cii_extra, row.get("extras", ())))
        + "<ram:SpecifiedTradeSettlementLineMonetarySummation>"
        f"<ram:LineTotalAmount>{row['net']}</ram:LineTotalAmount></ram:SpecifiedTradeSettlementLineMonetarySummation>"
        "</ram:SpecifiedLineTradeSettlement></ram:IncludedSupplyChainTradeLineItem>"
        for n, row in enumerate(invoice["lines"], 1)
    )
    taxes = "".join(
        f"<ram:ApplicableTradeTax><ram:CalculatedAmount>{row['tax']}</ram:CalculatedAmount>"
        f"<ram:TypeCode>VAT</ram:TypeCode><ram:BasisAmount>{row['base']}</ram:BasisAmount><ram:CategoryCode>S</ram:CategoryCode>"
        f"<ram:RateApplicablePercent>{row['rate']}</ram:RateApplicablePercent></ram:ApplicableTradeTax>"
        for row in invoice["tax"]
    )
    mark = f' currencyID="{invoice["currency"]}"'
    sums = "".join(
        f"<ram:{theirs}{mark if ours == 'tax_total' else ''}>{invoice[ours]}</ram:{theirs}>"
        for ours, theirs in CII_SUMS.items()
        if ours in invoice
    )
    delivered = (
        "<ram:ActualDeliverySupplyChainEvent><ram:OccurrenceDateTime>"
        f"{day(invoice['delivered'])}</ram:OccurrenceDateTime></ram:ActualDeliverySupplyChainEvent>"
        if "delivered" in invoice
        else ""
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><rsm:CrossIndustryInvoice xmlns:rsm="{CII}:CrossIndustryInvoice:100"'
        f' xmlns:ram="{CII}:ReusableAggregateBusinessInformationEntity:100" xmlns:udt="{CII}:UnqualifiedDataType:100">'
        "<rsm:ExchangedDocumentContext><ram:GuidelineSpecifiedDocumentContextParameter>"
        "<ram:ID>urn:cen.eu:en16931:2017</ram:ID>"
        "</ram:GuidelineSpecifiedDocumentContextParameter></rsm:ExchangedDocumentContext>"
        f"<rsm:ExchangedDocument><ram:ID>{invoice.get('ref', 'R-1')}</ram:ID><ram:TypeCode>{type_code}</ram:TypeCode>"
        f"<ram:IssueDateTime>{day(invoice.get('day', '2024-05-16'))}</ram:IssueDateTime></rsm:ExchangedDocument>"
        f"<rsm:SupplyChainTradeTransaction>{lines}<ram:ApplicableHeaderTradeAgreement><ram:SellerTradeParty>"
        f"<ram:Name>{SELLER}</ram:Name></ram:SellerTradeParty><ram:BuyerTradeParty><ram:Name>Somebody</ram:Name></ram:BuyerTradeParty>"
        "</ram:ApplicableHeaderTradeAgreement><ram:ApplicableHeaderTradeDelivery>"
        f"{delivered}</ram:ApplicableHeaderTradeDelivery><ram:ApplicableHeaderTradeSettlement>"
        f"<ram:InvoiceCurrencyCode>{invoice['currency']}</ram:InvoiceCurrencyCode>{taxes}"
        + "".join(map(_write_cii_extra, invoice.get("extras", ())))
        + f"<ram:SpecifiedTradeSettlementHeaderMonetarySummation>{sums}"
        "</ram:SpecifiedTradeSettlementHeaderMonetarySummation></ram:ApplicableHeaderTradeSettlement>"
        "</rsm:SupplyChainTradeTransaction></rsm:CrossIndustryInvoice>"
    ).encode()


def _write_cii_extra(extra: Mapping[str, str]) -> str:
    rate = extra.get("rate")
    tax = (
        "<ram:CategoryTradeTax><ram:TypeCode>VAT</ram:TypeCode><ram:CategoryCode>S</ram:CategoryCode>"
        f"<ram:RateApplicablePercent>{rate}</ram:RateApplicablePercent></ram:CategoryTradeTax>"
    )
    return (
        "<ram:SpecifiedTradeAllowanceCharge><ram:ChargeIndicator><udt:Indicator>"
        f"{extra['charge']}</udt:Indicator></ram:ChargeIndicator><ram:ActualAmount>{extra['amount']}</ram:ActualAmount>"
        f"<ram:Reason>{extra['what']}</ram:Reason>{tax if rate else ''}</ram:SpecifiedTradeAllowanceCharge>"
    )


def write_camt(entries: Sequence[Mapping[str, str]], version: str = "08") -> bytes:
    """A statement; each entry has `amount`, `day`, and may have `currency`, `to`, `text`, `sign`, `status`."""

    def party(row: Mapping[str, str]) -> str:
        role = "Cdtr" if row.get("sign", "DBIT") == "DBIT" else "Dbtr"
        name = f"<Nm>{escape(row['to'])}</Nm>"
        return f"<RltdPties><{role}>{name if version == '02' else f'<Pty>{name}</Pty>'}</{role}></RltdPties>"

    rows = "".join(
        f'<Ntry><Amt Ccy="{row.get("currency", "EUR")}">{row["amount"]}</Amt>'
        f"<CdtDbtInd>{row.get('sign', 'DBIT')}</CdtDbtInd>"
        + (
            f"<Sts>{row.get('status', 'BOOK')}</Sts>"
            if version == "02"
            else f"<Sts><Cd>{row.get('status', 'BOOK')}</Cd></Sts>"
        )
        + f"<BookgDt><Dt>{row['day']}</Dt></BookgDt><NtryDtls><TxDtls>"
        + (party(row) if "to" in row else "")
        + (f"<RmtInf><Ustrd>{escape(row['text'])}</Ustrd></RmtInf>" if "text" in row else "")
        + "</TxDtls></NtryDtls></Ntry>"
        for row in entries
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>'
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}">'
        f"<BkToCstmrStmt><GrpHdr><MsgId>M1</MsgId></GrpHdr><Stmt><Id>S1</Id>{rows}</Stmt></BkToCstmrStmt></Document>"
    ).encode()
