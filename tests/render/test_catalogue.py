"""Pages in another language: every word of theirs comes from a catalogue, and a catalogue that is wrong is told.

The file is of GNU gettext's PO format (GNU gettext manual, section 3, "The Format of PO Files"), read by Babel.
"""

from __future__ import annotations

import ast
import io
import re
from collections.abc import Iterator
from pathlib import Path

import jinja2
import pytest
from babel.messages.pofile import read_po, write_po
from lxml import html

import buildlog
from buildlog.read import kinds
from buildlog.read.fields import LogRecord, Slot
from buildlog.render.catalogue import IN_ENGLISH, CatalogueRefused, find_catalogue, read_catalogue
from buildlog.render.theme import TEMPLATE_SUFFIXES, find_themes
from buildlog.stages import Run, run_stages
from tests.catalogue import KEYWORDS, TEMPLATE, gather, write_template
from tests.render.test_language import NUMBERS, OPENED
from tests.test_cli import run as command
from tests.whole_log import AS_OF, WholeLog, read_whole

LANGUAGE = "el"
"A language that is written in other letters, so that its dates and its owner's words have none of ours."
GUIDE = Path(buildlog.__file__).parent / "guide" / "themes.md"
HEAD = """msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

"""
WIDE = {ord(letter): ord(letter) - 0x20 + 0xFF00 for letter in map(chr, range(0x21, 0x7F)) if letter.isalpha()}
"Letters as wide as they are high (Unicode block Halfwidth and Fullwidth Forms), which nobody writes pages in."
HEARD = ("alt", "title", "aria-label", "placeholder")
"Attributes that a reader gets to see or to hear."
NO_WORDS = re.compile(
    # files, and numbers as `NUMBERS` lets them stand in the log
    r"[\w-]+\.(pdf|yaml)|\b(CHS|ENG|REG|LP) [\w-]+|FNK\w+|XXZZZ\w+"
    # places that are measured, units, a currency
    r"|\b(front|rear)-one\b|\b(km|mi|lbf·ft|GBP)\b"
)
"What stands on pages in every language as the owner wrote it, or as a standard does."
DESCRIBES = ("description", "og:title", "og:description", "og:site_name", "og:image:alt")
"Properties of a page for whoever shares it that are read by people."


def widen(text: str) -> str:
    """An English text in wide letters, its places as they are."""
    pieces = re.split(r"(%\(\w+\)s)", text)
    return "".join(piece if piece.startswith("%(") else piece.translate(WIDE) for piece in pieces)


def write_wide_catalogue() -> bytes:
    """A language in which every text of pages is there, and can be told from English by each of its letters."""
    catalogue = gather()
    catalogue.locale = LANGUAGE
    for message in catalogue:
        if isinstance(message.id, tuple):
            message.string = tuple(map(widen, message.id))
        elif message.id:
            message.string = widen(message.id)
    written = io.BytesIO()
    write_po(written, catalogue)
    return written.getvalue()


def in_greek(log: WholeLog) -> WholeLog:
    """The log with Greek letters in place of each text of its owner's."""

    words: dict[str, str] = {}

    def pen(record: type[LogRecord], slot: Slot, value: str) -> str:
        if slot.kind is not kinds.TEXT or slot.field in NUMBERS:
            return value
        # The same for the same, as an order is found by what was written elsewhere.
        return words.setdefault(value, f"λόγος {len(words)}")

    site = dict(log.settings["site"]) | {"language": LANGUAGE}
    settings = dict(log.settings) | {"site": site, "public": OPENED}
    log = WholeLog(settings, log.entries, dict.fromkeys(log.bodies, ""), log.pages)
    return log.over(pen, body=lambda text: "λόγος\n")


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, html.HtmlElement]:
    """The pages of the log that fills every field, and its book, in that language."""
    folder = tmp_path_factory.mktemp("greek")
    log = in_greek(read_whole()).write(folder / "log")
    (log / "theme" / "words").mkdir(parents=True)
    (log / "theme" / "words" / f"{LANGUAGE}.po").write_bytes(write_wide_catalogue())
    run = run_stages(Run(folder=log, out=folder / "site", as_of=AS_OF))
    assert run.report, run.problems
    bound = command("book", log, "--out", folder / "book.html", "--as-of", AS_OF.isoformat())
    assert bound.exit_code == 0, bound.output
    parser = html.HTMLParser(encoding="utf-8")
    files = [*(folder / "site").rglob("*.html"), folder / "book.html"]
    return {path.name: html.parse(path, parser).getroot() for path in files}


def list_words(page: html.HtmlElement) -> Iterator[str]:
    """Every text of a page that people see or hear."""
    for element in page.iter():
        if isinstance(element.tag, str) and element.tag not in ("script", "style", "code"):
            yield element.text or ""
            yield from (child.tail or "" for child in element)
            yield from (element.get(name) or "" for name in HEARD)
            if (element.get("name") or element.get("property")) in DESCRIBES:
                yield element.get("content") or ""


def test_no_template_has_words_of_its_own() -> None:
    """Also on pages that this log does not have: of long logs, of seals, of prices that are closed."""
    left = {}
    environment = jinja2.Environment()
    for path in sorted(find_themes().rglob("*")):
        if path.suffix in TEMPLATE_SUFFIXES:
            # What a template computes is a sign that no word has, so that a tag stays whole.
            tokens = environment.lex(path.read_text(encoding="utf-8"))
            page = "".join(text if kind == "data" else "·" for _, kind, text in tokens)
            for tag in re.findall("<[^>]*>", page):
                said = re.findall(rf'(?:{"|".join(HEARD)})="([^"]*)"', tag)
                left |= {word: path.name for text in said for word in re.findall("[A-Za-z]{2,}", text)}
            plain = re.sub(r"<(style|script|code)\b.*?</\1>|<[^>]*>|&\w+;", " ", page, flags=re.DOTALL)
            left |= dict.fromkeys(re.findall("[A-Za-z]{2,}", NO_WORDS.sub("", plain)), path.name)
    assert left == {}


def list_plain_sentences(path: Path) -> Iterator[str]:
    """Texts of a module that begin like a sentence, and that no catalogue is asked for."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    asked: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):  # a docstring
            asked.add(node.value)
        # What is wrong with a log is told to its owner, in English.
        if isinstance(node, ast.FunctionDef) and node.name.startswith("check_"):
            asked.update(ast.walk(node))
        if isinstance(node, ast.Call):
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            if name in KEYWORDS or name == "Problem":
                asked.update(ast.walk(node))
    for node in ast.walk(tree):
        plain = isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in asked
        if plain and re.match("[A-Z][a-z’]* [a-z]", node.value):
            yield f"{path.name}:{node.lineno}: {node.value}"


def test_no_module_of_pages_says_a_sentence_past_the_catalogue() -> None:
    """Also one that no log of the tests brings onto a page."""
    modules = (Path(buildlog.__file__).parent / "render" / "pages").rglob("*.py")
    assert [line for path in sorted(modules) for line in list_plain_sentences(path)] == []


def test_no_word_of_a_page_is_left_in_english(pages: dict[str, html.HtmlElement]) -> None:
    """Whatever it says, in a table, a drawing, an attribute or a head, it says in the language of its catalogue."""
    left: dict[str, str] = {}
    for path, page in pages.items():
        assert page.get("lang") == LANGUAGE
        for text in list_words(page):
            for word in re.findall("[A-Za-z]{2,}", NO_WORDS.sub("", text)):
                left.setdefault(word, f"{path}: {' '.join(text.split())[:90]}")
    assert left == {}


def test_what_translators_start_from_is_what_pages_say() -> None:
    """Run `python -m tests.catalogue` where it is not."""
    assert TEMPLATE.read_bytes() == write_template()
    assert len(gather()) > 500


# ── a catalogue of a log's own ──────────────────────────────────────────────────────────────────────────────────────


def write_catalogue(folder: Path, name: str, *messages: str) -> Path:
    """A log's own words in a file of that name."""
    file = folder / "theme" / "words" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(HEAD + "\n\n".join(messages) + "\n", encoding="utf-8")
    return file


def publish(folder: Path, language: str) -> tuple[Run, str]:
    """The log published once more, and its front page."""
    entry = folder / "entries" / "2024-05-18-a.md"
    entry.parent.mkdir(exist_ok=True)
    entry.write_text("---\ndate: 2024-05-18\ntitle: A\n---\nText.\n", encoding="utf-8")
    text = f"machine: {{name: Tom, kind: tractor}}\nmoney: {{currency: EUR}}\nsite: {{id: t, language: {language}}}\n"
    (folder / "log.yaml").write_text(text, encoding="utf-8")
    run = run_stages(Run(folder=folder, out=folder.parent / "site", as_of=AS_OF))
    page = folder.parent / "site" / "index.html"
    return run, page.read_text(encoding="utf-8") if page.exists() else ""


LATEST = 'msgid "Latest"\nmsgstr "Neu"'


def test_what_has_no_words_stays_english(tmp_path: Path) -> None:
    """A file of one text is a beginning; the page is then in its language, wherever that is spoken."""
    write_catalogue(tmp_path / "log", "de.po", LATEST)
    run, page = publish(tmp_path / "log", "de-AT")
    assert [problem for problem in run.problems if problem.severity == "error"] == []
    assert '<html lang="de-AT"' in page
    assert ">Neu</h2>" in page and "Latest" not in page
    assert "Timeline" in page


def test_the_words_that_the_guide_begins_with(tmp_path: Path) -> None:
    """The file of the guide is taken as it stands there, and each of its texts is one that pages say."""
    (text,) = re.findall(r"^`theme/words/de.po`:\n\n```po\n(.*?)^```", GUIDE.read_text(encoding="utf-8"), re.M | re.S)
    write_catalogue(tmp_path / "log", "de.po").write_text(text, encoding="utf-8")
    run, page = publish(tmp_path / "log", "de")
    assert run.problems == () and ">Neu</h2>" in page
    ours = {message.id for message in gather()}
    assert {message.id for message in read_po(io.BytesIO(text.encode()), locale="de") if message.id} <= ours


def test_words_that_are_changed_are_on_every_page_at_once(tmp_path: Path) -> None:
    """Pages that were kept from the last time are made again."""
    write_catalogue(tmp_path / "log", "de.po", LATEST)
    publish(tmp_path / "log", "de")
    write_catalogue(tmp_path / "log", "de.po", LATEST.replace("Neu", "Zuletzt"))
    assert ">Zuletzt</h2>" in publish(tmp_path / "log", "de")[1]
    (tmp_path / "log" / "theme" / "words" / "de.po").unlink()
    _, page = publish(tmp_path / "log", "de")
    assert ">Latest</h2>" in page and '<html lang="en-GB"' in page


def test_a_catalogue_is_text_and_never_markup(tmp_path: Path) -> None:
    """A log's own file may be a stranger's."""
    write_catalogue(tmp_path / "log", "de.po", 'msgid "Latest"\nmsgstr "<b onclick=\\"x()\\">Neu</b> & mehr"')
    _, page = publish(tmp_path / "log", "de")
    assert "&lt;b onclick=&#34;x()&#34;&gt;Neu&lt;/b&gt; &amp; mehr" in page


@pytest.mark.parametrize(
    ("message", "line", "says"),
    [
        ('msgid "%(number)s day"\nmsgid_plural "%(number)s days"\nmsgstr[0] ""\nmsgstr[1] "%(tage)s"', 6, "tage"),
        ('msgid "Latest"\nmessage "Neu"', 7, ""),
    ],
    ids=["a place that no value comes for", "a word that is none of the format"],
)
def test_a_catalogue_that_is_wrong_is_told_with_file_and_line(
    tmp_path: Path, message: str, line: int, says: str
) -> None:
    """Before a page is made, which could fail in the middle of a site."""
    write_catalogue(tmp_path / "log", "de.po", message)
    run, page = publish(tmp_path / "log", "de")
    told = [problem for problem in run.problems if problem.rule == "own-words"]
    assert [(problem.place.file, problem.place.line) for problem in told] == [("theme/words/de.po", line)]
    assert says in told[0].message
    assert page == ""


def test_english_needs_no_catalogue_and_reads_none(tmp_path: Path) -> None:
    """Whatever stands there: the words of English are those in templates and modules."""
    (tmp_path / "en.po").write_bytes(b"\xff")
    assert find_catalogue("en-US", [tmp_path]) is IN_ENGLISH
    assert find_catalogue("nl", [tmp_path, tmp_path / "none"]) is IN_ENGLISH
    with pytest.raises(CatalogueRefused):
        read_catalogue(tmp_path / "en.po")


def test_each_number_has_the_form_that_its_language_needs(tmp_path: Path) -> None:
    """Polish has three: 1, 2 to 4, and many (Unicode CLDR, Language Plural Rules)."""
    head = HEAD.replace(
        "nplurals=2; plural=(n != 1)",
        "nplurals=3; plural=(n==1 ? 0 : n%10>=2 && n%10<=4 && (n%100<12 || n%100>14) ? 1 : 2)",
    )
    forms = 'msgid "%(number)s day"\nmsgid_plural "%(number)s days"\n'
    forms += 'msgstr[0] "%(number)s dzień"\nmsgstr[1] "%(number)s dni"\nmsgstr[2] "%(number)s dnia"\n'
    (tmp_path / "pl.po").write_text(head + forms, encoding="utf-8")
    polish = find_catalogue("pl-PL", [tmp_path])
    said = [polish.say_count("%(number)s day", "%(number)s days", number) for number in (1, 3, 5, 12, 22)]
    assert said == ["1 dzień", "3 dni", "5 dnia", "12 dnia", "22 dni"]
    assert IN_ENGLISH.say_count("%(number)s day", "%(number)s days", 1) == "1 day"
