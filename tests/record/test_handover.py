"""Handing over: what goes along, what is withheld, when it is refused, and that it comes whole and the same twice."""

from __future__ import annotations

import datetime
import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import buildlog
from buildlog.cli import main
from buildlog.handover import pack as handing
from buildlog.handover.bag import BagRefused
from buildlog.handover.findings import QUESTIONS
from buildlog.handover.manifest import Handover, NotAHandover, read_list, write_list
from buildlog.handover.pack import LogChanged, Packing, hand_over
from buildlog.stages import render_pages
from tests.record.bags import (
    DAY,
    VIN,
    draw_photo,
    find,
    hand,
    list_log,
    load,
    name_picture,
    seal,
    states,
    verify,
    write_log,
    write_sealed,
)

EXAMPLE = Path(__file__).parent.parent.parent / "example_project"


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return write_sealed(tmp_path / "log")


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], prog_name="buildlog")


def refuse(log: Path, out: Path, *withhold: str) -> tuple[str, str]:
    """The rule and the place by which handing over is refused; nothing is there afterwards."""
    handed = hand_over(log, out, as_of=DAY, withhold=withhold)
    assert handed.handover is None
    assert not out.exists()
    problem = handed.problems[0]
    assert problem.severity == "error"
    return problem.rule, problem.place.file


def test_what_a_bag_holds(log: Path, tmp_path: Path) -> None:
    """Log, seals and site, each file under its own or a plainer name; nothing of the owner's is changed."""
    before = load(log)
    hand(log, tmp_path / "bag")
    files = load(tmp_path / "bag")
    assert files["data/log/papers/Rechnung-Ol.pdf"] == list_log()["papers/Rechnung Öl.pdf"]
    assert files["data/log/photos/2024-05-18-lift-pump/IMG-1.jpg"] == draw_photo()
    assert files["data/seals/leaves.jsonl"] == (log / "seals/leaves.jsonl").read_bytes()
    assert {"data/site/index.html", "data/site/service.html", "data/figures.json", "data/CHECK.md"} <= files.keys()
    assert load(log) == before
    assert json.loads(files["data/handover.json"])["names"] == {
        "papers/Rechnung-Ol.pdf": "papers/Rechnung Öl.pdf",
        "papers/bill-of-sale.pdf": "papers/bill of sale.pdf",
        "photos/2024-05-18-lift-pump/IMG-1.jpg": "photos/2024-05-18-lift-pump/IMG 1.jpg",
    }


def test_the_same_log_makes_the_same_zip(log: Path, tmp_path: Path) -> None:
    """Byte for byte, whatever the zip is called."""
    hand(log, tmp_path / "one.zip")
    hand(log, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()


def test_a_folder_and_a_zip_are_the_same_bag(log: Path, tmp_path: Path) -> None:
    """Both are verified with the same answers."""
    hand(log, tmp_path / "bag")
    hand(log, tmp_path / "bag.zip")
    assert verify(tmp_path / "bag") == verify(tmp_path / "bag.zip")


def test_the_handover_is_whole(log: Path, tmp_path: Path) -> None:
    """`public:` closes prices and VIN; the handover's site shows them, and leads to the papers beside it."""
    hand(log, tmp_path / "bag")
    site = tmp_path / "bag/data/site"
    assert "133.10" in (site / "costs.html").read_text()
    pages = {page: page.read_text() for page in site.rglob("*.html")}
    assert any(VIN in text for text in pages.values())
    links = {
        (page, href) for page, text in pages.items() for href in re.findall(r'href="([^"]*/log/papers/[^"]*)"', text)
    }
    assert links
    assert all((page.parent / href).resolve().is_file() for page, href in links)
    assert not (site / "papers").exists()


# ── withheld ─────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_withheld_paper_is_not_there_and_is_told(log: Path, tmp_path: Path) -> None:
    """Its bytes are nowhere; its name, sum and leaf are; no page leads to it; evidence says how many claims miss it."""
    handed = hand(log, tmp_path / "bag", "papers/Rechnung Öl.pdf")
    files = load(tmp_path / "bag")
    assert not any(b"%PDF-1.4 order" in data for data in files.values())
    assert not any(b"Rechnung-Ol.pdf" in data for name, data in files.items() if name.endswith(".html"))
    assert "papers/Rechnung Öl.pdf" in files["data/CHECK.md"].decode()
    assert handed.handover
    assert [(held.path, held.digest.size, held.leaf) for held in handed.handover.withheld] == [
        ("papers/Rechnung Öl.pdf", 14, 3)
    ]
    report = verify(tmp_path / "bag")
    assert not report.failed
    assert find(report, "evidence").says.endswith("on papers that are withheld: 1")


def test_a_withheld_photo_leaves_its_pictures(log: Path, tmp_path: Path) -> None:
    """The original, whose hidden half could be seen, is nowhere; what the site shows of it stays, unchecked."""
    handed = hand(log, tmp_path / "bag", "photos/2024-05-18-lift-pump/IMG 1.jpg")
    files = load(tmp_path / "bag")
    assert draw_photo() not in files.values()
    assert name_picture() in files
    assert handed.uncovered == 0
    pages = find(verify(tmp_path / "bag"), "pages")
    assert pages.state == "cannot be checked"
    assert "the pictures of 1 photo that is withheld or missing were not compared" in pages.says


def test_a_withheld_entry_has_no_page_and_no_figure(log: Path, tmp_path: Path) -> None:
    """The second entry's reading of 112,600 km and its words are in no file; everything that is left agrees."""
    hand(log, tmp_path / "bag", "entries/2024-06-02-first-drive.md")
    files = load(tmp_path / "bag")
    assert not any(b"It drove" in data or b"112600" in data for data in files.values())
    report = verify(tmp_path / "bag")
    assert not report.failed
    assert find(report, "totals").says.startswith("1 entry;")


def test_a_folder_is_withheld_whole(log: Path, tmp_path: Path) -> None:
    """`papers/` means every paper."""
    handed = hand(log, tmp_path / "bag", "papers/")
    assert handed.handover
    assert len(handed.handover.withheld) == 3
    assert not (tmp_path / "bag/data/log/papers").exists()


def test_what_is_needed_cannot_be_withheld(log: Path, tmp_path: Path) -> None:
    """Without `log.yaml` nothing can be computed; an unknown name is a slip of the keyboard, and is told."""
    assert refuse(log, tmp_path / "bag", "log.yaml") == ("needed-file", "log.yaml")
    assert refuse(log, tmp_path / "bag", "papers/loan.pfd") == ("unknown-file", "papers/loan.pfd")


def test_an_entry_that_others_need_cannot_be_withheld(tmp_path: Path) -> None:
    """A pump that is fitted in one entry and bought in another: the handover would have an error."""
    files = list_log()
    files["entries/2024-06-09-second.md"] = b"---\ndate: 2024-06-09\ntitle: Second\nfitted: seal\n---\n"
    log = write_log(tmp_path / "log", files)
    rule, file = refuse(log, tmp_path / "bag", "entries/2024-05-18-lift-pump.md")
    assert (rule, file) == ("unknown-part", "entries/2024-06-09-second.md")


# ── refused ──────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_log_with_an_error_is_not_handed_over(tmp_path: Path) -> None:
    """Told with its place, and nothing is written."""
    files = list_log()
    files["entries/2024-06-09-bad.md"] = b"---\ndate: 2024-06-31\ntitle: x\n---\n"
    log = write_log(tmp_path / "log", files)
    assert refuse(log, tmp_path / "bag") == ("unreadable-value", "entries/2024-06-09-bad.md")


@pytest.mark.parametrize("change", ["changed", "added", "removed"])
def test_a_log_that_is_not_as_sealed_is_not_handed_over(log: Path, tmp_path: Path, change: str) -> None:
    """It would fail its own check; one `buildlog seal` away from being handed over."""
    path = log / "papers" / ("new.pdf" if change == "added" else "loan.pdf")
    if change == "removed":
        path.unlink()
    else:
        path.write_bytes(b"%PDF-1.4 other")
    assert refuse(log, tmp_path / "bag") == ("not-sealed", f"papers/{path.name}")
    seal(log, datetime.date(2024, 6, 20), "sorted")
    hand(log, tmp_path / "bag")
    assert not verify(tmp_path / "bag").failed


def test_a_log_whose_seals_do_not_hold_is_not_handed_over(log: Path, tmp_path: Path) -> None:
    """A seal that was edited by hand."""
    path = log / "seals/0001.json"
    path.write_bytes(path.read_bytes().replace(b"2024-06-03", b"2023-06-03"))
    assert refuse(log, tmp_path / "bag") == ("chain-broken", "seals/0002.json")


def test_a_log_that_was_never_sealed_is_a_warning(tmp_path: Path) -> None:
    """Handed over all the same, with the warning told to the owner and to the buyer."""
    handed = hand(write_log(tmp_path / "log"), tmp_path / "bag")
    assert [(problem.rule, problem.severity) for problem in handed.problems] == [("never-sealed", "warning")]
    assert "The log was never sealed." in (tmp_path / "bag/data/CHECK.md").read_text()


def test_a_link_in_the_log_is_not_handed_over(tmp_path: Path) -> None:
    """What it leads to is not sealed, and a bag holds no links."""
    log = write_log(tmp_path / "log")
    (log / "papers/link.pdf").symlink_to(log / "papers/loan.pdf")
    assert refuse(log, tmp_path / "bag") == ("linked-file", "papers/link.pdf")


def test_a_file_that_changes_meanwhile_stops_it(log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was hashed and computed is what is packed, or nothing is."""

    def change(run: Packing) -> Packing:
        (log / "papers/loan.pdf").write_bytes(b"another")
        return render_pages(run)

    monkeypatch.setitem(handing.PACKING, "render", change)
    with pytest.raises(LogChanged, match="was changed while it was being handed over"):
        hand_over(log, tmp_path / "bag.zip", as_of=DAY)
    assert [path.name for path in tmp_path.iterdir()] == ["log"]


def test_nothing_is_written_over(log: Path, tmp_path: Path) -> None:
    """A bag that is there stays."""
    hand(log, tmp_path / "bag.zip")
    before = (tmp_path / "bag.zip").read_bytes()
    with pytest.raises(BagRefused):
        hand_over(log, tmp_path / "bag.zip", as_of=DAY)
    assert (tmp_path / "bag.zip").read_bytes() == before


@pytest.mark.parametrize("place", ["papers/bag.zip", "seals/bag", "theme/bag.zip"])
def test_a_bag_does_not_stand_among_the_log_s_own_files(log: Path, place: str) -> None:
    """The next one would hold it; beside them, as in `LOG/bag.zip`, it is in nobody's way."""
    with pytest.raises(BagRefused, match="where the log keeps its own files"):
        hand_over(log, log / place, as_of=DAY)
    hand(log, log / "bag.zip")
    hand(log, log / "again.zip")
    assert (log / "bag.zip").read_bytes() == (log / "again.zip").read_bytes()


# ── the list ─────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_list_is_read_as_it_was_written(log: Path, tmp_path: Path) -> None:
    """`read_list` turns `write_list` round."""
    handover = hand(log, tmp_path / "bag", "papers/loan.pdf").handover
    assert handover
    assert read_list(write_list(handover)) == handover


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"names":{}', '"names":{"../a":"b"}'),
        ('"names":{}', '"names":{"a":"../b"}'),
        ('"names":{}', '"names":{"a":"x","b":"x"}'),
        ('"format":1', '"format":2'),
        ('"machine":"M"', '"machine":"\\u001b"'),
        ('"as_of":"2024-11-30"', '"as_of":"2024-11-31"'),
        ('"withheld":[]', '"withheld":[{}]'),
        ('"withheld":[]', '"withheld":[],"zeal":1'),
        ('"pictures":{}', '"pictures":{"a":{"colour":"red","height":1,"variants":[],"width":1}}'),
    ],
)
def test_a_list_that_says_anything_else_is_refused(old: str, new: str) -> None:
    """Each value has its shape; none leads out; nothing more is said."""
    data = write_list(Handover(made_by="1", as_of=DAY, machine="M", names={})).decode()
    assert old in data
    with pytest.raises(NotAHandover):
        read_list(data.replace(old, new).encode())


GUIDE = Path(buildlog.__file__).parent / "guide" / "handover.md"


def list_rows(heading: str) -> list[list[str]]:
    """The cells of the rows of the guide's table under a heading row."""
    table = GUIDE.read_text(encoding="utf-8").partition(heading)[2].partition("\n\n")[0]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in table.split("\n")[2:]]


def test_the_guide_names_every_question() -> None:
    """In the words and the order in which they are asked."""
    rows = list_rows("| | question | how it is answered |")
    assert [(int(row[0]), row[1]) for row in rows] == [*enumerate(QUESTIONS.values(), 1)]


def test_the_guide_names_every_file_and_key(log: Path, tmp_path: Path) -> None:
    """What stands directly below `data/`, and each key of `handover.json`."""
    hand(log, tmp_path / "bag")
    text = GUIDE.read_text(encoding="utf-8")
    names = {path.name + ("/…" if path.is_dir() else "") for path in (tmp_path / "bag/data").iterdir()}
    assert [name for name in sorted(names) if f"| `data/{name}` |" not in text] == []
    keys = json.loads((tmp_path / "bag/data/handover.json").read_text()).keys()
    rows = list_rows("### handover.json\n\n| key | what it is |")
    assert {row[0].strip("`") for row in rows} == keys


# ── the commands ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_two_commands(log: Path, tmp_path: Path) -> None:
    """Handed over with exit code 0 and three lines; verified with 0 in a process of its own; one byte more: 3."""
    done = run("handover", log, "--out", tmp_path / "bag", "--withhold", "papers/loan.pdf", "--as-of", str(DAY))
    count = len([name for name in load(tmp_path / "bag") if name.startswith("data/")])
    assert (done.exit_code, done.output) == (
        0,
        f"written: {tmp_path / 'bag'}\n"
        f"files: {count}, withheld: 1\n"
        "everything in it can be read, whatever `public:` hides: hand it over, but do not publish it\n"
        "photos whose `hide` areas can be seen in the originals: 1; --withhold leaves one out\n",
    )
    good = run("verify", tmp_path / "bag")
    assert (good.exit_code, good.output) == (0, verify(tmp_path / "bag").as_text())
    with open(tmp_path / "bag/data/site/index.html", "ab") as file:
        file.write(b"\n")
    bad = run("verify", tmp_path / "bag", "--json")
    assert bad.exit_code == 3
    assert json.loads(bad.output)["findings"][0]["flaws"] == [
        {"rule": "changed", "file": "data/site/index.html", "message": "its checksum is not the one in "
                                                                       "`manifest-sha256.txt`"},
        {"rule": "oxum", "file": "bag-info.txt", "message": bad_oxum(bad)},
    ]  # fmt: skip


def bad_oxum(result: Result) -> str:
    message: str = json.loads(result.output)["findings"][0]["flaws"][1]["message"]
    assert re.fullmatch(r"Payload-Oxum should be `\d+\.\d+`, going by what is there", message)
    return message


def test_wrong_use(log: Path, tmp_path: Path) -> None:
    """No place, a place that is taken, no such bag: exit code 2; a log with a problem: 1."""
    assert run("handover", log).exit_code == 2
    assert run("handover", log, "--out", log).exit_code == 2
    assert run("handover", log, "--out", tmp_path / "no/such/bag").exit_code == 2
    assert run("verify", tmp_path / "none").exit_code == 2
    refused = run("handover", log, "--out", tmp_path / "bag", "--withhold", "nothing")
    assert refused.exit_code == 1
    assert "there is no file `nothing` in the log to withhold" in refused.output


def test_a_file_that_is_no_bag_fails(tmp_path: Path) -> None:
    """A letter, an empty folder: exit code 3 and a reason."""
    (tmp_path / "letter.txt").write_text("Dear buyer")
    (tmp_path / "folder").mkdir()
    letter, folder = run("verify", tmp_path / "letter.txt"), run("verify", tmp_path / "folder")
    assert (letter.exit_code, folder.exit_code) == (3, 3)
    assert "this is neither a folder nor a complete zip" in letter.output
    assert "bagit.txt: it is missing: this is not a bag" in folder.output


def test_the_example_is_handed_over_and_holds(tmp_path: Path) -> None:
    """The demonstration's log as it stands, sealed for the purpose: nothing fails."""
    log = write_log(tmp_path / "log", {n: d for n, d in load(EXAMPLE).items() if not n.startswith((".", "site/"))})
    seal(log, datetime.date(2024, 11, 30))
    hand(log, tmp_path / "bag.zip")
    report = verify(tmp_path / "bag.zip")
    assert {key for key, state in states(report).items() if state != "holds"} == {"stamps", "signatures", "identity"}
    assert not report.failed
