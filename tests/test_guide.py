"""The guide says of every key what the reader reads, and every example in it is read without an error."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

import pytest

import buildlog
from buildlog.compute.costs.orders import LandedLine, land_order
from buildlog.compute.quantities.money import Money
from buildlog.problems import show_problems
from buildlog.read.fields import LogRecord, Slot, list_slots, open_shape
from buildlog.read.files import LogFiles
from buildlog.read.kinds import Kind
from buildlog.read.reader import LONGEST_HEAD, LONGEST_STORY, Reading, read_files
from buildlog.read.records import Entry, Settings, StandingPage
from buildlog.read.yaml_tree import DEEPEST, LONGEST_TEXT, MOST_ITEMS, MOST_NODES

GUIDE = Path(buildlog.__file__).parent / "guide"
TEXTS = {name: (GUIDE / f"{name}.md").read_text(encoding="utf-8") for name in ("entry", "log", "pages", "figures")}


def find_records(record: type[LogRecord]) -> dict[str, type[LogRecord]]:
    """A record and all that are written inside it, by name."""
    found = {record.__name__: record}
    for slot in list_slots(record).values():
        if not isinstance(slot.kind, Kind):
            found |= find_records(slot.kind)
    return found


RECORDS = find_records(Settings) | find_records(Entry) | find_records(StandingPage)


def list_rows(record: type[LogRecord]) -> list[str]:
    """The table of a record's keys as the guide has it."""
    rows = [f"| `{slot.key}` | {tell_value(slot)} | {slot.says} |" for slot in list_slots(record).values()]
    return ["| key | what to write | what it says |", "| --- | --- | --- |", *rows]


def tell_value(slot: Slot) -> str:
    kind = slot.kind
    value = kind.name if isinstance(kind, Kind) else f"a block: {link(kind)}"
    if not isinstance(kind, Kind) and kind.SHORT is not None:
        value += f", or its `{kind.SHORT}` alone"
    value = {"one": value, "list": f"{value}; or a list", "table": f"short names, each with {value}"}[slot.shape]
    return f"**needed**: {value}" if slot.required else value


def head(name: str) -> str:
    """The heading of a record: its name in plain words."""
    return re.sub(r"(?<!^)(?=[A-Z])", " ", name).capitalize()


def link(record: type[LogRecord]) -> str:
    homes = {"entry": Entry, "pages": StandingPage, "log": Settings}
    page = next(page for page, top in homes.items() if record.__name__ in find_records(top))
    words = head(record.__name__)
    return f"[{words}]({page}.md#{words.lower().replace(' ', '-')})"


@pytest.mark.parametrize("name", RECORDS)
def test_every_key_has_its_row(name: str) -> None:
    """Under the heading of a record stands the table of its keys, each in the very words of its definition."""
    chapters = [part for text in TEXTS.values() for part in text.split("\n#") if re.match(rf"#* {head(name)}\n", part)]
    assert len(chapters) == 1, f"there should be one heading `## {head(name)}`"
    map_of = [row for row in chapters[0].split("\n") if row.startswith("|")]
    assert map_of == list_rows(RECORDS[name]), "the table should be:\n" + "\n".join(list_rows(RECORDS[name]))


def list_blocks(name: str, language: str) -> list[tuple[int, str]]:
    """The examples of one language in a part of the guide, each with the line that it starts at."""
    text = TEXTS[name]
    found = re.finditer(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    return [(text.count("\n", 0, match.start()) + 2, match[1]) for match in found]


WHOLE_LOG = list_blocks("log", "yaml")[0][1]
EXAMPLES = {
    f"{name}.md line {line}": (name, language, text)
    for name in TEXTS
    for language in ("yaml", "markdown")
    for line, text in list_blocks(name, language)
}


def read_example(name: str, language: str, text: str) -> Reading:
    """An example of log.md as log.yaml, with what is needed added; of pages.md as a standing page; else as an entry."""
    settings, entry = WHOLE_LOG, "---\ndate: 2024-05-18\ntitle: T\n---\n"
    pages = {"p.md": text} if name == "pages" else {}
    if name == "log":
        needed = {"machine": "machine: {name: M, meter: mi}\n", "money": "money: {currency: GBP}\n"}
        settings = (
            "".join(line for key, line in needed.items() if not re.search(rf"^{key}:", text, re.MULTILINE)) + text
        )
    elif name != "pages":
        entry = text if language == "markdown" else f"---\ndate: 2024-05-18\ntitle: T\n{text}---\n"
    papers = frozenset(re.findall(r"papers/[\w.-]+", settings + entry + text))
    return read_files(LogFiles(settings=settings, entries={"e.md": entry}, pages=pages, papers=papers))


@pytest.mark.parametrize(("name", "language", "text"), EXAMPLES.values(), ids=EXAMPLES)
def test_every_example_is_read(name: str, language: str, text: str) -> None:
    """An example that an owner copies is read, with no error, and no warning but about pictures that are not there."""
    reading = read_example(name, language, text)
    told = [problem for problem in reading.problems if problem.rule not in ("missing-photo", "no-pair", "no-cover")]
    assert not told, show_problems(told, reading.texts)
    assert reading.log is not None and reading.log.entries


def test_the_guide_has_no_other_examples() -> None:
    """Every fenced block is one of the two languages that are read here."""
    fences = [line for text in TEXTS.values() for line in re.findall(r"^```.*$", text, re.MULTILINE)]
    assert set(fences) == {"```yaml", "```markdown", "```"}
    assert len(fences) == 2 * len(EXAMPLES)


def list_written(value: object) -> set[str]:
    """The fields that were written of a record and of all records in it, as `Order.rate`."""
    if isinstance(value, Mapping):
        return set().union(*map(list_written, value.values()))
    if isinstance(value, tuple):
        return set().union(*map(list_written, value))
    if not isinstance(value, LogRecord):
        return set()
    own = {f"{type(value).__name__}.{field}" for field in open_shape(value.field_places.shape)[0] if " " not in field}
    return own.union(*(list_written(getattr(value, slot.field)) for slot in list_slots(type(value)).values()))


def test_every_key_has_an_example() -> None:
    """Each key of each record is written in at least one example."""
    logs = [read_example(*example).log for example in EXAMPLES.values()]
    written = set().union(
        *(list_written(log.settings) | list_written((*log.entries, *log.pages)) for log in logs if log)
    )
    known = {f"{name}.{slot.field}" for name, record in RECORDS.items() for slot in list_slots(record).values()}
    assert known - written == set()


def test_the_worked_order_is_what_is_computed() -> None:
    """Every number of the worked order in figures.md is the one that the code lands."""
    reading = read_example("figures", "yaml", list_blocks("figures", "yaml")[0][1])
    assert reading.log is not None
    order = land_order(reading.log.entries[0].bought[0], "GBP")
    rows = dict(re.findall(r"^\| ([\w ]+), (?:EUR|GBP) \| (.*) \|$", TEXTS["figures"], re.MULTILINE))
    assert rows.keys() == WORKED.keys()
    for name, cells in rows.items():
        amounts = [amount_of(line, WORKED[name]) for line in order.lines]
        expected = [*amounts, f"{sum(map(float, amounts)):.2f}"]
        assert cells.split(" | ") == expected, name


WORKED = {
    "value": "value", "carriage": "carriage", "core charge": "core", "taxed amount": "base", "tax": "tax",
    "with tax": "gross", "in pounds": "home", "duty": "duty", "delivered cost": "landed",
}  # fmt: skip
"The rows of the worked order, each with the field of a landed line that it shows."


def amount_of(line: LandedLine, name: str) -> str:
    amount = getattr(line, name)
    return f"{amount.amount if isinstance(amount, Money) else amount:.2f}"


def test_bounds_are_those_of_the_reader() -> None:
    """The guide's numbers of how much may be written are the ones that are enforced."""
    bounds = (LONGEST_STORY, LONGEST_HEAD, LONGEST_TEXT, MOST_ITEMS, MOST_NODES, DEEPEST)
    [written] = re.findall(r"\*\*How much\*\* (?:.+\n)+", TEXTS["entry"])
    assert [int(number.replace(",", "")) for number in re.findall(r"[0-9,]*[0-9]", written)] == [*bounds]


def test_pictures_are_there_small_and_told() -> None:
    """Each picture that a page links says what is seen on it, is a small PNG, and none is kept that no page links.

    `python -m tests.browser.show_themes` draws them.
    """
    text = "\n".join(path.read_text(encoding="utf-8") for path in GUIDE.glob("*.md"))
    # What is set as code shows how an owner's text links a photo.
    text = re.sub(r"^```.*?^```$|`[^`\n]*`", "", text, flags=re.MULTILINE | re.DOTALL)
    linked = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", text)
    there = sorted(path.relative_to(GUIDE).as_posix() for path in (GUIDE / "pictures").iterdir())
    assert there and sorted(path for _, path in linked) == there
    for words, path in linked:
        assert len(words.split()) > 6, path
        data = (GUIDE / path).read_bytes()
        assert data.startswith(b"\x89PNG\r\n\x1a\n") and len(data) <= 30_000, path
