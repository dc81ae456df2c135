"""Made-up delimited formats of any kind: each is found again from four pulls, or what is not decided is named."""

from dataclasses import dataclass
from decimal import Decimal

from hypothesis import example, given, settings
from hypothesis import strategies as st

from collector.listen.check_draft import decode_heard
from collector.listen.heard import Heard, read_about
from collector.listen.propose import propose
from schemas.wire_checksum import Checksum, Crc
from schemas.wire_format_load import load_wire_format

SUMS = {
    "none": None,
    "sum": Checksum("sum", 2, behind=b"*"),
    "xor with start": Checksum("xor", 2, behind=b"*", includes_start=True, includes_mark=True),
    "crc": Checksum("crc", 4, 16, Crc(0x1021, 0xFFFF), behind=b"*"),
}


@dataclass(frozen=True)
class Sent:
    bursts: tuple[bytes, ...]
    values: tuple[Decimal, ...]
    checksum: str


@st.composite
def any_sent(draw):
    mark = draw(st.sampled_from(".,"))
    delimiter = draw(st.sampled_from([one for one in ";,|\t /" if one != mark]))
    start = draw(st.sampled_from(["@", "$", ""]))
    checksum = draw(st.sampled_from(sorted(SUMS)))
    columns = draw(st.lists(st.sampled_from(["unit", "number", "time", "word", "serial", "empty"]), unique=True))
    columns = draw(st.permutations(["torque", *columns]))
    end = draw(st.sampled_from([b"\r\n", b"\n", b"\r"]))
    tenths = draw(st.lists(st.integers(100, 3000), min_size=4, max_size=4, unique=True))
    first = draw(st.integers(1, 9000))
    values = tuple(Decimal(one).scaleb(-1) for one in tenths)
    bursts = []
    for n, value in enumerate(values):
        fields = {
            "torque": str(value).replace(".", mark), "unit": "Nm", "number": f"{first + n:04d}", "empty": "",
            "time": f"2026-03-02T08:15:{10 + n}+01:00", "word": "ok", "serial": "TB-77",
        }  # fmt: skip
        content = delimiter.join(fields[name] for name in columns).encode()
        bursts.append(start.encode() + content + closing(SUMS[checksum], start.encode(), content) + end)
    return Sent(tuple(bursts), values, checksum)


def closing(checksum, start, content):
    if checksum is None:
        return b""
    covered = start * checksum.includes_start + content + checksum.behind * checksum.includes_mark
    return checksum.behind + checksum.pack(covered)


def torques(draft, heard):
    wire = load_wire_format(draft.text("found", "N·m").encode(), "found.yaml")
    return wire, [one.reading and one.reading.torque for one in decode_heard(wire, heard)]


@settings(max_examples=150, deadline=None)
@given(any_sent(), st.booleans())
def test_any_delimited_format_is_found_again_or_what_is_undecided_is_shown(sent, is_divided):
    abouts = tuple(read_about(str(round(value))) for value in sent.values)
    heard = Heard(sent.bursts if is_divided else (b"".join(sent.bursts),), abouts, is_divided)

    proposed = propose(heard)

    read = [torques(draft, heard) for draft in proposed.drafts]
    right = [wire for wire, told in read if told == [str(value) for value in sent.values]]
    assert right, (proposed.refusals, sent.bursts)
    # More than one is a question to the person, and each then has an answer to it.
    assert len(read) == 1 or all(draft.telling for draft in proposed.drafts)
    assert (right[0].checksum is None) == (sent.checksum == "none")


@settings(max_examples=100, deadline=None)
@example([b"\n", b"\n", b"\n"], True)
@example([b"\t", b" ", b"\xe1\x80\x80 "], False)
@given(st.lists(st.binary(min_size=1, max_size=40), min_size=3, max_size=5), st.booleans())
def test_any_bytes_give_proposals_that_read_what_was_typed_or_a_reason(bursts, is_divided):
    typed = ["50", "80.5", "-120", "95", "12"][: len(bursts)]
    abouts = tuple(map(read_about, typed))
    heard = Heard(tuple(bursts) if is_divided else (b"".join(bursts),), abouts, is_divided)

    proposed = propose(heard)

    assert proposed.drafts or proposed.refusals
    for draft in proposed.drafts:
        told = [one for one in torques(draft, heard)[1] if one is not None]
        assert len(told) >= len(abouts)
