"""In which order do jobs cost least, if each costs its weight times all hours up to its end, and some must wait?

Known to scheduling as one machine, precedence, least sum of weighted completion times. Three published results:

- no job waits: by weight over hours, largest first (W. E. Smith, Naval Research Logistics Quarterly 3, 1956);
- each waits for one other at most, an outtree: W. A. Horn, SIAM Journal on Applied Mathematics 23, 1972. From the
  leaves up, a job is glued to the best block behind it for as long as that block's ratio is no smaller than its own;
- a job waits for several: no fast exact rule is known (E. L. Lawler, Annals of Discrete Mathematics 2, 1978: the
  problem is NP-hard). Here each job is first held to one chain of what it waits for, which no order can undercut. Where
  that order breaks no rule it is best. Else, of two jobs that a third waits for, one comes first: both ways are tried,
  the more promising first, until no untried way can be better (branch and bound).

The citations are from memory; tests compare with exhaustive search. What the jobs are is for `check_order`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import heappop, heappush
from typing import NamedTuple

MOST_TREES = 60
"Trees that are tried before the best so far is taken; our own limit, about a twentieth of a second."


class Job(NamedTuple):
    """One job; hours and weight are whole numbers in units of the caller's."""

    hours: int
    "above zero where it has a weight"
    weight: int
    "the chance that it ends the search; 0 for what only has to come before others"
    after: tuple[int, ...]
    "numbers of the jobs that must be done before, each smaller than its own"


class Order(NamedTuple):
    """The jobs that have a weight, in the best order found."""

    jobs: tuple[int, ...]
    "numbers; a job without a weight is done when the first that waits for it comes up"
    cost: int
    "total of each weight times all hours up to that job's end"
    exact: bool
    "whether no other order can cost less"


class _Block(NamedTuple):
    """Jobs that follow each other in the best order."""

    hours: int
    "of all its jobs"
    weight: int
    "of all its jobs"
    jobs: tuple[int, ...]
    "their numbers, in order"


Waits = list[int]
"For each job the set of all that must be done before, as the bits of a number."


class _Try(NamedTuple):
    """One tree, and the order that is best for it."""

    bound: int
    "what no order that keeps `rules` can undercut"
    number: int
    "of the try; it settles which of two equal ones comes first"
    cost: int
    "of the order, whatever the tree left out"
    order: tuple[int, ...]
    "numbers of the jobs that have a weight, in the best order for this tree"
    rules: Waits
    "what each job waits for in this try: what is given, and what was decided on the way here"


def order_jobs(jobs: Sequence[Job]) -> Order:
    """The order of the jobs that costs least, or, after `MOST_TREES` tries, the best so far."""
    waits = _close(jobs)
    # Every try is a relaxation: what its tree leaves out can only make an order dearer, so its bound is a true one.
    best = _try(jobs, waits, waits, number=1)
    waiting, tried = [best], best.number
    while waiting and waiting[0].bound < best.cost and tried < MOST_TREES:
        for rules in _part(jobs, heappop(waiting).rules):
            tried += 1
            found = _try(jobs, waits, rules, number=tried)
            best = min(best, found, key=lambda each: each.cost)
            heappush(waiting, found)
    # Stopped by the limit, the best so far may still be proved best: nothing that waits could cost less.
    exact = not waiting or waiting[0].bound >= best.cost
    return Order(best.order, best.cost, exact)


def _try(jobs: Sequence[Job], waits: Waits, rules: Waits, *, number: int) -> _Try:
    tree = _relax(jobs, rules)
    order = tuple(job for job in _order_tree(jobs, tree) if jobs[job].weight)
    # The bound by the tree, the cost by all that is given: the order may break a rule that the tree left out, and then
    # has to pay for it.
    return _Try(_cost(jobs, tree, order), number, _cost(jobs, waits, order), order, rules)


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


def _relax(jobs: Sequence[Job], rules: Waits) -> Waits:
    """The same jobs, each waiting for one chain only, that of most hours."""
    # Any one chain would do for a bound; that of most hours leaves least out, so fewer tries are needed.
    tree, ranks = list(rules), _rank_jobs(jobs, rules)
    for job in sorted(range(len(jobs)), key=lambda job: rules[job].bit_count()):
        if rules[job]:
            last = _find_last(ranks, rules[job])
            tree[job] = tree[last] | 1 << last
    return tree


def _part(jobs: Sequence[Job], rules: Waits) -> Iterator[Waits]:
    """Both ways to say which of two jobs comes first that a third waits for; one way where it makes no difference."""
    ranks = _rank_jobs(jobs, rules)
    for job, mine in enumerate(rules):
        last = _find_last(ranks, mine) if mine else job
        aside = mine and mine & ~(rules[last] | 1 << last)
        if aside:
            other = _find_last(ranks, aside)
            # What has no weight, and nothing behind it but that third, may as well wait until right before it.
            if not _serves_only(jobs, rules, other, job):
                yield _put_before(rules, other, last)
            if _serves_only(jobs, rules, other, job) or not _serves_only(jobs, rules, last, job):
                yield _put_before(rules, last, other)
            return


Ranks = list[tuple[int, int]]
"For each job the hours of all that it waits for and its own, and how many it waits for."


def _rank_jobs(jobs: Sequence[Job], rules: Waits) -> Ranks:
    return [
        (sum(jobs[other].hours for other in list_bits(mine | 1 << job)), mine.bit_count())
        for job, mine in enumerate(rules)
    ]


def _find_last(ranks: Ranks, among: int) -> int:
    """The one of some jobs that waits for most hours, its own included; so none of the others waits for it."""
    return max(list_bits(among), key=ranks.__getitem__)


def _serves_only(jobs: Sequence[Job], rules: Waits, job: int, third: int) -> bool:
    behind = [other for other, mine in enumerate(rules) if mine >> job & 1 and other != third]
    return not jobs[job].weight and all(rules[other] >> third & 1 for other in behind)


def _put_before(rules: Waits, first: int, then: int) -> Waits:
    """The same with one more rule: a job, and all that wait for it, wait for another."""
    more = rules[first] | 1 << first
    return [mine | more if job == then or mine >> then & 1 else mine for job, mine in enumerate(rules)]


def _order_tree(jobs: Sequence[Job], tree: Waits) -> tuple[int, ...]:
    """The best order of jobs that each wait for a chain (Horn 1972), from those that wait for most upwards."""
    behind: dict[int | None, list[_Block]] = {}
    ranks = _rank_jobs(jobs, tree)
    fine = 2 * sum(job.hours for job in jobs).bit_length()
    for job in sorted(range(len(jobs)), key=lambda job: -tree[job].bit_count()):
        block = _Block(jobs[job].hours, jobs[job].weight, (job,))
        rest = _rank(behind.pop(job, []), fine)
        glued = 0
        while glued < len(rest) and rest[glued].weight * block.hours >= block.weight * rest[glued].hours:
            block = _glue(block, rest[glued])
            glued += 1
        above = _find_last(ranks, tree[job]) if tree[job] else None
        if block.weight:  # else nothing that has a weight waits for it: it need not be done
            behind.setdefault(above, []).extend([block, *rest[glued:]])
    return tuple(job for block in _rank(behind.get(None, []), fine) for job in block.jobs)


def _rank(blocks: list[_Block], fine: int) -> list[_Block]:
    """Largest ratio first; those alike, and so those of one branch, stay in their order.

    Two ratios that differ do so by 1 over both hours multiplied at least: in `fine` binary places they still differ.
    """
    # Sorted by `Fraction`, the whole search took half as long again where strip-downs meet.
    return sorted(blocks, key=lambda block: -((block.weight << fine) // block.hours))


def _glue(block: _Block, other: _Block) -> _Block:
    return _Block(block.hours + other.hours, block.weight + other.weight, block.jobs + other.jobs)
