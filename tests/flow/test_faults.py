"""Every kind of source under faults by seed, through the installed program: each byte is stored, each frame read or named."""

import shutil
import sys

import pytest

from benchmarks.fault_account import Account, Ledger, Stored, account_link, account_log, typed_lines
from benchmarks.fault_runs import LOG_HEADER, FaultShop
from benchmarks.faults import campaign, play
from schemas.wire_format import Framing
from sim.bluez.bus import BUS_PROGRAM
from sim.faults.stream import Fault, Step, Stream

needs_terminals = pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
needs_bus = pytest.mark.skipif(shutil.which(BUS_PROGRAM) is None, reason=f"{BUS_PROGRAM} is not installed")


@pytest.mark.parametrize(
    ("source", "seed"),
    [
        pytest.param("serial", 1, marks=needs_terminals, id="serial-1"),
        pytest.param("serial", 2, marks=needs_terminals, id="serial-2"),
        pytest.param("ble", 3, marks=needs_bus, id="ble-3"),
        pytest.param("keys", 4, id="keys-4"),
        *(pytest.param("log", seed, id=f"log-{seed}") for seed in (5, 6, 7)),
    ],
)
def test_no_byte_is_lost_and_whatever_came_whole_is_read(source, seed):
    for what, account in play(source, seed).items():
        assert account.troubles == []
        assert account.lost == 0
        assert account.sent == account.framed + account.line_ends > 0
        assert account.readings > account.unreadable > 0
        # Of a format without a checksum, or with a plain sum, nothing in a record says that a digit was another.
        assert account.altered == 0 or what != "binary-record"


def test_the_table_says_what_was_sent_and_what_became_of_it():
    (row,) = campaign(range(8, 9), ["log"])

    assert row.reached
    assert row.baseline.endswith("bytes sent")
    assert "lost: 0" in row.measured


SENT = b"@a\r\n@b\r\n@c"
LINES = Stream((b"@a\r\n", b"@b\r\n", b"@c\r\n"), (Step(SENT, Fault.UNPLUG),), (b"@a\r\n", b"@b\r\n"), {})


def accounted(*frames: tuple[bytes, str], by: str = "line") -> Account:
    return account_link(LINES, [SENT], [[Stored(raw, fate) for raw, fate in frames]], Framing(by))


def test_account_of_a_stream_that_is_stored_whole():
    account = accounted((b"@a", "reading"), (b"@b", "set aside"), (b"@c", "unreadable"))

    assert account == Account(sent=10, framed=6, line_ends=4, readings=1, set_aside=1, unreadable=1)


@pytest.mark.parametrize(
    ("frames", "lost", "trouble"),
    [
        pytest.param([(b"@a", "reading"), (b"@b", "reading")], 2, "session 0: ", id="half-a-line-missing"),
        pytest.param([(b"@a", "reading"), (b"@b", "reading"), (b"c@", "unreadable")], 1, "session 0: ", id="other-order"),
        pytest.param([(b"@a", "reading"), (b"@b", "reading"), (b"@c\r\n\r\n\r", "unreadable")], 1, "session 0: ", id="made-up"),
        pytest.param([(b"@a", "reading"), (b"@b", "unreadable"), (b"@c", "unreadable")], 0, "came whole and", id="not-read"),
    ],
)
def test_account_tells_what_is_missing(frames, lost, trouble):
    account = accounted(*frames)

    assert account.lost == lost
    assert account.troubles[0].startswith(trouble)


def test_line_ends_count_where_the_framing_keeps_them():
    assert accounted((b"@a", "reading"), (b"@b", "reading"), (b"@c", "unreadable"), by="length").lost == 1


def test_a_reading_of_bytes_that_no_wrench_sent_counts_as_altered():
    assert accounted((b"@a", "reading"), (b"@b", "reading"), (b"@", "reading"), (b"c", "reading")).altered == 2


def test_a_refused_log_needs_one_line_of_ours(tmp_path):
    shop = FaultShop(tmp_path)
    told = {"a.csv": shop.import_log("a.csv", b"no,log\n1,2\n"), "b.csv": (0, "Traceback\nKeyError")}

    account = account_log(LINES, dict.fromkeys(told, b"1,2\n"), Ledger(shop.database), told)

    assert [trouble for trouble in account.troubles if "refused" in trouble] == ["b.csv was refused with 'Traceback\\nKeyError'"]


def test_a_log_that_is_stored_in_part_is_told(tmp_path):
    shop = FaultShop(tmp_path)
    rows = [b"2026-03-02T08:00:00+01:00,W-1,95.2,Nm,1\n", b"2026-03-02T08:00:09+01:00,W-1,95.3,Nm,2\n"]
    told = {"a.csv": shop.import_log("a.csv", LOG_HEADER + rows[0])}
    sent = Stream(tuple(rows), (Step(b"".join(rows), Fault.UNPLUG),), tuple(rows), {})

    account = account_log(sent, {"a.csv": b"".join(rows)}, Ledger(shop.database), told)

    assert account.lost == len(rows[1]) - 1
    assert len(account.troubles) == 3


def test_typed_answers_and_empty_lines_are_no_records():
    assert typed_lines(b"@a\n\n /x\n/quit\n  \n@b") == b"@a\n /x\n@b"
