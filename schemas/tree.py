"""The Merkle tree of RFC 6962, section 2.1, over SHA-256: leaf and node hashes, and the tree's growing edge."""

from collections.abc import Iterable
from hashlib import sha256
from typing import Self

from schemas.errors import RecordError

_EMPTY_ROOT = sha256(b"").digest()


def leaf_hash(data: bytes) -> bytes:
    """SHA-256 over 0x00 and the data, 32 bytes (RFC 6962, 2.1)."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256 over 0x01 and the hashes of both children, 32 bytes (RFC 6962, 2.1)."""
    return sha256(b"\x01" + left + right).digest()


class Frontier:
    """The least that must be kept to grow a tree: its size, and the hash of each full subtree along its right edge.

    Leaves are leaf hashes of 32 bytes, as the ledger stores them, never the data itself.
    """

    __slots__ = ("_peaks", "_size")

    def __init__(self) -> None:
        self._peaks: list[bytes] = []
        self._size = 0

    @classmethod
    def from_leaves(cls, leaves: Iterable[bytes]) -> Self:
        """The frontier after these leaf hashes, in order; RecordError where one is not 32 bytes long."""
        frontier = cls()
        append = frontier.append
        for leaf in leaves:
            append(leaf)
        return frontier

    @property
    def size(self) -> int:
        """How many leaves the tree has."""
        return self._size

    def append(self, leaf: bytes) -> None:
        """Add one leaf hash; RecordError where it is not 32 bytes long, and then nothing has changed."""
        if len(leaf) != 32:
            raise RecordError(f"a leaf hash has 32 bytes, not {len(leaf)}; hash the entry with leaf_hash first")
        peaks = self._peaks
        full = self._size
        # Each set bit at the low end is a full subtree on the left that the new one completes to the double size.
        while full & 1:
            leaf = sha256(b"\x01" + peaks.pop() + leaf).digest()
            full >>= 1
        peaks.append(leaf)
        self._size += 1

    def root(self) -> bytes:
        """The tree's hash, 32 bytes; that of the empty tree is SHA-256 over nothing."""
        if not self._peaks:
            return _EMPTY_ROOT
        root = self._peaks[-1]
        # `node_hash` spelled out, here and in `append`: verify comes here millions of times, and the calls would show.
        for peak in self._peaks[-2::-1]:
            root = sha256(b"\x01" + peak + root).digest()
        return root

    def copy(self) -> Self:
        """A frontier of its own that grows apart from this one."""
        other = type(self)()
        other._peaks = self._peaks.copy()
        other._size = self._size
        return other

    # Without it, copy.copy() would give two frontiers that share their peaks.
    __copy__ = copy


def root_of(leaves: Iterable[bytes]) -> bytes:
    """The root of the tree with these leaf hashes; RecordError where one is not 32 bytes long."""
    return Frontier.from_leaves(leaves).root()
