"""Nothing that a bag holds makes `verify` take for ever or all the memory: work is counted, and every bound told."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

import buildlog
from buildlog.handover import hashed_bag, run_apart, unpack, verify
from buildlog.handover.bag import name_files
from buildlog.handover.manifest import NotAHandover, read_list
from buildlog.handover.unpack import Refused, open_bag
from buildlog.record import attestation_metadata, rules
from buildlog.record.hashing import Tree, hash_leaf
from buildlog.record.seals import Digest, Leaf, Seal, hash_seal, write_leaf, write_seal
from tests.record.bags import DAY, answer, hand, load, write_sealed, write_zip
from tests.work import grows_with_its_input

NAMES: dict[str, Callable[[int], str]] = {
    "letters that are dropped": lambda n: f"papers/{chr(0x4E00 + n)}.pdf",
    "letters that differ in case": lambda n: f"papers/{'a' if n % 2 else 'A'}{'é' * (n + 1)}.pdf",
    "folders that are dropped": lambda n: f"papers/{chr(0x4E00 + n)}/a.pdf",
}


@pytest.mark.parametrize("name", NAMES)
def test_names_that_simplify_alike_are_numbered_in_one_go(name: str) -> None:
    """Twice as many take twice as many steps: a stranger's list may have a hundred thousand of them."""

    def make(size: int) -> Callable[[], object]:
        paths = [NAMES[name](n) for n in range(size)]
        return lambda: name_files(paths)

    assert grows_with_its_input(make, 300) < 2.2
    names = name_files([NAMES[name](n) for n in range(300)])
    assert len({plain.lower() for plain in names.values()}) == 300


@pytest.mark.parametrize("most", ["ratio", "bytes"])
def test_a_folder_with_holes_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: str) -> None:
    """A file of a terabyte that takes no place on the disk would be summed up for an hour."""
    if most == "bytes":
        monkeypatch.setattr(unpack, "MOST_ADDED", 20_000_000)
        monkeypatch.setattr(unpack, "MOST_RATIO", 1 << 40)
    (tmp_path / "data").mkdir()
    with open(tmp_path / "data/a", "wb") as file:
        file.write(b"x" * 100_000)
        file.truncate(50_000_000)
    if os.stat(tmp_path / "data/a").st_blocks * 512 > 1_000_000:
        pytest.fail("this file system keeps no holes: run the tests on one that does")
    with pytest.raises(Refused) as caught, open_bag(tmp_path):
        pass
    assert caught.value.rule == "zip-bomb"


def test_files_may_not_be_gigabytes_larger_than_their_zip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However small the ratio: it is the bytes that are read."""
    path = write_zip(tmp_path / "bag.zip", {"data/a": b"x" * 11_000_000})
    with open_bag(path):
        pass
    monkeypatch.setattr(unpack, "MOST_ADDED", -1_000)
    with pytest.raises(Refused):
        open_bag(path).__enter__()


def test_a_list_with_a_million_values_is_not_read() -> None:
    """Small values take a hundred times the memory of the signs that they are written with."""
    data = b"[" + b"{}," * rules.MOST_LISTED + b"{}]\n"
    assert len(data) < rules.LARGEST_LIST
    with pytest.raises(NotAHandover, match=f"more values than the limit of {rules.MOST_LISTED}"):
        read_list(data)


def test_a_list_of_sixty_megabytes_is_not_read(signed: dict[str, bytes]) -> None:
    """The list of a bag is held against its bound before a byte of it is read as JSON; the question fails, by name."""
    found = answer(signed | {"data/handover.json": b'{"format":3,"names":"' + b"a" * 63_000_000 + b'"}\n'})["withheld"]
    first = found.flaws[0]
    assert (first.rule, first.file) == ("list-unreadable", "data/handover.json")
    assert first.message == f"it has 63000024 bytes; the limit is {rules.LARGEST_LIST}"


@pytest.fixture(scope="module")
def signed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A bag with two seals, each with a signature that is none."""
    top = tmp_path_factory.mktemp("signed")
    hand(write_sealed(top / "log"), top / "bag")
    return load(top / "bag") | {f"data/seals/000{number}.json.sig": b"none" for number in (1, 2)}


def test_signatures_and_stamps_are_checked_while_there_is_time(
    signed: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was not looked at cannot be checked, and why is said."""
    assert answer(signed)["signatures"].state == "fails"
    monkeypatch.setattr(verify, "MOST_SECONDS", 0)
    found = answer(signed)["signatures"]
    assert found.state == "cannot be checked"
    assert found.says.endswith("stamps and signatures took longer than 0 seconds, so this one was not checked")


def test_the_bounds_together_stay_within_two_minutes_and_a_gigabyte() -> None:
    """The slowest that computing, signatures and stamps may be leaves 15 seconds for checksums. Memory leaves 400 MB:
    for what `verify` itself holds, and for what it hands over in a file, which may lie in memory as well."""
    assert run_apart.PATIENCE + verify.MOST_SECONDS + attestation_metadata.CHECK_PATIENCE <= 105
    assert run_apart.MOST_MEMORY <= (1 << 30) - 400_000_000
    assert hashed_bag.MOST_KEPT <= 100_000_000
    assert json.dumps(rules.list_limits())


def test_the_guide_tells_the_bounds() -> None:
    """The numbers that stand there are the ones that are enforced."""
    guide = (Path(buildlog.__file__).parent / "guide/handover.md").read_text(encoding="utf-8").replace("\n", " ")
    memory = run_apart.MOST_MEMORY // 1_000_000
    assert f"recalculating has {run_apart.PATIENCE} seconds and {memory} MB of memory" in guide
    assert f"stamps and signatures have {verify.MOST_SECONDS} seconds together" in guide
    assert f"more than {rules.MOST_FILES:,} files" in guide


def test_seals_and_leaves_are_gone_through_once() -> None:
    """Twice as many of both take twice as many steps: a bag may have 9,999 seals over 200,000 leaves."""

    def make(size: int) -> Callable[[], object]:
        digest = Digest(size=1, sha256="0" * 64)
        leaves = [Leaf(path=f"papers/{n}", digest=digest, salt="0" * 32) for n in range(4 * size)]
        lines = b"".join(write_leaf(leaf) + b"\n" for leaf in leaves)
        seals: dict[str, bytes] = {}
        previous = None
        for number in range(1, size + 1):
            root = Tree([hash_leaf(write_leaf(leaf)) for leaf in leaves[:1]]).root(1).hex()
            seal = Seal(number=number, date=DAY, leaves=4 * number, root=root, previous=previous)
            seals[f"data/seals/{seal.name}"] = write_seal(seal)
            previous = hash_seal(write_seal(seal))
        files = {"bagit.txt": b"", "data/seals/leaves.jsonl": lines, **seals}
        return lambda: answer(files)

    assert grows_with_its_input(make, 60) < 2.4
