"""A remedy never changes the meaning of what was typed: it is followed to the letter, and then the value is read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from buildlog.problems import Problem
from buildlog.read.files import LogFiles
from buildlog.read.reader import Reading, read_files
from tests.read.test_cases import CASES, follow, list_cases, read_case, split_case
from tests.support import SETTINGS

HOME = {
    "hours": ("hours: {}", "hours"),
    "reading": ("reading: {}", "reading.value"),
    "price": ("bought:\n  from: A\n  lines:\n    - what: x\n      each: {}", "bought.0.lines.0.each"),
    "quantity": ("fitted:\n  part: x\n  qty: {}", "fitted.0.qty"),
    "discount": ("bought:\n  from: A\n  discount: {}\n  lines: {{what: x, each: 20}}", "bought.0.discount.0.amount"),
    "tax": ("bought:\n  from: A\n  tax: {}\n  lines: {{what: x, each: 20}}", "bought.0.tax"),
    "recheck": ("tightened:\n  what: x\n  to: 9 N·m\n  recheck: {}", "tightened.0.recheck.after.value"),
    "date": ("bought:\n  from: A\n  arrived: {}\n  lines: {{what: x, each: 20}}", "bought.0.arrived.0.date"),
    "currency": ("bought:\n  from: A\n  currency: {}\n  lines: {{what: x, each: 20}}", "bought.0.currency"),
    "key": ("made_good: {}", "made_good.0"),
}
"Where a value is written, and where it is read."
TYPED = [
    *[
        ("hours", text, {"1.5"})
        for text in ("1h30", "1 h 30", "1:30", "1h30m", "1 hr 30 min", "90 min", "90m", "1,5 h")
    ],
    *[("hours", text, {"2"}) for text in ("2h", "2 hours", "2.", "+2", "02", "2:00")],
    ("hours", "1:20", {"1.33"}),
    *[
        ("hours", text, set())
        for text in ("-2", "−2", "1h75", "two", "1 1/2", "~2", "2-3", "about 2", "1.5x", "2 days")
    ],
    *[
        ("reading", text, {"120"})
        for text in ("120 hours", "120 Hrs", "120 KM", "120 miles", "120.", "0120", "+120 km")
    ],
    ("reading", "112,530 km", {"112530", "112.530"}),
    ("reading", "112 530 km", {"112530"}),
    *[("reading", text, set()) for text in ("-5", "-5 km", "about 100", "100 or so", "1h30", "12x", "5 m", "10%")],
    *[
        ("price", text, {"12.50"})
        for text in ("$12.50", "£12.50", "12.50 EUR", "€ 12,50", "12,50", "012.50", "GBP 12.50")
    ],
    *[("price", text, {"-5.50"}) for text in ("−5.50", "-5,50", "-£5.50", "£-5.50")],
    *[("price", text, {"1234.56"}) for text in ("1,234.56", "1.234,56", "1'234.56", "1 234,56 €", "£1,234.56")],
    ("price", "1,234", {"1234", "1.234"}),
    *[
        ("price", text, set())
        for text in ("12.50 each", "2k", "12.50-", "(5)", "10%", "12 50", "5 for 2", "1/2", "½", "a £12")
    ],
    *[("quantity", text, {"5"}) for text in ("5 m", "5 mm", "5.", "05")],
    *[("quantity", text, set()) for text in ("3 dozen", "a pair", "2x", "0,0", "−5", "5 or 6")],
    *[("discount", text, set()) for text in ("10%", "10 %", "10 percent", "-10", "ten")],
    *[("tax", text, set()) for text in ("210", "-5%", "a fifth")],
    ("tax", "17,5%", {"17.5"}),
    *[("recheck", text, {"500"}) for text in ("500", "500 miles", "500 kms", "0500 km", "500 KM")],
    ("recheck", "2 weeks", {"14"}),
    *[("recheck", text, set()) for text in ("6 months", "a while", "-500 km", "1.5 days", "0 km")],
    ("date", "18.05.2024", {"2024-05-18"}),
    ("date", "05/06/2024", {"2024-06-05", "2024-05-06"}),
    *[("date", text, set()) for text in ("about 2024-05-18", "2024-05-31 or so", "18-05-24", "May 2024", "2024-02-30")],
    ("currency", "eur", {"EUR"}),
    *[("currency", text, set()) for text in ("$", "pounds", "euro")],
    ("key", "Lift Pump", {"lift-pump"}),
    ("key", "Büchse_2", {"buchse-2"}),
    *[("key", text, set()) for text in ("Насос 1", "…", "泵", "ß-1", "Pump №3")],
]
"What is typed, and the values that it can mean; none where no one can say."


def read(kind: str, typed: str) -> Reading:
    head = HOME[kind][0].format(typed)
    return read_files(LogFiles(settings=SETTINGS, entries={"e.md": f"---\ndate: 2024-05-18\ntitle: T\n{head}\n---\n"}))


def list_shown(help: str) -> list[str]:
    """What a remedy tells to type for a value: not an example, and no key."""
    body = help.removeprefix("write year, month, day: ").removeprefix("write its unit too: ")
    if body == help and not help.startswith("write `"):
        return []
    return re.findall("`([^`]+)`", re.split(" as in |: ", body)[0])


@pytest.mark.parametrize(("kind", "typed", "meant"), TYPED, ids=[f"{kind} {typed}" for kind, typed, _ in TYPED])
def test_a_remedy_keeps_what_was_meant(kind: str, typed: str, meant: set[str]) -> None:
    """Typed as the remedy says, the value is read, is one that was meant, and nothing new is wrong with it."""
    [problem] = [p for p in read(kind, typed).problems if p.severity == "error"]
    shown = list_shown(problem.help)
    values = set()
    for word in shown:
        mended = read(kind, word)
        assert [p.message for p in mended.problems if p.severity == "error"] == []
        assert mended.log is not None
        values.add(str(follow(mended.log.entries[0], HOME[kind][1])))
    assert values == meant


@given(st.decimals("0.01", 10**6, places=2), st.sampled_from("hours price quantity discount".split()), st.data())
def test_a_number_in_any_spelling_keeps_its_value(value: Decimal, kind: str, data: st.DataObject) -> None:
    """Whatever stands around a number, the remedy shows that number or none."""
    english = f"{value:,.2f}"
    german = english.translate(str.maketrans(",.", ".,"))
    body = data.draw(st.sampled_from([english, german, f"{value:.2f}", english.replace(",", " ")]))
    around = st.sampled_from(["", "£", "€ ", " EUR", "k", "x", " h", "%", "~", " or so", "1/", "+", "0", " m", "c."])
    typed = data.draw(around) + body + data.draw(around)
    problems = [p for p in read(kind, f'"{typed}"').problems if p.severity == "error"]
    shown = {Decimal(word) for problem in problems for word in list_shown(problem.help)}
    assert shown <= {value, Decimal(f"{value:.2f}".replace(".", ""))} | {value * 1000, value / 1000}


QUOTING = re.compile(r"put the whole text in (?:single )?quotes: ([\w-]+: .*)")


def list_quotings() -> Iterator[Any]:
    for parameters in list_cases():
        case = parameters.values[0]
        for problem in read_case(case).problems:
            if QUOTING.fullmatch(problem.help) and problem.place.file == "entries/case.md":
                yield pytest.param(case, problem, id=f"{parameters.id}:{problem.place.line}:{problem.place.column}")


@pytest.mark.parametrize(("case", "problem"), [*list_quotings()])
def test_a_text_in_quotes_is_the_same_text(case: dict[str, str], problem: Problem) -> None:
    """Put in quotes as the remedy says, the text is what was typed, letter by letter, and its problem is gone."""
    [pair] = QUOTING.findall(problem.help)
    [(key, meant)] = yaml.safe_load(pair).items()
    part = "file" if "file" in case else "entry"
    typed = next(
        written
        for written in (f'{key}: "{meant}"', f"{key}: '{meant}'", f"{key}: “{meant}”", f"{key}: {meant}")
        if written in case[part]
    )
    mended = read_case(case | {part: case[part].replace(typed, pair)})
    assert (problem.rule, problem.message) not in [(other.rule, other.message) for other in mended.problems]
    told = {other.message for other in read_case(case).problems}
    new = {other.message for other in mended.problems} - told
    assert not new
    assert mended.log is not None and mended.log.entries


def test_quotings_are_found() -> None:
    """The case files hold many of them: a test over none would prove nothing."""
    assert len(list(list_quotings())) > 20
    assert CASES.is_dir() and split_case("t\n::: told\nx\n")["told"] == "x\n"
