"""Whatever a log may say, it ends in a problem or in figures, after a bounded number of steps, and never in a crash."""

from __future__ import annotations

import datetime
import unicodedata

import pytest

from buildlog.compute.figures import compute_figures
from buildlog.problems import LONGEST_LINE, Problem, has_errors, show_problems
from buildlog.read.files import LARGEST_TEXT, LogFiles, take_files
from buildlog.read.reader import LONGEST_HEAD, LONGEST_STORY, read_files
from buildlog.read.yaml_tree import LONGEST_TEXT, MOST_ITEMS, MOST_NODES
from buildlog.render.stories import list_problems, render_stories
from buildlog.text import OBEYED
from tests.read.hostile_logs import ENTRIES, HEAD, SETTINGS, START, entry
from tests.work import count_steps

DAY = datetime.date(2025, 1, 1)
MOST_STEPS = 6_000_000
"Steps of our own code for one file: a second or two. What is quadratic in a file of these sizes takes many times more."


def follow(settings: str, text: str) -> tuple[Problem, ...]:
    """The problems of a log of one entry, from its bytes to its stories."""
    raw = {"log.yaml": settings.encode("utf-8", "surrogatepass"), "entries/e.md": text.encode("utf-8", "surrogatepass")}
    files, found = take_files(raw, raw)
    reading = read_files(files, found)
    problems = list(reading.problems)
    if reading.log is not None:
        figures = compute_figures(reading.log, DAY)
        problems += figures.problems
        if not has_errors(problems):
            problems += list_problems(render_stories(figures, {}))
    shown = show_problems(problems, reading.texts)
    assert not OBEYED & {*map(unicodedata.category, shown.replace("\n", ""))}
    assert max(map(len, shown.split("\n"))) <= LONGEST_LINE + 1
    assert problems or (reading.log is not None and reading.log.entries)
    return tuple(problems)


@pytest.mark.parametrize("name", ENTRIES)
def test_a_hostile_entry_ends_in_problems_or_figures(name: str) -> None:
    """Read, computed and told within a bound of steps."""
    text = ENTRIES[name]()
    assert count_steps(lambda: follow(START, text)) < MOST_STEPS


@pytest.mark.parametrize("name", SETTINGS)
def test_hostile_settings_end_in_problems_or_figures(name: str) -> None:
    """The same for `log.yaml`, under an entry that opens a fault and a strip-down."""
    settings, text = SETTINGS[name](), entry("serviced: [oil]\nreading: 5\nstripped: [s1]")
    assert count_steps(lambda: follow(settings, text)) < MOST_STEPS


BOUNDS = {
    "items of a list": (lambda n: entry("next: [" + "a, " * n + "]"), MOST_ITEMS),
    "characters of a value": (lambda n: entry("title: " + "a" * n).replace("title: Lift pump\n", ""), LONGEST_TEXT),
    "characters of a story": (lambda n: entry("", "a" * n), LONGEST_STORY),
    "characters of a front matter": (lambda n: entry("#" * (n - len(HEAD) - 1)), LONGEST_HEAD),
}


@pytest.mark.parametrize("name", BOUNDS)
def test_a_bound_is_told_with_its_number_and_a_remedy(name: str) -> None:
    """What reaches a bound is read; one more is one error, which names the bound and says what to do."""
    make, most = BOUNDS[name]
    assert not has_errors(read(make(most)))
    [problem] = read(make(most + 1))
    assert problem.severity == "error"
    assert str(most) in problem.message
    assert problem.help


def read(text: str) -> tuple[Problem, ...]:
    return read_files(LogFiles(settings=START, entries={"e.md": text})).problems


def test_levels_are_counted() -> None:
    """The same for brackets inside brackets, which the parser below gives up before we do."""
    [problem] = read(entry("next: " + "[" * 100_000))
    assert (problem.rule, problem.help) == ("yaml-depth", "check for an extra bracket or too much indentation")


def test_values_of_a_file_are_counted() -> None:
    """The same for the values of one file, over many lists."""
    [problem] = read(entry("bought:\n" + ("- {from: A, lines: [" + "{what: x, each: 1}, " * 900 + "]}\n") * 8))
    assert str(MOST_NODES) in problem.message
    assert problem.help


def test_a_file_is_read_up_to_a_bound() -> None:
    """Of a file that is larger nothing is read at all."""
    raw = {"log.yaml": START.encode(), "entries/e.md": b"a" * (LARGEST_TEXT + 1)}
    [problem] = take_files(raw, raw)[1]
    assert (problem.rule, "2 MB" in problem.message) == ("too-large", True)
