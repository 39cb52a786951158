"""Whoever packs a bag cannot have its pages, scripts and ways to check passed over: neither by what its list claims,
nor by what keeps its log from being computed again. Where nothing fails, the exit code still says what was left undone.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from buildlog.cli import main
from buildlog.handover import run_apart
from buildlog.handover.findings import Report, leave_open
from buildlog.handover.handed_log import name_maker
from buildlog.handover.verify import RECOMPUTED, verify_bag
from tests.record.bags import find, hand, load, name_picture, pack_again, write_log, write_sealed, write_zip
from tests.record.test_verify import FIGURES, LIST, Files, change_format, change_maker, edit_json, replace

PHOTO = "2024-05-18-lift-pump/IMG 1.jpg"
PAGE = "data/site/entries/2024-05-18-lift-pump.html"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("site")


@pytest.fixture(scope="module")
def sound(folder: Path) -> Files:
    """With the photo withheld, so that no picture of it can be compared with anything."""
    hand(write_sealed(folder / "log"), folder / "bag", f"photos/{PHOTO}")
    return load(folder / "bag")


def verify_open(files: Files, folder: Path) -> Report:
    """The report where nothing could be computed again, as when time or memory ran out."""
    path = write_zip(folder / "bag.zip", pack_again(files))
    return verify_bag(path, lambda packed, handover: {key: leave_open(key, "stopped") for key in RECOMPUTED})


def list_flaws(report: Report, key: str) -> list[tuple[str, str]]:
    return [(one.rule, one.file) for one in find(report, key).flaws]


# ── pictures that are none ───────────────────────────────────────────────────────────────────────────────────────

PLACES = (
    "index.html", "theme/margin.js", "secret.html", "photos/secret.html", "photos/2024-05-18-lift-pump/secret.html",
    "photos/2024-05-18-lift-pump/in/a.jpg", "photos/another/a.jpg", "photos/2024-05-18-lift-pump/a.webp",
)  # fmt: skip
"Where no JPEG of the photo can stand."


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize("maker", ["this program", "another"])
def test_no_page_and_no_script_passes_for_a_picture(sound: Files, tmp_path: Path, path: str, maker: str) -> None:
    """A picture stands among those of its entry, with the suffix of its kind, or the list is none."""

    def add(value: dict[str, object]) -> None:
        value["pictures"][PHOTO]["variants"].append([path, 64, 48, "image/jpeg"])  # type: ignore[index]  # any JSON

    files = edit_json(LIST, add)(sound if maker == "this program" else change_maker(sound))
    report = verify_open(files | {f"data/site/{path}": b"<script>a lie</script>"}, tmp_path)
    assert ("list-unreadable", LIST) in list_flaws(report, "withheld")


def test_a_kind_that_is_no_picture_is_refused(sound: Files, tmp_path: Path) -> None:
    """`image/svg+xml` can hold a script."""
    report = verify_open(replace(LIST, "image/jpeg", "image/svg+xml")(sound), tmp_path)
    assert ("list-unreadable", LIST) in list_flaws(report, "withheld")


# ── what is found without computing ──────────────────────────────────────────────────────────────────────────────

AIDS = ["data/CHECK.md", "data/check.html", "START-HERE.html"]
Lie = tuple[Callable[[Files], Files], str, str, str]
UNCOMPUTED: dict[str, Lie] = {
    "a total": (replace(FIGURES, '"spent":"133.10"', '"spent":"113.10"'), "totals", "sum-wrong", FIGURES),
    "figures that are none": (lambda files: files | {FIGURES: b"{}\n"}, "totals", "figures-unreadable", FIGURES),
    "no figures": (lambda files: {n: raw for n, raw in files.items() if n != FIGURES}, "totals", "missing", FIGURES),
    "the leaf of a proof": (replace(PAGE, "path&#34;", "Path&#34;"), "pages", "proof-wrong", PAGE),
    "the root of a proof": (
        replace(PAGE, '<code id="proof-root">', '<code id="proof-root">0'), "pages", "proof-wrong", PAGE,
    ),
    **{
        f"{name} changed": (lambda files, name=name: files | {name: files[name] + b"\n"}, "pages", "page-differs", name)
        for name in AIDS
    },
    **{
        f"no {name}": (
            lambda files, name=name: {n: raw for n, raw in files.items() if n != name}, "pages", "page-missing", name,
        )
        for name in ("data/CHECK.md", "START-HERE.html")
    },
}  # type: ignore[misc]  # fmt: skip


@pytest.mark.parametrize("name", UNCOMPUTED)
def test_what_the_page_checks_is_checked_where_nothing_could_be_computed(
    sound: Files, tmp_path: Path, name: str
) -> None:
    """Sums, proofs and the two ways to check: each fails its question, which else would only be left open."""
    change, key, rule, file = UNCOMPUTED[name]
    report = verify_open(change(sound), tmp_path)
    assert (rule, file) in list_flaws(report, key)
    assert find(report, key).state == "fails"


def test_a_sound_bag_of_which_nothing_could_be_computed_does_not_fail(sound: Files, tmp_path: Path) -> None:
    """The table above means something only if the bag itself has no flaw; and it never reads as checked."""
    report = verify_open(sound, tmp_path)
    assert not report.failed
    assert report.incomplete
    assert report.unchecked == RECOMPUTED
    assert "here, and not checked to the end: costs, parts, faults, " in report.as_text()
    assert json.loads(report.as_json())["incomplete"] is True


@pytest.mark.parametrize("name", AIDS)
def test_ways_to_check_of_another_program_are_told_first(sound: Files, tmp_path: Path, name: str) -> None:
    """Another version may word them otherwise: no failure, and nothing that is passed over."""
    report = verify_open(change_maker(sound) | {name: sound[name] + b"\n"}, tmp_path)
    assert not report.failed
    assert ("pages-say-other", name) in [(one.rule, one.file) for one in report.first]


# ── exit codes ───────────────────────────────────────────────────────────────────────────────────────────────────


def run_verify(path: Path) -> int:
    return CliRunner().invoke(main, ["verify", str(path)], prog_name="buildlog").exit_code


def test_a_log_without_stamp_and_signature_ends_with_0(tmp_path: Path) -> None:
    """All that is there was checked: what an owner never made is no reason for another code."""
    hand(write_sealed(tmp_path / "log"), tmp_path / "bag")
    assert run_verify(tmp_path / "bag") == 0


def test_a_log_that_was_never_sealed_ends_with_0(tmp_path: Path) -> None:
    """The same."""
    hand(write_log(tmp_path / "log"), tmp_path / "bag")
    assert run_verify(tmp_path / "bag") == 0


def be_slow(files: Files, monkeypatch: pytest.MonkeyPatch) -> Files:
    monkeypatch.setattr(run_apart, "PATIENCE", 0.01)
    return files


def be_killed(files: Files, monkeypatch: pytest.MonkeyPatch) -> Files:
    monkeypatch.setattr(run_apart.sys, "executable", "/bin/false")
    return files


def be_missing(files: Files, monkeypatch: pytest.MonkeyPatch) -> Files:
    monkeypatch.setattr(run_apart.sys, "executable", "/no/such/python")
    return files


WITHOUT_END: dict[str, Callable[[Files, pytest.MonkeyPatch], Files]] = {
    "a time limit": be_slow,
    "a process that dies": be_killed,
    "a process that cannot be started": be_missing,
    "another program and its later format": lambda files, patch: change_format(change_maker(files)),
    "another program": lambda files, patch: change_maker(files),
    "a theme of the log's own": lambda files, patch: files | {"data/log/theme/readme.txt": b"x"},
}


@pytest.mark.parametrize("name", WITHOUT_END)
def test_what_was_left_undone_ends_with_4(
    sound: Files, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Nothing fails, and it is no 0: a script that looks at the code alone is not told that all is well."""
    files = WITHOUT_END[name](sound, monkeypatch)
    assert run_verify(write_zip(tmp_path / "bag.zip", pack_again(files))) == 4


def test_a_photo_that_is_openly_withheld_is_told_and_no_alarm(sound: Files, tmp_path: Path) -> None:
    """It is listed, and the question about pictures says so; all else was checked, so a script sees a 0."""
    path = write_zip(tmp_path / "bag.zip", pack_again(sound))
    report = verify_bag(path, run_apart.recheck_apart)
    pages = find(report, "pages")
    assert pages.state == "cannot be checked"
    assert "the pictures of 1 photo that is withheld or missing were not compared" in pages.says
    assert "1 of the log's files" in find(report, "withheld").says
    assert run_verify(path) == 0


def test_an_entry_of_no_text_fails_though_it_was_sealed_so(tmp_path: Path) -> None:
    """An undecodable byte and a new seal: the log's own content forbids computing, which is no excuse."""
    hand(write_sealed(tmp_path / "log"), tmp_path / "bag")
    files = load(tmp_path / "bag")
    entry = "data/log/entries/2024-06-02-first-drive.md"
    lie = replace("data/site/costs.html", "133.10", "113.10")(files | {entry: files[entry] + b"\xff\n"})
    path = write_zip(tmp_path / "bag.zip", pack_again(lie))
    report = verify_bag(path, run_apart.recheck_apart)
    assert find(report, "pages").state == "fails"
    assert (find(report, "totals").flaws[0].rule, find(report, "totals").flaws[0].file) == ("not-utf-8", f"{entry}:8")
    assert run_verify(path) == 3


def test_the_names_here_are_those_of_the_bag(sound: Files) -> None:
    """The tables above speak of this very bag."""
    assert name_picture() in sound
    assert name_maker() in sound[LIST].decode()
