"""What a number can be by each decimal mark, and that nothing else is read as one."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.log_number import number_forms


@pytest.mark.parametrize(
    ("text", "point", "comma"),
    [
        pytest.param("25", "25", "25", id="no-mark"),
        pytest.param("24.6", "24.6", None, id="only-point"),
        pytest.param("24,60", None, "24.60", id="only-comma"),
        pytest.param("1.234", "1.234", "1234", id="open"),
        pytest.param("1,234", "1234", "1.234", id="open-comma"),
        pytest.param("0.123", "0.123", None, id="no-group-begins-with-nought"),
        pytest.param("1234.567", "1234.567", None, id="no-group-of-four"),
        pytest.param("1.234,5", None, "1234.5", id="group-and-comma"),
        pytest.param("12,345,678.9", "12345678.9", None, id="groups-and-point"),
        pytest.param("1.234.567", None, "1234567", id="two-groups"),
        pytest.param("-1.234", "-1.234", "-1234", id="minus"),
        pytest.param("+24,6", None, "+24.6", id="plus"),
        pytest.param("24,6-", None, "-24.6", id="minus-behind"),
        pytest.param("1.2,3", None, None, id="malformed"),
        pytest.param("24.", None, None, id="nothing-behind"),
    ],
)
def test_a_number_reads_as_each_mark_that_fits(text, point, comma):
    forms = number_forms(text)

    assert forms == (point, comma)
    assert forms.is_open == (point != comma and None not in forms)
    assert forms.proves == ({(True, False): ".", (False, True): ","}.get((point is not None, comma is not None)))


@pytest.mark.parametrize("text", ["", "nan", "2,5e3", "-24,6-", "２５.4", "1_000", ".5", " 1", "1\n"])
def test_what_is_no_number_has_no_forms(text):
    assert number_forms(text) is None


@given(whole=st.integers(0, 10**9), part=st.text("0123456789", max_size=5), sign=st.sampled_from(["", "-"]))
def test_a_number_written_with_groups_is_read_by_its_own_mark(whole, part, sign):
    exact = Decimal(f"{sign}{whole}.{part or 0}")
    english = f"{sign}{whole:,}" + (f".{part}" if part else "")
    german = english.translate(str.maketrans(".,", ",."))

    point, comma = number_forms(english), number_forms(german)

    assert point is not None
    assert comma is not None
    assert Decimal(point.point or "nan") == exact
    assert Decimal(comma.comma or "nan") == exact
