"""Logs for tests, written as an owner writes them: YAML in, records out, and no problem on the way unless wanted."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from textwrap import dedent

from buildlog.compute.quantities.money import Money
from buildlog.problems import Problem, show_problems
from buildlog.read.files import LogFiles
from buildlog.read.reader import Reading, read_files
from buildlog.read.records import Log
from buildlog.text import tame

SETTINGS = """
machine: {name: Test machine, meter: {unit: km, digits: 6}}
money: {currency: GBP}
systems: {fuel: Fuel, brakes: Brakes}
"""


def read_texts(
    entries: Mapping[str, str], settings: str = SETTINGS, *, papers: frozenset[str] = frozenset()
) -> Reading:
    """What is read from front matters (each without its `---` lines), by entry name."""
    texts = {f"{name}.md": f"---\n{dedent(head).strip()}\n---\n" for name, head in entries.items()}
    return read_files(LogFiles(settings=dedent(settings), entries=texts, papers=papers))


def log_of(*heads: str, settings: str = SETTINGS, papers: frozenset[str] = frozenset()) -> Log:
    """A log of entries that read without an error; entries are named `e1`, `e2` … and titled so where they are not."""
    entries = {f"e{n}": dedent(head).strip() for n, head in enumerate(heads, 1)}
    titled = {name: head if "\ntitle:" in head else f"{head}\ntitle: {name}" for name, head in entries.items()}
    reading = read_texts(titled, settings, papers=papers)
    errors = [problem for problem in reading.problems if problem.severity == "error"]
    assert not errors, show_problems(errors, reading.texts)
    assert reading.log is not None
    return reading.log


def list_problems(problems: Iterable[Problem]) -> list[list[str]]:
    """Each problem as the rows in which tests write it: place, severity, message and rule; keys, other places, help."""
    return [
        [
            tame(f"{problem.place}: {problem.severity}: {problem.message} [{problem.rule}]"),
            *([f"at {problem.place.path}"] if problem.place.path else []),
            *(
                row
                for place in problem.also
                for row in (f"see also {place}", *([f"at {place.path}"] if place.path else []))
            ),
            *([tame(f"help: {problem.help}")] if problem.help else []),
        ]
        for problem in problems
    ]


def gbp(text: str) -> Money:
    """So many pounds."""
    return Money(Decimal(text), "GBP")


def plain(money: Money | None, currency: str = "GBP") -> str:
    """The amount as a text, of money that has to be in this currency."""
    assert money is not None
    assert money.currency == currency
    return str(money.amount)


def read_heads(output: str) -> list[str]:
    """Each problem that a command printed, in one row: place, severity, message and rule."""
    found = re.findall(
        r"^(\S[^\n]*?:\d+:\d+): (warning: )?([^\n]*)\n(?:  [^\n]*\n)*?  (\[[a-z-]+\])$", output, re.MULTILINE
    )
    return [f"{place}: {warning or 'error: '}{message} {rule}" for place, warning, message, rule in found]
