"""What bleak and the system say about Bluetooth, as one line and a kind of trouble."""

import pytest
from bleak.exc import BleakBluetoothNotAvailableError, BleakBluetoothNotAvailableReason, BleakDBusError, BleakError
from bleak.exc import BleakGATTProtocolError as BleakAttError

from collector.acquire.ble_error import BleTrouble, ble_error, not_seen
from collector.acquire.ble_where import BleWhere, Nearby
from schemas.errors import SourceReason

DBUS = "org.freedesktop.DBus.Error."
BLUEZ = "org.bluez.Error."


def unavailable(reason):
    return BleakBluetoothNotAvailableError("not available", reason)


# Seen with bleak 3.1 and BlueZ 5.66 where they are D-Bus errors; the codes are those of the Bluetooth Core Specification,
# volume 3, part F, 3.4.1.1.
@pytest.mark.parametrize(
    ("error", "trouble", "reason"),
    [
        pytest.param(FileNotFoundError(2, "No such file"), BleTrouble.NO_SERVICE, SourceReason.MISSING, id="no-bus"),
        pytest.param(ConnectionRefusedError(111, "refused"), BleTrouble.NO_SERVICE, SourceReason.MISSING, id="dead-bus"),
        pytest.param(EOFError(), BleTrouble.NO_SERVICE, SourceReason.MISSING, id="bus-ended"),
        pytest.param(
            BleakDBusError(f"{DBUS}ServiceUnknown", ["x"]), BleTrouble.NO_SERVICE, SourceReason.MISSING, id="no-service"
        ),
        pytest.param(
            BleakDBusError(f"{DBUS}Spawn.ChildExited", ["x"]), BleTrouble.NO_SERVICE, SourceReason.MISSING, id="service-dies"
        ),
        pytest.param(BleakDBusError(f"{DBUS}AccessDenied", ["x"]), BleTrouble.DENIED, SourceReason.PERMISSION, id="denied"),
        pytest.param(
            unavailable(BleakBluetoothNotAvailableReason.DENIED_BY_USER), BleTrouble.DENIED, SourceReason.PERMISSION, id="by-user"
        ),
        pytest.param(
            unavailable(BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE),
            BleTrouble.NO_ADAPTER, SourceReason.MISSING, id="old-adapter",
        ),
        pytest.param(
            BleakDBusError(f"{BLUEZ}Failed", ["Input/output error"]), BleTrouble.OFF, SourceReason.MISSING, id="connect-while-off"
        ),
        pytest.param(BleakDBusError(f"{BLUEZ}NotReady", ["x"]), BleTrouble.OFF, SourceReason.MISSING, id="search-while-off"),
        pytest.param(
            BleakDBusError(f"{BLUEZ}AuthenticationRejected", ["x"]), BleTrouble.PAIRING, SourceReason.PERMISSION, id="rejected"
        ),
        pytest.param(BleakAttError(0x05), BleTrouble.PAIRING, SourceReason.PERMISSION, id="insufficient-authentication"),
        pytest.param(BleakAttError(0x0F), BleTrouble.PAIRING, SourceReason.PERMISSION, id="insufficient-encryption"),
        pytest.param(BleakAttError(0x0E), BleTrouble.FAULT, SourceReason.NOT_READABLE, id="unlikely-error"),
        pytest.param(TimeoutError(), BleTrouble.NO_ANSWER, SourceReason.MISSING, id="time-out"),
        pytest.param(BleakError("failed to discover\nservices"), BleTrouble.FAULT, SourceReason.NOT_READABLE, id="anything-else"),
    ],
)  # fmt: skip
def test_every_fault_is_one_line_of_its_kind(error, trouble, reason):
    told = ble_error(BleWhere(name="WRENCH-1"), error)

    assert (told.trouble, told.reason) == (trouble, reason)
    assert len(str(told).splitlines()) == 1
    assert ";" in str(told)


def test_list_of_what_was_seen_instead_is_short_and_names_come_first():
    nearby = [Nearby(f"C0:FF:EE:00:53:1{n}", "", (), -40) for n in range(4)]
    nearby += [Nearby("C0:FF:EE:00:53:20", "SCALE-FAR", (), -90), Nearby("C0:FF:EE:00:53:21", "SCALE-NEAR", (), -50)]

    told = str(not_seen(BleWhere(name="WRENCH-1"), 10, nearby))

    assert "was not seen in 10 s" in told
    assert told.endswith(
        "seen instead: SCALE-NEAR (C0:FF:EE:00:53:21), SCALE-FAR (C0:FF:EE:00:53:20),"
        " C0:FF:EE:00:53:10, C0:FF:EE:00:53:11, C0:FF:EE:00:53:12 and 1 more"
    )
