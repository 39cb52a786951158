"""Which receipts stand in a spreadsheet, row by row, once it is settled what its columns mean?

Rows of one day, supplier and number are one receipt; a row that says none of them goes on with the one above. What
cannot be read is a problem with its row and column, and its receipt is left out whole: half a receipt would be wrong
money.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field as slot
from dataclasses import replace
from decimal import Decimal

from buildlog.arithmetic import EXACT
from buildlog.bring.bills import Bill, BillLine, Origin
from buildlog.bring.columns import FIELDS, Settled, name_at
from buildlog.bring.sheets import SIGNS, Cell, Sheet, name_rows, read_cell_amount, read_day
from buildlog.bring.sources import Unreadable
from buildlog.compute.quantities.money import is_currency, round_to_minor_unit
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.text import agree, count, cut, fold_words

TOTALS = frozenset(
    "total totals sum subtotal grand total in total summe gesamt gesamtsumme zwischensumme totaal subtotaal som somme "
    "total general totale suma".split()
) | {"grand total", "in total", "total general"}
NOT_NAMED = "Not itemised"
"What a line is called of which the sheet does not say what it was."


@frozen
class Row:
    """One row that was read."""

    line: int
    "its number in the file"
    day: datetime.date | None
    "None: not told in this row"
    supplier: str | None
    "None: not told in this row"
    ref: str | None
    "None: not told in this row"
    bought: BillLine | None
    "what it says was bought; None: it could not be read, and that is told"
    currency: str | None = None
    "None: not told in this row"
    charged: Decimal | None = None
    "None: not told in this row"
    paid: datetime.date | None = None
    "None: not told in this row"
    arrived: datetime.date | None = None
    "None: not told in this row"


@frozen
class Receipts:
    """What was read of one sheet."""

    bills: tuple[Bill, ...] = ()
    "in the order of the file"
    problems: tuple[Problem, ...] = ()
    "rows that were left out, with the receipts that they belong to"
    said: tuple[str, ...] = ()
    "how it was read, a sentence each; the last one tells one row in words"
    columns: Mapping[str, str] = slot(default_factory=dict)
    "the heading of each field that was found"


def read_receipts(sheet: Sheet, mapping: Settled, origin: Origin, home: str) -> Receipts:
    """The receipts of a sheet; `home` is the currency of what names none."""
    reader = _Reader(sheet, mapping, origin, home)
    rows = list(reader.read_rows())
    bills = list(reader.make_bills(rows))
    said = [*sheet.said, *reader.say_conventions(), *reader.left, *_say_first(bills, home)]
    columns = {field: name_at(mapping, field) for field in FIELDS if field in mapping.columns}
    return Receipts(bills=tuple(bills), problems=tuple(reader.problems), said=tuple(said), columns=columns)


class _Reader:
    """Reads one sheet, noting what it cannot read."""

    def __init__(self, sheet: Sheet, mapping: Settled, origin: Origin, home: str) -> None:
        self.sheet, self.mapping, self.origin, self.home = sheet, mapping, origin, home
        self.problems: list[Problem] = []
        self.left: list[str] = []
        self.sum = Decimal(0)

    # ── rows ─────────────────────────────────────────────────────────────────────────────────────────────────────

    def read_rows(self) -> Iterator[Row]:
        """Each row that says something; of one that could not be read only whose it is."""
        skipped = self.sheet.hidden_rows if self.mapping.get("hidden_rows") == "skip" else frozenset()
        for at in range(self.mapping.header + 1, len(self.sheet.rows)):
            if at in skipped:
                continue
            line, row = self.sheet.lines[at], self.sheet.rows[at]
            cells = {name: row[column] for name, column in self.mapping.columns.items() if column < len(row)}
            cells = {name: cell for name, cell in cells.items() if cell is not None}
            if not cells or self._is_total(cells, row, line):
                continue
            try:
                read = self._read_row(line, cells)
            except Unreadable as why:
                self.tell(why)
                read = self._read_owner(line, cells)
            self.sum += read.bought.total if read.bought else 0
            yield read

    def _read_owner(self, line: int, cells: Mapping[str, Cell]) -> Row:
        """Of a row that cannot be read, as much as tells which receipt it belongs to."""
        day = read_day(cells.get("date"), self.mapping.dates)
        supplier, ref = self._text(cells, "supplier"), self._text(cells, "ref")
        return Row(line=line, day=day, supplier=supplier, ref=ref, bought=None)

    def tell(self, why: Unreadable) -> None:
        """One row that cannot be read, as a problem."""
        self.problems.append(self.origin.source.tell(why))

    def _is_total(self, cells: Mapping[str, Cell], row: Sequence[Cell], line: int) -> bool:
        """Whether a row is the sum below the others: it says so, and has no day."""
        words = {fold_words(cell).strip(" :.") for cell in row if isinstance(cell, str)}
        if ("date" in cells and read_day(cells["date"], self.mapping.dates)) or not words & TOTALS:
            return False
        told = [cell for name, cell in cells.items() if name in ("total", "each")]
        found = [read_cell_amount(cell, self.mapping.decimals) for cell in told]
        amounts = [amount[0] for amount in found if amount]
        if amounts and self.sum not in amounts:
            words_ = f"row {line} says {amounts[0]:f} in total, but the rows above it come to {self.sum:f}"
            self.problems.append(self.warn(words_, line, "compare both; the total row itself is left out"))
        else:
            self.left.append(f"row {line} is the total of the rows above, and is left out")
        return True

    def warn(self, message: str, line: int, help: str, name: str = "") -> Problem:
        at = name_at(self.mapping, name) if name in self.mapping.columns else name
        place = Place(self.origin.source.name, line, 1, at)
        return Problem(rule="source", message=message, place=place, help=help, severity="warning")

    def _read_row(self, line: int, cells: Mapping[str, Cell]) -> Row:
        """Raises `Unreadable`, with the row and the column."""
        days = {name: self._read_day(line, name, cells) for name in ("date", "paid", "arrived")}
        bought, currencies = self._read_line(line, cells)
        charged = self._read_amount(line, "charged", cells)
        told = self._text(cells, "currency")
        currencies |= {SIGNS.get(told, told.upper())} if told else set()
        if len(currencies) > 1:
            raise self._unreadable(
                line, "currency", f"two currencies in one row: {' and '.join(sorted(currencies))}", ""
            )
        currency = next(iter(currencies), None)
        if currency is not None and not is_currency(currency):
            message = f"`{cut(currency, 12)}` stands for more than one currency, or for none"
            # a sign of several currencies is settled by `currency:`, whatever it stands in front of
            currency = self.mapping.get("currency") or None
            if currency is None:
                raise self._unreadable(line, "total", message, "currency: USD in a mapping")
        return Row(
            line=line,
            day=days["date"],
            supplier=self._text(cells, "supplier"),
            ref=self._text(cells, "ref"),
            bought=bought,
            currency=currency,
            charged=charged[0] if charged else None,
            paid=days["paid"],
            arrived=days["arrived"],
        )

    def _read_line(self, line: int, cells: Mapping[str, Cell]) -> tuple[BillLine, set[str]]:
        """What a row says was bought, and the currencies that stand with its amounts."""
        total, each = (self._read_amount(line, name, cells) for name in ("total", "each"))
        currencies = {amount[1] for amount in (total, each) if amount and amount[1]}
        told = self._read_amount(line, "qty", cells)
        qty = told[0] if told else Decimal(1)
        unit = self._text(cells, "unit") or (told[1].lower() if told and told[1] else None)
        if total is None and each is None:
            raise self._unreadable(line, "total", "this row says no amount", "write what was paid, or take the row out")
        if qty == 0:
            raise self._unreadable(line, "qty", "the quantity is 0", "write how many were bought")
        computed = EXACT.multiply(qty, each[0]) if each else None
        amount = total[0] if total else computed
        assert amount is not None
        whole = round_to_minor_unit(amount, self.home).amount
        if whole != amount and total is not None:
            words = f"{amount:f} has more decimals than {self.home}: {whole:f} is taken"
            self.problems.append(self.warn(words, line, "a formula that does not round writes such amounts", "total"))
        amount = whole
        if computed is not None and round_to_minor_unit(computed, self.home).amount != amount:
            # the total is what was paid; an owner's discount is as likely as a slip
            words = f"{qty:f} × {each[0] if each else 0:f} is {computed:f}, but this row says {amount:f}"
            self.problems.append(
                self.warn(words, line, "the total is taken; correct the row if that is the slip", "total")
            )
            each = None
        rate = self._read_amount(line, "tax", cells)
        return BillLine(
            what=self._text(cells, "what") or NOT_NAMED,
            total=amount,
            qty=abs(qty),
            each=self._pad(each[0]) if each and qty > 0 and amount >= 0 else None,
            unit=unit,
            number=self._text(cells, "number") if amount >= 0 else None,
            tax=self._scale_rate(cells.get("tax"), rate[0]) if rate else None,
            system=self._text(cells, "system"),
        ), currencies  # fmt: skip

    def _pad(self, price: Decimal) -> Decimal:
        """A price with all decimals of the currency, as it is written; finer ones as they are."""
        whole = round_to_minor_unit(price, self.home).amount
        return whole if whole == price else price

    @staticmethod
    def _scale_rate(cell: Cell, rate: Decimal) -> Decimal:
        """Per cent: a cell that is shown as `20 %` holds 0.2."""
        return rate * 100 if isinstance(cell, Decimal) and 0 < rate < 1 else rate

    def _text(self, cells: Mapping[str, Cell], name: str) -> str | None:
        cell = cells.get(name)
        if isinstance(cell, Decimal):
            return f"{cell.normalize():f}"  # a receipt's number that the sheet took for an amount
        if cell is not None:
            return " ".join(str(cell).split())
        return self.mapping.always.get(name) or None

    def _read_day(self, line: int, name: str, cells: Mapping[str, Cell]) -> datetime.date | None:
        cell = cells.get(name, self.mapping.always.get(name))
        if not cell:
            return None
        day = read_day(cell, self.mapping.dates)
        if day is None:
            message = f"`{cut(str(cell), 30)}` is no day written as {self.mapping.dates}"
            raise self._unreadable(line, name, message, "write it as the other rows do")
        return day

    def _read_amount(self, line: int, name: str, cells: Mapping[str, Cell]) -> tuple[Decimal, str | None] | None:
        cell = cells.get(name)
        if cell is None:
            return None
        amount = read_cell_amount(cell, self.mapping.decimals)
        if amount is None:
            form = f"is no number with a decimal {self.mapping.decimals}"
            why = "is a formula, and no amount" if str(cell).startswith("=") else form
            raise self._unreadable(line, name, f"`{cut(str(cell), 30)}` {why}", "write it as the other rows do")
        return amount

    def _unreadable(self, line: int, name: str, message: str, help: str) -> Unreadable:
        at = name_at(self.mapping, name) if name in self.mapping.columns else name
        return Unreadable(f"row {line}: {message}; it is left out", help, line=line, at=at, rule="row")

    # ── receipts ─────────────────────────────────────────────────────────────────────────────────────────────────

    def make_bills(self, rows: Sequence[Row]) -> Iterator[Bill]:
        """The receipts of the rows, each whole; one of which a row is left out is left out and told."""
        for group in _group(rows):
            read = [row for row in group if row.bought]
            lost = [row for row in group if not row.bought]
            if lost and read:
                many = f"{count(len(read), 'row')} of the same receipt {agree(len(read), 'is', 'are')}"
                words = f"{many} left out with row {lost[0].line}"
                self.problems.append(self.warn(words, read[0].line, "correct that row, and bring this file in again"))
            elif read:
                try:
                    yield self._make_bill(read)
                except Unreadable as why:
                    self.tell(why)

    def _make_bill(self, rows: Sequence[Row]) -> Bill:
        first, last = rows[0], rows[-1]
        if first.day is None or first.supplier is None:
            name, words = ("date", "no day") if first.day is None else ("supplier", "no supplier")
            raise self._unreadable(first.line, name, f"this receipt has {words}", "write it into its first row")
        currencies = {row.currency for row in rows if row.currency}
        if len(currencies) > 1:
            raise self._unreadable(
                first.line, "currency", f"a receipt in {' and '.join(sorted(currencies))}", "part it"
            )
        currency = next(iter(currencies), self.mapping.get("currency") or self.home)
        lines = tuple(row.bought for row in rows if row.bought)
        prices = self.mapping.get("prices") or self._find_prices()
        if prices is None and any(line.tax for line in lines):
            message = "nothing says whether these prices include tax"
            raise self._unreadable(first.line, "tax", message, "prices: gross or prices: net in a mapping")
        charged = [row.charged for row in rows if row.charged is not None]
        return Bill(
            origin=replace(self.origin, at=_name_rows(first.line, last.line), line=first.line),
            supplier=first.supplier,
            ref=first.ref,
            day=first.day,
            lines=lines,
            paid=first.paid or (None if self.mapping.get("paid") == "no" else first.day),
            arrived=first.arrived or (None if self.mapping.get("arrived") == "no" else first.day),
            currency=currency if currency != self.home else None,
            prices=prices if any(line.tax for line in lines) else None,
            charged=sum(charged, Decimal(0)) if charged else None,
            rate=None if charged or currency == self.home else read_rate(self.mapping.get("rate")),
            credit=sum(line.total for line in lines) < 0,
        )

    def _find_prices(self) -> str | None:
        """`net` or `gross`, where the heading of the amounts says so."""
        heading = " ".join(name_at(self.mapping, name) for name in ("each", "total") if name in self.mapping.columns)
        words = set(fold_words(heading).replace(".", " ").replace("(", " ").replace(")", " ").split())
        net = words & {"net", "netto", "excl", "ex", "excluding", "ht"}
        gross = words & {"gross", "brutto", "incl", "inc", "including", "ttc", "inkl", "bruto"}
        return None if bool(net) == bool(gross) else "net" if net else "gross"

    def say_conventions(self) -> Iterator[str]:
        mapping = self.mapping
        yield f"days are {mapping.dates}, decimals have a {mapping.decimals}"
        hidden = [mapping.headings[at] for at in sorted(self.sheet.hidden) if at < len(mapping.headings)]
        hidden = [heading for heading in hidden if heading]
        if hidden:
            yield f"hidden columns, left aside unless a mapping names them: {', '.join(hidden)}"
        if rows := [at for at in self.sheet.hidden_rows if at > mapping.header]:
            what = f"hidden {'row' if len(rows) == 1 else 'rows'} {name_rows(rows)}"
            if mapping.get("hidden_rows") == "skip":
                yield f"{what}: left out, as the mapping says"
            else:
                yield f"{what}: read like the others, unless a mapping says `hidden_rows: skip`"
        how = [words for key, words in (("paid", "paid"), ("arrived", "received")) if mapping.get(key) != "no"]
        if how:
            yield f"{' and '.join(how)} on the day of the receipt, where no column says another"


def read_rate(text: str) -> Decimal | None:
    """A rate as a mapping gives it; raises `Unreadable`."""
    if not text:
        return None
    found = read_cell_amount(text, "point")
    if found is None or found[0] <= 0:
        raise Unreadable(f"`{cut(text, 20)}` is no rate", "rate: 0.8567", at="rate", rule="mapping")
    return found[0]


def _group(rows: Sequence[Row]) -> list[list[Row]]:
    """Rows by receipt."""
    groups: list[list[Row]] = []
    by_ref: dict[tuple[str, str], list[Row]] = {}
    for row in rows:
        supplier = fold_words(row.supplier or "")
        above = next((each for each in (groups[-1] if groups else ())), None)
        if above is not None and _goes_on(row, above):
            groups[-1].append(row)
        elif row.ref is not None and _is_of(row, by_ref.get((supplier, row.ref))):
            by_ref[supplier, row.ref].append(row)  # the same receipt, further down
        else:
            groups.append([row])
            if row.ref is not None:
                by_ref[supplier, row.ref] = groups[-1]
    return groups


def _goes_on(row: Row, first: Row) -> bool:
    """Whether a row goes on with the receipt that begins with another: it says the same, or nothing else."""
    same_supplier = row.supplier is None or fold_words(row.supplier) == fold_words(first.supplier or "")
    same_day = row.day == first.day or row.day is None
    if row.bought is None and row.ref is not None and row.ref == first.ref:
        return same_supplier  # its day may be what could not be read
    return (
        same_supplier
        and same_day
        and (row.ref == first.ref or row.ref is None)
        and (row.bought is not None or row.ref is None)
    )


def _is_of(row: Row, group: Sequence[Row] | None) -> bool:
    return group is not None and (row.day in (group[0].day, None) or row.bought is None or group[0].bought is None)


def _name_rows(first: int, last: int) -> str:
    return f"row {first}" if first == last else f"rows {first} to {last}"


def _say_first(bills: Sequence[Bill], home: str) -> Iterator[str]:
    """One receipt in words: whatever was guessed wrongly shows here."""
    if bills:
        yield f"read like this, {bills[0].origin.at}: {tell_bill(bills[0], home)}"


def tell_bill(bill: Bill, home: str) -> str:
    """A bill as one would tell it to a friend."""
    line = bill.lines[0]
    many = "" if line.qty == 1 and not line.unit else f"{line.qty:f} {line.unit or '×'} "
    number = f" (number {line.number})" if line.number else ""
    each = f", {line.each:f} each" if line.each is not None and line.qty != 1 else ""
    tax = f", tax of {line.tax:f} % {'included' if bill.prices == 'gross' else 'on top'}" if line.tax else ""
    more = f", and {count(len(bill.lines) - 1, 'more line')}" if len(bill.lines) > 1 else ""
    ref = f", number {bill.ref}" if bill.ref else ""
    day = f"{bill.day.day} {bill.day:%B %Y}"
    verb = "money back from" if bill.credit else "bought from"
    amount = f"{line.total:f} {bill.currency or home}"
    return f"on {day}, {verb} {bill.supplier}{ref}: {many}{line.what}{number} for {amount}{each}{tax}{more}"
