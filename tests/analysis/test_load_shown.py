"""Torques in the joint's unit never change sides of an edge; raw bytes are shown as text only where they are text."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.load.shown import digits, raw_of_hex, set_to, torque_in_unit
from schemas.errors import RecordError
from schemas.plan.bands import band_of_limits
from schemas.plan.load import load_plan
from schemas.units import find_unit, to_nm

NM, FOOT = find_unit("N·m")[0], find_unit("lbf·ft")[0]


@pytest.mark.parametrize(
    ("sent", "unit", "into", "shown"),
    [
        # NIST Special Publication 811 (2008), B.8: 1 lbf·ft = 1.355 818 N·m
        pytest.param("100", "lbf·ft", "N·m", "135.58", id="to-newton-metres"),
        pytest.param("135.5818", "N·m", "lbf·ft", "100.0000", id="as-many-decimals-as-were-sent"),
        # the same table, B.8: 1 kgf·m = 9.806 65 N·m
        pytest.param("1", "kgf·m", "N·m", "9.81", id="kilogram-force"),
    ],
)
def test_a_torque_is_shown_in_the_joints_unit(sent: str, unit: str, into: str, shown: str) -> None:
    torque_nm = to_nm(Decimal(sent), find_unit(unit)[0])

    assert torque_in_unit(sent, torque_nm, find_unit(into)[0], None) == shown


def test_rounding_never_carries_a_value_onto_the_edge_that_it_missed() -> None:
    # 100 lbf·ft are 135.581 79… N·m, which is over, though two decimals would show the edge itself.
    band = band_of_limits(Decimal("120"), Decimal("135.58"), NM)

    shown = torque_in_unit("100", to_nm(Decimal(100), FOOT), NM, band)

    assert shown == "135.582"


@given(sent=st.decimals(min_value=1, max_value=300, places=1), at_low_edge=st.booleans())
def test_a_value_beside_an_edge_is_shown_on_its_own_side(sent: Decimal, at_low_edge: bool) -> None:
    torque_nm = to_nm(sent, FOOT)
    edge = round(torque_nm, 2)
    band = band_of_limits(edge, edge + 10, NM) if at_low_edge else band_of_limits(edge / 2, edge, NM)

    shown = Decimal(torque_in_unit(str(sent), torque_nm, NM, band))

    assert (shown < band.low, shown > band.high) == (torque_nm < band.low_nm, torque_nm > band.high_nm)


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        pytest.param("12,5 N·m".encode(), "12,5 N·m", id="utf-8"),
        pytest.param(b"12,5 N\xb7m", "12,5 N·m", id="latin-1"),
        pytest.param(b"1\t2", "1\t2", id="tab"),
        pytest.param(b"", "", id="empty"),
        pytest.param(b"\x00\xff", "00ff", id="nul-is-no-text"),
        pytest.param(b"\x93quoted\x94", b"\x93quoted\x94".hex(), id="control-range-of-latin-1-is-no-text"),
    ],
)
def test_raw_bytes_are_text_or_hex(raw: bytes, text: str) -> None:
    shown = raw_of_hex(raw.hex())

    assert (shown.text, shown.hex) == (text, raw.hex())


def test_raw_bytes_that_are_not_hex_are_named() -> None:
    with pytest.raises(RecordError, match="raw bytes that are not hex"):
        raw_of_hex("xyz")


@pytest.mark.parametrize(
    ("value", "text"),
    [pytest.param("90.0", "90", id="zeros"), pytest.param("100", "100", id="whole"), pytest.param("87.40", "87.4", id="one")],
)
def test_digits_drop_closing_zeros_behind_the_point_only(value: str, text: str) -> None:
    assert digits(Decimal(value)) == text


SET_TO = """\
plan: p
title: P
revision: "1"
source: Shop sheet
unit: {unit}
tolerance: 10 %
small_drag: {small}
joints:
  - {{id: a, name: A, fasteners: 1, torque: 100, nut: prevailing, drag: measured{adapter}{angle}}}
"""
ADAPTER = ", adapter: {length: 50 mm, angle: 0}"


@pytest.mark.parametrize(
    ("plan", "length", "drag", "shown"),
    [
        # FAA AC 43.13-1B, 7-40 (read): setting = T · L / (L + E); 100 · 400 / 450 = 88.888… of the torque's unit.
        pytest.param({"adapter": ADAPTER}, "400", None, "88.89", id="lever"),
        pytest.param({"adapter": ADAPTER}, "400", "10", "97.78", id="lever-and-drag"),
        pytest.param({}, "400", "10", "110.00", id="drag"),
        pytest.param({}, None, None, None, id="neither"),
        pytest.param({"small": "leave out below a third"}, None, "33.3", None, id="drag-below-a-third"),
        pytest.param({"small": "leave out below a third"}, None, "33.4", "133.40", id="drag-of-a-third"),
        pytest.param({"adapter": ADAPTER}, None, None, None, id="no-length"),
        pytest.param({"adapter": ADAPTER.replace("}", ", corrected_by: wrench}")}, "400", None, None, id="the-wrench-itself"),
        pytest.param({"adapter": ADAPTER.replace("angle: 0", "angle: 90")}, "400", None, None, id="right-angle"),
        # The pound, the foot and gravity are exact (NIST SP 811, 2008, B.8), so a lever leaves the same digits.
        pytest.param({"adapter": ADAPTER, "unit": "lbf·ft"}, "400", None, "88.89", id="another-unit"),
    ],
)
def test_what_the_wrench_has_to_show_is_worked_out_for_lever_and_drag(plan, length, drag, shown) -> None:
    text = SET_TO.format(**{"unit": "N·m", "small": "add", "adapter": "", "angle": "", **plan})
    (joint,) = load_plan(text.encode(), "p.yaml").joints

    assert set_to(joint, joint.stages[0], length, drag) == shown


def test_an_angle_is_turned_and_not_set() -> None:
    text = SET_TO.format(unit="N·m", small="add", adapter=ADAPTER, angle=", then_angle: 90, angle_tolerance: 10")
    (joint,) = load_plan(text.encode(), "p.yaml").joints

    assert set_to(joint, joint.stages[1], "400", None) is None
