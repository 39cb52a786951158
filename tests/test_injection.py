"""Hostile words in every text of a log stay words: in pages, feed, data, styles, CHECK.md, shells and the terminal.

Judged by parsers: what they find in the hostile log's files but for its words is what they find in a harmless one's.
"""

from __future__ import annotations

import dataclasses
import json
import re
import subprocess
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import html5lib
import pytest
from click.testing import CliRunner
from lxml import etree
from markdown_it import MarkdownIt

from buildlog.cli import main
from buildlog.handover.pack import hand_over
from buildlog.read import kinds
from buildlog.read.fields import LogRecord, Slot
from buildlog.record.sealing import seal_log
from buildlog.stages import Run, run_stages
from tests.record.logs import count_salts
from tests.whole_log import AS_OF, FIRST, WholeLog, read_whole

pytestmark = pytest.mark.usefixtures("preview_ends")

WORDS = (
    "<script>alert(1)</script>", "<img src=x onerror=alert(1)>", '"><svg/onload=alert(1)>', "' onmouseover='alert(1)",
    '" onfocus="alert(1)" x="', "</script><script>alert(1)</script>", "</title></style></textarea><b>x</b>",
    "<!-- x", "--> x", "]]><b>x</b>", "<?x ?>", "<![CDATA[", "&lt;b&gt;", "&#60;b&#62;", "&x;", "{{ 7 * 7 }}",
    "{% raw %}", "{# x #}", "[x](javascript:alert(1))", "![x](javascript:alert(1))", "<javascript:alert(1)>",
    "[x]: javascript:alert(1)", "*x* **x** `x` # x", "$(touch pwned)", "`touch pwned`", "'; touch pwned; '",
    '"; touch pwned; "', "| touch pwned", "&& touch pwned", "!! !x", "\\", "\\3c b", "%3Cb%3E", "\\u003cb\\u003e",
    "@import url(x);", "} body { display: none } {", "${x}", "#{x}", "$x", "~", "* ?", "-n -e",
)  # fmt: skip
HOSTILE = " ".join(WORDS)
HARMLESS = " ".join("w" * len(word) for word in WORDS)
"As long, so that what is cut or left out for its length is the same."
UNSEEN = "é\u202e\u2066\u200b’"
"What can be pasted wrong, or shows another text than it is."
FIXED = {"vin", "hin"}
OPENED = dict.fromkeys(["prices", "vin", "registration", "suppliers", "place", "papers"], "shown")
STORY = "# {}\n\n{}\n\n## {}\n\n- {}\n\n> {}\n\n| a |\n| --- |\n| {} |\n\n    {}\n"


def write_log(folder: Path, tail: str) -> Path:
    """The whole log with a tail behind every text and all over a story."""

    def pen(record: type[LogRecord], slot: Slot, value: str) -> str:
        return f"{value} {tail}" if slot.kind is kinds.TEXT and slot.field not in FIXED else value

    log = read_whole().over(pen)
    told = tail.replace("![x]", "[x]").replace("|", "\\|")  # a picture from elsewhere is an error, and ends it
    bodies = dict(log.bodies) | {FIRST: STORY.replace("{}", told) + log.bodies[FIRST]}
    return WholeLog(dict(log.settings) | {"public": OPENED}, log.entries, bodies, log.pages).write(folder)


@dataclasses.dataclass(frozen=True)
class Made:
    """Everything that is made of one log."""

    log: Path
    site: Path
    bag: Path

    def read(self, path: str) -> str:
        return (self.site / path).read_text(encoding="utf-8")


def seal_as_before(log: Path, reason: str | None) -> None:
    """Seal as an earlier version did, which took any sign in a reason: what it sealed is read for good."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("buildlog.record.sealing.replace_unprintable", lambda text, instead: text)
        assert not seal_log(log, date=AS_OF, reason=reason, make_salt=count_salts()).problems


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Made, Made]:
    """The hostile log and the harmless one, sealed twice for a reason of the owner's, published and handed over."""

    def make(name: str, tail: str) -> Made:
        folder = tmp_path_factory.mktemp(name)
        log = write_log(folder / "log", tail)
        for reason in (None, f"Because {tail}{UNSEEN}"):
            with (log / f"entries/{FIRST}.md").open("a", encoding="utf-8") as file:
                file.write("\nMore.\n")
            seal_as_before(log, reason)
        run = run_stages(Run(folder=log, out=folder / "site", as_of=AS_OF))
        assert run.report, run.problems
        assert hand_over(log, folder / "bag", as_of=AS_OF, withhold=["papers/oil.pdf"]).handover
        return Made(log, folder / "site", folder / "bag")

    return make("hostile", HOSTILE), make("harmless", HARMLESS)


def list_paths(made: Made, pattern: str) -> list[str]:
    return sorted(path.relative_to(made.site).as_posix() for path in made.site.rglob(pattern))


# ── pages ────────────────────────────────────────────────────────────────────────────────────────────────────────


def parse_page(text: str) -> Any:
    return html5lib.parse(text, treebuilder="lxml", namespaceHTMLElements=False)


def list_elements(tree: Any) -> Counter[tuple[str, ...]]:
    """How often each element stands there with the same names of attributes; of the story's own, none."""
    for story in tree.xpath("//div[@class='story']"):
        story.clear()
    return Counter(
        (str(element.tag), *sorted(element.attrib)) for element in tree.iter() if isinstance(element.tag, str)
    )


def list_addresses(tree: Any) -> Iterator[str]:
    for element in tree.iter():
        yield from (value for name, value in element.attrib.items() if name in ("href", "src", "srcset", "action"))


def test_pages_have_no_other_elements_and_attributes(both: tuple[Made, Made]) -> None:
    """html5lib, which reads as browsers do (WHATWG HTML, 13.2), finds the same elements in both, as often."""
    hostile, harmless = both
    paths = list_paths(hostile, "*.html")
    assert paths == list_paths(harmless, "*.html") and len(paths) > 8
    for path in paths:
        found, wanted = (list_elements(parse_page(made.read(path))) for made in both)
        assert found == wanted, path


def test_no_address_leads_to_a_script(both: tuple[Made, Made]) -> None:
    """Whatever a link was made of: no scheme but those that a page needs."""
    for path in list_paths(both[0], "*.html"):
        tree = parse_page(both[0].read(path))
        assert not [one for one in list_addresses(tree) if re.match(r"\s*(?!https?:|mailto:|tel:)\w+:", one)], path
        assert not [name for element in tree.iter() for name in element.attrib if name.startswith("on")], path


def test_hostile_words_are_shown_as_they_were_written(both: tuple[Made, Made]) -> None:
    """Nothing is eaten, run or decoded on the way: each text stands in a page, letter by letter."""
    texts = [
        " ".join(text.split())
        for path in list_paths(both[0], "*.html")
        for element in parse_page(both[0].read(path)).iter()
        for text in (element.text, element.tail, *element.attrib.values())
        if text
    ]
    shown = "\n".join(texts)
    for fragment in ("Pump off", "Kanaal Motordelen", "Hose by the metre", "Cracked", "Crack in the diaphragm", "volt"):
        assert f"{fragment} {' '.join(HOSTILE.split())}" in shown, fragment


def test_what_turns_words_around_stays_with_them(both: tuple[Made, Made]) -> None:
    """A reason may hold what sets the direction by hand: that ends with its element (HTML, `bdi`), or its block."""
    found = Counter(
        element.tag
        for path in list_paths(both[0], "*.html")
        for element in parse_page(both[0].read(path)).iter()
        if "\u202e" in (element.text or "") or "\u202e" in (element.tail or "")
    )
    assert set(found) == {"bdi", "code"} and found["bdi"] >= 2


def test_a_story_has_only_what_stories_may_have(both: tuple[Made, Made]) -> None:
    """The elements of CommonMark with tables, our own figure, and no attribute that could act."""
    tree = parse_page(both[0].read(f"entries/{FIRST}.html"))
    [story] = tree.xpath("//div[@class='story']")
    tags = {element.tag for element in story.iter()}
    assert tags <= set(
        "div h2 h3 p ul li blockquote table thead tbody tr th td pre code em strong a figure figcaption picture source"
        " img span br".split()
    )
    names = {name for element in story.iter() for name in element.attrib}
    assert names <= set("class href rel src srcset sizes type width height alt loading decoding tabindex lang".split())


def test_data_for_machines_holds_the_words(both: tuple[Made, Made]) -> None:
    """JSON-LD is one script element whose JSON reads back as the owner's words."""
    for made, tail in zip(both, (HOSTILE, HARMLESS), strict=True):
        [script] = parse_page(made.read("index.html")).xpath("//script[@type='application/ld+json']")
        assert json.loads(script.text)["name"] == f"Old Tom {tail}"


def test_the_feed_holds_the_words(both: tuple[Made, Made]) -> None:
    """A strict XML parser finds the same elements in both feeds, and the titles letter by letter."""
    feeds = [etree.fromstring((made.site / "feed.xml").read_bytes()) for made in both]
    assert [element.tag for element in feeds[0].iter()] == [element.tag for element in feeds[1].iter()]
    titles = feeds[0].xpath("//*[local-name()='entry']/*[local-name()='title']/text()")
    assert f"Pump off {HOSTILE}" in titles
    maps = [etree.fromstring((made.site / "sitemap.xml").read_bytes()) for made in both]
    assert [element.tag for element in maps[0].iter()] == [element.tag for element in maps[1].iter()]


def test_a_style_sheet_holds_the_words_in_strings(both: tuple[Made, Made]) -> None:
    """What is left of the sheets without their strings (CSS Syntax Level 3, 4.3.5) is the same in both."""
    string = re.compile(r'"(?:[^"\\\n]|\\[^\n])*"')
    rest = [string.sub('""', made.read("theme/seal.css")) for made in both]
    assert rest[0] == rest[1]


# ── what is handed over, and lines for a shell ───────────────────────────────────────────────────────────────────


def test_check_text_is_the_same_text(both: tuple[Made, Made]) -> None:
    """CHECK.md read as CommonMark has the same blocks and the same lines for a shell, and no HTML."""
    parsed = [MarkdownIt().parse((made.bag / "data/CHECK.md").read_text(encoding="utf-8")) for made in both]
    kinds_found = [[token.type for token in tokens] for tokens in parsed]
    assert kinds_found[0] == kinds_found[1] and "html_block" not in kinds_found[0]
    inside = [Counter(part.type for token in tokens for part in token.children or []) for tokens in parsed]
    assert inside[0] == inside[1] and "html_inline" not in inside[0]
    assert [list_code(tokens) for tokens in parsed[:1]] == [
        [re.sub(r"-attime \d+", "", line) for line in list_code(tokens)] for tokens in parsed[1:]
    ]


def list_code(tokens: list[Any]) -> list[str]:
    return [token.content for token in tokens if token.type == "code_block"]


@pytest.mark.parametrize("shell", ["sh", "bash"])
def test_lines_for_a_shell_do_what_they_say(both: tuple[Made, Made], shell: str, tmp_path: Path) -> None:
    """The lines under an entry work out its root; nothing that an owner wrote is run, and all can be pasted.

    What is pasted is what is seen: printable ASCII alone, with no line end of the owner's.
    """
    tree = parse_page(both[0].read(f"entries/{FIRST}.html"))
    [lines] = tree.xpath("//div[@class='shell']/pre")
    assert re.fullmatch(r"[ -~\n]+", lines.text)
    run = subprocess.run([shell], input=lines.text, capture_output=True, text=True, cwd=tmp_path, check=True)
    [root] = tree.xpath("//*[@id='proof-root']")
    assert (run.stdout.strip(), run.stderr, list(tmp_path.iterdir())) == (root.text, "", [])


def test_lines_are_typed_into_a_shell(both: tuple[Made, Made], tmp_path: Path) -> None:
    """A shell that somebody types into puts earlier commands for `!x` (Bash manual, 9.3): not in these lines."""
    [lines] = parse_page(both[0].read(f"entries/{FIRST}.html")).xpath("//div[@class='shell']/pre")
    [root] = parse_page(both[0].read(f"entries/{FIRST}.html")).xpath("//*[@id='proof-root']")
    typed = f"set -H\n{lines.text}\nexit\n"
    command = ["bash", "--norc", "--noprofile", "-i"]
    run = subprocess.run(command, input=typed, capture_output=True, text=True, cwd=tmp_path, check=False)
    assert root.text in run.stdout.splitlines()
    assert list(tmp_path.iterdir()) == []


# ── the terminal ─────────────────────────────────────────────────────────────────────────────────────────────────

TURNING = "\u202e\u2066\u200f\u061c"
OBEYED = "\x1b]0;pwned\x07\x1b[2J\x9b31m\x08\r\x7f\x00"
TYPED = "x" + OBEYED.replace("\0", "") + TURNING
"What can be given to a command."


def write_drawer(made: Made) -> Path:
    """A folder with a receipt, a row that cannot be read, and a file of no known kind, all in words to be obeyed."""
    folder = made.log.parent / "drawer"
    folder.mkdir(exist_ok=True)
    words = TYPED.replace("\r", "")
    rows = ["Date,Supplier,Item,Total", f"2024-05-18,S{words},I{words},12.50", f"D{words},S,I,12.50"]
    (folder / f"r{TURNING}.csv").write_text("\n".join(rows), encoding="utf-8")
    (folder / f"x{TURNING}.doc").write_text(words, encoding="utf-8")
    return folder


COMMANDS: Mapping[str, Callable[[Made], list[str]]] = {
    "check": lambda made: ["check", str(made.log)],
    "publish": lambda made: ["publish", str(made.log), "--out", f"{made.site}-2"],
    "book": lambda made: ["book", str(made.log), "--out", f"{made.site}-4.html"],
    "costs": lambda made: ["costs", str(made.log)],
    "costs as JSON": lambda made: ["costs", str(made.log), "--json"],
    "costs as CSV": lambda made: ["costs", str(made.log), "--csv"],
    "due as a calendar": lambda made: ["due", str(made.log), "--ics"],
    "parts": lambda made: ["parts", str(made.log)],
    "parts found": lambda made: ["parts", str(made.log), "--find", TYPED],
    "due": lambda made: ["due", str(made.log)],
    "next": lambda made: ["next", str(made.log)],
    "faults": lambda made: ["faults", str(made.log)],
    "apart": lambda made: ["apart", "--log", str(made.log)],
    "apart unknown": lambda made: ["apart", TYPED, "--log", str(made.log)],
    "seal": lambda made: ["seal", str(made.log)],
    "handover": lambda made: ["handover", str(made.log), "--out", f"{made.bag}-2"],
    "verify": lambda made: ["verify", str(made.bag)],
    "verify a log": lambda made: ["verify", str(made.log)],
    "write": lambda made: ["write", f"x {HOSTILE}", "--log", str(made.log)],
    "write obeyed": lambda made: ["write", f"x {TYPED}", "--log", str(made.log)],
    "start": lambda made: ["start", f"{made.site}-3", "--name", f"x {TYPED}", "--currency", "GBP", "--unit", "mi"],
    "bring": lambda made: ["bring", str(write_drawer(made)), "--log", str(made.log), "--dry-run"],
    "schema": lambda made: ["schema", "entry"],
    "forget-photos": lambda made: ["forget-photos"],
    "preview": lambda made: ["preview", str(made.log)],
}


def find_obeyed(text: str) -> list[str]:
    """Characters that a terminal obeys instead of showing them, and such as change what is seen of the others."""
    return sorted(
        {f"U+{ord(c):04X}" for c in text if c != "\n" and unicodedata.category(c) in ("Cc", "Cf", "Zl", "Zp")}
    )


def test_every_command_is_tried(both: tuple[Made, Made]) -> None:
    """A command that is added prints somebody's words as well, until this shows that it does not."""
    assert {arguments(both[0])[0] for arguments in COMMANDS.values()} == set(main.commands)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_terminal_is_told_nothing(both: tuple[Made, Made], command: str) -> None:
    """No command prints a character that a terminal would obey, nor one that turns words around."""
    run = CliRunner().invoke(main, COMMANDS[command](both[0]), prog_name="buildlog")
    assert run.exception is None or isinstance(run.exception, SystemExit)
    assert run.output.strip()
    assert find_obeyed(run.output) == []


@pytest.fixture(scope="module")
def obeying(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A log whose texts, stories and names of files hold what terminals obey, as far as a disk takes them."""
    folder = tmp_path_factory.mktemp("obeying")
    tail = f" {OBEYED}{TURNING}\nx"
    log = read_whole().over(lambda record, slot, value: value + tail if slot.kind is kinds.TEXT else value)
    bodies = {name: body + tail for name, body in log.bodies.items()}
    path = WholeLog(log.settings, log.entries, bodies, log.pages).write(folder / "log")
    name = f"x{tail}".replace("\0", "")
    for place in ("entries/{}.md", f"photos/{FIRST}/{{}}.jpg", "papers/{}.pdf", "photos/{}/x.jpg", "{}.md"):
        file = path / place.format(name)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(b"---\ndate: 2024-05-18\n---\n")
    return Made(path, folder / "site", folder / "bag")


@pytest.mark.parametrize("command", COMMANDS)
def test_what_a_terminal_would_obey_is_not_passed_on(obeying: Made, command: str) -> None:
    """Not in a problem, not in a quoted line, not in a file's name, whatever the command makes of such a log."""
    run = CliRunner().invoke(main, COMMANDS[command](obeying), prog_name="buildlog")
    assert run.exception is None or isinstance(run.exception, SystemExit)
    assert run.output.strip()
    assert find_obeyed(run.output) == []


@pytest.fixture(scope="module")
def named(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A log that reads well, in which files have such names that no entry speaks of."""
    folder = tmp_path_factory.mktemp("named")
    path = write_log(folder / "log", HARMLESS)
    name = f"x {OBEYED}{TURNING}\nx".replace("\0", "")
    for place in (f"photos/{FIRST}/{{}}.jpg", "papers/{}.pdf", "photos/{}/x.jpg"):
        file = path / place.format(name)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(b"x")
    return Made(path, folder / "site", folder / "bag")


@pytest.mark.parametrize("command", COMMANDS)
def test_names_of_files_are_tamed(named: Made, command: str) -> None:
    """The name of a file is a text as well, and comes to the terminal without what it would obey."""
    run = CliRunner().invoke(main, COMMANDS[command](named), prog_name="buildlog")
    assert run.exception is None or isinstance(run.exception, SystemExit), run.exception
    assert run.output.strip()
    assert find_obeyed(run.output) == []
