"""Where to look next: in which order do checks find a fault's cause in the least expected hours?

What is left of a fault is for `faults`, what is off already for `strip_downs`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class LookStep:
    """One suspect to check, with what has to come off for it."""

    suspect: str
    "key of the component"
    name: str
    "as shown"
    takes_off: tuple[str, ...]
    "keys of strip-downs to take off first, in order; those that are off, or came off for a step before, left out"
    takes_off_names: tuple[str, ...]
    "the same as shown"
    strip_hours: Decimal
    "hours of `takes_off`"
    check_hours: Decimal
    hours: Decimal
    "of this step: both together"
    hours_so_far: Decimal
    "of this step and all before"
    likely: Decimal
    "its weight: it clears so many of the plan's `chances`"


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFigures:
    """The order in which to check what is left of one fault."""

    fault: str
    "key"
    steps: tuple[LookStep, ...]
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
