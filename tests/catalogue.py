"""All words of pages, gathered from templates and modules into one file: what a translator starts from.

`python -m tests.catalogue` writes it anew; a test holds it to what pages say.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.pofile import write_po
from jinja2.ext import babel_extract

TOP = Path(__file__).parent.parent
TEMPLATE = TOP / "themes" / "words" / "pages.pot"
"Every text that pages say, with nothing in its place."
KEYWORDS: dict[str, Any] = {"say": None, "say_count": (1, 2), "to_say": None}
"What a text is said by: one text, or those for one and for many."
OPTIONS = {"trim_blocks": "true", "lstrip_blocks": "true", "silent": "false"}


def list_sources() -> Iterator[tuple[Path, Any]]:
    """Files that say something on a page, with what reads them."""
    modules = [path for folder in ("compute", "render") for path in (TOP / "buildlog" / folder).rglob("*.py")]
    yield from ((path, "python") for path in sorted([*modules, TOP / "buildlog" / "spans.py"]))
    for path in sorted((TOP / "themes").rglob("*")):
        if path.suffix in (".html", ".xml", ".txt") and "__pycache__" not in path.parts:
            yield path, babel_extract


def gather() -> Catalog:
    """Every text once, in the order of files and lines, with the files that say it."""
    catalogue = Catalog(project="buildlog", charset="utf-8")
    for path, method in list_sources():
        name = path.relative_to(TOP).as_posix()
        with path.open("rb") as file:
            options = OPTIONS if path.suffix != ".py" else {}
            # Without lines: each edit of a module would change the file.
            for _, text, comments, _ in extract(method, file, KEYWORDS, ["TRANSLATORS:"], options):
                catalogue.add(text, locations=[(name, None)], auto_comments=comments)
    return catalogue


def write_template() -> bytes:
    """The file as it should be, the same bytes for the same words."""
    written = io.BytesIO()
    write_po(written, gather(), width=120, omit_header=True, include_lineno=False)
    head = "# Every text that pages say, in English. `python -m tests.catalogue` writes this file.\n"
    form = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n"Content-Transfer-Encoding: 8bit\\n"\n\n'
    return f"{head}{form}".encode() + written.getvalue()


if __name__ == "__main__":
    if len(sys.argv) > 1:
        sys.exit(f"{__doc__}")
    TEMPLATE.write_bytes(write_template())
