"""Entries that were renamed: each old name leads on to one entry, and what cannot be one's old name is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildlog.read.files import LogFiles
from buildlog.read.kinds import ENTRY_NAME, Unreadable
from buildlog.read.reader import read_files, read_log
from buildlog.read.records import list_old_names
from tests.support import list_problems

SETTINGS = "machine: {name: Test machine}\nmoney: {currency: GBP}\n"


def tell(**entries: str) -> list[str]:
    """The problems of a log of entries, each with what its `was:` says."""
    keys = {name: f"was: {was}" if was else "hours: 1" for name, was in entries.items()}
    texts = {f"{name}.md": f"---\ndate: 2024-05-18\ntitle: A\n{key}\n---\n" for name, key in keys.items()}
    return [" | ".join(rows) for rows in list_problems(read_files(LogFiles(settings=SETTINGS, entries=texts)).problems)]


@pytest.mark.parametrize("was", ["old", "old.md", "[older, old]", "2024-05-18", "'2024'", "2024", "index", "costs"])
def test_old_names_that_are_fine(was: str) -> None:
    """With or without `.md`, one or several, oldest first; pages of the site's own stand in other folders."""
    assert tell(new=was) == []


def test_a_name_leads_on_to_one_entry() -> None:
    """Not to an entry that is called so still, nor to itself, nor to two."""
    assert tell(new="new") == [
        "entries/new.md:4:6: error: `new` is what this entry is called now, so there is no old address to lead on from"
        " [renamed]"
        " | at was | help: remove it from `was:`"
    ]
    assert tell(new="other", other="") == [
        "entries/new.md:4:6: error: there is an entry `other`, so its address cannot lead on to another one [renamed]"
        " | at was | help: remove it from `was:`, or rename that entry"
    ]
    assert tell(a="old", b="[older, old]") == [
        "entries/b.md:4:14: error: `old` is under `was:` in two entries, and an old address leads on to one [renamed]"
        " | at was[1] | see also entries/a.md:4:6 | at was | help: leave it in the one that was called so"
    ]
    assert tell(a="[old, old.md]") == [
        "entries/a.md:4:7: error: `old` is under `was:` twice here [renamed] | at was[0] | help: write it once"
    ]


def test_a_chain_is_written_in_the_last_entry() -> None:
    """From `a` to `b` to `c`: `c` says both. That `b` says what it was is of no use once `b` is gone."""
    reading = read_files(
        LogFiles(settings=SETTINGS, entries={"c.md": "---\ndate: 2024-05-18\ntitle: A\nwas: [a, b]\n---\n"})
    )
    assert reading.problems == () and reading.log is not None
    assert {old: entry.name for old, entry in list_old_names(reading.log.entries).items()} == {"a": "c", "b": "c"}
    assert tell(b="a", c="b")[0].startswith("entries/c.md:4:6: error: there is an entry `b`")


@pytest.mark.parametrize(
    "text",
    [
        "../costs",
        "a/b",
        "entries/../x",
        "",
        ".md",
        "Old",
        "old name",
        "con",
        "aux.txt",
        "a--b",
        "-a",
        "..",
        "a.html/",
        "é",
    ],
)
def test_what_no_entry_can_be_called_is_no_old_name(text: str) -> None:
    """It becomes an address and a file of the site, so it is held to the same rule as the files' own names."""
    with pytest.raises(Unreadable):
        ENTRY_NAME.read(text)


def test_a_path_gets_its_file_name_as_a_remedy() -> None:
    """It means the same; of any other text nobody knows what was meant."""
    assert tell(new="entries/old.md")[0].endswith("| help: write `old`")
    assert "as in `2024-05-18-lift-pump`" in tell(new="Old")[0]


def test_the_photo_folder_is_renamed_with_its_entry(tmp_path: Path) -> None:
    """One that was forgotten is told once, with its new name; its pictures are not called missing beside that."""
    log = tmp_path / "log"
    (log / "entries").mkdir(parents=True)
    (log / "photos/old").mkdir(parents=True)
    (log / "log.yaml").write_text(SETTINGS)
    (log / "photos/old/a.jpg").write_bytes(b"")
    head = "---\ndate: 2024-05-18\ntitle: A\nwas: old\nphotos: [{file: a.jpg, says: Pump}]\n---\n"
    (log / "entries/new.md").write_text(head)

    def look() -> list[str]:
        return [" | ".join(rows) for rows in list_problems(read_log(log).problems)]

    told = (
        "photos/old:1:1: warning: the entry `old` is called `new` now, so the pictures in `photos/old/` are"
        " not published [stray-photos] | help: "
    )
    assert look() == [f"{told}rename the folder to `photos/new/`"]
    (log / "photos/new").mkdir()
    assert look() == [f"{told}move them into `photos/new/`"]
    (log / "photos/old/a.jpg").rename(log / "photos/new/a.jpg")
    (log / "photos/old").rmdir()
    assert look() == []
