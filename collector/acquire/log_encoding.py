"""Which encoding a log is written in, as far as its first bytes and its rows say so."""

from typing import Literal, NamedTuple

from schemas.log_rows import LogEncoding

Found = Literal["utf-8", LogEncoding]

HEAD_BYTES = 400
SHOWN = {"utf-8": "UTF-8", "cp1252": "cp1252", "utf-16-le": "UTF-16 LE", "utf-16-be": "UTF-16 BE"}

_MARKS: tuple[tuple[bytes, Found], ...] = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_SHORTEST = 8


class Encoded(NamedTuple):
    """An encoding, how many bytes of byte-order mark stand in front, and how it is known; "" where it is only the standard."""

    encoding: Found
    mark_bytes: int
    why: str


def encoding_of(head: bytes, declared: Found | None) -> Encoded:
    """The encoding by a byte-order mark, as declared, or by the NUL beside each letter of UTF-16; else UTF-8.

    Args:
        head: the first `HEAD_BYTES` of the file.
        declared: what a person said; a byte-order mark goes before it.
    """
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            return Encoded(encoding, len(mark), "its byte-order mark")
    if declared is not None:
        return Encoded(declared, 0, "declared")
    pairs = head[: len(head) // 2 * 2]
    if len(pairs) >= _SHORTEST:
        for encoding, letters, zeros in (("utf-16-le", pairs[::2], pairs[1::2]), ("utf-16-be", pairs[1::2], pairs[::2])):
            # The header is ASCII as far as the first row; a run of NUL that a power cut leaves has no letters between.
            if not any(zeros[:_SHORTEST]) and all(letters[:_SHORTEST]):
                return Encoded("utf-16-le" if encoding == "utf-16-le" else "utf-16-be", 0, "no mark, but NUL beside each letter")
    return Encoded("utf-8", 0, "")


def unit_bytes(encoding: Found) -> int:
    """How many bytes a code unit has: 2 in UTF-16."""
    return 2 if encoding.startswith("utf-16") else 1
