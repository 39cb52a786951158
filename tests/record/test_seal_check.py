"""Whether every change to seals and sealed files is found, and called by its own name."""

from __future__ import annotations

import random
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from buildlog.record import seal_check
from buildlog.record.hashing import Tree, hash_leaf
from buildlog.record.log_disk import hash_files, list_files, read_seal_folder
from buildlog.record.rules import LARGEST_LEAVES, name_rule
from buildlog.record.seal_check import SealFolder, check_seals
from buildlog.record.seals import hash_seal, read_seal, write_leaf, write_seal
from tests.record.logs import check_folder, list_places, list_rules, seal, seal_three_times, write_files

LIST = "seals/leaves.jsonl"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return seal_three_times(tmp_path_factory.mktemp("sound"))


@pytest.fixture
def log(sound: Path, tmp_path: Path) -> Path:
    """A copy of a log under three seals, to be spoiled."""
    return shutil.copytree(sound, tmp_path / "log")


def read(log: Path) -> SealFolder:
    return read_seal_folder(log)


def test_a_sound_record_holds(log: Path) -> None:
    """Three seals over 4, 6 and 9 leaves; each file as sealed, and the one that is gone told as gone."""
    report = check_folder(log)
    assert report.failures == ()
    assert [(seal.number, seal.leaves) for seal in report.seals] == [(1, 4), (2, 6), (3, 9)]
    assert not report.files.differs
    assert len(report.files.whole) == 5
    assert report.files.gone == ("papers/second.pdf",)
    assert [leaf.amends for leaf in report.leaves if leaf] == [None, None, None, None, 1, None, 2, 5, None]


def test_a_log_that_was_never_sealed_has_no_failure(tmp_path: Path) -> None:
    """Nothing is claimed, so nothing fails; every file is told as never sealed."""
    report = check_folder(write_files(tmp_path))
    assert (report.seals, report.leaves, report.failures, report.last) == ((), (), (), None)
    assert len(report.files.unsealed) == 4


# ── the seals folder, spoiled ────────────────────────────────────────────────────────────────────────────────────


def edit(log: Path, name: str, change: Callable[[bytes], bytes]) -> None:
    path = log / "seals" / name
    path.write_bytes(change(path.read_bytes()))


def edit_lines(log: Path, change: Callable[[list[bytes]], list[bytes]]) -> None:
    edit(log, "leaves.jsonl", lambda data: b"".join(change(data.splitlines(keepends=True))))


def swap(lines: list[bytes], one: int, other: int) -> list[bytes]:
    lines[one], lines[other] = lines[other], lines[one]
    return lines


def rename(log: Path, old: str, new: str) -> None:
    (log / "seals" / old).rename(log / "seals" / new)


def rename_swapped(log: Path) -> None:
    rename(log, "0001.json", "x")
    rename(log, "0002.json", "0001.json")
    rename(log, "x", "0002.json")


def forge(log: Path, name: str, **changes: object) -> None:
    """Write a seal anew, in good form, with other claims."""
    edit(log, name, lambda data: write_seal(replace(read_seal(data), **changes)))  # type: ignore[arg-type]


def forge_leaf(log: Path) -> None:
    """Change a sealed size in the list's good form."""
    edit_lines(log, lambda lines: [lines[0].replace(b'"size":', b'"size":1'), *lines[1:]])


TAMPERINGS: dict[str, tuple[Callable[[Path], None], list[tuple[str, str]]]] = {
    "the list is missing": (
        lambda log: (log / LIST).unlink(),
        [("leaves-missing", LIST)],
    ),
    "the list is empty": (
        lambda log: edit(log, "leaves.jsonl", lambda data: b""),
        [("leaves-cut-short", LIST)],
    ),
    "the list is cut within its last line": (
        lambda log: edit(log, "leaves.jsonl", lambda data: data[:-10]),
        [("leaf-cut", LIST), ("leaves-cut-short", LIST)],
    ),
    "the list is cut by its last line end": (
        lambda log: edit(log, "leaves.jsonl", lambda data: data[:-1]),
        [("leaf-cut", LIST), ("leaves-cut-short", LIST)],
    ),
    "the list is cut by a line": (
        lambda log: edit_lines(log, lambda lines: lines[:-1]),
        [("leaves-cut-short", LIST)],
    ),
    "the first line is dropped": (
        lambda log: edit_lines(log, lambda lines: lines[1:]),
        [("amends-wrong", LIST), ("leaves-changed", LIST), ("leaves-cut-short", LIST)],
    ),
    "a line is said twice": (
        lambda log: edit_lines(log, lambda lines: [lines[0], *lines]),
        [("amends-wrong", LIST), ("leaves-changed", LIST), ("leaves-not-sealed", LIST)],
    ),
    "a line is added at the end": (
        lambda log: edit_lines(log, lambda lines: [*lines, lines[3].replace(b"photos/", b"photos/x")]),
        [("leaves-not-sealed", LIST)],
    ),
    "two lines change places": (
        lambda log: edit_lines(log, lambda lines: swap(lines, 0, 3)),
        [("leaves-changed", LIST)],
    ),
    "two lines of the second seal change places": (
        lambda log: edit_lines(log, lambda lines: swap(lines, 4, 5)),
        [("amends-wrong", LIST), ("leaves-changed", LIST)],
    ),
    "two lines of the last seal change places": (
        lambda log: edit_lines(log, lambda lines: swap(lines, 6, 8)),
        [("root-differs", "seals/0003.json")],
    ),
    "a sealed size is changed in good form": (forge_leaf, [("leaves-changed", LIST)]),
    "a line is made unreadable": (
        lambda log: edit_lines(log, lambda lines: [b"x" + lines[0], *lines[1:]]),
        [("leaf-unreadable", LIST), ("leaves-changed", LIST)],
    ),
    "the line ends are changed": (
        lambda log: edit(log, "leaves.jsonl", lambda data: data.replace(b"\n", b"\r\n")),
        [("leaf-unreadable", LIST), ("leaves-changed", LIST)],
    ),
    "a byte order mark is put in front": (
        lambda log: edit(log, "leaves.jsonl", lambda data: b"\xef\xbb\xbf" + data),
        [("leaf-unreadable", LIST), ("leaves-changed", LIST)],
    ),
    "the first seal is missing": (
        lambda log: (log / "seals/0001.json").unlink(),
        [("seal-missing", "seals/0001.json")],
    ),
    "a seal is missing": (
        lambda log: (log / "seals/0002.json").unlink(),
        [("seal-missing", "seals/0002.json")],
    ),
    "the last seal is missing": (
        lambda log: (log / "seals/0003.json").unlink(),
        [("leaves-not-sealed", LIST)],
    ),
    "all seals are missing": (
        lambda log: [(log / f"seals/000{n}.json").unlink() for n in (1, 2, 3)] and None,
        [("leaves-not-sealed", LIST)],
    ),
    "a seal is added that says the same": (
        lambda log: shutil.copy(log / "seals/0003.json", log / "seals/0004.json") and None,
        [("seal-misnamed", "seals/0004.json")],
    ),
    "a seal is added after the last": (
        lambda log: (
            (log / "seals/0004.json").write_bytes(
                write_seal(
                    replace(seal_of(log, 3), number=4, previous=hash_seal((log / "seals/0003.json").read_bytes()))
                )
            )
            and None
        ),
        [("leaves-fall", "seals/0004.json")],
    ),
    "a seal is renamed": (
        lambda log: rename(log, "0002.json", "0007.json"),
        [
            ("seal-misnamed", "seals/0007.json"),
            ("seal-missing", "seals/0002.json"),
            ("seal-missing", "seals/0004.json"),
        ],
    ),
    "two seals change names": (
        rename_swapped,
        [
            ("seal-misnamed", "seals/0001.json"),
            ("seal-misnamed", "seals/0002.json"),
            ("chain-broken", "seals/0003.json"),
        ],
    ),
    "a seal is empty": (
        lambda log: edit(log, "0002.json", lambda data: b""),
        [("seal-unreadable", "seals/0002.json"), ("chain-broken", "seals/0003.json")],
    ),
    "a seal is cut": (
        lambda log: edit(log, "0003.json", lambda data: data[:-1]),
        [("seal-unreadable", "seals/0003.json"), ("leaves-not-sealed", LIST)],
    ),
    "a seal has a blank more": (
        lambda log: edit(log, "0001.json", lambda data: data.replace(b":", b": ", 1)),
        [("seal-unreadable", "seals/0001.json"), ("chain-broken", "seals/0002.json")],
    ),
    "a seal is dated otherwise": (
        lambda log: forge(log, "0001.json", date=seal_of(log, 1).date.replace(day=1)),
        [("chain-broken", "seals/0002.json")],
    ),
    "the last seal is dated before the one before": (
        lambda log: forge(log, "0003.json", date=seal_of(log, 1).date.replace(day=1)),
        [("date-falls", "seals/0003.json")],
    ),
    "a root is another": (
        lambda log: forge(log, "0002.json", root="ab" * 32),
        [("chain-broken", "seals/0003.json"), ("seal-root-wrong", "seals/0002.json")],
    ),
    "the last root is another": (
        lambda log: forge(log, "0003.json", root="ab" * 32),
        [("root-differs", "seals/0003.json")],
    ),
    "the last seal counts more leaves": (
        lambda log: forge(log, "0003.json", leaves=10),
        [("leaves-cut-short", LIST)],
    ),
    "the last seal counts fewer leaves": (
        lambda log: forge(log, "0003.json", leaves=8),
        [("root-differs", "seals/0003.json"), ("leaves-not-sealed", LIST)],
    ),
    "the last seal counts as many leaves as the one before": (
        lambda log: forge(log, "0003.json", leaves=6, root=seal_of(log, 2).root),
        [("leaves-fall", "seals/0003.json"), ("leaves-not-sealed", LIST)],
    ),
    "the sum of the seal before is another": (
        lambda log: forge(log, "0003.json", previous="ab" * 32),
        [("chain-broken", "seals/0003.json")],
    ),
    "the sum of the seal before is left out": (
        lambda log: forge(log, "0003.json", previous=None),
        [("chain-broken", "seals/0003.json")],
    ),
    "the first seal names a seal before it": (
        lambda log: forge(log, "0001.json", previous="ab" * 32),
        [("chain-broken", "seals/0001.json"), ("chain-broken", "seals/0002.json")],
    ),
    "a file is added": (
        lambda log: (log / "seals/readme.txt").write_text("hello") and None,
        [("stray-file", "seals/readme.txt")],
    ),
    "a stamp is added for a seal that is not there": (
        lambda log: (log / "seals/0004.tsr").write_text("hello") and None,
        [("stray-file", "seals/0004.tsr")],
    ),
    "a seal of number nought is added": (
        lambda log: shutil.copy(log / "seals/0001.json", log / "seals/0000.json") and None,
        [("stray-file", "seals/0000.json")],
    ),
    "a folder is added": (lambda log: (log / "seals/0009.json").mkdir(), [("stray-file", "seals/0009.json")]),
    "a seal is a link": (
        lambda log: (log / "seals/0004.json").symlink_to(log / "seals/0003.json"),
        [("stray-file", "seals/0004.json")],
    ),
    "a sealing was left unfinished": (
        lambda log: (log / "seals/unfinished.json").write_text('{"number":4}\n') and None,
        [("unfinished", "seals/unfinished.json")],
    ),
}


def seal_of(log: Path, number: int) -> seal_check.Seal:
    return read_seal((log / f"seals/{number:04d}.json").read_bytes())


@pytest.mark.parametrize("name", TAMPERINGS)
def test_each_tampering_has_its_own_failure(log: Path, name: str) -> None:
    """Flip, drop, add, swap, truncate, rename: each is told by its rule and its file, and by nothing else."""
    tamper, expected = TAMPERINGS[name]
    tamper(log)
    report = check_folder(log)
    assert list_places(report.failures) == expected


def test_every_rule_is_shown_by_a_tampering() -> None:
    """No failure exists that no tampering here brings about, but the one of lists too large to be made here."""
    code = Path(seal_check.__file__).read_text(encoding="utf-8")
    shown = {rule for _, expected in TAMPERINGS.values() for rule, _ in expected}
    rules = {name_rule(words) for words in re.findall(r'(?:_fail|_tell_first)\(\s*"([^"]+)"', code)}
    assert rules - {"leaves-too-many"} == shown


def test_the_messages_say_what_and_where(log: Path) -> None:
    """What an owner or a buyer reads of a list whose first line was dropped."""
    edit_lines(log, lambda lines: lines[1:])
    assert [failure.message for failure in check_folder(log).failures] == [
        "line 4 does not amend the previous leaf of `log.yaml`, and 2 more lines like it",
        "one of lines 1 to 4 was changed, added, dropped or moved: no seal from `0001.json` on holds",
        "it has 8 complete lines, but `0003.json` covers 9",
    ]


def test_a_later_line_changed_leaves_the_earlier_seals_holding(log: Path) -> None:
    """The failure names the lines between the last seal that holds and the first that does not."""
    edit_lines(log, lambda lines: [*lines[:5], lines[5].replace(b'"size":3', b'"size":4'), *lines[6:]])
    (failure,) = check_folder(log).failures
    assert failure.message == (
        "one of lines 5 to 6 was changed, added, dropped or moved: no seal from `0002.json` on holds"
    )


def test_any_flipped_bit_in_the_seals_is_found(log: Path) -> None:
    """Every byte of every seal and, at random, 600 bytes of the list: no flip leaves the record holding."""
    present, folder = hash_files(log, list_files(log)[0])[0], read(log)
    assert folder.leaves is not None
    chance = random.Random(1)
    for at in chance.sample(range(len(folder.leaves)), 600):
        changed = flip(folder.leaves, at, chance)
        assert check_seals(replace(folder, leaves=changed), present).failures, at
    for name, data in folder.seals.items():
        for at in range(len(data)):
            seals = {**folder.seals, name: flip(data, at, chance)}
            report = check_seals(replace(folder, seals=seals), present)
            # the one thing that nobody can find out: the last date, before a stamp or another seal stands on it
            assert report.failures or (name == "0003.json" and at in range(9, 19)), (name, at)


def flip(data: bytes, at: int, chance: random.Random) -> bytes:
    return data[:at] + bytes([data[at] ^ 1 << chance.randrange(8)]) + data[at + 1 :]


def test_the_last_seal_with_its_leaves_can_be_taken_away_in_one(log: Path) -> None:
    """What no record finds out by itself, said honestly: a record cut back to an earlier seal is whole again, and its
    later files count as never sealed, or changed."""
    (log / "seals/0003.json").unlink()
    edit_lines(log, lambda lines: lines[:6])
    report = check_folder(log)
    assert report.failures == ()
    assert report.files.unsealed == ("papers/third.pdf",)
    assert report.files.changed == ("papers/invoice.pdf",)
    assert report.files.missing == ("papers/second.pdf",)


def test_a_leaf_that_amends_the_wrong_leaf_is_found_though_the_root_holds(tmp_path: Path) -> None:
    """An owner who writes the list by hand, with a root that fits, still cannot leave out what was sealed before."""
    write_files(tmp_path)
    seal(tmp_path)
    folder = read(tmp_path)
    assert folder.leaves is not None
    leaf = check_folder(tmp_path).leaves[0]
    assert leaf is not None
    line = write_leaf(replace(leaf, digest=replace(leaf.digest, size=9)))  # type: ignore[type-var]
    lines = [*folder.leaves.splitlines(), line]
    root = Tree(map(hash_leaf, lines)).root().hex()
    first = folder.seals["0001.json"]
    second = replace(read_seal(first), number=2, leaves=5, root=root, previous=hash_seal(first))
    forged = SealFolder(
        leaves=b"".join(line + b"\n" for line in lines), seals={"0001.json": first, "0002.json": write_seal(second)}
    )
    assert list_rules(check_seals(forged, {})) == ["amends-wrong"]


def test_a_list_too_large_is_not_looked_into() -> None:
    """A stranger's list of gigabytes costs no more than its limit: it is counted and put aside."""
    for data in (b"\n" * (200_001), b"x" * (LARGEST_LEAVES + 1)):
        report = check_seals(SealFolder(leaves=data, seals={}), {})
        assert list_rules(report) == ["leaves-too-many"]
        assert report.leaves == ()


def test_a_hundred_thousand_bad_lines_are_one_failure() -> None:
    """What is told of a hostile list stays short."""
    report = check_seals(SealFolder(leaves=b"{}\n" * 100_000, seals={}), {})
    assert list_rules(report) == ["leaf-unreadable", "leaves-not-sealed"]
    assert report.failures[0].message == (
        "line 1 is not a valid leaf: its keys are not those of a leaf, and 99999 more lines like it"
    )


# ── the log's files, changed since ───────────────────────────────────────────────────────────────────────────────


def test_work_since_the_last_seal_is_no_failure_and_is_listed(log: Path) -> None:
    """Changed, missing, new and back again: five lists beside a chain that holds."""
    write_files(log, {"papers/second.pdf": b"back", "papers/fourth.pdf": b"new", "log.yaml": b"machine: {}\n"})
    (log / "papers/third.pdf").unlink()
    report = check_folder(log)
    assert report.failures == ()
    files = report.files
    assert (files.changed, files.missing, files.returned, files.unsealed, files.gone) == (
        ("log.yaml",), ("papers/third.pdf",), ("papers/second.pdf",), ("papers/fourth.pdf",), (),
    )  # fmt: skip
    assert files.differs


def test_an_older_version_put_back_is_a_change(log: Path) -> None:
    """The latest leaf of a path counts: the bytes of its first leaf are other bytes now."""
    write_files(log, {"papers/invoice.pdf": b"%PDF-1.4 an invoice"})
    assert check_folder(log).files.changed == ("papers/invoice.pdf",)


def test_a_renamed_file_is_missing_and_new(log: Path) -> None:
    """A file is known by its path."""
    (log / "papers/third.pdf").rename(log / "papers/3.pdf")
    files = check_folder(log).files
    assert (files.missing, files.unsealed) == (("papers/third.pdf",), ("papers/3.pdf",))


def test_two_files_that_change_places_are_both_changed(log: Path) -> None:
    """The same sums under other names are told."""
    one, other = log / "papers/third.pdf", log / "papers/invoice.pdf"
    first, second = one.read_bytes(), other.read_bytes()
    one.write_bytes(second)
    other.write_bytes(first)
    assert check_folder(log).files.changed == ("papers/invoice.pdf", "papers/third.pdf")
