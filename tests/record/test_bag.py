"""Bags: names that mean the same everywhere, manifests, the same bytes twice, and whole or not at all."""

from __future__ import annotations

import datetime
import io
import os
import re
import shutil
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.handover.bag import BagRefused, is_plain_name, name_files, write_bag

DAY = datetime.date(2024, 11, 30)
FILES: dict[str, bytes] = {"a.txt": b"hello\n", "b/empty.bin": b"", "b/c/five.bin": b"12345"}


def write(out: Path, files: dict[str, bytes] = FILES) -> None:
    with write_bag(out, top="bag", day=DAY, info={"External-Identifier": "Old Tom"}) as bag:
        for name, data in files.items():
            bag.add(name, data)


def test_a_bag_in_a_folder(tmp_path: Path) -> None:
    """Two spaces in the manifest; 6 + 0 + 5 = 11 octets in 3 files; the sum of `hello` and LF is the published one."""
    write(tmp_path / "bag")
    assert (tmp_path / "bag/bagit.txt").read_bytes() == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    assert (tmp_path / "bag/manifest-sha256.txt").read_text().splitlines()[0] == (
        "5891b5b522d5df086d0ff0b110fbd9d21bb4fc7163af34d08286a2e846f6be03  data/a.txt"
    )
    assert (tmp_path / "bag/bag-info.txt").read_text() == (
        "External-Identifier: Old Tom\nBagging-Date: 2024-11-30\nPayload-Oxum: 11.3\n"
    )
    tags = (tmp_path / "bag/tagmanifest-sha256.txt").read_text()
    assert re.findall(r"  (\S+)\n", tags) == ["bag-info.txt", "bagit.txt", "manifest-sha256.txt"]


def test_the_same_files_make_the_same_zip(tmp_path: Path) -> None:
    """Stored, one time, one mode, in the order given: whatever the zip is called and when it is written."""
    write(tmp_path / "one.zip")
    write(tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        infos = archive.infolist()
    assert {(info.compress_type, info.date_time, info.external_attr >> 16, info.create_system) for info in infos} == {
        (zipfile.ZIP_STORED, (1980, 1, 1, 0, 0, 0), 0o100644, 3)
    }
    assert all(info.filename.startswith("bag/") for info in infos)


@pytest.mark.parametrize("name", ["bag", "bag.zip"])
def test_a_bag_is_there_whole_or_not_at_all(tmp_path: Path, name: str) -> None:
    """What fails on the way leaves nothing, and what stands there already is left alone."""
    with pytest.raises(RuntimeError), write_bag(tmp_path / name, top="bag", day=DAY, info={}) as bag:
        bag.add("a.txt", b"hello\n")
        assert not (tmp_path / name).exists()
        raise RuntimeError
    assert list(tmp_path.iterdir()) == []
    (tmp_path / name).write_text("mine")
    with pytest.raises(BagRefused, match="already exists"):
        write(tmp_path / name)
    assert (tmp_path / name).read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize("name", ["bag", "bag.zip"])
@pytest.mark.parametrize("ends_well", [True, False])
def test_nothing_is_moved_or_removed_while_it_is_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, ends_well: bool
) -> None:
    """Windows refuses both for an open file, so that a bag given up would stay behind under its unfinished name."""
    opened: list[IO[bytes]] = []
    touched: list[bool] = []

    def note_open(*given: Any, **named: Any) -> IO[bytes]:
        opened.append(plain_open(*given, **named))
        return opened[-1]

    def watch(touch: Callable[..., Any]) -> Callable[..., Any]:
        def watched(*given: Any, **named: Any) -> Any:
            touched.append(all(file.closed for file in opened))
            return touch(*given, **named)

        return watched

    plain_open = io.open
    monkeypatch.setattr("io.open", note_open)  # by which `zipfile` opens
    monkeypatch.setattr("builtins.open", note_open)
    for module, what in ((os, "rename"), (os, "unlink"), (shutil, "rmtree"), (Path, "unlink")):
        monkeypatch.setattr(module, what, watch(getattr(module, what)))
    with suppress(RuntimeError), write_bag(tmp_path / name, top="bag", day=DAY, info={}) as bag:
        bag.add("a.txt", b"hello\n")
        if not ends_well:
            raise RuntimeError
    assert opened
    assert touched and all(touched)


def test_what_came_in_the_meantime_is_not_replaced(tmp_path: Path) -> None:
    """Another run may finish first."""
    with (
        pytest.raises(BagRefused, match="has appeared meanwhile"),
        write_bag(tmp_path / "a.zip", top="bag", day=DAY, info={}) as bag,
    ):
        bag.add("a.txt", b"hello\n")
        (tmp_path / "a.zip").write_text("mine")
    assert (tmp_path / "a.zip").read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("name", ["../a", "a b", "a/../b", "", "/a", "a//b", "con.txt", "a.", "ä"])
def test_the_writer_refuses_a_name_that_no_bag_may_have(tmp_path: Path, name: str) -> None:
    """Names are made by `name_files`; the writer trusts nobody."""
    with pytest.raises(ValueError), write_bag(tmp_path / "bag", top="bag", day=DAY, info={}) as bag:
        bag.add(name, b"")
    assert not (tmp_path / "bag").exists()


NAMES = {
    "papers/Motoröl.pdf": "papers/Motorol.pdf",
    "papers/a b.pdf": "papers/a-b.pdf",
    "papers/IMG_1.JPG": "papers/IMG_1.JPG",
    "papers/con.txt": "papers/x-con.txt",
    "papers/日本.pdf": "papers/file.pdf",
    "papers/.hidden one": "papers/hidden-one",
    "papers/.../x": "papers/file/x",
    "papers/-rf": "papers/-rf",
    "papers/end.": "papers/end",
}


@pytest.mark.parametrize("path", NAMES)
def test_a_plainer_name(path: str) -> None:
    """Accents go, other signs become dashes, devices get a letter, nothing is left empty."""
    assert name_files([path]) == {path: NAMES[path]}


def test_no_two_names_meet() -> None:
    """`A b`, `a-b` and `a b` are told apart by number, a plain one keeps its name; no file is named as a folder is."""
    assert name_files(["p/a b.txt", "p/a-b.txt", "p/A b.txt", "p/A-B.txt"]) == {
        "p/A-B.txt": "p/A-B.txt",
        "p/a-b.txt": "p/a-b-2.txt",
        "p/A b.txt": "p/A-b-3.txt",
        "p/a b.txt": "p/a-b-4.txt",
    }
    assert name_files(["p/ä", "p/a/x"]) == {"p/ä": "p/a-2", "p/a/x": "p/a/x"}


PARTS = st.text(min_size=1, max_size=40).filter(lambda part: "/" not in part and part not in (".", ".."))


@given(st.sets(st.lists(PARTS, min_size=1, max_size=3).map("/".join), max_size=12))
def test_every_path_gets_a_name_of_its_own(paths: set[str]) -> None:
    """Whatever an owner calls files: plain names, no two alike but for case, none the folder of another."""
    names = list(name_files(paths).values())
    assert all(map(is_plain_name, names))
    lower = [name.lower() for name in names]
    assert len({*lower}) == len(lower)
    assert not any(other.startswith(f"{name}/") for name in lower for other in lower)


@given(st.sets(PARTS, max_size=8))
def test_names_depend_on_the_set_of_paths_alone(paths: set[str]) -> None:
    """So that a checker can make the same table."""
    assert name_files(sorted(paths)) == name_files(sorted(paths, reverse=True))
