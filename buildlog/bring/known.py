"""Which of the bills that were read are new, which can be written, and which are refunds of an order that is known?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from buildlog.bring.bills import Bill
from buildlog.bring.sources import Left
from buildlog.compute.costs.orders import value_line
from buildlog.problems import Place, Problem
from buildlog.read.records import Entry, Log, Order
from buildlog.text import count, fold_words


def drop_known(bills: Iterable[Bill], log: Log) -> tuple[list[Bill], list[Left]]:
    """The bills that are new, and those that are not: brought before, typed already, or in two files at once."""
    marks = {(mark.digest, mark.at or ""): entry for entry in log.entries for mark in entry.brought_from}
    places: dict[object, str] = {}
    for entry, order in _list_orders(log):
        if order.ref:
            places[fold_words(order.supplier), order.ref] = f"entries/{entry.name}.md"
        places[_find_content(entry, order)] = f"entries/{entry.name}.md"
    new, left = [], []
    for bill in bills:
        keys = [bill.content] if bill.ref is None else [(fold_words(bill.supplier), bill.ref)]
        at = next((places[key] for key in keys if key in places), None)
        if bill.origin.mark in marks:
            why = f"brought in before, in entries/{marks[bill.origin.mark].name}.md"
            left.append(Left(bill.origin.source.name, _tell(bill), why, known=True, at=bill.origin.at))
        elif at is not None:
            left.append(
                Left(bill.origin.source.name, _tell(bill), f"is in {at} already", known=True, at=bill.origin.at)
            )
        else:
            places |= dict.fromkeys(keys, bill.origin.source.name)
            new.append(bill)
    return new, left


def _list_orders(log: Log) -> Iterator[tuple[Entry, Order]]:
    return ((entry, order) for entry in log.entries for order in entry.bought)


def _find_content(entry: Entry, order: Order) -> tuple[object, ...]:
    lines = tuple(sorted((fold_words(line.what or line.name or ""), value_line(line)) for line in order.lines))
    return fold_words(order.supplier), order.ordered or entry.date, lines


def _tell(bill: Bill) -> str:
    number = f" {bill.ref}" if bill.ref else ""
    return f"{'credit note' if bill.credit else 'bill'}{number} of {bill.day} from {bill.supplier}"


def drop_unrated(bills: Iterable[Bill], home: str) -> tuple[list[Bill], list[Problem]]:
    """The bills whose cost at home can be known, and one problem for each currency that has no rate."""
    kept, lost = [], defaultdict[str, list[Bill]](list)
    for bill in bills:
        known = bill.currency in (None, home) or bill.charged is not None or bill.rate is not None
        if known:
            kept.append(bill)
        elif bill.paid is None:  # one that is not paid yet gets its rate when it is
            kept.append(replace(bill, prepaid_on=None))
        else:
            lost[bill.currency or home].append(bill)
    problems = []
    for currency, some in lost.items():
        origin = some[0].origin
        message = f"{count(len(some), 'paid bill')} in {currency}, and nothing tells what they cost in {home}"
        help = f"--rate {currency}=0.8567, or a column of what the card took; until then they are left out"
        problems.append(
            Problem(rule="no-rate", message=message, place=Place(origin.source.name, origin.line), help=help)
        )
    return kept, problems


def mark_refunds(bills: Sequence[Bill], log: Log) -> list[Bill]:
    """The bills, each credit note on an order that is known marked as its refund; any other stays a bill below zero."""
    home = log.settings.money.currency
    known = {(fold_words(order.supplier), order.ref, order.currency or home) for _, order in _list_orders(log)}
    known |= {(fold_words(bill.supplier), bill.ref, bill.currency or home) for bill in bills if not bill.credit}
    return [
        replace(bill, refunds=bill.credits)
        if bill.credits and bill.gross and (fold_words(bill.supplier), bill.credits, bill.currency or home) in known
        else bill
        for bill in bills
    ]
