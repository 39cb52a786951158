"""Canonical JSON against the samples of RFC 8785 and against the library `rfc8785`."""

from __future__ import annotations

import json
from contextlib import suppress
from hashlib import sha256
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from buildlog.record.hashing import LARGEST_INTEGER, NotCanonical, read_canonical, write_canonical

pytestmark = pytest.mark.outside

# RFC 8785, section 3.2.2, without its key `numbers`: fractions have no place in the record.
SAMPLE = r"""
{
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}
"""
# RFC 8785, section 3.2.3: the sorted output without the key `numbers`, and the end of the bytes in section 3.2.4.
SAMPLE_OUTPUT = r"""{"literals":[null,true,false],"string":"€$\u000f\nA'B\"\\\\\"/"}"""
SAMPLE_END = "75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"
# The whole of section 3.2.4, by its SHA-256; the numbers as published.
NUMBERS = '"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
WHOLE_SUM = "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"


def test_the_sample_of_the_rfc() -> None:
    """The published output byte for byte; with the published numbers put in, the sum of the whole published sample."""
    written = write_canonical(json.loads(SAMPLE))
    assert written.decode() == SAMPLE_OUTPUT
    assert written.endswith(bytes.fromhex(SAMPLE_END))
    whole = written.replace(b'"string"', NUMBERS.encode() + b'"string"')
    assert sha256(whole).hexdigest() == WHOLE_SUM


# RFC 8785, section 3.2.3: the keys of the sort test, and the order in which their values must come.
SORT = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\U0001f600": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
}
SORTED = [
    "Carriage Return", "One", "Control", "Latin Small Letter O With Diaeresis", "Euro Sign", "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]  # fmt: skip


def test_the_sort_test_of_the_rfc() -> None:
    """Keys go by UTF-16 code units: U+1F600, a surrogate pair from U+D83D, comes before U+FB33."""
    assert list(json.loads(write_canonical(SORT)).values()) == SORTED
    assert list(json.loads(write_canonical({"outer": [SORT]}))["outer"][0].values()) == SORTED


TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER) | TEXTS,
    lambda inner: st.lists(inner) | st.dictionaries(TEXTS, inner),
    max_leaves=30,
)


@given(VALUES)
def test_bytes_as_the_library_has_them(value: Any) -> None:
    """`rfc8785` 0.1 writes the same bytes, and they are read back as the same value."""
    assert write_canonical(value) == rfc8785.dumps(value)
    assert read_canonical(write_canonical(value)) == value


@pytest.mark.parametrize(
    "value", [2**53, -(2**53), float("nan"), float("inf"), "\ud800", {"\udfff": 1}, ["\udbff"], {1: 2}]
)
def test_what_the_library_refuses_is_refused(value: Any) -> None:
    """Integers beyond 2^53 − 1, no numbers, half a surrogate pair, keys that are no texts: an error there and here."""
    with pytest.raises((rfc8785.CanonicalizationError, UnicodeEncodeError)):
        rfc8785.dumps(value)
    with pytest.raises(NotCanonical):
        write_canonical(value)


@pytest.mark.parametrize("value", [0.0, 1.5, b"x", {1, 2}, object()])
def test_what_has_no_place_in_the_record_is_refused(value: Any) -> None:
    """Fractions could be written, and are refused all the same: readers round them."""
    with pytest.raises(NotCanonical):
        write_canonical(value)


@pytest.mark.parametrize(
    "data",
    [
        b"", b"{", b"nul", b"\xff", b"\xef\xbb\xbf{}", b" {}", b"{} ", b'{"a":1, "b":2}', b'{"b":1,"a":2}',
        b'{"a":1,"a":1}', b'"\\u0041"', b'"\\/"', b'"\\u000A"', b'"\\ud800"', b"1.0", b"1e3", b"-0", b"01",
        b"NaN", b"-Infinity", b"9007199254740992",
        b"1" * 5000, b"[" * 100_000, b"[" * 65 + b"]" * 65, b'{"a":' * 70 + b"1" + b"}" * 70, b"[1]\n", b"'a'",
    ],
    ids=lambda data: repr(data[:20]),
)  # fmt: skip
def test_bytes_that_are_not_the_one_spelling_are_refused(data: bytes) -> None:
    """One value has one spelling: anything else, and anything too deep or too large, is refused and nothing crashes."""
    with pytest.raises(NotCanonical):
        read_canonical(data)


@given(st.binary(max_size=60) | TEXTS.map(str.encode))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    """What is read is spelled as it was given; everything else is refused in one way."""
    with suppress(NotCanonical):
        assert write_canonical(read_canonical(data)) == data
