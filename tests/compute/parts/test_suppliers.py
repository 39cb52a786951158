"""Two spellings of one supplier are a warning that names both."""

from __future__ import annotations

import pytest

from buildlog.compute.parts.suppliers import check_suppliers
from tests.support import log_of


def orders(*names: str) -> list[str]:
    return [
        f"date: 2024-03-0{n}\nbought: {{from: '{name}', lines: {{what: x, each: 1}}}}"
        for n, name in enumerate(names, 1)
    ]


@pytest.mark.parametrize(
    ("one", "other", "counted"),
    [
        ("Tollgate Spares", "tollgate spares", "one supplier"),
        ("Tollgate Spares", "Tollgate  Spares", "one supplier"),
        ("A.B. Parts", "AB Parts", "two suppliers"),
        ("Tollgate Spares", "Tollgate-Spares", "two suppliers"),
        ("Müller & Co", "MÜLLER & Co.", "two suppliers"),
    ],
)
def test_a_spelling_that_differs_by_signs_alone(one: str, other: str, counted: str) -> None:
    """By capitals, blanks, dots or dashes; it is said how they are counted, and told once for each spelling."""
    [problem] = check_suppliers(log_of(*orders(one, other, other, one)))
    assert (problem.rule, problem.severity) == ("suppliers-alike", "warning")
    assert problem.message == f"`{other}` is written `{one}` elsewhere: they are counted as {counted}"
    assert (problem.place.file, problem.place.path) == ("entries/e2.md", "bought.from")
    assert [place.file for place in problem.also] == ["entries/e1.md"]


def test_other_names_are_other_suppliers() -> None:
    """A letter more is another name, and signs without a letter are their own."""
    assert list(check_suppliers(log_of(*orders("Tollgate", "Tollgates", "+", "-")))) == []
