"""Which bytes stand for a value, and which hash for a list that only grows: RFC 8785 and RFC 9162, as far as needed.

Canonical JSON holds texts, integers, lists, objects, true, false and null. No fractions: an amount goes in as a text.
What the values mean is left to `seals`.

The Merkle tree is that of RFC 9162, section 2.1, with SHA-256: roots of every size that a list has had, and proofs that
one item stands in it. That a later list begins with an earlier one, `seal_check` sees from the roots, as it has the
whole list.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from hashlib import sha256
from typing import Any, Literal, NoReturn

from buildlog.record.rules import DEEPEST_VALUE, say

LARGEST_INTEGER = 2**53 - 1
"RFC 8785, section 3.2.2.3 by way of RFC 7493, section 2.2: beyond it, readers round."

ENCODER = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"))


class NotCanonical(ValueError):
    """The value has no canonical form here, or the bytes are not in it; the message says why, in lower case."""


def write_canonical(value: object) -> bytes:
    """The one spelling of a value, in UTF-8 without a line end. Raises `NotCanonical`.

    Keys stand in the order of their UTF-16 code units (RFC 8785, section 3.2.3), nothing stands between tokens, and a
    text is spelled as in section 3.2.2.2, which is how the standard library spells it with `ensure_ascii` off.
    """
    try:
        return ENCODER.encode(_order(value, DEEPEST_VALUE)).encode()
    except UnicodeEncodeError:
        raise NotCanonical("a text contains half of a surrogate pair") from None


def read_canonical(data: bytes, *, most: int | None = None) -> Any:
    """The value that these bytes are the one spelling of. Raises `NotCanonical`, for any bytes at all.

    Of more than `most` values none is read: each takes far more memory than the signs that it is written with.
    """
    # Counted in the bytes, before anything is built of them. Signs inside texts count too: more than there are, never
    # fewer.
    if most is not None and sum(map(data.count, (b",", b"[", b"{"))) > most:
        raise NotCanonical(say("too-many-values", most=most))
    try:
        value = json.loads(data.decode(), parse_float=_refuse_number, parse_constant=_refuse_number)
    except UnicodeDecodeError:
        raise NotCanonical("this is not UTF-8") from None
    except RecursionError:
        raise NotCanonical("lists and objects are nested too deeply") from None
    except json.JSONDecodeError as error:
        raise NotCanonical(f"this is not JSON at character {error.pos + 1}") from None
    except NotCanonical:
        raise
    except ValueError:  # the standard library refuses integers of thousands of digits
        _refuse_number("")
    # Written again and compared, as no list of rules would be complete: doubled keys, escapes, blanks and `-0` all end
    # here. So one value has one hash, and no two readers see different values in the same bytes.
    if write_canonical(value) != data:
        raise NotCanonical("this is JSON, but not in its canonical form")
    return value


def _order(value: object, depth: int) -> object:
    """The value with its keys in order; whatever is not of our few kinds is refused."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, int):
        # JavaScript, which reads the same files, has no larger ones.
        if abs(value) > LARGEST_INTEGER:
            raise NotCanonical("an integer is too large to be read the same everywhere")
        return value
    if depth == 0:
        raise NotCanonical("lists and objects are nested too deeply")
    if isinstance(value, list | tuple):
        return [_order(item, depth - 1) for item in value]
    if isinstance(value, dict):
        return {key: _order(value[key], depth - 1) for key in _sort_keys(value)}
    raise NotCanonical(f"a value of the kind `{type(value).__name__}` does not belong in the record")


def _sort_keys(value: dict[Any, Any]) -> list[str]:
    """The keys by their UTF-16 code units, which go another way than characters beyond U+FFFF."""
    if not all(isinstance(key, str) for key in value):
        raise NotCanonical("a key is not text")
    # The common case; the order is the same there, and an encoding for each key is saved.
    if "".join(value).isascii():
        return sorted(value)
    return sorted(value, key=lambda key: key.encode("utf-16-be", "surrogatepass"))


def _refuse_number(text: str) -> NoReturn:
    raise NotCanonical("a number is not an integer within 2^53 of zero")


LEAF, NODE = b"\x00", b"\x01"
"Prefixes by which no node can pass as a leaf (RFC 9162, section 2.1.1)."
EMPTY_ROOT = sha256(b"").digest()

Side = Literal["left", "right"]
"on which side of the hash so far the other one stands when both are hashed"


def hash_leaf(data: bytes) -> bytes:
    """The 32 bytes that stand for one item."""
    return sha256(LEAF + data).digest()


def hash_node(left: bytes, right: bytes) -> bytes:
    """The 32 bytes that stand for two subtrees."""
    return sha256(NODE + left + right).digest()


class Tree:
    """The tree over a list of items' hashes, and over every shorter list that it begins with.

    Each full subtree is hashed once; a root or a proof then costs a few hashes more.
    """

    def __init__(self, leaf_hashes: Iterable[bytes]) -> None:
        # All levels are kept: each seal has a root over another number of items, and each entry a proof.
        self._levels = [list(leaf_hashes)]
        while len(self._levels[-1]) > 1:
            below = self._levels[-1]
            pairs = zip(below[::2], below[1::2], strict=False)  # an odd last one waits for its partner
            self._levels.append([hash_node(left, right) for left, right in pairs])

    @property
    def size(self) -> int:
        """How many items there are."""
        return len(self._levels[0])

    def root(self, size: int | None = None) -> bytes:
        """MTH of section 2.1.1 over the first `size` items, or over all. Raises `IndexError` beyond them."""
        size = self._within(size)
        return self._hash(0, size) if size else EMPTY_ROOT

    def prove_inclusion(self, index: int, size: int | None = None) -> tuple[tuple[Side, bytes], ...]:
        """PATH of section 2.1.3.1: that item `index`, counted from 0, stands among the first `size`, or among all.

        From the leaf up, each hash with its side. A checker finds the sides again from index and size (2.1.3.2); they
        are told all the same, as the way down knows them and whoever hashes by hand needs them.
        """
        size = self._within(size)
        if not 0 <= index < size:
            raise IndexError(index)
        proof: list[tuple[Side, bytes]] = []
        start, end = 0, size
        while end - start > 1:
            middle = start + _split(end - start)
            if index < middle:
                proof.append(("right", self._hash(middle, end)))
                end = middle
            else:
                proof.append(("left", self._hash(start, middle)))
                start = middle
        return tuple(reversed(proof))

    def _within(self, size: int | None) -> int:
        if size is None:
            return self.size
        if not 0 <= size <= self.size:
            raise IndexError(size)
        return size

    def _hash(self, start: int, end: int) -> bytes:
        """MTH over a range that the splits of section 2.1.1 lead to: it starts at a multiple of its full size."""
        width = end - start
        # A full subtree: hashed when the tree was made.
        if width & (width - 1) == 0:
            level = width.bit_length() - 1
            return self._levels[level][start >> level]
        middle = start + _split(width)
        return hash_node(self._hash(start, middle), self._hash(middle, end))


def _split(width: int) -> int:
    """The largest power of two smaller than the width."""
    return 1 << ((width - 1).bit_length() - 1)
