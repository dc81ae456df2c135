"""However a log is written, a value is read as it was meant or set aside with both readings: proof by all rows, or declared."""

from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.acquire import log_evidence
from collector.acquire.log_file import LogSource
from collector.decode import decode_frame
from schemas.errors import Fate, FrameError, SourceError
from schemas.frame import Reading
from schemas.log_layout import LogLayout
from schemas.log_time import TimeRule


class StillClock:
    def now(self) -> datetime:
        return datetime(2026, 11, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return 7


@dataclass
class Log:
    """A log that was read: a reading, or the reason why not, by line; how it was read."""

    rows: list[tuple[int, Reading | FrameError]]
    told: str
    sha256: str

    @property
    def torques(self) -> list[Decimal | None]:
        return [row.torque_nm for _, row in self.rows if isinstance(row, Reading)]

    @property
    def refused(self) -> dict[int, str]:
        return {line: f"{row.fate}: {row}" for line, row in self.rows if isinstance(row, FrameError)}


@pytest.fixture(name="read")
def _read(tmp_path: Path):
    def read(data: bytes, layout: LogLayout | None = None, longest: int = 200) -> Log:
        path = tmp_path / "day.csv"
        path.write_bytes(data)
        source = LogSource(path, StillClock(), longest, layout or LogLayout())
        source.open()
        rows: list[tuple[int, Reading | FrameError]] = []
        for frame in source.rows():
            try:
                rows.append((frame.line or 0, decode_frame(source.wire_format, frame)))
            except FrameError as error:
                rows.append((frame.line or 0, error))
        return Log(rows, "\n".join(one.what for one in source.told), source.sha256)

    return read


def decimals(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def test_decimal_commas_between_semicolons_are_read_and_their_proof_is_told(read):
    log = read(b"seq;time;tool;torque;unit;flag\r\n1;2026-03-02 09:00:05;W-01;24,6;Nm;\r\n2;;W-01;25,1;Nm;\r\n3;;W-01;25;Nm;\r\n")

    assert log.torques == decimals("24.6", "25.1", "25")
    assert "columns divided by semicolons (its header has known names so)" in log.told
    assert "decimal mark `,` (proved by line 2, and no row speaks against it)" in log.told


def test_a_number_that_two_marks_fit_is_set_aside_with_both_readings_where_the_file_settles_nothing(read):
    log = read(b"seq;torque;unit\n1;1.234;Nm\n2;1,234;Nm\n3;1.234,5;Nm\n4;1.2,3;Nm\n")

    assert log.torques == decimals("1234.5")
    assert list(log.refused) == [2, 3, 5]
    assert log.refused[2].startswith("set aside: torque `1.234` can be 1.234 or 1234, and no row of the file proves")
    assert "`1,234` can be 1234 or 1.234" in log.refused[3]
    assert "not settled (line 4 and line 5 differ)" in log.told


@pytest.mark.parametrize(
    ("mark", "torques", "refused"),
    [
        pytest.param(",", ["1234", "1.234", "1234.5", "24.6"], {6: "24.6 only by the other mark than the declared"}, id="comma"),
        pytest.param(".", ["1.234", "1234", "24.6"], {4: "1234.5 only by the other", 5: "24.6 only by the other"}, id="point"),
    ],
)  # fmt: skip
def test_a_declared_mark_settles_every_number_and_one_that_fits_only_the_other_is_set_aside(read, mark, torques, refused):
    rows = b"torque;unit\n1.234;Nm\n1,234;Nm\n1.234,5;Nm\n24,6;Nm\n24.6;Nm\n"

    log = read(rows, LogLayout(decimal_mark=mark))

    assert log.torques == decimals(*torques)
    assert {line: said in log.refused[line] for line, said in refused.items()} == dict.fromkeys(refused, True)
    assert len(log.refused) == len(refused)
    assert f"decimal mark `{mark}` (declared)" in log.told


def test_a_mark_that_other_rows_prove_settles_its_own_numbers_and_no_groups(read):
    log = read(b"torque;unit\n24,6;Nm\n1,234;Nm\n1.234;Nm\n")

    assert log.torques == decimals("24.6", "1.234")
    assert "can be 1.234 or 1234, and the other rows have the decimal mark `,`" in log.refused[4]


def test_a_point_that_other_rows_prove_settles_numbers_with_three_decimals(read):
    log = read(b"torque;unit\n24.6;Nm\n1.234;Nm\n1,234.5;Nm\n")

    assert log.torques == decimals("24.6", "1.234", "1234.5")


def test_numbers_that_prove_different_marks_still_stand_for_themselves(read):
    log = read(b"torque;unit\n24.6;Nm\n25,1;Nm\n1.234;Nm\n")

    assert log.torques == decimals("24.6", "25.1")
    assert list(log.refused) == [4]


@pytest.mark.parametrize(
    ("rows", "torques"),
    [
        pytest.param(b'torque,unit\n"24,6",Nm\n"1,234",Nm\n', ["24.6", "1.234"], id="comma-in-quotes"),
        pytest.param(b'torque,unit\n95.234,Nm\n95.2,"Nm"\n', ["95.234", "95.2"], id="three-decimals-and-quotes-elsewhere"),
        pytest.param(b"torque,unit\n95.234,Nm\n", ["95.234"], id="plain-form-has-points"),
        pytest.param(b"torque\tunit\n95\tNm\n", ["95"], id="tabs-and-no-mark-at-all"),
        pytest.param(b"torque|unit\n95.2|Nm\n", ["95.2"], id="upright-bars"),
    ],
)
def test_marks_and_delimiters_in_other_company(read, rows, torques):
    assert read(rows).torques == decimals(*torques)


def test_a_number_that_is_open_in_a_quoted_cell_of_a_plain_log_is_read_by_the_points_beside_it(read):
    log = read(b'torque,unit\n95.2,Nm\n95.234,Nm\n"1,234",Nm\n')

    assert log.torques == decimals("95.2", "95.234")
    assert "can be 1234 or 1.234" in log.refused[4]


def test_an_angle_follows_the_mark_and_one_that_is_open_costs_no_torque(read):
    log = read("torque;angle;unit\n24,6;30,5°;Nm\n25,1;1.234;Nm\n25,2;;Nm\n25,3;1.2,3;Nm\n".encode())

    readings = [row for _, row in log.rows]
    assert [row.angle_deg for row in readings] == ["30.5", None, None, None]
    assert log.torques == decimals("24.6", "25.1", "25.2", "25.3")
    assert "angle `1.234`" in readings[1].notes[0]


def test_a_mark_for_over_range_or_no_reading_is_no_number(read):
    log = read(b"torque;unit\n24,6;Nm\nOL;Nm\n----;Nm\nnan;Nm\n;Nm\n9,9E37;Nm\n")

    assert log.torques == [Decimal("24.6"), None, None]
    assert list(log.refused) == [4, 5, 6]


def test_digits_that_are_not_0_to_9_are_set_aside_with_their_code_point(read):
    log = read("seq,torque,unit\n1,２５.4,Nm\n2,٢٥,Nm\n3,2²,Nm\n4,−25.4,Nm\n5,25.4,Nm\n6,1_000,Nm\n".encode())

    assert log.torques == decimals("25.4")
    points = ["U+FF12", "U+0662", "U+00B2", "U+2212", "1_000"]
    assert all(point in said for point, said in zip(points, log.refused.values(), strict=True))


@pytest.mark.parametrize(
    ("mark", "encoding", "said"),
    [
        pytest.param(b"\xff\xfe", "utf-16-le", "UTF-16 LE (its byte-order mark)", id="le-with-mark"),
        pytest.param(b"\xfe\xff", "utf-16-be", "UTF-16 BE (its byte-order mark)", id="be-with-mark"),
        pytest.param(b"", "utf-16-le", "UTF-16 LE (no mark, but NUL beside each letter)", id="le-without-mark"),
        pytest.param(b"", "utf-16-be", "UTF-16 BE (no mark, but NUL beside each letter)", id="be-without-mark"),
        pytest.param(b"\xef\xbb\xbf", "utf-8", "UTF-8 (its byte-order mark)", id="utf-8-with-mark"),
    ],
)
def test_every_unicode_encoding_gives_the_same_readings(read, mark, encoding, said):
    text = "seq\ttime\ttorque\tunit\r\n1\t2026-03-02 09:00:05\t24.9\tN·m\r\n\r\n2\t2026-03-02 09:00:21\t25.2\tN·m\r\n"

    log = read(mark + text.encode(encoding))

    assert log.torques == decimals("24.9", "25.2")
    assert [line for line, _ in log.rows] == [2, 4]
    assert f"encoding {said}" in log.told


@given(st.binary(max_size=60))
def test_any_bytes_of_a_utf_16_file_are_those_that_were_hashed_and_give_a_reading_or_a_reason(tmp_path_factory, noise):
    path = tmp_path_factory.mktemp("log") / "day.csv"
    path.write_bytes("torque,unit\n1,Nm\n".encode("utf-16") + noise)
    source = LogSource(path, StillClock(), 11)
    source.open()

    frames = list(source.rows())

    for frame in frames:
        # Anything else than a FrameError fails the test.
        with suppress(FrameError):
            assert decode_frame(source.wire_format, frame).torque is not None


def test_half_a_sign_at_the_end_of_utf_16_is_kept_and_unreadable(read):
    log = read("torque,unit\n24.9,Nm\n".encode("utf-16") + b"2")

    assert log.torques == decimals("24.9")
    assert [said.partition(":")[0] for said in log.refused.values()] == ["unreadable"]


def test_a_unit_in_cp1252_is_known_where_utf_8_fails_only_in_harmless_places(read):
    log = read(b"seq;torque;unit;angle;note \xb0\r\n1;24,9;N\xb7m;30\xb0;\r\n2;25,2;N\xb7m;31\xb0;gr\xfc\xdf\r\n")

    assert log.torques == decimals("24.9", "25.2")
    assert "encoding cp1252 (line 2 is not UTF-8, and such bytes stand only in units" in log.told


@pytest.mark.parametrize(
    "row", [pytest.param(b"1;W-\xfc;24,9;Nm\n", id="in-a-name"), pytest.param(b"1;W;24,9;Nm;\xb7\n", id="in-an-odd-row")]
)
def test_bytes_that_may_change_a_name_are_not_read_as_cp1252_unless_declared(read, row):
    rows = b"seq;wrench;torque;unit\n0;W;24,8;N\xb7m\n" + row

    undeclared, declared = read(rows), read(rows, LogLayout(encoding="cp1252"))

    assert undeclared.torques == []
    assert "rows that are not are unreadable, first line 2; --encoding cp1252 declares another" in undeclared.told
    assert Decimal("24.8") in declared.torques
    assert "encoding cp1252 (declared)" in declared.told


def test_one_row_of_noise_in_a_file_of_utf_8_does_not_change_its_encoding(read):
    log = read("seq,torque,unit\n1,24.9,N·m\n".encode() + b"2,25,N\xb7m\n")

    assert log.torques == decimals("24.9")
    assert list(log.refused) == [3]


def test_a_lost_letter_in_a_unit_is_set_aside(read):
    assert "lost a character" in read("torque,unit\n24.9,N\ufffdm\n".encode()).refused[2]


def test_two_ways_to_divide_a_header_are_settled_by_the_rows(read):
    log = read(b"torque,a;torque\n7;95.2\n8;96.2\n", LogLayout(unit="N·m"))

    assert log.torques == decimals("95.2", "96.2")
    assert "columns divided by semicolons" in log.told


def test_a_declared_delimiter_is_the_only_one_tried(read):
    with pytest.raises(SourceError, match="no column `torque` in its header, only `torque,unit`"):
        read(b"torque,unit\n95,Nm\n", LogLayout(delimiter=";"))


def test_declared_columns_go_before_those_that_are_known(read):
    layout = LogLayout(columns={"Drehmoment": "torque", "Schlüssel": "wrench", "value": None})

    log = read("value;Drehmoment;Schlüssel;unit\n7;24,6;W-1;Nm\n".encode(), layout)

    assert [(row.torque, row.wrench) for _, row in log.rows] == [("24.6", "W-1")]


def test_words_of_a_layout_take_the_place_of_the_usual_ones(read):
    layout = LogLayout(over_range=("HIGH",), no_reading=("none",), status={"B": "battery low", "": ""}, low_battery=("B",))

    log = read(b"torque,unit,flag\nHIGH,Nm,\nnone,Nm,\n24.9,Nm,B\n", layout)

    assert log.torques == [None, Decimal("24.9")]
    assert log.rows[2][1].battery_low
    assert "mark for no reading" in log.refused[3]


def test_leading_zeros_and_digits_of_names_stay_as_they_are(read):
    log = read(b'seq,tool,torque,unit\n1,0042,24.9,Nm\n2,42,25.0,Nm\n3,"0042",25.1,Nm\n4,12E5,25,Nm\n5,00000000000000017,25,Nm\n')

    assert [row.wrench for _, row in log.rows] == ["0042", "42", "0042", "12E5", "00000000000000017"]


def test_without_a_unit_every_row_is_set_aside_until_somebody_declares_it(read):
    rows = b"seq,torque\n1,25.0\n2,18.4\n"

    undeclared, declared = read(rows), read(rows, LogLayout(unit="lbf·ft"))

    assert [said.partition(",")[0] for said in undeclared.refused.values()] == ["set aside: no unit was sent"] * 2
    assert "every row is set aside until --unit declares it" in undeclared.told
    assert [row.unit for _, row in declared.rows] == ["lbf·ft"] * 2
    assert "unit lbf·ft (declared), for rows that state none" in declared.told


def test_a_declared_unit_goes_nowhere_where_a_row_states_its_own(read):
    log = read(b"torque,unit\n25,Nm\n18.4,lbf.ft\n26,\n25,km\n", LogLayout(unit="kgf·m"))

    assert [row.unit for _, row in log.rows[:3]] == ["N·m", "lbf·ft", "kgf·m"]
    assert "is a length" in log.refused[5]


def test_the_unit_is_that_of_each_row_and_its_changes_are_noted_for_each_wrench(read):
    log = read(
        b"# session unit: Nm\nseq,tool,torque,unit\n1,A,25.0,Nm\n2,B,18,lbf.ft\n3,A,18.4,lbf.ft\n4,B,18,lbf.ft\n"
        b"5,A,25,Nm\n6,A,25,9\n"
    )

    assert log.torques[2] == Decimal("24.94705024929776736")
    notes = [(line, row.notes) for line, row in log.rows if isinstance(row, Reading) and row.notes]
    assert [(line, note) for line, (note,) in notes] == [
        (5, "the unit changes here, from `Nm` to `lbf.ft`"), (7, "the unit changes here, from `lbf.ft` to `Nm`"),
    ]  # fmt: skip
    assert "unit `9` is not known" in log.refused[8]


def test_a_comment_that_is_no_header_is_passed_over_and_a_column_named_by_a_hash_is_one(read):
    assert read(b"# one\n#two\ntorque,unit\n25,Nm\n").torques == decimals("25")
    assert read(b"#,torque,unit\n1,25,Nm\n").torques == decimals("25")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["bare", "with-mark"])
def test_a_line_that_tells_a_spreadsheet_the_delimiter_is_no_header(read, mark):
    assert read(mark + b"sep=;\r\ntorque;unit\r\n24,6;Nm\r\n").torques == decimals("24.6")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_rows_of_delimiters_alone_are_blank(read, encoding):
    log = read("seq;torque;unit\n1;24,6;Nm\n;;\n ; ;\n;;\t\n2;24,7;Nm\n;25;Nm\n".encode(encoding))

    assert [line for line, _ in log.rows] == [2, 6, 7]
    assert log.torques == decimals("24.6", "24.7", "25")
    assert all("changes" not in str(row) for _, row in log.rows)


def test_rows_with_another_number_of_cells_are_counted_in_what_is_told(read):
    log = read(b"seq;torque;unit\n1;24,6;Nm\n2;24,7\n3;24,8;Nm;x\n")

    assert "(its header has known names so; 2 of 3 rows have another number of cells)" in log.told
    assert list(log.refused) == [3, 4]


def test_a_log_of_comments_alone_is_refused_by_its_names(read):
    with pytest.raises(SourceError, match="no column `torque` in its header, only `# session"):
        read(b"# session unit: Nm\n")


def test_a_run_of_nul_in_a_row_is_told_with_its_place_and_the_rows_around_it_are_read(read):
    data = b"seq,tool,torque,unit\n1,W,24.9,Nm\n3,W,25." + b"\0" * 64 + b"\n4,W,25.1,Nm\n"

    log = read(data)

    assert log.torques == decimals("24.9", "25.1")
    at = data.index(b"\0")
    assert log.refused[3].startswith(f"unreadable: damaged region, 64 bytes of NUL at offset {at} of the file")


def test_what_stands_behind_a_run_of_nul_is_kept_apart_and_never_counted(read):
    log = read(b"seq,tool,torque,unit\n3,W,25." + b"\0" * 8 + b"4,W,25.1,Nm\n5,W,25.2,Nm\n")

    assert log.torques == decimals("25.2")
    assert [(line, said.partition(":")[0]) for line, said in [(line, f"{row.fate}:") for line, row in log.rows[:2]]] == [
        (2, "unreadable"), (2, "set aside"),
    ]  # fmt: skip
    assert "stands behind a damaged region, 8 bytes" in log.refused[2]


def test_a_file_that_is_damaged_throughout_is_refused(read, monkeypatch):
    monkeypatch.setattr(log_evidence, "MOST_LINES", 3)

    with pytest.raises(SourceError, match="runs of NUL in more than 2 of its lines; copy it from the tool once more"):
        read(b"torque,unit\n" + b"95\0,Nm\n" * 3)


def test_nan_and_infinity_never_become_a_torque(read):
    log = read(b"seq,torque,unit\n1,nan,Nm\n2,inf,Nm\n3,-Infinity,Nm\n4,25.0,Nm\n")

    assert log.torques == decimals("25.0")
    assert all(row.fate is Fate.SET_ASIDE for _, row in log.rows[:3] if isinstance(row, FrameError))


def test_a_minus_may_stand_behind_and_a_trailing_one_with_a_decimal_comma_too(read):
    assert read(b"torque,unit\n-20.0,Nm\n20.0-,Nm\n").torques == decimals("-20.0", "-20.0")
    assert read(b"torque;unit\n-20,5;Nm\n20,5-;Nm\n-20,5-;Nm\n").torques == decimals("-20.5", "-20.5")


def test_text_that_a_spreadsheet_would_run_costs_no_reading(read):
    log = read(b'seq,joint,torque,unit,note\n1,"=1+1",25.0,Nm,"=HYPERLINK(""x"")"\n2,-J2,45.0,Nm,"@sum"\n3,J3,-20.0,Nm,"+ok"\n')

    assert log.torques == decimals("25.0", "45.0", "-20.0")


def test_a_low_battery_is_noted_and_the_value_counts(read):
    (_, row), = read(b"torque,unit,flag\n25.2,Nm,LB\n").rows

    assert (row.torque_nm, row.battery_low, row.notes) == (Decimal("25.2"), True, ("battery low",))


def test_a_row_longer_than_any_tool_sends_is_in_parts_and_the_rest_is_read(read):
    log = read(b"time,torque,unit\n14/03/2026 09:00,25,Nm\n" + b"x" * 300 + b"\n14/03/2026 09:01,26,Nm\n", longest=100)

    assert log.torques == decimals("25", "26")
    assert {row.fate for _, row in log.rows if isinstance(row, FrameError)} == {Fate.UNREADABLE}


def test_the_zone_is_one_of_the_things_told(read):
    layout = LogLayout(source="declared in shop.yaml", time=TimeRule(zone="+01:00"))

    log = read(b"time,torque,unit\n2026-03-02 09:00,25,Nm\n", layout)

    assert "zone +01:00 (declared in shop.yaml), assumed for times without an offset" in log.told


@pytest.mark.parametrize("unit", ["Nm\u2028", "N\u200bm", "\x1b[2J", "\u202eNm"], ids=["line", "unseen", "escape", "turned"])
def test_a_unit_that_is_told_breaks_no_line_and_hides_nothing(read, unit):
    log = read(f"torque,unit\n25,{unit}\n25,lbf.ft\n".encode())

    told = "".join(note for _, row in log.rows if isinstance(row, Reading) for note in row.notes)
    assert told.startswith("the unit changes here, from `")
    assert told.isprintable()
