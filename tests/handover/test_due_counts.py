"""What `verify` says is due is what `buildlog due` lists, fasteners to be checked again among it."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any, cast

from hypothesis import given
from hypothesis import strategies as st

from buildlog.answers.ledger import answer_due
from buildlog.compute.figures import Figures, compute_figures
from buildlog.handover.findings import Finding
from buildlog.handover.recompute import TELL
from tests.support import SETTINGS, log_of

PLAN = "service: {oil: {name: Oil, every: {months: 6}}, grease: {name: Grease, every: {distance: 1000}}}\n"


def figures_of(*tightened: str, as_of: date, plan: str = PLAN) -> Figures:
    heads = [f"date: 2024-01-0{n}\nreading: {n}00\ntightened: {text}" for n, text in enumerate(tightened, 1)]
    last = "date: 2024-02-01\nreading: 1500\nserviced: [oil]" if plan else "date: 2024-02-01\nreading: 1500"
    return compute_figures(log_of(*heads, last, settings=SETTINGS + plan), as_of)


def tell(figures: Figures) -> Finding:
    return TELL["service"](figures, cast(Any, None))


def test_rechecks_count() -> None:
    """Two wheels to be checked again after 50 km, 1,300 km ago, and the oil of February in October: three overdue."""
    nuts = ("{what: Left wheel, to: 110 N·m, recheck: 50 km}", "{what: Right wheel, to: 110 N·m, recheck: 50 km}")
    figures = figures_of(*nuts, as_of=date(2024, 10, 1))
    assert tell(figures).says == "3 overdue, 1 history unknown"
    assert answer_due(figures).tables[0].title == "Service as of 2024-10-01: 3 overdue, 1 history unknown"


def test_rechecks_alone_are_something_due() -> None:
    """A log without a service plan has something due where a fastener is to be checked again, and nothing else."""
    nuts = "{what: Wheel nuts, to: 110 N·m, recheck: 50 km}"
    assert tell(figures_of(nuts, as_of=date(2024, 10, 1), plan="")).says == "1 overdue"
    assert (
        tell(figures_of("{what: Wheel nuts, to: 110 N·m}", as_of=date(2024, 10, 1), plan="")).state
        == "cannot be checked"
    )


RECHECKS = st.lists(st.sampled_from(["50 km", "1290 km", "9000 km", "30 days", "300 days"]), max_size=5)


@given(RECHECKS, st.integers(0, 700))
def test_one_count(rechecks: list[str], days: int) -> None:
    """Whatever is due on whatever day: the counts told to a buyer are those of the lines that an owner is shown."""
    texts = [f"{{what: Nut {n}, to: 9 N·m, recheck: {after}}}" for n, after in enumerate(rechecks)]
    figures = figures_of(*texts, as_of=date(2024, 2, 1) + timedelta(days=days))
    counts = Counter(row[1] for row in answer_due(figures).tables[0].rows)
    told = dict(reversed(text.split(" ", 1)) for text in tell(figures).says.split(", "))
    assert {state: str(count) for state, count in counts.items()} == told
