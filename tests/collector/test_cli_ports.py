"""`witnessmark ports`: what can be read, and what to type for it."""

import json

import pytest

from collector.acquire.serial_find import Adapter, Port
from collector.cli.main import main

PORTS = [
    Port("/dev/ttyX0"),
    Port("/dev/ttyX1", "Made-up adapter", Adapter(0x1209, 1, "A7", "1-1")),
    Port("/dev/ttyX2", "Made-up adapter", Adapter(0x1209, 1, None, "1-2")),
    Port("/dev/ttyX3", "Made-up adapter", Adapter(0x1209, 1, None, "1-3")),
]


@pytest.fixture(name="there")
def _there(monkeypatch):
    ports = list(PORTS)
    monkeypatch.setattr("collector.cli.ports.list_ports", lambda: ports)
    return ports


def test_each_port_comes_with_what_to_type_for_it(there, capsys):
    assert main(["ports"]) == 0

    assert capsys.readouterr().out.splitlines() == [
        "/dev/ttyX0: no description",
        "    --from serial:/dev/ttyX0",
        "/dev/ttyX1: Made-up adapter",
        "    --from serial:usb=1209:0001:A7",
        # Two alike without a serial number: only the name tells them apart.
        "/dev/ttyX2: Made-up adapter",
        "    --from serial:/dev/ttyX2",
        "/dev/ttyX3: Made-up adapter",
        "    --from serial:/dev/ttyX3",
    ]


def test_json_gives_the_parts(there, capsys):
    assert main(["ports", "--json"]) == 0

    answer = json.loads(capsys.readouterr().out)
    assert answer["format"] == 1
    assert answer["ports"][:2] == [
        {"port": "/dev/ttyX0", "description": "", "usb": None, "serial": None, "from": "serial:/dev/ttyX0"},
        {
            "port": "/dev/ttyX1",
            "description": "Made-up adapter",
            "usb": "1209:0001",
            "serial": "A7",
            "from": "serial:usb=1209:0001:A7",
        },
    ]


def test_no_port_at_all_is_said_aside(there, capsys):
    there.clear()

    assert main(["ports"]) == 0

    said = capsys.readouterr()
    assert said.out == ""
    assert "no serial port is there; plug the cable in" in said.err
