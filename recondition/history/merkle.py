"""The Merkle tree of RFC 6962, section 2.1: one hash for an ordered list of leaves.

A leaf hashes as SHA-256(00 || leaf), a node as SHA-256(01 || left || right), so that no node
can be taken for a leaf; a list is parted at the largest power of two below its length. The
audit path of a leaf lets it be shown without any of the others.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence


def leaf_hash(leaf: bytes) -> bytes:
    """Give the 32-byte hash of a leaf."""
    return hashlib.sha256(b"\x00" + leaf).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Give the 32-byte hash of a node from the hashes of its two sides."""
    return hashlib.sha256(b"\x01" + left + right).digest()


def root(leaves: Sequence[bytes]) -> bytes:
    """Give the root over leaf hashes in their order; that of none is SHA-256 of nothing."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    at = _parting(len(leaves))
    return node_hash(root(leaves[:at]), root(leaves[at:]))


def path(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Give the audit path of one leaf, from the leaf up (RFC 6962, section 2.1.1).

    Raises IndexError where there is no such leaf.
    """
    if not 0 <= index < len(leaves):
        message = f"no leaf {index} among {len(leaves)}"
        raise IndexError(message)
    if len(leaves) == 1:
        return []
    at = _parting(len(leaves))
    if index < at:
        return [*path(leaves[:at], index), root(leaves[at:])]
    return [*path(leaves[at:], index - at), root(leaves[:at])]


def root_from(leaf: bytes, index: int, count: int, audit: Sequence[bytes]) -> bytes | None:
    """Give the root that a leaf hash and its audit path lead to; None where they do not fit."""
    if not 0 <= index < count or len(audit) != _depth(index, count):
        return None
    if count == 1:
        return leaf
    at, below = _parting(count), audit[:-1]
    if index < at:
        left = root_from(leaf, index, at, below)
        return left and node_hash(left, audit[-1])
    right = root_from(leaf, index - at, count - at, below)
    return right and node_hash(audit[-1], right)


def _parting(count: int) -> int:
    """Give the largest power of two below a count of two or more."""
    return 1 << (count - 1).bit_length() - 1


def _depth(index: int, count: int) -> int:
    """Give how many hashes the audit path of a leaf has."""
    depth = 0
    while count > 1:
        at = _parting(count)
        index, count = (index, at) if index < at else (index - at, count - at)
        depth += 1
    return depth
