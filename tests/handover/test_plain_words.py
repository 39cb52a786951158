"""What a buyer reads who has never seen a checksum: one true sentence, what was checked, what to ask the seller.

The bounds of the questions (75 days, a fiftieth, three of a kind) are ours; no standard sets them.
"""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from buildlog.handover.asks import ask_of_figures
from buildlog.handover.findings import FIRST, Report, leave_open
from buildlog.handover.pack import hand_over
from buildlog.handover.verify import RECOMPUTED, verify_bag
from buildlog.record.rules import WORDS, name_rule, say_day
from buildlog.record.seals import read_code, write_code
from tests.record import forgeries
from tests.record.bags import DAY, VIN, hand, load, pack_again, verify, write_log, write_sealed, write_zip
from tests.record.test_verify import FIGURES, Files, edit_json, replace

TECHNICAL = re.compile(
    r"checksum|hash|manifest|\broots?\b|\bleaf\b|merkle|bagit|\bbags?\b|sha.?256|\brfc\b|json|canonical|payload|digest",
    re.IGNORECASE,
)
ENTRY = "data/log/entries/2024-06-02-first-drive.md"
PHOTO = "data/log/photos/2024-05-18-lift-pump/IMG-1.jpg"


def find_technical(text: str) -> list[str]:
    """The technical words in a text or a page, markup and style left out."""
    plain = re.sub(r"<(style|script)>.*?</\1>|<[^>]*>", " ", text, flags=re.DOTALL)
    return TECHNICAL.findall(unescape(plain))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plain")


@pytest.fixture(scope="module")
def sound(folder: Path) -> Files:
    hand(write_sealed(folder / "log"), folder / "bag")
    return load(folder / "bag")


@pytest.fixture(scope="module")
def report(folder: Path, sound: Files) -> Report:
    return verify(folder / "bag")


# ── the verdict ──────────────────────────────────────────────────────────────────────────────────────────────────


def drop(*names: str) -> Callable[[Files], Files]:
    return lambda files: {name: raw for name, raw in files.items() if name not in names}


def add(name: str) -> Callable[[Files], Files]:
    return lambda files: files | {name: files[name] + b"\n"}


BARE = drop("bagit.txt", "data/handover.json")
AS_IT_CAME: dict[str, tuple[Callable[[Files], Files], str]] = {
    "nothing": (lambda files: files, "holds"),
    "an entry changed": (add(ENTRY), "changed"),
    "a page changed": (add("data/site/index.html"), "changed"),
    "the first page changed": (add("START-HERE.html"), "changed"),
    "a photo gone": (drop(PHOTO), "missing"),
    "a seal gone": (drop("data/seals/0001.json"), "missing"),
    "an entry changed, a photo gone": (lambda files: add(ENTRY)(drop(PHOTO)(files)), "both"),
    "another folder": (lambda files: {"notes.txt": b"x", "data/a.txt": b"y"}, "no-record"),
}
MENDED: dict[str, tuple[Callable[[Files], Files], str]] = {
    "an entry changed": (add(ENTRY), "changed"),
    "a photo gone": (drop(PHOTO), "missing"),
    "a total changed": (replace(FIGURES, '"spent":"133.10"', '"spent":"113.10"'), "contradicts"),
    "the first page forged": (replace("START-HERE.html", "They cannot show", "They show"), "contradicts"),
    "the first page gone": (drop("START-HERE.html"), "missing"),
    "another day in bag-info.txt": (replace("bag-info.txt", "2024-11-30", "2024-12-01"), "contradicts"),
}
"By a cheat, who makes all lists of checksums anew."


def verify_quickly(files: Files, folder: Path, code: str = "") -> Report:
    path = write_zip(folder / "bag.zip", files)
    left: Any = lambda packed, handover: {key: leave_open(key, "") for key in RECOMPUTED}  # noqa: E731
    return verify_bag(path, left, read_code(code) if code else None)


@pytest.mark.parametrize("name", AS_IT_CAME)
def test_the_verdict_on_a_bag_as_it_came(sound: Files, tmp_path: Path, name: str) -> None:
    """Each case has its own sentence, and it is the first line that is printed."""
    change, rule = AS_IT_CAME[name]
    report = verify_quickly(change(sound), tmp_path)
    assert report.verdict.rule == rule
    assert report.as_text().startswith(f"{report.verdict.says}.\n")
    assert report.failed == (rule != "holds")


@pytest.mark.parametrize("name", MENDED)
def test_the_verdict_on_a_bag_that_a_cheat_packed_again(sound: Files, tmp_path: Path, name: str) -> None:
    """A forged START-HERE.html, total or entry is told, whatever lists fit it."""
    change, rule = MENDED[name]
    assert verify_quickly(pack_again(change(sound)), tmp_path).verdict.rule == rule


def test_the_other_verdicts(sound: Files, tmp_path: Path) -> None:
    """What is no zip, what was never sealed, and what has not the code that was kept."""
    (tmp_path / "no.zip").write_bytes(b"no zip")
    refused = verify_bag(tmp_path / "no.zip", lambda packed, handover: {})
    assert refused.verdict.says == "This could not be checked: this is neither a folder nor a complete zip"
    assert refused.checked == ()
    hand(write_log(tmp_path / "log"), tmp_path / "open")
    assert verify_quickly(load(tmp_path / "open"), tmp_path).verdict.rule == "unsealed"
    other = verify_quickly(sound, tmp_path, write_code("0" * 64))
    assert (other.verdict.rule, other.code) == ("other", "")


def test_the_sentence_of_a_sound_bag(report: Report) -> None:
    """It says no more than was found: that of entries, photos and papers since the day of the last seal."""
    assert report.verdict.says == (
        "No entry, photo or paper in this package was changed since it was sealed on 10 June 2024; "
        "that date, and what was written up to then, is the owner’s word"
    )
    states = [state for state, _ in report.checked]
    assert (states.count("holds"), states.count("cannot be checked")) == (10, 2)
    data = json.loads(report.as_json())
    assert data["verdict"] == {"rule": "holds", "says": report.verdict.says}
    assert [one["says"] for one in data["checked"]] == [says for _, says in report.checked]
    assert [one["rule"] for one in data["ask"]] == [one.rule for one in report.asks]


def test_what_is_left_open_is_one_line(sound: Files, tmp_path: Path) -> None:
    """Six questions that nothing answered here are told together."""
    told = [says for _, says in verify_quickly(sound, tmp_path).checked if says.startswith("Not checked")]
    assert told == [
        "Not checked here: whether the figures follow from the entries; whether the pages and pictures show what the "
        "entries say. The details say what can check it"
    ]


# ── a code that was kept ─────────────────────────────────────────────────────────────────────────────────────────


def test_a_short_code_that_was_kept(sound: Files, tmp_path: Path) -> None:
    """The first seal is of 3 June; the second, of 10 June, amended one entry and added none."""
    first, last = (json.loads(sound[f"data/seals/000{number}.json"])["root"] for number in (1, 2))
    assert verify_quickly(sound, tmp_path, write_code(first)).code == (
        "The short code you kept is in this record: it is that of the seal of 3 June 2024, and all that it covered is "
        "still on record; since then 1 file was changed, with a reason given, and 0 added"
    )
    assert verify_quickly(sound, tmp_path, write_code(last)).code.endswith("and nothing was added or changed since")
    forged = verify_quickly(pack_again(add(ENTRY)(sound)), tmp_path, write_code(first))
    assert forged.code.endswith("as that of the seal of 3 June 2024, but not all that was sealed is still as it was")


# ── what to ask ──────────────────────────────────────────────────────────────────────────────────────────────────


def test_what_is_asked_of_the_small_log(report: Report) -> None:
    """From 2 June to 30 November are 181 days, × 12 / 365 = 5.95 months; the two seals have no stamp."""
    assert [one.message for one in report.asks] == [
        "Only the owner says when it was last sealed. Can anybody else confirm it, such as somebody who noted its "
        "short code?",
        "Nothing is written for more than 5 months, between 2 June 2024 and 30 November 2024. What happened then?",
    ]
    assert not report.asks_stated


def test_nothing_to_ask(sound: Files, folder: Path, tmp_path: Path) -> None:
    """Figures of June, and a stamp beside the last seal, whatever it is worth: then the record gives no reason."""
    hand_in_june(folder / "log", tmp_path / "bag")
    files = load(tmp_path / "bag") | {"data/seals/0002.tsr": forgeries.write_stamp(b"20240610120000Z")}
    report = verify_quickly(pack_again(files), tmp_path)
    assert report.asks == ()
    assert f"  {WORDS['ask none']}.\n" in report.as_text()


def hand_in_june(log: Path, out: Path) -> None:
    assert hand_over(log, out, as_of=datetime.date(2024, 6, 15)).handover


HIDING: dict[str, Callable[[Any], Any]] = {
    "no entries": lambda value: value.update(entries=[]),
    "a day of June": lambda value: value.update(as_of="2024-06-15"),
    "no list at all": lambda value: value.pop("entries"),
    "a list of none": lambda value: value.update(entries=[None]),
}


@pytest.mark.parametrize("name", HIDING)
def test_forged_figures_hide_no_question(sound: Files, report: Report, tmp_path: Path, name: str) -> None:
    """The tool asks of the figures that it has worked out from the entries, and not of those that came."""
    files = pack_again(edit_json(FIGURES, HIDING[name])(sound))
    assert "ask-gap" not in {one.rule for one in verify_quickly(files, tmp_path).asks}
    forged = verify(write_zip(tmp_path / "bag.zip", files))
    assert forged.asks == report.asks
    assert forged.verdict.rule == "contradicts"


def make_figures(**more: Any) -> dict[str, Any]:
    """As much of a file of figures as is asked of: two entries of January, 1,000.00 spent, all well."""
    return {
        "as_of": "2024-02-01",
        "entries": ["2024-01-01-in", "2024-01-31-out"],
        "costs": {"spent": "1000.00", "currency": "GBP"},
        "evidence": {"claims": [], "gaps": []},
        "meter": {"unit": "km", "readings": [{}], "statement": "actual", "steps": []},
        "faults": {"faults": [{"name": "A hiss", "state": "proved"}]},
        "temporary": [{"what": "A strap", "made_good": "2024-01-31"}],
        "due": [{"name": "Oil", "state": "later"}],
    } | more


def gap(amount: str | None, what: str = "A shop") -> dict[str, Any]:
    return {"what": what, "amount": amount}


ASKED: dict[str, tuple[dict[str, Any], list[str]]] = {
    "all well": ({}, []),
    # 1 January to 16 March 2024: 30 + 29 + 16 = 75 days, in a leap year; × 12 / 365 = 2.5
    "75 days": (
        {"entries": ["2024-01-01-a", "2024-03-16-b"], "as_of": "2024-03-16"},
        ["ask-gap: Nothing is written for more than 2 months, between 1 January 2024 and 16 March 2024. "
         "What happened then?"],
    ),
    "74 days": ({"entries": ["2024-01-01-a", "2024-03-15-b"], "as_of": "2024-03-15"}, []),
    "an entry whose name says no day": ({"entries": ["2024-01-01-a", "later"], "as_of": "2024-12-01"}, []),
    # 20.00 is a fiftieth of 1,000.00
    "a fiftieth and a penny less": (
        {"evidence": {"claims": [], "gaps": [gap("19.99"), gap(None), gap("20.00", "B")]}},
        ["ask-stated: Nothing but the owner’s word backs “B” (20.00 GBP). Is there a bill, or anything else to look "
         "at?"],
    ),
    "nothing spent": ({"costs": {"spent": "0", "currency": "GBP"},
                       "evidence": {"claims": [], "gaps": [gap("0")]}}, []),
    "a meter that is not actual": (
        {"meter": {"unit": "mi", "readings": [{}], "statement": "not actual", "steps": [{}, {}]}},
        ["ask-meter: The seller’s statement about the meter is “not actual”. What is the true total, and how is it "
         "known?",
         "ask-meter-changed: The meter was replaced, set, or went past zero 2 times. Is there a paper or a picture of "
         "what it showed before and after?"],
    ),
    "no statement": (
        {"meter": {"unit": "mi", "readings": [{}], "statement": None, "steps": []}},
        ["ask-meter: The seller does not state whether the meter shows the true total. Does it?"],
    ),
    "what is open": (
        {"faults": {"faults": [{"name": f"F{number}", "state": "open"} for number in range(7)]},
         "temporary": [{"what": "A strap", "made_good": None}],
         "due": [{"name": "Oil", "state": "overdue"}, {"name": "x" * 61, "state": "history unknown"}]},
        ["ask-fault: Not mended, or not yet shown to be: “F0”, “F1”, “F2”, “F3”, “F4” and 2 more. What is known, and "
         "what would it cost?",
         "ask-temporary: Only a temporary repair so far: “A strap”. When will it be done properly, and by whom?",
         "ask-overdue: Overdue: “Oil”. Will it be done before the sale, or does the price allow for it?",
         f"ask-unknown: Nobody knows when this was last done: “{'x' * 60}…”. Does the seller, or does the price allow "
         "for it?"],
    ),
    "words that turn a line": (
        {"due": [{"name": "a\u202eb\nc", "state": "overdue"}]},
        ["ask-overdue: Overdue: “a?b?c”. Will it be done before the sale, or does the price allow for it?"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ASKED)
def test_what_figures_give_reason_to_ask(name: str) -> None:
    """Each bound from both sides."""
    more, wanted = ASKED[name]
    assert [f"{one.rule}: {one.message}" for one in ask_of_figures(make_figures(**more))] == wanted


@pytest.mark.parametrize("value", [None, [], "x", 7, {}, {"entries": 3}, {"due": [3]}, {"meter": {"readings": 1}}])
def test_what_is_no_figures_raises_no_question(value: Any) -> None:
    """Nor does it stop anything."""
    assert ask_of_figures(value) == ()


# ── words ────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_first_part_has_no_technical_word(sound: Files, report: Report) -> None:
    """Of what `verify` prints, of START-HERE.html, and of every sentence that may stand in either."""
    first, _, details = report.as_text().partition("\n\nIn detail: ")
    assert find_technical(first) == []
    assert find_technical(details) != []
    assert find_technical(sound["START-HERE.html"].decode()) == []
    plain = ("verdict ", "code ", "plain ", "ask", "start ", "zip", "not-a-file", "too-many")
    keys = [key for key in WORDS if key.startswith(plain) or name_rule(key) in FIRST]
    assert len(keys) > 100
    assert {key: found for key in keys if (found := find_technical(re.sub(r"\{\w+\}", "", WORDS[key])))} == {}


def test_the_first_page(sound: Files) -> None:
    """It names the machine and the days in words, links to what is there, and loads and runs nothing."""
    page = sound["START-HERE.html"].decode()
    assert "<h1>Old Tom</h1>" in page
    assert say_day(DAY) in page
    assert "It was last sealed on 10 June 2024." in page
    for link in re.findall(r'href="([^"]*)"', page):
        assert link in sound
    assert re.search(r"<script|https?:|unsafe", page) is None
    assert page.index("Content-Security-Policy") < page.index("<style")
    assert VIN not in page


def test_a_machine_that_is_called_like_markup(tmp_path: Path) -> None:
    """The name stays words, and no mark of the page is filled from it."""
    files = {
        "log.yaml": b"machine: {name: '<b>{{SEALED}}</b>'}\nmoney: {currency: GBP}\n",
        "entries/2024-06-02-a.md": b"---\ndate: 2024-06-02\ntitle: A\n---\nx\n",
    }
    hand(write_log(tmp_path / "log", files), tmp_path / "bag")
    page = (tmp_path / "bag/START-HERE.html").read_text("utf-8")
    assert "<h1>&lt;b&gt;{{SEALED}}&lt;/b&gt;</h1>" in page
    assert "The owner never sealed this record" in page


GUIDE = (Path(__file__).parent.parent.parent / "buildlog/guide/handover.md").read_text("utf-8")


def test_the_guide_has_every_sentence_and_every_question() -> None:
    """The tables of the guide are those of the words, one row each."""
    for key, words in WORDS.items():
        if key.startswith("verdict ") and key not in ("verdict first", "verdict refused"):
            assert f" | {words.format(day='30 November 2024')} |" in GUIDE, key
    rules = {name_rule(key) for key in WORDS if key.startswith("ask-")}
    assert set(re.findall("`(ask-[a-z-]+)`", GUIDE)) == rules
