"""A readings log gives one frame a line, and says in one line why it is no log."""

import hashlib
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.acquire.log_file import LogSource
from collector.acquire.log_header import log_wire_format
from collector.decode import decode_frame
from schemas.errors import Fate, FrameError, SourceError, SourceReason
from schemas.frame import Frame, LinkChange, Reading
from schemas.words import Link

HEADER = b"time,wrench,torque,unit\n"
ROW = b"2026-03-02T08:15:30+01:00,W-140,95.2,Nm\n"


class StillClock:
    def now(self) -> datetime:
        return datetime(2026, 3, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return 7


def log(tmp_path: Path, data: bytes, longest: int = 200) -> LogSource:
    path = tmp_path / "day.csv"
    path.write_bytes(data)
    source = LogSource(path, StillClock(), longest)
    source.open()
    return source


def lines(source: LogSource) -> list[tuple[int | None, bytes]]:
    return [(frame.line, frame.raw) for frame in source.rows()]


def refusal(tmp_path: Path, data: bytes) -> str:
    with pytest.raises(SourceError, match=r"^log `day\.csv` ") as caught:
        log(tmp_path, data)
    assert caught.value.reason is SourceReason.NOT_READABLE
    assert len(str(caught.value).splitlines()) == 1
    return str(caught.value)


def test_row_is_a_frame_with_its_line_and_bytes(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW)

    assert list(source.rows()) == [
        Frame("log:day.csv", ROW.rstrip(b"\n"), datetime(2026, 3, 2, 9, tzinfo=UTC), 7, line=2)
    ]


def test_header_gives_the_format_that_decodes_the_rows(tmp_path: Path) -> None:
    source = log(tmp_path, b"seq,time,wrench,torque,unit,angle,note,flag\n7,09:00,W-140,95.20,N\xc2\xb7m,30.5,x,LB\n")

    (row,) = source.rows()

    assert decode_frame(source.wire_format, row) == Reading(
        torque="95.20",
        unit="N·m",
        torque_nm=Decimal("95.20"),
        wrench="W-140",
        sequence=7,
        tool_time="09:00",
        angle_deg="30.5",
        notes=("battery low",),
        battery_low=True,
    )


def test_hash_is_of_the_untouched_file(tmp_path: Path) -> None:
    data = b"\xef\xbb\xbf" + HEADER + b"\r\n" + ROW

    assert log(tmp_path, data).sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize(
    "end", [pytest.param(b"\n", id="lf"), pytest.param(b"\r\n", id="cr-lf"), pytest.param(b"\r", id="cr")]
)
def test_every_line_end_gives_the_same_lines_and_numbers(tmp_path: Path, end: bytes) -> None:
    source = log(tmp_path, end.join([b"torque,unit", b"1,Nm", b"", b" \t", b"2,Nm"]))

    assert lines(source) == [(2, b"1,Nm"), (5, b"2,Nm")]


def test_byte_order_mark_is_no_part_of_the_first_header(tmp_path: Path) -> None:
    source = log(tmp_path, b"\xef\xbb\xbftorque,unit\n95.2,Nm\n")

    assert source.wire_format.fields == ("torque", "unit")


def test_blank_lines_before_the_header_are_counted(tmp_path: Path) -> None:
    assert lines(log(tmp_path, b"\n\ntorque,unit\n95.2,Nm\n")) == [(4, b"95.2,Nm")]


@pytest.mark.parametrize(
    ("header", "fields"),
    [
        pytest.param("device_time,tool,value,unit", ("tool_time", "wrench", "torque", "unit"), id="synonyms"),
        pytest.param("Time Stamp,Peak Torque,Unit", (None, "torque", "unit"), id="words-apart"),
        pytest.param('"Date-Time" , "PEAK","Units"', ("tool_time", "torque", "unit"), id="quoted-and-padded"),
        pytest.param("torque,unit,note,note,", ("torque", "unit", None, None, None), id="unknown-columns-may-repeat"),
        pytest.param("seq,torque", ("sequence", "torque"), id="no-unit"),
    ],
)
def test_usual_headers_are_known(header: str, fields: tuple[str | None, ...]) -> None:
    assert log_wire_format(header.encode(), "day.csv", 100).fields == fields


@pytest.mark.parametrize(
    ("data", "says"),
    [
        pytest.param(b"", "holds no rows", id="empty"),
        pytest.param(b"\r\n \n", "holds no rows", id="only-blank-lines"),
        pytest.param(b"\xef\xbb\xbf", "holds no rows", id="only-a-mark"),
        pytest.param(b"\0" * 5000, "holds no rows", id="only-nul"),
        pytest.param(HEADER, "holds no rows under its header", id="header-only"),
        pytest.param(b"\xef\xbb\xbf" + HEADER + b"\n\n", "holds no rows under its header", id="blank-under-header"),
        pytest.param(
            b"time,wrench,Nm\n1,2,3\n", "no column `torque` in its header, only `time`, `wrench`, `Nm`", id="none"
        ),
        pytest.param(
            b"seq,joint,torque,unit,torque\n1,J1,2,Nm,3\n",
            "`torque` twice: columns 3 (`torque`) and 5 (`torque`)",
            id="twice",
        ),
        pytest.param(b"value,unit,peak\n1,Nm,2\n", "`value` twice: columns 1 (`value`) and 3 (`peak`)", id="two-names"),
        pytest.param(b"a,torque;unit\n1,2;Nm\n", "no column `torque` in its header", id="no-way-gives-a-torque"),
        pytest.param(b"torque,a;torque\n1,2;3\n1;2,3\n", "by commas or by semicolons; declare which", id="two-ways"),
    ],
)
def test_file_that_is_no_such_log_is_refused_in_one_line(tmp_path: Path, data: bytes, says: str) -> None:
    assert says in refusal(tmp_path, data)


def test_missing_file_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(
        SourceError, match=r"^log `no\.csv` cannot be read \(No such file or directory\); check"
    ) as caught:
        LogSource(tmp_path / "no.csv", StillClock()).open()

    assert caught.value.reason is SourceReason.NOT_READABLE


def test_folder_is_refused_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(SourceError, match="is no plain file; choose a file of readings"):
        LogSource(tmp_path, StillClock()).open()


def test_open_quote_spoils_its_own_row_and_no_other(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + b'1,"W-140,95.2,Nm\n2,W-140,95.3,Nm\n3,"W-140",95.4,Nm\n')

    first, second, third = source.rows()

    with pytest.raises(FrameError, match="double quote") as caught:
        decode_frame(source.wire_format, first)
    assert caught.value.fate is Fate.UNREADABLE
    assert decode_frame(source.wire_format, second).torque == "95.3"
    assert decode_frame(source.wire_format, third).wrench == "W-140"


def test_row_damaged_by_a_power_cut_is_kept_as_it_is(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + b"1,W-140,95." + b"\0" * 64 + b"\n" + ROW)

    damaged, whole = source.rows()

    assert damaged.raw.count(b"\0") == 64
    assert decode_frame(source.wire_format, whole).torque == "95.2"


@pytest.mark.parametrize("more", range(6))
def test_overlong_line_comes_in_parts_of_one_line_number(tmp_path: Path, more: int) -> None:
    long = b"y" * (20 + more)
    source = log(tmp_path, b"torque,unit\r\n" + long + b"\r\n2,Nm\r\n", longest=20)

    *parts, last = source.rows()

    assert b"".join(part.raw for part in parts) == long
    assert {(part.line, part.overlong) for part in parts} == {(2, more > 0)}
    assert (last.line, last.raw, last.overlong) == (3, b"2,Nm", False)


@given(
    text=st.lists(st.sampled_from([b"\r", b"\n", b" ", b"a", b",", b'"', b"\xff", b"0" * 9]), max_size=40).map(b"".join)
)
def test_every_byte_of_the_rows_comes_out_and_lines_are_numbered_as_editors_do(
    tmp_path_factory: pytest.TempPathFactory, text: bytes
) -> None:
    source = log(tmp_path_factory.mktemp("log"), b"torque\nfirst\n" + text, longest=11)
    expected = enumerate(text.splitlines(), 3)

    by_line: dict[int, bytes] = {}
    for frame in source.rows():
        assert frame.line is not None
        by_line[frame.line] = by_line.get(frame.line, b"") + frame.raw

    assert by_line.pop(2) == b"first"
    assert by_line == {number: line for number, line in expected if line.strip(b" ,") or len(line) > 11}


def test_what_is_appended_after_opening_is_left_out(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW)
    with (tmp_path / "day.csv").open("ab") as file:
        file.write(ROW)

    assert len(list(source.rows())) == 1


def test_file_that_changed_since_opening_is_refused_at_the_end(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW)
    (tmp_path / "day.csv").write_bytes(HEADER + ROW.replace(b"95.2", b"85.2"))

    with pytest.raises(SourceError, match="was changed while it was read"):
        list(source.rows())


def test_file_that_went_since_opening_is_refused(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW)
    (tmp_path / "day.csv").unlink()

    with pytest.raises(SourceError, match="cannot be read"):
        list(source.rows())


def test_run_hands_over_the_rows_between_open_and_ended(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW + ROW)
    handed: list[Frame | LinkChange] = []

    source.run(handed.append)

    assert [item.link if isinstance(item, LinkChange) else item.line for item in handed] == [
        Link.OPEN,
        2,
        3,
        Link.ENDED,
    ]


def test_closed_run_stops_after_the_row_in_hand(tmp_path: Path) -> None:
    source = log(tmp_path, HEADER + ROW * 100)
    handed: list[Frame | LinkChange] = []

    def put(item: Frame | LinkChange) -> None:
        handed.append(item)
        if len(handed) == 2:
            source.close()

    source.run(put)

    assert len(handed) == 3
    assert isinstance(handed[-1], LinkChange)
