"""The objects that a Bluetooth service shows on the bus, and the signals that tell of their changes."""

from collections.abc import Callable, Iterable

from dbus_fast import Message, Variant

OBJECT_MANAGER = "org.freedesktop.DBus.ObjectManager"
PROPERTIES = "org.freedesktop.DBus.Properties"
ADAPTER = "org.bluez.Adapter1"
DEVICE = "org.bluez.Device1"
SERVICE = "org.bluez.GattService1"
CHARACTERISTIC = "org.bluez.GattCharacteristic1"
DESCRIPTOR = "org.bluez.GattDescriptor1"

Properties = dict[str, Variant]
Scalar = bool | int | str | bytes | list[str]

# Which D-Bus type each property has; the names are those of BlueZ's own interface description.
_TYPES = {
    **dict.fromkeys(("Powered", "Discovering", "Connected", "ServicesResolved", "Paired", "Trusted", "Primary"), "b"),
    **dict.fromkeys(("Notifying", "NotifyAcquired"), "b"),
    **dict.fromkeys(("Address", "Name", "Alias", "UUID"), "s"),
    **dict.fromkeys(("Adapter", "Device", "Service", "Characteristic"), "o"),
    **dict.fromkeys(("UUIDs", "Roles", "Flags"), "as"),
    "RSSI": "n",
    "MTU": "q",
    "Value": "ay",
}


class UnknownObjectError(Exception):
    """A path, interface or property that is not there; its text names it."""


def variants(values: dict[str, Scalar]) -> Properties:
    """Properties by name as the bus carries them."""
    return {name: Variant(_TYPES[name], value) for name, value in values.items()}


class ObjectTree:
    """Objects by path, each with one interface; `emit` gets the signal of each change."""

    def __init__(self, emit: Callable[[Message], None]) -> None:
        self._emit = emit
        self._objects: dict[str, dict[str, Properties]] = {}

    def __contains__(self, path: object) -> bool:
        return path in self._objects

    @property
    def all(self) -> dict[str, dict[str, Properties]]:
        """Every object, as ObjectManager hands them out."""
        return self._objects

    def add(self, path: str, interface: str, **values: Scalar) -> None:
        """Show an object, where it is not shown already."""
        if path not in self._objects:
            self._objects[path] = {interface: variants(values)}
            self._emit(Message.new_signal("/", OBJECT_MANAGER, "InterfacesAdded", "oa{sa{sv}}", [path, self._objects[path]]))

    def remove_below(self, path: str) -> None:
        """Take an object away with all below it, the deepest first."""
        for found in sorted((one for one in self._objects if f"{one}/".startswith(f"{path}/")), reverse=True):
            interfaces = list(self._objects.pop(found))
            self._emit(Message.new_signal("/", OBJECT_MANAGER, "InterfacesRemoved", "oas", [found, interfaces]))

    def value(self, path: str, interface: str, name: str) -> Scalar:
        """One property; UnknownObjectError where it is not there."""
        try:
            found: Scalar = self._objects[path][interface][name].value
        except KeyError as error:
            raise UnknownObjectError(f"{path} {interface} {name}") from error
        return found

    def has(self, path: str, interface: str, name: str) -> bool:
        """Whether the object has that property."""
        return name in self._objects.get(path, {}).get(interface, {})

    def change(self, path: str, interface: str, gone: Iterable[str] = (), **values: Scalar) -> None:
        """Set properties, or take them away; nothing where the object is not there."""
        if message := self.changed(path, interface, gone, **values):
            self._emit(message)

    def changed(self, path: str, interface: str, gone: Iterable[str] = (), **values: Scalar) -> Message | None:
        """Set properties and give the signal instead of emitting it, for who has to pace what is sent."""
        if path not in self._objects:
            return None
        new, gone = variants(values), list(gone)
        properties = self._objects[path][interface]
        properties.update(new)
        for name in gone:
            properties.pop(name, None)
        return Message.new_signal(path, PROPERTIES, "PropertiesChanged", "sa{sv}as", [interface, new, gone])
