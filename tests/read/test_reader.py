"""Reading a whole log: all problems of all files in one run, in order; places; the design's full entry."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildlog.problems import Place, has_errors, show_problems
from buildlog.read.fields import LogRecord
from buildlog.read.files import LogFiles
from buildlog.read.numbers import Amount, Box
from buildlog.read.reader import KeptReadings, read_files, split_front_matter
from buildlog.read.records import Entry
from buildlog.read.salvage import read_yaml
from buildlog.read.yaml_tree import Mapping, Scalar
from tests.support import SETTINGS, log_of, read_texts

FULL = (Path(__file__).parent / "full_entry.md").read_text(encoding="utf-8")
FULL_SETTINGS = """
machine: {name: Test machine, meter: {unit: mi, digits: 6}}
money: {currency: GBP}
systems: {fuel: Fuel}
components: {lift-pump: {}, filter-head: {}, return-hose: {}, tank-pickup: {}}
service: {fuel-filter: {name: Fuel filter, every: {months: 24, distance: 12000}}}
"""


def read_full() -> Entry:
    name = "2024-05-18-lift-pump"
    files = LogFiles(
        settings=FULL_SETTINGS,
        entries={f"{name}.md": FULL},
        papers=frozenset(["papers/km-77120.pdf"]),
        photos={name: ("diaphragm.jpg",)},
    )
    reading = read_files(files)
    assert reading.problems == (), show_problems(reading.problems, reading.texts)
    assert reading.log is not None
    return reading.log.entries[0]


def test_full_entry_reads_every_value() -> None:
    """Each block of an entry comes out as it was written, typed, and without a problem."""
    entry = read_full()
    order = entry.bought[0]
    assert (entry.date, entry.hours) == (datetime.date(2024, 5, 18), Decimal("4.5"))
    assert entry.reading == Amount(Decimal(112530), None)
    assert (order.supplier, order.charged, order.prices, order.tax) == (
        "Kanaal Motordelen",
        Decimal("231.15"),
        "net",
        Decimal(21),
    )
    assert order.duty is not None and (order.duty.amount, order.duty.currency) == (Decimal("14.20"), "GBP")
    assert [line.number for line in order.lines] == ["LP 4410-A", "0410 223", None]
    assert [line.qty for line in order.lines] == [1, 2, 5]
    assert [line.single_use for line in order.lines] == [False, True, False]
    assert entry.returned[0].core == Decimal("45.00")
    assert [(f.part, f.at, f.instead_of) for f in entry.fitted] == [
        ("lift-pump", "left of block", "original"),
        ("lift-pump-seal", None, None),
    ]
    assert entry.removed[0].fate == "kept"
    assert entry.serviced[0].item == "fuel-filter"
    assert entry.faults[0].suspects == ("lift-pump", "filter-head", "return-hose", "tank-pickup")
    assert entry.checks[0].did == "Clear hose in the return, 10 min idle, no bubbles"
    assert entry.checks[1].cause == "lift-pump"
    assert entry.fixed[0].proved == "three hot restarts after 30 km, each within 2 s"
    assert entry.measured[0].values == {
        "1": Decimal("27.9"),
        "2": Decimal("28.3"),
        "3": Decimal("27.6"),
        "4": Decimal("28.1"),
    }
    assert entry.measured[0].limits is not None and entry.measured[0].limits.spread == Decimal(10)
    assert entry.tightened[0].to == "22 N·m"
    assert entry.temporary[0].until == "the right plug arrives"
    assert entry.made_good == ("battery-strap",)
    assert entry.photos[0].hide == (Box(Decimal("0.71"), Decimal("0.02"), Decimal("0.99"), Decimal("0.11")),)
    assert tuple(planned.what for planned in entry.next) == ("Bleed again after the first hot run", "Order captive nut")
    assert entry.body == "The pump came off with the tray still in place …\n"
    assert FULL.split("\n")[entry.body_line - 1] == entry.body.rstrip("\n")


def test_every_record_knows_its_place() -> None:
    """The place of each record, of each value and of each item of a list is where the owner typed it."""
    entry = read_full()
    rows = FULL.split("\n")

    def points_at(place: Place) -> str:
        assert place.file == "entries/2024-05-18-lift-pump.md"
        return rows[place.line - 1][place.column - 1 :]

    order = entry.bought[0]
    assert points_at(order.place).startswith("from: Kanaal Motordelen")
    assert points_at(order.field_place("charged")).startswith("231.15")
    assert points_at(order.lines[1].place).startswith("{part: lift-pump-seal")
    assert points_at(order.lines[1].field_place("qty")).startswith("2, each")
    assert points_at(entry.faults[0].field_place("suspects", "tank-pickup")).startswith("tank-pickup]")
    assert points_at(entry.measured[0].field_place("values", "3")).startswith("3: 27.6")
    assert order.field_place("discount") == order.place


def test_all_problems_of_all_files_come_in_one_run() -> None:
    """Errors first, then by file, line and column; a syntax error in one file hides nothing in another."""
    entries = {
        "b.md": "---\ndate: 2024-13-01\ntitle: B\nhours: 1,5\n---\n",
        "a.md": "---\ndate: 2024-05-18\ntitle: A: b\n---\n",
        "c.md": "---\ndate: 2024-05-18\ntitle: C #3\nsystems: [fule, brakes, fuell]\n---\n",
        "d.md": "no front matter",
    }
    reading = read_files(LogFiles(settings=SETTINGS + "public: {prices: all}\n", entries=entries))
    assert show_problems(reading.problems, reading.texts) == (
        """\
entries/a.md:3:9: a colon and a space inside the text
    title: A»: b«
  at title
  put the whole text in quotes: title: "A: b"
  [yaml-colon]

entries/b.md:2:7: the date `2024-13-01` does not exist
    date: »2024-13-01«
  at date
  months run from 01 to 12
  [unreadable-value]

entries/b.md:4:8: `1,5` is not a number in the form used here
    hours: »1,5«
  at hours
  write: 1.5
         only digits and a decimal point
  [unreadable-value]

entries/c.md:4:11: there is no system `fule` in `log.yaml`
    systems: [»fule«, brakes, fuell]
  at systems[0]
  did you mean `fuel`?
  [unknown-system]

entries/c.md:4:25: there is no system `fuell` in `log.yaml`
    systems: [fule, brakes, »fuell«]
  at systems[2]
  did you mean `fuel`?
  [unknown-system]

entries/d.md:1:1: no front matter: the first line is not `---`
    »no front matter«
  start with three lines: `---`, `date: 2024-05-18`, `---`
  [missing-part]

log.yaml:5:18: `all` is not one of the words allowed here
    public: {prices: »all«}
  at public.prices
  known here: `hidden`, `shown`, `totals`
  [unreadable-value]

entries/c.md:3:10: warning: `#3` is not read: a space and `#` start a comment
    title: C »#3«
  at title
  if it belongs to the text: "C #3"; otherwise put a space after `#`
  [yaml-comment]

7 errors, 1 warning
"""
    )


def test_entries_come_by_date_then_by_name() -> None:
    """The order of entries is the order of days; on one day, of file names."""
    log = log_of("date: 2024-02-01", "date: 2024-01-01", "date: 2024-01-01")
    assert [entry.name for entry in log.entries] == ["e2", "e3", "e1"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("---\na: 1\n---\nStory\n", ("a: 1\n", "Story\n", 4)),
        ("---\na: 1\n---", ("a: 1\n", "", 3)),
        ("---  \na: 1\n--- \n\nStory", ("a: 1\n", "\nStory", 4)),
        ("---\n---\nStory", ("", "Story", 3)),
        ("---\na: 1\n----\n", (None, "---\na: 1\n----\n", 1)),
        (" ---\na: 1\n---\n", (None, " ---\na: 1\n---\n", 1)),
        ("---\na: 1\n--- # end\n", (None, "---\na: 1\n--- # end\n", 1)),
    ],
)
def test_front_matter_is_what_stands_between_two_lines(text: str, expected: tuple[Any, ...]) -> None:
    """The fences are `---` alone on a line, the first of them the file's first; the rest is the story."""
    assert split_front_matter(text) == expected


def test_plain_words_stay_text() -> None:
    """Where YAML 1.2's core schema (yaml.org/spec/1.2.2 section 10.3.2) makes numbers and truth values, we keep text.

    Only its null is taken over: `null`, `Null`, `NULL`, `~` and nothing at all mean that no value is written.
    """
    core = ["true", "False", "0", "-0", "0o7", "0x3A", "-19", "0.", ".5", "+12e03", "-2E+05", ".inf", "-.Inf", ".NAN"]
    for word in core:
        assert read_value(word) == Scalar(word, Place("f", 1, 4, "a"), True)
        assert not read_value(word).blank
    for word in ["null", "Null", "NULL", "~", ""]:
        assert read_value(word).blank
    assert not read_value('"null"').blank


def read_value(text: str) -> Scalar:
    node, problems = read_yaml(f"a: {text}", "f")
    assert problems == []
    assert isinstance(node, Mapping)
    value = node.pairs[0][1]
    assert isinstance(value, Scalar)
    return value


TEXT = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXT)
@settings(max_examples=150, deadline=None)
def test_any_text_as_an_entry_is_read_or_told(text: str) -> None:
    """No text makes the reader raise; what does not become an entry has a problem."""
    for whole in (text, f"---\n{text}\n---\n", f"---\ndate: 2024-05-18\ntitle: T\n{text}\n---\n"):
        reading = read_files(LogFiles(settings=SETTINGS, entries={"e.md": whole}))
        assert reading.log is not None
        assert reading.log.entries or has_errors(reading.problems)
        assert show_problems(reading.problems, reading.texts)


YAMLISH = st.lists(
    st.sampled_from(
        [
            " #x",
            *"{}[],:#-?*&!|>'\"%@`~ \n\t",
            ": ",
            "- ",
            "\n  ",
            "hours",
            "bought",
            "lines",
            "each",
            "1,5",
            "from",
            "x",
        ]
    ),
    max_size=30,
).map("".join)


@given(YAMLISH)
@settings(max_examples=400, deadline=None)
def test_any_yaml_like_text_is_read_or_told(text: str) -> None:
    """The same with the signs that YAML cares for; every place lies in the file."""
    whole = f"---\ndate: 2024-05-18\ntitle: T\n{text}\n---\n"
    reading = read_files(LogFiles(settings=SETTINGS, entries={"e.md": whole}))
    assert reading.log is not None
    assert reading.log.entries or has_errors(reading.problems)
    rows = whole.split("\n")
    for problem in reading.problems:
        assert 1 <= problem.place.line <= len(rows)
        assert 1 <= problem.place.column <= len(rows[problem.place.line - 1]) + 1
        assert problem.message and problem.help


@given(st.binary())
@settings(max_examples=100, deadline=None)
def test_any_bytes_as_files_are_read_or_told(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    """No bytes make the reader raise, be they log.yaml or an entry."""
    from buildlog.read.reader import read_log

    folder = tmp_path_factory.mktemp("log")
    (folder / "entries").mkdir()
    (folder / "log.yaml").write_bytes(content)
    (folder / "entries/e.md").write_bytes(b"---\n" + content + b"\n---\n")
    reading = read_log(folder)
    assert has_errors(reading.problems)
    assert show_problems(reading.problems, reading.texts)


LINE = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp", "Cn"]), min_size=1).filter(str.strip)
NUMBER = st.decimals(0, 10**9, places=2).map(lambda value: f"{value:f}")


@given(title=LINE, hours=NUMBER, day=st.dates(datetime.date(1000, 1, 1), datetime.date(2999, 12, 31)), number=LINE)
@settings(max_examples=200, deadline=None)
def test_what_is_written_in_quotes_is_read_exactly(title: str, hours: str, day: datetime.date, number: str) -> None:
    """A quoted text comes back character by character, an amount digit by digit, a date as that day."""
    title, number = title.replace("\ufeff", ""), number.replace("\ufeff", "")
    assume(title.strip() and number.strip())

    def quoted(text: str) -> str:
        return "'" + text.replace("'", "''") + "'"

    head = f"""
        date: {day}
        title: {quoted(title)}
        hours: {hours}
        bought: {{from: A, lines: [{{number: {quoted(number)}, each: {hours}}}]}}
        """
    reading = read_texts({"e": head})
    assert reading.problems == ()
    assert reading.log is not None
    entry = reading.log.entries[0]
    assert (entry.date, entry.title, str(entry.hours)) == (day, title, hours)
    assert entry.bought[0].lines[0].number == number
    assert str(entry.bought[0].lines[0].each) == hours


def test_every_short_form_names_a_key() -> None:
    """The field that a plain text stands for is typed under the same name, and is no list."""
    from buildlog.read.fields import list_slots

    for record in LogRecord.__subclasses__():
        slots = list_slots(record)
        if record.SHORT is not None:
            assert slots[record.SHORT].field == record.SHORT
            assert slots[record.SHORT].shape == "one"


def test_a_kept_text_is_not_read_again_and_says_the_same() -> None:
    """Reading with what was kept of another state of the log gives what reading afresh does; no more than it is kept.

    One entry changed, one renamed, one gone, one new, one broken, and `log.yaml` with a system less.
    """
    bought = "bought: {{from: A, lines: [{{what: hose, each: {n}}}]}}"
    head = f"---\ndate: 2024-05-0{{n}}\ntitle: T{{n}}\nsystems: [fuel]\n{bought}\n---\n"
    before = {f"e{n}.md": head.format(n=n) for n in range(1, 6)}
    after = {
        "e1.md": before["e1.md"],
        "e2.md": before["e2.md"] + "A story.\n",
        "f3.md": before["e3.md"],
        "e5.md": before["e5.md"].replace("each: 5", "each: five"),
        "e6.md": head.format(n=6),
    }
    kept = KeptReadings()
    read_files(LogFiles(settings=SETTINGS, entries=before), kept=kept)
    first = kept.find({"entries/e1.md": before["e1.md"]})["entries/e1.md"]
    for text in (SETTINGS, SETTINGS.replace("fuel: Fuel", "oil: Oil"), SETTINGS):
        files = LogFiles(settings=text, entries=after)
        assert read_files(files, kept=kept) == read_files(files)
        assert kept.find(files.texts()).keys() == files.texts().keys()
        assert kept.find({"log.yaml": text + " ", "entries/e3.md": before["e3.md"]}) == {}
    assert kept.find({"entries/e1.md": after["e1.md"]})["entries/e1.md"] is first
