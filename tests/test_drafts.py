"""New files: valid as they stand, still valid when every hint is uncommented, and never written over anything."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from buildlog.drafts import SURELY_PLAIN, Known, draft_entry, draft_log, draft_next, write_new_files, write_text
from buildlog.problems import show_problems
from buildlog.read.files import LogFiles
from buildlog.read.log_settings import MACHINE_KINDS
from buildlog.read.reader import read_files, read_log
from buildlog.read.records import Log
from buildlog.read.salvage import read_yaml
from buildlog.read.schema import entry_schema
from buildlog.read.yaml_tree import Listing, Scalar
from tests.support import log_of
from tests.test_cli import make_log
from tests.test_stages import TWO, compute

DAY = datetime.date(2024, 5, 18)


def read(settings: str, entries: dict[str, str]) -> Log:
    reading = read_files(LogFiles(settings=settings, entries=entries))
    assert reading.problems == (), show_problems(reading.problems, reading.texts)
    assert reading.log is not None
    return reading.log


ID = "0d4f2a52-9a3a-4a53-8a86-3a1d1f0c2b7e"


def uncomment(text: str) -> str:
    """The text with every hint taken up: lines that start with `# key:` or `#   - `, and those indented."""
    return re.sub(r"^( *)# (?=[a-z_]+:|  )", r"\1", text, flags=re.MULTILINE)


@pytest.mark.parametrize("unit", ["mi", "km", "h"])
@pytest.mark.parametrize("kind", MACHINE_KINDS)
def test_new_log_reads_without_a_problem(kind: str, unit: str) -> None:
    """A log that was just started has its machine, its money and one entry, and nothing to complain of."""
    texts = draft_log("Old Bess", kind=kind, currency="GBP", unit=unit, today=DAY, id=ID)
    assert list(texts) == ["log.yaml", "entries/2024-05-18-the-log-begins.md"]
    log = read(texts["log.yaml"], {"2024-05-18-the-log-begins.md": texts["entries/2024-05-18-the-log-begins.md"]})
    machine = log.settings.machine
    assert (machine.name, machine.kind, log.settings.money.currency) == ("Old Bess", kind, "GBP")
    assert machine.meter is not None and machine.meter.unit == unit
    assert [(entry.date, entry.title) for entry in log.entries] == [(DAY, "The log begins")]


@pytest.mark.parametrize("unit", ["km", "h"])
def test_hints_of_a_new_log_are_valid_too(unit: str) -> None:
    """Every commented line can be uncommented as it is."""
    texts = draft_log("Old Bess", kind="boat", currency="EUR", unit=unit, today=DAY, id=ID)
    log = read(uncomment(texts["log.yaml"]), {"e.md": uncomment(texts["entries/2024-05-18-the-log-begins.md"])})
    settings = log.settings
    assert settings.acquired is not None and settings.acquired.date == DAY
    assert settings.machine.vin is not None and settings.machine.registration is not None
    assert settings.money.hour_rate == 25
    assert settings.money.budget["engine"] == 600
    assert settings.service["engine-oil"].every.months == 12
    assert (settings.service["engine-oil"].every.hours is not None) == (unit == "h")
    assert settings.site.author == "A pen name"
    assert settings.public.prices == "totals"
    assert log.entries[0].reading is not None


@pytest.mark.parametrize(
    ("head", "hint"),
    [
        ("meter_changed: {old: 600, new: 0}", "# reading: 0 "),
        ("reading: 590\nmeter_changed: {old: 600, new: 5, reading_of: old}", "# reading: 5 "),
        ("reading: 12\nmeter_changed: {old: 600, new: 0}", "# reading: 12 "),
    ],
)
def test_the_next_entry_starts_from_the_new_meter(head: str, hint: str) -> None:
    """After a change the hint is what the new meter showed, never the old one's last reading."""
    log = log_of("date: 2024-05-01\nreading: 580", f"date: 2024-05-10\n{head}")
    text = draft_entry(log, "Next", date=datetime.date(2024, 6, 1), known=Known())[1]
    assert hint in text


def test_next_entry_is_filled_with_what_is_known() -> None:
    """The last reading up to that day, shelf, post and open faults stand as comments; the title in the file name."""
    log = log_of(
        "date: 2024-05-01\nreading: 112480", "date: 2024-05-10\nhours: 2", "date: 2024-06-01\nreading: 112600 mi"
    )
    name, text = draft_entry(
        log,
        "Lift pump off: the cause",
        date=DAY,
        known=Known(
            shelf=(("lift-pump-seal", "Lift pump seal, 1"),),
            post=(
                ("KM-77120", "Kanaal Motordelen, ordered 2024-05-06"),
                ("a, b", ""),
            ),
            to_check=(("hot-start", "Cranks but will not start hot; left: lift-pump, tank-pickup"),),
            to_fix=(("pull", "Pulls left"),),
            to_prove=(("squeal", "Squeals when wet"),),
        ),
    )
    assert name == "2024-05-18-lift-pump-off-the-cause.md"
    assert text == (
        """\
---
date: 2024-05-18
title: 'Lift pump off: the cause'
# hours: 1.5
# reading: 112480  # as it was on 2024-05-01
# systems: [fuel, brakes]  # keep those that were worked on
# fitted:  # on the shelf
#   - {part: lift-pump-seal}  # Lift pump seal, 1
# arrived:  # in the post
#   - KM-77120  # Kanaal Motordelen, ordered 2024-05-06
#   - 'a, b'
# checks:  # open faults
#   - {fault: hot-start, did: What was done and seen}  # Cranks but will not start hot; left: lift-pump, tank-pickup
# fixed:  # waiting for a fix, or to be confirmed
#   - {fault: pull, how: What was done}  # Pulls left
#   - {fault: squeal, proved: What confirmed it}  # Squeals when wet
# next: [What comes next]
---

"""
    )


FULL = Known(
    off=(("tray", "Tray: off"),),
    due=(("oil", "Oil: overdue"),),
    to_tighten=(("Wheel nuts, all", "110 N·m + 90°", "check again: due"),),
    temporary=(("cap", "A cork; until Friday"),),
    to_do=(("Order a pump: exchange", "since 2024-05-01"), ("cap", "Order a cap")),
    cores=(("#1", "pump", "45.00", "Lift pump"),),
    notes=("Warranty of Lift pump ends on 2024-06-01",),
    shelf=(("seal", "Seal #2"),),
    post=(("#1", "A: b"),),
    to_check=(("f", "Fault: #1"),),
    to_fix=(("g", ""),),
    to_prove=(("h", ""),),
)


def test_next_entry_is_valid_as_it_stands_and_uncommented() -> None:
    """Written with nothing added it is an entry; with every hint taken up it is one too."""
    log = log_of("date: 2024-05-01")
    name, text = draft_entry(log, "Pump", date=DAY, known=FULL)
    settings = (
        "machine: {name: M}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel, brakes: Brakes}\n"
        "service: {oil: {name: Oil, every: {months: 12}}}\nstrip_downs: {tray: {name: Tray, hours: 1}}\n"
    )
    assert read(settings, {name: text}).entries[0].title == "Pump"
    entry = read(settings, {name: uncomment(text)}).entries[0]
    assert [fitted.part for fitted in entry.fitted] == ["seal"]
    assert [arrival.ref for arrival in entry.arrived] == ["#1"]
    assert [(check.fault, check.did) for check in entry.checks] == [("f", "What was done and seen")]
    assert (entry.refitted, entry.made_good, entry.done) == (("tray",), ("cap",), ("Order a pump: exchange", "cap"))
    assert [(done.item, done.parts) for done in entry.serviced] == [("oil", ())]
    assert [(one.what, one.to) for one in entry.tightened] == [("Wheel nuts, all", "110 N·m + 90°")]
    assert [(back.ref, back.part, back.core) for back in entry.returned] == [("#1", "pump", Decimal("45.00"))]
    told = [(fix.fault, bool(fix.how), bool(fix.proved)) for fix in entry.fixed]
    assert told == [("g", True, False), ("h", False, True)]
    assert (entry.hours, entry.systems, entry.next[0].what) == (Decimal("1.5"), ("fuel", "brakes"), "What comes next")


def test_photos_are_listed_and_their_words_are_left_to_the_owner() -> None:
    """A blank `says:` is valid and brings one warning a photo: what it shows is not said yet."""
    known = Known(photos=("01-img-7.jpg", "My crack #2.jpg", "3.jpg"))
    name, text = draft_entry(log_of(), "Pump", date=DAY, known=known)
    assert text == (
        """\
---
date: 2024-05-18
title: Pump
# hours: 1.5
# reading: 0
# systems: [fuel, brakes]  # keep those that were worked on
# next: [What comes next]
photos:  # after `says:`, what each shows, also for people who cannot see it
  - file: 01-img-7.jpg
    says:
  - file: 'My crack #2.jpg'
    says:
  - file: 3.jpg
    says:
---

"""
    )
    photos = ("01-img-7.jpg", "My crack #2.jpg", "3.jpg")
    settings = "machine: {name: M}\nmoney: {currency: GBP}\nsystems: {fuel: Fuel, brakes: Brakes}\n"
    for written in (text, uncomment(text)):
        reading = read_files(
            LogFiles(settings=settings, entries={name: written}, photos={name.removesuffix(".md"): photos})
        )
        assert reading.log is not None
        assert [(photo.file, photo.says) for photo in reading.log.entries[0].photos] == [(n, None) for n in photos]
        assert [(problem.rule, problem.severity) for problem in reading.problems] == [
            ("photo-says-nothing", "warning")
        ] * 3
    check_schema(text)


def check_schema(text: str) -> None:
    """An editor that checks by our JSON Schema finds nothing wrong with the front matter of a draft."""
    front = yaml.safe_load(text.split("---\n")[1])
    jsonschema.validate(front | {"date": str(front["date"])}, entry_schema())


def test_no_reading_and_the_one_at_purchase() -> None:
    """A log without a reading says so; the reading at purchase counts until there is a later one."""
    assert "# reading: 0\n" in draft_entry(log_of(), "T", date=DAY, known=Known())[1]
    settings = (
        "machine: {name: M, meter: {unit: mi}}\nmoney: {currency: GBP}\nacquired: {date: 2024-02-03, reading: 99 km}"
    )
    text = draft_entry(log_of(settings=settings), "T", date=DAY, known=Known())[1]
    assert "# reading: 99 km  # as it was on 2024-02-03\n" in text


def test_names_of_entries_do_not_meet() -> None:
    """Two sessions on one day under one title get different files; a title without letters leaves the date."""
    log = log_of()
    names = ["2024-05-18-pump", "2024-05-18-pump-2"]
    taken = read(
        "machine: {name: M}\nmoney: {currency: GBP}\n",
        {f"{name}.md": "---\ndate: 2024-05-18\ntitle: Pump\n---\n" for name in names},
    )
    assert draft_entry(log, "Pump!", date=DAY, known=Known())[0] == "2024-05-18-pump.md"
    assert draft_entry(taken, "Pump", date=DAY, known=Known())[0] == "2024-05-18-pump-3.md"
    assert draft_entry(log, "¿¡", date=DAY, known=Known())[0] == "2024-05-18.md"


@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1).filter(lambda text: any(map(str.isalnum, text))))
def test_any_title_is_read_back(title: str) -> None:
    """Whatever is typed as a title becomes an entry with that title, white space and control characters made blanks."""
    name, text = draft_entry(log_of(), title, date=DAY, known=Known())
    entry = read("machine: {name: M}\nmoney: {currency: GBP}\n", {name: text}).entries[0]
    assert re.findall(r"\w", entry.title) == re.findall(r"\w", title)


def test_new_files_are_written_and_nothing_is_written_over(tmp_path: Path) -> None:
    """All or nothing: where one file is there already none is written, and the error names it."""
    texts = {"log.yaml": "a\n", "entries/e.md": "ü\r\n"}
    folder = tmp_path / "new"
    assert write_new_files(folder, texts) == [folder / "log.yaml", folder / "entries/e.md"]
    assert (folder / "entries/e.md").read_bytes() == b"\xc3\xbc\r\n"
    (folder / "log.yaml").unlink()
    with pytest.raises(FileExistsError) as caught:
        write_new_files(folder, texts)
    assert caught.value.filename == str(folder / "entries/e.md")
    assert not (folder / "log.yaml").exists()


def test_a_link_that_leads_nowhere_is_not_written_through(tmp_path: Path) -> None:
    """A link counts as a file that is there, wherever it leads."""
    (tmp_path / "log.yaml").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FileExistsError):
        write_new_files(tmp_path, {"log.yaml": "a"})
    assert not (tmp_path / "elsewhere").exists()


def test_started_log_reads_from_disk(tmp_path: Path) -> None:
    """What `draft_log` names and `write_new_files` writes is a log."""
    write_new_files(tmp_path, draft_log("Old: Bess", kind="boat", currency="EUR", unit="h", today=DAY, id=ID))
    reading = read_log(tmp_path)
    assert reading.problems == ()
    assert reading.log is not None and reading.log.settings.machine.name == "Old: Bess"


def test_a_draft_of_an_earlier_day_knows_no_more_than_that_day(tmp_path: Path) -> None:
    """Neither the clamp nor the reading of the later entry is offered; its file name is taken all the same."""
    figures = compute(make_log(tmp_path / "log", TWO), datetime.date(2024, 5, 20)).figures
    assert figures is not None
    ((path, text),) = draft_next(figures, "Second", datetime.date(2024, 5, 20)).texts.items()
    assert path == "entries/2024-05-20-second.md"
    assert "clamp" not in text and "500" not in text
    assert [*draft_next(figures, "Second", datetime.date(2024, 6, 2)).texts] == ["entries/2024-06-02-second-2.md"]


@given(
    st.text(st.sampled_from("aN0 ._-~lu"), max_size=8) | st.sampled_from(["null", "Null", "NULL", "nULL", "no", "1e5"])
)
def test_what_is_surely_plain_is_read_as_it_stands(text: str) -> None:
    """Texts that the reader is not asked about are those that it would take without quotes."""
    if SURELY_PLAIN.fullmatch(text):
        node, problems = read_yaml(f"[{text}]", "")
        assert isinstance(node, Listing) and not problems
        [item] = node.items
        assert isinstance(item, Scalar) and (item.text, item.plain, item.blank) == (text, True, False)
        assert write_text(text) == text
    else:
        assert write_text("Null") == "'Null'"
