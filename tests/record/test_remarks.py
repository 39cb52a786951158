"""What a record contradicts in itself fails; what must be known beside an answer that holds is told, and where."""

from __future__ import annotations

import datetime
import json
import re
from pathlib import Path

import pytest

from buildlog.handover.findings import Finding, Report
from tests.record import forgeries
from tests.record.bags import answer, find, verify, write_zip
from tests.record.forgeries import AS_OF, DAYS, LIES, Files, hand, make_all_anew, make_key, make_log, seal_last_anew
from tests.record.logs import write_files

TODAY = datetime.date(2024, 6, 10)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("forgeries")


@pytest.fixture(scope="module")
def key(place: Path) -> Path:
    return make_key(place, "owner")


@pytest.fixture(scope="module")
def log(place: Path, key: Path) -> Path:
    return make_log(place / "log", key)


@pytest.fixture(scope="module")
def sound(log: Path) -> Files:
    return hand(log)


def list_rules(finding: Finding) -> list[tuple[str, str]]:
    return [(one.rule, one.file) for one in (*finding.flaws, *finding.notes)]


def find_words(finding: Finding, rule: str) -> list[str]:
    return [one.message for one in (*finding.flaws, *finding.notes) if one.rule == rule]


def verify_files(files: Files, folder: Path) -> Report:
    return verify(write_zip(folder / "bag.zip", files))


def test_of_a_signed_bag_nothing_is_remarked(sound: Files) -> None:
    """Four seals, four signatures of one key: no flaw, no note."""
    found = answer(sound, TODAY)
    assert {key: one.state for key, one in found.items()} == {
        "files": "holds", "sealed": "holds", "seals": "holds", "stamps": "cannot be checked", "signatures": "holds",
        "withheld": "holds",
    }  # fmt: skip
    assert [one for finding in found.values() for one in list_rules(finding)] == []
    assert b"Read this first" not in sound["data/CHECK.md"]
    assert b"left out" not in sound["data/site/index.html"]
    words = b"All of them were made with one key, SHA256:"
    assert words in sound["data/CHECK.md"]


@pytest.mark.parametrize("name", LIES)
def test_a_lie_is_told_where_it_stands(sound: Files, name: str) -> None:
    """With every sum made to fit: the question, its state, the rule and the file."""
    _, key, state, rule, file = LIES[name]
    finding = answer(forgeries.tell_lie(sound, name), TODAY)[key]
    assert finding.state == state
    assert (rule, file) in list_rules(finding)


def test_what_no_signature_covers_is_told_with_its_money(sound: Files) -> None:
    """Seals 3 and 4 unsigned: the entries that they added, 30.25 + 40.00, by name; told before all answers."""
    found = answer(forgeries.tell_lie(sound, "last two signatures dropped"), TODAY)["signatures"]
    assert find_words(found, "not-vouched") == [
        "no signature or time stamp covers 2 entries of the log as they are here: `2024-04-01-job.md`, "
        "`2024-05-01-job.md`; according to `data/figures.json`, 70.25 GBP of what was spent is in them"
    ]
    assert find_words(found, "last-not-signed") == [
        "the last seal, 4 of 2024-05-02, is not signed, though earlier ones are: anybody could have made it"
    ]
    report = Report(findings=(found,))
    assert {one.rule for one in report.first} == {"last-not-signed", "not-vouched"}
    first, rest = report.as_text().split("\n\n", 1)
    assert first.endswith("\nBefore you rely on that, read what comes first below.")
    assert rest.startswith("read this first: data/seals/0004.json: the last seal, 4 of 2024-05-02, is not signed")


def test_a_last_seal_made_anew_over_a_changed_entry_is_told(log: Path, tmp_path: Path) -> None:
    """Three of four seals signed never reads *holds*: what was changed under the fourth is named, 12.50 + 40.00."""
    files = seal_last_anew(log, tmp_path / "log")
    assert b"**Read this first:** the last seal, 4 of 2024-05-02, is not signed" in files["data/CHECK.md"]
    found = answer(files, TODAY)["signatures"]
    assert found.state == "cannot be checked"
    [words] = find_words(found, "not-vouched")
    assert "`2024-03-01-job.md`, `2024-05-01-job.md`" in words
    assert "52.50 GBP" in words


def test_another_key_is_told_as_a_change_of_key(log: Path, place: Path, tmp_path: Path) -> None:
    """Both fingerprints, and from which seal on; told first, as a signature by anybody holds."""
    files = seal_last_anew(log, tmp_path / "log", key=make_key(tmp_path, "forger"))
    text = files["data/CHECK.md"].decode()
    assert "They were made with 2 keys, so\nnothing here shows that the same person made these seals." in text
    assert len(set(re.findall(r"^- seal [1-4]: (SHA256:\S{43})$", text, re.MULTILINE))) == 2
    assert "with one key" not in text
    found = answer(files, TODAY)["signatures"]
    assert found.state == "holds"
    [words] = find_words(found, "another-key")
    assert words.startswith("a change of key: seal 4 is signed with SHA256:")
    assert ", seal 3 with SHA256:" in words
    assert Report(findings=(found,)).first


def test_figures_of_an_earlier_day_tell_what_they_leave_out(log: Path) -> None:
    """As of 15 March over a log that runs to May: two entries, by name, and the seals that are later.

    In the bag as well: on each page with figures of the day, and in CHECK.md. An entry's page and the timeline are the
    same on any day.
    """
    files = hand(log, datetime.date(2024, 3, 15))
    words = b"2 entries of a later day are left out: not counted, and not on any page."
    without = {
        name.removeprefix("data/site/")
        for name, raw in files.items()
        if name.endswith(".html") and "site/" in name and words not in raw
    }
    assert without == {"timeline.html", "entries/2024-02-01-job.html", "entries/2024-03-01-job.html"}
    assert b"**Read this first:** 2 entries are dated after the figures" in files["data/CHECK.md"]
    found = answer(files, TODAY)["withheld"]
    assert find_words(found, "entries-left-out") == [
        "2 entries are dated after the figures, which are as of 2024-03-15: not counted and not on any page, "
        "the last dated 2024-05-01; `2024-04-01-job.md`, `2024-05-01-job.md`"
    ]
    assert find_words(found, "figures-older") == [
        "the figures are as of 2024-03-15, but the last seal is dated 2024-05-02: ask for newer ones"
    ]
    assert [one.rule for one in Report(findings=(found,)).first] == ["entries-left-out", "figures-older"]


def test_an_entry_that_hides_its_day_from_its_name_is_told_too(tmp_path: Path) -> None:
    """The day of an entry is what it says; without one in the file's name, the computation finds it."""
    log = make_log(tmp_path / "log", None)
    write_files(log, {"entries/late.md": b"---\ntitle: Late\ndate: 2024-09-01\n---\nLate.\n"})
    forgeries.seal(log, DAYS[-1], None)
    report = verify_files(hand(log), tmp_path)
    [sealed] = [one for one in find(report, "totals").notes if one.rule == "sealed-before-its-day"]
    assert (sealed.file, sealed.message.rpartition(": ")[2]) == ("data/seals/0005.json", "`late.md`")
    [words] = find_words(find(report, "totals"), "entries-left-out")
    assert words.endswith("not counted and not on any page, the last dated 2024-09-01; `late.md`")
    assert {one.rule for one in report.first} == {"entries-left-out", "sealed-before-its-day"}


def test_a_last_seal_without_the_stamp_of_earlier_ones_is_told(sound: Files) -> None:
    """As with signatures; what the seals that have neither signature nor stamp cover is none, as all are signed."""
    found = answer(forgeries.pack_again(sound | {"data/seals/0002.tsr": b"a stamp"}), TODAY)["stamps"]
    assert [(one.rule, one.file) for one in found.notes] == [("last-not-stamped", "data/seals/0004.json")]


@pytest.mark.parametrize(
    ("time", "rule", "words"),
    [
        (
            b"20261102120000Z",
            "stamp-long-after",
            "it is dated 2026-11-02, 914 days later than its seal, 2024-05-02: it proves only its own day",
        ),
        (
            b"20240430235959Z",
            "stamp-earlier",
            "it is dated 2024-04-30, but its seal is dated 2024-05-02, which is impossible",
        ),
        (
            b"20240602235959Z",
            "stamp-later",
            "it is dated 2024-06-02, 31 days later than its seal, 2024-05-02: it proves only its own day",
        ),
        (
            b"20240603000000Z",
            "stamp-long-after",
            "it is dated 2024-06-03, 32 days later than its seal, 2024-05-02: it proves only its own day",
        ),
        (b"20240503235959Z", "", ""),
        (b"20240501000000Z", "", ""),
    ],
)
def test_a_stamp_of_another_day_than_its_seal_is_told(sound: Files, time: bytes, rule: str, words: str) -> None:
    """Between 2024-05-02 and 2026-11-02 lie 914 days; a day is a clock elsewhere, a month an owner's way."""
    stamp = forgeries.write_stamp(time)
    found = answer(forgeries.pack_again(sound | {"data/seals/0004.tsr": stamp}), TODAY)["stamps"]
    told = {one.rule: one.message for one in (*found.flaws, *found.notes) if one.rule.startswith("stamp-")}
    told.pop("stamp-fails")  # no authority made it
    assert told == ({rule: words} if rule else {})
    assert bool(Report(findings=(found,)).first) == (rule == "stamp-long-after")


def test_figures_of_a_day_to_come_are_told(sound: Files) -> None:
    """Nobody can have computed what has not happened; a clock that is a day late is no reason to say so."""
    assert list_rules(answer(sound, AS_OF - datetime.timedelta(1))["withheld"]) == []
    found = answer(sound, AS_OF - datetime.timedelta(2))["withheld"]
    assert list_rules(found) == [("day-to-come", "data/handover.json")]


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (
            datetime.date(1, 1, 1),
            "it is dated 0001-01-01, which is impossible: seals use a standard published in 2020-06",
        ),
        (datetime.date(2020, 5, 31), "it is dated 2020-05-31, which is impossible"),
    ],
)
def test_a_seal_older_than_its_format_fails(tmp_path: Path, day: datetime.date, words: str) -> None:
    """No seal was written before the standard that it is written by (RFC 8785, June 2020)."""
    found = answer(hand(make_log(tmp_path / "log", None, [day, *DAYS[1:]])), TODAY)["seals"]
    assert found.state == "fails"
    assert [message for message in find_words(found, "date-impossible") if message.startswith(words)]


def test_a_seal_of_a_day_to_come_fails(tmp_path: Path) -> None:
    """The year 9999 has not come."""
    files = hand(make_log(tmp_path / "log", None, [*DAYS[:3], datetime.date(9999, 12, 31)]))
    found = answer(files, TODAY)["seals"]
    assert find_words(found, "date-impossible") == ["it is dated 9999-12-31, which is impossible: today is 2024-06-10"]
    assert found.state == "fails"


def test_a_seal_dated_before_what_it_covers_is_told(tmp_path: Path) -> None:
    """The third entry is named after 1 April: a seal of 15 March can have known nothing of it."""
    files = hand(make_log(tmp_path / "log", None, [*DAYS[:2], datetime.date(2024, 3, 15), DAYS[3]]))
    found = answer(files, TODAY)["seals"]
    assert [(one.rule, one.file, one.message) for one in found.notes] == [
        (
            "sealed-before-its-day",
            "data/seals/0003.json",
            "it is dated 2024-03-15, but covers entries dated later, which is impossible: `2024-04-01-job.md`",
        )
    ]


def test_another_machine_in_the_list_fails(sound: Files, tmp_path: Path) -> None:
    """List and description agree, and the log's own settings do not."""
    for name in ("data/handover.json", "bag-info.txt"):
        sound = sound | {name: sound[name].replace(b"Grey tender", b"Red cruiser")}
    finding = find(verify_files(forgeries.pack_again(sound), tmp_path), "identity")
    assert finding.state == "fails"
    assert ("machine-differs", "data/handover.json") in list_rules(finding)


# ── by effort ────────────────────────────────────────────────────────────────────────────────────────────────────


def list_found(report: Report) -> set[str]:
    """The questions that fail, and the rules that are told before all answers."""
    return {one.key for one in report.findings if one.state == "fails"} | {f"first: {one.rule}" for one in report.first}


RECOMPUTED = {"totals", "evidence", "pages"}
EFFORTS: list[tuple[str, set[str]]] = [
    ("an entry", {"files", "sealed", *RECOMPUTED}),
    ("an entry and the manifests", {"sealed", *RECOMPUTED}),
    ("figures too", {"sealed", "pages"}),
    ("the site too", {"sealed"}),
    ("the last seal too, under its old signature", {"signatures"}),
    ("the last seal too, unsigned", {"first: last-not-signed", "first: not-vouched"}),
    ("the last seal too, signed by the forger", {"first: another-key"}),
    ("everything, signed by the forger", set()),
    ("everything, unsigned", set()),
]
"What is made anew, and what finds it."


@pytest.fixture(scope="module")
def forged(log: Path, sound: Files, place: Path) -> dict[str, Files]:
    forger, again = make_key(place, "forger"), forgeries.pack_again
    changed = forgeries.change_entry(sound)
    return {
        "an entry": changed,
        "an entry and the manifests": again(changed),
        "figures too": again(forgeries.remake(changed, site=False)),
        "the site too": again(forgeries.remake(changed, site=True)),
        "the last seal too, under its old signature": seal_last_anew(log, place / "stale", stale=True),
        "the last seal too, unsigned": seal_last_anew(log, place / "unsigned"),
        "the last seal too, signed by the forger": seal_last_anew(log, place / "signed", key=forger),
        "everything, signed by the forger": make_all_anew(place / "all-signed", forger),
        "everything, unsigned": make_all_anew(place / "all", None),
    }


@pytest.mark.parametrize(("effort", "wanted"), EFFORTS)
def test_what_a_forger_has_to_make_anew(
    forged: dict[str, Files], tmp_path: Path, effort: str, wanted: set[str]
) -> None:
    """Each thing more that is made anew silences one question more; nothing in the bag speaks against the last two."""
    assert list_found(verify_files(forged[effort], tmp_path)) == wanted


def test_what_was_kept_outside_finds_what_the_bag_cannot(forged: dict[str, Files], sound: Files) -> None:
    """A code, a fingerprint or a copy of a seal, noted when the record was seen, contradicts what was made anew."""
    kept = answer(sound, TODAY)
    for effort in ("everything, signed by the forger", "everything, unsigned"):
        found = answer(forged[effort], TODAY)
        assert find_code(found["seals"]) != find_code(kept["seals"])
        assert forged[effort]["data/seals/0002.json"] != sound["data/seals/0002.json"]
    signed = answer(forged["everything, signed by the forger"], TODAY)["signatures"]
    assert signed.state == "holds"
    assert find_key(signed) != find_key(kept["signatures"])


def find_code(finding: Finding) -> str:
    return finding.says.partition("code ")[2]


def find_key(finding: Finding) -> str:
    return finding.says.partition("SHA256:")[2][:43]


def test_notes_are_shown_beside_their_answers(sound: Files, tmp_path: Path) -> None:
    """In text below the answer, in JSON with rule, file and message; a note alone makes nothing fail."""
    report = verify_files(forgeries.tell_lie(sound, "certificates alone"), tmp_path)
    assert not report.failed
    row = "note: data/seals/0001.ca.pem: it should vouch for a time stamp, but there is none"
    assert f"\n{'':23}{row}\n" in report.as_text()
    told = json.loads(report.as_json())["findings"][2]["notes"]
    assert [(one["rule"], one["file"]) for one in told] == [("no-stamp-for-it", "data/seals/0001.ca.pem")]
