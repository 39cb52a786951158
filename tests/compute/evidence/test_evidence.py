"""How claims are backed, what share stands at which level, and where the gaps are."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.evidence.claims import LEVELS
from buildlog.compute.evidence.coverage import EvidenceFigures, compute_evidence, split_percent
from buildlog.compute.quantities.money import Money
from buildlog.problems import Place
from buildlog.read.records import EVIDENCE, Log
from tests.support import SETTINGS, gbp, log_of

AS_OF = date(2025, 1, 1)
SERVICE = SETTINGS + "service: {oil: {name: Oil, every: {months: 12}}}\n"
PAPERS = frozenset({"papers/a.pdf", "papers/b.pdf"})


def evidence_of(*heads: str, rest: str = "", amounts: dict[Place, Money] | None = None) -> EvidenceFigures:
    log = log_of(*heads, settings=SERVICE + rest, papers=PAPERS)
    return compute_evidence(log, AS_OF, amounts=amounts or {})


def levels(figures: EvidenceFigures) -> list[tuple[str, str, str]]:
    return [(claim.kind, claim.what, claim.level) for claim in figures.claims]


def amounts_of(log: Log, *values: str) -> dict[Place, Money]:
    orders = [order for entry in log.entries for order in entry.bought]
    return {order.place: gbp(value) for order, value in zip(orders, values, strict=True)}


def test_levels_are_those_of_the_records() -> None:
    """The four levels have one spelling in records and figures."""
    assert LEVELS == EVIDENCE


WORK = """
date: 2024-03-01
reading: 500
fitted: [{part: pump, note: new}, {part: seal}]
serviced: [{item: oil}]
fixed: {fault: leak, how: sealed}
"""


def test_stated() -> None:
    """What the entry alone says is stated."""
    assert levels(evidence_of(WORK)) == [
        ("fitting", "pump", "stated"),
        ("fitting", "seal", "stated"),
        ("service", "oil", "stated"),
        ("fix", "leak", "stated"),
        ("reading", "500", "stated"),
    ]


def test_a_photo_backs_only_what_it_names() -> None:
    """A photo that `shows` the pump backs the pump's fitting and nothing else; one that shows nothing backs nothing."""
    figures = evidence_of(WORK + "photos: [{file: a.jpg, says: Pump, shows: [pump]}, {file: b.jpg, says: Bench}]")
    assert [claim.what for claim in figures.claims if claim.level == "in pictures"] == ["pump"]
    others = evidence_of(WORK + "photos: [{file: a.jpg, says: All, shows: [meter, oil, leak]}]")
    assert [claim.what for claim in others.claims if claim.level == "in pictures"] == ["oil", "leak", "500"]


def test_a_photo_of_another_entry_backs_nothing() -> None:
    """A photo counts for the entry that it lies with."""
    figures = evidence_of(WORK, "date: 2024-03-02\nphotos: [{file: a.jpg, says: Pump, shows: [pump]}]")
    assert {claim.level for claim in figures.claims} == {"stated"}


def test_a_paper_on_the_record_itself() -> None:
    """A paper backs the record that names it, and the reading written in that record; it is stronger than a photo."""
    figures = evidence_of(
        """
        date: 2024-03-01
        reading: 510
        fitted: {part: pump, paper: papers/a.pdf}
        serviced: {item: oil, reading: 500, paper: papers/b.pdf}
        photos: {file: a.jpg, says: Pump, shows: [pump]}
        """
    )
    assert levels(figures) == [
        ("fitting", "pump", "on paper"),
        ("service", "oil", "on paper"),
        ("reading", "510", "stated"),
        ("reading", "500", "on paper"),
    ]


def test_meter_change() -> None:
    """A changed meter is one reading claim, backed by its notice."""
    figures = evidence_of("date: 2024-03-01\nmeter_changed: {old: 500 km, new: 0 km, paper: papers/a.pdf}")
    assert levels(figures) == [("reading", "500 km, then 0 km", "on paper")]


ORDERS = """
date: 2024-03-01
bought:
  - {from: Kanaal, ref: K-1, paper: papers/a.pdf, lines: [{part: pump, each: 60}]}
  - {from: Kanaal, ref: K-2, lines: [{what: Hose, each: 30}]}
  - {from: Hoek, lines: [{what: Clip, each: 10}]}
photos: {file: a.jpg, says: Pump, shows: [pump]}
"""


def test_money_is_on_paper_or_stated() -> None:
    """60 of 100 on paper, 40 stated: a photo of a part shows the part and not its price."""
    log = log_of(ORDERS, settings=SERVICE, papers=PAPERS)
    figures = compute_evidence(log, AS_OF, amounts=amounts_of(log, "60", "30", "10"))
    assert [(c.level, c.claims, c.money.amount, c.money_percent) for c in figures.coverage] == [
        ("on paper", 1, 60, 60),
        ("in pictures", 0, 0, 0),
        ("stated", 2, 40, 40),
        ("handed down", 0, 0, 0),
    ]
    assert [c.claims_percent for c in figures.coverage] == [Decimal("33.3"), 0, Decimal("66.7"), 0]


def test_gaps_largest_first() -> None:
    """Gaps are what only words back: by amount, then what has none by date."""
    log = log_of("date: 2024-02-01\nreading: 1", ORDERS, settings=SERVICE, papers=PAPERS)
    figures = compute_evidence(log, AS_OF, amounts=amounts_of(log, "60", "10", "30"))
    assert [(gap.what, gap.amount) for gap in figures.gaps] == [
        ("Hoek", gbp("30")),
        ("Kanaal, K-2", gbp("10")),
        ("1", None),
    ]


def test_returns_and_sales_are_money() -> None:
    """Money that came back is a claim as well; its sign does not count."""
    log = log_of(
        ORDERS,
        """
        date: 2024-04-01
        returned: {ref: K-1, part: pump, refund: 5, paper: papers/b.pdf}
        sold: {what: Rims, price: 80}
        """,
        settings=SERVICE,
        papers=PAPERS,
    )
    returned, sold = log.entries[1].returned[0], log.entries[1].sold[0]
    amounts = {returned.place: gbp("-5"), sold.place: gbp("80")}
    figures = compute_evidence(log, AS_OF, amounts=amounts)
    assert [(c.what, c.level, c.amount) for c in figures.claims[-2:]] == [
        ("returned on K-1", "on paper", gbp("5")),
        ("sold Rims", "stated", gbp("80")),
    ]


HISTORY = """
acquired: {date: 2023-01-01, reading: 90, paper: papers/b.pdf}
history:
  - {date: 1999, what: Oil, serviced: [oil], reading: 70, evidence: on paper, paper: papers/a.pdf}
  - {date: 2003-06, what: Painted}
  - {date: 2004, what: Seats, evidence: in pictures, paper: papers/a.pdf}
"""


def test_inherited_events() -> None:
    """An event with a file is on paper or in pictures, without one handed down; one with items is a service claim."""
    figures = evidence_of(rest=HISTORY)
    assert levels(figures) == [
        ("service", "oil", "on paper"),
        ("reading", "70", "on paper"),
        ("history", "Painted", "handed down"),
        ("history", "Seats", "in pictures"),
        ("reading", "90", "on paper"),
    ]
    assert figures.claims[0].date == date(1999, 1, 1)
    assert figures.problems == ()


def test_evidence_without_its_file() -> None:
    """ "On paper" or "in pictures" without a file in the log counts as handed down, and is a warning."""
    figures = evidence_of(rest="history: [{date: 1999, what: Oil, evidence: on paper}]")
    assert [(p.rule, p.severity) for p in figures.problems] == [("evidence-without-file", "warning")]
    assert levels(figures) == [("history", "Oil", "handed down")]


def test_one_paper_for_two_orders() -> None:
    """A paper that two orders name is a warning at the second, with the place of the first."""
    figures = evidence_of(
        "date: 2024-01-01\nbought: {from: A, paper: papers/a.pdf}",
        "date: 2024-02-01\nbought: {from: B, paper: papers/a.pdf}",
    )
    (problem,) = figures.problems
    assert (problem.rule, problem.severity) == ("paper-used-twice", "warning")
    assert (problem.place.file, problem.also[0].file) == ("entries/e2.md", "entries/e1.md")


def test_up_to_the_day() -> None:
    """What an entry claims after the day asked for is not counted."""
    log = log_of(WORK, settings=SERVICE)
    assert compute_evidence(log, date(2024, 2, 29), amounts={}).claims == ()
    assert len(compute_evidence(log, date(2024, 3, 1), amounts={}).claims) == 5


def test_kinds() -> None:
    """Coverage is given for each kind of claim that there is."""
    assert {kind: [c.claims for c in rows] for kind, rows in evidence_of(WORK).by_kind.items()} == {
        "fitting": [0, 0, 2, 0],
        "service": [0, 0, 1, 0],
        "reading": [0, 0, 1, 0],
        "fix": [0, 0, 1, 0],
    }


@pytest.mark.parametrize(
    ("weights", "percent"),
    [
        ([1, 1, 1], ["33.3", "33.3", "33.3"]),  # 33.33 each: they make 99.9
        ([7, 12], ["36.8", "63.2"]),  # 36.842 and 63.158
        ([1, 7], ["12.5", "87.5"]),
        ([1, 15], ["6.3", "93.8"]),  # 6.25 and 93.75, both half up: they make 100.1
        ([0, 0], ["0", "0"]),
        ([5], ["100"]),
    ],
)
def test_percent(weights: list[int], percent: list[str]) -> None:
    """Each is what a reader gets who works it out again: half up to a tenth, equal counts alike."""
    assert list(split_percent([Decimal(weight) for weight in weights])) == [Decimal(p) for p in percent]


@given(st.lists(st.decimals(0, 10**6, places=2), min_size=1, max_size=6))
def test_percent_are_near_their_own(weights: list[Decimal]) -> None:
    """Each is within a twentieth of its own share, unless there is nothing to share."""
    shares = split_percent(weights)
    whole = sum(weights)
    assert all(
        abs(share - weight * 100 / whole) <= Decimal("0.0500001")
        for share, weight in zip(shares, weights, strict=True)
        if whole
    )
    assert whole or not any(shares)
