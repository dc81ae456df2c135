"""How peaks are picked from samples is declared in the wire format, and what cannot be is refused with line and field."""

from decimal import Decimal

import pytest

from schemas.errors import PlanError
from schemas.wire_format import Peaks
from schemas.wire_format_load import load_wire_format

SAMPLED = """\
name: made
encoding: ascii
delimiter: ";"
fields: [torque, unit]
longest: 40
peaks: {rate_hz: 50, start_nm: 2.5, drop: 20 %, enough_hz: 200}
"""


def put(old: str, new: str) -> str:
    assert old in SAMPLED
    return SAMPLED.replace(old, new)


def test_a_format_says_how_peaks_are_picked() -> None:
    peaks = load_wire_format(SAMPLED.encode(), "made.yaml").peaks

    assert peaks == Peaks(Decimal(50), Decimal("2.5"), Decimal(20), Decimal(200))


def test_a_rate_that_is_enough_need_not_be_declared() -> None:
    peaks = load_wire_format(put(", enough_hz: 200", "").encode(), "made.yaml").peaks

    assert peaks is not None
    assert peaks.enough_hz is None


def test_a_format_that_says_nothing_of_samples_picks_none() -> None:
    text = put("peaks: {rate_hz: 50, start_nm: 2.5, drop: 20 %, enough_hz: 200}\n", "")

    assert load_wire_format(text.encode(), "made.yaml").peaks is None


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        pytest.param(put("rate_hz: 50, ", ""), "line 6, `peaks.rate_hz`: is missing; write it", id="no-rate"),
        pytest.param(put("start_nm: 2.5, ", ""), "line 6, `peaks.start_nm`: is missing; write it", id="no-start"),
        pytest.param(put(", drop: 20 %", ""), "line 6, `peaks.drop`: is missing; write it", id="no-drop"),
        pytest.param(
            put("rate_hz: 50", "rate_hz: 0"),
            "line 6, `peaks.rate_hz`: `0` is not right: wants plain digits above 0, such as 0.1",
            id="rate-of-nothing",
        ),
        pytest.param(
            put("2.5", "-2.5"), "line 6, `peaks.start_nm`: `-2.5` is not right: wants plain digits above 0", id="below-nothing"
        ),
        pytest.param(
            put("20 %", "0.2"),
            "line 6, `peaks.drop`: `0.2` is not right: wants a whole share from 1 % to 99 %, such as 20 %",
            id="drop-without-percent",
        ),
        pytest.param(put("20 %", "0 %"), "line 6, `peaks.drop`: `0 %` is not right: wants a whole share", id="no-drop-at-all"),
        pytest.param(put("20 %", "100 %"), "line 6, `peaks.drop`: `100 %` is not right: wants a whole share", id="whole-drop"),
        pytest.param(
            put("rate_hz", "rate"),
            "line 6, `peaks.rate`: `50` is not right: is not known here; the fields are rate_hz, start_nm, drop, enough_hz",
            id="unknown",
        ),
        pytest.param(
            put("[torque, unit]", "[torque, unit, kind]") + "peak: [P]\nlive: [L]\n",
            "line 6, `peaks`: is for a tool that marks no peaks",
            id="kind-in-the-record",
        ),
        pytest.param(
            put("[torque, unit]", "[torque, unit, status]") + "live: [L]\n",
            "line 6, `peaks`: is for a tool that marks no peaks",
            id="live-in-the-status",
        ),
        pytest.param(
            SAMPLED + "measures: click\n", "line 6, `peaks`: gives the highest value of a pull", id="measures-something-else"
        ),
        pytest.param(
            put("[torque, unit]", "[torque, unit, measures]") + "measures_codes: {1: highest}\n",
            "line 6, `peaks`: gives the highest value of a pull",
            id="measures-by-the-record",
        ),
    ],
)
def test_what_cannot_be_is_refused(text: str, fault: str) -> None:
    with pytest.raises(PlanError, match=r"^made\.yaml, line ") as caught:
        load_wire_format(text.encode(), "made.yaml")

    assert any(str(one).startswith(fault) for one in caught.value.faults), caught.value


def test_the_highest_value_may_be_named_as_what_it_measures() -> None:
    assert load_wire_format((SAMPLED + "measures: highest\n").encode(), "made.yaml").peaks is not None
