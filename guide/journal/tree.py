"""The Merkle tree over the log: hashes, roots, inclusion and consistency proofs.

Everything here follows RFC 6962 section 2.1 and RFC 9162 section 2.1 (FOUND): a leaf is
SHA-256(0x00 ‖ bytes), a node SHA-256(0x01 ‖ left ‖ right), and the tree splits at the largest
power of two smaller than the number of leaves. All hashes are 32 raw bytes; leaves are given
as leaf hashes, not as data.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from hashlib import sha256

from guide.errors import ChargewrightError

EMPTY_ROOT = sha256(b"").digest()
HASH_BYTES = 32


class BadProof(ChargewrightError):
    """A proof that proves nothing, or a request for a proof that cannot exist."""


def leaf_hash(data: bytes) -> bytes:
    """Hash of one leaf (RFC 9162 section 2.1.1)."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash of an inner node (RFC 9162 section 2.1.1)."""
    return sha256(b"\x01" + left + right).digest()


def root(leaves: Sequence[bytes]) -> bytes:
    """Root over leaf hashes, written exactly as the RFC's recursion; the reference for the rest."""
    if not leaves:
        return EMPTY_ROOT
    if len(leaves) == 1:
        return leaves[0]
    split = 1 << ((len(leaves) - 1).bit_length() - 1)
    return node_hash(root(leaves[:split]), root(leaves[split:]))


class CompactRange:
    """The right edge of a growing tree: enough to append leaves and to know the root.

    Holds one hash for each bit set in `size`, so appending costs O(log n) at worst.
    """

    __slots__ = ("_edge", "size")

    def __init__(self, leaves: Iterable[bytes] = ()) -> None:
        self.size = 0
        self._edge: list[bytes] = []
        for leaf in leaves:
            self.append(leaf)

    def append(self, leaf: bytes) -> None:
        """Add the next leaf hash."""
        edge, size = self._edge, self.size
        while size & 1:
            leaf = sha256(b"\x01" + edge.pop() + leaf).digest()
            size >>= 1
        edge.append(leaf)
        self.size += 1

    def root(self) -> bytes:
        """Root of the tree over all leaves so far."""
        if not self._edge:
            return EMPTY_ROOT
        result = self._edge[-1]
        for left in reversed(self._edge[:-1]):
            result = node_hash(left, result)
        return result

    def copy(self) -> CompactRange:
        """An independent copy, to try an append that may have to be given up."""
        other = CompactRange()
        other.size, other._edge = self.size, list(self._edge)
        return other


class Tree:
    """A tree with every complete subtree kept, so that many proofs cost little each.

    Takes about twice the memory of its leaf hashes; a proof costs O(log² n).
    """

    __slots__ = ("_levels",)

    def __init__(self, leaves: Iterable[bytes]) -> None:
        level = list(leaves)
        self._levels: list[list[bytes]] = [level]
        while len(level) > 1:
            pairs = zip(level[::2], level[1::2], strict=False)
            level = [sha256(b"\x01" + left + right).digest() for left, right in pairs]
            self._levels.append(level)

    @property
    def size(self) -> int:
        """Number of leaves."""
        return len(self._levels[0])

    def root(self, size: int | None = None) -> bytes:
        """Root over the first `size` leaves (all by default).

        Raises:
            BadProof: the tree has fewer leaves.
        """
        size = self.size if size is None else size
        if not 0 <= size <= self.size:
            raise BadProof(f"no root at size {size}: the log has {self.size} events")
        return self._span(0, size) if size else EMPTY_ROOT

    def inclusion_proof(self, index: int, size: int | None = None) -> tuple[bytes, ...]:
        """Proof that leaf `index` is in the tree of `size` leaves (RFC 9162 section 2.1.3.1).

        Raises:
            BadProof: there is no such leaf or no such size.
        """
        size = self.size if size is None else size
        if not 0 <= index < size <= self.size:
            raise BadProof(f"no proof for event {index} at size {size}: the log has {self.size} events")
        proof: list[bytes] = []
        start, end = 0, size
        while end - start > 1:
            middle = start + (1 << ((end - start - 1).bit_length() - 1))
            if index < middle:
                proof.append(self._span(middle, end))
                end = middle
            else:
                proof.append(self._span(start, middle))
                start = middle
        return tuple(reversed(proof))

    def consistency_proof(self, old_size: int, size: int | None = None) -> tuple[bytes, ...]:
        """Proof that the tree of `size` leaves extends that of `old_size` (RFC 9162 section 2.1.4.1).

        Raises:
            BadProof: a size is out of range.
        """
        size = self.size if size is None else size
        if not 0 <= old_size <= size <= self.size:
            raise BadProof(f"no proof from size {old_size} to {size}: the log has {self.size} events")
        if old_size in (0, size):
            return ()
        proof: list[bytes] = []
        start, end, whole = 0, size, True
        while old_size < end:
            middle = start + (1 << ((end - start - 1).bit_length() - 1))
            if old_size <= middle:
                proof.append(self._span(middle, end))
                end = middle
            else:
                proof.append(self._span(start, middle))
                start, whole = middle, False
        if not whole:
            proof.append(self._span(start, end))
        return tuple(reversed(proof))

    def _span(self, start: int, end: int) -> bytes:
        """Root over leaves start..end, where start is a multiple of the span's leading power of two."""
        width = end - start
        if width & (width - 1) == 0:
            return self._levels[width.bit_length() - 1][start // width]
        middle = start + (1 << (width.bit_length() - 1))
        return node_hash(self._span(start, middle), self._span(middle, end))


def verify_inclusion(index: int, size: int, leaf: bytes, proof: Sequence[bytes], root_hash: bytes) -> None:
    """Check an inclusion proof (RFC 9162 section 2.1.3.2).

    Raises:
        BadProof: the proof does not show that the leaf stands at `index` under `root_hash`.
    """
    if not 0 <= index < size:
        raise BadProof(f"inclusion not proven: there is no event {index} in a log of {size}")
    _require_hashes("inclusion", (leaf, root_hash, *proof))
    fn, sn, result = index, size - 1, leaf
    for node in proof:
        if sn == 0:
            raise BadProof("inclusion not proven: the proof is too long")
        if fn & 1 or fn == sn:
            result = node_hash(node, result)
            while not fn & 1 and fn:
                fn, sn = fn >> 1, sn >> 1
        else:
            result = node_hash(result, node)
        fn, sn = fn >> 1, sn >> 1
    if sn != 0:
        raise BadProof("inclusion not proven: the proof is too short")
    if result != root_hash:
        raise BadProof(f"inclusion not proven: event {index} is not in this log as given")


def verify_consistency(
    old_size: int, size: int, old_root: bytes, root_hash: bytes, proof: Sequence[bytes]
) -> None:
    """Check a consistency proof (RFC 9162 section 2.1.4.2).

    An empty old log is a beginning of every log; its root must be that of the empty tree.

    Raises:
        BadProof: the proof does not show that the later log begins with the earlier one.
    """
    if not 0 <= old_size <= size:
        raise BadProof(f"extension not proven: a log of {size} can't extend one of {old_size}")
    _require_hashes("extension", (old_root, root_hash, *proof))
    if old_size in (0, size):
        expected = EMPTY_ROOT if old_size == 0 else root_hash
        if proof:
            raise BadProof("extension not proven: a proof where none belongs")
        if old_root != expected or (size == 0 and root_hash != EMPTY_ROOT):
            raise BadProof("extension not proven: the roots differ")
        return
    if not proof:
        raise BadProof("extension not proven: the proof is empty")
    # a complete old tree is itself the first node of the path, and is left out of the proof
    path = [old_root, *proof] if old_size & (old_size - 1) == 0 else list(proof)
    if _two_roots(old_size - 1, size - 1, path) != (old_root, root_hash):
        raise BadProof("extension not proven: the later log does not begin with the earlier one")


def _two_roots(fn: int, sn: int, path: Sequence[bytes]) -> tuple[bytes, bytes]:
    """Old and new root that a consistency path leads to; names as in RFC 9162 section 2.1.4.2."""
    while fn & 1:
        fn, sn = fn >> 1, sn >> 1
    fr = sr = path[0]
    for node in path[1:]:
        if sn == 0:
            raise BadProof("extension not proven: the proof is too long")
        if fn & 1 or fn == sn:
            fr, sr = node_hash(node, fr), node_hash(node, sr)
            while not fn & 1 and fn:
                fn, sn = fn >> 1, sn >> 1
        else:
            sr = node_hash(sr, node)
        fn, sn = fn >> 1, sn >> 1
    if sn != 0:
        raise BadProof("extension not proven: the proof is too short")
    return fr, sr


def _require_hashes(what: str, hashes: Iterable[bytes]) -> None:
    if any(len(item) != HASH_BYTES for item in hashes):
        raise BadProof(f"{what} not proven: a hash is not {HASH_BYTES} bytes long")
