"""A wire format says over which Bluetooth characteristics its wrench speaks."""

import pytest

from schemas.bluetooth import BleCharacteristics
from schemas.errors import PlanError
from schemas.wire_format_load import load_wire_format

LINE = "name: mine\nencoding: ascii\ndelimiter: ;\nfields: [torque, unit]\nlongest: 40\n"


def load(text):
    return load_wire_format((LINE + text).encode(), "mine.yaml").bluetooth


def test_without_a_word_it_is_the_common_pair():
    assert load("") == BleCharacteristics()


def test_uuids_may_be_short_and_what_is_asked_is_bytes():
    found = load("bluetooth: {service: FFF0, notify: fff1, write: 0000fff2-0000-1000-8000-00805f9b34fb, ask: 4D 45 4D 0D}\n")

    assert found == BleCharacteristics(
        "0000fff0-0000-1000-8000-00805f9b34fb",
        "0000fff1-0000-1000-8000-00805f9b34fb",
        "0000fff2-0000-1000-8000-00805f9b34fb",
        b"MEM\r",
    )


def test_what_is_no_uuid_is_named_with_its_line():
    with pytest.raises(PlanError) as error:
        load("bluetooth:\n  notify: fff\n")

    assert [(fault.line, "wants a UUID of 4, 8 or 32 hex digits" in str(fault)) for fault in error.value.faults] == [(7, True)]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("bluetooth:\n  notify: [fff1]\n", "`bluetooth.notify`: wants one text, not a list", id="uuid"),
        pytest.param("peaks: {rate_hz: 50, start_nm: 3, drop: [20 %]}\n", "`peaks.drop`: wants one share", id="share"),
        pytest.param("peaks: {rate_hz: [50], start_nm: 3, drop: 20 %}\n", "`peaks.rate_hz`: wants one number", id="number"),
    ],
)
def test_a_list_where_one_text_belongs_is_named(text, says):
    with pytest.raises(PlanError) as error:
        load(text)

    assert [says in str(fault) for fault in error.value.faults] == [True]
