"""Whether a list only grew, and whether something stands in it: the Merkle tree of RFC 9162, section 2.1, SHA-256.

Roots of every size that a list has had, and proofs that one item stands in it. What the items are is left to `seals`;
that a later list begins with an earlier one, `seal_check` sees from the roots, as it has the whole list.
"""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import sha256
from typing import Literal

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
