"""Where to look next: in which order do checks find a fault's cause in the least expected hours?

What is left of a fault is for `faults`, what is off already for `strip_downs`. How the best order is found stands in
the second half, over jobs of which nothing but hours and weight is known: each costs its weight times all hours up to
its end, and some must wait. Known to scheduling as one machine, precedence, least sum of weighted completion times.
Three published results:

- no job waits: by weight over hours, largest first (W. E. Smith, Naval Research Logistics Quarterly 3, 1956);
- each waits for one other at most, an outtree: W. A. Horn, SIAM Journal on Applied Mathematics 23, 1972. From the
  leaves up, a job is glued to the best block behind it for as long as that block's ratio is no smaller than its own;
- a job waits for several: no fast exact rule is known (E. L. Lawler, Annals of Discrete Mathematics 2, 1978: the
  problem is NP-hard). Here each job is first held to one chain of what it waits for, which no order can undercut. Where
  that order breaks no rule it is best. Else, of two jobs that a third waits for, one comes first: both ways are tried,
  the more promising first, until no untried way can be better (branch and bound).

The citations are from memory; tests compare with exhaustive search.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from heapq import heappop, heappush
from typing import NamedTuple

from buildlog.arithmetic import round_half_up, sum_exactly
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.parts.names import plain_name
from buildlog.compute.strip_downs import list_to_open, sum_hours
from buildlog.frozen import frozen
from buildlog.read.records import Component, Settings, StripDown


@frozen
class CheckStep:
    """One suspect to check, with what has to come off for it."""

    suspect: str
    "key of the component"
    name: str
    "the same as shown"
    takes_off: tuple[str, ...]
    "keys of strip-downs to take off first, in order; those that are off, or came off for a step before, left out"
    takes_off_names: tuple[str, ...]
    "the same as shown"
    strip_hours: Decimal
    "hours of `takes_off`"
    check_hours: Decimal
    "hours of the check itself, as `log.yaml` states them"
    hours: Decimal
    "of this step: both together"
    hours_so_far: Decimal
    "of this step and all before"
    likely: Decimal
    "its weight: it clears so many of the plan's `chances`"


@frozen
class CheckOrder:
    """The order in which to check what is left of one fault."""

    fault: str
    "key of the fault"
    steps: tuple[CheckStep, ...]
    "best first"
    chances: Decimal
    "weight of all suspects that are left, those without stated hours included"
    expected: Fraction
    "expected hours until the cause is found, if it is one of `steps`; 0 where there is no step"
    expected_hours: Decimal
    "the same, rounded half up to a thousandth"
    exact: bool
    "whether no other order can be better; False where strip-downs meet in too many ways to try them all"
    no_hours: tuple[str, ...]
    "keys of suspects left out of the order, as `log.yaml` states no `check_hours` for them"

    @property
    def about_hours(self) -> Decimal:
        """The expected hours as people say them: to a tenth, or as exact as they are known where that would be none.

        Hours that an owner wrote, and sums of them, are never rounded. This is an average, and a thousandth of an hour,
        four seconds, would claim more than guesses at the length of a check can know.
        """
        return round_half_up(self.expected, 1) or self.expected_hours


def find_check_order(fault: FaultFigures, settings: Settings, *, off: Collection[str]) -> CheckOrder:
    """The order in which to check what is left of a fault, if one suspect is the cause and a check always tells.

    Suspects weigh as `likely` says; each costs its check's hours and those of the strip-downs above it, paid once, and
    not at all for what is `off`; what is on in front of something off has to come off. Without strip-downs it is the
    rule of likely over hours (Kadane & Simon, Artificial Intelligence 6, 1975; Heckerman, Breese & Rommelse,
    Communications of the ACM 38, 1995); with them that of `order_jobs`.
    """
    known = {key: settings.components.get(key) for key in fault.left}
    # A check of unknown length cannot be ranked. Taken as nothing it would come first, so it is left out, and named.
    stated = {key: component for key, component in known.items() if component and component.check_hours is not None}
    plan = _Plan(stated, settings.strip_downs, off)
    order = order_jobs(plan.jobs)
    weight = sum(job.weight for job in plan.jobs)
    # The cost is in units of hours times units of weight; both are taken out in one exact division.
    expected = Fraction(order.cost, weight * plan.hour) if weight else Fraction(0)
    return CheckOrder(
        fault=fault.key,
        steps=tuple(plan.list_steps(order.jobs)),
        # A suspect that `log.yaml` does not describe weighs 1, as one without `likely` does.
        chances=sum_exactly(component.likely if component else Decimal(1) for component in known.values()),
        expected=expected,
        expected_hours=round_half_up(expected, 3),
        exact=order.exact,
        no_hours=tuple(key for key in known if key not in stated),
    )


class _Plan:
    """Strip-downs and checks as numbered jobs in whole units, and the way back."""

    def __init__(
        self, suspects: Mapping[str, Component], strip_downs: Mapping[str, StripDown], off: Collection[str]
    ) -> None:
        self._strip_downs = strip_downs
        self._off = off
        self._suspects = suspects
        reached = [component.reached_by for component in suspects.values() if component.reached_by]
        # Strip-downs before suspects, and each after what it needs: a job's number is above all that it waits for.
        self._keys = [*list_to_open(strip_downs, reached, off=off), *suspects]
        self._first = len(self._keys) - len(suspects)
        checks = [component.check_hours or Decimal(0) for component in suspects.values()]
        hours = [*(strip_downs[key].hours for key in self._keys[: self._first]), *checks]
        # In whole numbers, so that no rounding decides between two orders that cost nearly the same.
        self.hour = _find_unit(hours)
        "how many units an hour has"
        unit = _find_unit(component.likely for component in suspects.values())
        weights = [0] * self._first + [int(component.likely * unit) for component in suspects.values()]
        afters = [self._find_after(number) for number in range(len(self._keys))]
        self.jobs = [
            Job(int(spent * self.hour), weight, after)
            for spent, weight, after in zip(hours, weights, afters, strict=True)
        ]

    def list_steps(self, order: Iterable[int]) -> Iterator[CheckStep]:
        """The checks in an order, each with what has to come off for it."""
        open_now: set[str] = set()
        so_far = Decimal(0)
        for number in order:
            key = self._keys[number]
            suspect = self._suspects[key]
            # Paid once: what came off for an earlier step stays off.
            takes_off = tuple(need for need in self._list_front(suspect) if need not in open_now)
            open_now.update(takes_off)
            strip, check = sum_hours(self._strip_downs, takes_off), suspect.check_hours or Decimal(0)
            so_far = sum_exactly([so_far, strip, check])
            yield CheckStep(
                suspect=key,
                name=suspect.name or plain_name(key),
                takes_off=takes_off,
                takes_off_names=tuple(self._strip_downs[need].name for need in takes_off),
                strip_hours=strip,
                check_hours=check,
                hours=sum_exactly([strip, check]),
                hours_so_far=so_far,
                likely=suspect.likely,
            )

    def _list_front(self, suspect: Component) -> tuple[str, ...]:
        reached = (suspect.reached_by,) if suspect.reached_by else ()
        return list_to_open(self._strip_downs, reached, off=self._off)

    def _find_after(self, number: int) -> tuple[int, ...]:
        """All that has to come off before; what is off in between hides nothing of what is on in front of it."""
        key = self._keys[number]
        if number >= self._first:
            front = self._list_front(self._suspects[key])
        else:
            front = list_to_open(self._strip_downs, self._strip_downs[key].after, off=self._off)
        numbers = {name: n for n, name in enumerate(self._keys[: self._first])}
        # Where strip-downs wait for each other in a circle, a problem of its own, one of them waits for a later number.
        return tuple(numbers[name] for name in front if numbers[name] < number)


def _find_unit(numbers: Iterable[Decimal]) -> int:
    """The smallest power of ten, 1 or more, that makes whole numbers of all."""
    digits = 0
    for number in numbers:
        exponent = number.as_tuple().exponent
        digits = max(digits, -exponent if isinstance(exponent, int) else 0)
    return int(10**digits)


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
