"""Where to look next: in which order do checks find a fault's cause in the least expected hours?

What is left of a fault is for `faults`, what is off already for `strip_downs`, how the best order is found for
`job_order`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import round_half_up, sum_exactly
from buildlog.compute.faults.faults import FaultFigures
from buildlog.compute.faults.job_order import Job, order_jobs
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
    Communications of the ACM 38, 1995); with them `job_order`'s.
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
