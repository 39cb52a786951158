"""What should a buyer ask the seller? Computed from the figures, the seals and the list, as questions in plain words.

A question is no accusation: it names what the record itself leaves open. Each is a `Flaw` without a file, by its rule.
The page that checks asks the same (`check_page/asks.js`), of the figures as they came. The tool asks of those that it
has worked out, so that figures which were forged to hide a question hide none.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

from buildlog.handover.findings import Flaw, tell
from buildlog.handover.manifest import Handover, find_day
from buildlog.handover.unpack import tame
from buildlog.record.rules import COSTLY_PART, LONG_GAP, MOST_ASKED, MOST_SHOWN, say, say_day
from buildlog.record.seals import Seal

LONGEST_NAME = 60
"Characters of one of the owner's names; what is longer is cut."
AMOUNT = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,12})?")
CURRENCY = re.compile(r"[A-Z]{3}")
Json = Mapping[str, Any]


def ask_of_record(
    handover: Handover, seals: Sequence[Seal], *, stamped: bool, paths: Iterable[str]
) -> tuple[Flaw, ...]:
    """The questions that names, list and seals raise; `paths` are those of the log's files that are here.

    `stamped`: a time stamp lies beside the last seal, whatever it is worth.
    """
    days = sorted(day for path in paths if (day := find_day(path)))
    return (
        *_ask_of_day(handover.as_of, days, seals[-1].date if seals else None),
        *_ask_withheld(handover),
        *_ask_of_seals(seals, days, stamped),
    )


def _ask_of_day(as_of: datetime.date, days: Sequence[datetime.date], sealed: datetime.date | None) -> Iterator[Flaw]:
    if later := sum(day > as_of for day in days):
        yield tell("ask-left-out", entries=later, day=say_day(as_of))
    elif sealed and sealed > as_of:
        yield tell("ask-older", day=say_day(as_of), sealed=say_day(sealed))


def _ask_withheld(handover: Handover) -> Iterator[Flaw]:
    if held := [one.path for one in handover.withheld]:
        yield tell("ask-withheld", files=len(held), names=_join(map(_quote, held)))


def _ask_of_seals(seals: Sequence[Seal], days: Sequence[datetime.date], stamped: bool) -> Iterator[Flaw]:
    if not seals:
        yield tell("ask-unsealed")
        return
    # A year's entries under one seal of yesterday may have been written yesterday.
    if days and (seals[0].date - days[0]).days >= LONG_GAP:
        yield tell("ask-sealed-late", first=say_day(days[0]), sealed=say_day(seals[0].date))
    if not stamped:
        yield tell("ask-no-stamp")


# ── of the figures ───────────────────────────────────────────────────────────────────────────────────────────────


def ask_of_figures(file: Any) -> tuple[Flaw, ...]:
    """The questions that a file of figures raises, as `figures.json` has them; any value at all may be given."""
    found: list[Flaw] = []
    for ask in ASKS:
        try:
            found += list(ask(file))
        # A stranger's figures may be of any shape; what cannot be read raises no question, and fails its own check.
        except (LookupError, TypeError, ValueError, AttributeError):
            continue
    return tuple(found)


def _ask_gaps(file: Json) -> Iterator[Flaw]:
    """The longest spans without an entry, in their order."""
    told = {claim["entry"]: claim["date"] for claim in file["evidence"]["claims"]}
    days = []
    for name in map(_take_text, file["entries"]):
        day = find_day(f"entries/{name}.md") or (datetime.date.fromisoformat(told[name]) if name in told else None)
        if day is None:  # it may lie in any gap
            return
        days.append(day)
    as_of = datetime.date.fromisoformat(file["as_of"])
    spans = [((last - first).days, first, last) for first, last in pairwise(sorted({*days, as_of}))]
    long = sorted((span for span in spans if span[0] >= LONG_GAP), key=lambda span: (-span[0], span[1]))[:MOST_ASKED]
    for length, first, last in sorted(long, key=lambda span: span[1]):
        # A month as the twelfth of 365 days, rounded down: *more than* stays true.
        yield tell("ask-gap", months=length * 12 // 365, first=say_day(first), last=say_day(last))


def _ask_meter(file: Json) -> Iterator[Flaw]:
    meter = file["meter"]
    if not meter["readings"]:
        if meter["unit"]:
            yield tell("ask-meter:none")
        return
    if meter["statement"] is None:
        yield tell("ask-meter:unstated")
    elif meter["statement"] != "actual":
        yield tell("ask-meter", statement=_cut(meter["statement"]))
    if steps := len(meter["steps"]):
        yield tell("ask-meter-changed", steps=steps)


def _ask_stated(file: Json) -> Iterator[Flaw]:
    """The dearest claims that nothing but a word backs."""
    costs = file["costs"]
    spent, currency = _amount(costs["spent"]), _match(CURRENCY, costs["currency"])
    gaps = [gap for gap in file["evidence"]["gaps"] if gap["amount"] is not None]
    dear = [gap for gap in gaps if 0 < spent <= _amount(gap["amount"]) * COSTLY_PART]
    dear.sort(key=lambda gap: -_amount(gap["amount"]))
    names = [f"{_quote(gap['what'])} ({gap['amount']} {currency})" for gap in dear[:MOST_ASKED]]
    if names:
        yield tell("ask-stated", names=_join(names))


def _ask_named(rule: str, names: Callable[[Json], list[str]]) -> Callable[[Json], Iterator[Flaw]]:
    def ask(file: Json) -> Iterator[Flaw]:
        if found := names(file):
            yield tell(rule, names=_join(map(_quote, found)))

    return ask


ASKS: tuple[Callable[[Json], Iterator[Flaw]], ...] = (
    _ask_gaps,
    _ask_meter,
    _ask_stated,
    _ask_named("ask-fault", lambda file: [one["name"] for one in file["faults"]["faults"] if one["state"] != "proved"]),
    _ask_named("ask-temporary", lambda file: [one["what"] for one in file["temporary"] if one["made_good"] is None]),
    _ask_named("ask-overdue", lambda file: [one["name"] for one in file["due"] if one["state"] == "overdue"]),
    _ask_named("ask-unknown", lambda file: [one["name"] for one in file["due"] if one["state"] == "history unknown"]),
)
"In the order in which they are asked."


def _amount(value: Any) -> Decimal:
    return Decimal(_match(AMOUNT, value))


def _match(pattern: re.Pattern[str], value: Any) -> str:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise TypeError(value)
    return value


def _take_text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _cut(text: Any) -> str:
    """The owner's words, tamed and short. Raises `TypeError` for what is no text."""
    tamed = tame(_take_text(text))
    return tamed if len(tamed) <= LONGEST_NAME else f"{tamed[:LONGEST_NAME]}…"


def _quote(text: Any) -> str:
    return f"“{_cut(text)}”"


def _join(names: Iterable[str]) -> str:
    found = [*names]
    shown = ", ".join(found[:MOST_SHOWN])
    return say("names", names=shown, more=len(found) - MOST_SHOWN) if len(found) > MOST_SHOWN else shown
