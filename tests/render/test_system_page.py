"""The page of a system: what belongs to it stands there, and what belongs to another does not."""

from __future__ import annotations

from buildlog.compute.systems import group_by_system
from buildlog.problems import Place
from buildlog.render.pages.system import list_system_makers
from buildlog.render.render import render_site
from buildlog.render.theme import load_theme
from tests.render.editions import edition_of

SETTINGS = """
machine: {name: Test machine, kind: tractor, meter: {unit: km, digits: 6}}
acquired: {date: 2023-01-01, reading: 1000}
money: {currency: GBP, budget: {brakes: 100.00}}
systems: {brakes: Brakes, fuel: Fuel, body: Body}
components: {pump: {system: fuel, name: Lift pump}, drum: {name: A drum}}
service:
  fluid: {name: Brake fluid, every: {months: 24}, system: brakes}
  oil: {name: Oil, every: {months: 12}}
public: {prices: shown, suppliers: shown}
"""
HEADS = (
    """
    date: 2023-03-04
    title: New cylinders
    reading: 1100
    systems: [brakes]
    bought:
      from: North
      ref: N-1
      paid: 2023-03-01
      arrived: 2023-03-03
      lines:
        - {part: cylinder, name: Cylinder, qty: 3, each: 20.00}
        - {part: hose, name: Fuel hose, each: 7.00, for: fuel}
    fitted: {part: cylinder, qty: 2}
    serviced: [fluid, oil]
    measured: {what: Pedal, unit: mm, value: 3, limits: {max: 4}}
    tightened: {what: Cylinder bolts, to: 10 N·m}
    faults: {fault: stalls, name: Stalls when hot, suspects: [pump]}
    """,
    """
    date: 2024-03-04
    title: Two at once
    systems: [brakes, fuel]
    measured: {what: Pedal, unit: mm, value: 5, limits: {max: 4}}
    faults: {fault: groans, name: Groans, suspects: [drum]}
    temporary: {what: A clamp, name: clamp, until: a new one}
    bought:
      - {from: North, ref: N-2, paid: 2024-03-04, lines: [{part: shoe, name: Shoe, each: 9.00, for: brakes}]}
    """,
    "date: 2024-04-04\ntitle: Nothing in particular",
)


def make_pages(settings: str = SETTINGS):  # type: ignore[no-untyped-def]  # a mapping of views, spelt out in the module
    """The pages of all systems by their paths."""
    return {path: make() for path, make in list_system_makers(edition_of(*HEADS, settings=settings)).items()}


def test_what_a_system_has_in_one_place() -> None:
    """Its entries, parts, money by the year, faults, service, measurements and fasteners."""
    page = make_pages()["systems/brakes.html"]
    assert page.title == "Brakes"
    assert page.span == "2 entries from 4 March 2023 to 4 March 2024"
    assert [(row.when.iso, row.entry.text) for row in page.entries] == [
        ("2023-03-04", "New cylinders"),
        ("2024-03-04", "Two at once"),
    ]
    assert [(row.part.text, row.qty) for group in page.fitted for row in group.rows] == [("Cylinder", "2")]
    assert [(row.part.text, row.qty) for row in page.shelf] == [("Cylinder", "1")]
    assert [row.what.text for row in page.post] == ["Shoe"]
    # 3 × 20.00, and 9.00 in the other year; the hose is for fuel.
    assert [(row.name, row.amount, [line.what for line in row.lines]) for row in page.costs] == [
        ("2023", "£60.00", ["Cylinder"]),
        ("2024", "£9.00", ["Shoe"]),
    ]
    assert page.costs_total is not None and page.costs_total.amount == "£69.00"
    assert page.budget is not None and page.budget.left == "£31.00"
    (job,) = page.jobs
    assert (job.due.item.text, job.last and job.last.iso, job.entry, job.times) == (
        "Brake fluid",
        "2023-03-04",
        "entries/e1.html",
        "1 time on record",
    )
    (pedal,) = page.measured
    assert (pedal.row.values, pedal.row.verdict) == (("5\N{NO-BREAK SPACE}mm, above 4",), "outside limits")
    assert (pedal.all_times.text, pedal.all_times.href) == ("compare both measurements", "service.html#measured-1")
    assert [(one.row.what, one.told.entry.href) for one in page.tightened] == [("Cylinder bolts", "entries/e1.html")]


def test_a_fault_belongs_to_the_systems_of_its_suspects() -> None:
    """Where no suspect has a system, to those of the entry that opened it."""
    pages = make_pages()
    assert [row.fault.text for row in pages["systems/fuel.html"].faults] == ["Stalls when hot", "Groans"]
    assert [row.fault.text for row in pages["systems/brakes.html"].faults] == ["Groans"]
    assert [row.what for row in pages["systems/fuel.html"].temporary] == ["A clamp"]


def test_what_names_no_system_has_a_page_too() -> None:
    """Beside those of the systems; nothing belongs to `body`, and it has none. A log of no system has none at all."""
    pages = make_pages()
    assert [*pages] == ["systems/brakes.html", "systems/fuel.html", "systems/none-.html"]
    assert [row.entry.text for row in pages["systems/none-.html"].entries] == ["Nothing in particular"]
    assert [job.due.item.text for job in pages["systems/none-.html"].jobs] == ["Oil"]
    settings = "machine: {name: Test machine}\nmoney: {currency: GBP}"
    assert list_system_makers(edition_of("date: 2024-04-04", settings=settings)) == {}


def test_every_entry_stands_with_each_of_its_systems() -> None:
    """Nothing is lost: whatever has no system of its own stands under None."""
    figures = edition_of(*HEADS, settings=SETTINGS).figures
    groups = group_by_system(figures)
    assert {key: [entry.name for entry in group.entries] for key, group in groups.items()} == {
        "brakes": ["e1", "e2"],
        "fuel": ["e2"],
        None: ["e3"],
    }
    assert {part.key for group in groups.values() for part in group.parts} == {p.key for p in figures.parts.parts}
    assert {line for group in groups.values() if group.spent for line in group.spent.lines} == {*figures.costs.lines}
    assert {one.key for group in groups.values() for one in group.faults} == {"stalls", "groans"}


def test_what_is_closed_stays_closed() -> None:
    """With `prices: totals` no total of one line is told, with `hidden` no money is; suppliers as the owner says."""
    theme, _ = load_theme("margin", place=Place("log.yaml"), log=None)
    assert theme is not None

    def render(public: str) -> str:
        settings = SETTINGS.replace("{prices: shown, suppliers: shown}", public)
        files, _ = render_site(edition_of(*HEADS, settings=settings).figures, theme, lambda name: None)
        return bytes(files["systems/brakes.html"]).decode()  # type: ignore[arg-type]  # a page is bytes

    shown = render("{prices: shown, suppliers: shown}")
    assert "£60.00" in shown and "North" in shown and "N-2" in shown and "£9.00" in shown and "£31.00" in shown
    totals = render("{prices: totals, suppliers: hidden}")
    assert "£" not in totals and "North" not in totals and "N-2" not in totals
    assert '<ol class="lines' not in totals
    assert "£" not in render("{prices: hidden, suppliers: shown}")
