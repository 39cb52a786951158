"""What cannot go onto a site is the owner's problem, with its place, before anything is written."""

from __future__ import annotations

from datetime import date

from buildlog.compute.figures import compute_figures
from buildlog.problems import Problem
from buildlog.render.fitness import check_fitness
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry import make_entry
from tests.render.editions import edition_of
from tests.support import log_of

SETTINGS = "machine: {name: Test machine, meter: km}\nmoney: {currency: GBP}\n"
ORDER = (
    'date: 2024-05-18\nbought: {from: A, paid: 2024-05-18, paper: "PAPER", lines: {what: Hose, each: 6.105, qty: 3}}'
)


def problems_of(paper: str, settings: str) -> tuple[Problem, ...]:
    log = log_of(ORDER.replace("PAPER", paper), settings=SETTINGS + settings, papers=frozenset({paper}))
    return tuple(
        problem for problem in check_fitness(compute_figures(log, date(2024, 6, 1))) if problem.rule != "no-id"
    )


def test_a_paper_that_no_site_can_hold_is_told_at_its_record() -> None:
    """A question mark is no part of a file's name on some systems; it matters where papers are published."""
    (problem,) = problems_of("papers/what?.pdf", "public: {papers: shown}")
    assert (problem.rule, problem.severity, str(problem.place)) == ("paper-name", "error", "entries/e1.md:3:9")
    assert problem.message == "`papers/what?.pdf` is to be published, but some systems cannot have a file of that name"
    assert problems_of("papers/what?.pdf", "") == ()
    assert problems_of("papers/Rechnung März 1 #2.pdf", "public: {papers: shown}") == ()


def test_a_language_that_nobody_knows_is_a_warning() -> None:
    """The tag is well formed, and CLDR has no such language."""
    (problem,) = problems_of("papers/a.pdf", "site: {language: xx-YY}")
    assert (problem.rule, problem.severity, str(problem.place)) == ("unknown-language", "warning", "log.yaml:3:18")
    assert problems_of("papers/a.pdf", "site: {language: nb-NO}") == ()


def test_the_address_of_a_paper_leads_to_its_file() -> None:
    """In an address a blank, `#` and `%` are written %20, %23 and %25 (RFC 3986, section 2.1)."""
    settings = SETTINGS + "public: {papers: shown}"
    context = PageContext(
        figures=compute_figures(log_of("date: 2024-05-18", settings=settings), date(2024, 6, 1)),
        words=Words("en-GB"),
        stories={},
        photos={},
    )
    link = context.paper_link("papers/bill 50% #2.pdf")
    assert link is not None
    assert (link.text, link.href) == ("bill 50% #2.pdf", "papers/bill%2050%25%20%232.pdf")


def test_the_price_of_one_is_shown_as_written() -> None:
    """3 × 6.105 are 18.315, so £18.32: shown as £6.11 each, the line would not add up. 7.5 is £7.50."""
    head = ORDER.replace('paper: "PAPER", ', "")
    context = edition_of(head, head.replace("6.105", "7.5"), settings=SETTINGS + "public: {prices: shown}")
    lines = [
        order.lines[0]
        for entry in context.entries.values()
        for order in make_entry(context, entry, before=None, after=None).orders
    ]
    assert [(line.each, line.landed) for line in lines] == [("£6.105", "£18.32"), ("£7.50", "£22.50")]
