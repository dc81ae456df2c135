"""A readings log in a workbook: every cell as it is stored, nothing guessed of a number where a name or a date should stand."""

import json
import zipfile
from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from collector.acquire import log_sheet
from collector.acquire.log_file import LogSource
from collector.decode import decode_frame
from schemas.errors import FrameError, SourceError
from schemas.frame import Frame, Reading
from schemas.log_layout import LogLayout
from schemas.log_time import TimeRule

HEADER = ("seq", "time", "tool", "torque", "unit")


class StillClock:
    def now(self) -> datetime:
        return datetime(2026, 11, 2, 9, tzinfo=UTC)

    def monotonic_ns(self) -> int:
        return 7


def book(*rows: tuple[object, ...], header: tuple[str, ...] = HEADER) -> Workbook:
    made = Workbook()
    for row in (header, *rows):
        made.active.append(list(row))
    return made


@pytest.fixture(name="opened")
def _opened(tmp_path: Path):
    def opened(made: Workbook | bytes, layout: LogLayout | None = None, longest: int = 4096) -> LogSource:
        path = tmp_path / "day.xlsx"
        if isinstance(made, bytes):
            path.write_bytes(made)
        else:
            made.save(path)
        source = LogSource(path, StillClock(), longest, layout or LogLayout())
        source.open()
        return source

    return opened


def decoded(source: LogSource) -> list[Reading | str]:
    return [_one(source, frame) for frame in source.rows()]


def _one(source: LogSource, frame: Frame) -> Reading | str:
    try:
        return decode_frame(source.wire_format, frame)
    except FrameError as error:
        return f"{error.fate}: {error}"


def test_rows_are_read_with_their_lines_and_kept_as_their_cells(opened):
    at = datetime(2026, 3, 2, 9, 0, 5)  # noqa: DTZ001
    source = opened(book((1, at, "W-01", 24.9, "Nm"), (), (2, "2026-03-02 09:00:21", "W-01", "25,1", "Nm", None)))

    frames = list(source.rows())

    assert [(frame.line, json.loads(frame.raw)) for frame in frames] == [
        (2, [1, {"date": "2026-03-02T09:00:05"}, "W-01", 24.9, "Nm"]), (4, [2, "2026-03-02 09:00:21", "W-01", "25,1", "Nm"]),
    ]  # fmt: skip
    first, second = decoded(source)
    assert isinstance(first, Reading)
    assert isinstance(second, Reading)
    assert (first.torque_nm, first.wrench, first.sequence, first.tool_time) == (Decimal("24.9"), "W-01", 1, "2026-03-02T09:00:05")
    assert second.torque_nm == Decimal("25.1")
    assert source.told[0].what == "workbook, sheet `Sheet`"


def test_a_zone_places_dates_of_cells(opened):
    source = opened(book((1, datetime(2026, 3, 2, 9, 0, 5), "W", 24.9, "Nm")), LogLayout(time=TimeRule(zone="+01:00")))  # noqa: DTZ001

    (one,) = decoded(source)

    assert isinstance(one, Reading)
    assert one.pulled_at == "2026-03-02T09:00:05+01:00"


def test_days_are_counted_by_the_workbooks_own_calendar_and_a_bare_number_is_no_date(opened):
    made = book((1, None, "W", 24.9, "Nm"), (2, 44621, "W", 25, "Nm"))
    made.epoch = CALENDAR_MAC_1904
    made.active["B2"] = datetime(2026, 3, 2, 9, 0)  # noqa: DTZ001

    first, second = decoded(opened(made))

    assert isinstance(first, Reading)
    assert isinstance(second, Reading)
    assert first.tool_time == "2026-03-02T09:00:00"
    assert (second.torque_nm, second.pulled_at) == (Decimal(25), "unknown")
    assert "time `44621` is none in the form" in second.notes[0]


def test_a_name_typed_as_text_keeps_its_zeros_and_a_number_in_its_place_is_set_aside(opened):
    text, number = decoded(opened(book((1, None, "0042", 24.9, "Nm"), (2, None, 42, 25, "Nm"))))

    assert isinstance(text, Reading)
    assert text.wrench == "0042"
    assert number == (
        "set aside: the cell of `wrench` (column 3) holds the number 42, and leading zeros of a name are lost in a number; "
        "write it as text in the workbook"
    )


def test_a_number_cell_has_no_decimal_mark_and_a_text_cell_that_is_open_is_set_aside(opened):
    cells = [(n, None, "W", cell, "Nm") for n, cell in enumerate((1.234, 24.9, "1.234"))]

    number, _, text = decoded(opened(book(*cells)))

    assert isinstance(number, Reading)
    assert number.torque_nm == Decimal("1.234")
    assert "can be 1.234 or 1234" in str(text)


def with_results(made: Workbook, *results: str) -> bytes:
    """The workbook's bytes with a stored result for each formula, as a spreadsheet writes them."""
    buffer, out = BytesIO(), BytesIO()
    made.save(buffer)
    with zipfile.ZipFile(buffer) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            for result in results if name.endswith("sheet1.xml") else ():
                part = part.replace(b"<v></v>", f"<v>{result}</v>".encode(), 1).replace(b"<v />", f"<v>{result}</v>".encode(), 1)
            new.writestr(name, part)
    return out.getvalue()


def test_a_whole_number_is_one_however_the_workbook_writes_it(opened):
    number = with_results(book(("=3+4", None, "W", 25, "Nm")), "7.0")

    (reading,) = decoded(opened(number))

    assert isinstance(reading, Reading)
    assert (reading.sequence, reading.torque) == (7, "25")


def test_a_formula_counts_by_its_stored_result_and_without_one_is_set_aside(opened):
    made = book((1, None, "W", "=20+4.9", "Nm"), (2, None, "W", 25, "Nm"), (3, None, "W", "=1/7", "Nm"))

    first, plain, last = decoded(opened(with_results(made, "24.9")))

    assert isinstance(first, Reading)
    assert isinstance(plain, Reading)
    assert (first.torque_nm, first.notes) == (Decimal("24.9"), ("the cell of `torque` (column 4) is the result of a formula",))
    assert plain.notes == ()
    assert "holds a formula without a stored result; open the workbook, save it, and import it again" in str(last)


def test_a_formula_in_a_row_that_holds_nothing_else_is_set_aside(opened):
    *_, last = decoded(opened(book((25, "Nm"), ("=A2", None), header=("torque", "unit"))))

    assert "without a stored result" in str(last)


def test_the_order_of_numbers_and_a_unit_that_changes_are_looked_at_too(opened):
    times = ["2026-03-02 09:05", "2026-03-02 09:01", "2026-03-02 09:06"]
    rows = [(n, time, "W", 25, unit) for n, time, unit in zip((1, 2, 3), times, ("Nm", "Nm", "lbf.ft"), strict=True)]

    readings = decoded(opened(book(*rows, ("x", None, "W", 25, "lbf.ft"))))

    notes = [one.notes for one in readings if isinstance(one, Reading)]
    assert notes[0] == ()
    assert "clock set back: number 2" in notes[1][0]
    assert "the unit changes here" in notes[2][0]


def test_the_sheet_with_a_torque_column_is_read_and_two_of_them_are_refused(opened):
    made = book((25, "Nm"), header=("torque", "unit"))
    made.create_sheet("Notes", 0).append(["what", "who"])
    made.create_sheet("Nothing", 0)
    assert len(decoded(opened(made))) == 1

    made.create_sheet("More").append(["torque"])
    with pytest.raises(SourceError, match="readings on the sheets `Sheet` and `More`, and one is read"):
        opened(made)


@pytest.mark.parametrize(
    ("made", "says"),
    [
        pytest.param(b"torque,unit\n1,Nm\n", "is no XLSX workbook", id="no-workbook"),
        pytest.param(Workbook(), "holds no rows; choose", id="empty"),
        pytest.param(book(), "holds no rows under its header", id="header-alone"),
        pytest.param(book(("x",), header=("what",)), "has no column `torque` in its header, only `what`", id="no-torque"),
        pytest.param(book((1, 2), header=("torque", "peak")), "`torque` twice: columns 1 .* and 2", id="torque-twice"),
    ],
)
def test_a_workbook_that_is_no_log_is_refused_in_one_line(opened, made, says):
    with pytest.raises(SourceError, match=rf"^log `day\.xlsx` .*{says}") as caught:
        opened(made)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("limit", "says"), [("LARGEST_BYTES", "is larger than"), ("LARGEST_UNPACKED_BYTES", "unpacks to more than")]
)
def test_a_workbook_that_cannot_be_held_is_refused(opened, monkeypatch, limit, says):
    monkeypatch.setattr(log_sheet, limit, 100)

    with pytest.raises(SourceError, match=says):
        opened(book((25, "Nm"), header=("torque", "unit")))


def test_rows_that_are_too_long_or_have_cells_beyond_the_header_are_unreadable(opened):
    made = book((25, "Nm"), (25, "Nm", "x"), (25, "Nm" * 50), (26, "Nm"), header=("torque", "unit"))

    readings = decoded(opened(made, longest=60))

    assert [isinstance(one, Reading) for one in readings] == [True, False, False, True]
    assert readings[1] == "unreadable: 3 cells under a header of 2"
    assert "longer than the format allows" in str(readings[2])


def test_cells_that_hold_a_truth_value_or_a_time_of_day_are_words(opened):
    made = book((1, None, "W", True, "Nm"), (2, datetime(2026, 3, 2, 9).time(), "W", 25, "Nm"))  # noqa: DTZ001

    truth, time = decoded(opened(made))

    assert "torque `True`" in str(truth)
    assert isinstance(time, Reading)
    assert time.tool_time == "09:00:00"


def test_columns_that_are_not_read_and_a_unit_that_is_declared(opened):
    made = book(("x", 25.5, None), ("y", 26, "Nm"), header=("note", "torque", "unit"))

    readings = decoded(opened(made, LogLayout(unit="lbf·ft")))

    assert [one.unit for one in readings if isinstance(one, Reading)] == ["lbf·ft", "N·m"]


def test_the_very_bytes_of_the_workbook_are_hashed_and_compared(opened, tmp_path):
    source = opened(book((25, "Nm"), header=("torque", "unit")))

    assert len(list(source.rows())) == 1
    assert len(source.sha256) == 64
