"""Bags that earlier versions made: whatever is changed since, an honest one never fails."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import pytest

from buildlog.handover.figure_sums import check_sums
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import Report
from buildlog.record.hashing import read_canonical, write_canonical
from tests.record.bags import find, pack_again, read_memory, states, verify, write_zip

GOLDEN = Path(__file__).parent / "golden"
FIGURES = "data/figures.json"
COMPARED = ("totals", "service", "meter", "identity", "evidence")
"Questions that are answered by comparing figures."
ALWAYS = ("files", "sealed", "seals", "stamps", "signatures", "withheld")
"Questions in which no figure and no page has a part."
OTHER_RULES = re.compile(r"the figures are in format \d+, which had other rules; by those of format \d+, .+")


def load_zip(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name.partition("/")[2]: archive.read(name) for name in archive.namelist()}


@pytest.fixture(scope="module")
def first() -> dict[str, bytes]:
    return load_zip(GOLDEN / "format-1.zip")


def test_there_is_a_bag_of_each_format() -> None:
    """Whoever raises the format keeps a bag of it: `python -m tests.record.make_golden`."""
    assert {path.name for path in GOLDEN.iterdir()} == {f"format-{number}.zip" for number in range(1, FORMAT + 1)}


@pytest.mark.parametrize("number", range(1, FORMAT))
def test_a_bag_of_an_earlier_format_never_fails(number: int) -> None:
    """Files, seals, stamps and signatures hold for good; what rules have changed since reads so, with the figure."""
    report = verify(GOLDEN / f"format-{number}.zip")
    assert not report.failed, report.as_text()
    assert {states(report)[key] for key in ALWAYS} == {"holds"}
    for key in COMPARED:
        finding = find(report, key)
        assert finding.state == "holds" or OTHER_RULES.fullmatch(finding.says) or key == "identity", finding.says
    assert find(report, "pages").state == "cannot be checked"


def test_a_bag_of_today_s_format_holds() -> None:
    """A figure that changes for the same log is a new format: raise `FORMAT`, and make a golden bag of it.

    A format that no release has made yet may change: then the bag is made again, `python -m tests.record.make_golden`.
    """
    report = verify(GOLDEN / f"format-{FORMAT}.zip")
    assert not report.failed, report.as_text()
    assert {key: states(report)[key] for key in (*ALWAYS, *COMPARED) if key != "identity"} == dict.fromkeys(
        [key for key in (*ALWAYS, *COMPARED) if key != "identity"], "holds"
    )


def verify_changed(files: dict[str, bytes], folder: Path, change: dict[str, bytes]) -> Report:
    return verify(write_zip(folder / "bag.zip", pack_again(files | change)))


@pytest.mark.parametrize("number", range(1, FORMAT + 1))
def test_the_sums_of_every_format_add_up_where_nothing_is_computed(number: int) -> None:
    """By the adding that is left where a log cannot be computed: no honest forecast is called wrong."""
    assert check_sums(read_memory(load_zip(GOLDEN / f"format-{number}.zip"))) == []


def test_a_figure_of_an_earlier_format_that_differs_is_told(first: dict[str, bytes], tmp_path: Path) -> None:
    """It may follow from another rule, so it does not fail; what stands there and what is computed here is told."""
    changed = first[FIGURES].replace(b'"again_hours":"7.2"', b'"again_hours":"7.3"')
    assert changed != first[FIGURES]
    report = verify_changed(first, tmp_path, {FIGURES: changed})
    finding = find(report, "totals")
    assert finding.state == "cannot be checked"
    assert OTHER_RULES.fullmatch(finding.says)
    assert report.incomplete


def test_a_total_of_an_earlier_format_that_is_no_sum_fails(first: dict[str, bytes], tmp_path: Path) -> None:
    """By the rules of no version is a total anything but the sum of its lines, as `check.html` finds too."""
    changed = first[FIGURES].replace(b'"spent":"2635.13"', b'"spent":"2635.14"')
    assert changed != first[FIGURES]
    finding = find(verify_changed(first, tmp_path, {FIGURES: changed}), "totals")
    assert finding.state == "fails"
    assert {(one.rule, one.file) for one in finding.flaws} == {("sum-wrong", FIGURES)}
    assert finding.flaws[0].message == "`costs.spent` is 2635.14, but its parts add up to 2635.13"


def test_a_key_that_is_missing_from_an_earlier_format_is_told(first: dict[str, bytes], tmp_path: Path) -> None:
    """Only what a later format changed is passed over: nobody hides a figure behind an old number."""
    value = read_canonical(first[FIGURES].removesuffix(b"\n"))
    del value["meter"]["owned"]
    finding = find(verify_changed(first, tmp_path, {FIGURES: write_canonical(value) + b"\n"}), "meter")
    assert finding.state == "cannot be checked"
    assert finding.says.endswith("meter.owned is missing")


@pytest.mark.parametrize("number", range(1, 3))
@pytest.mark.parametrize(("key", "inner"), [("twice", "hours"), ("looks", "chances")])
def test_a_figure_that_has_another_name_since_is_compared(number: int, key: str, inner: str, tmp_path: Path) -> None:
    """Rework and the next checks stood under other names up to format 2; a lie in them is still seen."""
    files = load_zip(GOLDEN / f"format-{number}.zip")
    value = read_canonical(files[FIGURES].removesuffix(b"\n"))
    held = value[key] if inner in value[key] else next(iter(value[key].values()))
    held[inner] = "99"
    finding = find(verify_changed(files, tmp_path, {FIGURES: write_canonical(value) + b"\n"}), "totals")
    assert finding.state == "cannot be checked"
    assert f".{inner}: 99, computed " in finding.says


def test_a_rule_that_an_older_log_breaks_is_told(first: dict[str, bytes], tmp_path: Path) -> None:
    """What a later version no longer takes was taken then; but what is no YAML was none in any version."""
    name = "data/log/entries/2024-07-13-on-the-road.md"
    fallen = re.sub(rb"(?m)^reading: .*$", b"reading: 1", first[name])
    assert fallen != first[name]
    report = verify_changed(first, tmp_path, {name: fallen})
    assert find(report, "meter").state == "cannot be checked"
    assert "2024-07-13-on-the-road.md:" in find(report, "meter").says
    assert find(report, "sealed").state == "fails"
    report = verify_changed(first, tmp_path, {name: first[name].replace(b"date: ", b"date: {", 1)})
    assert find(report, "totals").state == "fails"
