"""Can the money that came back, and the goods that went back, be right for the orders that they belong to?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TypeVar

from buildlog.arithmetic import sum_exactly
from buildlog.compute.costs.purchases import Refund
from buildlog.compute.parts.arrivals import find_lines, list_refs
from buildlog.compute.parts.movements import PartStory
from buildlog.compute.quantities.money import Money, sum_money
from buildlog.problems import Place, Problem, Severity
from buildlog.read.records import Returned


def check_returns(story: PartStory, refunds: Iterable[Refund]) -> Iterator[Problem]:
    """The problems of every return of a log; `refunds` are those of the whole log."""
    refs = list_refs(story.log)
    for returned in (returned for entry in story.log.entries for returned in entry.returned):
        yield from find_lines(returned, refs, story.names)[1]
        yield from _check_empty(returned)
    # In the order of the log: each return is held against all that came back before it, not only against the order.
    back = _Back()
    for refund in refunds:
        yield from _check_payment(refund)
        yield from _check_core(refund, back)
        yield from _check_price(refund, back)
        yield from _check_cost(refund, back)
        yield from _check_pieces(refund, back)


@dataclass(slots=True)
class _Back:
    """What has come back so far in the walk through the returns."""

    cores: dict[Place, Money] = field(default_factory=dict)
    "by order line, in the order's currency"
    money: dict[Place, Money] = field(default_factory=dict)
    "cores and prices by order, in the order's currency"
    home: dict[Place, Money] = field(default_factory=dict)
    "by order, in the home currency"
    pieces: dict[Place, Decimal] = field(default_factory=dict)
    "by the first of the order lines that a return is about"


Counted = TypeVar("Counted", Decimal, Money)


def _count(counts: dict[Place, Counted], place: Place, more: Counted) -> Counted:
    counts[place] = counts[place] + more if place in counts else more
    return counts[place]


def _check_empty(returned: Returned) -> Iterator[Problem]:
    if returned.qty is returned.cancelled is returned.core is returned.refund is returned.charged is None:
        yield Problem(
            rule="empty-return",
            message="this return has neither goods nor money",
            place=returned.place,
            help="add `qty:` or `cancelled:` for goods; `core:`, `refund:` or `charged:` for money",
        )


def _check_payment(refund: Refund) -> Iterator[Problem]:
    paid = refund.purchase.paid
    # A return of goods that brought no money needs no payment before it.
    if any(line.home for line in refund.lines) and (paid is None or paid > refund.date):
        when = "is not paid" if paid is None else f"was paid on {paid}"
        yield Problem(
            rule="refund-before-payment",
            message=f"there was a refund on {refund.date} for the order `{refund.returned.ref}`, which {when}",
            place=refund.returned.place,
            help="add `paid:` to the order, or correct the date",
            also=(refund.purchase.landed.order.place,),
        )


def _check_core(refund: Refund, back: _Back) -> Iterator[Problem]:
    # Counted even where one is too much already, so that the next return is judged by what really came back.
    over = [line for line in refund.lines if _count(back.cores, line.line.line.place, line.core) > line.line.core]
    if over:
        charged = sum_money((line.line.core for line in refund.lines), refund.purchase.landed.currency)
        yield _tell_too_much(
            refund,
            "core-above-charge",
            f"more core charge was refunded than the `{charged.amount}` that was paid",
            field_place="core",
        )


def _check_price(refund: Refund, back: _Back) -> Iterator[Problem]:
    """Against what these lines cost, and with everything that came back before against the whole order."""
    landed = refund.purchase.landed
    given = sum_money((part for line in refund.lines for part in (line.core, line.price)), landed.currency)
    cost = sum_money((line.line.gross for line in refund.lines), landed.currency)
    whole = _count(back.money, landed.order.place, given)
    if given > cost or whole > landed.total:
        paid = f"{cost}" if given > cost else f"{landed.total} of the whole order"
        message = f"`{max(given, whole).amount}` was refunded of the `{paid}` that was paid"
        yield _tell_too_much(refund, "refund-above-price", message, field_place="refund")


def _check_cost(refund: Refund, back: _Back) -> Iterator[Problem]:
    """In the home currency; with a foreign order the rate may have moved, so that more may come back than was paid."""
    landed = refund.purchase.landed
    given = sum_money((line.home for line in refund.lines), landed.home_currency)
    home = _count(back.home, landed.order.place, given)
    if home > landed.landed and landed.converted:
        # At home more than was paid is a slip; abroad it may be a better rate on the later day.
        severity: Severity = "error" if landed.currency == landed.home_currency else "warning"
        message = f"`{home.amount}` was refunded of the `{landed.landed}` that the order cost"
        yield _tell_too_much(refund, "refund-above-cost", message, field_place="charged", severity=severity)


def _check_pieces(refund: Refund, back: _Back) -> Iterator[Problem]:
    returned = refund.returned
    if returned.qty is returned.cancelled is None:
        return
    bought = sum_exactly(line.line.line.qty for line in refund.lines)
    # By the first of the lines: a return that names no part is about all lines of its order at once.
    mine = (returned.qty or Decimal(0)) + (returned.cancelled or Decimal(0))
    gone = _count(back.pieces, refund.lines[0].line.line.place, mine)
    if gone > bought:
        message = f"`{gone}` went back of the `{bought}` that were bought"
        yield _tell_too_much(refund, "returned-too-many", message, field_place="qty" if returned.qty else "cancelled")


def _tell_too_much(
    refund: Refund, rule: str, message: str, *, field_place: str, severity: Severity = "error"
) -> Problem:
    return Problem(
        rule=rule,
        message=message,
        place=refund.returned.field_place(field_place),
        help="check the credit note, and whether another entry records the same return",
        severity=severity,
        also=(refund.purchase.landed.order.place,),
    )
