"""The way from a folder to a site: what is told when a part of the log cannot be read."""

from __future__ import annotations

import datetime
import threading
from pathlib import Path

import pytest

from buildlog import stages
from buildlog.compute.as_of import AHEAD
from buildlog.compute.follow_ons import DEPENDS_ON
from buildlog.handover.pack import PACKING
from buildlog.problems import Problem
from buildlog.stages import CHECKS, STAGES, Run, run_stages
from tests.photos.pictures import save
from tests.test_cli import HEAD, make_log

PACKAGE = Path(stages.__file__).parent
DAY = datetime.date(2024, 7, 1)

SOUND = {"2024-06-01-bench.md": HEAD + "---\nA bench.\n"}
SOUND_LATER = HEAD.replace("06-01", "08-01") + "---\nOf a day to come.\n"


def compute(log: Path, day: datetime.date = DAY) -> Run:
    return run_stages(Run(folder=log, as_of=day), until="compute")


def check(log: Path, day: datetime.date = DAY) -> tuple[Problem, ...]:
    return run_stages(Run(folder=log, as_of=day), until="render", instead=CHECKS).problems


# ── the way ──────────────────────────────────────────────────────────────────────────────────────────────────────


def test_stages_bear_the_names_of_their_folders() -> None:
    """Each stage is a folder of the package; what else a command does is done under one of their names."""
    names = [name for name, _ in STAGES]
    assert [name for name in names if not (PACKAGE / name / "__init__.py").is_file()] == []
    assert {*CHECKS, *PACKING} <= {*names}
    assert len(names) == len({*names}) > 3


def test_a_run_goes_on_from_where_it_stopped(tmp_path: Path) -> None:
    """Up to the figures and then on is the same as all at once, and no stage is gone through twice."""
    log = make_log(tmp_path / "log", SOUND)
    gone: list[str] = []

    def note(name: str, stage: stages.Stage) -> stages.Stage:
        return lambda run: gone.append(name) or stage(run)  # type: ignore[func-returns-value]

    instead = {name: note(name, stage) for name, stage in STAGES}
    first = run_stages(Run(folder=log, out=tmp_path / "one", as_of=DAY), until="compute", instead=instead)
    assert (gone, first.site, (tmp_path / "one").exists()) == (["read", "compute"], None, False)
    one = run_stages(first, instead=instead)
    whole = run_stages(Run(folder=log, out=tmp_path / "two", as_of=DAY))
    assert gone == [name for name, _ in STAGES]
    assert one.report and one.report == whole.report
    assert one.site == whole.site


def test_nothing_is_made_while_an_error_is_left(tmp_path: Path) -> None:
    """The run ends behind the figures: no photo is begun, no page rendered, no folder made; strict, for a warning."""
    broken, warned = {"2024-06-01-fit.md": HEAD + "fitted: hose\n---\n"}, {"2024-08-01-later.md": SOUND_LATER}
    for name, entries, strict in (("error", broken, False), ("warning", SOUND | warned, True)):
        run = run_stages(
            Run(folder=make_log(tmp_path / name, entries), out=tmp_path / "site", as_of=DAY, strict=strict)
        )
        assert (run.done, run.photos, run.site, run.report) == (2, None, None, None)
        assert run.figures and run.refused
    assert not (tmp_path / "site").exists()


def test_an_error_in_a_page_leaves_the_disk_alone(tmp_path: Path) -> None:
    """What only rendering finds, as a picture in a story that is not there: the site is in memory and stays there."""
    log = make_log(tmp_path / "log", {"2024-06-01-bench.md": HEAD + "---\n![](nothing.jpg)\n"})
    run = run_stages(Run(folder=log, out=tmp_path / "site", as_of=DAY, strict=True))
    assert [problem.rule for problem in run.problems] == ["unknown-photo"]
    assert run.site and run.report is None and not (tmp_path / "site").exists()


def test_photos_that_were_begun_are_ended_whatever_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault while pages are rendered goes on to whoever asked, and no thread is left at work behind it."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    log = make_log(tmp_path / "log", {"2024-06-01-bench.md": HEAD + "photos: [{file: a.png, says: A bench}]\n---\n"})
    (log / "photos/2024-06-01-bench").mkdir(parents=True)
    save(log / "photos/2024-06-01-bench/a.png", "AB")
    begun: list[Run] = []

    def fail(run: Run) -> Run:
        begun.append(run)
        raise LookupError

    before = threading.active_count()
    with pytest.raises(LookupError):
        run_stages(Run(folder=log, as_of=DAY), instead={"render": fail})
    assert begun[0].photos is not None and begun[0].photos.kept == 0
    assert threading.active_count() == before


# ── what is told ─────────────────────────────────────────────────────────────────────────────────────────────────


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
    run = compute(make_log(tmp_path / "log", entries))
    assert run.refused
    assert {(problem.rule, problem.place.file) for problem in run.problems} == {
        ("unreadable-value", "entries/2024-06-01-order.md")
    }


def test_a_reading_is_not_asked_about_while_the_one_before_cannot_be_read(tmp_path: Path) -> None:
    """After 400 the old meter cannot show 12; without that entry both can, which is asked only where it is missing."""
    first = HEAD.replace("06-01", "05-01") + "reading: 400\n---\n"
    change = HEAD + "reading: 12\nmeter_changed: {old: 600, new: 0}\n---\n"
    for before, told in ((first.replace("05-01", "05-32"), ["unreadable-value"]), (None, ["reading-two-ways"])):
        entries = {"2024-06-01-change.md": change} | ({"2024-05-01-first.md": before} if before else {})
        run = compute(make_log(tmp_path / told[0], entries))
        assert [problem.rule for problem in run.problems if problem.severity == "error"] == told


def test_the_same_name_is_told_once_the_entry_is_mended(tmp_path: Path) -> None:
    """With every entry readable, a part that no order brought is an error."""
    entries = {"2024-06-01-fit.md": HEAD + "fitted: hose\n---\n"}
    run = compute(make_log(tmp_path / "log", entries))
    assert [problem.rule for problem in run.problems] == ["unknown-part"]


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
        assert [(problem.rule, problem.place.file) for problem in check(log, day) if problem.rule != AHEAD] == [
            ("unknown-photo", "entries/2024-06-02-second.md")
        ]
