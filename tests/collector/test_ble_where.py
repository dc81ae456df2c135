"""Which Bluetooth wrench is meant."""

import pytest

from collector.acquire.ble_where import BleWhere, Nearby, ble_where
from schemas.bluetooth import SERIAL_SERVICE, full_uuid
from schemas.errors import SourceError, SourceReason

WRENCH = Nearby("C0:FF:EE:00:53:01", "WRENCH-1", (SERIAL_SERVICE,), -50)


@pytest.mark.parametrize(
    ("text", "where"),
    [
        pytest.param("WRENCH-1", BleWhere(name="WRENCH-1"), id="name"),
        pytest.param("Torque 12:30", BleWhere(name="Torque 12:30"), id="name-with-colon-and-space"),
        pytest.param("c0:ff:ee:00:53:01", BleWhere(address="C0:FF:EE:00:53:01"), id="address"),
        pytest.param("C0:FF:EE:00:53", BleWhere(name="C0:FF:EE:00:53"), id="five-bytes-are-a-name"),
        pytest.param(f"service={SERIAL_SERVICE.upper()}", BleWhere(service=SERIAL_SERVICE), id="service"),
        pytest.param("service=FFF0", BleWhere(service="0000fff0-0000-1000-8000-00805f9b34fb"), id="short-service"),
    ],
)
def test_what_stands_after_ble_is_a_name_an_address_or_a_service(text, where):
    assert ble_where(text) == where


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("", "`ble:` names no wrench; give its name or its address after it", id="nothing"),
        pytest.param("  ", "`ble:` names no wrench", id="spaces"),
        pytest.param("service=", "`ble:service=` names no service; give a UUID such as service=6e400001-", id="no-uuid"),
        pytest.param("service=fff", "`ble:service=fff` names no service", id="three-digits"),
    ],
)
def test_what_names_no_wrench_is_refused(text, said):
    with pytest.raises(SourceError) as caught:
        ble_where(text)

    assert said in str(caught.value)
    assert caught.value.reason is SourceReason.NOT_READABLE


@pytest.mark.parametrize(
    ("where", "fits"),
    [
        pytest.param(BleWhere(name="WRENCH-1"), True, id="name"),
        pytest.param(BleWhere(name="WRENCH"), False, id="beginning-of-the-name"),
        pytest.param(BleWhere(name="wrench-1"), False, id="name-in-small-letters"),
        pytest.param(BleWhere(address="C0:FF:EE:00:53:01"), True, id="address"),
        pytest.param(BleWhere(address="C0:FF:EE:00:53:02"), False, id="another-address"),
        pytest.param(BleWhere("WRENCH-1", "C0:FF:EE:00:53:02"), False, id="same-name-at-another-address"),
        pytest.param(BleWhere(service=SERIAL_SERVICE), True, id="service"),
        pytest.param(BleWhere(service="0000fff0-0000-1000-8000-00805f9b34fb"), False, id="another-service"),
    ],
)
def test_device_fits_exactly_or_not_at_all(where, fits):
    assert where.fits(WRENCH) is fits


@pytest.mark.parametrize(
    ("text", "uuid"),
    [
        # The base that short numbers stand on: Bluetooth Core Specification, volume 3, part B, 2.5.1.
        pytest.param("2A19", "00002a19-0000-1000-8000-00805f9b34fb", id="four-digits"),
        pytest.param("0000180F", "0000180f-0000-1000-8000-00805f9b34fb", id="eight-digits"),
        pytest.param(f" {SERIAL_SERVICE.upper()} ", SERIAL_SERVICE, id="whole"),
        pytest.param("6e400001b5a3f393e0a9e50e24dcca9e", None, id="without-hyphens"),
        pytest.param("xyz1", None, id="no-hex"),
    ],
)
def test_uuid_has_one_full_form(text, uuid):
    assert full_uuid(text) == uuid
