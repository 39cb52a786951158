"""What `buildlog bring` shows before it writes anything, as tables and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from buildlog.answers.forms import Answer, Table, write_amount
from buildlog.bring.bills import Bill
from buildlog.bring.plan import NewEntry, Plan
from buildlog.compute.quantities.money import Money
from buildlog.problems import Problem
from buildlog.text import count, join_words

MOST_SHOWN = 40
"Rows of a table that a terminal shows of what needs nothing to be done; the JSON has all."


def answer_plan(plan: Plan) -> Answer:
    """Everything that a plan does and leaves, most needful first."""
    tables = [_draw_said(plan), _draw_entries(plan), _draw_payments(plan), _draw_pictures(plan)]
    tables += [_draw_left(plan, known=False), _draw_left(plan, known=True)]
    shown = tuple(table for table in tables if table.rows)
    return Answer(tables=(*shown, Table(title="", columns=(), rows=(), empty=_say_all(plan))), data=_write_plan(plan))


def _draw_said(plan: Plan) -> Table:
    rows = tuple((each.source, each.says) for each in plan.said)
    return Table(title="How it was read", columns=("File", "What was found"), rows=rows)


def _draw_entries(plan: Plan) -> Table:
    rows = []
    for entry in plan.entries:
        for bill, total in zip(entry.bills, entry.totals, strict=True):
            rows.append(
                (entry.path, bill.supplier, bill.ref or "", count(len(bill.lines), "line"), *_show_total(bill, total))
            )
    columns = ("Entry", "Bought from", "Number", "Lines", "Total>", "Document>", "Paid")
    return Table(title="Bills, by the entry each goes into", columns=columns, rows=tuple(rows)).without_empty_columns()


def _show_total(bill: Bill, total: Money) -> tuple[str, str, str]:
    asked = f"{bill.payable + bill.prepaid:f}" if bill.payable is not None else ""
    return f"{write_amount(total)} {total.currency}", asked, _show_paid(bill)


def _show_paid(bill: Bill) -> str:
    if bill.paid:
        return bill.paid.isoformat()
    return f"{bill.prepaid:f} of it" if bill.prepaid_on else "not yet"


def _draw_payments(plan: Plan) -> Table:
    rows = tuple(
        (entry.path, f"{match.payment.amount:f} {match.payment.currency}", match.payment.party, f"paid {match.order}")
        for entry in plan.entries
        for match in entry.paid
    )
    columns = ("Entry", "Amount>", "To", "What")
    return Table(title="Payments, each in an entry of its own day", columns=columns, rows=rows)


def _draw_pictures(plan: Plan) -> Table:
    rows = [(entry.path, str(entry.photos), "new, lists them") for entry in plan.entries if entry.photos]
    put = "there already: they are put at the end of its `photos:`"
    rows += [(grown.path, str(len(grown.photos)), put) for grown in plan.grown]
    columns = ("Entry", "Pictures>", "Which is")
    return Table(title="Pictures, by the entry of their day", columns=columns, rows=tuple(sorted(rows)))


def _draw_left(plan: Plan, *, known: bool) -> Table:
    left = [each for each in plan.left if each.known == known]
    rows = [(f"{each.source}{f', {each.at}' if each.at else ''}", each.what, each.why) for each in left[:MOST_SHOWN]]
    if len(left) > MOST_SHOWN:
        rows.append((f"and {len(left) - MOST_SHOWN} more", "", "`--json` lists all"))
    title = "Nothing to do for these" if known else "For you to look at"
    return Table(title=title, columns=("File", "What", "Why"), rows=tuple(rows))


def _say_all(plan: Plan) -> str:
    """The whole plan in one line."""
    papers = sum(copy.path.startswith("papers/") for copy in plan.copies)
    parts = [
        count(len(plan.entries), "entry", "entries") if plan.entries else "",
        count(len(plan.grown), "addition to an entry", "additions to entries") if plan.grown else "",
        count(papers, "paper") if papers else "",
        count(len(plan.copies) - papers, "picture") if len(plan.copies) > papers else "",
    ]
    return f"To write: {join_words([part for part in parts if part]) or 'nothing'}"


# ── JSON ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _write_plan(plan: Plan) -> dict[str, Any]:
    return {
        "entries": [_write_entry(entry) for entry in plan.entries],
        "added_to": [{"path": grown.path, "photos": list(grown.photos), "text": grown.text} for grown in plan.grown],
        "copies": [{"from": str(copy.source), "to": copy.path} for copy in plan.copies],
        "left": [
            {"file": each.source, "at": each.at or None, "what": each.what, "why": each.why, "known": each.known}
            for each in plan.left
        ],
        "read": [{"file": each.source, "says": each.says} for each in plan.said],
        "problems": [_write_problem(problem) for problem in plan.problems],
        "mappings": dict(plan.mappings),
    }


def _write_entry(entry: NewEntry) -> dict[str, Any]:
    return {
        "path": entry.path,
        "date": entry.day.isoformat(),
        "title": entry.title,
        "orders": [_write_bill(bill, total) for bill, total in zip(entry.bills, entry.totals, strict=True)],
        "payments": [
            {
                "order": match.ref, "supplier": match.supplier, "amount": f"{match.payment.amount:f}",
                "currency": match.payment.currency, "to": match.payment.party, "at": match.payment.origin.at,
            }
            for match in entry.paid
        ],
        "photos": entry.photos,
        "text": entry.text,
    }  # fmt: skip


def _write_bill(bill: Bill, total: Money) -> dict[str, Any]:
    payable = bill.payable
    return {
        "file": bill.origin.source.name,
        "at": bill.origin.at or None,
        "supplier": bill.supplier,
        "ref": bill.ref,
        "date": bill.day.isoformat(),
        "lines": len(bill.lines),
        "currency": total.currency,
        "total": write_amount(total),
        "prepaid": f"{bill.prepaid:f}",
        "prepaid_on": bill.prepaid_on.isoformat() if bill.prepaid_on else None,
        "payable": None if payable is None else f"{payable:f}",
        "difference": None if payable is None else f"{total.amount - bill.prepaid - payable:f}",
        "paid": bill.paid.isoformat() if bill.paid else None,
        "arrived": bill.arrived.isoformat() if bill.arrived else None,
    }


def _write_problem(problem: Problem) -> dict[str, Any]:
    place = problem.place
    return {
        "rule": problem.rule,
        "severity": problem.severity,
        "file": place.file,
        "row": place.line,
        "element": place.path or None,
        "message": problem.message,
        "help": problem.help,
    }


def list_written(plan: Plan) -> Iterator[str]:
    """What was written, a line for each kind, once it is."""
    yield _say_all(plan).replace("To write", "written")
