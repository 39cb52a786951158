"""The walks in DEVELOPERS.md go the way that the program goes, and end with what comes out of it."""

from __future__ import annotations

import datetime
import re
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

import buildlog
from buildlog.compute.costs.orders import LandedLine
from buildlog.compute.figures import Figures
from buildlog.handover.pack import hand_over
from buildlog.handover.recompute import recheck
from buildlog.record.sealing import seal_log
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.costs import make_costs
from buildlog.stages import Run, run_stages
from tests.test_cli import DAY, ENTRY, EXAMPLE, make_log, run

PACKAGE = Path(buildlog.__file__).parent
WALKS = {
    part.partition("\n")[0]: part
    for part in (PACKAGE.parent / "DEVELOPERS.md").read_text(encoding="utf-8").split("\n## ")[2].split("\n### ")[1:]
}
ENTRY_WALK, ORDER_WALK = "One entry, from disk to page", "One order's cost, from its line to the total"
BYTE_WALK = "One changed byte, through verify"
ELSEWHERE = "handover.run_apart.recheck_apart"
"Named, and not gone along: it begins another process."


def list_steps(walk: str) -> list[str]:
    """The functions that a walk names, in order: `folder.module.name` and `folder.module.Class.name`."""
    steps = re.findall(r"`([a-z_]+(?:\.\w+)+)\(\)`", WALKS[walk])
    return [step for step in steps if step != ELSEWHERE]


def find_name() -> str:
    """The entry that all walks are about."""
    return re.findall(r"`entries/([\w-]+)\.md`", WALKS[ENTRY_WALK])[0]


@contextmanager
def note_calls(names: list[str]) -> Iterator[list[str]]:
    """The calls of these functions, in order, as they happen."""
    wanted, calls = set(names), []

    def note(frame: FrameType, event: str, argument: Any) -> None:
        code = frame.f_code
        if event == "call" and code.co_filename.startswith(str(PACKAGE)):
            module = Path(code.co_filename).relative_to(PACKAGE).with_suffix("").as_posix().replace("/", ".")
            name = f"{module}.{code.co_qualname}"
            if name in wanted:
                calls.append(name)

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        yield calls
    finally:
        sys.setprofile(before)


def find_lost(steps: list[str], calls: list[str]) -> str:
    """The first step of a walk that is not called behind those before it; empty where all are."""
    left = iter(calls)
    return next((step for step in steps if step not in left), "")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return make_log(tmp_path / "log", {"2024-05-18-lift-pump.md": ENTRY})


@pytest.mark.parametrize("walk", [ENTRY_WALK, ORDER_WALK])
def test_a_walk_goes_the_way_of_publishing(walk: str, log: Path) -> None:
    """Each function that the walk names is called, and behind those before it."""
    steps = list_steps(walk)
    with note_calls(steps) as calls:
        assert run("publish", log, "--as-of", DAY, "--from-scratch").exit_code == 0
    assert len(steps) > 7
    assert find_lost(steps, calls) == ""
    assert find_lost(steps[::-1], calls) != "", "the other way round it is none"


@pytest.fixture(scope="module")
def figures() -> Figures:
    run = run_stages(Run(folder=EXAMPLE, as_of=datetime.date.fromisoformat(DAY)), until="compute")
    assert run.figures is not None
    return run.figures


def read_rows(walk: str) -> list[list[str]]:
    """The cells of every row of a walk's tables."""
    rows = re.findall(r"^ *\| (.+) \|$", WALKS[walk], re.MULTILINE)
    return [row.split(" | ") for row in rows if not row.startswith("---")]


COLUMNS = {
    "price": "value", "carriage": "carriage", "core": "core", "tax": "tax", "with tax": "gross", "by card": "home",
    "duty": "duty", "delivered": "landed",
}  # fmt: skip


def test_the_order_of_the_walk_is_landed_so(figures: Figures) -> None:
    """Every amount of the order's table is the one that is computed, and each column adds up to its last row."""
    order = next(bought.landed for bought in figures.costs.purchases if bought.entry.name == find_name())
    head, *rows = [row for row in read_rows(ORDER_WALK) if len(row) == 9]
    assert head == ["line", *COLUMNS]

    def show(line: LandedLine) -> list[str]:
        return [line.line.name or "", *(f"{getattr(line, field).amount}" for field in COLUMNS.values())]

    assert rows[:-1] == [show(line) for line in order.lines]
    sums = [str(sum((Decimal(row[at]) for row in rows[:-1]), Decimal(0))) for at in range(1, 9)]
    assert rows[-1] == ["together", *sums]
    carriage = [extra.amount for extra in order.order.carriage]
    told = [*carriage, order.order.tax, order.order.charged, *(tax.base.amount for tax in order.taxes)]
    text = WALKS[ORDER_WALK].split("| line |")[0]
    assert order.order.duty
    assert [str(amount) for amount in (*told, order.order.duty.amount) if f"{amount}" not in text] == []


def test_the_page_says_what_the_walk_ends_with(figures: Figures) -> None:
    """Each total that the walk gives stands on the page of costs under that name, and the order is part of it."""
    context = PageContext(figures=figures, words=Words(figures.log.settings.site.language), stories={}, photos={})
    view = make_costs(context)
    amounts = {one.name: one.amount for one in view.statement} | {m.when.text: m.spent for m in view.months}
    amounts |= {one.name: one.amount for table in view.tables for one in table.rows}
    said = [row for row in read_rows(ORDER_WALK) if len(row) == 3][1:]
    assert len(said) == 4
    assert {name: amount for name, amount, _ in said} == {name: amounts.get(name) for name, _, _ in said}


@pytest.fixture(scope="module")
def tampered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example without its photos, which take long, sealed and handed over; then the walk's byte is changed."""
    top = tmp_path_factory.mktemp("walk")
    shutil.copytree(EXAMPLE, top / "log", ignore=shutil.ignore_patterns("site", "photos", "seals", ".*"))
    day = datetime.date.fromisoformat(DAY)
    assert seal_log(top / "log", date=day, reason=None).seal
    assert hand_over(top / "log", top / "bag", as_of=day).handover
    name, (before, after) = find_name(), re.findall(r"`([0-9.]+)` made `([0-9.]+)`", WALKS[BYTE_WALK])[0]
    entry = top / "bag" / "data" / "log" / "entries" / f"{name}.md"
    old = entry.read_bytes()
    entry.write_bytes(old.replace(before.encode(), after.encode()))
    assert sum(one != other for one, other in zip(old, entry.read_bytes(), strict=True)) == 1
    return top / "bag"


def test_one_changed_byte_is_told_as_the_walk_says(tampered: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each function that the walk names is called in its turn, and each line that it quotes is printed."""
    monkeypatch.setattr("buildlog.handover.run_apart.recheck_apart", recheck)  # in this process, to be gone along
    steps = list_steps(BYTE_WALK)
    with note_calls(steps) as calls:
        result = run("verify", tampered)
    quoted = WALKS[BYTE_WALK].split("```")[1].splitlines()[1:]
    assert len(quoted) > 6
    assert [line for line in quoted if line not in result.output.splitlines()] == []
    assert result.exit_code == 3
    assert len(steps) > 7
    assert find_lost(steps, calls) == ""
    assert find_lost(steps[::-1], calls) != "", "the other way round it is none"
