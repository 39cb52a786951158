"""Which lines are one part, which number is the newest, and what cannot be told apart."""

from __future__ import annotations

from graphlib import TopologicalSorter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.compute.parts.names import Part, PartNames, name_parts
from buildlog.compute.parts.numbers import fold_number
from buildlog.problems import Problem
from tests.support import log_of


def bought(*lines: str) -> tuple[PartNames, tuple[Problem, ...]]:
    """The parts of one order with these lines."""
    rows = "".join(f"\n      - {{{line}}}" for line in lines)
    return name_parts(log_of(f"date: 2024-05-06\nbought:\n  - from: Shop\n    lines:{rows}"))


def only(names: PartNames) -> Part:
    (part,) = names.parts.values()
    return part


@pytest.mark.parametrize("written", ["0 410 223", "0410.223", "0410-223", "0410/223", "0410\u2011223", "0410\u00a0223"])
def test_a_number_is_compared_without_spaces_dots_dashes_and_slashes(written: str) -> None:
    """Common practice, no source: one number is printed in many ways; no-break space and hyphen are such ways too."""
    assert fold_number(written) == "0410223"


def test_a_number_is_compared_in_upper_case() -> None:
    """`lp 4410-a` and `LP4410A` are one number; the letter O and the digit 0 stay two."""
    assert fold_number("lp 4410-a") == fold_number("LP4410A") == "LP4410A"
    assert fold_number("O410") != fold_number("0410")


def test_lines_with_one_key_are_one_part() -> None:
    """Lines of one part share its key; the written number, name, spec and system are kept for display."""
    names, problems = bought(
        "part: lift-pump, number: LP 4410-A, maker: Vostrand, each: 1, spec: equivalent, for: fuel",
        "part: lift-pump, number: lp4410a, each: 2",
    )
    part = only(names)
    assert (part.key, part.name, part.maker) == ("lift-pump", "Lift pump", "Vostrand")
    assert (part.numbers, part.spec, part.system) == (("LP 4410-A",), "equivalent", "fuel")
    assert problems == ()


def test_two_keys_with_one_maker_and_number_are_one_part() -> None:
    """They are merged under the first key; the second stays an alias and leads to the same part."""
    names, problems = bought(
        "part: lift-pump, number: LP 4410-A, maker: Vostrand, each: 1",
        "part: feed-pump, number: LP4410A, maker: VOSTRAND, each: 2",
    )
    assert (only(names).key, only(names).aliases) == ("lift-pump", ("feed-pump",))
    assert names.keys["feed-pump"] == "lift-pump"
    assert problems == ()


def test_two_keys_with_one_number_and_no_maker_are_a_warning() -> None:
    """By the number alone they may be two makers' parts: they are counted as one, and the owner is told."""
    names, (warning,) = bought("part: seal, number: 0410 223, each: 1", "part: ring, number: 0410.223, each: 2")
    assert only(names).aliases == ("ring",)
    assert warning.severity == "warning"
    assert warning.message == "`ring` and `seal` have the same number, `0410 223`, so they are counted as one part"
    assert (warning.place.line, warning.also[0].line) == (7, 6)


def test_one_number_of_two_makers_is_two_parts() -> None:
    """The maker is half of a part's identity."""
    names, problems = bought("number: 0410 223, maker: Vostrand, each: 1", "number: 0410 223, maker: Granbark, each: 1")
    assert list(names.parts) == ["0410223", "granbark-0410223"]
    assert problems == ()


def test_a_number_without_a_key_is_its_own_key() -> None:
    """A line with a number and no part is tracked under its number; one with neither is not tracked."""
    names, _ = bought("number: LP 4410-A, what: Lift pump, each: 1", "what: Hose, each: 6.10", "number: '---'")
    assert (only(names).key, only(names).name) == ("lp4410a", "Lift pump")
    assert len(names.lines) == 1


def test_a_number_alone_joins_the_part_that_has_it() -> None:
    """The key that another line gives is the part's key, and the number still leads to it."""
    names, problems = bought("number: 0410 223, each: 1", "part: seal, number: 0410-223, maker: Vostrand, each: 1")
    assert only(names).key == "seal"
    assert names.keys["0410223"] == "seal"
    assert problems == ()


def test_labour_on_a_part_brings_no_part() -> None:
    """A line of labour or a fee may name the part that it was for; nothing comes to the shelf."""
    names, _ = bought("part: head, what: Skimming, kind: labour, each: 60", "part: head, kind: fee, each: 5")
    assert names.parts == {}


def test_a_chain_of_numbers_is_one_part_newest_first() -> None:
    """Supersession links of any length hold a key together, whichever was bought first."""
    names, problems = bought(
        "part: pump, number: C-3, replaces_number: B-2, each: 1",
        "part: pump, number: A-1, each: 1",
        "part: pump, number: B2, replaces_number: A1, each: 1",
    )
    assert only(names).numbers == ("C-3", "B-2", "A-1")
    assert problems == ()


def test_a_chain_joins_two_keys() -> None:
    """The newer number under a new key is still the part that it supersedes."""
    names, _ = bought("part: pump, number: A-1, each: 1", "part: new-pump, number: B-2, replaces_number: A1, each: 1")
    assert (only(names).key, only(names).numbers) == ("pump", ("B-2", "A-1"))


def test_a_superseded_number_that_was_never_bought_is_known() -> None:
    """What the owner's old part bore is in the chain too."""
    names, _ = bought("part: pump, number: LP 4410-B, replaces_number: LP 4410-A, each: 1")
    assert only(names).numbers == ("LP 4410-B", "LP 4410-A")
    assert names.keys["lp4410a"] == "pump"


def test_one_key_with_two_numbers_is_an_error_that_names_both_places() -> None:
    """Two unrelated numbers under one key would mix two shelves."""
    _, (error,) = bought("part: pump, number: LP 4410-A, each: 1", "part: pump, number: XQ 99, each: 1")
    assert error.severity == "error"
    assert error.message == "`pump` has the number `XQ 99` here and `LP 4410-A` before"
    assert error.help.startswith("add `replaces_number: LP 4410-A` if the new number supersedes it")
    assert (error.place.line, error.place.column, error.also[0].line) == (7, 30, 6)


def test_one_key_with_two_makers_is_an_error() -> None:
    """Another maker's part is another part, even where the numbers are alike."""
    _, (error,) = bought("part: pump, number: A1, maker: Vostrand", "part: pump, number: A1, maker: Granbark")
    assert error.rule == "part-has-two-makers"
    assert error.message == "`pump` is made by `Granbark` here and by `Vostrand` before"


def test_an_unknown_maker_is_the_one_of_the_key() -> None:
    """A line that leaves the maker out, where two makers have that number, is of its own key's maker."""
    names, problems = bought(
        "part: pump, number: A1, maker: Vostrand", "part: seal, number: A1, maker: Granbark", "part: pump, number: A1"
    )  # fmt: skip
    assert [part.numbers for part in names.parts.values()] == [("A1",), ("A1",)]
    assert problems == ()


def test_a_superseded_number_is_of_the_same_maker() -> None:
    """Where two makers have the old number, the new one's own maker is meant; where one has it, that one."""
    names, problems = bought(
        "part: seal, number: A1, maker: Granbark", "part: pump, number: A1, maker: Vostrand",
        "part: better, number: B2, maker: Vostrand, replaces_number: A1",
        "part: best, number: C3, maker: Millrace, replaces_number: B2",
    )  # fmt: skip
    assert {part.key: part.aliases for part in names.parts.values()} == {"seal": (), "pump": ("better", "best")}
    assert names.parts["pump"].maker == "Millrace"
    assert problems == ()


def test_numbers_that_replace_each_other_are_an_error() -> None:
    """In a circle none is the newest; every link of it is pointed at, and no link outside."""
    _, (error,) = bought(
        "part: pump, number: A1, replaces_number: B2, each: 1",
        "part: pump, number: B2, replaces_number: C3, each: 1",
        "part: pump, number: C3, replaces_number: A1, each: 1",
        "part: pump, number: D4, replaces_number: A1, each: 1",
        "part: pump, number: C3, replaces_number: Z0, each: 1",
    )
    assert error.rule == "number-replaces-itself"
    assert error.message == "`A1`, `B2`, `C3` replace each other in a circle, so none of them is the newest"
    assert [place.line for place in (error.place, *error.also)] == [8, 6, 7]


def test_a_number_that_replaces_itself_is_an_error() -> None:
    """The shortest circle has one link."""
    _, (error,) = bought("part: pump, number: A-1, replaces_number: A1, each: 1")
    assert error.message == "`A-1` replaces itself, so none of them is the newest"


def test_original_cannot_be_bought() -> None:
    """The word stands for the machine's own parts, and so does what starts with it."""
    _, problems = bought("part: original, each: 1", "part: original-pump, each: 1")
    assert [problem.rule for problem in problems] == ["reserved-name", "reserved-name"]


def test_the_machines_own_parts_are_known_by_name() -> None:
    """Spelling of the name in capitals, accents and dashes does not make another part."""
    names, _ = name_parts(
        log_of(
            "date: 2024-05-06\nsystems: [fuel]\nremoved: {part: original, name: Förder-Pumpe, fate: kept}",
            "date: 2024-05-07\nremoved: {part: original, name: forder pumpe}",
        )
    )
    part = only(names)
    assert (part.key, part.name, part.system) == ("original-forder-pumpe", "Förder-Pumpe", "fuel")
    assert (part.original, part.spec) == (True, "original")


@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)).filter(lambda pair: pair[0] < pair[1]), min_size=1))
def test_newest_first_is_an_order_of_the_links(links: list[tuple[int, int]]) -> None:
    """Whatever the links (newer, older), no number stands before one that supersedes it; graphlib accepts the same."""
    names, problems = bought(*(f"part: pump, number: N{new}, replaces_number: N{old}, each: 1" for new, old in links))
    TopologicalSorter({new: [old for n, old in links if n == new] for new, _ in links}).prepare()
    numbers = [number for part in names.parts.values() for number in part.numbers]
    assert all(numbers.index(f"N{new}") < numbers.index(f"N{old}") for new, old in links)
    assert {problem.rule for problem in problems} <= {"part-has-two-numbers"}
