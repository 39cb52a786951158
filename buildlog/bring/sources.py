"""Which foreign files are there, and how is one of them read without trusting it?

A source is somebody else's file: it may be huge, broken, or made to do harm. Here are the bounds that every reader of
one keeps to, and the only places where bytes of it become a tree or a folder of parts: no declaration of a document
type is taken, so no entity is expanded and nothing is fetched; what is packed is unpacked by the byte, up to a bound.
"""

from __future__ import annotations

import hashlib
import io
import os
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, NamedTuple

from buildlog.frozen import frozen
from buildlog.problems import Place, Problem
from buildlog.text import count

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

LARGEST_DOCUMENT = 20_000_000
"Bytes of one invoice, statement, spreadsheet or paper: a hundred times what a long one has."
LARGEST_UNPACKED = 40_000_000
"Bytes that the parts of one packed file come to: a spreadsheet of 20,000 rows has ten million."
MOST_PARTS = 2_000
"Parts of one packed file."
MOST_ELEMENTS = 100_000
"Elements of one XML document: an invoice has thirty a line."
DEEPEST_ELEMENT = 64
"Elements inside each other: invoices and statements have ten."
MOST_FILES = 20_000
"Files that are looked at in all folders together."
PICTURES = frozenset((".jpg", ".jpeg", ".png", ".webp", ".heic", ".heif", ".hif"))
TABLES = frozenset((".csv", ".tsv", ".xlsx", ".xlsm", ".ods"))
INSTALL = "pip install 'buildlog[bring]'"
"What brings the readers that are no part of the program by itself."


class Unreadable(Exception):
    """Why a source, or a part of one, cannot be read: goes on from its name, and what would do."""

    def __init__(self, message: str, help: str = "", *, line: int = 1, at: str = "", rule: str = "source") -> None:
        super().__init__(message)
        self.message = message
        "what is wrong: lower case, no full stop"
        self.help = help
        "what would do"
        self.line = line
        "row or line, counted from 1"
        self.at = at
        "element or column"
        self.rule = rule
        "name of the rule"


@frozen
class Source:
    """One foreign file."""

    path: Path
    "where it lies"
    name: str
    "its path below what was named on the command line, with `/`; its file name where it was named itself"
    size: int
    "bytes"

    @property
    def suffix(self) -> str:
        return self.path.suffix.lower()

    def tell(self, why: Unreadable, *, severity: Any = "error") -> Problem:
        """What cannot be read of it, as a problem."""
        place = Place(self.name, why.line, 1, why.at)
        return Problem(rule=why.rule, message=why.message, place=place, help=why.help, severity=severity)

    def read(self) -> bytes:
        """All of its bytes; raises `Unreadable` where they are too many, and OSError."""
        if self.size > LARGEST_DOCUMENT:
            message = f"this file has {self.size:,} bytes, more than the {LARGEST_DOCUMENT:,} that are read"
            raise Unreadable(message, "split it, or bring in what matters of it", rule="too-large")
        with self.path.open("rb") as file:
            # one more than allowed: it may have grown since it was listed
            data = file.read(LARGEST_DOCUMENT + 1)
        if len(data) > LARGEST_DOCUMENT:
            raise Unreadable("this file grows while it is read", "wait until it is finished", rule="too-large")
        return data


class Left(NamedTuple):
    """Something of a source that becomes of no entry."""

    source: str
    "name of the file"
    what: str
    "what it is"
    why: str
    "goes on from what it is"
    known: bool = False
    "whether nothing is to be done for it: it is in the log already, or in something else that is brought in"
    at: str = ""
    "which part of the file; empty: all of it"


def list_sources(paths: Iterable[Path]) -> tuple[tuple[Source, ...], tuple[str, ...]]:
    """Every file that is named or lies below a named folder, in order; and folders or links that were passed over.

    Raises OSError where one cannot be listed, `Unreadable` where they are too many.
    """
    found: list[Source] = []
    passed: list[str] = []
    for path in paths:
        walk = _walk(path, path.name, passed) if path.is_dir() else iter([(path, path.name)])
        for each, name in walk:
            found.append(Source(path=each, name=name, size=each.stat().st_size))
            if len(found) > MOST_FILES:
                raise Unreadable(f"there are more than {MOST_FILES:,} files in these folders", "bring in one at a time")
    return tuple(found), tuple(passed)


def _walk(folder: Path, name: str, passed: list[str]) -> Iterator[tuple[Path, str]]:
    with os.scandir(folder) as listed:
        items = sorted(listed, key=lambda item: item.name)
    for item in items:
        inner = f"{name}/{item.name}"
        if item.name.startswith("."):
            continue  # thumbnails and lists of file managers
        if item.is_symlink():
            passed.append(inner)  # may lead anywhere, and in a circle
        elif item.is_dir():
            yield from _walk(Path(item.path), inner, passed)
        elif item.is_file():
            yield Path(item.path), inner
        else:
            passed.append(inner)  # opening a pipe waits for somebody to write


def make_digest(data: bytes) -> str:
    """By what bytes are known again: `sha256:` and 64 hexadecimal digits (FIPS 180-4)."""
    return f"sha256:{hashlib.sha256(data).hexdigest()}"


def need(module: str, what: str) -> ModuleType:
    """An optional reader; raises `Unreadable` with the command that installs it, where it is absent."""
    import importlib

    try:
        return importlib.import_module(module)
    except ImportError:
        raise Unreadable(f"{what} cannot be read here yet", f"install: {INSTALL}", rule="not-installed") from None


# ── XML ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def read_tree(data: bytes) -> Element:
    """An XML document as a tree, within bounds; raises `Unreadable`, with the line where it is known.

    A document type declaration is refused wherever it stands: neither invoices nor statements have one, and without
    one there is no entity to expand and nothing outside to fetch.
    """
    root: Element = read_stream(data, _make_builder())
    return root


def read_stream(data: bytes, target: Any) -> Any:
    """What a target makes of an XML document, element by element (as `TreeBuilder`); raises `Unreadable`."""
    defused = need("defusedxml.ElementTree", "XML")
    from defusedxml.common import DefusedXmlException

    parser = defused.XMLParser(target=target, forbid_dtd=True)
    try:
        parser.feed(data)
        return parser.close()
    except DefusedXmlException:
        message = "this XML declares a document type, by which entities are expanded or fetched; it is not read"
        raise Unreadable(
            message, "ask for it without one: an invoice or a statement has none", rule="hostile"
        ) from None
    except defused.ParseError as error:
        line = error.position[0] if getattr(error, "position", None) else 1
        raise Unreadable(f"this is no well-formed XML ({error})", "ask for it again", line=line) from None
    except (LookupError, ValueError) as error:  # an encoding that is unknown, or has more than a byte a sign
        raise Unreadable(f"this XML cannot be decoded ({error})", "ask for it in UTF-8", rule="encoding") from None


def _make_builder() -> Any:
    """A builder of trees that counts what it builds."""
    from xml.etree.ElementTree import TreeBuilder

    class Bounded(TreeBuilder):
        """A tree with so many elements and so deep, and no more."""

        seen = depth = 0

        def start(self, tag: str, attrs: dict[Any, Any], /) -> Element:
            self.seen, self.depth = self.seen + 1, self.depth + 1
            if self.seen > MOST_ELEMENTS:
                raise Unreadable(f"this XML has more than {MOST_ELEMENTS:,} elements", "split it", rule="too-large")
            if self.depth > DEEPEST_ELEMENT:
                message = f"this XML has elements more than {DEEPEST_ELEMENT} deep"
                raise Unreadable(message, "it is no invoice and no statement", rule="hostile")
            return super().start(tag, attrs)

        def end(self, tag: str, /) -> Element:
            self.depth -= 1
            return super().end(tag)

    return Bounded()


# ── packed files ─────────────────────────────────────────────────────────────────────────────────────────────────


def unpack(data: bytes) -> dict[str, bytes]:
    """The XML parts of a packed spreadsheet by name, within bounds; raises `Unreadable`.

    What is unpacked is counted: the sizes that a packed file tells of itself may be lies.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            names = packed.infolist()
            if len(names) > MOST_PARTS:
                message = f"this file has {count(len(names), 'part')}, more than any spreadsheet"
                raise Unreadable(message, "save the sheet by itself, or as CSV", rule="hostile")
            parts, left = {}, LARGEST_UNPACKED
            for item in names:
                if item.flag_bits & 1:
                    raise Unreadable("this file is locked with a password", "save it without one", rule="locked")
                with packed.open(item) as part:
                    whole = part.read(left + 1)
                left -= len(whole)
                if left < 0:
                    message = f"unpacked, this file has more than the {LARGEST_UNPACKED:,} bytes that are read"
                    raise Unreadable(message, "save the sheet by itself, or as CSV", rule="hostile")
                if b"<" in whole[:1_000]:  # XML, whatever it is called
                    parts[item.filename] = whole
    except (zipfile.BadZipFile, NotImplementedError, EOFError, OSError, ValueError, RuntimeError) as error:
        raise Unreadable(f"this file is damaged ({error})", "save it again, or as CSV", rule="damaged") from None
    except Exception as error:  # the unpackers of other methods (zlib, lzma) have errors of their own
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"this file is damaged ({error})", "save it again, or as CSV", rule="damaged") from None
    return parts
