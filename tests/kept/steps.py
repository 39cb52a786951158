"""What is drawn for the steps of `world`: entries out of every block of the format, and everything around them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from tests.kept.world import OWN_FILES, SETTINGS_CHANGES, Step, World
from tests.random_logs import (
    DAYS,
    PAPERS,
    blocks,
    components,
    days,
    few,
    gauges,
    heads_with,
    hours,
    pictures,
    record,
    some,
    systems,
    words,
)

numbers = st.integers(0, 5)
files = st.sampled_from(["a.jpg", "b.jpg"])
letters = st.sampled_from(["AB/CD", "EF/AB", "CC/DD"])
papers = st.sampled_from(sorted(PAPERS))
told = st.lists(st.sampled_from("off pump seal North fuel hose LP 2024 Ärger and".split()), min_size=1, max_size=5)
more = st.sampled_from(
    ["", "\n## Then\n\n> back & on\n", "\n| a | b | c | d | e |\n| - | - | - | - | - |\n| 1 | 2 |  | 4 | 5 |\n"]
)
stories = st.one_of(
    # The same first words before many others: of most edits no other page than the entry's tells.
    st.tuples(told, more).map(lambda drawn: f"Off it came.\n\n{' '.join(drawn[0])}.\n{drawn[1]}"),
    st.sampled_from([
        "",
        "Off it came.\n",
        "Off it came.\n\nAnd back it went, *slowly*.\n",
        "# A heading first\n\nThen words.\n",
        "![](a.jpg)\n\nAs seen above.\n",
        "See [that](2024-01-01-e0.md) and ![the seal](b.jpg).\n",
        "A [bad](javascript:alert) link.\n",
        "As [it is wired](../pages/wiring.md), and as [it is bolted](../pages/bolts.md).\n",
    ]),
)  # fmt: skip
page_names = st.sampled_from(["wiring", "bolts"])
page_texts = st.one_of(stories, st.just("# How it is wired\n\nSee [the day](../entries/2024-01-01-e0.md).\n"))
page_heads = record(
    {},
    title=words, order=st.integers(0, 3), date=days, papers=st.lists(papers, max_size=2, unique=True),
    photos=st.lists(files, max_size=2, unique=True),
)  # fmt: skip
any_heads = heads_with(*blocks)
prices = st.integers(1, 9_000).map(lambda pence: f"{pence // 100}.{pence % 100:02}")


def make_head(drawn: dict[str, Any]) -> dict[str, Any]:
    """A front matter that a log can have beside any other: what it fits it has bought, and names nobody else's."""
    day, price = drawn.pop("date"), drawn.pop("price", None)
    part = f"part-{day}"
    if price:
        lines = [{"part": part, "each": price, "number": f"LP {day}", "for": "fuel"}, {"what": "hose", "each": "2.50"}]
        order = {"from": "North", "ref": f"R-{day}", "paid": day, "arrived": day, "lines": lines}
        drawn |= {"bought": [order], "fitted": [{"part": part}]}
    return {"date": day, **drawn}


good_heads = record(
    {"date": days, "title": words},
    hours=hours, systems=st.lists(systems, max_size=2, unique=True), milestone=words, price=prices, next=some(words),
    measured=some(gauges), tightened=some(record({"what": words, "to": st.just("22 N·m")}, qty=few)),
    faults=some(record({"fault": st.just("hot-start"), "name": words}, suspects=some(components))),
    photos=some(pictures), serviced=some(record({"item": st.sampled_from(["oil", "filter"])}, who=words)),
).map(make_head)  # fmt: skip
heads = st.one_of(good_heads, good_heads, good_heads, any_heads)

edits = st.one_of(
    st.tuples(st.just("entry"), heads, stories),
    st.tuples(st.just("head"), numbers, heads),
    st.tuples(st.just("words"), numbers, stories),
    st.tuples(st.just("words"), numbers, stories),
    st.tuples(st.just("same_size"), numbers),
    st.tuples(st.just("error"), numbers),
    st.tuples(st.just("rename"), numbers),
    st.tuples(st.just("delete"), numbers),
    st.tuples(st.just("settings"), st.sampled_from(sorted(SETTINGS_CHANGES))),
    st.tuples(st.just("theme"), st.sampled_from(sorted(OWN_FILES)), numbers),
    st.tuples(st.just("no_theme")),
    st.tuples(st.just("photo"), numbers, files, letters),
    st.tuples(st.just("same_photo"), numbers, files, letters),
    st.tuples(st.just("no_photo"), numbers, files),
    st.tuples(st.just("paper"), papers, st.sampled_from(["a", "b", "longer"])),
    st.tuples(st.just("no_paper"), papers),
    st.tuples(st.just("seal")),
    st.tuples(st.just("page"), page_names, page_heads, page_texts),
    st.tuples(st.just("page_words"), page_names, page_texts),
    st.tuples(st.just("page_photo"), page_names, files, letters),
    st.tuples(st.just("no_page"), page_names),
)
around = st.one_of(
    st.tuples(st.just("day"), st.integers(0, DAYS + 10)),
    st.tuples(st.just("strict")),
    st.tuples(st.just("out"), st.sampled_from(["a", "b"])),
    st.tuples(st.just("clock"), st.booleans()),
    st.tuples(st.just("tamper"), st.integers(0, 60), st.sampled_from(["gone", "cut", "other"])),
    st.tuples(
        st.just("damage"),
        st.sampled_from(["cut", "flip", "rubbish", "gone", "values", "swapped", "version"]),
        st.integers(0, 99),
    ),
    st.tuples(st.just("program"), st.integers(0, 1)),
    st.tuples(st.just("nothing")),
    st.tuples(st.just("killed"), st.integers(1, 250), st.none() | st.integers(0, 30_000)),
    st.tuples(st.just("two_at_once"), st.sampled_from(["a", "b"])),
)
sequences = st.lists(st.lists(edits | around, min_size=1, max_size=3), min_size=1, max_size=4)
"A list of what happens before each publish."


HEAD: dict[str, Any] = {
    "date": "2024-01-01",
    "title": "First",
    "hours": "2",
    "systems": ["fuel"],
    "bought": [
        {
            "from": "North",
            "ref": "A1",
            "paid": "2024-01-01",
            "arrived": "2024-01-01",
            "lines": [{"part": "pump", "each": "61.00"}],
        }
    ],
    "photos": [{"file": "a.jpg", "says": "worn"}, {"file": "b.jpg", "says": "leaks"}],
}
FIRST_STEPS: tuple[Step, ...] = (
    ("entry", HEAD, "Off it came.\n\n![](a.jpg)\n"),
    ("entry", {"date": "2024-02-01", "title": "Second", "fitted": [{"part": "pump"}]}, "Off it came.\n\nOn it went.\n"),
    ("photo", 0, "a.jpg", "AB/CD"),
    ("photo", 0, "b.jpg", "EF/AB"),
    ("paper", "papers/a.pdf", "a"),
    ("page", "wiring", {"title": "Wires"}, "Red is plus.\n\nSee [the day](../entries/2024-01-01-e0.md).\n"),
)


def draw_first_world(folder: Path) -> World:
    """The log that each sequence starts from."""
    world = World(folder)
    for step in FIRST_STEPS:
        world.do(step)
    return world
