"""In which order do jobs cost least, if each costs its weight times all hours up to its end, and some must wait?

Known to scheduling as one machine, precedence, least sum of weighted completion times. Three published results:

- no job waits: by weight over hours, largest first (W. E. Smith, Naval Research Logistics Quarterly 3, 1956);
- each waits for one other at most, an outtree: W. A. Horn, SIAM Journal on Applied Mathematics 23, 1972. From the
  leaves up, a job is glued to the best block behind it for as long as that block's ratio is no smaller than its own;
- a job waits for several: no fast exact rule is known (E. L. Lawler, Annals of Discrete Mathematics 2, 1978: the
  problem is NP-hard). Of two that a third waits for, one comes first: both ways are tried, each with that rule added,
  until only outtrees are left. No branch is lost, so the best tree is the best order, as long as all were tried.

The citations are from memory; tests compare with exhaustive search. What the jobs are is for `look_next`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

MOST_TREES = 128
"Trees that are tried before the best so far is taken; our own limit, a fraction of a second."


class Job(NamedTuple):
    """One job; hours and weight are whole numbers in units of the caller's."""

    hours: int
    "above zero where it has a weight"
    weight: int
    after: tuple[int, ...]
    "numbers of the jobs that must be done before, each smaller than its own"


class Order(NamedTuple):
    """The jobs that have a weight, in the best order found."""

    jobs: tuple[int, ...]
    "numbers; a job without a weight is done when the first that waits for it comes up"
    cost: int
    "sum of each weight times all hours up to that job's end"
    exact: bool
    "whether no other order can cost less"


class _Block(NamedTuple):
    """Jobs that follow each other in the best order."""

    hours: int
    weight: int
    jobs: tuple[int, ...]


Waits = list[int]
"For each job the set of all that must be done before, as the bits of a number."


def order_jobs(jobs: Sequence[Job]) -> Order:
    """The order of the jobs that costs least."""
    waits = _close(jobs)
    best: Order | None = None
    trees = _grow_trees(jobs, waits)
    for count, tree in enumerate(trees, 1):
        order = [job for job in _order_tree(jobs, tree) if jobs[job].weight]
        cost = _cost(jobs, waits, order)
        if best is None or cost < best.cost:
            best = Order(tuple(order), cost, True)
        if count == MOST_TREES and next(trees, None) is not None:
            best = best._replace(exact=False)
            break
    return best or Order((), 0, True)


def list_bits(number: int) -> Iterator[int]:
    """The numbers of the bits that are set, smallest first."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def _close(jobs: Sequence[Job]) -> Waits:
    waits: Waits = []
    for job in jobs:
        mine = 0
        for other in job.after:
            mine |= waits[other] | 1 << other
        waits.append(mine)
    return waits


def _cost(jobs: Sequence[Job], waits: Waits, order: Sequence[int]) -> int:
    done = hours = cost = 0
    for job in order:
        hours += sum(jobs[other].hours for other in list_bits(waits[job] & ~done)) + jobs[job].hours
        done |= waits[job] | 1 << job
        cost += jobs[job].weight * hours
    return cost


def _grow_trees(jobs: Sequence[Job], waits: Waits) -> Iterator[Waits]:
    """Every way to say of jobs that a third waits for which comes first, until each waits for a chain."""
    stack = [waits]
    while stack:
        tree = stack.pop()
        fork = _find_fork(tree)
        if fork is None:
            yield tree
            continue
        job, one, other = fork
        # What has no weight, and nothing behind it but that third, may as well wait until right before it.
        if _serves_only(jobs, tree, one, job):
            stack.append(_put_before(tree, other, one))
        elif _serves_only(jobs, tree, other, job):
            stack.append(_put_before(tree, one, other))
        else:
            stack += [_put_before(tree, other, one), _put_before(tree, one, other)]


def _find_fork(tree: Waits) -> tuple[int, int, int] | None:
    """A job with two that it waits for and that do not wait for each other; None: all wait for chains."""
    for job, mine in enumerate(tree):
        if mine & (mine - 1):
            last = _find_last(tree, mine)
            aside = mine & ~(tree[last] | 1 << last)
            if aside:
                return job, last, _find_last(tree, aside)
    return None


def _find_last(tree: Waits, among: int) -> int:
    """The one of some jobs that waits for most."""
    return max(list_bits(among), key=lambda job: tree[job].bit_count())


def _serves_only(jobs: Sequence[Job], tree: Waits, job: int, third: int) -> bool:
    behind = [other for other, mine in enumerate(tree) if mine >> job & 1 and other != third]
    return not jobs[job].weight and all(tree[other] >> third & 1 for other in behind)


def _put_before(tree: Waits, first: int, then: int) -> Waits:
    """The same with one more rule: a job, and all that wait for it, wait for another."""
    more = tree[first] | 1 << first
    return [mine | more if job == then or mine >> then & 1 else mine for job, mine in enumerate(tree)]


def _order_tree(jobs: Sequence[Job], tree: Waits) -> tuple[int, ...]:
    """The best order of jobs that each wait for a chain (Horn 1972), from those that wait for most upwards."""
    behind: dict[int | None, list[_Block]] = {}
    for job in sorted(range(len(jobs)), key=lambda job: -tree[job].bit_count()):
        block = _Block(jobs[job].hours, jobs[job].weight, (job,))
        rest = _rank(behind.pop(job, []))
        glued = 0
        while glued < len(rest) and rest[glued].weight * block.hours >= block.weight * rest[glued].hours:
            block = _glue(block, rest[glued])
            glued += 1
        above = _find_last(tree, tree[job]) if tree[job] else None
        if block.weight:  # else nothing that has a weight waits for it: it need not be done
            behind.setdefault(above, []).extend([block, *rest[glued:]])
    return tuple(job for block in _rank(behind.get(None, [])) for job in block.jobs)


def _rank(blocks: list[_Block]) -> list[_Block]:
    """Largest ratio first; those alike, and so those of one branch, stay in their order."""
    return sorted(blocks, key=lambda block: -Fraction(block.weight, block.hours))


def _glue(block: _Block, other: _Block) -> _Block:
    return _Block(block.hours + other.hours, block.weight + other.weight, block.jobs + other.jobs)
