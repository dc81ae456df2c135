"""Reads back from a database what became of every byte that was sent: in a frame that is read or named, or nowhere."""

import json
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from analysis.verify import verify_file
from schemas.wire_format import Framing
from sim.faults.stream import LINE_ENDS, Stream

_ENTRIES_SQL = "SELECT seq, json_extract(entry, '$.kind'), json_extract(entry, '$.body') FROM ledger ORDER BY seq"
_READING, _SET_ASIDE, _UNREADABLE = "reading", "set aside", "unreadable"
_UP = ("open", "back")


@dataclass(slots=True)
class Account:
    """What became of one stream, in bytes: `sent` are in `framed`, or `line_ends` that no frame keeps, or `lost`.

    `readings`, `set_aside`, `unreadable` count what was made of the frames (of a log, of its rows), `stored_before` rows
    that were left out for that. `altered` are those of the readings whose bytes no wrench has sent: damage that the format
    cannot see. `troubles` are sentences; none where all is well.
    """

    sent: int = 0
    framed: int = 0
    line_ends: int = 0
    lost: int = 0
    readings: int = 0
    set_aside: int = 0
    unreadable: int = 0
    stored_before: int = 0
    altered: int = 0
    troubles: list[str] = field(default_factory=list)

    def add(self, other: "Account") -> None:
        """Count another one in."""
        for one in fields(self):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))


@dataclass(slots=True)
class Stored:
    """One frame or row as the ledger has it; `fate` is `reading`, `set aside` or `unreadable`, "" for none."""

    raw: bytes
    fate: str = ""


class Ledger:
    """All that a database holds of what was sent, read once after the run; `findings` are what is wrong with it."""

    def __init__(self, database: Path) -> None:
        self.findings = list(verify_file(database).findings)
        self._sessions: defaultdict[str, list[list[Stored]]] = defaultdict(list)
        self._files: dict[str, list[Stored]] = {}
        self._frames: dict[int, Stored] = {}
        self._logs: dict[int, list[Stored]] = {}
        with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as db:
            for seq, kind, body in db.execute(_ENTRIES_SQL):
                self._take(seq, kind, json.loads(body))
        fateless = [seq for seq, frame in self._frames.items() if not frame.fate]
        self.findings += [f"frame {seq} has no reading and no reason" for seq in fateless]

    def sessions(self, source: str) -> list[list[Stored]]:
        """The frames of a source, by session of its link."""
        return self._sessions[source]

    def rows(self, file: str) -> list[Stored] | None:
        """The rows that were stored of a log, None where it was refused."""
        return self._files.get(file)

    def _take(self, seq: int, kind: str, body: Mapping[str, Any]) -> None:
        match kind:
            case "link" if body["link"] in _UP:
                self._sessions[body["source"]].append([])
            case "log":
                self._logs[seq] = self._files[body["file"]] = []
            case "frame":
                self._frames[seq] = Stored(bytes.fromhex(body["raw"]))
                self._session(seq, body["source"]).append(self._frames[seq])
            case "reading" | "not read":
                self._take_fate(body.get("fate", _READING), body)

    def _session(self, seq: int, source: str) -> list[Stored]:
        sessions = self._sessions[source]
        if not sessions:
            self.findings.append(f"frame {seq} of a link that was never open")
            sessions.append([])
        return sessions[-1]

    def _take_fate(self, fate: str, body: Mapping[str, Any]) -> None:
        number = body.get("frame")
        if number is None:
            self._logs[body["log"]].append(Stored(bytes.fromhex(body["raw"]), fate))
        elif self._frames[number].fate:
            self.findings.append(f"frame {number} has two fates: {self._frames[number].fate}, {fate}")
        else:
            self._frames[number].fate = fate


def account_link(stream: Stream, sent: Sequence[bytes], sessions: Sequence[Sequence[Stored]], framing: Framing) -> Account:
    """What became of a stream over a link.

    Args:
        stream: what was sent.
        sent: what the reader was given of it in each session.
        sessions: the stored frames of each session.
        framing: `line` drops every line end, `marks` those behind a record, others nothing.
    """
    account = Account()
    for number in range(max(len(sent), len(sessions))):
        given = sent[number] if number < len(sent) else b""
        frames = sessions[number] if number < len(sessions) else ()
        _account_bytes(account, f"session {number}", given, [frame.raw for frame in frames], framing.by in ("line", "marks"))
    stored = [frame for session in sessions for frame in session]
    is_line = framing.by == "line"
    whole, records = ([_line(record) if is_line else record for record in some] for some in (stream.whole, stream.records))
    _count(account, stored, Counter(whole), set(records))
    return account


def account_log(stream: Stream, files: Mapping[str, bytes], ledger: Ledger, told: Mapping[str, tuple[int, str]]) -> Account:
    """What became of a log that was downloaded in several files.

    Args:
        stream: what was sent.
        files: the bytes of each under its header, in order. Of a refused one every byte counts as named.
        ledger: what was stored.
        told: of each how many rows it had stored before, or why it was refused.
    """
    account, stored = Account(), list[Stored]()
    for name, data in files.items():
        before, refused = told[name]
        rows = [row for row in _as_lines(data) if row.strip(b" \t")]
        new = ledger.rows(name)
        if new is None:
            if len(refused.splitlines()) != 1 or not refused.startswith("witnessmark: "):
                account.troubles.append(f"{name} was refused with {refused!r}")
            _account_bytes(account, name, data, rows, drops_line_ends=True)
            continue
        stored += new
        # A row that is left out came before, be it with its time written otherwise (a small t in it): one pull counts once.
        again = Counter(rows) - Counter(row.raw for row in new)
        known = {_pull(row.raw) for row in stored}
        if before != again.total() or any(_pull(row) not in known for row in again):
            account.troubles.append(f"{name}: {before} rows were stored before, and these are not stored now: {again}")
        account.stored_before += before
        account.troubles += [f"{name}: row {row.raw!r} was not sent" for row in new if row.raw not in rows]
        _account_bytes(account, name, data, [row for row in rows if _pull(row) in known], drops_line_ends=True)
    # However often a pull is downloaded, it is stored once.
    _count(account, stored, Counter(set(map(_line, stream.whole))), set(map(_line, stream.records)))
    return account


def typed_lines(typed: bytes) -> bytes:
    """What the reader of a keyboard is to keep of it: every line that is neither empty nor an answer."""
    return b"\n".join(line for line in typed.split(b"\n") if line.strip() and not line.startswith(b"/"))


def _account_bytes(account: Account, what: str, given: bytes, raws: Sequence[bytes], drops_line_ends: bool) -> None:
    stored = b"".join(raws)
    account.sent += len(given)
    account.framed += len(stored)
    is_whole = _plain(stored) == _plain(given) and len(stored) <= len(given) if drops_line_ends else stored == given
    if is_whole:
        account.line_ends += len(given) - len(stored)
    else:
        account.lost += max(len(_plain(given)) - len(_plain(stored)), 1)
        account.troubles.append(f"{what}: {given!r} became {raws}")


def _count(account: Account, stored: Sequence[Stored], whole: Counter[bytes], records: set[bytes]) -> None:
    fates = Counter(one.fate for one in stored)
    account.readings, account.set_aside, account.unreadable = fates[_READING], fates[_SET_ASIDE], fates[_UNREADABLE]
    account.altered = sum(one.fate == _READING and one.raw not in records for one in stored)
    if not_found := list((whole - Counter(one.raw for one in stored if one.fate != _UNREADABLE)).elements()):
        account.troubles.append(f"came whole and was not read: {not_found}")


def _pull(row: bytes) -> bytes:
    """A row without its first cell, the time."""
    return row.partition(b",")[2]


def _as_lines(data: bytes) -> list[bytes]:
    return data.replace(b"\r", b"\n").split(b"\n")


def _line(data: bytes) -> bytes:
    return data.rstrip(LINE_ENDS)


def _plain(data: bytes) -> bytes:
    return data.translate(None, LINE_ENDS)
