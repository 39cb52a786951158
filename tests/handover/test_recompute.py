"""A stranger's log that cannot be read, or that stops the program: told with its file, in sentences."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from buildlog.handover import figures_json, recompute, remake_pages
from buildlog.handover.findings import Report
from buildlog.handover.handed_log import read_handed
from buildlog.handover.recompute import find_stopper
from buildlog.handover.run_apart import recheck_apart
from buildlog.handover.verify import RECOMPUTED, verify_bag
from tests.record.bags import find, hand, load, pack_again, states, verify, write_log, write_zip

ENTRIES = {
    "2024-02-01-pump.md": "title: A\ndate: 2024-02-01\nfaults: {fault: hiss, name: A hiss}\nhours: 1",
    "2024-03-01-fixed.md": "title: B\ndate: 2024-03-01\nfixed: {fault: hiss, how: a new gasket}",
    "2024-04-01-drive.md": "title: C\ndate: 2024-04-01\nreading: 20",
}
"A fault, and a later entry that speaks of it: without the first, the second hangs in the air."
BREAK: dict[str, Callable[[bytes], bytes]] = {
    "no UTF-8": lambda raw: raw.replace(b"date", b"d\x96te", 1),
    "no YAML": lambda raw: raw.replace(b"date: ", b"date: {[", 1),
    "no text": lambda raw: raw.replace(b"date", b"d\0te", 1),
    "no front matter": lambda raw: raw[3:],
    "no date": lambda raw: raw.replace(b"2024", b"2O24", 1),
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("fault")
    texts = {f"entries/{name}": f"---\n{head}\n---\nWords.\n".encode() for name, head in ENTRIES.items()}
    settings = b"machine: {name: Tom, meter: {unit: km}}\nmoney: {currency: GBP}\n"
    log = write_log(folder / "log", {"log.yaml": settings, **texts})
    hand(log, folder / "bag")
    return load(folder / "bag")


@pytest.mark.parametrize("way", BREAK)
def test_an_entry_that_cannot_be_read_is_told(sound: dict[str, bytes], tmp_path: Path, way: str) -> None:
    """What `check` says of it, under costs with its file; no page is made of such a log; nothing is left unfinished."""
    name = "data/log/entries/2024-02-01-pump.md"
    report = verify(write_zip(tmp_path / "bag.zip", pack_again(sound | {name: BREAK[way](sound[name])})))
    for key in ("totals", "pages"):
        assert find(report, key).state == "fails"
        assert find(report, key).flaws[0].file.startswith(f"{name}:")
    assert "could not be finished" not in report.as_text()
    assert_no_exception_is_named(report)


def test_a_settings_file_that_cannot_be_read_fails_every_question(sound: dict[str, bytes], tmp_path: Path) -> None:
    """Nothing can be computed without `log.yaml`: six questions fail, each with the file."""
    path = write_zip(tmp_path / "bag.zip", pack_again(sound | {"data/log/log.yaml": b"machine: {{"}))
    report = verify(path)
    assert {states(report)[key] for key in RECOMPUTED} == {"fails"}
    assert {find(report, key).flaws[0].file.partition(":")[0] for key in RECOMPUTED} == {"data/log/log.yaml"}


@pytest.mark.parametrize("stage", ["read", "compare", "render"])
def test_a_fault_of_ours_fails_and_names_the_file(
    sound: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stage: str
) -> None:
    """An entry that stops the program while it is read, compared or rendered: told as that, and as nothing of Python's.

    Were it left open, a forger would only have to find one such entry to be asked nothing more.
    """
    path = write_zip(tmp_path / "bag.zip", sound)
    module, name = {
        "read": (recompute, "read_handed"),
        "compare": (figures_json, "find_difference"),
        "render": (remake_pages, "make_pages"),
    }[stage]
    plain = getattr(module, name)

    def stop(*given: object, **named: object) -> object:
        texts = given[0] if stage == "read" else getattr(given[-1], "entries", ())
        names = texts if isinstance(texts, dict) else [f"entries/{entry.name}.md" for entry in texts]
        if stage == "compare" or "entries/2024-03-01-fixed.md" in names:
            raise LookupError("deep inside")
        return plain(*given, **named)

    monkeypatch.setattr(module, name, stop)
    if stage == "render":
        monkeypatch.setattr(recompute, name, stop)
    if stage == "compare":
        path = write_zip(tmp_path / "other.zip", pack_again(sound | {"data/figures.json": b'{"format":2}\n'}))
    report = verify(path)
    wanted = {"read": RECOMPUTED, "compare": RECOMPUTED[:-1], "render": ("pages",)}[stage]
    place = "data/figures.json" if stage == "compare" else "data/log/entries/2024-03-01-fixed.md"
    assert {key for key in RECOMPUTED if states(report)[key] == "fails"} == {*wanted}
    assert {find(report, key).flaws[0].file for key in wanted} == {place}
    assert_no_exception_is_named(report)


def test_memory_that_does_not_suffice_is_no_fault_of_the_bag(
    sound: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A limit that is met ends the run: what was not seen is not called wrong."""

    def run_out(*_: object, **__: object) -> object:
        raise MemoryError

    monkeypatch.setattr(recompute, "read_handed", run_out)
    with pytest.raises(MemoryError):
        verify(write_zip(tmp_path / "bag.zip", sound))


def test_the_process_apart_never_hands_on_what_python_says(
    sound: dict[str, bytes], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However its process ends, the answer is a sentence of ours."""
    monkeypatch.setattr("buildlog.handover.run_apart.sys.executable", write_program(tmp_path, "raise LookupError('x')"))
    report = verify_bag(write_zip(tmp_path / "bag.zip", sound), recheck_apart)
    assert {states(report)[key] for key in RECOMPUTED} == {"cannot be checked"}
    assert_no_exception_is_named(report)


def write_program(folder: Path, code: str) -> str:
    """A Python that runs this code, whatever it is asked to."""
    import sys

    program = folder / "python"
    program.write_text(f"#!{sys.executable}\n{code}\n")
    program.chmod(0o755)
    return str(program)


def assert_no_exception_is_named(report: Report) -> None:
    for text in (report.as_text(), report.as_json()):
        assert not re.search(r"\b[A-Z]\w+(Error|Exception|Iteration)\b|Traceback|deep inside", text)


@pytest.mark.parametrize("count", [1, 2, 3, 7, 40])
def test_the_entry_that_stops_the_work_is_found(count: int) -> None:
    """For each of so many entries: the one without which the work goes well; `log.yaml` where none makes it go well."""
    entries = [f"e{number}" for number in range(count)]
    for wanted in entries:
        assert find_stopper(entries, lambda some, wanted=wanted: wanted in some) == wanted  # type: ignore[misc]  # bound
    assert find_stopper(entries, lambda some: True) == "log.yaml"


def test_a_refund_of_an_old_bag_is_with_tax() -> None:
    """Until format 3 a refund that said nothing was with tax: 12.00 of a net price of 10.00 at 20 %; since, 14.40."""
    head = (
        "---\ndate: 2024-03-01\ntitle: T\nbought: {from: S, ref: A1, paid: 2024-03-01, prices: net, tax: 20, "
        "lines: {what: X, each: 50.00}}\nreturned: {ref: A1, refund: 12.00}\n---\n"
    )
    texts = {"log.yaml": b"machine: {name: M}\nmoney: {currency: GBP}\n", "entries/e1.md": head.encode()}
    for format, refunded in ((1, "12.00"), (2, "12.00"), (3, "14.40")):
        figures = read_handed(texts, texts, datetime.date(2024, 12, 31), format=format).figures
        assert figures and str(figures.costs.refunded.amount) == refunded
