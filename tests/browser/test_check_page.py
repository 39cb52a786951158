"""The page that checks a record in a browser: its verdicts are those of `buildlog verify`, whatever was done to a bag.

What the page is made of is checked against published vectors: FIPS 180-4 sums through hashlib, the tree of RFC 9162
with the roots of the Certificate Transparency test data, canonical JSON by RFC 8785.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import random
import re
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from buildlog.handover.bag import name_files
from buildlog.handover.check_page import HERE as SOURCES
from buildlog.handover.check_page import SCRIPTS, SHARED, make_check_page, write_script, write_shared
from buildlog.handover.figure_sums import check_sums
from buildlog.handover.figures_json import FORMAT
from buildlog.handover.findings import FIRST, QUESTIONS, SHORT_STATES, Report, leave_open, list_checked
from buildlog.handover.pack import hand_over
from buildlog.handover.verify import RECOMPUTED, Recheck, verify_bag
from buildlog.record.hashing import NotCanonical, read_canonical
from buildlog.record.rules import WORDS, list_limits, say
from buildlog.record.seals import NotACode, read_code, write_code
from tests.browser import eyes, records
from tests.browser.conftest import EXAMPLE, TOP
from tests.browser.files import find_late_policies, find_markup_errors
from tests.handover.test_plain_words import find_technical
from tests.record import bags, forgeries
from tests.record.false_figures import FALSE, write_false, write_sound
from tests.record.hostile_zips import SHAPES, Member, Shape, build, make

ANSWERED = ("files", "sealed", "seals", "withheld")
"Questions that the page answers as the tool does."
LEFT_OPEN = tuple(key for key in QUESTIONS if key not in ANSWERED)
Told = list[tuple[str, str, str]]
"Rule, file and words of each flaw, in order."
Answers = dict[str, tuple[str, Told, str]]
"State, flaws, and what is said, by the key of the question."

LEAVE_OPEN: Recheck = lambda path, handover: {key: leave_open(key, "") for key in RECOMPUTED}  # noqa: E731

READ = """() => Object.fromEntries([...document.querySelectorAll('#list > li')].map(row => [
    row.id.slice(7),
    [row.querySelector('.state').textContent,
     [...row.querySelectorAll('.flaws li')].map(e => {
        const file = e.querySelector('.file');
        return [e.className, file?.textContent ?? '', e.textContent.slice(file ? file.textContent.length + 2 : 0)];
     }),
     row.querySelector('.says').textContent]]))"""


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    log = records.make_log(tmp_path_factory.mktemp("record") / "log")
    records.seal_twice(log)
    return log


@pytest.fixture(scope="module")
def bag(log: Path) -> Path:
    return records.make_bag(log, log.parent / "bag")


@pytest.fixture(scope="module")
def checker(bag: Path, browser: Browser) -> Iterator[Page]:
    """The page as it lies in the bag, opened from the disk; a request of its own or a word on the console fails."""
    place = eyes.Place(base=(bag / "data").as_uri() + "/", pages=("check.html",))
    with eyes.visiting(browser, place) as visit:
        page = visit.open("check.html")
        page.on("dialog", lambda dialog: pytest.fail(f"a stranger's script ran: {dialog.message}"))
        yield page
        assert visit.found == []


def check(page: Page, path: Path) -> Answers:
    """What the page says of a folder or a zip that is chosen by its button."""
    forget(page)
    page.set_input_files("#zip" if path.is_file() else "#folder", path)
    return read_answers(page)


def forget(page: Page) -> None:
    """Put the page back to where nothing was given to it."""
    page.evaluate("for (const id of ['folder', 'zip']) document.getElementById(id).value = ''")
    page.evaluate("document.getElementById('result').hidden = true")


def read_answers(page: Page) -> Answers:
    page.locator("#result").wait_for(state="visible")
    found = page.evaluate(READ).items()
    return {key: (state, list(map(tuple, flaws)), says) for key, (state, flaws, says) in found}


def verify(path: Path) -> Answers:
    """What the tool says of the same, but for what it computes again, which the page leaves open."""
    report = verify_bag(path, LEAVE_OPEN)
    return {
        one["question"]: (
            one["state"],
            [(flaw["rule"], flaw["file"], plain(flaw["message"])) for flaw in one["flaws"]],
            plain(one["says"]),
        )
        for one in json.loads(report.as_json())["findings"]
    }


def plain(text: str) -> str:
    """Words without the signs that make some of them code on a page."""
    return text.replace("`", "")


OWN_REASONS = re.compile(r"(cannot be read|is not a valid leaf|is not a valid seal): .*?(?=, and|$)")
"Why bytes are no leaf, no seal, no file is said by what reads them, and each reads with its own library."


def tell_alike(answer: tuple[str, Told, str]) -> tuple[str, Told, str]:
    """An answer but for reasons that the tool and the browser give in words of their own."""
    state, flaws, says = answer
    return state, [(rule, show_plain(file), OWN_REASONS.sub(r"\1", words)) for rule, file, words in flaws], says


def show_plain(name: str) -> str:
    """A name without letters that only an old code page has: no bag has such, and they are shown as best they can."""
    return name.encode("ascii", "ignore").decode().replace("?", "")


PLAINLY = """() => ({
    verdict: document.getElementById('verdict').firstChild.textContent,
    code: document.getElementById('kept').textContent,
    asks: [...document.querySelectorAll('#asks li')].map(e => e.textContent),
    none: document.getElementById('asks-stated').textContent,
    checked: [...document.querySelectorAll('#checked li')].map(e => [...e.children].map(e => e.textContent)),
})"""
ELSEWHERE = {"page-differs", "page-missing"}
"Rules of what the tool makes again and the page does not."


def compare_plainly(page: Page, report: Report) -> None:
    """What the page says in plain words is what the tool says where neither works the figures out again."""
    told = page.evaluate(PLAINLY)
    if {flaw.rule for one in report.findings for flaw in one.flaws}.isdisjoint(ELSEWHERE):
        assert told["verdict"] == f"{report.verdict.says}."
    assert told["code"] == (report.code and f"{report.code}.")
    if not report.checked:
        assert page.locator("#plain").is_hidden()
        return
    assert told["asks"] == [one.message for one in report.asks]
    assert told["none"] == (say("ask stated") if report.asks else f"{say('ask none')}.")
    # Of what both answer; the rest stands in lines of their own.
    alike = list_checked(one for one in report.findings if one.key in ANSWERED)
    assert [
        [SHORT_STATES[state], says] for state, says in alike if [SHORT_STATES[state], says] not in told["checked"]
    ] == []


def compare(said: Answers, wanted: Answers) -> None:
    """The same state, the same rules broken in the same files, in the same words; what is open never holds."""
    for key in ANSWERED:
        assert tell_alike(said[key]) == tell_alike(wanted[key])
    assert {said[key][0] for key in LEFT_OPEN} == {"cannot be checked"}


def test_a_sound_record_holds(checker: Page, bag: Path) -> None:
    """Everything that the page can check holds; the tool, asked as a user asks it, says the same and ends with 0."""
    said = check(checker, bag)
    compare(said, verify(bag))
    assert {key: said[key][0] for key in (*ANSWERED, "sums", "proofs")} == dict.fromkeys(
        (*ANSWERED, "sums", "proofs"), "holds"
    )
    run = subprocess.run(
        [sys.executable, "-m", "buildlog", "verify", str(bag), "--json"],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    )
    findings = {one["question"]: one["state"] for one in json.loads(run.stdout)["findings"]}
    assert (run.returncode, [key for key, state in findings.items() if state == "fails"]) == (0, [])
    assert {key: findings[key] for key in ANSWERED} == {key: said[key][0] for key in ANSWERED}


@pytest.mark.parametrize("name", records.TAMPERING)
def test_tampering(checker: Page, bag: Path, tmp_path: Path, name: str) -> None:
    """Each change is told as the tool tells it: the same questions fail, by the same rules, in the same files."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    records.TAMPERING[name](copy)
    said = check(checker, copy)
    compare(said, verify(copy))
    compare_plainly(checker, verify_bag(copy, LEAVE_OPEN))
    fails = [key for key, (state, *_) in said.items() if state == "fails"]
    assert bool(fails) == (name != "forge-nothing"), said


@pytest.mark.parametrize("seed", range(40))
def test_any_byte(checker: Page, bag: Path, tmp_path: Path, seed: int) -> None:
    """One bit of one byte, anywhere in any file: something fails, and page and tool agree on what."""
    chance = random.Random(seed)
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    file = chance.choice(sorted(path for path in copy.rglob("*") if path.is_file()))
    data = bytearray(file.read_bytes())
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    file.write_bytes(data)
    said = check(checker, copy)
    compare(said, verify(copy))
    assert said["files"][0] == "fails"


@pytest.mark.parametrize(
    ("name", "key", "file"),
    [
        ("forge-landed", "sums", "data/figures.json"),
        ("forge-spent", "sums", "data/figures.json"),
        ("forge-system", "sums", "data/figures.json"),
        ("forge-month", "sums", "data/figures.json"),
        ("forge-no-line", "sums", "data/figures.json"),
        ("drop-figures", "sums", "data/figures.json"),
        ("forge-proof-leaf", "proofs", records.PAGE),
        ("forge-proof-root", "proofs", records.PAGE),
        ("forge-leaf-order", "seals", "data/seals/leaves.jsonl"),
        ("forge-entry", "sealed", records.ENTRY),
        ("flip-entry", "files", records.ENTRY),
    ],
)
def test_each_change_is_found_where_it_is(
    checker: Page, bag: Path, tmp_path: Path, name: str, key: str, file: str
) -> None:
    """A wrong sum, a wrong proof, a moved leaf, a changed entry: each fails its own question, with the file."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    records.TAMPERING[name](copy)
    state, flaws, _ = check(checker, copy)[key]
    assert state == "fails"
    assert file in [found for _, found, _ in flaws]


@pytest.mark.parametrize(
    ("name", "method"),
    [
        *((name, zipfile.ZIP_STORED) for name in records.ZIP_TAMPERING),
        *((name, zipfile.ZIP_DEFLATED) for name in records.ZIP_TAMPERING if name not in records.IN_THE_OPEN),
    ],
)
def test_zip(checker: Page, bag: Path, tmp_path: Path, name: str, method: int) -> None:
    """A zip, stored or deflated, is read as the tool reads it; one that would harm is refused by the same rule."""
    out = records.pack(bag, tmp_path / "bag.zip", method=method)
    records.ZIP_TAMPERING[name](out)
    said, wanted = check(checker, out), verify(out)
    compare(said, wanted)
    assert (wanted["files"][0] == "holds") == (name == "as-packed")


@pytest.mark.parametrize("name", SHAPES)
def test_hostile_zip(checker: Page, tmp_path: Path, name: str) -> None:
    """Each of the zips that would harm a reader is refused, or read, by page and tool alike: rule, file and words."""
    path = tmp_path / "bag.zip"
    path.write_bytes(make(name))
    said, wanted = check(checker, path), verify(path)
    compare(said, wanted)
    assert wanted["files"][0] == ("fails" if SHAPES[name][0] else "holds")


def test_a_check_can_be_stopped(checker: Page, bag: Path, tmp_path: Path) -> None:
    """The button ends a long check: nothing is told of it, and the next one is told as if there had been none."""
    path = tmp_path / "bag.zip"
    path.write_bytes(make("a hundred thousand files"))
    forget(checker)
    checker.set_input_files("#zip", path)
    checker.locator("#progress", has_text="of 100006").wait_for()
    checker.click("#stop")
    assert checker.inner_text("#progress") == "Stopped. There is no result until the whole record has been read."
    assert checker.locator("#stop").is_hidden()
    assert check(checker, bag)["files"][0] == "holds"
    assert checker.inner_text("#progress") == ""
    assert checker.locator("#stop").is_hidden()


def test_the_tools_own_zip(checker: Page, log: Path, tmp_path: Path) -> None:
    """The zip that `buildlog handover` writes holds."""
    said = check(checker, records.make_bag(log, tmp_path / "bag.zip"))
    assert {said[key][0] for key in (*ANSWERED, "sums", "proofs")} == {"holds"}


@pytest.mark.parametrize("path", sorted((TOP / "tests/record/golden").iterdir()), ids=lambda path: path.stem)
def test_a_record_that_an_earlier_version_made(checker: Page, path: Path) -> None:
    """All that this page can check holds, whatever the format of its figures."""
    said = check(checker, path)
    compare(said, verify(path))
    compare_plainly(checker, verify_bag(path, LEAVE_OPEN))
    assert {said[key][0] for key in (*ANSWERED, "sums", "proofs")} == {"holds"}


def test_figures_of_a_later_format_are_left_open(checker: Page, bag: Path, tmp_path: Path) -> None:
    """As the tool leaves them: nobody here knows what they mean."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    records.replace_text(copy / "data/figures.json", f'"format":{FORMAT}', f'"format":{FORMAT + 1}')
    records.list_again(copy)
    assert check(checker, copy)["sums"][:2] == ("cannot be checked", [])


def test_a_code_that_was_kept(checker: Page, bag: Path) -> None:
    """The chain of seals, and the sentence below the verdict, say of it what the tool says; a slip is told at once."""
    roots = [json.loads((bag / f"data/seals/000{number}.json").read_bytes())["root"] for number in (1, 2)]
    leaves_other = "0" * 64
    for typed in (write_code(roots[0]).lower(), roots[1], roots[0][:16], write_code(leaves_other), leaves_other):
        checker.fill("#code", typed)
        said = check(checker, bag)["seals"]
        report = verify_bag(bag, LEAVE_OPEN, read_code(typed))
        compare_plainly(checker, report)
        [wanted] = [one for one in report.findings if one.key == "seals"]
        flaws = [(flaw.rule, flaw.file, plain(flaw.message)) for flaw in wanted.flaws]
        assert said == (wanted.state, flaws, plain(wanted.says))
    forget(checker)
    checker.fill("#code", write_code(roots[0])[:-2] + "##")
    checker.set_input_files("#folder", bag)
    checker.locator("#progress", has_text="The code you typed cannot be read").wait_for()
    checker.fill("#code", "")


def test_never_sealed(checker: Page, tmp_path: Path) -> None:
    """Of a log that was never sealed, the seals cannot be checked, and the page says so as the tool does."""
    bag = records.make_bag(records.make_log(tmp_path / "log"), tmp_path / "bag")
    said = check(checker, bag)
    compare(said, verify(bag))
    assert (said["seals"][0], said["sealed"][0], said["proofs"][0]) == ("cannot be checked",) * 3


def test_a_record_of_which_an_entry_is_withheld(checker: Page, tmp_path: Path) -> None:
    """With its photos and papers: the page counts what is withheld as the tool does, and misses nothing else."""
    files = bags.list_log()
    later = "entries/2024-06-02-first-drive.md"
    files[later] = files[later].replace(b"reading: 112600", b"reading: 112600\nhours: 1")
    bags.hand(bags.write_log(tmp_path / "log", files), tmp_path / "bag", "entries/2024-05-18-lift-pump.md")
    said = check(checker, tmp_path / "bag")
    compare(said, verify(tmp_path / "bag"))
    assert "fails" not in {said[key][0] for key in ANSWERED}
    paths = "entries/2024-05-18-lift-pump.md, papers/Rechnung Öl.pdf, photos/2024-05-18-lift-pump/IMG 1.jpg"
    assert f"3 of the log's files: {paths}" in checker.inner_text("#list")


def test_a_dropped_folder(checker: Page, bag: Path) -> None:
    """A folder that is dropped on the page, itself opened from the disk, is read as the chosen one is."""
    forget(checker)
    session = checker.context.new_cdp_session(checker)
    box = checker.locator("#drop").bounding_box()
    assert box
    data = {"items": [], "files": [str(bag)], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        event = {"type": kind, "x": box["x"] + 9, "y": box["y"] + 9, "data": data}
        session.send("Input.dispatchDragEvent", event)
    assert read_answers(checker)["files"][0] == "holds"


def test_a_strangers_words_are_shown_as_words(checker: Page, bag: Path, tmp_path: Path) -> None:
    """Markup in what the list says is told as it stands; nothing of it becomes part of the page."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    words = "<img src=x onerror=alert(1)>"
    records.replace_text(copy / "data/handover.json", '"machine":"Grey tender"', f'"machine":"{words}"')
    records.list_again(copy)
    check(checker, copy)
    assert words in checker.inner_text("#about")
    assert checker.locator("img").count() == 0


@pytest.fixture(scope="module")
def forged(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, bytes]]:
    return records.make_forgeries(tmp_path_factory.mktemp("forged"))


TOLD = """() => Object.fromEntries([...document.querySelectorAll('#list > li')].map(row => [
    row.id.slice(7), [...row.querySelectorAll('.flaws li, .notes li')].map(e => e.textContent)]))"""
FIRST_TOLD = """() => document.getElementById('first').hidden ? []
    : [...document.querySelectorAll('#first-list li')].map(e => e.textContent)"""
BY_TOOL_ALONE = ("totals", "service", "meter", "identity", "evidence", "pages")


@pytest.mark.parametrize("name", records.FORGERIES)
def test_what_is_remarked(checker: Page, forged: dict[str, dict[str, bytes]], tmp_path: Path, name: str) -> None:
    """Contradictions and notes are told in the tool's own words, beside the same questions, and the same ones first."""
    out = bags.write_zip(tmp_path / "bag.zip", forged[name])
    said = check(checker, out)
    report = verify_bag(
        out, lambda path, handover: {key: leave_open(key, "") for key in RECOMPUTED}, today=datetime.date.today()
    )
    told = checker.evaluate(TOLD)
    compare_plainly(checker, report)
    for finding in report.findings:
        if finding.key not in BY_TOOL_ALONE:
            later = [one for one in finding.notes if one.rule not in FIRST]
            assert told[finding.key] == [str(one).replace("`", "") for one in (*finding.flaws, *later)]
            assert (said[finding.key][0] == "fails") == (finding.state == "fails")
    assert checker.evaluate(FIRST_TOLD) == [str(one).replace("`", "") for one in report.first]
    quiet = name in ("sound", "everything anew")
    assert bool(report.failed or report.first or any(finding.notes for finding in report.findings)) != quiet


@pytest.mark.parametrize("time", [b"20261102120000Z", b"20240602000000Z", b"20240430235959Z", b"20240503000000Z"])
def test_the_day_of_a_stamp(checker: Page, forged: dict[str, dict[str, bytes]], tmp_path: Path, time: bytes) -> None:
    """The page reads it as the tool does, and tells a stamp of another day in the same words."""
    stamp = forgeries.write_stamp(time)
    out = bags.write_zip(tmp_path / "bag.zip", bags.pack_again(forged["sound"] | {"data/seals/0004.tsr": stamp}))
    check(checker, out)
    [found] = [one for one in verify_bag(out, LEAVE_OPEN).findings if one.key == "stamps"]
    told = [
        str(one).replace("`", "")
        for one in (*found.flaws, *found.notes)
        if one.rule in ("stamp-later", "stamp-long-after", "stamp-earlier")
    ]
    assert [*checker.evaluate(TOLD)["stamps"], *checker.evaluate(FIRST_TOLD)] == told
    assert len(told) == (time != b"20240503000000Z")


def test_the_page_says_that_it_makes_no_pictures(checker: Page, bag: Path) -> None:
    """What it cannot find, and what can, in one line."""
    check(checker, bag)
    words = checker.inner_text("#answer-pages .says")
    assert "this page cannot tell whether a picture was swapped" in words
    assert "buildlog verify" in words


def test_the_example_is_asked_about_alike(checker: Page, tmp_path: Path) -> None:
    """Of the example's record, page and tool begin with the same sentence and ask the same questions."""
    out, log = tmp_path / "bag.zip", tmp_path / "log"
    shutil.copytree(EXAMPLE, log, ignore=shutil.ignore_patterns("site"))
    assert hand_over(log, out, as_of=datetime.date(2024, 11, 30)).handover
    check(checker, out)
    report = verify_bag(out, LEAVE_OPEN)
    compare_plainly(checker, report)
    assert report.verdict.rule == "holds"
    assert {one.rule for one in report.asks} >= {"ask-meter", "ask-fault", "ask-overdue"}


def test_a_record_with_nothing_to_ask(checker: Page, tmp_path: Path) -> None:
    """The page says so, in the words of the tool."""
    log_of_june = bags.write_sealed(tmp_path / "log")
    assert hand_over(log_of_june, tmp_path / "bag", as_of=datetime.date(2024, 6, 15)).handover
    stamp = {"data/seals/0002.tsr": forgeries.write_stamp(b"20240610120000Z")}
    out = bags.write_zip(tmp_path / "bag.zip", bags.pack_again(bags.load(tmp_path / "bag") | stamp))
    check(checker, out)
    compare_plainly(checker, verify_bag(out, LEAVE_OPEN))
    assert checker.locator("#asks li").count() == 0


def test_the_page_opens_without_a_technical_word() -> None:
    """What stands on the page before the details is what everybody knows the words of; the rest comes from `WORDS`."""
    page = (SOURCES / "page.html").read_text(encoding="utf-8")
    opening = page.split('<h2 id="answers"')[0] + page.split("</section>")[1]
    assert find_technical(opening.split("<body>")[1]) == []


def test_a_code_is_typed_after_the_check(checker: Page, bag: Path) -> None:
    """The button beside the field checks the package that was given once more, without choosing it again."""
    first = json.loads((bag / "data/seals/0001.json").read_bytes())["root"]
    checker.fill("#code", "")
    check(checker, bag)
    assert checker.locator("#kept").is_hidden()
    checker.fill("#code", write_code(first))
    checker.click("#again")
    checker.locator("#kept", has_text="21 April 2024").wait_for()
    assert "since then 1 file was changed, with a reason given, and 0 added" in checker.inner_text("#kept")
    checker.fill("#code", "")


def test_never_says_genuine() -> None:
    """The page tells of wholeness and agreement; a word that vouches for the owner's claims stands nowhere in it."""
    page = make_check_page().decode().lower()
    assert [word for word in ("genuine", "authentic", "trustworthy", "certified") if word in page] == []


# ── the page itself ──────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("alone")
    (folder / "check.html").write_bytes(make_check_page())
    return folder


def test_is_one_page_that_can_load_nothing(alone: Path) -> None:
    """The policy stands first, starts from nothing and names the script by its sum: no host, no inline exception."""
    assert find_late_policies(alone) == []
    text = (alone / "check.html").read_text(encoding="utf-8")
    policy = text.split('Content-Security-Policy" content="')[1].split('"')[0]
    assert "unsafe" not in policy
    assert "http" not in policy
    assert text.count("<script") == text.count("<style") == 1
    assert find_markup_errors([alone / "check.html"]) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_can_be_read_by_everybody(browser: Browser, alone: Path, bag: Path, scheme: Any) -> None:
    """With answers shown, no rule of axe-core for WCAG 2.2 AA is broken, and nothing sticks out at 320 px."""
    place = eyes.Place(base=alone.as_uri() + "/", pages=("check.html",))
    with eyes.visiting(browser, place, color_scheme=scheme, viewport={"width": 320, "height": 800}) as visit:
        page = visit.open("check.html")
        check(page, bag)
        assert page.evaluate(eyes.STICKING_OUT) is None
        page.evaluate(eyes.AXE_SCRIPT)
        found = page.evaluate("options => axe.run(options)", eyes.AXE_OPTIONS)["violations"]
        assert [(one["id"], one["nodes"][0]["target"]) for one in found] == []
        assert visit.found == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_first_page_can_be_read_by_everybody(browser: Browser, bag: Path, scheme: Any) -> None:
    """START-HERE.html breaks no rule of axe-core for WCAG 2.2 AA, asks for nothing, and fits into 320 px."""
    assert find_markup_errors([bag / "START-HERE.html"]) == []
    place = eyes.Place(base=bag.as_uri() + "/", pages=("START-HERE.html",))
    with eyes.visiting(browser, place, color_scheme=scheme, viewport={"width": 320, "height": 800}) as visit:
        page = visit.open("START-HERE.html")
        assert page.evaluate(eyes.STICKING_OUT) is None
        page.evaluate(eyes.AXE_SCRIPT)
        found = page.evaluate("options => axe.run(options)", eyes.AXE_OPTIONS)["violations"]
        assert [(one["id"], one["nodes"][0]["target"]) for one in found] == []
        assert visit.found == []


@pytest.fixture(scope="module")
def ask(browser: Browser) -> Iterator[Callable[..., Any]]:
    """Calls an expression with the parts of the script at hand, on an empty page."""
    parts = [name for name in SCRIPTS if name != "page"]
    script = write_script(parts)
    page = browser.new_page()
    page.set_default_timeout(eyes.NEVER_MS)
    yield lambda expression, argument=None: page.evaluate(f"given => {{ {script}\n return {expression}; }}", argument)
    page.close()


def test_sums(ask: Callable[..., Any]) -> None:
    """SHA-256 written out in the page equals hashlib's over every length up to 200 bytes, and in uneven pieces."""
    data = bytes(range(200))
    wanted = [hashlib.sha256(data[:length]).hexdigest() for length in range(201)]
    assert ask("given.map((_, i) => toHex(sha256(Uint8Array.from(given.slice(0, i)))))", [*data]) == wanted[:-1]
    pieces = "toHex(sha256(...[1, 63, 64, 65, 7].map((n) => new Uint8Array(n).fill(n))))"
    assert ask(pieces) == hashlib.sha256(b"".join(bytes([n]) * n for n in (1, 63, 64, 65, 7))).hexdigest()


@pytest.mark.parametrize("tag", ["<div>", "<b><p>", '<code id="proof-leaf">', "<code", "&amp;", "<table><tr>"])
def test_a_page_made_to_take_long_is_looked_through_at_once(ask: Callable[..., Any], tag: str) -> None:
    """Millions of bytes of tags in each other get an answer, for which a browser's own reader of pages takes hours."""
    script = """(() => {
        const page = given.repeat(Math.floor(3.7e6 / given.length));
        return readProof(page + 'id="proof-leaf" id="proof-path">' + page).path.every((one) => one === "");
    })()"""
    assert ask(script, tag)


def test_a_list_of_sixty_megabytes_is_not_read(ask: Callable[..., Any]) -> None:
    """The page holds it against the tool's bound by its size, before a byte of it is read."""
    script = """(async () => {
        const file = {name: "data/handover.json", size: given, start: () => { throw new Error("was read"); }};
        return readWhole(file, LARGEST_LIST).catch((error) => error instanceof Refused && error.rule);
    })()"""
    assert ask(script, 63_000_000) == "too-large"


SLICES = """(async () => {
    let slices = 0;
    const own = Blob.prototype.slice;
    Blob.prototype.slice = function (...given) { slices += 1; return own.apply(this, given); };
    const files = await openZip(new Blob([Uint8Array.from(given)]));
    for (const file of files.values()) await file.sum(async () => {});
    Blob.prototype.slice = own;
    return slices;
})()"""


def test_small_files_of_a_zip_are_read_together(ask: Callable[..., Any]) -> None:
    """Twice as many small files take no more reads of the zip: a hundred thousand of them would take minutes."""
    zips = [build(Shape(tuple(Member(b"a/%d" % n, b"x" * (n % 7)) for n in range(count)))) for count in (200, 400)]
    few, many = (ask(SLICES, [*data]) for data in zips)
    assert few == many


TOTALS = """Promise.all(given.map(async (text) => {
    const answer = await answerSums(new Map([[FIGURES, new PlainFile(new Blob([text]), FIGURES)]]));
    return answer.flaws.map((one) => [one.rule, one.message]);
}))"""


def test_false_figures_of_plans_are_told_as_the_tool_tells_them(ask: Callable[..., Any]) -> None:
    """Open items, wishes with the forecast, lists with their ticks: each lie by rule and words; a sound file has none.

    The tool finds them by computing the log, and says the same as the page where it cannot.
    """
    files = [write_sound(), *map(write_false, FALSE)]
    told = ask(TOTALS, [data.decode() for data in files])
    wanted = [check_sums(bags.read_memory({"data/figures.json": data})) for data in files]
    assert [sorted(map(tuple, one)) for one in told] == [sorted((f.rule, f.message) for f in one) for one in wanted]
    assert told[0] == []
    assert all(told[1:])


def test_page_and_tool_share_limits_and_words() -> None:
    """Every limit and every rule's words stand in the page as the tool has them, and are written in no script."""
    shared = write_shared()
    for name, value in list_limits().items():
        assert f"const {name} = {value};" in shared
    assert f"const WORDS = {json.dumps(dict(WORDS))};" in shared
    for script in SCRIPTS:
        text = (SOURCES / f"{script}.js").read_text(encoding="utf-8")
        assert not [name for name in list_limits() if f"const {name} =" in text]
        assert not re.findall(r"(?:tell|refuse)\((?!key|nameRule)[^\"\'`)]", text)
        assert set(re.findall(r'(?:tell|refuse|say)\("([^"]+)"', text)) <= WORDS.keys()


def test_a_path_is_climbed_in_one_place() -> None:
    """The arithmetic of a proof stands in the page as the entries' pages load it, and in no other script."""
    shared = SHARED.read_text(encoding="utf-8")
    assert shared in make_check_page().decode()
    assert "function climb(" in shared
    others = {*SOURCES.glob("*.js"), *SHARED.parent.glob("*.js")} - {SHARED}
    assert len(others) > len(SCRIPTS)
    assert [
        path.name for path in others if re.search(r"function climb|sn = |class Sha256", path.read_text("utf-8"))
    ] == []


@pytest.mark.parametrize("count", [0, 1, 2])
def test_words_agree_with_their_numbers(ask: Callable[..., Any], count: int) -> None:
    """Singular and plural are chosen by page and tool alike, for every rule."""
    names = {name for words in WORDS.values() for name in re.findall(r"\{(\w+)", words)}
    values = dict.fromkeys(sorted(names), count)
    said = ask("Object.fromEntries(Object.keys(WORDS).map((key) => [key, say(key, given)]))", values)
    assert said == {key: say(key, **values) for key in WORDS}
    assert said["files holds"] == ["0 files, 0 bytes", "1 file, 1 byte", "2 files, 2 bytes"][count]


def test_tree(ask: Callable[..., Any]) -> None:
    """Roots of 0 to 8 leaves are those of the Certificate Transparency test data (RFC 6962, as RFC 9162 s. 2.1.1)."""
    leaves = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
    expression = "[...Array(9).keys()].map((n) => new Tree(given.map((leaf) => hashLeaf(fromHex(leaf)))).root(n))"
    roots = ask(expression, leaves)
    assert [root[:16] for root in roots] == [
        "e3b0c44298fc1c14",
        "6e340b9cffb37a98",
        "fac54203e7cc696c",
        "aeb6bcfe274b70a1",
        "d37ee418976dd957",
        "4e3bbb1f7b478dcf",
        "76e67dadbcdf1e10",
        "ddb89be403809e32",
        "5dc9da79a70659a9",
    ]
    proof = [  # index 5 of 8, the same data
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ]
    climbed = "toHex(climb(hashLeaf(fromHex('40414243')), 5, 8, given.map(fromHex)))"
    assert ask(climbed, proof) == roots[8]
    assert ask(
        "[climb(hashLeaf(fromHex('40414243')), 5, 8, given.slice(1).map(fromHex)), climb(null, 8, 8, [])]", proof
    ) == [
        None,
        None,
    ]


def test_places_that_are_none(ask: Callable[..., Any]) -> None:
    """No path leads from a place that is no whole number within the list; one of 2^40 leaves is climbed in full."""
    places = [[-1, 1], [0, 0], [1, 1], [0.5, 1], [0, 1.5], [None, 1], ["0", 1], [0, 2**53]]
    assert ask("given.map(([index, size]) => climb('leaf', index, size, []))", places) == [None] * len(places)
    assert ask("[NaN, Infinity].map((size) => climb('leaf', 0, size, []))") == [None, None]
    assert ask("climb('leaf', 0, 1, [])") == "leaf"
    # 2^40 is 0 in 32 bits: an index that a shift had cut would be the first leaf of the list, on the left all the way.
    so_far = leaf = hashlib.sha256(b"\0").digest()
    for _ in range(40):
        so_far = hashlib.sha256(b"\1" + so_far + leaf).digest()
    so_far = hashlib.sha256(b"\1" + leaf + so_far).digest()
    climbed = "toHex(climb(fromHex(given), 2 ** 40, 2 ** 41, Array(41).fill(fromHex(given))))"
    assert ask(climbed, leaf.hex()) == so_far.hex()


CANONICAL = [
    '{"a":1,"b":[true,null,"x"]}',
    '{"b":1,"a":1}',
    '{"a": 1}',
    '{"a":1,"a":1}',
    '{"a":1.0}',
    '{"a":1e2}',
    '{"a":-0}',
    '{"a":9007199254740991}',
    '{"a":9007199254740992}',
    '"\\u000a"',
    '"\\n"',
    '"\\u001f\\u007f"',
    '"\\u001f"',
    '"\x7f\u2028"',
    '"\\ud800"',
    '"\\/"',
    '{"\ufb33":1,"\U0001f600":2}',
    '{"\U0001f600":2,"\ufb33":1}',  # by UTF-16 code units (RFC 8785, section 3.2.3)
    '{"10":1,"9":2}',
    '{"9":2,"10":1}',
    '{"__proto__":1}',
    "[" * 64 + "]" * 64,
    "[" * 65 + "]" * 65,
    "\ufeff{}",
    "{}\n",
    "NaN",
    "",
]


def test_canonical_json(ask: Callable[..., Any]) -> None:
    """Page and tool take the same bytes for canonical JSON (RFC 8785) and refuse the same."""

    def accepts(text: str) -> bool:
        try:
            read_canonical(text.encode())
        except NotCanonical:
            return False
        return True

    tried = "given.map((text) => { try { readCanonical(encode(text)); return true; } catch (why) {"
    tried += " if (!(why instanceof NotCanonical)) throw why; return false; } })"
    wanted = [accepts(text) for text in CANONICAL]
    assert ask(tried, CANONICAL) == wanted
    assert {True, False} == {*wanted}


def test_codes(ask: Callable[..., Any]) -> None:
    """Page and tool make the same codes, read the same ones, and refuse the same with the same words."""
    roots = [hashlib.sha256(bytes([number])).hexdigest() for number in range(60)]
    codes = [write_code(root) for root in roots]
    assert ask("given.map(writeCode)", roots) == codes
    slips = [code[:at] + "X" + code[at + 1 :] for at, code in enumerate(codes[:34])]
    typed = [*codes, *map(str.lower, codes), *slips, *(root[:length] for length, root in enumerate(roots, 5)), *roots]
    typed += ["AAAA-" * 7, "1" * 28, "Ä" * 28, "f" * 28, "0" * 65]

    def read(text: str) -> Any:
        try:
            kept = read_code(text)
        except NotACode as why:
            return str(why)
        return {"start": kept.start, "inBase32": kept.in_base32}

    tried = "given.map((text) => { try { return readCode(text); } catch (why) { return why.message; } })"
    assert ask(tried, typed) == [read(text) for text in typed]


NAMES = [
    "papers/plain.pdf",
    "papers/Größe.pdf",
    "papers/Grosse.pdf",
    "papers/grosse.PDF",
    "papers/№ 1.pdf",
    "papers/No-1.pdf",
    "papers/con.pdf",
    "papers/ends.",
    "papers/.hidden",
    "papers/  ",
    "papers/日本.pdf",
    "papers/日本語.pdf",
    "papers/a.b c.d e",
    f"papers/{'x' * 200}.pdf",
    f"papers/x.{'y' * 30}z",
    "papers/fi/ﬁ.pdf",
    "papers/FI",
    "papers/\U0001f600.jpg",
    "papers/\ufb33.jpg",
    "papers/..jpg",
    "photos/2024 März/IMG (1).jpg",
    "photos/2024 Marz/IMG (2).jpg",
]


def test_names(ask: Callable[..., Any]) -> None:
    """Page and tool give the same plain names to an owner's files, numbers for doubles included."""
    assert ask("[...nameFiles(given)]", NAMES) == [[path, name] for path, name in name_files(NAMES).items()]
