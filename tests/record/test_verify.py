"""What a bag proves: a sound one holds, and every kind of change is found, each under its own name and in its file."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from buildlog.handover.bag import PAYLOAD
from buildlog.handover.bag_check import check_bag
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import QUESTIONS, Report
from buildlog.handover.handed_log import name_maker
from buildlog.handover.verify import RECOMPUTED
from buildlog.record.hashing import read_canonical, write_canonical
from tests.record.bags import (
    VIN,
    answer,
    find,
    hand,
    list_checksums,
    load,
    name_picture,
    pack_again,
    read_memory,
    states,
    verify,
    write_log,
    write_sealed,
    write_zip,
)

Files = dict[str, bytes]
ENTRY = "data/log/entries/2024-05-18-lift-pump.md"
PHOTO = "data/log/photos/2024-05-18-lift-pump/IMG-1.jpg"
PAPER = "data/log/papers/Rechnung-Ol.pdf"
LEAVES = "data/seals/leaves.jsonl"
PAGE = "data/site/costs.html"
FIGURES = "data/figures.json"
LIST = "data/handover.json"


@pytest.fixture(scope="module")
def handed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small log under two seals, handed over as a folder with one paper withheld."""
    folder = tmp_path_factory.mktemp("handed")
    hand(write_sealed(folder / "log"), folder / "bag", "papers/loan.pdf")
    return folder / "bag"


@pytest.fixture(scope="module")
def sound(handed: Path) -> Files:
    return load(handed)


def test_a_sound_bag(handed: Path) -> None:
    """Ten of twelve hold; without a stamp and a signature two cannot be checked; nothing is ever called genuine."""
    report = verify(handed)
    assert [*states(report).values()] == ["holds"] * 3 + ["cannot be checked"] * 2 + ["holds"] * 7
    assert not report.failed
    assert [finding.number for finding in report.findings] == [*range(1, 13)]
    assert [finding.key for finding in report.findings] == [*QUESTIONS]
    text = report.as_text()
    assert "genuine" not in text.lower()
    assert "not an inspection, a warranty or a valuation" in text
    assert text.startswith("No entry, photo or paper in this package was changed since it was sealed on 10 June 2024; ")
    about = f"Old Tom, figures of 2024-11-30, handed over with buildlog {name_maker()}"
    assert f"\n\nIn detail: {about}\n\n 1. holds " in text
    assert "\n10 hold, 2 cannot be checked\n" in text


def test_what_holds_is_told_in_figures(handed: Path) -> None:
    """118.40 + 2 × 7.35 = 133.10 in two lines; a meter of three readings; one paper withheld as leaf 5."""
    report = verify(handed)
    assert find(report, "totals").says == "2 entries; spent 133.10 GBP in 2 lines"
    assert find(report, "meter").says == "3 readings, no total falls; the owner states `actual`"
    assert find(report, "service").says == "1 later"
    assert find(report, "withheld").says == (
        "1 of the log's files: `papers/loan.pdf`; sealed, so it can be shown and compared later"
    )


def test_the_same_as_json(handed: Path) -> None:
    """Each question with its number, state, words and flaws."""
    data = json.loads(verify(handed).as_json())
    assert data["failed"] is False
    assert [one["question"] for one in data["findings"]] == [*QUESTIONS]
    assert data["findings"][0] == {
        "number": 1, "question": "files", "state": "holds", "says": data["findings"][0]["says"], "flaws": [],
        "notes": [],
    }  # fmt: skip


# ── the tamper table: as it came ─────────────────────────────────────────────────────────────────────────────────


def flip(name: str) -> Callable[[Files], Files]:
    return lambda files: files | {name: bytes([files[name][0] ^ 1]) + files[name][1:]}


def write_first(name: str, *choices: bytes) -> Callable[[Files], Files]:
    """The file with its first byte exchanged for the first of the choices that it is not."""

    def change(files: Files) -> Files:
        first = next(choice for choice in choices if choice != files[name][:1])
        return files | {name: first + files[name][1:]}

    return change


def drop(name: str) -> Callable[[Files], Files]:
    return lambda files: {other: data for other, data in files.items() if other != name}


def add(name: str) -> Callable[[Files], Files]:
    return lambda files: files | {name: b"new"}


def swap(one: str, other: str) -> Callable[[Files], Files]:
    return lambda files: files | {one: files[other], other: files[one]}


def cut(name: str) -> Callable[[Files], Files]:
    return lambda files: files | {name: files[name][:-1]}


def rename(name: str, to: str) -> Callable[[Files], Files]:
    return lambda files: drop(name)(files) | {to: files[name]}


PLAIN: dict[str, tuple[Callable[[Files], Files], str, str]] = {
    "a bit of an entry": (flip(ENTRY), "changed", ENTRY),
    "a bit of a photo": (flip(PHOTO), "changed", PHOTO),
    "a bit of a paper": (flip(PAPER), "changed", PAPER),
    "a bit of a page": (flip(PAGE), "changed", PAGE),
    "a bit of the figures": (flip(FIGURES), "changed", FIGURES),
    "a bit of a seal": (flip("data/seals/0001.json"), "changed", "data/seals/0001.json"),
    "a bit of the leaves": (flip(LEAVES), "changed", LEAVES),
    "a bit of the list": (flip(LIST), "changed", LIST),
    "a bit of CHECK.md": (flip("data/CHECK.md"), "changed", "data/CHECK.md"),
    "a bit of bagit.txt": (flip("bagit.txt"), "declaration", "bagit.txt"),
    "a bit of bag-info.txt": (flip("bag-info.txt"), "changed", "bag-info.txt"),
    "a bit of the manifest": (flip("manifest-sha256.txt"), "changed", "manifest-sha256.txt"),
    "a digit of the tag manifest": (write_first("tagmanifest-sha256.txt", b"0", b"1"), "changed", "START-HERE.html"),
    "no digit in the tag manifest": (
        write_first("tagmanifest-sha256.txt", b"g"), "manifest-line", "tagmanifest-sha256.txt",
    ),
    "an entry dropped": (drop(ENTRY), "missing", ENTRY),
    "a page dropped": (drop(PAGE), "missing", PAGE),
    "a seal dropped": (drop("data/seals/0002.json"), "missing", "data/seals/0002.json"),
    "bagit.txt dropped": (drop("bagit.txt"), "no-bag", "bagit.txt"),
    "bag-info.txt dropped": (drop("bag-info.txt"), "missing", "bag-info.txt"),
    "the manifest dropped": (drop("manifest-sha256.txt"), "missing", "manifest-sha256.txt"),
    "the tag manifest dropped": (drop("tagmanifest-sha256.txt"), "missing", "tagmanifest-sha256.txt"),
    "an entry added": (add("data/log/entries/2024-07-01-more.md"), "added", "data/log/entries/2024-07-01-more.md"),
    "a page added": (add("data/site/more.html"), "added", "data/site/more.html"),
    "a file added beside": (add("more.txt"), "added", "more.txt"),
    "two papers swapped": (swap(PAPER, "data/log/papers/bill-of-sale.pdf"), "changed", PAPER),
    "two pages swapped": (swap(PAGE, "data/site/parts.html"), "changed", PAGE),
    "a photo cut short": (cut(PHOTO), "changed", PHOTO),
    "a paper emptied": (lambda files: files | {PAPER: b""}, "changed", PAPER),
    "a paper renamed": (rename(PAPER, "data/log/papers/other.pdf"), "missing", PAPER),
    "a paper renamed in case": (rename(PAPER, PAPER.upper().replace("DATA/LOG/PAPERS", "data/log/papers")), "added",
                                PAPER.upper().replace("DATA/LOG/PAPERS", "data/log/papers")),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_a_change_is_found(sound: Files, name: str) -> None:
    """Flipped, dropped, added, swapped, cut, renamed: question 1 fails, by its rule, with the file."""
    change, rule, file = PLAIN[name]
    changed = change(sound)
    assert changed != sound
    flaws = check_bag(read_memory(changed)).flaws
    assert (rule, file) in {(flaw.rule, flaw.file) for flaw in flaws}


def test_nothing_is_found_in_a_sound_bag(sound: Files) -> None:
    """The table above means something only if the bag itself has no flaw."""
    assert check_bag(read_memory(sound)).flaws == ()
    assert pack_again(sound) == sound


def test_any_changed_byte_is_found(sound: Files) -> None:
    """700 single bytes, drawn over all files by size and at least five in each, set to another value: each is found."""
    chance = random.Random(20241130)
    names = [*sound]
    field_places = [(name, chance.randrange(len(sound[name]))) for name in names for _ in range(5)]
    weights = [len(sound[name]) for name in names]
    drawn = chance.choices(names, weights, k=700 - len(field_places))
    field_places += [(name, chance.randrange(len(sound[name]))) for name in drawn]
    assert len(field_places) == 700
    for name, at in field_places:
        data = bytearray(sound[name])
        data[at] ^= chance.randrange(1, 256)
        flaws = check_bag(read_memory(sound | {name: bytes(data)})).flaws
        assert flaws, f"{name}, byte {at}"
        assert name.startswith("tagmanifest") or name in {flaw.file for flaw in flaws}, f"{name}, byte {at}"


MANIFESTS: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "three spaces": (lambda data: data.replace(b"  ", b"   ", 1), "manifest-line"),
    "one space": (lambda data: data.replace(b"  ", b" ", 1), "manifest-line"),
    "a tab": (lambda data: data.replace(b"  ", b"\t", 1), "manifest-line"),
    "capitals": (lambda data: data[:64].upper() + data[64:], "manifest-line"),
    "CRLF": (lambda data: data.replace(b"\n", b"\r\n"), "manifest-line"),
    "no last line end": (lambda data: data[:-1], "manifest-line"),
    "an empty line": (lambda data: data + b"\n", "manifest-line"),
    "a line twice": (lambda data: data + data.splitlines(keepends=True)[0], "manifest-line"),
    "lines in another order": (lambda data: b"".join(reversed(data.splitlines(keepends=True))), "manifest-order"),
    "nothing": (lambda data: b"", "added"),
}  # fmt: skip


@pytest.mark.parametrize("name", MANIFESTS)
def test_a_manifest_of_another_spelling_is_found(sound: Files, name: str) -> None:
    """RFC 8493 leaves freedom in how lines are spelled; ours have one spelling, so that any other byte is a change."""
    change, rule = MANIFESTS[name]
    manifest = change(sound["manifest-sha256.txt"])
    tags = {
        **{tag: sound[tag] for tag in ("START-HERE.html", "bag-info.txt", "bagit.txt")},
        "manifest-sha256.txt": manifest,
    }
    files = sound | tags | {"tagmanifest-sha256.txt": list_checksums(tags)}
    assert rule in {flaw.rule for flaw in check_bag(read_memory(files)).flaws}


# ── the tamper table: packed again by a cheat, all sums mended ───────────────────────────────────────────────────


def replace(name: str, old: str, new: str) -> Callable[[Files], Files]:
    def change(files: Files) -> Files:
        assert old.encode() in files[name]
        return files | {name: files[name].replace(old.encode(), new.encode())}

    return change


def edit_json(name: str, change: Callable[[dict[str, Any]], object]) -> Callable[[Files], Files]:
    def edit(files: Files) -> Files:
        value = read_canonical(files[name].removesuffix(b"\n"))
        change(value)
        return files | {name: write_canonical(value) + b"\n"}

    return edit


def drop_line(name: str, number: int) -> Callable[[Files], Files]:
    def change(files: Files) -> Files:
        lines = files[name].splitlines(keepends=True)
        return files | {name: b"".join(lines[:number] + lines[number + 1 :])}

    return change


CHEATS: dict[str, tuple[Callable[[Files], Files], str, str, str]] = {
    "a cheaper part": (replace(ENTRY, "118.40", "181.40"), "sealed", "sealed-changed", ENTRY),
    "another photo": (flip(PHOTO), "sealed", "sealed-changed", PHOTO),
    "two papers swapped": (swap(PAPER, "data/log/papers/bill-of-sale.pdf"), "sealed", "sealed-changed", PAPER),
    "an entry dropped": (drop(ENTRY), "sealed", "sealed-missing", "entries/2024-05-18-lift-pump.md"),
    "an entry added": (
        lambda files: files | {"data/log/entries/2024-07-01-more.md": b"---\ndate: 2024-07-01\ntitle: x\n---\n"},
        "sealed", "sealed-unsealed", "data/log/entries/2024-07-01-more.md",
    ),
    "the last seal dropped": (drop("data/seals/0002.json"), "seals", "leaves-not-sealed", LEAVES),
    "the first seal dropped": (drop("data/seals/0001.json"), "seals", "seal-missing", "data/seals/0001.json"),
    "a seal dated earlier": (
        replace("data/seals/0001.json", "2024-06-03", "2023-06-03"), "seals", "chain-broken", "data/seals/0002.json",
    ),
    "the last seal dated later": (
        replace("data/seals/0002.json", '"leaves":8', '"leaves":7'), "seals", "leaves-not-sealed", LEAVES,
    ),
    "a leaf dropped": (drop_line(LEAVES, 3), "seals", "leaves-cut-short", LEAVES),
    "a leaf changed": (replace(LEAVES, "papers/loan.pdf", "papers/none.pdf"), "seals", "leaves-changed", LEAVES),
    "all seals dropped": (
        lambda files: {name: data for name, data in files.items() if not name.startswith("data/seals/")},
        "withheld", "withheld-wrong", LIST,
    ),
    "a total": (replace(FIGURES, '"spent":"133.10"', '"spent":"133.11"'), "totals", "figures-differ", FIGURES),
    "a line of the costs": (replace(FIGURES, '"landed":"14.70"', '"landed":"14.71"'), "totals", "figures-differ",
                            FIGURES),
    "a service state": (replace(FIGURES, '"state":"later"', '"state":"due"'), "service", "figures-differ", FIGURES),
    "a reading": (replace(FIGURES, '"112530"', '"102530"'), "meter", "figures-differ", FIGURES),
    "the VIN": (replace(FIGURES, VIN, f"{VIN[:-1]}8"), "identity", "figures-differ", FIGURES),
    "a claim's level": (replace(FIGURES, '"level":"stated"', '"level":"on paper"'), "evidence", "figures-differ",
                        FIGURES),
    "a figure left out": (edit_json(FIGURES, lambda value: value.pop("rework")), "totals", "figures-differ", FIGURES),
    "a figure too many": (
        edit_json(FIGURES, lambda value: value.update(value="9000.00")), "totals", "figures-differ", FIGURES,
    ),
    "no figures": (drop(FIGURES), "totals", "missing", FIGURES),
    "figures that are no JSON": (add(FIGURES), "totals", "figures-unreadable", FIGURES),
    "a printed total": (replace(PAGE, "133.10", "113.10"), "pages", "page-differs", PAGE),
    "a script in a page": (replace(PAGE, "</body>", "<script>0</script></body>"), "pages", "page-differs", PAGE),
    "a script of the theme": (flip("data/site/theme/margin.js"), "pages", "page-differs", "data/site/theme/margin.js"),
    "a page dropped": (drop(PAGE), "pages", "page-missing", PAGE),
    "a page added": (add("data/site/more.html"), "pages", "page-added", "data/site/more.html"),
    "a picture dropped": (
        drop(name_picture()), "pages", "page-missing", name_picture(),
    ),
    "the words of CHECK.md": (
        replace("data/CHECK.md", "It is not an inspection", "It is an inspection"), "pages", "page-differs",
        "data/CHECK.md",
    ),
    "a file of nobody's": (add("data/more.txt"), "withheld", "stray-file", "data/more.txt"),
    "a file of nobody's in the log": (add("data/log/notes.txt"), "withheld", "stray-file", "data/log/notes.txt"),
    "no list": (drop(LIST), "withheld", "no-list", LIST),
    "a list that is none": (add(LIST), "withheld", "list-unreadable", LIST),
    "a withheld file forgotten": (
        edit_json(LIST, lambda value: value.update(withheld=[])), "sealed", "sealed-missing", "papers/loan.pdf",
    ),
    "a withheld file of another sum": (replace(LIST, '"size":37', '"size":38'), "withheld", "withheld-wrong", LIST),
    "a withheld file that was no leaf": (replace(LIST, '"leaf":5', '"leaf":4'), "withheld", "withheld-wrong", LIST),
    "a withheld file that is here": (
        add("data/log/papers/loan.pdf"), "withheld", "not-withheld", "data/log/papers/loan.pdf",
    ),
    "a second file for one of the log's": (
        lambda files: edit_json(LIST, lambda value: value["names"].update({"papers/a.pdf": "log.yaml"}))(
            files | {"data/log/papers/a.pdf": b"machine: {name: Another}"}
        ),
        "withheld", "name-twice", "data/log/papers/a.pdf",
    ),
    "two names exchanged in the list": (
        replace(LIST, "papers/bill of sale.pdf", "papers/bill of sales.pdf"), "withheld", "names-wrong", LIST,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CHEATS)
def test_a_cheat_who_packs_again_is_found(sound: Files, tmp_path: Path, name: str) -> None:
    """With every sum of the bag mended, the question that is about it fails all the same, by its rule, in its file.

    Files are named from the bag's top, so that they can be looked up.
    """
    change, key, rule, file = CHEATS[name]
    report = cheat(sound, change, tmp_path)
    assert report.failed
    assert find(report, "files").state == "holds"
    finding = find(report, key)
    assert finding.state == "fails"
    assert (rule, file) in {(flaw.rule, flaw.file.partition(":")[0]) for flaw in finding.flaws}
    told = {flaw.file.partition(":")[0] for finding in report.findings for flaw in finding.flaws}
    assert not {name for name in told if PAYLOAD + name in change(sound)}


def cheat(sound: Files, change: Callable[[Files], Files], folder: Path) -> Report:
    changed = change(sound)
    assert changed != sound
    return verify(write_zip(folder / "bag.zip", pack_again(changed)))


def test_where_figures_differ_is_told(sound: Files, tmp_path: Path) -> None:
    """What stands there and what was computed, by the figure's name."""
    change, *_ = CHEATS["a total"]
    report = cheat(sound, change, tmp_path)
    assert [str(flaw) for flaw in find(report, "totals").flaws] == [
        "data/figures.json: costs.spent: 133.11, computed 133.10"
    ]
    assert {key for key, state in states(report).items() if state == "fails"} == {"totals"}


def test_a_meter_that_falls_fails_as_such(sound: Files, tmp_path: Path) -> None:
    """An entry that puts the meter back is a flaw of question 8 with its line, beside the broken seal."""
    change = replace("data/log/entries/2024-06-02-first-drive.md", "112600", "100600")
    report = cheat(sound, change, tmp_path)
    [flaw, *_] = find(report, "meter").flaws
    assert (flaw.rule, flaw.file) == ("meter-falls", "data/log/entries/2024-06-02-first-drive.md:4")
    assert find(report, "sealed").state == "fails"


def test_a_log_that_cannot_be_read_fails(sound: Files, tmp_path: Path) -> None:
    """A `log.yaml` with broken YAML, and none at all: named by every question that rests on it."""
    report = cheat(sound, replace("data/log/log.yaml", "machine: {", "machine: {{"), tmp_path)
    assert find(report, "totals").state == "fails"
    assert find(report, "totals").flaws[0].file.startswith("data/log/log.yaml:1")
    assert {find(report, key).state for key in RECOMPUTED} == {"fails"}
    assert find(cheat(sound, drop("data/log/log.yaml"), tmp_path), "totals").state == "fails"


# ── what cannot be checked ───────────────────────────────────────────────────────────────────────────────────────


def test_pages_of_another_version_are_compared_by_their_words(sound: Files, tmp_path: Path) -> None:
    """What a bag claims of its program is told before all answers, and switches nothing off but the byte for byte."""
    report = cheat(sound, change_maker, tmp_path)
    pages = find(report, "pages")
    assert pages.state == "cannot be checked"
    assert pages.says == (
        "not compared byte for byte: 13 of 13 pages say what the entries make; "
        "2 pictures are byte for byte what the photos make"
    )
    assert [one.rule for one in report.first] == ["other-program"]
    assert f"read this first: {LIST}: the pages are said to be made by buildlog 99.0, but this is" in report.as_text()
    assert find(report, "totals").state == "holds"


def test_a_claimed_version_hides_no_page(sound: Files, tmp_path: Path) -> None:
    """Another figure on a page, a page too few, a page too many: each is told before the answers, with what differs."""
    ways: dict[str, tuple[Callable[[Files], Files], str]] = {
        PAGE: (replace(PAGE, "133.10", "113.10"), "it says `"),
        "data/site/parts.html": (drop("data/site/parts.html"), "it is not here"),
        "data/site/more.html": (add("data/site/more.html"), "this program makes no such page"),
    }
    for file, (change, words) in ways.items():
        report = cheat(sound, lambda files, change=change: change(change_maker(files)), tmp_path)  # type: ignore[misc]  # bound
        [told] = [one for one in report.first if one.rule == "pages-say-other"]
        assert told.file == file
        assert words in told.message


def test_pages_of_an_older_version_are_one_line(sound: Files, tmp_path: Path) -> None:
    """Where words have changed on most pages, none is told by itself: none could be told from a changed one."""

    def reword(files: Files) -> Files:
        words = {
            name: raw.replace(b"</main>", b"<p>As it was worded once.</p></main>")
            for name, raw in files.items()
            if name.startswith("data/site/") and name.endswith(".html")
        }
        return change_maker(files | words)

    report = cheat(sound, reword, tmp_path)
    assert not report.failed
    [told] = report.first
    assert told.rule == "other-program"
    assert told.message.endswith("; 0 of 13 pages say what it makes, so go by the entries and not by the pages")
    assert find(report, "totals").state == "holds"


def test_figures_of_a_later_format_cannot_be_compared(sound: Files, tmp_path: Path) -> None:
    """They are not called wrong, as nobody here knows what they mean."""
    report = cheat(sound, lambda files: change_format(change_maker(files)), tmp_path)
    assert find(report, "totals").state == "cannot be checked"
    assert f"format {FORMAT + 1}" in find(report, "totals").says


def test_figures_of_a_format_that_their_own_maker_does_not_write_fail(sound: Files, tmp_path: Path) -> None:
    """Nobody hides figures behind another format in a bag that this very program is said to have made."""
    for format in {1, FORMAT - 1, FORMAT + 1} - {FORMAT, 0}:
        report = cheat(sound, edit_json(FIGURES, lambda value, format=format: value.update(format=format)), tmp_path)
        assert {states(report)[key] for key in RECOMPUTED if key != "pages"} == {"fails"}
        assert find(report, "totals").flaws[0].rule == "format-wrong"


def change_format(files: Files) -> Files:
    return edit_json(FIGURES, lambda value: value.update(format=FORMAT + 1))(files)


def change_maker(files: Files) -> Files:
    """The bag with its list, and its own description, saying that another version made it."""
    other = replace(LIST, f'"made_by":"{name_maker()}"', '"made_by":"99.0"')(files)
    return replace("bag-info.txt", name_maker(), "99.0")(other)


def test_a_theme_of_the_log_is_not_run(sound: Files, tmp_path: Path) -> None:
    """A stranger's templates are code: pages are compared by their words, which is told first; all else is checked."""
    report = cheat(sound, lambda files: files | {"data/log/theme/front.html": b"{% for x in range(10**9) %}"}, tmp_path)
    assert find(report, "pages").state == "cannot be checked"
    assert find(report, "pages").says.startswith("not compared byte for byte: 13 of 13 pages say what the entries make")
    assert [one.rule for one in report.first] == ["own-theme"]
    assert find(report, "totals").state == "holds"


def test_a_log_that_was_never_sealed(tmp_path: Path) -> None:
    """What holds is that it agrees with itself, and the withheld file could have been anything."""
    hand(write_log(tmp_path / "log"), tmp_path / "bag", "papers/loan.pdf")
    report = verify(tmp_path / "bag")
    assert not report.failed
    found = states(report)
    assert {key for key in found if found[key] == "cannot be checked"} == {
        "sealed", "seals", "stamps", "signatures", "withheld",
    }  # fmt: skip


# ── hostile ──────────────────────────────────────────────────────────────────────────────────────────────────────

INDEX = "data/site/index.html"
DEEP = b'{"format":' + b"[" * 100_000 + b"]" * 100_000 + b"}\n"
HOSTILE: dict[str, Callable[[Files], Files]] = {
    "figures nested deep": lambda files: files | {FIGURES: DEEP},
    "a list nested deep": lambda files: files | {LIST: DEEP},
    "leaves nested deep": lambda files: files | {LEAVES: DEEP},
    "a seal nested deep": lambda files: files | {"data/seals/0001.json": DEEP},
    "figures with a huge number": lambda files: files | {FIGURES: b'{"format":' + b"9" * 100_000 + b"}\n"},
    "a list of nulls": lambda files: files | {LIST: b'{"format":1,"names":null,"pictures":null,"withheld":null}\n'},
    "YAML that grows": lambda files: files | {
        ENTRY: b"---\na: &a [x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a]\nc: &c [*b,*b,*b,*b,*b]\n---\n"
    },
    "YAML with a tag": lambda files: files | {ENTRY: b"---\ndate: !!python/object/apply:os.system [ls]\n---\n"},
    "YAML nested deep": lambda files: files | {ENTRY: b"---\ndate: " + b"[" * 50_000 + b"\n---\n"},
    "Markdown nested deep": lambda files: files | {ENTRY: files[ENTRY] + b">" * 20_000 + b"x" + b"[" * 20_000},
    "HTML in a story": lambda files: files | {ENTRY: files[ENTRY] + b"<script>alert(1)</script>"},
    "a page of tags in each other": lambda files: files | {INDEX: b"<html><body>" + b"<div>" * 1_500_000},
    "a page of links in one paragraph": lambda files: files | {INDEX: b"<p>" + b'<a href="x">x</a>' * 20_000},
    "a story of links in one paragraph": lambda files: files | {ENTRY: files[ENTRY] + b"[](a)" * 20_000},
    "a binary entry": lambda files: files | {ENTRY: bytes(range(256))},
    "a huge entry": lambda files: files | {ENTRY: files[ENTRY] + b"x" * 3_000_000},
    "a thousand seals": lambda files: files | {f"data/seals/{n:04d}.json": b"{}" for n in range(3, 1003)},
    "a manifest of line ends": lambda files: files,
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_content_gives_a_verdict(sound: Files, tmp_path: Path, name: str) -> None:
    """Deep, huge, growing, running: twelve answers, something fails, nothing is raised and nothing is written."""
    files = pack_again(HOSTILE[name](sound))
    if name == "a manifest of line ends":
        files["manifest-sha256.txt"] = b"\n" * 1_000_000
    path = write_zip(tmp_path / "bag.zip", files)
    report = verify(path)
    assert report.failed
    assert len(report.findings) == 12
    assert len(report.as_text()) < 8_000
    assert [*tmp_path.iterdir()] == [path]


def test_a_terminal_is_never_told_what_to_do(sound: Files, tmp_path: Path) -> None:
    """Names of entries, machines and authorities are a stranger's words."""
    change = edit_json(LIST, lambda value: value.update(machine="\x1b[2J"))
    assert find(cheat(sound, change, tmp_path), "withheld").state == "fails"
    report = cheat(sound, replace("data/log/log.yaml", "name: Old Tom", 'name: "Old\\eTom", nmae: "\\e[2J"'), tmp_path)
    assert re.fullmatch(r"[^\x00-\x09\x0b-\x1f\x7f]*", report.as_text())


def test_every_answer_is_found_without_computing(sound: Mapping[str, bytes]) -> None:
    """The quick answers are those of the whole report: the tests above may use them."""
    assert {key: finding.state for key, finding in answer(sound).items()} == {
        "files": "holds", "sealed": "holds", "seals": "holds", "stamps": "cannot be checked",
        "signatures": "cannot be checked", "withheld": "holds",
    }  # fmt: skip
