"""How far is the log backed by what can be looked at, and where is nothing but words?

The claims and their levels come from `claims`.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from buildlog.arithmetic import round_half_up
from buildlog.compute.evidence.claims import KINDS, LEVELS, Claim, ClaimKind, Level, list_claims
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.frozen import frozen
from buildlog.problems import Place, Problem, Wording
from buildlog.read.records import Log, Order
from buildlog.spans import say_in_english, say_span
from buildlog.text import to_say


@frozen
class Coverage:
    """How much of a group of claims is at one level."""

    level: Level
    "the level"
    claims: int
    "how many claims are at it"
    claims_percent: Decimal
    "of the group's claims, half up to a tenth; 0 where there is none"
    money: Money
    "total of their amounts, in the home currency"
    money_percent: Decimal
    "of the group's amounts, half up to a tenth; 0 where there is no money"


@frozen
class EvidenceFigures:
    """Every claim up to a day, and how far they are backed."""

    claims: tuple[Claim, ...]
    "in the order of time"
    coverage: tuple[Coverage, ...]
    "of all claims, one for each level, strongest first"
    by_kind: Mapping[ClaimKind, tuple[Coverage, ...]]
    "the same for each kind of claim that there is"
    money: Money
    "total of the amounts of all claims, in the home currency; the levels add up to it"
    gaps: tuple[Claim, ...]
    "claims that nothing but words back: the largest amount first, then those without one in the order of time"
    problems: tuple[Problem, ...]
    "of the whole log, whatever the day"


def compute_evidence(log: Log, as_of: datetime.date, *, amounts: Mapping[Place, Money]) -> EvidenceFigures:
    """Every claim up to a day with its level, the coverage and the gaps.

    `amounts` gives the home amount of an order, return or sale by its record's place; its sign does not matter.
    """
    # By day alone: the sort keeps those of one day in the order of the log.
    claims = sorted((c for c in list_claims(log, amounts) if c.date <= as_of), key=lambda claim: claim.date)
    by_kind: dict[ClaimKind, list[Claim]] = {kind: [] for kind in KINDS}
    for claim in claims:
        by_kind[claim.kind].append(claim)
    currency = log.settings.money.currency
    gaps = [claim for claim in claims if claim.level in ("stated", "handed down")]
    return EvidenceFigures(
        claims=tuple(claims),
        coverage=cover_claims(claims, currency),
        by_kind={kind: cover_claims(group, currency) for kind, group in by_kind.items() if group},
        money=sum_money((claim.amount for claim in claims if claim.amount is not None), currency),
        # An unknown amount is no small one, but it cannot be ranked, so it comes last.
        gaps=tuple(sorted(gaps, key=lambda claim: (claim.amount is None, -claim.amount.amount if claim.amount else 0))),
        problems=(*_check_shared_papers(log), *_check_history(log)),
    )


def cover_claims(claims: Iterable[Claim], currency: str) -> tuple[Coverage, ...]:
    """The coverage of a group of claims, one for each level, strongest first."""
    groups: dict[Level, list[Claim]] = {level: [] for level in LEVELS}
    for claim in claims:
        groups[claim.level].append(claim)
    counts = [len(group) for group in groups.values()]
    money = [sum_money((claim.amount for claim in group if claim.amount), currency) for group in groups.values()]
    shares = split_percent([Decimal(count) for count in counts])
    rows = zip(LEVELS, counts, shares, money, split_percent([amount.amount for amount in money]), strict=True)
    return tuple(
        Coverage(level=level, claims=count, claims_percent=count_share, money=amount, money_percent=amount_share)
        for level, count, count_share, amount, amount_share in rows
    )


def split_percent(weights: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Weights of zero or more as percentages, each rounded half up to a tenth as anybody would work it out again.

    They may miss 100 by a few tenths; all are 0 where there is no weight.
    """
    # Not by largest remainder, as money is shared: whoever divides the figures on the page must get what is printed
    # there, and a total of 100.1 % is less of a puzzle than a share that is off. Exact until the one rounding.
    whole = sum(map(Fraction, weights))
    if not whole:
        return tuple(Decimal(0) for _ in weights)
    return tuple(round_half_up(Fraction(weight) * 100 / whole, places=1) for weight in weights)


def _check_shared_papers(log: Log) -> Iterator[Problem]:
    """A warning for each order whose paper an earlier one names too."""
    first: dict[str, Order] = {}
    # Orders only: one invoice may well back an order, the fitting of the part and the service it was for.
    for order in (order for entry in log.entries for order in entry.bought):
        if order.paper is None:
            continue
        before = first.setdefault(order.paper, order)
        if before is not order:
            wording = Wording(text=to_say("the paper `%(paper)s` backs two orders"), places=(("paper", order.paper),))
            yield Problem(
                rule="paper-used-twice",
                message=wording.fill(say_in_english, say_span),
                wording=wording,
                place=order.field_place("paper"),
                help="one invoice is one order: merge them, or give the other paper",
                severity="warning",
                also=(before.field_place("paper"),),
            )


def _check_history(log: Log) -> Iterator[Problem]:
    """A warning for each inherited event that is said to be on paper or in pictures and names no file."""
    for event in log.settings.history:
        if event.paper is None and event.evidence != "handed down":
            yield Problem(
                rule="evidence-without-file",
                message=f"this event is marked `{event.evidence}`, but names no file in the log",
                place=event.field_place("evidence"),
                help="add `paper: papers/…` with a scan or picture; until then it counts as the previous owner's word",
                severity="warning",
            )
