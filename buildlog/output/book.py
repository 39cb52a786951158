"""A book's page → one file: a PDF, set by WeasyPrint, or the page itself with its pictures inside.

Nothing is fetched: whatever the page or a style sheet asks for is looked up among what it was given here, and what is
not there is not there. The same page and pictures give the same bytes: dates come from the page, and the identifier
from what it is a book of. Put in place whole, as a site's files are, and never over anything but an earlier book.
"""

from __future__ import annotations

import base64
import contextlib
import datetime
import hashlib
import importlib
import io
import os
import warnings
from collections.abc import Mapping
from html import escape, unescape
from pathlib import Path
from types import ModuleType
from typing import Any
from urllib.parse import unquote

from buildlog.frozen import frozen
from buildlog.output.write import TEMPORARY, OutputRefused
from buildlog.photos.recipe import Variant

INSTALL = "pip install 'buildlog[book]'"
LIBRARIES = "apt-get install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
"What WeasyPrint sets text with, which no Python package brings; on Debian and what is made of it."
VARIANT = "pdf/a-3a"
"""ISO 19005-3, level A: all that it needs is inside, tagged for screen readers, text as Unicode; it may hold papers of
any format. The second of two standards that could be named: a file that says PDF/UA (ISO 14289) as well, WeasyPrint
cannot write."""
# Reserved, so that no such host can ever be (RFC 2606, section 2); only there because addresses are joined to it.
BASE = "https://book.invalid/"
QUALITY = 88
"Of JPEGs, in which PDFs keep photos: made of pictures that are published at less, so that nothing more is seen lost."
MARK = b"buildlog-book:"
"Begins the identifier of each PDF that is made here: by it an earlier book is known."
PAGE_MARK = b'<meta name="generator" content="buildlog">'
"The same of a page."
HEAD = 64 * 1024
"Bytes at either end of a file in which a mark is looked for."
OWN_FOLDERS = ("entries", "pages", "papers", "photos", "seals", "theme")
"Where a log keeps what is sealed, and its theme: what is made of it has no place there."


@frozen
class BookAttachment:
    """One paper that goes along inside."""

    path: Path
    "where it lies"
    name: str
    "as it is listed"


def check_book_place(out: Path, log: Path) -> None:
    """Raise `OutputRefused` where the book may not stand there."""
    if out.suffix.lower() not in (".pdf", ".html"):
        message = f"the name `{out.name}` ends in neither `.pdf` nor `.html`"
        raise OutputRefused(message, "call it `book.pdf` or `book.html`")
    place = Path(os.path.realpath(out))
    root = Path(os.path.realpath(log))
    inside = place.relative_to(root).parts if place.is_relative_to(root) else ()
    if inside[:1] in {(name,) for name in OWN_FOLDERS}:
        raise OutputRefused(f"`{out}` is where the log keeps its own files", "choose another place")
    if place.is_dir() or (place.exists() and not _is_book(place)):
        raise OutputRefused(f"`{out}` is there already and is no book", "choose another name")


def _is_book(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(HEAD)
        file.seek(max(0, path.stat().st_size - HEAD))
        tail = file.read(HEAD)
    return (head.startswith(b"%PDF-") and MARK in tail) or PAGE_MARK in head


def find_weasyprint() -> ModuleType:
    """The program that sets pages; raises `OutputRefused` with the command that installs it, or what it needs."""
    from PIL import ImageFile  # it is loaded by WeasyPrint anyhow, and by nothing else here

    taken_whole = ImageFile.LOAD_TRUNCATED_IMAGES
    try:
        return importlib.import_module("weasyprint")
    except ImportError:
        raise OutputRefused("PDFs are made by WeasyPrint, which is not installed", f"install: {INSTALL}") from None
    except OSError:  # what it raises where Pango is missing
        raise OutputRefused("WeasyPrint does not find Pango, by which it sets text", f"as in: {LIBRARIES}") from None
    finally:
        # Loading it tells Pillow, for all of the process, to fill what is missing of a picture with grey.
        ImageFile.LOAD_TRUNCATED_IMAGES = taken_whole


def make_pdf(
    html: str,
    pictures: Mapping[str, Variant],
    statics: Mapping[str, bytes],
    *,
    seed: str,
    attachments: tuple[BookAttachment, ...] = (),
    day: datetime.date,
) -> bytes:
    """The page as a PDF. `pictures` and `statics` are all that it can show, by the address that the page has for each;
    `seed` is what the file is known by, `day` the date of what is attached."""
    weasyprint = find_weasyprint()
    fetcher = _make_fetcher(weasyprint, pictures, statics)
    noon = datetime.datetime.combine(day, datetime.time(12))
    attached = [
        weasyprint.Attachment(
            string=one.path.read_bytes(), name=one.name, created=noon, modified=noon, relationship="Supplement"
        )
        for one in attachments
    ]
    document = weasyprint.HTML(string=html, base_url=f"{BASE}book/book.html", url_fetcher=fetcher)
    identifier = MARK + hashlib.sha256(seed.encode()).hexdigest()[:32].encode()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # it leaves its own file of colours to be closed by Python
        made: bytes = document.write_pdf(pdf_variant=VARIANT, pdf_identifier=identifier, attachments=attached)
    return made


def _make_fetcher(weasyprint: ModuleType, pictures: Mapping[str, Variant], statics: Mapping[str, bytes]) -> Any:
    """What WeasyPrint asks for everything that is not in the page itself."""
    urls: Any = importlib.import_module(f"{weasyprint.__name__}.urls")
    shown = {path.removeprefix("../"): variant for path, variant in pictures.items()}

    class Given(urls.URLFetcher):  # type: ignore[misc]  # known only where it is installed
        """Gives what was given, and opens nothing: no file, no address of the web, no `data:`."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            # The page stands one folder down, as an entry of the site does.
            path = unquote(url.partition("?")[0].removeprefix(BASE)).removeprefix("book/")
            if url.startswith(BASE) and path in shown:
                return urls.URLFetcherResponse(url, _make_jpeg(shown[path]), {"Content-Type": "image/jpeg"})
            if url.startswith(BASE) and path in statics:
                return urls.URLFetcherResponse(url, statics[path])
            raise ValueError("the book holds all that it shows")

    return Given()


def _make_jpeg(variant: Variant) -> bytes:
    """A published picture as PDFs can hold it; whatever is written beside its pixels is left behind."""
    data = Path(variant).read_bytes()
    if variant.format == "image/jpeg":
        return data
    # Only here, as the page for a browser takes pictures as they are.
    from PIL import Image

    made = io.BytesIO()
    with Image.open(io.BytesIO(data)) as picture:
        picture.convert("RGB").save(made, "JPEG", quality=QUALITY, optimize=True)
    return made.getvalue()


def make_page(html: str, pictures: Mapping[str, Variant]) -> bytes:
    """The page with its pictures inside it: one file, which any browser shows and prints."""
    # By the whole attribute: a quote in the owner's words is written as a reference, so that none can look like one.
    pieces = html.split(' src="')
    for at, piece in enumerate(pieces[1:], 1):
        address, quote, rest = piece.partition('"')
        variant = pictures.get(unescape(address))
        if variant:
            data = base64.b64encode(Path(variant).read_bytes()).decode()
            address = escape(f"data:{variant.format};base64,{data}")
        pieces[at] = address + quote + rest
    return ' src="'.join(pieces).encode()


def write_book(out: Path, data: bytes) -> None:
    """Put the file in place whole. Raises `OSError` where the disk fails; what was there then stays."""
    temporary = out.parent / f"{TEMPORARY}{os.getpid()}"
    try:
        temporary.write_bytes(data)
        os.replace(temporary, out)
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink()
