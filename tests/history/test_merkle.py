"""The Merkle tree: the published roots, and audit paths for every place and size."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recondition.history import merkle
from tests.check_values import check_values
from tests.history.proving import tree_root

VECTORS = check_values("merkle_rfc6962_vectors")
SIZES = st.integers(1, 40)


def leaves_of(size: int, salt: bytes = b"") -> list[bytes]:
    return [merkle.leaf_hash(salt + number.to_bytes(2)) for number in range(size)]


@pytest.mark.parametrize("size", range(9))
def test_the_root_is_the_published_one(size: int) -> None:
    """RFC 6962 roots of transparency-dev/merkle, testonly/constants.go (Apache License 2.0).

    Each row of the file adds one leaf to those above it; the first is the empty tree.
    """
    assert [int(row["tree_size"]) for row in VECTORS] == list(range(9))
    added = [bytes.fromhex(row["last_leaf_hex"]) for row in VECTORS[1 : size + 1]]
    leaves = [merkle.leaf_hash(leaf) for leaf in added]
    assert merkle.root(leaves).hex() == VECTORS[size]["root_sha256_hex"]


@given(st.lists(st.binary(max_size=40), max_size=70))
def test_the_root_is_that_of_a_tree_built_level_by_level(texts: list[bytes]) -> None:
    leaves = [merkle.leaf_hash(text) for text in texts]
    assert merkle.root(leaves) == tree_root(leaves)


@given(size=SIZES, salt=st.binary(max_size=8))
def test_every_path_leads_to_the_root_and_from_nowhere_else(size: int, salt: bytes) -> None:
    leaves = leaves_of(size, salt)
    root = merkle.root(leaves)
    for index, leaf in enumerate(leaves):
        audit = merkle.path(leaves, index)
        assert merkle.root_from(leaf, index, size, audit) == root
        others = [other for other in range(-2, size + 2) if other != index]
        assert all(merkle.root_from(leaf, other, size, audit) != root for other in others)


@given(size=SIZES, data=st.data())
def test_another_leaf_count_or_step_leads_elsewhere(size: int, data: st.DataObject) -> None:
    leaves = leaves_of(size)
    index = data.draw(st.integers(0, size - 1))
    leaf, audit, root = leaves[index], merkle.path(leaves, index), merkle.root(leaves)
    assert merkle.root_from(hashlib.sha256(leaf).digest(), index, size, audit) != root
    assert merkle.root_from(leaf, index, size, [*audit, leaf]) is None
    for step in range(len(audit)):
        changed = [*audit]
        changed[step] = bytes([changed[step][0] ^ 1]) + changed[step][1:]
        assert merkle.root_from(leaf, index, size, changed) != root
        assert merkle.root_from(leaf, index, size, audit[:step] + audit[step + 1 :]) is None
    grown = merkle.root(leaves_of(size + 1))
    assert merkle.root_from(leaf, index, size, audit) != grown


def test_a_count_of_another_depth_does_not_fit() -> None:
    leaves = leaves_of(8)
    audit = merkle.path(leaves, 3)
    for count in (-1, 0, 1, 2, 3, 9, 16, 999_999):
        assert merkle.root_from(leaves[3], 3, count, audit) is None


def test_a_node_is_no_leaf_and_the_order_counts() -> None:
    one, two = leaves_of(2)
    assert merkle.node_hash(one, two) != merkle.leaf_hash(one + two)
    assert merkle.root([one, two]) != merkle.root([two, one])
    assert merkle.root([one, two]) != merkle.root([merkle.root([one, two])] * 2)


@pytest.mark.parametrize(("size", "index"), [(0, 0), (1, 1), (3, -1), (3, 3)])
def test_there_is_no_path_of_a_leaf_that_is_not_there(size: int, index: int) -> None:
    with pytest.raises(IndexError, match=f"no leaf {index} among {size}"):
        merkle.path(leaves_of(size), index)
