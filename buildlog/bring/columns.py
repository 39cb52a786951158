"""What does each column of a spreadsheet mean?

Columns are guessed by their headings, in several languages; in which notation their cells are is for `sheets`. A
`mapping.yaml` settles whatever it says, and all of it can be kept as one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import yaml

from buildlog.bring.sheets import (
    DATES,
    DECIMALS,
    Cell,
    Sheet,
    find_column,
    find_decimals,
    find_notation,
    name_column,
    read_cell_amount,
    read_day,
)
from buildlog.bring.sources import Unreadable
from buildlog.frozen import frozen
from buildlog.problems import suggest
from buildlog.text import cut, strip_accents

HEADINGS: Mapping[str, str] = {
    "date": "date|day|purchase date|order date|invoice date|bought on|datum|belegdatum|rechnungsdatum|kaufdatum|"
    "bestelldatum|factuurdatum|besteldatum|date achat|date facture|fecha|data",
    "supplier": "supplier|seller|shop|store|vendor|from|bought from|merchant|lieferant|handler|laden|verkaufer|firma|"
    "leverancier|winkel|verkoper|fournisseur|vendeur|magasin|proveedor|fornitore",
    "ref": "ref|reference|order|order no|order number|invoice|invoice no|invoice number|receipt|receipt no|beleg|"
    "belegnr|"
    "belegnummer|rechnung|rechnungsnr|rechnungsnummer|bestellnr|bestellnummer|factuur|factuurnummer|bestelnummer|bon|"
    "bonnummer|facture|numero facture|no facture|commande|factura|fattura",
    "what": "what|item|description|article|part|product|details|artikel|bezeichnung|beschreibung|teil|ware|produkt|"
    "omschrijving|onderdeel|designation|libelle|piece|descripcion|articulo|descrizione",
    "number": "number|part no|part number|article no|article number|item no|sku|teilenummer|teilenr|artikelnr|"
    "artikelnummer|onderdeelnummer|reference piece|numero piece|ref article",
    "qty": "qty|quantity|count|pcs|pieces|menge|anzahl|stuck|stk|aantal|quantite|qte|nombre|cantidad|quantita",
    "unit": "unit|units|einheit|eenheid|unite|unidad",
    "each": "each|unit price|price each|price|einzelpreis|stuckpreis|preis|stukprijs|prijs|prix unitaire|pu|prix",
    "total": "total|amount|sum|line total|cost|value|betrag|summe|gesamt|gesamtpreis|gesamtbetrag|bedrag|totaal|"
    "paid amount|montant|somme|importe|importo|total price|amount paid",
    "tax": "tax|vat|vat rate|tax rate|vat %|tax %|mwst|ust|mwst satz|steuersatz|btw|tva|iva",
    "currency": "currency|cur|wahrung|valuta|munteenheid|devise|monnaie|moneda",
    "charged": "charged|card|on card|card amount|abgebucht|afgeschreven|debite",
    "paid": "paid|paid on|payment date|bezahlt|bezahlt am|betaald|betaald op|paye le|date paiement",
    "arrived": "arrived|arrived on|received|delivered|geliefert|lieferdatum|ontvangen|geleverd|recu le|livre le",
    "system": "system|for|bereich|baugruppe|systeem|systeme",
}
"What people call a column, without accents and in small letters; each field's own name first."
FIELDS = tuple(HEADINGS)
AMOUNTS = ("qty", "each", "total", "tax", "charged")
DAYS = ("date", "paid", "arrived")
HEADER_WITHIN = 30
"Rows in which the headings are sought."
LONGEST_HEADING = 100
"Characters of a heading that are looked at."
LARGEST_MAPPING = 20_000
"Characters of a mapping."
CHOICES: Mapping[str, Iterable[str]] = {
    "dates": DATES, "decimals": DECIMALS, "prices": ("net", "gross"), "hidden_rows": ("read", "skip"),
}  # fmt: skip
KEYS = frozenset(
    "sheet header encoding separator dates decimals currency prices paid arrived rate hidden_rows always "
    "columns".split()
)


@frozen
class Settled:
    """How one sheet is read: what was settled by its owner, and what was guessed."""

    columns: Mapping[str, int]
    "column of each field, counted from 0"
    header: int
    "row of the headings in the sheet, counted from 0; -1: none"
    headings: tuple[str, ...]
    "of every column"
    dates: str
    "key of `DATES`"
    decimals: str
    "key of `DECIMALS`"
    settled: Mapping[str, Any]
    "what the owner's mapping says"

    def get(self, key: str, default: str = "") -> str:
        """What the owner settled, as text."""
        value = self.settled.get(key)
        return value if isinstance(value, str) and value else default

    @property
    def always(self) -> Mapping[str, str]:
        """What holds for every row, by field."""
        value = self.settled.get("always")
        return value if isinstance(value, dict) else {}


def load_mapping(text: str) -> dict[str, Any]:
    """What a mapping settles; raises `Unreadable`."""
    if len(text) > LARGEST_MAPPING:
        raise Unreadable("this mapping is far too long", "it needs a few lines", rule="mapping")
    try:
        # every value as text, as in the log: `no` and `0123` stay what they are
        told = yaml.load(text, Loader=yaml.BaseLoader)
    except (yaml.YAMLError, RecursionError) as error:
        mark = getattr(error, "problem_mark", None)
        raise Unreadable(
            "this mapping is not YAML", "see the guide", line=mark.line + 1 if mark else 1, rule="mapping"
        ) from None
    if not isinstance(told, dict):
        raise Unreadable("this mapping says nothing", "see the guide", rule="mapping")
    for key in told:
        if key not in KEYS:
            raise Unreadable(f"a mapping has no `{key}`", suggest(str(key), KEYS), at=str(key), rule="mapping")
        if key not in ("columns", "always") and not isinstance(told[key], str):
            raise Unreadable(f"`{key}:` is not a word", "see the guide", at=str(key), rule="mapping")
    for key, choices in CHOICES.items():
        if told.get(key) and told[key] not in choices:
            help = f"write one of {', '.join(f'`{choice}`' for choice in choices)}"
            raise Unreadable(f"`{key}:` is `{told[key]}`", help, at=key, rule="mapping")
    for key in ("columns", "always"):
        named = told.get(key) or {}
        if not isinstance(named, dict) or any(not isinstance(value, str) for value in named.values()):
            raise Unreadable(f"`{key}:` is not a list of names", f"{key}: {{date: Day}}", at=key, rule="mapping")
        for field in named:
            if field not in FIELDS:
                raise Unreadable(
                    f"there is no `{field}` to map", suggest(field, FIELDS), at=f"{key}.{field}", rule="mapping"
                )
        told[key] = named
    return told


def settle(sheet: Sheet, settled: Mapping[str, Any]) -> Settled:
    """How a sheet is read; raises `Unreadable` where it cannot be told, with what to settle."""
    header = _find_header(sheet, settled)
    headings = tuple(_show_heading(cell) for cell in sheet.rows[header]) if header >= 0 else ()
    rows = sheet.rows[header + 1 :]
    columns = _find_columns(sheet, headings, settled)
    _correct_paid(columns, rows, settled)
    always = settled.get("always") or {}
    for field, words in (("date", "the day"), ("supplier", "who sold it")):
        if field not in columns and field not in always:
            raise _miss(field, words, headings)
    if "total" not in columns and "each" not in columns:
        raise _miss("total", "what was paid", headings)
    days = [cell for field in DAYS if field in columns for cell in _pick(rows, columns[field])]
    amounts = [cell for field in AMOUNTS if field in columns for cell in _pick(rows, columns[field])]
    return Settled(
        columns=columns,
        header=header,
        headings=headings,
        dates=settled.get("dates") or find_notation(days),
        decimals=settled.get("decimals") or find_decimals(amounts),
        settled=settled,
    )


def _miss(field: str, words: str, headings: Sequence[str]) -> Unreadable:
    seen = ", ".join(f"`{heading}`" for heading in headings if heading)
    help = (
        f"columns: {{{field}: …}} in a mapping; the headings here are {seen}"
        if seen
        else "see `mapping.yaml` in the guide"
    )
    return Unreadable(f"no column says {words}", help, at=field, rule="mapping")


def _pick(rows: Iterable[Sequence[Cell]], column: int) -> Iterator[str]:
    return (cell for row in rows if column < len(row) and isinstance(cell := row[column], str))


# ── headings ─────────────────────────────────────────────────────────────────────────────────────────────────────


def _fold(text: str) -> str:
    """A heading as headings are compared."""
    return " ".join(re.findall(r"[a-z0-9%]+", strip_accents(text.lower().replace("ß", "ss"))))


KNOWN = {name: field for field, names in HEADINGS.items() for name in names.split("|")}


def _show_heading(cell: Cell) -> str:
    return "" if cell is None else cut(" ".join(str(cell).split()), LONGEST_HEADING)


def _guess(heading: str) -> tuple[str, int] | None:
    """The field that a heading means, and how surely: by the whole heading, or by the longest known name in it."""
    # what stands in brackets is a currency or a unit
    folded = _fold(re.sub(r"[(\[].*?[)\]]", " ", heading))
    if folded in KNOWN:
        return KNOWN[folded], 1000
    inside = [name for name in KNOWN if len(name) > 2 and re.search(rf"\b{re.escape(name)}\b", folded)]
    best = max(inside, key=len, default=None)
    return (KNOWN[best], len(best)) if best else None


def _find_header(sheet: Sheet, settled: Mapping[str, Any]) -> int:
    if told := settled.get("header"):
        if not re.fullmatch(r"\d{1,5}", str(told)) or (int(told) and int(told) not in sheet.lines):
            raise Unreadable(f"there is no row `{told}` for headings", "header: 1", at="header", rule="mapping")
        return sheet.lines.index(int(told)) if int(told) else -1
    names = {_fold(name) for name in (settled.get("columns") or {}).values()}
    best, most = -1, 0
    for at, row in enumerate(sheet.rows[:HEADER_WITHIN]):
        texts = [cell for cell in row if isinstance(cell, str)]
        fields = {guess[0] for text in texts if (guess := _guess(text))}
        score = len(fields) + sum(_fold(text) in names for text in texts)
        if score > most and len(texts) > 1:
            best, most = at, score
    if most < 2:
        help = "write the row of the headings as `header:` in a mapping, or `header: 0` and columns by letter"
        raise Unreadable(f"no row of headings is known among the first {HEADER_WITHIN}", help, rule="mapping")
    return best


def _find_columns(sheet: Sheet, headings: Sequence[str], settled: Mapping[str, Any]) -> dict[str, int]:
    """What was settled, and for other fields the heading that means each most surely; a hidden one only if settled."""
    found: dict[str, int] = {}
    for field, name in (settled.get("columns") or {}).items():
        if name:
            found[field] = _find_column(field, name, headings)
    guesses = [
        (surely, -at, field)
        for at, heading in enumerate(headings)
        if at not in sheet.hidden and (guess := _guess(heading))
        for field, surely in [guess]
    ]
    for _, at, field in sorted(guesses, reverse=True):
        if field not in (settled.get("columns") or {}) and field not in found and -at not in found.values():
            found[field] = -at
    return found


def _correct_paid(columns: dict[str, int], rows: Sequence[Sequence[Cell]], settled: Mapping[str, Any]) -> None:
    """A guessed column of days in which hardly a cell is one is none: `Paid` is an amount as often as a day."""
    for field in ("paid", "arrived"):
        if field not in columns or field in (settled.get("columns") or {}):
            continue
        cells = [row[columns[field]] for row in rows if columns[field] < len(row) and row[columns[field]] is not None]
        if 2 * sum(any(read_day(cell, name) for name in DATES) for cell in cells) >= len(cells) > 0:
            continue
        at = columns.pop(field)
        amounts = sum(any(read_cell_amount(cell, name) for name in DECIMALS) for cell in cells)
        if field == "paid" and 2 * amounts > len(cells) and not columns.keys() & {"total", "each"}:
            columns["total"] = at


def _find_column(field: str, name: str, headings: Sequence[str]) -> int:
    folded = [_fold(heading) for heading in headings]
    if _fold(name) in folded:
        return folded.index(_fold(name))
    if re.fullmatch("[A-Z]{1,3}", name):
        return find_column(name)
    raise Unreadable(f"no column is called `{name}`", suggest(name, headings), at=f"columns.{field}", rule="mapping")


# ── shown ────────────────────────────────────────────────────────────────────────────────────────────────────────


def name_at(mapping: Settled, field: str) -> str:
    """The column of a field as its owner knows it: its heading, or its letter."""
    at = mapping.columns[field]
    heading = mapping.headings[at] if at < len(mapping.headings) else ""
    return heading or name_column(at)


def write_mapping(mapping: Settled, sheet: Sheet) -> str:
    """What was settled and guessed, as a `mapping.yaml` that settles all of it."""
    told: dict[str, Any] = {key: value for key, value in mapping.settled.items() if value and key != "columns"}
    if sheet.name:
        told["sheet"] = sheet.name
    told |= {"header": sheet.lines[mapping.header] if mapping.header >= 0 else 0}
    told |= {"dates": mapping.dates, "decimals": mapping.decimals}
    told |= {"hidden_rows": mapping.get("hidden_rows", "read")} if sheet.hidden_rows else {}
    told["columns"] = {field: name_at(mapping, field) for field in FIELDS if field in mapping.columns}
    return yaml.safe_dump(told, sort_keys=False, allow_unicode=True)
