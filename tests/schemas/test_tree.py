"""The Merkle tree against published vectors and against the recursive definition."""

import copy
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.errors import RecordError
from schemas.tree import Frontier, leaf_hash, node_hash, root_of

# The eight leaves and the roots for 0 to 8 of them, in common use for RFC 6962; numbers from the open test data of
# transparency-dev/merkle at 417fb0c (testonly/constants.go). The root of size 0 is SHA-256 of nothing (FIPS 180).
LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]

leaf_hashes = st.lists(st.binary(max_size=8).map(leaf_hash), max_size=70)


def defined_root(data: list[bytes]) -> bytes:
    """MTH of RFC 6962, section 2.1, word for word: split at the largest power of two below n."""
    if not data:
        return sha256(b"").digest()
    if len(data) == 1:
        return sha256(b"\x00" + data[0]).digest()
    split = 1
    while split * 2 < len(data):
        split *= 2
    return sha256(b"\x01" + defined_root(data[:split]) + defined_root(data[split:])).digest()


@pytest.mark.parametrize(
    ("data", "digest"),
    [
        # FIPS 180 example values for SHA-256, published by NIST.
        pytest.param(b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", id="nothing"),
        pytest.param(b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", id="abc"),
        pytest.param(
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            id="56-bytes",
        ),
        pytest.param(
            b"abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmnhijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu",
            "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1",
            id="112-bytes",
        ),
        pytest.param(
            b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0", id="million-a"
        ),
    ],
)
def test_the_hash_that_this_interpreter_brings_is_sha_256(data, digest):
    assert sha256(data).hexdigest() == digest


def test_leaf_and_node_carry_their_prefix():
    # transparency-dev/merkle at 417fb0c, the hasher's own test values.
    assert leaf_hash(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert node_hash(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


@pytest.mark.parametrize("size", range(9))
def test_root_is_the_published_one(size):
    leaves = [leaf_hash(bytes.fromhex(leaf)) for leaf in LEAVES[:size]]

    frontier = Frontier.from_leaves(leaves)

    assert frontier.root().hex() == root_of(leaves).hex() == ROOTS[size]
    assert frontier.size == size


@given(st.lists(st.binary(max_size=8), max_size=70))
def test_root_after_every_append_is_the_defined_one(data):
    frontier = Frontier()

    for size, piece in enumerate(data, start=1):
        frontier.append(leaf_hash(piece))
        assert frontier.root() == defined_root(data[:size])


@given(leaf_hashes, st.data())
def test_another_leaf_gives_another_root(leaves, data):
    leaves = [*leaves, leaf_hash(b"last")]
    place = data.draw(st.integers(0, len(leaves) - 1))

    changed = [*leaves[:place], leaf_hash(b"other leaf"), *leaves[place + 1 :]]

    assert root_of(changed) != root_of(leaves)


@pytest.mark.parametrize("copied", [Frontier.copy, copy.copy, copy.deepcopy], ids=["method", "copy", "deepcopy"])
def test_a_copy_grows_apart_from_its_origin(copied):
    leaves = [leaf_hash(bytes.fromhex(leaf)) for leaf in LEAVES]
    origin = Frontier.from_leaves(leaves[:3])

    other = copied(origin)
    other.append(leaves[3])

    assert (origin.size, origin.root().hex()) == (3, ROOTS[3])
    assert (other.size, other.root().hex()) == (4, ROOTS[4])


@pytest.mark.parametrize("leaf", [pytest.param(b"", id="empty"), pytest.param(b"x" * 33, id="data")])
def test_what_is_no_leaf_hash_is_refused_and_changes_nothing(leaf):
    frontier = Frontier.from_leaves([leaf_hash(b"")])

    with pytest.raises(RecordError, match=f"a leaf hash has 32 bytes, not {len(leaf)}"):
        frontier.append(leaf)

    assert (frontier.size, frontier.root().hex()) == (1, ROOTS[1])
