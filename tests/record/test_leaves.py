"""What a line of the list of leaves says, and that nothing else is taken for one."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.record import seals
from buildlog.record.hashing import write_canonical
from buildlog.record.rules import LONGEST_LINE, LONGEST_PATH, LONGEST_REASON
from buildlog.record.seals import (
    Digest,
    Leaf,
    NotALeaf,
    find_latest,
    is_covered,
    is_sound_path,
    is_sound_reason,
    read_leaf,
    write_leaf,
)
from tests.record.logs import FILES, LEFT_OUT

SUM, SALT = "ab" * 32, "cd" * 16
FIRST = Leaf(path="log.yaml", digest=Digest(size=30, sha256=SUM), salt=SALT)
LATER = Leaf(path="log.yaml", digest=Digest(size=0, sha256=SUM), salt=SALT, amends=7, reason="mistyped „name“")
GONE = Leaf(path="papers/a.pdf", digest=None, salt=SALT, amends=0, reason="not ours")
LINES = {
    f'{{"path":"log.yaml","salt":"{SALT}","sha256":"{SUM}","size":30}}': FIRST,
    f'{{"amends":7,"path":"log.yaml","reason":"mistyped „name“","salt":"{SALT}","sha256":"{SUM}","size":0}}': LATER,
    f'{{"amends":0,"path":"papers/a.pdf","reason":"not ours","salt":"{SALT}","sha256":null,"size":null}}': GONE,
}


@pytest.mark.parametrize("line", LINES)
def test_a_leaf_has_one_spelling(line: str) -> None:
    """The three kinds of leaves, written out: a first, a later version, one that is gone."""
    assert write_leaf(LINES[line]) == line.encode()
    assert read_leaf(line.encode()) == LINES[line]


GOOD = next(iter(LINES))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("log.yaml", "../log.yaml"), ("log.yaml", "/log.yaml"), ("log.yaml", "a//b"), ("log.yaml", "a/./b"),
        ("log.yaml", "a/.."), ("log.yaml", "a\\\\b"), ("log.yaml", ""), ("log.yaml", "a\\u0000"), ("log.yaml", "a\x7f"),
        ("log.yaml", "x" * (LONGEST_PATH + 1)), ('"log.yaml"', "1"),
        (SUM, SUM[1:]), (SUM, SUM.upper()), (SUM, SUM + "0"), (f'"{SUM}"', "null"), (f'"{SUM}"', "5"),
        (SALT, SALT[1:]), (SALT, "é" * 32), ('"size":30', '"size":-1'), ('"size":30', '"size":true'),
        ('"size":30', '"size":"30"'), ('"size":30', '"size":null'), ('"size":30', '"size":30.0'), (',"size":30', ""),
        ('{"path"', '{"amends":0,"path"'), ('"salt"', '"reason":"r","salt"'), ("30}", '30,"type":1}'),
        ("{", " {"), ("}", "} "), ("}", "}\n"), ('"path"', '"Path"'), (GOOD, "[]"), (GOOD, "null"), (GOOD, ""),
        (GOOD, "[" * (LONGEST_LINE + 1)), (GOOD, "[" * 3000),
    ],
    ids=repr,
)  # fmt: skip
def test_what_is_no_leaf_is_refused(old: str, new: str) -> None:
    """Paths that lead out, sums and sizes of another shape, keys too many or too few, another spelling."""
    assert old in GOOD
    with pytest.raises(NotALeaf):
        read_leaf(GOOD.replace(old, new).encode())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"amends":7,', ""), ('"reason":"mistyped „name“",', ""), ('"mistyped „name“"', "null"),
        ('"mistyped „name“"', '""'), ('"mistyped „name“"', '" "'), ('"mistyped „name“"', '"a\\nb"'),
        ("mistyped", "m" * LONGEST_REASON),
        ('"amends":7', '"amends":null'), ('"amends":7', '"amends":-1'), ('"amends":7', '"amends":true'),
    ],
    ids=repr,
)  # fmt: skip
def test_a_later_version_says_what_it_amends_and_why(old: str, new: str) -> None:
    """`amends` and `reason` come together, and each says something."""
    line = list(LINES)[1]
    assert old in line
    with pytest.raises(NotALeaf):
        read_leaf(line.replace(old, new).encode())


PATHS = st.text(st.sampled_from('ab/.~ "\\é\n\x7f'), max_size=8) | st.just("x" * 1001)
SUMS = st.sampled_from([SUM, SUM.upper(), SUM[1:]])
SIZES = st.sampled_from(["0", "30", "030", "-0", "1e3", "999999999999999", "9007199254740991", "9007199254740992"])


@given(PATHS, SUMS, SIZES)
def test_the_short_way_of_reading_a_leaf_is_the_long_way(path: str, total: str, size: str) -> None:
    """Lines that are read by their shape alone give what the reader of canonical JSON gives, leaf or refusal."""
    line = f'{{"path":"{path}","salt":"{SALT}","sha256":"{total}","size":{size}}}'.encode()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(seals, "PLAIN", re.compile(rb"(?!)"))
        slow = read_or_refuse(line)
    assert read_or_refuse(line) == slow


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=30) | PATHS, st.integers(0, 2**53 - 1))
def test_the_short_way_of_writing_a_leaf_is_the_long_way(path: str, size: int) -> None:
    """A line that is put together by hand is the one that canonical JSON has."""
    value = {"path": path, "salt": SALT, "sha256": SUM, "size": size}
    assert write_leaf(Leaf(path=path, digest=Digest(size=size, sha256=SUM), salt=SALT)) == write_canonical(value)


def read_or_refuse(line: bytes) -> Leaf | None:
    try:
        return read_leaf(line)
    except NotALeaf:
        return None


@given(st.binary(max_size=200))
def test_any_bytes_are_a_leaf_or_refused(data: bytes) -> None:
    """A stranger's line never does anything else."""
    with pytest.raises(NotALeaf):
        read_leaf(data)


def test_what_seals_speak_of() -> None:
    """log.yaml, entries, photos and papers; nothing hidden, no backup, no site, theme or seal."""
    assert all(map(is_covered, FILES))
    assert not any(map(is_covered, LEFT_OUT))
    assert not any(map(is_covered, ["seals/0001.json", "entries", "papers", "entries/old/a.md", "log.yml", "photos"]))


@given(st.text(max_size=20))
def test_a_sound_path_stays_inside(path: str) -> None:
    """No sound path begins at the top of a disk, goes up, or has an empty part."""
    if is_sound_path(path):
        assert not {"", ".", ".."}.intersection(path.split("/"))
        assert path.encode().decode() == path


def test_reasons() -> None:
    """One paragraph of at most a thousand characters that says something."""
    assert is_sound_reason("r" * LONGEST_REASON)
    assert not any(map(is_sound_reason, ["", "  ", "a\nb", "a\x1b[31m", "r" * (LONGEST_REASON + 1), "\ud800"]))


def test_the_latest_leaf_of_a_path_counts() -> None:
    """Leaves are counted from 0; a line that is no leaf is counted and has no path."""
    assert find_latest([FIRST, None, GONE, LATER]) == {"log.yaml": 3, "papers/a.pdf": 2}
