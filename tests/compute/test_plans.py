"""What is still to do: items that stay open until an entry ends them, and lists that only entries tick."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.figures import compute_figures
from buildlog.compute.plans import PlanFigures
from buildlog.problems import Problem
from tests.support import list_problems, log_of
from tests.work import grows_with_its_input

FIRST = "date: 2024-05-01\nnext: [Bleed again after the first hot run, {name: cap, what: Order the cap}, Order seals]"
LATER = "date: 2024-05-11"
LISTS = """
machine: {name: Test machine}
money: {currency: GBP}
systems: {fuel: Fuel, brakes: Brakes}
lists:
  first-start:
    name: Before the first start
    items:
      - Oil to the mark
      - {name: stop, what: Stop lever closes the pump, caution: Have an air flap ready, for: fuel}
      - {what: Wheels chocked, for: brakes}
"""


def plans_of(*heads: str, as_of: str = "2024-06-01", settings: str | None = None) -> PlanFigures:
    log = log_of(*heads, settings=settings) if settings else log_of(*heads)
    figures = compute_figures(log, date.fromisoformat(as_of))
    assert figures.problems == ()
    return figures.plans


def problems_of(*heads: str, settings: str | None = None) -> list[Problem]:
    log = log_of(*heads, settings=settings) if settings else log_of(*heads)
    return list(compute_figures(log, date(2024, 6, 1)).problems)


def tell(*heads: str, settings: str | None = None) -> list[str]:
    """The one problem of a log, as the terminal tells it: message with its place, its keys, other places, help."""
    [rows] = list_problems(problems_of(*heads, settings=settings))
    return rows


def test_an_item_is_open_until_an_entry_ends_it() -> None:
    """Ten days from 1 to 11 May, by its words, by a short name, and by as many words as only it has."""
    done = f"{LATER}\ndone: [cap, first hot run]\ndropped: [order  SEALS]"
    bleed, cap, seals = plans_of(FIRST, done).items
    assert (bleed.what, bleed.name, bleed.state) == ("Bleed again after the first hot run", None, "done")
    assert (cap.what, cap.name, cap.state, cap.entry, cap.since) == (
        "Order the cap",
        "cap",
        "done",
        "e1",
        date(2024, 5, 1),
    )
    assert (seals.state, seals.ended, seals.ended_in, seals.days) == ("dropped", date(2024, 5, 11), "e2", 10)


def test_what_nobody_ends_stays_open_and_ages() -> None:
    """31 days from 1 May to 1 June; and on 10 May, before the entry that ends it, it is nine days old and open."""
    done = f"{LATER}\ndone: cap"
    assert [(item.what, item.days) for item in plans_of(FIRST, done).list_open()] == [
        ("Bleed again after the first hot run", 31), ("Order seals", 31)
    ]  # fmt: skip
    cap = plans_of(FIRST, done, as_of="2024-05-10").items[1]
    assert (cap.state, cap.ended, cap.days) == ("open", None, 9)


def test_until_an_entry_ends_one_nobody_keeps_them() -> None:
    """A log from before items stayed open says of none what became of it: `kept` tells pages so."""
    assert not plans_of(FIRST, "date: 2024-05-11\nnext: Bleed").kept
    assert plans_of(FIRST, f"{LATER}\ndropped: cap").kept
    assert not plans_of(FIRST, f"{LATER}\ndropped: cap", as_of="2024-05-10").kept


def test_an_item_said_again_is_the_same_one() -> None:
    """Retyped while it is open, it keeps its day, and takes the short name that it gets then; one `done` ends it."""
    again = "date: 2024-05-05\nnext: [{name: seals, what: order seals}]"
    items = plans_of(FIRST, again, f"{LATER}\ndone: seals").items
    assert [(item.what, item.since.day, item.state) for item in items][2:] == [("Order seals", 1, "done")]
    assert len(items) == 3


def test_a_job_that_comes_round_is_ended_and_begun_in_one_evening() -> None:
    """`done` means what earlier entries said, so the same words under `next` stand open afterwards."""
    both = f"{LATER}\ndone: Order seals\nnext: Order seals"
    first, again = (item for item in plans_of(FIRST, both).items if item.what == "Order seals")
    assert (first.state, first.ended_in, again.state, again.entry) == ("done", "e2", "open", "e2")


def test_what_was_never_open_is_told_with_the_nearest() -> None:
    """At the words themselves, with what was meant; an entry's own `next` is not there yet when it says `done`."""
    assert tell(FIRST, f"{LATER}\ndone: [cap, Order seels]") == [
        "entries/e2.md:3:13: error: no earlier entry has `Order seels` under `next:` [next-not-open]",
        "at done[1]",
        "help: did you mean `Order seals`?",
    ]
    assert tell("date: 2024-05-11\ndone: Bleed\nnext: Bleed") == [
        "entries/e1.md:3:7: error: no earlier entry has `Bleed` under `next:` [next-not-open]",
        "at done",
        "help: write it as it is under `next:`",
    ]


@pytest.mark.parametrize(("first", "second"), [("done", "done"), ("done", "dropped"), ("dropped", "done")])
def test_what_has_ended_cannot_end_again(first: str, second: str) -> None:
    """Done twice, dropped after done: one error that cites the entry which ended it; the first one counts."""
    heads = FIRST, f"{LATER}\n{first}: cap", f"date: 2024-05-12\n{second}: cap"
    assert tell(*heads) == [
        f"entries/e3.md:3:{len(second) + 3}: error: `Order the cap` was {first} already, on 2024-05-11 [next-ended]",
        f"at {second}",
        f"see also entries/e2.md:3:{len(first) + 3}",
        f"at {first}",
        "help: remove it here; if it is needed again, say so under `next:` first",
    ]


def test_words_that_two_items_have_are_told_with_both() -> None:
    """`order` is in two; nothing is guessed, and the help asks for more words."""
    assert tell(FIRST, f"{LATER}\ndone: order") == [
        "entries/e2.md:3:7: error: `order` may mean any of 2: `Order the cap` and `Order seals` [next-which]",
        "at done",
        "see also entries/e1.md:3:45",
        "at next[1]",
        "see also entries/e1.md:3:79",
        "at next[2]",
        "help: write more of its words, as many as only the one you mean has, or its `name:`",
    ]


def test_a_short_name_means_one_open_item() -> None:
    """A second item of the same name while the first is open is refused, as `done` could not say which."""
    other = "date: 2024-05-05\nnext: {name: cap, what: Cap of the radiator}"
    [problem] = problems_of(FIRST, other)
    assert (problem.rule, problem.message) == (
        "next-name-twice",
        "there is already an open item `cap`: `Order the cap`",
    )
    assert problem.help == "end the first one with `done: [cap]`, or give this one a different name"
    assert problems_of(FIRST, "date: 2024-05-04\ndone: cap", other) == []


WORDS = st.lists(st.sampled_from("a b c d".split()), min_size=1, max_size=3).map(" ".join)


@given(st.lists(st.tuples(st.sampled_from(["next", "done", "dropped"]), WORDS), max_size=12))
def test_items_are_followed_as_a_list_on_paper_is(acts: list[tuple[str, str]]) -> None:
    """Beside a slow and simple list: add what is not on it; cross out what is on it, by all of its words or a run."""
    heads = [f"date: 2024-05-{day:02}\n{key}: '{words}'" for day, (key, words) in enumerate(acts, 1)]
    open_now: list[str] = []
    wrong = 0
    for key, words in acts:
        if key == "next":
            open_now += [] if words in open_now else [words]
            continue
        found = [words] if words in open_now else [one for one in open_now if f" {words} " in f" {one} "]
        wrong += len(found) != 1
        if len(found) == 1:
            open_now.remove(found[0])
    figures = compute_figures(log_of(*heads), date(2024, 6, 1))
    assert [item.what for item in figures.plans.list_open()] == open_now
    assert len(figures.problems) == wrong


def test_following_many_items_takes_as_long_as_they_are_many() -> None:
    """Twice as many items, each ended by its words, take about twice the work."""

    def make(size: int) -> object:
        heads = [f"date: 2024-05-01\nnext: [{', '.join(f'Item {n}' for n in range(size))}]"]
        heads.append(f"date: 2024-05-02\ndone: [{', '.join(f'Item {n}' for n in range(size))}]")
        log = log_of(*heads)
        from buildlog.compute.plans import compute_plans

        return lambda: compute_plans(log, date(2024, 6, 1))

    assert grows_with_its_input(make, 60) < 2.5  # type: ignore[arg-type]


# ── lists ────────────────────────────────────────────────────────────────────────────────────────────────────────

TICKED = "date: 2024-05-04\nsystems: [fuel]\nticked: {list: first-start, items: [oil, stop], note: By torch}"


def test_only_an_entry_ticks_an_item() -> None:
    """By its words, some of them or its short name; what no entry names is missing, whatever was worked on."""
    (checklist,) = plans_of("date: 2024-05-01\nsystems: [brakes]", TICKED, settings=LISTS).lists
    assert (checklist.key, checklist.name, checklist.ticked, checklist.missing) == (
        "first-start", "Before the first start", 2, 1
    )  # fmt: skip
    oil, stop, wheels = checklist.items
    assert (oil.ticked, oil.ticked_in, oil.note) == (date(2024, 5, 4), "e2", "By torch")
    assert (stop.name, stop.caution, stop.ticked_in) == ("stop", "Have an air flap ready", "e2")
    assert (wheels.ticked, wheels.ticked_in, wheels.note) == (None, None, None)
    (before,) = plans_of(TICKED, settings=LISTS, as_of="2024-05-03").lists
    assert before.missing == 3


def test_later_work_is_said_beside_a_tick_and_takes_none_back() -> None:
    """Fuel ticked on 4 May, worked on on 6 and 8 May: the tick stays, and the first later entry stands beside it."""
    work = [f"date: 2024-05-0{day}\nsystems: [fuel]" for day in (6, 8)]
    (checklist,) = plans_of(TICKED, *work, settings=LISTS).lists
    oil, stop, _ = checklist.items
    assert (stop.ticked, stop.worked_on, stop.worked_in) == (date(2024, 5, 4), date(2024, 5, 6), "e2")
    assert (oil.worked_on, checklist.missing) == (None, 1)
    (ticked_again,) = plans_of(TICKED, *work, TICKED.replace("05-04", "05-09"), settings=LISTS).lists
    assert (ticked_again.items[1].ticked, ticked_again.items[1].worked_on) == (date(2024, 5, 9), None)


def test_ticks_that_lead_nowhere_are_told() -> None:
    """No such item, with the nearest; words that two items have; no such list."""
    assert tell(TICKED.replace("[oil, stop]", "[oli to the mark]"), settings=LISTS) == [
        "entries/e1.md:4:37: error: the list `first-start` has no item `oli to the mark` [tick-not-on-list]",
        "at ticked.items[0]",
        "help: did you mean `Oil to the mark`?",
    ]
    [problem] = problems_of(TICKED.replace("[oil, stop]", "[the]"), settings=LISTS)
    assert problem.rule == "tick-which"
    assert problem.message == "`the` may mean any of 2: `Oil to the mark` and `Stop lever closes the pump`"


def test_two_lists_of_one_name_are_one_clear_problem() -> None:
    """By what readers see; two of one short name are a key written twice, which reading tells. An empty one is told."""
    road = "  road: {name: before the  first start, items: [Lamps burn]}\n  lift: {name: Lift}\n"
    twice, empty = problems_of("date: 2024-05-01", settings=LISTS + road)
    assert (twice.rule, twice.severity) == ("list-name-twice", "error")
    assert twice.message == "two lists are called `before the  first start`"
    assert [place.line for place in twice.also] == [7]
    assert (empty.rule, empty.severity) == ("list-empty", "warning")


def test_two_items_of_one_name_on_a_list_are_told_once() -> None:
    """By their words or short names; the first one is cited."""
    more = LISTS + "      - {name: stop, what: stop lever closes the pump}\n"
    [problem] = problems_of("date: 2024-05-01", settings=more)
    assert problem.rule == "list-item-twice"
    assert problem.message == "the list `Before the first start` has two items `stop`"
    assert [place.line for place in problem.also] == [10]
