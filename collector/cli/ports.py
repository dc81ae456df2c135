"""`witnessmark ports`: the serial ports of this machine, each with what to type to read it."""

import argparse
import json

from collector.acquire.serial_find import Port, list_ports
from collector.cli.place import say, tell


def run_ports(chosen: argparse.Namespace) -> int:
    """Print every serial port; none is opened."""
    ports = list_ports()
    if chosen.json:
        rows = [_json(port, _source(port, ports)) for port in ports]
        say(json.dumps({"format": 1, "ports": rows}, ensure_ascii=False, indent=1))
    else:
        for port in ports:
            say(f"{port.name}: {port.description or 'no description'}")
            say(f"    --from {_source(port, ports)}")
    if not ports:
        tell("no serial port is there; plug the cable in, and look whether it needs a driver")
    return 0


def _source(port: Port, ports: list[Port]) -> str:
    """The port by its adapter where that is the only such one, for it stays when the name changes."""
    adapter = str(port.adapter) if port.adapter else ""
    is_only = [str(other.adapter) for other in ports].count(adapter) == 1
    return f"serial:{adapter if is_only else port.name}"


def _json(port: Port, source: str) -> dict[str, str | None]:
    adapter = port.adapter
    return {
        "port": port.name,
        "description": port.description,
        "usb": f"{adapter.vid:04X}:{adapter.pid:04X}" if adapter else None,
        "serial": adapter.serial if adapter else None,
        "from": source,
    }
