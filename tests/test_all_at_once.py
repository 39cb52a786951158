"""All problems of a log come in one run: no slip hides another, and none is told that would vanish with another.

One sound log, and slips that an owner makes in it, each on lines of its own. Whatever slips are made together, what is
told of the log is what is told of each of them alone.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from collections.abc import Mapping as Texts
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlog.problems import Problem
from buildlog.read.files import LogFiles
from buildlog.read.reader import read_files, split_front_matter
from buildlog.read.salvage import read_yaml
from buildlog.read.yaml_tree import Listing, Mapping, Node, Scalar
from buildlog.stages import Run, keep_reading, run_stages
from tests.support import read_heads
from tests.test_cli import run

AS_OF = datetime.date(2024, 12, 31)
SOUND = {
    "log.yaml": """\
machine: {name: Test machine, kind: road vehicle, meter: {unit: km, digits: 6}}
money:
  currency: GBP
  hour_rate: 25.00
  budget: {fuel: 600.00}
systems: {fuel: Fuel, brakes: Brakes}
components:
  pump: {system: fuel, reached_by: cover, check_hours: 0.5}
  hose: {system: fuel}
strip_downs:
  tray: {name: Tray off, hours: 1}
  cover: {name: Cover off, hours: 1.5, after: [tray]}
service:
  oil: {name: Oil, every: {months: 12, distance: 10000}}
  filter: {name: Fuel filter, every: {months: 24}, covers: [hose]}
history:
  - {date: 1998-06, what: Resprayed}
public: {prices: shown}
""",
    "2024-01-10-order.md": """\
---
date: 2024-01-10
title: Pump ordered
hours: 0.5
reading: 1000
bought:
  - from: A shop
    ref: A-1
    paid: 2024-01-10
    currency: EUR
    rate: 0.85
    lines:
      - {part: lift-pump, number: LP 4410, each: 118.40, for: fuel}
      - {part: seal, qty: 2, each: 7.35, for: fuel}
      - part: disc
        qty: 2
        each: 20.00
        for: brakes
  - from: Other shop
    ref: B-1
    arrived: 2024-01-11
    paid: 2024-01-10
    prices: net
    tax: 20
    lines: {part: pad, each: 5.00, for: brakes}
faults:
  - {fault: hot-start, name: Will not start hot, suspects: [pump, hose]}
  - {fault: squeal, name: Squeals, suspects: [hose]}
temporary:
  - {name: cork, what: Cork in the filler}
  - {name: wire, what: Held by wire, behind: tray}
next:
  - Order hose
  - Bleed again
---
""",
    "2024-02-10-arrived.md": """\
---
date: 2024-02-10
title: Parcel
reading: 1200
arrived: A-1
stripped: [tray, cover]
checks:
  - {fault: hot-start, did: Clear hose, clears: [hose]}
  - {fault: hot-start, did: Gauge, cause: pump, hours: 1}
measured:
  - {what: Compression, unit: bar, values: {1: 27.9, 2: 28.3}, limits: {min: 24}}
tightened:
  - {what: Pump bolts, to: 22 N·m, recheck: 500 km}
---
""",
    "2024-03-10-fitted.md": """\
---
date: 2024-03-10
title: Pump in
reading: 1300
fitted:
  - {part: lift-pump, at: left}
  - seal
  - {part: disc, qty: 2}
  - pad
serviced: [oil, filter]
fixed: {fault: hot-start, how: New pump, proved: Three hot starts}
refitted: [cover, tray]
made_good: [cork, wire]
returned: {ref: A-1, part: seal, qty: 1, refund: 7.35}
---
""",
    "2024-04-10-quiet.md": """\
---
date: 2024-04-10
title: Looked round
hours: 1
reading: 1400
systems: [fuel, brakes]
seen_again: hot-start
milestone: First drive
next: Wash
---
""",
}
Slip = tuple[str, str, str, str]
"Its file, what is replaced (one line or part of one), by what, and the rules that it breaks."
SLIPS: dict[str, Slip] = {
    # values
    "hours as a clock": ("2024-04-10-quiet.md", "hours: 1\n", "hours: 1h30\n", "unreadable-value"),
    "a comma in the hours": ("2024-01-10-order.md", "hours: 0.5", "hours: 0,5", "unreadable-value"),
    "a date that is none": ("2024-02-10-arrived.md", "date: 2024-02-10", "date: 2024-02-31", "unreadable-value"),
    "a date in words": ("2024-04-10-quiet.md", "date: 2024-04-10", "date: tenth of April", "unreadable-value"),
    "no date": ("2024-03-10-fitted.md", "date: 2024-03-10", "# a note", "missing-key"),
    "a price with a sign": ("2024-01-10-order.md", "each: 118.40", "each: $118.40", "unreadable-value"),
    "a price in words": ("2024-01-10-order.md", "        each: 20.00", "        each: twenty", "unreadable-value"),
    "a quantity in words": ("2024-01-10-order.md", "qty: 2, each: 7.35", "qty: a pair, each: 7.35", "unreadable-value"),
    "a rate in words": ("2024-01-10-order.md", "rate: 0.85", "rate: about 0.85", "unreadable-value"),
    "a supplier without a name": ("2024-01-10-order.md", "from: Other shop", 'from: ""', "unreadable-value"),
    "no supplier": ("2024-01-10-order.md", "- from: A shop\n    ref", "- # who?\n    ref", "missing-key"),
    "arrived when": ("2024-01-10-order.md", "arrived: 2024-01-11", "arrived: 2024-01-32", "unreadable-value"),
    "a reading below zero": ("2024-04-10-quiet.md", "reading: 1400", "reading: -5", "unreadable-value"),
    "a reading in words": ("2024-02-10-arrived.md", "reading: 1200", "reading: lots", "unreadable-value"),
    "a key that is none": ("2024-01-10-order.md", "part: disc", "part: Brake disc", "unreadable-value"),
    "a misspelt key": ("2024-01-10-order.md", "prices: net", "price: net", "unknown-key"),
    "a list key misspelt": ("2024-03-10-fitted.md", "serviced: [", "servised: [", "unknown-key"),
    "an unknown key": ("2024-04-10-quiet.md", "milestone: First", "sky: First", "unknown-key"),
    "a measured value in words": ("2024-02-10-arrived.md", "1: 27.9", "1: good", "unreadable-value"),
    "no torque": ("2024-02-10-arrived.md", "to: 22 N·m, ", "", "missing-key"),
    "a cut text": ("2024-02-10-arrived.md", "did: Clear hose", "did: Idle, then look", "comma-in-braces"),
    "a strip-down without hours": (
        "log.yaml",
        "tray: {name: Tray off, hours: 1}",
        "tray: {name: Tray off}",
        "missing-key",
    ),
    "a strip-down with wrong hours": ("log.yaml", "hours: 1.5", "hours: long", "unreadable-value"),
    "a system that is a list": ("log.yaml", "every: {months: 24}", "every: [24]", "wrong-shape"),
    "a currency in words": ("log.yaml", "currency: GBP", "currency: pounds", "unreadable-value"),
    "an hour rate with a sign": ("log.yaml", "hour_rate: 25.00", "hour_rate: £25", "unreadable-value"),
    "a word that is none": ("log.yaml", "prices: shown", "prices: open", "unreadable-value"),
    "a fault without its name": (
        "2024-01-10-order.md",
        "fault: squeal, name: Squeals",
        'fault: squeal, name: ""',
        "unreadable-value",
    ),
    # names that lead nowhere
    "an unknown system": ("2024-01-10-order.md", "7.35, for: fuel", "7.35, for: fule", "unknown-system"),
    "an unknown component": ("2024-02-10-arrived.md", "clears: [hose]", "clears: [horse]", "unknown-component"),
    "an unknown strip-down": ("log.yaml", "reached_by: cover", "reached_by: covr", "unknown-strip-down"),
    "an unknown service item": ("2024-03-10-fitted.md", "oil, filter]", "oil, filtre]", "unknown-service-item"),
    "an unknown part": ("2024-03-10-fitted.md", "  - pad", "  - pat", "unknown-part"),
    "an unknown order": ("2024-03-10-fitted.md", "ref: A-1, part: seal", "ref: A-2, part: seal", "unknown-ref"),
    "an unknown fault": ("2024-04-10-quiet.md", "seen_again: hot-start", "seen_again: hot-strat", "unknown-fault"),
    "a meter that falls": ("2024-04-10-quiet.md", "reading: 1400", "reading: 140", "meter-falls"),
    "an unknown measure": ("2024-03-10-fitted.md", "[cork, wire]", "[cork, wier]", "nothing-to-make-good"),
    # YAML
    "a colon in a title": ("2024-02-10-arrived.md", "title: Parcel", "title: Parcel: at last", "yaml-colon"),
    "a colon in an item": ("2024-01-10-order.md", "- Order hose", "- Order: hose: now", "yaml-colon"),
    "no space behind a dash": ("2024-01-10-order.md", "  - Bleed again", "  -Bleed again", "yaml-space"),
    "no space behind a colon": ("2024-04-10-quiet.md", "milestone: First", "milestone:First", "yaml-space"),
    "a quote left open": ("2024-04-10-quiet.md", "title: Looked round", 'title: "Looked round', "yaml-quote"),
    "a brace left open": ("2024-01-10-order.md", "5.00, for: brakes}", "5.00, for: brakes", "yaml-braces"),
    "a bracket in braces": ("2024-02-10-arrived.md", "did: Gauge", "did: Gauge [new] on", "yaml-braces"),
    "an at sign": ("2024-04-10-quiet.md", "next: Wash", "next: @home wash", "yaml-start"),
    "a tab": ("2024-03-10-fitted.md", "  - {part: lift-pump", "\t- {part: lift-pump", "yaml-tab"),
    "a colon in log.yaml": ("log.yaml", "oil: {name: Oil,", "oil: {name: Oil: fresh,", "yaml-colon"),
    "a repeated key": ("2024-04-10-quiet.md", "milestone: First drive", "hours: 2", "repeated-key"),
    "a comment by mistake": ("2024-01-10-order.md", "what: Cork in", "what: Cork #3 in", "yaml-braces yaml-comment"),
    "nothing behind a key": ("2024-02-10-arrived.md", "arrived: A-1", "arrived A-1", "yaml-key"),
}
"Where two slips share a line they are never made together."
Told = tuple[str, str, int, str]


def tell(texts: Texts[str, str]) -> list[Problem]:
    files = LogFiles(
        settings=texts["log.yaml"],
        entries={name: text for name, text in texts.items() if name != "log.yaml"},
    )
    read = {"read": lambda run: keep_reading(run, read_files(files))}
    run = run_stages(Run(as_of=AS_OF), until="compute", instead=read)
    assert run.figures is not None
    return list(run.problems)


def make(names: Iterable[str]) -> dict[str, str]:
    """The log with some slips in it."""
    texts = dict(SOUND)
    for name in names:
        file, old, new, _ = SLIPS[name]
        assert texts[file].count(old) == 1, name
        texts[file] = texts[file].replace(old, new)
    return texts


def short(problem: Problem) -> Told:
    return (problem.place.file, problem.rule, problem.place.line, problem.message)


@cache
def tell_alone(name: str) -> tuple[Problem, ...]:
    return tuple(tell(make([name])))


def find_lines(name: str) -> set[int]:
    """The lines of its file that a slip is on."""
    file, old, _, _ = SLIPS[name]
    start = SOUND[file][: SOUND[file].index(old)].count("\n") + 1
    return set(range(start, start + old.rstrip("\n").count("\n") + 1))


def test_the_log_without_a_slip_is_sound() -> None:
    """Else what is told of a slip could be the log's own."""
    assert tell(SOUND) == []


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_told_by_itself(name: str) -> None:
    """One slip breaks the rules that it breaks, each in its own lines: nothing follows from it elsewhere."""
    file, _, _, rules = SLIPS[name]
    told = tell_alone(name)
    assert sorted(problem.rule for problem in told) == sorted(rules.split())
    near = {line + step for line in find_lines(name) for step in (0, 1)}
    path = "log.yaml" if file == "log.yaml" else f"entries/{file}"
    assert {problem.place.file for problem in told} == {path}
    assert {problem.place.line for problem in told} <= near


def keep_apart(names: Iterable[str]) -> list[str]:
    """Of some slips those that share no line with one before."""
    taken: set[tuple[str, int]] = set()
    kept = []
    for name in names:
        lines = {(SLIPS[name][0], line) for line in find_lines(name)}
        if not lines & taken:
            kept.append(name)
            taken |= lines
    return kept


@given(st.lists(st.sampled_from(sorted(SLIPS)), min_size=2, max_size=12, unique=True).map(keep_apart))
@settings(max_examples=200)
def test_slips_made_together_are_told_together(names: list[str]) -> None:
    """What is told of some slips at once is what is told of each alone: none hidden, none added."""
    together = {short(problem) for problem in tell(make(names))}
    alone = {short(problem) for name in names for problem in tell_alone(name)}
    assert together == alone


def list_values(node: Node | None) -> Iterator[Scalar]:
    """Every value in a tree, keys left out."""
    if isinstance(node, Scalar):
        yield node
    for inner in node.items if isinstance(node, Listing) else ():
        yield from list_values(inner)
    for _, inner in node.pairs if isinstance(node, Mapping) else ():
        yield from list_values(inner)


def list_places() -> Iterator[tuple[str, Scalar]]:
    for name, text in SOUND.items():
        head, first = (text, 1) if name == "log.yaml" else (split_front_matter(text)[0] or "", 2)
        for value in list_values(read_yaml(head, name, first_line=first)[0]):
            yield name, value


@pytest.mark.parametrize("spoil", ['"\u202e{}"', "[x] {}"], ids=["unreadable", "no YAML"])
@pytest.mark.parametrize(("name", "value"), [*list_places()], ids=lambda each: getattr(each, "text", each))
def test_any_value_that_cannot_be_read_is_one_problem(name: str, value: Scalar, spoil: str) -> None:
    """Whichever value of the log it is: one problem in its line, and none anywhere that would vanish with it."""
    rows = SOUND[name].split("\n")
    row, start = rows[value.place.line - 1], value.place.column - 1
    assert row[start:].startswith(value.text)
    rows[value.place.line - 1] = row[:start] + spoil.format(value.text) + row[start + len(value.text) :]
    told = tell(SOUND | {name: "\n".join(rows)})
    assert [(problem.place.file.removeprefix("entries/"), problem.place.line) for problem in told] == [
        (name, value.place.line)
    ]


# ── the commands ─────────────────────────────────────────────────────────────────────────────────────────────────


def write(folder: Path, texts: Texts[str, str]) -> Path:
    (folder / "entries").mkdir(parents=True)
    for name, text in texts.items():
        (folder / name if name == "log.yaml" else folder / "entries" / name).write_text(text, encoding="utf-8")
    return folder


def test_strict_shows_all_that_is_shown_without_it(tmp_path: Path) -> None:
    """And what is wrong with the site is told beside what is wrong with the log."""
    story = SOUND["2024-04-10-quiet.md"] + "![gone](gone.jpg)\n"
    texts = make(["hours as a clock", "an unknown part", "a currency in words"]) | {"2024-04-10-quiet.md": story}
    texts["log.yaml"] += "site: {theme: marginn, language: xx}\n"
    texts["2024-02-10-arrived.md"] = texts["2024-02-10-arrived.md"].replace("title: Parcel", "title: Parcel #3")
    log = write(tmp_path / "log", texts)
    plain, strict = (run("check", log, "--as-of", str(AS_OF), *more).output for more in ((), ("--strict",)))
    assert set(read_heads(plain)) <= set(read_heads(strict))
    rules = {line.rpartition("[")[2].rstrip("]") for line in read_heads(plain)}
    assert {"unknown-part", "unreadable-value", "yaml-comment", "unknown-theme", "unknown-photo"} <= rules


def test_nothing_wrong_with_the_site_follows_from_what_cannot_be_read(tmp_path: Path) -> None:
    """A theme whose name cannot be read is not called unknown, nor is the language of its stand-in."""
    texts = SOUND | {"log.yaml": SOUND["log.yaml"] + 'site: {theme: "My Theme", language: Deutsch}\n'}
    output = run("check", write(tmp_path / "log", texts), "--as-of", str(AS_OF)).output
    assert {line.rpartition("[")[2] for line in read_heads(output)} == {"unreadable-value]"}
    assert output.endswith("\n2 errors\n")


def test_an_entry_of_a_day_to_come_is_named(tmp_path: Path) -> None:
    """A wrong year loses no work in silence: a warning names it, `--strict` refuses it, and every command says so."""
    texts = dict(SOUND)
    texts["2024-04-10-quiet.md"] = texts["2024-04-10-quiet.md"].replace("date: 2024", "date: 2042")
    log = write(tmp_path / "log", texts)
    checked = run("check", log, "--as-of", str(AS_OF))
    assert checked.exit_code == 0
    assert (
        "entries/2024-04-10-quiet.md:2:7: warning: this entry is dated `2042-04-10`, after `2024-12-31`, "
        "so it is left out [entry-ahead]"
    ) in read_heads(checked.output)
    assert run("check", log, "--as-of", str(AS_OF), "--strict").exit_code == 1
    for command in ("costs", "publish"):
        asked = run(command, log, "--as-of", str(AS_OF))
        assert asked.exit_code == 0
        assert "left out, dated after 2024-12-31: entries/2024-04-10-quiet.md\n" in asked.stderr
    assert run("publish", log, "--as-of", str(AS_OF), "--strict").exit_code == 1
    assert "left out" not in run("costs", log, "--as-of", "2042-04-10").stderr


def test_a_file_name_of_another_date_is_a_warning(tmp_path: Path) -> None:
    """One of the two is a slip; a name without a date in front says nothing."""
    texts = dict(SOUND)
    texts["2024-04-11-quiet.md"] = texts.pop("2024-04-10-quiet.md")
    texts["looked-round.md"] = texts["2024-04-11-quiet.md"].replace("reading: 1400\n", "")
    log = write(tmp_path / "log", texts)
    checked = run("check", log, "--as-of", str(AS_OF))
    assert checked.output == (
        "entries/2024-04-11-quiet.md:2:7: warning: `date:` is `2024-04-10`, but the file name says `2024-04-11`\n"
        "    date: »2024-04-10«\n"
        "  at date\n"
        "  write: date: 2024-04-11\n"
        "         or rename the file to `2024-04-10-quiet.md`\n"
        "  [name-date-differs]\n"
        "\n"
        "1 warning\n"
    )
    assert run("check", log, "--as-of", str(AS_OF), "--strict").exit_code == 1
