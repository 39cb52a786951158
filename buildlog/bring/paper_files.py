"""Where does each paper go, and to which order does it belong, by what its name or its text layer says?

A paper is filed by its day and its supplier, where both are told: by the number of an order that stands in it, or by a
day and the name of a supplier that the log knows. Nothing is guessed from what is only drawn: what does not say both is
listed for its owner to sort.
"""

from __future__ import annotations

import datetime
import io
import logging
import re
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from buildlog.bring.bills import Bill
from buildlog.bring.sources import Left, Source, Unreadable, make_digest, need
from buildlog.frozen import frozen
from buildlog.paths import fold_name
from buildlog.read.kinds import make_short_name
from buildlog.read.records import Log
from buildlog.text import join_words, strip_accents

INVOICE_NAMES = frozenset(("factur-x.xml", "zugferd-invoice.xml", "xrechnung.xml", "cii.xml"))
"How the invoice inside a hybrid PDF is called (Factur-X 1.0, 6.1; ZUGFeRD 1.0 and 2.0), in small letters."
LARGEST_INSIDE = 20_000_000
"Bytes that one stream of a PDF is unpacked to."
PDF_BOUNDS: Mapping[str, Any] = {
    "zlib_maximum_output_length": LARGEST_INSIDE,
    "lzw_maximum_output_length": LARGEST_INSIDE,
    "run_length_maximum_output_length": LARGEST_INSIDE,
    "brotli_maximum_output_length": LARGEST_INSIDE,
    "stream_decoding_work_maximum_length": 4 * LARGEST_INSIDE,
    "stream_parsing_work_maximum_count": 200_000,
    "page_tree_maximum_entries": 20_000,
    "jbig2dec_binary": None,  # a program of another's, for pictures that are not looked at
}
"How much of a PDF its reader takes; it has bounds for all else itself."
PAGES_READ = 2
"Pages of a paper whose text is read: who sold it and when stands on the first."
LONGEST_TEXT = 20_000
"Characters of its text that are looked at."
LONGEST_NAME = 80
"Characters of a paper's name in the log, before its suffix."
SHORTEST_REF = 4
"Signs of an order's number that is sought in a text: a shorter one stands there by chance."
DAYS = (
    re.compile(r"(?<!\d)(?P<y>20\d{2})[-_.](?P<m>\d{2})[-_.](?P<d>\d{2})(?!\d)"),
    re.compile(r"(?<!\d)(?P<y>20\d{2})(?P<m>0[1-9]|1[0-2])(?P<d>0[1-9]|[12]\d|3[01])(?!\d)"),
    # with points it is day, month, year wherever it is written so; with slashes it is anybody's guess
    re.compile(r"(?<!\d)(?P<d>\d{1,2})\.\s?(?P<m>\d{1,2})\.\s?(?P<y>20\d{2})(?!\d)"),
)


@frozen
class PaperFile:
    """A paper of which no invoice can be read."""

    source: Source
    "the file"
    digest: str
    "of its bytes"
    text: str
    "its text layer, or some of it; empty: it has none"


@frozen
class PaperCopy:
    """One paper in the log."""

    path: str
    "its path there"
    here: bool
    "whether it lies there already"
    alone: bool
    "whether it is copied even if no entry that is written names it"


@frozen
class Papers:
    """What becomes of papers."""

    bills: tuple[Bill, ...]
    "all that are brought in, each with the paper that shows it"
    copies: Mapping[Path, PaperCopy]
    "by where each lies"
    left: tuple[Left, ...]
    "what is to be sorted, and what its owner may want to do"
    pictures: tuple[Source, ...]
    "pictures that are no scans by their name"


@frozen
class _Known:
    """An order that a paper may belong to."""

    supplier: str
    "who sold it"
    ref: str | None
    "its number"
    day: datetime.date
    "of the order"
    at: int | None
    "which bill it is of those brought in; None: it is in the log"
    where: str = ""
    "where it stands in the log"
    has_paper: bool = False
    "whether it has its paper"


def read_pdf(data: bytes) -> tuple[bytes | None, str]:
    """The invoice inside a hybrid PDF, if there is one, and the text layer of its first pages.

    Nothing in it is run, and nothing that it refers to is fetched. Raises `Unreadable`.
    """
    pypdf = need("pypdf", "PDF")
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what is wrong is told once, in our words
    try:
        with warnings.catch_warnings(), pypdf.apply_configuration(**PDF_BOUNDS):
            warnings.simplefilter("ignore")
            return _look_inside(pypdf.PdfReader(io.BytesIO(data)))
    except Unreadable:
        raise
    except Exception as error:  # PDFs can be broken in every way, and each fails in its own
        words = " ".join(str(error).split())[:80] or type(error).__name__
        raise Unreadable(f"this PDF is damaged ({words})", "print it into a new PDF", rule="damaged") from None


def _look_inside(reader: Any) -> tuple[bytes | None, str]:
    """The invoice or the text of an open PDF; raises whatever its reader raises of a broken one."""
    if reader.is_encrypted and not reader.decrypt(""):
        raise Unreadable("this PDF is locked with a password", "save it without one", rule="locked")
    for attached in reader.attachment_list:
        if attached.name.lower() in INVOICE_NAMES:
            content: bytes = attached.content
            return content, ""
    pages = [reader.pages[n] for n in range(min(PAGES_READ, len(reader.pages)))]
    text = "\n".join(page.extract_text()[:LONGEST_TEXT] for page in pages)
    return None, text[:LONGEST_TEXT]


def file_papers(bills: Sequence[Bill], papers: Iterable[PaperFile], pictures: Iterable[Source], log: Log) -> Papers:
    """The place of each paper in the log, and the bills with those that show them."""
    filer = _Filer(bills, log)
    rest = []
    for picture in pictures:
        # a scan that its owner named by day and supplier; a phone names no supplier
        if filer.find_supplier(picture.path.stem) and _find_days(picture.path.stem):
            papers = [*papers, PaperFile(source=picture, digest=make_digest(picture.read()), text="")]
        else:
            rest.append(picture)
    for bill in bills:
        if bill.paper is not None:
            filer.keep(bill.paper, bill.day, bill.supplier, bill.ref, alone=False)
    for paper in papers:
        filer.file(paper)
    return Papers(bills=tuple(filer.bills), copies=filer.copies, left=tuple(filer.left), pictures=tuple(rest))


class _Filer:
    """Finds a place for one paper after the other."""

    def __init__(self, bills: Sequence[Bill], log: Log) -> None:
        self.bills, self.log = list(bills), log
        self.copies: dict[Path, PaperCopy] = {}
        self.left: list[Left] = []
        self.taken = {fold_name(path) for path in log.papers}
        self.known = [*self.list_bills(), *self.list_log()]
        self.sizes: dict[int, list[str]] = {}
        for path in sorted(log.papers):
            if log.folder is not None and (there := log.locate(path)).is_file():
                self.sizes.setdefault(there.stat().st_size, []).append(path)

    def list_bills(self) -> Iterator[_Known]:
        for at, bill in enumerate(self.bills):
            yield _Known(supplier=bill.supplier, ref=bill.ref, day=bill.day, at=at, has_paper=bill.paper is not None)

    def list_log(self) -> Iterator[_Known]:
        for entry in self.log.entries:
            for order in entry.bought:
                yield _Known(
                    supplier=order.supplier, ref=order.ref, day=order.ordered or entry.date, at=None,
                    where=f"entries/{entry.name}.md", has_paper=order.paper is not None,
                )  # fmt: skip

    def find_supplier(self, text: str) -> str | None:
        """The one supplier that a text names, of those that are known; None: none, or several."""
        words = f"-{make_long_name(text)}-"
        found = {
            each.supplier for each in self.known if (name := make_long_name(each.supplier)) and f"-{name}-" in words
        }
        # the longest, where one name holds another
        longest = max(found, key=len, default=None)
        return longest if all(make_long_name(each) in make_long_name(longest or "") for each in found) else None

    def file(self, paper: PaperFile) -> None:
        """A paper by its order, by its day and supplier, or to be sorted."""
        name, source = paper.source.path.stem, paper.source
        if (there := self.find_same(source, paper.digest)) is not None:
            self.left.append(Left(source.name, "paper", f"is in the log already, as {there}", known=True))
            return
        supplier = self.find_supplier(name) or self.find_supplier(paper.text)
        orders = self.find_orders(f"{name}\n{paper.text}", supplier)
        days = _find_days(name) or _find_days(paper.text)
        if not orders and supplier and len(days) == 1:
            orders = [each for each in self.known if each.supplier == supplier and each.day in days]
        if len(orders) == 1:
            self.add_to(orders[0], source)
        elif supplier and len(days) == 1:
            copy = self.keep(source, next(iter(days)), supplier, None, alone=True)
            self.left.append(Left(source.name, "paper", f"goes to {copy.path}; no order is known that it belongs to"))
        else:
            found = (("a known supplier", supplier), ("a date", len(days) == 1))
            lacks = join_words([words for words, told in found if not told], "or")
            why = f"needs sorting by hand: neither its name nor its text gives {lacks}"
            self.left.append(Left(source.name, "paper", why))

    def find_orders(self, text: str, supplier: str | None) -> list[_Known]:
        """The orders whose number stands in a text, of the supplier that it names."""
        words = f"-{make_long_name(text)}-"
        return [
            each
            for each in self.known
            if each.ref and len(each.ref) >= SHORTEST_REF and each.supplier == supplier
            and f"-{make_long_name(each.ref)}-" in words
        ]  # fmt: skip

    def add_to(self, order: _Known, source: Source) -> None:
        copy = self.keep(source, order.day, order.supplier, order.ref, alone=order.at is None or order.has_paper)
        if order.at is not None and not order.has_paper:
            self.bills[order.at] = replace(self.bills[order.at], paper=source)
            self.known = [replace(each, has_paper=True) if each is order else each for each in self.known]
        elif order.at is None and not order.has_paper:
            why = f"goes to {copy.path}: write `paper: {copy.path}` into its order in {order.where}"
            self.left.append(Left(source.name, "paper", why))
        else:
            self.left.append(Left(source.name, "paper", f"goes to {copy.path}: its order has another paper already"))

    def find_same(self, source: Source, digest: str) -> str | None:
        """The path of a paper in the log that has the same bytes."""
        for path in self.sizes.get(source.size, ()):
            if make_digest(self.log.locate(path).read_bytes()) == digest:
                return path
        return None

    def keep(self, source: Source, day: datetime.date, supplier: str, ref: str | None, *, alone: bool) -> PaperCopy:
        """A name in the log for a paper that nothing there has; the one that it has, where it lies there already."""
        if source.path in self.copies:  # one file may show several bills
            return self.copies[source.path]
        same = self.find_same(source, make_digest(source.read()))
        stem = "-".join(filter(None, [day.isoformat(), make_short_name(supplier), make_short_name(ref or "")]))
        stem = stem[:LONGEST_NAME].rstrip("-")
        path, number = f"papers/{stem}{source.suffix}", 1
        while same is None and fold_name(path) in self.taken:
            number += 1
            path = f"papers/{stem}-{number}{source.suffix}"
        self.taken.add(fold_name(path))
        self.copies[source.path] = PaperCopy(path=same or path, here=same is not None, alone=alone)
        return self.copies[source.path]


def make_long_name(text: str) -> str:
    """A text of any length as words are compared: small letters and digits, with dashes between."""
    return "-".join(re.findall("[a-z0-9]+", strip_accents(text[:LONGEST_TEXT].lower())))


def _find_days(text: str) -> set[datetime.date]:
    """Every day that a text tells in a form that means one day only."""
    days = set()
    for form in DAYS:
        for found in form.finditer(text):
            try:
                days.add(datetime.date(int(found["y"]), int(found["m"]), int(found["d"])))
            except ValueError:
                continue
    return days
