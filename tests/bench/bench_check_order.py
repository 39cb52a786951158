"""How long does it take to say where to look next? `python -m tests.bench.bench_check_order`

Aimed at: 40 suspects behind 12 strip-downs in under 50 ms, also where strip-downs meet in too many ways to try all.
"""

from __future__ import annotations

from time import perf_counter

from buildlog.compute.faults.check_order import find_check_order
from tests.compute.fault_logs import make_fault

RUNS = 20
SHAPES = {
    "no rule": lambda n: [],
    "one chain": lambda n: [n - 1] if n else [],
    "a tree": lambda n: [n // 2] if n > 1 else [],
    "each after three": lambda n: sorted({n // 2, n // 3, n - 1} - {n}) if n > 1 else [],
    "the last after all": lambda n: list(range(11)) if n == 11 else [],
}
"How twelve strip-downs depend on each other: the numbers of those that must come off before each."


def make_plan(shape: str) -> str:
    """Forty components behind twelve strip-downs, as an owner writes them."""
    afters = [", ".join(f"s{other}" for other in SHAPES[shape](n)) for n in range(12)]
    strips = [f"  s{n}: {{name: S, hours: {n % 5 + 1}, after: [{after}]}}" for n, after in enumerate(afters)]
    checks = [f"  c{n}: {{check_hours: 0.{n % 9 + 1}, likely: {n % 7 + 1}, reached_by: s{n % 12}}}" for n in range(40)]
    return "\n".join(["components:", *checks, "strip_downs:", *strips, ""])


def main() -> None:
    """Print the shortest time for each shape, and whether the order is the best for sure."""
    for shape in SHAPES:
        log, fault = make_fault([f"c{n}" for n in range(40)], make_plan(shape))
        times = []
        for _ in range(RUNS):
            start = perf_counter()
            look = find_check_order(fault, log.settings, off=())
            times.append(perf_counter() - start)
        print(f"{shape:20} {min(times) * 1000:6.1f} ms  {'exact' if look.exact else 'not all tried'}")


if __name__ == "__main__":
    main()
