"""The form of a ledger entry, final from the first day: canonical JSON (RFC 8785) of integers, strings and null.

Old leaves of the tree can never be migrated, so nothing here may change what an entry of `v: 1` is; a later form is
`v: 2`, for new entries only.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import TypeAlias

from schemas.errors import RecordError

Json: TypeAlias = "int | str | Sequence[Json] | Mapping[str, Json] | None"
"""What may stand in an entry: dicts with ASCII keys, lists and tuples, strings, None, and integers within ±(2^53 − 1).

No float and no truth value, which the type checker cannot say: `canonical` refuses them.
"""

ENTRY_VERSION = 1
"""The only form of an entry that this program writes and reads."""

# Beyond it a reader that keeps numbers as binary floats would see another number (RFC 8785, 3.2.2.3).
_INT_MAX = 2**53 - 1
_DEEPEST = 32
_AT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,9})?Z")
_SALT = re.compile(r"[0-9a-f]{32}")
_FIELDS = {"at", "body", "by", "kind", "mono_ns", "salt", "v"}

_DECODER = json.JSONDecoder()
# Several times faster than the reference library, and equal to it for all values that _check lets through.
_ENCODER = json.JSONEncoder(ensure_ascii=False, check_circular=False, sort_keys=True, separators=(",", ":"))


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the ledger.

    `at` is our own time, RFC 3339 in UTC with a Z. `mono_ns` is the monotonic count beside it, in ns from 0 to
    2^53 − 1, which is 104 days: it must be counted from the program's start, not the computer's. `by` is a person's id,
    empty where nobody acted. `salt` are 16 random bytes as 32 hex digits. `body` depends on `kind`.
    """

    kind: str
    at: str
    mono_ns: int
    by: str
    salt: str
    body: Mapping[str, Json]

    def encode(self) -> bytes:
        """The entry as canonical JSON, the data of its leaf; RecordError names the field that cannot stand in it."""
        self._check_fields()
        # The texts among the fields are checked already.
        _check(self.mono_ns, ".mono_ns", 1)
        _check(self.body, ".body", 1)
        return _encoded(
            {
                "at": self.at,
                "body": self.body,
                "by": self.by,
                "kind": self.kind,
                "mono_ns": self.mono_ns,
                "salt": self.salt,
                "v": ENTRY_VERSION,
            }
        )

    def _check_fields(self) -> None:
        if not isinstance(self.kind, str) or not self.kind:
            raise _refused("kind", self.kind, "a word that is not empty")
        if not isinstance(self.at, str) or not _is_instant(self.at):
            raise _refused("at", self.at, "RFC 3339 in UTC, such as 2026-03-02T07:15:00.250000Z")
        if not isinstance(self.mono_ns, int) or not 0 <= self.mono_ns <= _INT_MAX:
            raise _refused("mono_ns", self.mono_ns, f"0 to {_INT_MAX}, counted from the program's start")
        if not isinstance(self.by, str):
            raise _refused("by", self.by, "a person's id")
        if not isinstance(self.salt, str) or not _SALT.fullmatch(self.salt):
            raise _refused("salt", self.salt, "16 bytes as 32 hex digits in lower case")
        if not isinstance(self.body, dict):
            raise _refused("body", self.body, "a dict")


def canonical(value: Json) -> bytes:
    """A value as canonical JSON (RFC 8785) in UTF-8; the same value always gives the same bytes.

    Raises:
        RecordError: a float, a truth value, an integer beyond ±(2^53 − 1), a key that is not ASCII text, half of a
            surrogate pair, nesting deeper than 32, or any other type.
    """
    _check(value, "", 0)
    return _encoded(value)


def _encoded(value: Json) -> bytes:
    try:
        return _ENCODER.encode(value).encode()
    except UnicodeEncodeError as error:
        raise RecordError("a text holds half of a surrogate pair, which has no UTF-8; write bytes as hex") from error


def decode_entry(text: str | bytes) -> Entry:
    """The entry that a ledger row holds; encoding it gives the very same bytes again.

    Raises:
        RecordError: not JSON, not canonical, another form, a value that may not stand there, or a newer version.
    """
    try:
        raw = text.encode() if isinstance(text, str) else text
        document = _parsed(raw.decode())
    except (ValueError, RecursionError) as error:
        raise RecordError(f"the entry is not readable as JSON ({error}); verify the file it comes from") from error
    if not isinstance(document, dict) or type(document.get("v")) is not int:
        raise RecordError("the entry has no version `v`, so it is none of ours; verify the file it comes from")
    if document["v"] > ENTRY_VERSION:
        raise RecordError(
            f"the entry has the form v: {document['v']}, a newer program wrote it, this one reads v: {ENTRY_VERSION}; "
            "open the file with the newer program"
        )
    if document["v"] != ENTRY_VERSION or document.keys() != _FIELDS:
        raise RecordError("the entry has not the fields of v: 1; verify the file it comes from")
    del document["v"]
    entry = Entry(**document)
    if entry.encode() != raw:
        raise RecordError("the entry is not canonical, so another program wrote it; verify the file it comes from")
    return entry


def private_hash(salt: bytes, value: str) -> str:
    """What an entry holds in place of a name, a customer or a plate: SHA-256 over salt and UTF-8 text, 64 hex digits.

    Raises:
        RecordError: the salt is not 16 bytes long, or the value holds half of a surrogate pair.
    """
    if len(salt) != 16:
        raise RecordError(f"a salt has 16 bytes, not {len(salt)}; take it from the entry that the value belongs to")
    try:
        return sha256(salt + value.encode()).hexdigest()
    except UnicodeEncodeError as error:
        raise RecordError("the value holds half of a surrogate pair, which has no UTF-8; type it again") from error


def fits_private(salt: str, value: str, expected: object) -> bool:
    """Whether a private value, with its salt in hex, is the one whose hash its entry holds; False also where it cannot be one."""
    try:
        return private_hash(bytes.fromhex(salt), value) == expected
    except (ValueError, RecordError):
        return False


def _parsed(text: str) -> object:
    """The same as json.loads, which looks for white space around a text of ours, where there is none."""
    try:
        document, end = _DECODER.raw_decode(text)
    except ValueError:
        end = -1
    return document if end == len(text) else json.loads(text)


def _check(value: object, where: str, depth: int) -> None:
    # Every entry passes here, so plain texts and integers in a dict, by far the most, are settled without a call.
    if depth > _DEEPEST:
        raise RecordError(f"`{where[:60]}…` is nested deeper than {_DEEPEST}; store it flatter")
    if isinstance(value, dict):
        for key, item in value.items():
            if not isinstance(key, str) or not key.isascii():
                raise _refused(where, key, "an ASCII text for a key")
            kind = type(item)
            if kind is not str and (kind is not int or not -_INT_MAX <= item <= _INT_MAX):
                _check(item, f"{where}.{key}", depth + 1)
    elif isinstance(value, (list, tuple)):
        for place, item in enumerate(value):
            _check(item, f"{where}[{place}]", depth + 1)
    elif isinstance(value, int) and not isinstance(value, bool):
        if not -_INT_MAX <= value <= _INT_MAX:
            raise _refused(where, value, f"an integer within ±{_INT_MAX}, or a text of digits")
    elif value is not None and not isinstance(value, str):
        raise _refused(where, value, "an object, an array, a text, an integer or null; write other numbers as a text")


def _is_instant(text: str) -> bool:
    if not _AT.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def _refused(where: str, value: object, wanted: str) -> RecordError:
    shown = repr(value)
    shown = shown if len(shown) <= 60 else shown[:60] + "…"
    return RecordError(f"`{where.lstrip('.') or 'entry'}`: {shown} cannot stand in the ledger; give {wanted}")
