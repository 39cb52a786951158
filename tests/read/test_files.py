"""Bad files: each is told by its defect, with its place and a remedy, and never stops the reading of the others."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import NoReturn

import pytest

from buildlog.read.files import LARGEST_TEXT, TextsOnDisk, gather_files
from buildlog.read.reader import Reading, read_log
from tests.support import list_problems

SETTINGS = b"machine: {name: Test machine}\nmoney: {currency: GBP}\n"
GOOD = b"---\ndate: 2024-05-18\ntitle: Pump off\n---\nThe pump came off.\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A log of one good entry, in a folder beside which there is room for what it must not reach."""
    log = tmp_path / "log"
    put(log, "log.yaml", SETTINGS)
    put(log, "entries/good.md", GOOD)
    return log


def put(folder: Path, path: str, content: bytes = b"") -> None:
    (folder / path).parent.mkdir(parents=True, exist_ok=True)
    (folder / path).write_bytes(content)


def tell(reading: Reading) -> list[str]:
    return [" | ".join(rows) for rows in list_problems(reading.problems)]


def names(reading: Reading) -> list[str]:
    assert reading.log is not None
    return [entry.name for entry in reading.log.entries]


BAD_ENTRIES = {
    "latin-1": (
        GOOD.replace(b"The pump", b"B\xfcchse"),
        "entries/bad.md:5:2: error: `entries/bad.md` is not UTF-8 text: there is a byte 0xFC here [not-utf-8]"
        " | help: save it as UTF-8 in your editor",
    ),
    "utf-16": (
        GOOD.decode().encode("utf-16"),
        "entries/bad.md:1:1: error: `entries/bad.md` is UTF-16 text [not-utf-8]"
        " | help: save it as UTF-8 in your editor",
    ),
    "a picture named as an entry": (
        b"\xff\xd8\xff\xe0\x00\x10JFIF\x00",
        "entries/bad.md:1:1: error: `entries/bad.md` is a binary file, not text [not-text]"
        " | help: pictures go into `photos/`, scans into `papers/`",
    ),
    "text with a NUL far down": (
        GOOD + b"x" * 20_000 + b"\x00",
        "entries/bad.md:1:1: error: `entries/bad.md` is a binary file, not text [not-text]"
        " | help: pictures go into `photos/`, scans into `papers/`",
    ),
    "five megabytes": (
        GOOD + b"x" * 5_000_000,
        "entries/bad.md:1:1: error: `entries/bad.md` is larger than 2 MB, so it is not read [too-large]"
        " | help: split it, or move anything that is not text out of it",
    ),
    "empty": (
        b"",
        "entries/bad.md:1:1: error: this file is empty [missing-part]"
        " | help: start with three lines: `---`, `date: 2024-05-18`, `---`",
    ),
    "a character that cannot be seen in the front matter": (
        GOOD.replace(b"Pump", "Pu\u2028mp".encode()),
        "entries/bad.md:3:10: error: there is an invisible character here (U+2028) [unseen-character]"
        " | at title | help: delete it",
    ),
}


LEGIBLE = ("latin-1", "utf-16", "a character that cannot be seen in the front matter")


@pytest.mark.parametrize("defect", BAD_ENTRIES)
def test_bad_entry_is_told_and_the_good_one_is_read(folder: Path, defect: str) -> None:
    """An entry that is no text, not UTF-8 or too large is one problem; every other entry is read all the same.

    What can be made out of one that is text is read too: its other problems are told in the same run.
    """
    content, expected = BAD_ENTRIES[defect]
    put(folder, "entries/bad.md", content)
    reading = read_log(folder)
    assert tell(reading) == [expected]
    assert names(reading) == (["bad", "good"] if defect in LEGIBLE else ["good"])


def test_largest_file_is_read(folder: Path) -> None:
    """The limit itself still reads."""
    settings = (folder / "log.yaml").read_bytes() + b"\n#"
    put(folder, "log.yaml", settings + b"x" * (LARGEST_TEXT - len(settings)))
    reading = read_log(folder)
    assert (tell(reading), names(reading)) == ([], ["good"])


@pytest.mark.parametrize("change", ["bom", "crlf", "cr", "bom and crlf"])
def test_any_editor_will_do(folder: Path, change: str) -> None:
    """A BOM and CRLF or CR line ends change neither a value nor a line number nor the story."""
    plain = read_log(folder)
    content = GOOD
    if "cr" in change:
        content = content.replace(b"\n", b"\r\n" if "crlf" in change else b"\r")
    if "bom" in change:
        content = b"\xef\xbb\xbf" + content
    put(folder, "entries/good.md", content)
    reading = read_log(folder)
    assert tell(reading) == []
    assert reading.log == plain.log
    assert reading.texts == plain.texts


def test_file_names_that_cannot_be_addresses(folder: Path) -> None:
    """An entry's file name becomes an address: small letters, digits, dashes, points; hidden files are passed over."""
    for name in ("2024 Büchse.MD", "notes.txt", "plan.odt", ".hidden.md", "._good.md"):
        put(folder, f"entries/{name}", GOOD)
    reading = read_log(folder)
    assert names(reading) == ["2024 Büchse.MD", "good", "notes.txt"], "misnamed, and checked all the same"
    assert tell(reading) == [
        "entries/2024 Büchse.MD:1:1: error: `2024 Büchse.MD` cannot be an entry's file name: it becomes an address"
        " [entry-name] | help: rename it to `2024-buchse.md`: small letters, digits and dashes",
        "entries/notes.txt:1:1: error: `notes.txt` cannot be an entry's file name: it becomes an address [entry-name]"
        " | help: rename it to `notes.md`: small letters, digits and dashes",
        "entries/plan.odt:1:1: warning: `plan.odt` is not an entry, so it is not read [stray-file]"
        " | help: move it out of `entries/`",
    ]


@pytest.mark.parametrize("name", ["con.md", "lpt1.first.md"])
def test_no_entry_is_named_as_a_device(folder: Path, name: str) -> None:
    """Windows has no files of these names (Microsoft, Naming Files, Paths, and Namespaces), so none for the page."""
    put(folder, f"entries/{name}", GOOD)
    assert tell(read_log(folder)) == [
        f"entries/{name}:1:1: error: `{name}` cannot be an entry's file name: it is a device on some systems"
        " [entry-name] | help: rename it: small letters, digits and dashes, with the date in front"
    ]


def test_no_settings(folder: Path) -> None:
    """Without log.yaml there is no log, and the entries are checked all the same."""
    (folder / "log.yaml").rename(folder / "log.yml")
    put(folder, "entries/bad.md", b"Story only")
    reading = read_log(folder)
    assert reading.log is None
    assert tell(reading) == [
        "entries/bad.md:1:1: error: no front matter: the first line is not `---` [missing-part]"
        " | help: start with three lines: `---`, `date: 2024-05-18`, `---`",
        "log.yaml:1:1: error: there is no `log.yaml` here [missing-file] | help: did you mean `log.yml`?",
    ]


def test_no_log_at_all(tmp_path: Path) -> None:
    """An empty folder, and one that is not there, are one problem each."""
    expected = [
        "log.yaml:1:1: error: there is no `log.yaml` here [missing-file] | help: `buildlog start FOLDER` makes a log"
    ]
    assert tell(read_log(tmp_path)) == expected
    assert tell(read_log(tmp_path / "nowhere")) == expected


def test_empty_settings(folder: Path) -> None:
    """An empty log.yaml is told as such, and not as every key that is missing."""
    put(folder, "log.yaml", b"# nothing yet\n")
    assert tell(read_log(folder)) == [
        "log.yaml:1:1: error: `log.yaml` is empty [missing-part] | help: write `machine: {name: …}` and so on"
    ]


def test_links_are_not_followed_out_of_the_log(folder: Path) -> None:
    """Nothing outside the log is read, listed or published, whatever links to it."""
    outside = folder.parent / "outside"
    put(outside, "secret.md", GOOD)
    put(outside, "deep/secret.jpg", b"secret")
    put(folder, "photos/good/a.jpg")
    put(folder, "papers/a.pdf")
    links = {
        "entries/link.md": outside / "secret.md",
        "photos/good/b.jpg": outside / "deep/secret.jpg",
        "photos/linked": outside / "deep",
        "papers/b.pdf": outside / "secret.md",
        "papers/deep": outside / "deep",
        "papers/loop": folder / "papers",
        "papers/nowhere.pdf": folder / "papers/missing.pdf",
        "papers/round.pdf": folder / "papers/round.pdf",
    }
    for path, target in links.items():
        (folder / path).symlink_to(target)
    reading = read_log(folder)
    told = {problem.place.file: problem.message for problem in reading.problems if problem.severity == "error"}
    out, nowhere = "is a link that leads out of the log", "is a link that leads nowhere"
    assert told == {
        "entries/link.md": f"`entries/link.md` {out}",
        "photos/good/b.jpg": f"`photos/good/b.jpg` {out}",
        "photos/linked": f"`photos/linked` {out}",
        "papers/b.pdf": f"`papers/b.pdf` {out}",
        "papers/deep": f"`papers/deep` {out}",
        "papers/loop": "`papers/loop` is a link to a folder; such links are not followed",
        "papers/nowhere.pdf": f"`papers/nowhere.pdf` {nowhere}",
        "papers/round.pdf": f"`papers/round.pdf` {nowhere}",
    }
    assert reading.log is not None
    assert names(reading) == ["good"]
    assert reading.log.photos == {"good": ("a.jpg",)}
    assert reading.log.papers == {"papers/a.pdf"}


@pytest.mark.parametrize("path", ["log.yaml", "entries", "photos", "papers"])
def test_own_places_may_not_be_links_out(folder: Path, path: str) -> None:
    """log.yaml and the three folders are held to the same rule."""
    put(folder.parent, "outside/photos/x.jpg")
    target = folder.parent / "outside"
    if (folder / path).exists():
        (folder / path).rename(target / path)
    (folder / path).symlink_to(target / path)
    reading = read_log(folder)
    assert [problem.rule for problem in reading.problems] == ["leads-nowhere" if path == "papers" else "leads-out"]
    if path == "log.yaml":
        assert reading.log is None and reading.texts["log.yaml"] == ""
    else:
        assert reading.log is not None
        assert (reading.log.papers, dict(reading.log.photos)) == (frozenset(), {})
        assert names(reading) == ([] if path == "entries" else ["good"])


def test_link_inside_the_log_is_a_file_like_another(folder: Path) -> None:
    """A link to a file of the log is that file."""
    put(folder, "papers/a.pdf")
    (folder / "papers/same.pdf").symlink_to(folder / "papers/a.pdf")
    (folder / "entries/same.md").symlink_to("good.md")
    reading = read_log(folder)
    assert (tell(reading), names(reading)) == ([], ["good", "same"])
    assert reading.log is not None and reading.log.papers == {"papers/a.pdf", "papers/same.pdf"}


def test_what_is_no_file_is_not_opened(folder: Path) -> None:
    """A pipe that nobody writes to would wait for ever; it is refused, as a folder is."""
    os.mkfifo(folder / "entries/pipe.md")
    (folder / "entries/folder.md").mkdir()
    assert tell(read_log(folder)) == [
        f"entries/{name}.md:1:1: error: `entries/{name}.md` is a folder or a device, not a file [unreadable-file]"
        " | help: move it away"
        for name in ("folder", "pipe")
    ]


def test_papers_may_lie_in_folders(folder: Path) -> None:
    """Papers are found at any depth, by their path from the log's folder; hidden ones are passed over."""
    for path in ("papers/a.pdf", "papers/2024/may/b.pdf", "papers/.c.pdf", "papers/.git/d.pdf"):
        put(folder, path)
    reading = read_log(folder)
    assert reading.log is not None and reading.log.papers == {"papers/a.pdf", "papers/2024/may/b.pdf"}


def test_files_that_may_not_be_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the system refuses to open is told in its words, file by file and folder by folder."""
    put(folder, "papers", b"a file where a folder should be")

    def refuse(path: str, *_: object) -> NoReturn:
        raise PermissionError(errno.EACCES, "Permission denied", path)

    monkeypatch.setattr("builtins.open", refuse)
    assert tell(read_log(folder)) == [
        f"{path}:1:1: error: `{path}` cannot be read: {why} [unreadable-file]"
        " | help: check what it is and that you may read it"
        for path, why in {
            "entries/good.md": "Permission denied",
            "log.yaml": "Permission denied",
            "papers": "Not a directory",
        }.items()
    ]


def test_photos_that_belong_to_no_entry(folder: Path) -> None:
    """A picture outside an entry's folder, and a folder of no entry, are warnings: nothing of them is published."""
    put(folder, "photos/loose.jpg")
    put(folder, "photos/goood/a.jpg")
    put(folder, "photos/good/b.jpg")
    put(folder, "photos/good/deeper/c.jpg")
    assert tell(read_log(folder)) == [
        "entries/good.md:2:1: warning: 1 picture in `photos/good/` not listed, so not published: `b.jpg` "
        "[unlisted-photo] | help: write `- {file: b.jpg, says: …}` under `photos:`",
        "photos/goood:1:1: warning: there is no entry for the folder `photos/goood/`, so its pictures are not published"
        " [stray-photos] | help: did you mean `good`?",
        "photos/loose.jpg:1:1: warning: `photos/loose.jpg` is not in an entry's photo folder, so it is not published"
        " [stray-photo]"
        " | help: move it into the folder with the same name as its entry, as in `photos/2024-05-18-lift-pump/`",
    ]


def test_photos_of_an_entry_that_cannot_be_read_are_no_warning(folder: Path) -> None:
    """The folder has its entry; a picture that stands in lines which cannot be read is not called unlisted."""
    put(folder, "entries/bad.md", b"---\ndate: 2024-05-18\ntitle: a\nphotos: [a.jpg: b: c]\n---\n")
    put(folder, "photos/bad/a.jpg")
    assert [problem.rule for problem in read_log(folder).problems] == ["yaml-colon"]


def test_reading_writes_nothing(folder: Path) -> None:
    """Reading leaves the folder as it is, times included."""
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    gather_files(folder)
    read_log(folder)
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


def test_a_text_is_quoted_from_disk_as_long_as_it_is_the_one_that_was_read(folder: Path) -> None:
    """Line ends and a BOM are no difference; a text that was changed or removed since is not quoted."""
    put(folder, "entries/late.md", b"\xef\xbb\xbf" + GOOD.replace(b"\n", b"\r\n"))
    put(folder, "entries/gone.md", GOOD)
    read = read_log(folder).texts
    texts = TextsOnDisk(folder, read)
    assert dict(texts) == dict(read) and len(texts) == 4
    put(folder, "entries/good.md", GOOD + b"More.\n")
    (folder / "entries/gone.md").unlink()
    assert [path for path in read if path in texts] == ["log.yaml", "entries/late.md"]


def test_settings_that_could_not_be_read_are_an_empty_text(folder: Path) -> None:
    (folder / "log.yaml").unlink()
    assert TextsOnDisk(folder, read_log(folder).texts)["log.yaml"] == ""
