"""Nothing that is computed grows with the square of what somebody can write: steps are counted, no clock is asked."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable

import pytest

from buildlog.compute.figures import compute_figures
from tests.support import log_of
from tests.work import grows_with_its_input

DAY = datetime.date(2025, 1, 1)
MOST = 2.4
"Times the steps for twice the input: two, and a little for sorting."


def order(lines: Iterable[str]) -> str:
    return "date: 2024-05-18\nbought: {from: A, arrived: 2024-05-18, lines: [\n" + ",\n".join(lines) + "]}"


CASES: dict[str, Callable[[int], str]] = {
    "numbers in one chain": lambda n: order(
        f"{{number: N{i}, replaces_number: N{i - 1}, each: 1}}" for i in range(1, n + 1)
    ),
    "numbers in one chain, oldest last": lambda n: order(
        f"{{number: N{i}, replaces_number: N{i - 1}, each: 1}}" for i in range(n, 0, -1)
    ),
    "numbers in a circle": lambda n: order(
        f"{{number: N{i}, replaces_number: N{(i - 1) % n}, each: 1}}" for i in range(n)
    ),
    "numbers that hang below a circle": lambda n: order(
        f"{{number: N{i}, replaces_number: N{max(i - 1, 0)}, each: 1}}" for i in range(n, -1, -1)
    ),
    "numbers that one replaces": lambda n: order(
        f"{{number: N0, replaces_number: N{i}, each: 1}}" for i in range(1, n)
    ),
    "numbers that replace one": lambda n: order(f"{{number: N{i}, replaces_number: N0, each: 1}}" for i in range(1, n)),
    "numbers without a name": lambda n: order(f"{{number: N{i}, each: 1}}" for i in range(n)),
    "one part under many numbers": lambda n: order(f"{{part: p, number: N{i}, each: 1}}" for i in range(n)),
    "one part fitted": lambda n: (
        order(["{part: p, qty: 5000, each: 1}"])
        + "".join(f"\n{'fitted:' if i == 0 else ''}\n- {{part: p, at: a{i}}}" for i in range(n))
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_work_grows_with_its_input(name: str) -> None:
    """Twice as many lines of one kind take twice as many steps."""

    def make(size: int) -> Callable[[], object]:
        log = log_of(CASES[name](size))
        return lambda: compute_figures(log, DAY)

    assert grows_with_its_input(make, 100) < MOST
