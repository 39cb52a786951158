"""What START-HERE.html tells whoever was handed a bag and has never seen one: what it is, and three ways to look.

Words of every day alone stand in it; the technical ones are those of CHECK.md. It needs no script, and its policy lets
it load nothing. It follows from the list and the seals alone, so that whoever checks makes it again and compares.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from html import escape

from buildlog.handover.check_page import HERE, name_source
from buildlog.handover.manifest import Handover, find_day
from buildlog.record.rules import say, say_day
from buildlog.record.seals import Seal
from buildlog.text import replace_unprintable

MARK = re.compile(r"\{\{([A-Z]+)\}\}")


def write_start_page(handover: Handover, seals: Sequence[Seal], *, paths: Iterable[str]) -> bytes:
    """The file START-HERE.html; `paths` are those of the log's files that go along, by path in the log."""
    style = (HERE / "style.css").read_text(encoding="utf-8")
    values = {
        # By its sum: of words out of a log that became markup after all, nothing would be shown or run.
        "POLICY": f"default-src 'none'; style-src '{name_source(style)}'; base-uri 'none'; form-action 'none'",
        "STYLE": style,
        "MACHINE": _plain(handover.machine),
        "DAY": say_day(handover.as_of),
        "SEALED": "\n".join(f"<p>{words}</p>" for words in _tell_sealed(seals)),
        "FACTS": "\n".join(
            f"<div><dt>{escape(term)}</dt><dd>{words}</dd></div>" for term, words in _tell_facts(handover, seals, paths)
        ),
    }
    return _fill((HERE / "start.html").read_text(encoding="utf-8"), values).encode()


def _fill(text: str, values: Mapping[str, str]) -> str:
    # In one pass: a machine may be called like one of the marks.
    return MARK.sub(lambda mark: values[mark[1]], text)


def _plain(text: str) -> str:
    return escape(replace_unprintable(text, " "))


def _tell_sealed(seals: Sequence[Seal]) -> Iterator[str]:
    if not seals:
        yield escape(say("start unsealed"))
        return
    yield escape(say("start sealed", day=say_day(seals[-1].date)))
    yield escape(say("start dates"))


def _tell_facts(handover: Handover, seals: Sequence[Seal], paths: Iterable[str]) -> Iterator[tuple[str, str]]:
    """What is printed of this one package, each with its name; the words are ready for the page."""
    if seals:
        yield "Sealed", escape(say("start seals", seals=len(seals), day=say_day(seals[-1].date)))
        yield "Short code", f"<code>{seals[-1].code}</code><br>{escape(say('start code'))}"
    held = len(handover.withheld)
    yield "Held back", escape(say("start held", files=held) if held else say("start all"))
    later = [path for path in paths if (day := find_day(path)) and day > handover.as_of]
    if later:
        yield "Not counted", escape(say("start left out", entries=len(later), day=say_day(handover.as_of)))
