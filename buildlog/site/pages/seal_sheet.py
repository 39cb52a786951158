"""What stands at the foot of every printed page of the service history and the record: machine, day, seal.

A page's policy forbids inline style, so the words stand in a style sheet of their own, in the margin boxes of the
printed page (CSS Paged Media Level 3, section 5). Page numbers are the theme's.
"""

from __future__ import annotations

from buildlog.site.frame import HeadLink
from buildlog.site.pages.appendix import describe_seal
from buildlog.site.pages.edition import Edition
from buildlog.site.said import remove_marks

PATH = "theme/seal.css"
LINK = HeadLink(rel="stylesheet", href=PATH)
LONGEST = 60
"Characters of the machine's name that fit beside the rest."


def write_seal_sheet(edition: Edition) -> bytes:
    """The style sheet."""
    seal = describe_seal(edition)
    sealed = remove_marks(f"seal {seal.number} of {seal.when.text}: {seal.code}" if seal else "not sealed")
    name = edition.figures.log.settings.machine.name[:LONGEST]
    as_of = remove_marks(edition.words.day(edition.figures.as_of))
    return (
        "@page {\n"
        f"  @bottom-left {{\n    content: {_quote(f'{name}, as of {as_of}')};\n  }}\n\n"
        f"  @bottom-center {{\n    content: {_quote(sealed)};\n  }}\n"
        "}\n"
    ).encode()


def _quote(text: str) -> str:
    """A string of CSS (CSS Syntax Level 3, section 4.3.5): what could end it is written by its number."""
    return (
        '"' + "".join(char if char.isprintable() and char not in '"\\<' else f"\\{ord(char):x} " for char in text) + '"'
    )
