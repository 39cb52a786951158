"""The way from a folder to a site: what is told when a part of the log cannot be read."""

from __future__ import annotations

import datetime
from pathlib import Path

from buildlog import stages
from buildlog.compute.follow_ons import DEPENDS_ON
from buildlog.stages import check_log, check_site, draft_next
from tests.test_cli import HEAD, make_log

PACKAGE = Path(stages.__file__).parent


def test_every_follow_on_rule_is_a_rule_of_the_package() -> None:
    """A rule that was renamed would silently no longer be held back."""
    paths = [path for path in PACKAGE.rglob("*.py") if path.name != "follow_ons.py"]
    code = "\n".join(path.read_text() for path in paths)
    assert [rule for rule in sorted(DEPENDS_ON) if f'"{rule}"' not in code] == []


def test_an_unreadable_entry_brings_no_problems_in_others(tmp_path: Path) -> None:
    """A hose that was bought in an entry dated wrongly is not called unknown too."""
    entries = {
        "2024-06-01-order.md": HEAD.replace("06-01", "06-31")
        + "bought: {from: A, arrived: 2024-06-01, lines: [{part: hose, each: 1.00}]}\n---\n",
        "2024-06-01-fit.md": HEAD + "fitted: hose\n---\n",
    }
    checked = check_log(make_log(tmp_path / "log", entries), datetime.date(2024, 7, 1))
    assert checked.figures is None
    assert {(problem.rule, problem.place.file) for problem in checked.problems} == {
        ("unreadable-value", "entries/2024-06-01-order.md")
    }


def test_a_reading_is_not_asked_about_while_the_one_before_cannot_be_read(tmp_path: Path) -> None:
    """After 400 the old meter cannot show 12; without that entry both can, which is asked only where it is missing."""
    first = HEAD.replace("06-01", "05-01") + "reading: 400\n---\n"
    change = HEAD + "reading: 12\nmeter_changed: {old: 600, new: 0}\n---\n"
    for before, told in ((first.replace("05-01", "05-32"), ["unreadable-value"]), (None, ["reading-two-ways"])):
        entries = {"2024-06-01-change.md": change} | ({"2024-05-01-first.md": before} if before else {})
        checked = check_log(make_log(tmp_path / told[0], entries), datetime.date(2024, 7, 1))
        assert [problem.rule for problem in checked.problems if problem.severity == "error"] == told


def test_the_same_name_is_told_once_the_entry_is_mended(tmp_path: Path) -> None:
    """With every entry readable, a part that no order brought is an error."""
    entries = {"2024-06-01-fit.md": HEAD + "fitted: hose\n---\n"}
    checked = check_log(make_log(tmp_path / "log", entries), datetime.date(2024, 7, 1))
    assert [problem.rule for problem in checked.problems] == ["unknown-part"]


TWO = {
    "2024-05-18-first.md": "---\ndate: 2024-05-18\ntitle: First\n---\nSee [what came then](2024-06-02-second.md).\n",
    "2024-06-02-second.md": HEAD.replace("06-01", "06-02")
    + "reading: 500\nbought: {from: A, ordered: 2024-05-01, arrived: 2024-05-01, lines: {part: clamp, each: 1}}\n---\n"
    "![](nothing.jpg)\n",
}
"An entry that leads to a later one, and the later one with a picture that is not there."


def test_a_check_tells_of_every_entry_whatever_the_day(tmp_path: Path) -> None:
    """As of a day between the two the later one's picture is missed all the same, and the link to it is no dead end."""
    log = make_log(tmp_path / "log", TWO)
    for day in (datetime.date(2024, 5, 20), datetime.date(2024, 6, 2)):
        figures = check_log(log, day).figures
        assert figures is not None
        assert [(problem.rule, problem.place.file) for problem in check_site(figures)] == [
            ("unknown-photo", "entries/2024-06-02-second.md")
        ]


def test_a_draft_of_an_earlier_day_knows_no_more_than_that_day(tmp_path: Path) -> None:
    """Neither the clamp nor the reading of the later entry is offered; its file name is taken all the same."""
    figures = check_log(make_log(tmp_path / "log", TWO), datetime.date(2024, 5, 20)).figures
    assert figures is not None
    ((path, text),) = draft_next(figures, "Second", datetime.date(2024, 5, 20)).texts.items()
    assert path == "entries/2024-05-20-second.md"
    assert "clamp" not in text and "500" not in text
    assert [*draft_next(figures, "Second", datetime.date(2024, 6, 2)).texts] == ["entries/2024-06-02-second-2.md"]
