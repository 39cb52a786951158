"""That a file's name means the same file whether its accents are composed or stand by themselves (Unicode Annex 15).

Some systems hand back another form than was typed, and an editor on one system writes what a disk of another does not
have: `é` is one character or two.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import Literal

import pytest

from tests.killing import read_tree
from tests.record import bags
from tests.test_cli import run

Form = Literal["NFC", "NFD"]
FORMS: tuple[Form, ...] = ("NFC", "NFD")
DAY = "2024-11-30"
PLAIN = (
    (b"IMG 1.jpg", "Größe é.jpg"),
    (b"IMG%201.jpg", "Größe%20é.jpg"),
    (b"papers/", "papers/Bücher/"),
    (b"public: {prices: hidden, vin: hidden}", "public: {papers: shown}"),
)
"What stands in the tests' small log, and what stands for it here."


def accent(data: bytes, form: Form) -> bytes:
    for old, new in PLAIN:
        data = data.replace(old, new.encode())
    return unicodedata.normalize(form, data.decode()).encode()


def make_log(folder: Path, *, on_disk: Form, in_text: Form) -> Path:
    """A log whose photo, papers and folder of papers have accents, with each name spelt in these forms."""
    for path, data in bags.list_log().items():
        file = folder / accent(path.encode(), on_disk).decode()
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(accent(data, in_text) if path.endswith((".md", ".yaml")) else data)
    return folder


def use(log: Path, *, withheld: str) -> dict[str, bytes]:
    """Everything that comes of a log: what each command says, the site, the seals and the bag, by path."""
    told = {}
    for command in ("check", "costs", "parts", "due", "next", "faults", "apart"):
        arguments = ["--log"] if command == "apart" else []
        result = run(command, *arguments, log, "--as-of", DAY)
        assert result.exit_code == 0, result.output
        told[command] = result.output.replace(str(log), "LOG").encode()
    bags.seal(log)
    assert run("publish", log, "--out", log.parent / "site", "--as-of", DAY).exit_code == 0
    handed = run("handover", log, "--out", log.parent / "bag", "--withhold", withheld, "--as-of", DAY)
    assert handed.exit_code == 0, handed.output
    assert "1 fails" not in run("verify", log.parent / "bag").output
    assert run("verify", log.parent / "bag").exit_code == 0
    made = {path: data for path, data in read_tree(log.parent).items() if path.split("/")[0] != "log"}
    seals = {path: data for path, data in read_tree(log / "seals").items() if path != ".lock"}
    return told | made | seals


@pytest.mark.parametrize("in_text", FORMS)
def test_what_the_disk_holds_in_either_form_is_one_file(in_text: Form, tmp_path: Path) -> None:
    """Whatever form the disk has and whatever is typed: the same answers, site, seals and bag, byte for byte.

    Photos with their hidden spots, papers in folders, pictures in stories, what is withheld.
    """
    made = []
    for on_disk in FORMS:
        for typed in FORMS:
            log = make_log(tmp_path / (on_disk + typed) / "log", on_disk=on_disk, in_text=in_text)
            made.append(use(log, withheld=unicodedata.normalize(typed, "papers/Bücher/loan.pdf")))
    assert any(path.startswith("site/papers/") for path in made[0])
    assert any(path.startswith("site/photos/") for path in made[0])
    for other in made[1:]:
        assert other.keys() == made[0].keys()
        assert [path for path in other if other[path] != made[0][path]] == []


def test_what_is_typed_in_either_form_is_one_name(tmp_path: Path) -> None:
    """The pages are the same but for the owner's other words, which stay as they were typed."""
    sites = []
    for in_text in FORMS:
        log = make_log(tmp_path / in_text / "log", on_disk="NFC", in_text=in_text)
        assert run("publish", log, "--as-of", DAY).exit_code == 0
        sites.append(read_tree(log / "site"))
    assert sites[0].keys() == sites[1].keys()
    spelt = [{path: unicodedata.normalize("NFC", data.decode(errors="replace")) for path, data in site.items()}
             for site in sites]  # fmt: skip
    assert [path for path in spelt[0] if spelt[0][path] != spelt[1][path]] == []


def test_both_forms_side_by_side_are_told(tmp_path: Path) -> None:
    """Two files that are one name are no choice of ours: an error in every command that reads the folder."""
    log = make_log(tmp_path / "log", on_disk="NFC", in_text="NFC")
    (log / unicodedata.normalize("NFD", "papers/Bücher")).mkdir()
    (log / unicodedata.normalize("NFD", "papers/Bücher/loan.pdf")).write_bytes(b"another")
    for command in (["check"], ["publish"], ["seal"], ["handover", "--out", str(tmp_path / "bag")]):
        result = run(command[0], log, *command[1:])
        assert result.exit_code == 1
        assert "is there twice, with its accents stored in two different ways" in result.output
