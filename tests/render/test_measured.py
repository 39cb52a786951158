"""How measurements, torques and rechecks read on the pages: verdicts, both units, sets side by side, what is due."""

from __future__ import annotations

import json
from datetime import date

import pytest

from buildlog.answers.ledger import answer_due
from buildlog.compute.figures import compute_figures
from buildlog.problems import Place
from buildlog.render.language import Words
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.entry import make_entry
from buildlog.render.pages.entry_work import TightenedRow
from buildlog.render.pages.measured import MeasuredCell, MeasuredView, list_measures
from buildlog.render.pages.measured_words import list_measured_once
from buildlog.render.pages.open_work import list_due
from buildlog.render.pages.service import make_service
from buildlog.render.pieces import Link
from buildlog.render.render import View
from buildlog.render.theme import load_theme
from tests.support import SETTINGS, log_of

COLD = "{what: Compression, unit: psi, values: {1: 175, 2: 134}, limits: {min: 130, spread: 20%}, note: cold}"
WARM = "{what: Compression, unit: bar, values: {1: 12.1, 2: 11.9, 3: 12}, limits: {min: 9}}"
NUTS = "{what: Wheel nuts, qty: 20, to: 74 lbf·ft, recheck: {after: 50 km}}"


def edition_of(*heads: str, as_of: str = "2024-12-31", service: str = "") -> PageContext:
    log = log_of(*heads, settings=SETTINGS + service)
    figures = compute_figures(log, date.fromisoformat(as_of))
    stories = {entry.name: _Story() for entry in figures.entries}
    return PageContext(figures=figures, words=Words("en-GB"), stories=stories, photos={})  # type: ignore[arg-type]


class _Story:
    """A story of no words."""

    html = lead = ""
    photos = ()


def measured_of(text: str) -> MeasuredView:
    context = edition_of(f"date: 2024-05-01\nmeasured: {text}")
    (entry,) = context.figures.entries
    (view,) = make_entry(context, entry, before=None, after=None).measured
    return view


def tightened_of(*texts: str, as_of: str = "2024-12-31") -> TightenedRow:
    """The row of the first of some entries, a month and 100 km apart."""
    heads = (f"date: 2024-0{n}-01\nreading: {n}00\ntightened: {text}" for n, text in enumerate(texts, 1))
    context = edition_of(*heads, as_of=as_of)
    (row,) = make_entry(context, context.figures.entries[0], before=None, after=None).tightened
    return row


def render(view: View) -> str:
    theme, problems = load_theme("margin", place=Place("log.yaml", 1, 1))
    assert theme is not None, problems
    return theme.render(view.TEMPLATE, {"view": view, "frame": view.frame, "root": view.frame.root})


# ------------------------------------------------------------------- in the entry


def test_a_set_says_its_verdict_and_its_formula() -> None:
    """41/175 = 23.4 %: outside, with the formula beside the number and the limit beside both."""
    view = measured_of(COLD)
    assert (view.verdict, view.fails) == ("outside limits, spread (max − min)/max 23.4\u00a0%", True)
    assert view.limits == "at least 130\u00a0psi, spread at most 20\u00a0%"
    assert [(value.where, value.value, value.outside) for value in view.values] == [("1", "175", ""), ("2", "134", "")]


@pytest.mark.parametrize(
    ("text", "verdict", "outside"),
    [
        ("{what: Coil, value: 11.9, limits: {max: 9}}", "outside limits", "above 9"),
        ("{what: Coil, value: 8.9, limits: {min: 9}}", "outside limits", "below 9"),
        ("{what: Coil, value: 9, limits: {min: 9}}", "within limits", ""),
        ("{what: Coil, value: 9}", "", ""),
    ],
)
def test_a_value_says_why_it_is_out_of_limits(text: str, verdict: str, outside: str) -> None:
    """In words, and nothing where no limit was given."""
    view = measured_of(text)
    assert (view.verdict, view.values[0].outside, view.fails) == (verdict, outside, outside != "")


@pytest.mark.parametrize(
    ("to", "also"),
    [
        ("22 N·m", ("16.2\u00a0lbf·ft",)),
        ("74 lbf·ft", ("100\u00a0N·m",)),
        ("20 N·m + 60° + 30°", ("14.8\u00a0lbf·ft + 60° + 30°",)),
        ("18-22 ft-lb, then 90°", ("24–30\u00a0N·m + 90°",)),
        ("3.0 kgf·m", ("29.4\u00a0N·m", "21.7\u00a0lbf·ft")),
        ("27 N·m (20 ft-lb)", ()),
        ("90°", ()),
        ("hand tight", ()),
    ],
)
def test_a_torque_is_shown_as_written_and_in_both_units(to: str, also: tuple[str, ...]) -> None:
    """As written, and in what it was not written in; angles as they are."""
    row = tightened_of(f"{{what: Nuts, to: '{to}'}}")
    assert (row.to, row.also) == (to, also)


def test_a_recheck_says_where_it_stands() -> None:
    """Tightened at 100 km, 50 km to go: at 200 km overdue by 50 km; done at 200 km it was 50 km late."""
    row = tightened_of(NUTS, "{what: Bolts, to: 9 N·m}")
    assert row.recheck == "check again after 50\u00a0km: overdue by 50\u00a0km"
    row = tightened_of(NUTS, "{what: wheel nuts, to: 74 lbf·ft}")
    assert row.recheck == "checked again after 4 weeks and 100\u00a0km, 50\u00a0km late"  # 1 January to 1 February
    assert row.rechecked == Link(text="e2", href="entries/e2.html")


def test_a_recheck_by_days() -> None:
    """30 days after 1 January is 31 January: the day after it is overdue by one; done then it is a day late."""
    row = tightened_of("{what: Nuts, to: 9 N·m, recheck: 30 days}", as_of="2024-02-01")
    assert row.recheck == "check again after 30 days: overdue by 1 day"
    row = tightened_of("{what: Nuts, to: 9 N·m, recheck: 30 days}", "{what: Nuts, to: 9 N·m}")
    assert row.recheck == "checked again after 4 weeks and 100\u00a0km, 1 day late"
    row = tightened_of("{what: Nuts, to: 9 N·m, recheck: 31 days}", "{what: Nuts, to: 9 N·m}")
    assert row.recheck == "checked again after 4 weeks and 100\u00a0km"


def test_a_set_leads_to_all_of_its_kind() -> None:
    """Measured twice it leads to the series' own place in the service history, measured once to the list of those."""
    coil = "{what: Coil, value: 9}"
    context = edition_of(f"date: 2024-01-01\nmeasured: [{coil}, {COLD}]", f"date: 2024-03-01\nmeasured: {WARM}")
    views = [make_entry(context, entry, before=None, after=None) for entry in context.figures.entries]
    once, rework = "service.html#measured-once", "service.html#measured-1"
    assert [measured.all_times for view in views for measured in view.measured] == [
        Link(text="in the service history", href=once),
        Link(text="compare both measurements", href=rework),
        Link(text="compare both measurements", href=rework),
    ]
    assert f'<a href="../{rework}">compare both measurements</a>' in render(views[1])
    history = render(make_service(context))
    assert all(f'id="{href.partition("#")[2]}"' in history for href in (once, rework))
    assert 'href="entries/e1.html"' in history and 'href="entries/e2.html"' in history


# ------------------------------------------------------------------- in the history


@pytest.mark.parametrize("text", ["0.10", "24.0", "59.60", "7"])
def test_no_page_drops_a_last_zero(text: str) -> None:
    """The last place says how exact a value is: it stands in the entry, in the limits, and side by side."""
    limits = f"limits: {{min: {text}, max: {text}}}"
    head = f"measured: {{what: Gap, unit: mm, value: {text}, {limits}}}"
    context = edition_of(f"date: 2024-01-01\n{head}", f"date: 2024-02-01\n{head}")
    view = make_entry(context, context.figures.entries[0], before=None, after=None)
    assert view.measured[0].values[0].value == text
    assert view.measured[0].limits == f"at least {text}\u00a0mm, at most {text}\u00a0mm"
    assert list_measures(context)[0].rows[0].cells[0].value == text


def test_no_torque_drops_a_last_zero() -> None:
    """43.96 lbf·ft are 59.6018 N·m, shown to the hundredth as they were written: 59.60, which a page must not cut."""
    assert tightened_of("{what: Nut, to: 43.96 lbf·ft}").also == ("59.60\u00a0N·m",)


def test_sets_stand_side_by_side() -> None:
    """In the unit used last: 175 psi = 12.07 bar and 134 psi = 9.24 bar; each column has its verdict."""
    (series,) = list_measures(edition_of(f"date: 2024-01-01\nmeasured: {COLD}", f"date: 2024-03-01\nmeasured: {WARM}"))
    assert (series.what, series.unit) == ("Compression", "bar")
    assert [(time.verdict, time.fails, time.spread) for time in series.times] == [
        ("outside limits", True, "23.4\u00a0%"),
        ("within limits", False, ""),
    ]
    assert [(row.where, row.change) for row in series.rows] == [("1", "+0.0342"), ("2", "+2.66"), ("3", "")]
    assert series.rows[1].cells == (
        MeasuredCell(value="134\u00a0psi", also="9.24\u00a0bar"),
        MeasuredCell(value="11.9"),
    )
    assert series.rows[2].cells == (MeasuredCell(), MeasuredCell(value="12"))


def test_the_chart_says_what_it_shows() -> None:
    """The description has the figures; the limit is that of the last set."""
    days = ("2024-01-01", "2024-02-01", "2024-03-01")
    (series,) = list_measures(edition_of(*(f"date: {day}\nmeasured: {WARM}" for day in days)))
    words = "1 January 2024 to 1 March 2024: 1 from 12.1 to 12.1; 2 from 11.9 to 11.9; 3 from 12 to 12. "
    words += "Limits: at least 9\u00a0bar."
    assert f'<desc id="measured-chart-1-words">{words} The table has the same figures.</desc>' in series.chart
    assert "at least 9\u00a0bar</text>" in series.chart


def test_two_values_are_a_sentence() -> None:
    """What was measured twice is told and not drawn: one place with its unit, several place by place."""
    (series,) = list_measures(edition_of(f"date: 2024-01-01\nmeasured: {COLD}", f"date: 2024-03-01\nmeasured: {WARM}"))
    assert (series.chart, series.said) == (
        "",
        "On 1 January 2024 and on 1 March 2024, in bar: 1 12.07, then 12.1; 2 9.24, then 11.9.",
    )
    gap = "{what: Gap, unit: mm, value: 0.3}"
    (series,) = list_measures(edition_of(f"date: 2024-01-01\nmeasured: {gap}", f"date: 2024-03-01\nmeasured: {gap}"))
    assert series.said == "0.3\u00a0mm on 1 January 2024, 0.3\u00a0mm on 1 March 2024."


def test_what_was_measured_once_is_a_row() -> None:
    """With its values in a line, and no chart."""
    coil = "{what: Coil, unit: Ω, values: {cold: 7.6, hot: 11.9}, limits: {max: 9}}"
    context = edition_of(f"date: 2024-01-01\nmeasured: {coil}")
    (row,) = list_measured_once(context)
    assert (list_measures(context), row.values) == ((), ("cold 7.6\u00a0Ω", "hot 11.9\u00a0Ω, above 9"))
    assert (row.verdict, row.fails, row.limits) == ("outside limits", True, "at most 9\u00a0Ω")


def test_the_history_is_drawn_with_all_of_it() -> None:
    """The theme shows repeated sets, what was measured once, and the recheck among what is due."""
    context = edition_of(
        f"date: 2024-01-01\nreading: 100\nmeasured: [{COLD}, {{what: Coil, value: 9}}]\ntightened: {NUTS}",
        f"date: 2024-02-01\nmeasured: {WARM}",
        f"date: 2024-03-01\nreading: 200\nmeasured: {WARM}",
    )
    page = render(make_service(context))
    told = ("Measured once", "9.24\u00a0bar", "outside limits", "Wheel nuts: check again", 'class="chart measures"')
    assert [words for words in told if words not in page] == []
    assert 'href="entries/e1.html#tightened"' in page


# ------------------------------------------------------------------- what is due


def test_rechecks_stand_among_service_items() -> None:
    """Most pressing first, whatever kind it is: nuts overdue by 50 km, oil due later; the same on the command line."""
    service = "service: {oil: {name: Oil, every: {distance: 15000}}}\n"
    first = f"date: 2024-01-01\nreading: 100\nserviced: oil\ntightened: {NUTS}"
    context = edition_of(first, "date: 2024-03-01\nreading: 200", service=service)
    assert [(row.item.text, row.state, row.state_text) for row in list_due(context)] == [
        ("Wheel nuts: check again", "overdue", "overdue by 50\u00a0km"),
        ("Oil", "later", "in 14,900\u00a0km"),
    ]
    assert list_due(context)[0].item.href == "entries/e1.html#tightened"
    nuts, oil = json.loads(answer_due(context.figures).as_json())
    assert (nuts["item"], nuts["state"], nuts["due_reading"], nuts["last_done"]) == (
        "recheck-wheel-nuts",
        "overdue",
        "150",
        "2024-01-01",
    )
    assert oil["item"] == "oil"


def test_a_recheck_never_has_the_name_of_a_service_item() -> None:
    """Where the owner's own item has the name already, the recheck gets a number."""
    service = "service: {recheck-wheel-nuts: {name: Wheel nuts, every: {months: 12}}}\n"
    context = edition_of(f"date: 2024-01-01\nreading: 100\ntightened: {NUTS}", service=service)
    assert sorted(item.key for item in context.figures.due) == ["recheck-wheel-nuts", "recheck-wheel-nuts-2"]
