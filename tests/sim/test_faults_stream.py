"""A stream that is spoiled by seed: the same each time, every fault in it, and nothing said to be whole that is not."""

import random
from collections import Counter
from typing import Any

import pytest

from schemas.wire_checksum import Checksum
from schemas.wire_format import Framing, WireFormat
from sim.faults.stream import Fault, Stream, needs_line_end, spoil_records

LINES = [f"@W-140;{number};{number}.5;Nm\r\n".encode() for number in range(60)]
MARKED = [b"\x02%d\x03" % number for number in range(60)]
SEEDS = range(20)


def spoiled(seed: int, records: list[bytes] = LINES, by_line: bool = True, **more: bool) -> Stream:
    return spoil_records(records, by_line, random.Random(seed), **more)


def test_same_seed_gives_the_same_stream_and_another_one_another() -> None:
    assert spoiled(1) == spoiled(1)
    assert spoiled(1) != spoiled(2)


def test_every_fault_happens() -> None:
    faults = Counter[Fault]()
    for seed in SEEDS:
        faults.update(spoiled(seed).faults)

    assert {fault for fault, count in faults.items() if count} == set(Fault)


@pytest.mark.parametrize("seed", SEEDS)
def test_sessions_are_the_steps_up_to_each_unplugging(seed: int) -> None:
    stream = spoiled(seed)

    assert b"".join(stream.sessions) == b"".join(step.data for step in stream.steps)
    assert len(stream.sessions) == sum(step.then is Fault.UNPLUG for step in stream.steps) == stream.faults[Fault.UNPLUG] + 1
    assert stream.steps[-1].then is Fault.UNPLUG


@pytest.mark.parametrize("seed", SEEDS)
def test_a_line_that_is_said_to_be_whole_stands_between_two_line_ends(seed: int) -> None:
    stream = spoiled(seed)

    ended = (session.replace(b"\r", b"\n").split(b"\n")[:-1] for session in stream.sessions)
    whole = Counter(record.removesuffix(b"\r\n") for record in stream.whole)
    assert set(stream.whole) <= set(LINES)
    assert whole <= Counter(line for lines in ended for line in lines)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_record_between_marks_is_whole_whatever_stands_before_it(seed: int) -> None:
    stream = spoiled(seed, MARKED, by_line=False)

    sent = b"".join(stream.sessions)
    assert len(stream.whole) > len(MARKED) / 2
    assert all(sent.count(record) >= count for record, count in Counter(stream.whole).items())


@pytest.mark.parametrize("seed", SEEDS)
def test_a_link_that_may_not_go_before_the_end_goes_there_in_the_middle_of_a_record(seed: int) -> None:
    (sent,) = spoiled(seed, unplugs=False).sessions

    assert not sent.endswith(b"\n")


@pytest.mark.parametrize(
    ("more", "needs"),
    [
        pytest.param({"begins": "@"}, True, id="line-with-a-start-mark"),
        pytest.param({"begins": "@", "checksum": Checksum("sum", 2)}, False, id="line-with-a-sum"),
        pytest.param({"framing": Framing("marks", b"\x02", b"\x03")}, False, id="marks"),
    ],
)
def test_only_a_line_without_a_checksum_is_known_by_the_line_end_before_it(more: dict[str, Any], needs: bool) -> None:
    assert needs_line_end(WireFormat("made", "ascii", ";", ("torque",), 60, **more)) is needs
