"""Words in another language than the page's say so (WCAG 2.2, SC 3.1.2): every text of the owner's, on every page."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

import pytest
from lxml import html

from buildlog.read import kinds
from buildlog.read.fields import LogRecord, Slot
from buildlog.render.marks import OPEN, mark_owner_text, show_language
from buildlog.stages import Run, run_stages
from tests.whole_log import AS_OF, WholeLog, read_whole

OPENED = dict.fromkeys(["prices", "vin", "registration", "suppliers", "place", "papers"], "shown")
WORD = re.compile("qx[0-9]+zv")
HEARD = ("alt", "title", "aria-label", "content", "placeholder")
"Attributes that a reader gets to see or to hear."
NUMBERS = {"vin", "hin", "chassis_number", "engine_number", "registration", "to", "number", "replaces_number"}
"Fields whose texts are no words."


def mark_texts(log: WholeLog) -> tuple[WholeLog, dict[str, str]]:
    """The log with a word of its own in place of each text, and the fields of each word."""
    words: dict[str, str] = {}
    fields: dict[str, str] = {}

    def pen(record: type[LogRecord], slot: Slot, value: str) -> str:
        if slot.kind is not kinds.TEXT or slot.field in NUMBERS:
            return value
        word = words.setdefault(value, f"qx{len(words)}zv")
        fields[word] = f"{record.__name__}.{slot.field}"
        return word

    def body(text: str) -> str:
        return text and f"# qx900zv\n\nqx901zv\n\n{text.partition(chr(10) * 2)[2]}"

    return log.over(pen, body=body), fields


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, html.HtmlElement], dict[str, str]]:
    """The pages of a log whose owner writes German, and the fields of its words."""
    marked, fields = mark_texts(read_whole())
    site = dict(marked.settings["site"]) | {"language": "de"}
    settings = dict(marked.settings) | {"site": site, "public": OPENED}
    log = WholeLog(settings, marked.entries, marked.bodies, marked.pages)
    folder = tmp_path_factory.mktemp("german")
    run = run_stages(Run(folder=log.write(folder / "log"), out=folder / "site", as_of=AS_OF))
    assert run.report, run.problems
    parser = html.HTMLParser(encoding="utf-8")
    return {path.name: html.parse(path, parser).getroot() for path in (folder / "site").rglob("*.html")}, fields


def list_texts(page: html.HtmlElement) -> Iterator[tuple[html.HtmlElement, str, str]]:
    """Each text of a page with its element and where it stands there: between tags, or in an attribute."""
    for element in page.iter():
        if isinstance(element.tag, str) and element.tag not in ("script", "style"):
            yield element, "text", element.text or ""
            yield from ((element, "text", child.tail or "") for child in element)
            yield from ((element, name, element.get(name) or "") for name in HEARD)


def find_language(element: html.HtmlElement) -> str:
    """The language of an element, which is that of the nearest one that names one."""
    return str(element.xpath("string(ancestor-or-self::*[@lang][1]/@lang)"))


def test_every_text_of_the_owners_is_in_the_owners_language(
    pages: tuple[Mapping[str, html.HtmlElement], Mapping[str, str]],
) -> None:
    """Headings, captions, table cells, alternative texts, descriptions: whatever field the text comes from.

    A name or a unit inside a sentence of ours, in a title or a description where no element can stand, is left to it.
    """
    found, fields = pages
    names = {word for word, field in fields.items() if field in ("Site.title", "Machine.name")}
    named = ("Machine.maker", "Machine.model", "Measured.unit", "Settings.systems")
    names |= {word for word, field in fields.items() if field in named}
    wrong, seen = [], set()
    for path, page in found.items():
        for element, where, text in list_texts(page):
            for word in WORD.findall(text):
                seen.add(word)
                without_elements = element.tag in ("title", "meta", "desc")
                if find_language(element) != "de" and not (without_elements and word in names):
                    wrong.append(f"{path}: {fields.get(word, word)} in <{element.tag}> {where}: {text.strip()[:60]}")
    assert wrong == []
    assert len(seen) > 60, "the words can be found"


def test_the_pages_own_words_stay_in_theirs(
    pages: tuple[Mapping[str, html.HtmlElement], Mapping[str, str]],
) -> None:
    """What is German holds the owner's words, names of keys and dates, and none of ours."""
    found, _ = pages
    keys = {
        "lift",
        "pump",
        "seal",
        "badge",
        "door",
        "bulb",
        "front",
        "one",
        "rear",
        "hose",
        "belt",
        "cap",
        "seat",
        "Original",
    }
    dates = {"Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "Jan", "Feb", "Apr", "Jun", "Jul", "August"}
    numbers = {"LP", "A"}
    said: dict[str, str] = {}
    for path, page in found.items():
        assert page.get("lang") == "en-GB"
        for element, where, text in list_texts(page):
            if find_language(element) == "de" and "story" not in (element.get("class") or ""):
                ours = set(re.findall(r"[^\W\d_]{2,}", WORD.sub("", text))) - keys - dates - numbers
                said |= dict.fromkeys(ours, f"{path}: <{element.tag}> {where}: {text.strip()[:80]}")
    assert {word: where for word, where in said.items() if word not in ("It", "went", "on", "came", "off")} == {}


@pytest.mark.parametrize(
    ("page", "shown"),
    [
        ("<p>⟦Wort⟧</p>", '<p lang="de">Wort</p>'),
        ("<p>of ⟦Wort⟧, ⟦zwei⟧</p>", '<p>of <span lang="de">Wort</span>, <span lang="de">zwei</span></p>'),
        ("<p>⟦Wort⟧, ⟦zwei⟧</p>", '<p lang="de">Wort, zwei</p>'),
        ("<li>⟦Wort⟧ <b>b</b></li>", '<li><span lang="de">Wort</span> <b>b</b></li>'),
        ('<img alt="⟦Wort⟧">', '<img lang="de" alt="Wort">'),
        ("<title>⟦Wort⟧ – ⟦Zwei⟧</title>", '<title lang="de">Wort – Zwei</title>'),
        ("<title>Costs – ⟦Wort⟧</title>", "<title>Costs – Wort</title>"),
        ('<p lang="nl">⟦woord⟧</p>', '<p lang="nl">woord</p>'),
        ("<p>⟦a &lt;b&gt; c⟧</p>", '<p lang="de">a &lt;b&gt; c</p>'),
        ('<section aria-label="⟦Wort⟧">of</section>', '<section aria-label="Wort">of</section>'),
        ("<p>none</p>", "<p>none</p>"),
    ],
)
def test_where_the_language_is_named(page: str, shown: str) -> None:
    """On the element that holds the words and nothing else, else on one around them; no mark is left."""
    marked = page.replace("⟦", mark_owner_text("x")[0]).replace("⟧", mark_owner_text("x")[-1])
    assert show_language(marked, "de") == shown


def test_a_mark_in_a_text_is_no_mark() -> None:
    """Noncharacters that a text brings along are dropped, so that none can open or end an element."""
    assert show_language(f"<p>{mark_owner_text(f'a{OPEN}b')}</p>", "de") == '<p lang="de">ab</p>'
    assert mark_owner_text("") == ""
