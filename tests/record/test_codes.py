"""Codes of seals: long enough to be kept, made to be read aloud, a slip shown at once, older ones still known."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

import buildlog
from buildlog.cli import main
from buildlog.handover.bag_check import compare_code
from buildlog.handover.findings import hold
from buildlog.record.seals import ALPHABET, LETTERS, NotACode, find_check, read_code, read_seal, write_code
from tests.record.bags import hand, write_sealed

GUIDE = (Path(buildlog.__file__).parent / "guide/seals.md").read_text(encoding="utf-8")
ROOT = hashlib.sha256(b"a root").hexdigest()
ROOTS = st.binary(min_size=32, max_size=32).map(bytes.hex)


@pytest.mark.parametrize(
    ("text", "check"),
    [
        ("A12425GABC1234002", "M"),  # GRid Standard (IFPI), its own example A1-2425G-ABC1234002-M, by MOD 37-36
        ("00000000D07A0090", "Q"),  # ISAN (ISO 15706), 0000-0000-D07A-0090-Q-0000-0000-X, from memory: of the first 16
        ("00000000D07A009000000000", "X"),  # the same, of all 24
    ],
)
@pytest.mark.outside
def test_the_check_character_is_that_of_published_numbers(text: str, check: str) -> None:
    """ISO/IEC 7064, MOD 37-36, which GRid and ISAN use."""
    assert find_check(text) == check


@given(ROOTS)
def test_a_code_is_the_start_of_the_root_in_base32(root: str) -> None:
    """Seven groups of four; what stands before the check character, the standard library's base32 begins with."""
    code = write_code(root)
    assert re.fullmatch(r"(?:[A-Z2-7]{4}-){6}[A-Z2-7]{3}[0-9A-Z]", code)
    assert base64.b32encode(bytes.fromhex(root)).decode().startswith(code.replace("-", "")[:-1])


def test_a_code_carries_at_least_128_bits() -> None:
    """Five bits a character; the guide tells the same length, and the number of tries by the birthday bound."""
    assert LETTERS * 5 == 135 >= 128
    assert "135 bits" in GUIDE and "2^67" in GUIDE and "2^32" in GUIDE


@given(ROOTS, st.sampled_from(["{}", "{}".lower(), " {} "]), st.booleans())
def test_a_code_is_read_however_it_is_typed(root: str, way: str, small: bool) -> None:
    """Blanks, hyphens and small letters make no difference."""
    code = write_code(root)
    for typed in (code, code.replace("-", ""), code.replace("-", " "), code.lower() if small else code):
        kept = read_code(way.format(typed))
        assert kept.fits(root) and not kept.short
        assert not kept.fits(hashlib.sha256(bytes.fromhex(root)).hexdigest())


@given(ROOTS)
def test_one_wrong_character_is_found(root: str) -> None:
    """Every other character at every place (ISO/IEC 7064)."""
    code = write_code(root).replace("-", "")
    for at in range(len(code)):
        for other in ALPHABET.replace(code[at], ""):
            with pytest.raises(NotACode):
                read_code(code[:at] + other + code[at + 1 :])


def test_two_exchanged_neighbours_are_nearly_always_found() -> None:
    """The standard does not promise all: over many codes, as few are missed as the guide says."""
    missed = tried = 0
    for number in range(2_000):
        code = write_code(hashlib.sha256(bytes([number % 256, number // 256])).hexdigest()).replace("-", "")
        for at in range(LETTERS - 1):
            slip = code[:at] + code[at + 1] + code[at] + code[at + 2 :]
            tried += slip != code
            missed += slip != code and find_check(slip[:-1]) == slip[-1]
    assert 0 < missed / tried < 1 / 500
    assert "all but one case of 600" in GUIDE


@pytest.mark.parametrize("length", [16, 20, 27, 31, 32, 63, 64])
def test_an_older_code_and_a_whole_root_are_known_by_their_start(length: int) -> None:
    """Sixteen hexadecimal digits in fours, as seals had at first, or more of them; below 128 bits it is short."""
    typed = "-".join(re.findall(".{1,4}", ROOT[:length]))
    kept = read_code(typed)
    assert kept.fits(ROOT)
    assert not kept.fits("0" * 64)
    assert kept.short == (length * 4 < 128)


@pytest.mark.parametrize("text", ["", "abcd", "0123-4567", "g" * 16, ROOT + "0", "Ä" * 28, "AAAA-" * 7])
def test_what_is_no_code_is_told(text: str) -> None:
    """Too short, too long, other signs: a sentence, and never a match by chance."""
    with pytest.raises(NotACode, match=r"^(a code|a character|it has a character)"):
        read_code(text)


def test_a_code_that_was_kept_is_that_of_a_seal_or_fails(tmp_path: Path) -> None:
    """The code of any seal of the chain holds, an old one is called short, one of no seal fails the chain of seals."""
    log = write_sealed(tmp_path / "log")
    hand(log, tmp_path / "bag", "papers/loan.pdf")
    seals = [read_seal((log / f"seals/000{number}.json").read_bytes()) for number in (1, 2)]
    told = "the code you kept is that of seal"
    run = lambda code: CliRunner().invoke(main, ["verify", str(tmp_path / "bag"), "--code", code])  # noqa: E731
    for seal in seals:
        done = run(seal.code)
        assert done.exit_code == 0, done.output
        assert f"; {told} {seal.number}, dated {seal.date}\n" in done.output
    old = "-".join(re.findall("....", seals[0].root[:16]))
    assert f"; {told} 1, dated 2024-06-03; it is a short code, 64 bits" in run(old).output
    done = run(write_code(ROOT))
    assert done.exit_code == 3
    assert "fails              chain of seals: 1 thing does not hold" in done.output
    assert "data/seals: no seal has the code you kept" in done.output
    done = run(seals[0].code[:-1] + ("A" if seals[0].code[-1] != "A" else "B"))
    assert done.exit_code == 2
    assert "Invalid value for '--code': a character in it is wrong" in done.output


def test_a_code_of_a_log_without_seals_fails() -> None:
    """Somebody saw a seal: where none is now, the record is not the one that was seen."""
    assert compare_code(hold("seals", ""), (), read_code(ROOT)).state == "fails"
