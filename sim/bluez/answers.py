"""What the made-up Bluetooth service answers to calls: those that a Bluetooth library makes, and no others."""

import asyncio

from dbus_fast import Message, MessageType

from sim.bluez.objects import ADAPTER, CHARACTERISTIC, DEVICE, OBJECT_MANAGER, UnknownObjectError
from sim.bluez.peripheral import FaultError, Peripheral
from sim.bluez.service import ADAPTER_PATH, BluezService, is_end_of_client

# Signature and body of a reply; None where none is given, ever.
Reply = tuple[str, list[object]] | None
_DONE: Reply = ("", [])
_OUT_OF_REACH_S = 60.0  # the real service goes on trying until the caller cancels


def answer(service: BluezService, message: Message) -> bool | None:
    """Take one message from the bus; True where a reply is on its way."""
    if is_end_of_client(message):
        service.forget_client(message.body[0])
    if message.message_type is not MessageType.METHOD_CALL or message.interface not in _CALLS:
        return None
    service.later(_answer(service, message))
    return True


async def _answer(service: BluezService, message: Message) -> None:
    try:
        reply = await _CALLS[message.interface or ""](service, message)
    except FaultError as error:
        await service.send(Message.new_error(message, error.name, str(error)))
    except UnknownObjectError as error:
        await service.send(Message.new_error(message, "org.freedesktop.DBus.Error.UnknownObject", str(error)))
    else:
        if reply is not None:
            await service.send(Message.new_method_return(message, *reply))


async def _objects(service: BluezService, message: Message) -> Reply:
    return "a{oa{sa{sv}}}", [service.tree.all]


async def _adapter(service: BluezService, message: Message) -> Reply:
    if message.path not in service.tree:
        raise UnknownObjectError(message.path)
    if message.member == "SetDiscoveryFilter":
        return _DONE
    if not service.tree.value(ADAPTER_PATH, ADAPTER, "Powered"):
        raise FaultError("NotReady", "Resource Not Ready")
    sender = message.sender or ""
    if message.member == "StartDiscovery":
        if sender in service.searchers:
            raise FaultError("InProgress", "Operation already in progress")
        service.searchers.add(sender)
    elif message.member == "StopDiscovery":
        if sender not in service.searchers:
            raise FaultError("Failed", "No discovery started")
        service.searchers.discard(sender)
        for peripheral in service.peripherals if not service.searchers else ():
            service.tree.change(peripheral.path(ADAPTER_PATH), DEVICE, gone=["RSSI"])
    else:
        raise _unknown(message)
    service.tree.change(ADAPTER_PATH, ADAPTER, Discovering=bool(service.searchers))
    return _DONE


async def _device(service: BluezService, message: Message) -> Reply:
    peripheral = _peripheral(service, message)
    if message.member == "Connect":
        await _connect(service, peripheral)
    elif message.member == "Disconnect":
        waiting = service.connecting.pop(peripheral.address, None)
        if waiting is not None and not waiting.done():
            waiting.set_result(None)
        elif service.is_connected(peripheral):
            service.drop(peripheral)
        else:
            raise FaultError("NotConnected", "Not Connected")
    else:
        raise _unknown(message)
    return _DONE


async def _connect(service: BluezService, peripheral: Peripheral) -> None:
    if not service.tree.value(ADAPTER_PATH, ADAPTER, "Powered"):
        raise FaultError("Failed", "Input/output error")
    if not peripheral.is_near:
        cancelled = service.connecting[peripheral.address] = asyncio.get_running_loop().create_future()
        await asyncio.wait([cancelled], timeout=_OUT_OF_REACH_S)
        raise FaultError("Failed", "le-connection-abort-by-local")
    if peripheral.connect_error is not None:
        raise peripheral.connect_error
    if not service.is_connected(peripheral):
        service.tree.change(peripheral.path(ADAPTER_PATH), DEVICE, Connected=True)
        service.later(service.resolve(peripheral))


async def _characteristic(service: BluezService, message: Message) -> Reply:
    peripheral, path = _peripheral(service, message), message.path or ""
    if not service.is_connected(peripheral):
        raise FaultError("Failed", "Not connected")
    if peripheral.is_mute:
        return None
    if message.member == "StartNotify":
        _start_notify(service, peripheral, path, message.sender or "")
    elif message.member == "StopNotify":
        service.listeners[path].discard(message.sender or "")
        service.tree.change(path, CHARACTERISTIC, Notifying=bool(service.listeners[path]))
    elif message.member == "WriteValue":
        data, options = message.body
        if options["type"].value == "command" and len(data) > peripheral.mtu - 3:
            raise FaultError("Failed", "Failed to initiate write")
        peripheral.written.append(bytes(data))
        for packet in peripheral.packets(peripheral.memory):
            await service.notify(peripheral, packet)
    else:
        raise _unknown(message)
    return _DONE


def _start_notify(service: BluezService, peripheral: Peripheral, path: str, sender: str) -> None:
    if not service.tree.has(path, CHARACTERISTIC, "Notifying"):
        raise FaultError("NotSupported", "Operation is not supported")
    if peripheral.wants_pairing and not service.tree.value(peripheral.path(ADAPTER_PATH), DEVICE, "Paired"):
        raise FaultError("Failed", "Operation failed with ATT error: 0x05")
    service.listeners[path].add(sender)
    service.tree.change(path, CHARACTERISTIC, Notifying=True)


async def _descriptor(service: BluezService, message: Message) -> Reply:
    peripheral = _peripheral(service, message)
    if not service.is_connected(peripheral):
        raise FaultError("Failed", "Not connected")
    if message.member != "ReadValue":
        raise _unknown(message)
    peripheral.reads.release()
    if peripheral.refuses_reads:
        raise FaultError("NotPermitted", "Read not permitted")
    return None if peripheral.is_mute else ("ay", [b"\x01\x00"])


def _peripheral(service: BluezService, message: Message) -> Peripheral:
    for peripheral in service.peripherals:
        if f"{message.path}/".startswith(f"{peripheral.path(ADAPTER_PATH)}/") and message.path in service.tree:
            return peripheral
    raise UnknownObjectError(message.path)


def _unknown(message: Message) -> FaultError:
    return FaultError("org.freedesktop.DBus.Error.UnknownMethod", f"{message.interface}.{message.member}")


_CALLS = {
    OBJECT_MANAGER: _objects,
    ADAPTER: _adapter,
    DEVICE: _device,
    CHARACTERISTIC: _characteristic,
    "org.bluez.GattDescriptor1": _descriptor,
}
