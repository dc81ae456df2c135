"""Typed lines: what another keyboard layout makes of them is set aside with a hint, and nothing else is changed by that.

The first two cases are those of reports of readers that type: an apostrophe for a hyphen on an Italian layout (morovia.com,
knowledge base 10604), a Cyrillic letter for the point on a Russian one (comedicus.uzhi.ru, item 20352417); values made up.
"""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from collector.decode.frame import decode_frame
from collector.decode.typed import HINT, decode_typed
from schemas.errors import Fate, FrameError
from schemas.frame import Frame
from schemas.wire_format import WireFormat

PLAIN = WireFormat("typed", "ascii", " ", ("wrench", "torque"), 60, unit="N·m")
UTF_8 = replace(PLAIN, encoding="utf-8")
WITH_TIME = WireFormat("typed", "ascii", ";", ("wrench", "torque", "tool_time"), 60, unit="N·m", no_reading=("----",))


def frame(text: str, **marks: bool) -> Frame:
    return Frame("keys:", text.encode(), datetime(2026, 3, 2, tzinfo=UTC), 1, **marks)


def refused(wire: WireFormat, one: Frame) -> FrameError:
    with pytest.raises(FrameError) as caught:
        decode_typed(wire, one)
    return caught.value


@pytest.mark.parametrize(
    ("wire", "line"),
    [
        pytest.param(PLAIN, "J-01 24ю9", id="cyrillic-letter-for-the-point"),
        pytest.param(UTF_8, "J-01 24ю9", id="cyrillic-letter-that-the-format-can-hold"),
        pytest.param(PLAIN, "J'02 25.1", id="apostrophe-in-the-id"),
        pytest.param(PLAIN, "J-02 25'1", id="apostrophe-in-the-number"),
        pytest.param(PLAIN, "J-02 2l.1", id="letter-in-the-number"),
        pytest.param(PLAIN, "J-02 24,9", id="the-other-decimal-mark"),
        pytest.param(replace(PLAIN, decimal_mark=","), "J-02 24.9", id="the-other-decimal-mark-the-other-way"),
        pytest.param(PLAIN, "J)à& éç.&", id="french-top-row"),
        pytest.param(PLAIN, "&& &&", id="a-row-of-shifted-digits"),
        pytest.param(UTF_8, "Jß02 25.1", id="german-sign-for-the-hyphen-in-the-id"),
    ],
)
def test_signs_of_another_layout_are_set_aside_with_a_hint(wire, line):
    error = refused(wire, frame(line))

    assert error.fate is Fate.SET_ASIDE
    assert str(error).endswith(HINT)
    assert not error.is_usual


def test_a_typed_line_that_fits_is_a_reading():
    reading = decode_typed(PLAIN, frame("J-03 24.9"))

    assert (reading.wrench, reading.torque_nm) == ("J-03", Decimal("24.9"))


@pytest.mark.parametrize(
    ("wire", "line"),
    [
        pytest.param(PLAIN, "J-03", id="a-field-is-missing"),
        pytest.param(WITH_TIME, "J-03;24.9;2026-03-02T08:15:30+01:00;x", id="a-field-too-many-beside-a-time"),
        pytest.param(WITH_TIME, "J-03;----;2026-03-02T08:15:30+01:00", id="a-mark-of-the-format"),
        pytest.param(replace(PLAIN, others={"%": "start"}), "%boot 1", id="a-record-of-another-kind"),
    ],
)
def test_what_is_wrong_for_another_reason_keeps_its_reason_alone(wire, line):
    with pytest.raises(FrameError) as caught:
        decode_frame(wire, frame(line))

    error = refused(wire, frame(line))

    assert (str(error), error.fate, error.is_usual) == (str(caught.value), caught.value.fate, caught.value.is_usual)


@pytest.mark.parametrize("mark", ["cut", "overlong"])
def test_part_of_a_line_says_nothing_of_the_layout(mark):
    error = refused(PLAIN, frame("J'02 25", **{mark: True}))

    assert error.fate is Fate.UNREADABLE
    assert HINT not in str(error)


def test_signs_that_are_the_formats_own_are_no_mismatch():
    quoted = WireFormat("typed", "utf-8", "'", ("wrench", "torque", "unit"), 60)

    assert decode_typed(quoted, frame("J-03'24.9'N·m")).torque == "24.9"
