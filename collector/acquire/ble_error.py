"""Turns what bleak and the system say about Bluetooth into one line that says what to do next."""

import sys
from collections.abc import Iterable
from enum import StrEnum

from collector.acquire.ble_where import BleWhere, Nearby
from schemas.errors import SourceError, SourceReason

_SHOWN_DEVICES = 5


class BleTrouble(StrEnum):
    """Why a Bluetooth wrench gives nothing, by what has to be done about it."""

    NO_SERVICE = "no Bluetooth service"
    NO_ADAPTER = "no adapter"
    OFF = "switched off"
    DENIED = "denied"
    NOT_SEEN = "not seen"
    SEVERAL = "several"
    NO_ANSWER = "no answer"
    PAIRING = "pairing"
    HELD = "held by another program"
    NOT_SUCH = "no such characteristic"
    FAULT = "fault"


_REASONS = {
    BleTrouble.DENIED: SourceReason.PERMISSION,
    BleTrouble.PAIRING: SourceReason.PERMISSION,
    BleTrouble.HELD: SourceReason.BUSY,
    BleTrouble.SEVERAL: SourceReason.NOT_READABLE,
    BleTrouble.NOT_SUCH: SourceReason.NOT_READABLE,
    BleTrouble.FAULT: SourceReason.NOT_READABLE,
}
_WORDS = {
    BleTrouble.NO_SERVICE: "the Bluetooth service of this computer does not answer; start it (on Linux mostly"
    " `systemctl start bluetooth`)",
    BleTrouble.NO_ADAPTER: "this computer has no Bluetooth adapter for such wrenches; plug one in",
    BleTrouble.OFF: "Bluetooth is switched off; switch it on (on Linux `bluetoothctl power on`)",
    BleTrouble.DENIED: "you may not use Bluetooth on this computer; ask whoever looks after it",
    BleTrouble.NO_ANSWER: "does not answer; wake it, bring it near, end its connection to a phone or another computer,"
    " and pair it if it asks for that",
    BleTrouble.PAIRING: "wants to be paired first; pair it once in the system's settings (on Linux"
    " `bluetoothctl pair` with its address)",
    BleTrouble.HELD: "is in use by another program on this computer; close that program",
}
# The parts of the machine, and no wrench, are what these are about.
_ABOUT_US = (BleTrouble.NO_SERVICE, BleTrouble.NO_ADAPTER, BleTrouble.OFF, BleTrouble.DENIED)

# Names of D-Bus errors as BlueZ and the bus give them.
_BY_NAME = {
    "org.freedesktop.DBus.Error.ServiceUnknown": BleTrouble.NO_SERVICE,
    "org.freedesktop.DBus.Error.NameHasNoOwner": BleTrouble.NO_SERVICE,
    "org.freedesktop.DBus.Error.NoReply": BleTrouble.NO_SERVICE,
    "org.freedesktop.DBus.Error.AccessDenied": BleTrouble.DENIED,
    "org.bluez.Error.NotReady": BleTrouble.OFF,
    "org.bluez.Error.AuthenticationFailed": BleTrouble.PAIRING,
    "org.bluez.Error.AuthenticationCanceled": BleTrouble.PAIRING,
    "org.bluez.Error.AuthenticationRejected": BleTrouble.PAIRING,
    "org.bluez.Error.AuthenticationTimeout": BleTrouble.PAIRING,
    "org.bluez.Error.NotAuthorized": BleTrouble.PAIRING,
    "org.bluez.Error.NotPermitted": BleTrouble.PAIRING,
}
_SPAWN = "org.freedesktop.DBus.Error.Spawn."
_OFF_TEXT = "Input/output error"  # what BlueZ 5.66 says to Connect where the adapter is off
# ATT error codes, Bluetooth Core Specification, volume 3, part F, 3.4.1.1: authentication, authorization, key size, encryption.
_PAIRING_CODES = (0x05, 0x08, 0x0C, 0x0F)


class BleError(SourceError):
    """A Bluetooth wrench cannot be reached; its text is one line, `trouble` says of which kind."""

    def __init__(self, message: str, trouble: BleTrouble) -> None:
        super().__init__(message, _REASONS.get(trouble, SourceReason.MISSING))
        self.trouble = trouble


def ble_faults() -> tuple[type[Exception], ...]:
    """What bleak lets through when a link, the adapter, the service or the message bus fails (bleak 3.1, BlueZ 5.66)."""
    from bleak.exc import BleakError

    # A time-out is an OSError, and so are a bus that is not there and one that refuses.
    faults: tuple[type[Exception], ...] = (BleakError, OSError, EOFError)
    if sys.platform == "linux":
        from dbus_fast.errors import AuthError, DBusError

        faults = (*faults, AuthError, DBusError)
    return faults


def trouble_error(where: BleWhere | str, trouble: BleTrouble, detail: str = "") -> BleError:
    """The one line for a kind of trouble; `detail` stands in where a kind has no words of its own."""
    if trouble in _ABOUT_US:
        return BleError(_WORDS[trouble], trouble)
    return BleError(f"wrench `{where}` {_WORDS.get(trouble, detail)}", trouble)


def ble_error(where: BleWhere | str, error: Exception) -> BleError:
    """The one line for what bleak or the system raised about a wrench."""
    trouble = _trouble(error)
    said = str(error).partition("\n")[0] or type(error).__name__
    return trouble_error(where, trouble, f"cannot be reached ({said}); wake it, bring it near and try again")


def not_seen(where: BleWhere, seconds: float, nearby: Iterable[Nearby]) -> BleError:
    """The one line for a wrench that did not show itself, with what did instead, the strongest first."""
    seen = sorted(nearby, key=lambda device: (not device.name, -device.rssi_dbm))
    more = f" and {len(seen) - _SHOWN_DEVICES} more" if len(seen) > _SHOWN_DEVICES else ""
    instead = ", ".join(map(str, seen[:_SHOWN_DEVICES])) + more if seen else "no other device"
    todo = "wake it, bring it near, and end its connection to a phone or another computer"
    return BleError(f"wrench `{where}` was not seen in {seconds:g} s; {todo}; seen instead: {instead}", BleTrouble.NOT_SEEN)


def several(where: BleWhere, found: Iterable[Nearby]) -> BleError:
    """The one line for more than one device that is meant."""
    devices = ", ".join(sorted(map(str, found)))
    what = f"`{where}` is more than one device: {devices}; name the one that is meant by its address, ble:ADDRESS"
    return BleError(what, BleTrouble.SEVERAL)


def _trouble(error: Exception) -> BleTrouble:
    from bleak.exc import (
        BleakBluetoothNotAvailableError,
        BleakBluetoothNotAvailableReason,
        BleakDBusError,
        BleakGATTProtocolError,
    )

    reasons = BleakBluetoothNotAvailableReason
    match error:
        case BleakBluetoothNotAvailableError(reason=reasons.POWERED_OFF):
            return BleTrouble.OFF
        case BleakBluetoothNotAvailableError(reason=reasons.NO_BLUETOOTH | reasons.NO_BLE_CENTRAL_ROLE):
            return BleTrouble.NO_ADAPTER
        case BleakBluetoothNotAvailableError():
            return BleTrouble.DENIED
        case BleakGATTProtocolError():
            return BleTrouble.PAIRING if error.args[0] in _PAIRING_CODES else BleTrouble.FAULT
        case BleakDBusError():
            return _dbus_trouble(error.dbus_error, str(error))
        case TimeoutError():
            return BleTrouble.NO_ANSWER
        case ConnectionError() | FileNotFoundError() | EOFError():
            return BleTrouble.NO_SERVICE
        case PermissionError():
            return BleTrouble.DENIED
    return BleTrouble.FAULT


def _dbus_trouble(name: str, text: str) -> BleTrouble:
    if name.startswith(_SPAWN):
        return BleTrouble.NO_SERVICE
    if _OFF_TEXT in text:
        return BleTrouble.OFF
    return _BY_NAME.get(name, BleTrouble.FAULT)
