"""Roots and proofs of Merkle trees against the published Certificate Transparency vectors and against `pymerkle`.

Vectors: the test data of the Certificate Transparency project (Apache 2.0), which is in RFC 6962's tree; RFC 9162,
section 2.1.1, defines the same one.
"""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymerkle import InmemoryTree

from buildlog.record.hashing import EMPTY_ROOT, Side, Tree, hash_leaf, hash_node

pytestmark = pytest.mark.outside

LEAVES = [
    bytes.fromhex(data)
    for data in [
        "", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f",
    ]
]  # fmt: skip
ROOTS = """\
e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855
6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d
fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125
aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77
d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7
4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4
76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef
ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c
5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328
""".split()
INCLUSION_0_OF_8 = """\
96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7
5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e
6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4
""".split()
INCLUSION_5_OF_8 = """\
bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b
ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0
d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7
""".split()
TREE = Tree(map(hash_leaf, LEAVES))


@pytest.mark.parametrize("size", range(9))
def test_published_roots(size: int) -> None:
    """The root over the first n of the eight published leaves, asked of one tree and of a tree of that size."""
    assert TREE.root(size).hex() == ROOTS[size]
    assert Tree(map(hash_leaf, LEAVES[:size])).root().hex() == ROOTS[size]
    assert EMPTY_ROOT.hex() == ROOTS[0]


def test_published_hashes() -> None:
    """A leaf and a node with their prefixes, from the same test data."""
    assert hash_leaf(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert hash_node(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


@pytest.mark.parametrize(("index", "proof"), [(0, INCLUSION_0_OF_8), (5, INCLUSION_5_OF_8)])
def test_published_inclusion_proofs(index: int, proof: list[str]) -> None:
    """The published paths are given."""
    assert [other.hex() for _, other in TREE.prove_inclusion(index, 8)] == proof


@given(st.lists(st.binary(max_size=40), max_size=70))
def test_roots_as_pymerkle(items: list[bytes]) -> None:
    """`pymerkle` 7.0, which says that it follows RFC 9162, has the same root after each item."""
    tree, other = Tree(map(hash_leaf, items)), InmemoryTree(algorithm="sha256")
    for size, item in enumerate(items, 1):
        other.append_entry(item)
        assert tree.root(size) == other.get_root(size)


def test_every_small_proof_as_pymerkle() -> None:
    """`pymerkle` gives the same paths and sides, with the item's own hash in front, which RFC 9162 leaves out.

    Its rule has a 0 where the hash so far is the left one of the two; the last bit has no partner.
    """
    items = [str(number).encode() for number in range(40)]
    tree, other = Tree(map(hash_leaf, items)), InmemoryTree(algorithm="sha256")
    for size, item in enumerate(items, 1):
        other.append_entry(item)
        for index in range(size):
            theirs = other.prove_inclusion(index + 1, size).serialize()
            ours = tree.prove_inclusion(index, size)
            assert [*map(bytes.fromhex, theirs["path"])] == [hash_leaf(items[index]), *(one for _, one in ours)]
            assert theirs["rule"][:-1] == [int(side == "left") for side, _ in ours]


def list_sides(index: int, size: int) -> list[Side]:
    """On which side each hash of a path stands, as a checker finds it: RFC 9162, section 2.1.3.2, steps 2 to 4."""
    sides: list[Side] = []
    fn, sn = index, size - 1
    while sn:
        if fn & 1 or fn == sn:
            sides.append("left")
            while not fn & 1 and fn:
                fn, sn = fn >> 1, sn >> 1
        else:
            sides.append("right")
        fn, sn = fn >> 1, sn >> 1
    return sides


def test_every_small_proof_leads_to_its_root() -> None:
    """The sides are those that a checker finds, and hashing on them makes the root: every item of 1 to 40 leaves."""
    leaves = [hash_leaf(bytes([n])) for n in range(40)]
    tree = Tree(leaves)
    for size in range(1, 41):
        for index in range(size):
            path, so_far = tree.prove_inclusion(index, size), leaves[index]
            assert [side for side, _ in path] == list_sides(index, size)
            for side, other in path:
                so_far = sha256(b"\1" + (other + so_far if side == "left" else so_far + other)).digest()
            assert so_far == tree.root(size), (index, size)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: TREE.root(9),
        lambda: TREE.prove_inclusion(8),
        lambda: TREE.prove_inclusion(-1),
        lambda: TREE.prove_inclusion(7, 7),
    ],
)
def test_what_is_not_in_the_list_cannot_be_asked(ask: Callable[[], object]) -> None:
    """A size or an index beyond the list is our own fault and is raised."""
    with pytest.raises(IndexError):
        ask()
