"""The record page and the service history as an appendix: what is said of seals, of the meter, of gaps and unknowns."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from buildlog.read.log_settings import MACHINE_KINDS, METER_STATEMENTS
from buildlog.record.published import PublishedRecord, PublishedSeal, PublishedStamp
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.front import make_front
from buildlog.render.pages.record import make_record
from buildlog.render.pages.service import SEAL_SHEET, make_service, say_statement, write_seal_sheet
from tests.made_up import ELSEWHERE, make_vin
from tests.render.editions import edition_of

VIN = make_vin(f"{ELSEWHERE}WMS25", "M")
SETTINGS = """
machine:
  name: 'Old "Tom"'
  kind: road vehicle
  vin: NUMBER
  place: Barn
  meter: {unit: mi, digits: 6, statement: STATEMENT}
acquired: {date: 2023-09-02, price: 100.00, reading: 100}
money: {currency: GBP}
systems: {fuel: Fuel}
service: {oil: {name: Oil, every: {months: 12}}, belt: {name: Belt, every: {months: 60}}}
history: [{date: 2019-01-01, what: Oil changed, serviced: [oil]}]
public: {prices: totals}
""".replace("NUMBER", VIN)
SEAL = PublishedSeal(
    number=1,
    date=datetime.date(2024, 5, 1),
    leaves=12,
    new=10,
    amended=1,
    gone=1,
    root="ab" * 32,
    code="VOV2-XK5L-VOV2-XK5L-VOV2-XK5L-VOVM",
    key=None,
    stamp=None,
    reasons=("a slip",),
)


def context(statement: str = "actual", *heads: str, record: PublishedRecord | None = None) -> PageContext:
    heads = heads or ("date: 2024-02-01\nreading: 120\nserviced: [oil]",)
    made = edition_of(*heads, settings=SETTINGS.replace("STATEMENT", statement))
    return replace(made, record=record or PublishedRecord())


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("actual", "to the best of the owner’s knowledge the odometer reading reflects the actual mileage."),
        ("exceeds mechanical limits", "reflects the amount of mileage in excess of its mechanical limits."),
        ("not actual", "the odometer reading is NOT the actual mileage. WARNING – ODOMETER DISCREPANCY."),
        ("exempt", "no statement about the odometer is required for this machine."),
    ],
)
def test_statement(statement: str, words: str) -> None:
    """The three certifications of 49 CFR 580.5(e) in the words of appendix B to part 580, or that none is required."""
    said = say_statement(context(statement))
    assert said.startswith("The owner states: ")
    assert said.endswith(words)


BOAT = """
machine: {name: Tern, kind: KIND, meter: {unit: UNIT, statement: STATEMENT}}
money: {currency: GBP}
"""
CHANGED = (
    "date: 2024-01-01\nreading: 400",
    "date: 2024-02-01\nreading: 12\nmeter_changed: {old: 410, new: 0, why: glass cracked}",
)


def state(kind: str, unit: str, statement: str) -> PageContext:
    settings = BOAT.replace("KIND", kind).replace("UNIT", unit).replace("STATEMENT", statement)
    return edition_of(*CHANGED, settings=settings)


LAW = ("odometer", "mileage", "WARNING", "DISCREPANCY", "CFR", "mechanical limits")
"Words of 49 CFR part 580, which is about motor vehicles."


@pytest.mark.parametrize("statement", METER_STATEMENTS)
@pytest.mark.parametrize("kind", MACHINE_KINDS)
@pytest.mark.parametrize("unit", ["mi", "h"])
def test_the_law_on_odometers_speaks_of_road_vehicles(kind: str, unit: str, statement: str) -> None:
    """Whatever else has a meter, and hours of whatever: not a word of the statute, in what is said or doubted."""
    context = state(kind, unit, statement)
    view = make_service(context)
    doubted = " ".join(problem.help for problem in context.figures.problems if problem.rule == "meter-statement")
    statutory = kind in ("road vehicle", "motorcycle") and unit == "mi"
    assert bool(view.statement_rule) is statutory
    assert any(word in view.statement for word in LAW) is statutory
    assert ("CFR" in doubted) is (statutory and statement == "actual")


def test_a_boat_is_told_of_in_plain_words() -> None:
    """A boat's hour meter was changed at 410 h and shows 12: not all hours, and by the record 422 h."""
    assert say_statement(state("boat", "h", "not actual")) == (
        "The owner states: the meter does not show every hour the machine has run. "
        "Meter changed: 410\u00a0h on the old one, 0\u00a0h on the new one, glass cracked. "
        "By this record the true total is 422\u00a0h."
    )


def test_no_statement() -> None:
    """None is inferred: without the owner's, it stands among what is not known."""
    made = edition_of("date: 2024-02-01\nreading: 120", settings=SETTINGS.replace(", statement: STATEMENT", ""))
    view = make_service(made)
    assert view.statement == ""
    assert [row for row in view.unknowns if "no statement" in row]


def test_gaps_and_unknowns() -> None:
    """A gap is told with its item; an item never done is not known, and neither is what was before."""
    view = make_service(context())
    assert [(gap.item.text, gap.item.href, gap.says) for gap in view.service_gaps] == [
        ("Oil", "service.html#item-oil", "A gap of 5.1 years. The interval is every 12 months.")
    ]
    # 1 January 2019 to 1 February 2024: five years with one leap day (2020), 1826 days, and 31 of January
    assert (datetime.date(2024, 2, 1) - datetime.date(2019, 1, 1)).days == 1826 + 31
    assert view.unknowns == (
        "What was done before 2 September 2023, apart from what is under “Before this log”.",
        "Belt: when it was last done, if ever.",
    )


def test_nothing_sealed() -> None:
    """Without a seal, page, appendix and printed foot say so, and no code stands anywhere."""
    made = context()
    page = make_record(made)
    assert page.verdict.startswith("Nothing in this log is sealed")
    assert (page.seals, page.unsealed, page.latest_code, make_service(made).seal) == ((), (), "", None)
    assert b'content: "not sealed"' in write_seal_sheet(made)


def test_a_seal() -> None:
    """A seal is told with what it added, its reasons, and whose word the date is."""
    page = make_record(context(record=PublishedRecord(seals=(SEAL,), sealed={"entries": 10})))
    (row,) = page.seals
    assert row.holds == "12 files listed; 10 new, 1 amended and 1 gone with this seal"
    assert row.attestation == ("The date is the owner’s word: no time stamp confirms it.", "Not signed.")
    assert row.reasons == ("a slip",)
    assert page.verdict == "1 seal, the latest dated 1 May 2024, covering 10 files in their present state."


def test_what_lies_beside_a_seal() -> None:
    """A stamp and a signature are told by their own words, and that the page does not check them."""
    time = datetime.datetime(2024, 5, 1, 9, 30, 5, tzinfo=datetime.UTC)
    stamp = PublishedStamp(time=time, authority="Test TSA", certificates=False)
    seals = (replace(SEAL, stamp=stamp, key="SHA256:abc"), replace(SEAL, stamp=replace(stamp, time=None), key=""))
    rows = make_record(context(record=PublishedRecord(seals=seals))).seals
    assert rows[1].attestation == (
        "Time stamp of 1 May 2024, 09:30:05 UTC, by Test TSA; its certificate is not included. "
        "This page does not check it; the handover explains how.",
        "Signed with the SSH key SHA256:abc; ask the owner whose key that is.",
    )
    assert rows[0].attestation == (
        "There is a file that should be a time stamp, but it cannot be read.",
        "Signed with an SSH key that cannot be read here; ask the owner whose key that is.",
    )


def test_seals_that_do_not_hold() -> None:
    """Where seals fail, that is said first, and neither the appendix nor the printed foot carries their code."""
    record = PublishedRecord(seals=(SEAL,), failures=("`seals/0001.json`: this is no seal",))
    page = make_record(context(record=record))
    assert page.verdict.startswith("The seals of this log do not hold.")
    assert page.failures == record.failures
    assert make_service(context(record=record)).seal is None
    assert b"abab" not in write_seal_sheet(context(record=record))


def test_what_is_closed() -> None:
    """What `public:` closes is told, what it opens is not, and what is not there is not either."""
    closed = {row.what: row.how for row in make_record(context()).closed}
    assert closed == {
        "Money": "totals only",
        "VIN": "shown in part",
        "Where the machine is kept": "not shown",
        "Invoices, certificates and other papers": "not published",
        "Original photos": "not published",
    }
    opened = "public: {prices: shown, vin: shown, place: shown, papers: shown}"
    made = edition_of(
        "date: 2024-02-01", settings=SETTINGS.replace("STATEMENT", "actual").replace("public: {prices: totals}", opened)
    )
    assert [row.what for row in make_record(made).closed] == ["Original photos"]


NUMBERS = f"vin: {VIN}, engine_number: E-77, registration: AB12 CDE"


@pytest.mark.parametrize("how", ["masked", "hidden", "shown"])
@pytest.mark.parametrize(
    ("numbers", "in_part"),
    [
        (f"kind: road vehicle, {NUMBERS}", {"VIN"}),
        ("kind: boat, hin: XX-ZZZ00042-A3-03, registration: SSR 1", {"HIN"}),
        ("kind: trailer, vin: SWB1234, chassis_number: C-5", set()),
    ],
)
def test_a_number_is_in_part_where_some_of_it_is_seen(how: str, numbers: str, in_part: set[str]) -> None:
    """Each number is said to be shown in part where the front page has some of its characters, and only there."""
    settings = f"machine: {{name: M, {numbers}}}\nmoney: {{currency: GBP}}\npublic: {{vin: {how}, registration: {how}}}"
    made = edition_of("date: 2024-02-01", settings=settings)
    told = {row.what: row.how for row in make_record(made).closed if row.what not in NO_NUMBERS}
    seen = {fact.name for fact in make_front(made).identity if fact.value.strip("•")}
    expected = dict.fromkeys((number.name for number in made.figures.identity.list_numbers()), "not shown")
    assert told == (
        {} if how == "shown" else expected | dict.fromkeys(in_part if how == "masked" else (), "shown in part")
    )
    assert how != "masked" or seen == in_part


NO_NUMBERS = ("Money", "Invoices, certificates and other papers", "Original photos")


def test_the_printed_foot() -> None:
    """A name cannot end the string of CSS that it stands in: quote and backslash are written by their numbers."""
    sheet = write_seal_sheet(context(record=PublishedRecord(seals=(SEAL,)))).decode()
    assert 'content: "Old \\22 Tom\\22 , as of 1 December 2024";' in sheet
    assert 'content: "seal 1 of 1 May 2024: VOV2-XK5L-VOV2-XK5L-VOV2-XK5L-VOVM";' in sheet
    assert SEAL_SHEET in [link.href for link in make_service(context()).frame.links]
