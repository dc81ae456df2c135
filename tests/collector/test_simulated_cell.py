"""The column `simulated` of an exported table: a made-up row does not come back as a real one, on any of the ways in."""

import pytest

from collector.acquire.log_header import log_wire_format
from collector.decode import decode_frame
from collector.decode.simulated_cell import why_not_real
from schemas.errors import Fate, FrameError

SIMULATED = "is SIMULATED: made by a program, not by a wrench"
ANOTHER_WORD = "has another word than SIMULATED in its column `simulated`; empty that cell if a wrench made the row"


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        pytest.param("", None, id="empty-is-real"),
        pytest.param("SIMULATED", SIMULATED, id="as-exported"),
        pytest.param("simulated", SIMULATED, id="small-letters"),
        pytest.param("no", ANOTHER_WORD, id="another-word-is-not-guessed-at"),
        pytest.param("0", ANOTHER_WORD, id="nought"),
    ],
)
def test_only_an_empty_cell_is_taken_as_real(cell, reason):
    assert why_not_real(cell) == reason


def decode(floor, header, row):
    return decode_frame(log_wire_format(header, "day.csv", 100), floor.frame(row))


@pytest.mark.parametrize("torque", [b"25.0", b"OL", b"9.9E37", b"bad"])
def test_a_marked_row_of_a_log_is_set_aside_whatever_its_torque(floor, torque):
    with pytest.raises(FrameError, match=f"^{SIMULATED}$") as caught:
        decode(floor, b"seq,Simulated,torque,unit", b"1, SIMULATED ," + torque + b",Nm")
    assert caught.value.fate is Fate.SET_ASIDE


def test_a_row_without_the_mark_is_read_as_in_a_log_without_the_column(floor):
    plain = decode(floor, b"seq,torque,unit", b"1,25.0,Nm")

    assert decode(floor, b"seq,simulated,torque,unit", b"1,,25.0,Nm") == plain


def test_another_column_may_hold_the_word(floor):
    assert decode(floor, b"note,torque,unit", b"SIMULATED,25.0,Nm").torque == "25.0"
