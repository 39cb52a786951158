"""Problems as data, and how a terminal shows them."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.problems import (
    Place,
    Problem,
    count_problems,
    find_end,
    has_errors,
    show_problems,
    sort_problems,
    suggest,
    tell_some,
)
from tests.work import count_steps


def problem(line: int, severity: str = "error", file: str = "a.md", rule: str = "r", **more: object) -> Problem:
    return Problem(rule=rule, message=f"m{line}", place=Place(file, line, 1), severity=severity, **more)  # type: ignore[arg-type]


def test_errors_come_first_then_file_line_and_column() -> None:
    """An owner reads from the top: what stops publishing, in the order of the files; the same problem once."""
    given = [
        problem(2, file="b.md"),
        problem(1, "warning"),
        problem(10),
        problem(9),
        problem(9),
        problem(1, file="b.md"),
    ]
    assert [(p.severity, str(p.place)) for p in sort_problems(given)] == [
        ("error", "a.md:9:1"),
        ("error", "a.md:10:1"),
        ("error", "b.md:1:1"),
        ("error", "b.md:2:1"),
        ("warning", "a.md:1:1"),
    ]


def test_warnings_forbid_publishing_only_when_strict() -> None:
    """An error always does, a warning with `strict`, nothing never."""
    assert has_errors([problem(1)])
    assert not has_errors([problem(1, "warning")])
    assert has_errors([problem(1, "warning")], strict=True)
    assert not has_errors([], strict=True)


def test_counts_in_words() -> None:
    """One is singular, none is left out."""
    assert count_problems([]) == "no problems"
    assert count_problems([problem(1)]) == "1 error"
    assert count_problems([problem(1, "warning"), problem(2, "warning"), problem(3)]) == "1 error, 2 warnings"


def test_quotes_both_places_of_a_conflict() -> None:
    """The line is quoted, its spot between » and «, at the place and at the other one; then the remedy, then the rule.

    The first line is `file:line:column: message` (GNU Coding Standards, "Formatting Error Messages").
    """
    conflict = Problem(
        rule="repeated-key",
        message="`hours` is written twice",
        place=Place("a.md", 3, 1),
        help="delete one",
        also=(Place("a.md", 1, 3),),
    )
    assert show_problems([conflict], {"a.md": "  hours: 1\n\nhours: 2"}) == (
        """\
a.md:3:1: `hours` is written twice
    »hours«: 2
  see also a.md:1:3
      »hours«: 1
  delete one
  [repeated-key]

1 error
"""
    )


def test_a_long_line_is_cut_around_the_spot() -> None:
    """A hundred characters are quoted, the spot in their middle."""
    text = "x" * 200 + "HERE" + "y" * 200
    field_place = Problem(rule="r", message="m", place=Place("a.md", 1, 201))
    row = show_problems([field_place], {"a.md": text}).split("\n")[1]
    assert row == "    " + "x" * 50 + "»HERE" + "y" * 46 + "«"


def test_nothing_to_quote() -> None:
    """A file that is not known, a blank line and a line beyond the end are not quoted."""
    places = [Place("b.md", 1, 1), Place("a.md", 2, 1), Place("a.md", 9, 1), Place("a.md", 0, 0)]
    for place in places:
        shown = show_problems([Problem(rule="r", message="m", place=place)], {"a.md": "x\n \ny"})
        assert shown == f"{place}: m\n  [r]\n\n1 error\n"


def test_control_characters_never_reach_the_terminal() -> None:
    """An escape sequence or a change of direction in a stranger's log is shown as blanks, in colour as without."""
    bad = Problem(rule="r", message="`\x1b[31m` and \u202e", place=Place("\x07a.md", 1, 4), help="\x9b0m")
    shown = show_problems([bad], {"\x07a.md": "\x1b\tab\u00a0ü"})
    assert shown == " a.md:1:4: ` [31m` and  \n      a»b\u00a0ü«\n   0m\n  [r]\n\n1 error\n"
    assert show_problems([bad], {"\x07a.md": "\x1b\tab\u00a0ü"}, colour=True).count("\x1b") == 2


def test_a_text_to_write_stands_alone_as_it_is_typed() -> None:
    """`write: …` and the mended text, which can be copied; what else there is to say stands below it."""
    helps = {
        "write `12.50`: only digits and a decimal point": "  write: 12.50\n         only digits and a decimal point\n",
        "write `- Bleed`": "  write: - Bleed\n",
        "months run from 01 to 12": "  months run from 01 to 12\n",
    }
    for help, shown in helps.items():
        bad = Problem(rule="r", message="m", place=Place("a.md"), help=help)
        assert show_problems([bad], {}) == f"a.md:1:1: m\n{shown}  [r]\n\n1 error\n"


def test_a_warning_says_so() -> None:
    """What is published all the same is called a warning in the first line; an error is what it says."""
    assert show_problems([problem(1, "warning")], {}) == "a.md:1:1: warning: m1\n  [r]\n\n1 warning\n"


def test_the_spot_ends_where_its_value_or_key_does() -> None:
    """A key at its colon, a value in a list at the comma or bracket, a quoted or bracketed one at its own end."""
    spots = {
        "»hours«: 2": 1,
        "each: »$12.50«": 7,
        "- {what: Hose, each: »1h30«, qty: 2}": 22,
        "- {what: »Hose«, each: 1}": 10,
        'title: »"A: b, c"« # said so': 8,
        "systems: »[fule, brakes]«": 10,
        "title: »Pump, and a seal« # later": 8,
        "see [this](»gone.md«).": 12,
    }
    for shown, column in spots.items():
        text = shown.replace("»", "").replace("«", "")
        assert text[column - 1 : find_end(text, column - 1)] == shown[shown.index("»") + 1 : shown.index("«")], shown


def test_colour_is_never_the_only_sign() -> None:
    """In colour the same text stands, with the spot in it marked once more."""
    bad = Problem(rule="r", message="m", place=Place("a.md", 1, 8))
    plain, red = (show_problems([bad], {"a.md": "hours: 1h"}, colour=colour) for colour in (False, True))
    assert red.replace("\x1b[1;31m", "").replace("\x1b[0m", "") == plain
    assert "\x1b[1;31m»1h«\x1b[0m" in red


def test_suggests_what_is_near_or_the_few_there_are() -> None:
    """A slip of the keyboard gets the one word meant; else up to twelve known words are listed, and never more."""
    assert suggest("fule", ["fuel", "brakes"]) == "did you mean `fuel`?"
    assert suggest("xyz", ["fuel", "brakes"]) == "known here: `brakes`, `fuel`"
    assert suggest("xyz", [f"w{n}" for n in range(13)]) == ""
    assert suggest("xyz", []) == ""


def test_a_message_is_cut_where_the_owners_words_are_too_long() -> None:
    """A value of a million characters is shown by its first few hundred."""
    shown = show_problems([Problem(rule="r", message="x" * 10**6, place=Place("a.md"))], {})
    assert shown == "a.md:1:1: " + "x" * 390 + "…\n  [r]\n\n1 error\n"


def test_of_many_names_the_nearest_is_found_by_its_ends() -> None:
    """Among thousands a slip at the end or at the beginning is found; how many are compared does not grow with them."""
    known = [f"{word}-{number}" for word in ("pump", "seal", "hose") for number in range(1000)]
    assert suggest("pump-77x", known).startswith("did you mean `pump-77")
    assert suggest("ump-777", known) == "did you mean `pump-777`?"
    many = count_steps(lambda: suggest("pump-77x", known)) / count_steps(lambda: suggest("pump-77x", known[:1000]))
    assert many < 4


def test_of_many_problems_in_one_file_some_are_told() -> None:
    """Five hundred, and one that says that there are more; the rest is not even sought."""
    made: list[int] = []

    def find() -> Iterator[Problem]:
        for number in range(100_000):
            made.append(number)
            yield Problem(rule="x", message=f"m{number}", place=Place("f"))

    told = list(tell_some(find()))
    assert (len(told), len(made)) == (501, 501)
    assert told[-1].rule == "more-problems"
    assert len(list(tell_some(told[:500]))) == 500


def test_the_keys_that_lead_to_a_spot_stand_beside_it() -> None:
    """Below the line, for the other place of a conflict too, and where nothing is quoted."""
    conflict = Problem(
        rule="r",
        message="m",
        place=Place("a.md", 2, 9, "bought[0].lines[1].each"),
        also=(Place("a.md", 1, 1, "bought"),),
    )
    assert show_problems([conflict], {"a.md": "bought:\n  each: 1"}) == (
        """\
a.md:2:9: m
      each: »1«
  at bought[0].lines[1].each
  see also a.md:1:1
    »bought«:
  at bought
  [r]

1 error
"""
    )
    assert show_problems([conflict], {}).splitlines()[1] == "  at bought[0].lines[1].each"
