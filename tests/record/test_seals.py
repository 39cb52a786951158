"""What a seal's file says, and that nothing else is taken for one."""

from __future__ import annotations

import datetime
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlog.record.rules import LARGEST_SEAL
from buildlog.record.seals import NotASeal, Seal, hash_seal, name_beside, read_seal, write_code, write_seal

ROOT, SUM = "0123456789abcdef" * 4, "fe" * 32
SEAL = Seal(number=2, date=datetime.date(2024, 5, 18), leaves=42, root=ROOT, previous=SUM)
TEXT = f'{{"date":"2024-05-18","leaves":42,"number":2,"previous":"{SUM}","root":"{ROOT}"}}\n'


def test_a_seal_has_one_spelling() -> None:
    """Five keys in canonical JSON and a line end; the first seal has null for the one before."""
    assert write_seal(SEAL) == TEXT.encode()
    assert read_seal(TEXT.encode()) == SEAL
    assert read_seal(TEXT.replace(f'"{SUM}"', "null").encode()).previous is None


def test_its_names() -> None:
    """Its file, what may lie beside it, and the code that people read: see `test_codes`."""
    assert SEAL.name == "0002.json"
    beside = {what: name_beside(2, what) for what in ("signature", "stamp", "authority")}
    assert beside == {"signature": "0002.json.sig", "stamp": "0002.tsr", "authority": "0002.ca.pem"}
    assert SEAL.code == write_code(SEAL.root)


def test_its_sum_is_its_file_s() -> None:
    """What the next seal says of it is what `sha256sum` prints."""
    assert hash_seal(TEXT.encode()) == hashlib.sha256(TEXT.encode()).hexdigest()


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("\n", ""), ("\n", "\n\n"), ("\n", "\r\n"), ("{", " {"), ("2024-05-18", "2024-5-18"),
        ("2024-05-18", "2024-02-30"),
        ("2024-05-18", "20240518"), ("2024-05-18", "2024-W20-6"), ('"2024-05-18"', "20240518"),
        ("42", "0"), ("42", "-1"),
        ("42", "true"), ("42", "4.2"), ("42", '"42"'), ('"number":2', '"number":0'), (f'"{ROOT}"', "null"),
        (ROOT, ROOT[1:]), (ROOT, ROOT.upper()), (SUM, SUM[1:]), (f'"{SUM}"', "1"), (',"number":2', ""),
        ("}", ',"z":1}'), ("{", '{"a":"' + "x" * LARGEST_SEAL + '",'), (TEXT, "[]\n"), (TEXT, "\n"), (TEXT, "{}\n"),
    ],
    ids=repr,
)  # fmt: skip
def test_what_is_no_seal_is_refused(old: str, new: str) -> None:
    """Dates, counts and sums of another shape, keys too many or too few, another spelling."""
    assert old in TEXT
    with pytest.raises(NotASeal):
        read_seal(TEXT.replace(old, new).encode())


@given(st.binary(max_size=300))
def test_any_bytes_are_a_seal_or_refused(data: bytes) -> None:
    """A stranger's file never does anything else."""
    with pytest.raises(NotASeal):
        read_seal(data)
