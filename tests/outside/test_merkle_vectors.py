"""Roots and proofs of Merkle trees against the published Certificate Transparency vectors and against `pymerkle`.

Vectors: the test data of the Certificate Transparency project (Apache 2.0), which is in RFC 6962's tree; RFC 9162,
section 2.1.1, defines the same one.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymerkle import InmemoryTree

from buildlog.record.merkle import EMPTY_ROOT, Tree, hash_leaf, hash_node, holds_consistency, holds_inclusion

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
CONSISTENCY_6_TO_8 = """\
0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a
ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0
d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7
""".split()
TREE = Tree(map(hash_leaf, LEAVES))


def show(proof: tuple[bytes, ...]) -> list[str]:
    return [step.hex() for step in proof]


def read(proof: list[str]) -> list[bytes]:
    return [bytes.fromhex(step) for step in proof]


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
    """The published paths are given, and hold under the published root and under no other."""
    assert show(TREE.prove_inclusion(index, 8)) == proof
    leaf, root = hash_leaf(LEAVES[index]), bytes.fromhex(ROOTS[8])
    assert holds_inclusion(leaf, read(proof), index=index, size=8, root=root)
    assert not holds_inclusion(leaf, read(proof), index=index, size=8, root=bytes.fromhex(ROOTS[7]))


@pytest.mark.parametrize(("old", "proof"), [(1, INCLUSION_0_OF_8), (6, CONSISTENCY_6_TO_8)])
def test_published_consistency_proofs(old: int, proof: list[str]) -> None:
    """The published proofs are given, and hold between the published roots and between no others."""
    assert show(TREE.prove_consistency(old, 8)) == proof
    old_root, root = bytes.fromhex(ROOTS[old]), bytes.fromhex(ROOTS[8])
    assert holds_consistency(read(proof), old=old, old_root=old_root, size=8, root=root)
    assert not holds_consistency(read(proof), old=old, old_root=bytes.fromhex(ROOTS[3]), size=8, root=root)
    assert not holds_consistency(read(proof), old=old, old_root=old_root, size=8, root=bytes.fromhex(ROOTS[7]))


@given(st.lists(st.binary(max_size=40), max_size=70))
def test_roots_as_pymerkle(items: list[bytes]) -> None:
    """`pymerkle` 7.0, which says that it follows RFC 9162, has the same root after each item."""
    tree, other = Tree(map(hash_leaf, items)), InmemoryTree(algorithm="sha256")
    for size, item in enumerate(items, 1):
        other.append_entry(item)
        assert tree.root(size) == other.get_root(size)


@given(st.integers(1, 70), st.data())
def test_proofs_as_pymerkle(size: int, data: st.DataObject) -> None:
    """`pymerkle` gives the same inclusion paths, with the item's own hash in front, which RFC 9162 leaves out."""
    items = [str(n).encode() for n in range(size)]
    tree, other = Tree(map(hash_leaf, items)), InmemoryTree(algorithm="sha256")
    for item in items:
        other.append_entry(item)
    index = data.draw(st.integers(0, size - 1))
    path = [bytes.fromhex(step) for step in other.prove_inclusion(index + 1, size).serialize()["path"]]
    assert path == [hash_leaf(items[index]), *tree.prove_inclusion(index, size)]


def test_every_small_proof_holds_and_every_other_use_of_it_does_not() -> None:
    """All inclusion and consistency proofs up to 20 items, by the algorithms of sections 2.1.3.2 and 2.1.4.2."""
    items = [hash_leaf(bytes([n])) for n in range(20)]
    tree = Tree(items)
    for size in range(1, 21):
        for index in range(size):
            proof = tree.prove_inclusion(index, size)
            good = [
                n for n in range(size) if holds_inclusion(items[index], proof, index=n, size=size, root=tree.root(size))
            ]
            assert good == [index]
        for old in range(1, size + 1):
            proof = tree.prove_consistency(old, size)
            good = [
                n
                for n in range(size + 2)
                if holds_consistency(proof, old=n, old_root=tree.root(old), size=size, root=tree.root(size))
            ]
            assert good == [old]


@given(st.integers(1, 60), st.data())
def test_a_proof_with_any_bit_flipped_or_a_step_too_few_does_not_hold(size: int, data: st.DataObject) -> None:
    """No changed proof of either kind is taken for one."""
    items = [hash_leaf(bytes([n])) for n in range(size)]
    tree = Tree(items)
    index, old = data.draw(st.integers(0, size - 1)), data.draw(st.integers(1, size))
    root, old_root = tree.root(), tree.root(old)
    inclusion, consistency = tree.prove_inclusion(index), tree.prove_consistency(old)
    assert holds_inclusion(items[index], inclusion, index=index, size=size, root=root)
    assert holds_consistency(consistency, old=old, old_root=old_root, size=size, root=root)
    for bad in spoil(inclusion, data):
        assert not holds_inclusion(items[index], bad, index=index, size=size, root=root)
    for bad in spoil(consistency, data):
        assert not holds_consistency(bad, old=old, old_root=old_root, size=size, root=root)


def spoil(proof: tuple[bytes, ...], data: st.DataObject) -> list[list[bytes]]:
    longer = [*proof, proof[-1] if proof else bytes(32)]
    if not proof:
        return [longer]
    at, bit = data.draw(st.integers(0, len(proof) - 1)), data.draw(st.integers(0, 255))
    flipped = (int.from_bytes(proof[at]) ^ (1 << bit)).to_bytes(32)
    return [longer, list(proof[:-1]), list(proof[1:]), [*proof[:at], flipped, *proof[at + 1 :]]]


@pytest.mark.parametrize(
    "ask",
    [
        lambda: TREE.root(9),
        lambda: TREE.prove_inclusion(8),
        lambda: TREE.prove_inclusion(-1),
        lambda: TREE.prove_consistency(0),
        lambda: TREE.prove_consistency(8, 7),
    ],
)
def test_what_is_not_in_the_list_cannot_be_asked(ask: Callable[[], object]) -> None:
    """A size or an index beyond the list is our own fault and is raised."""
    with pytest.raises(IndexError):
        ask()
