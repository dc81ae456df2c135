"""The message bus of its own that the made-up Bluetooth service lives on."""

from pathlib import Path

import pytest

from sim.bluez.bus import PrivateBus
from sim.bluez.radio import Radio


def test_missing_program_is_named_with_its_package(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))

    with pytest.raises(OSError, match="dbus-daemon is not installed; on Debian it comes with"), PrivateBus(tmp_path):
        pass


def test_folder_with_too_long_a_name_is_refused(tmp_path):
    deep = tmp_path / ("x" * 100)
    deep.mkdir()

    with pytest.raises(OSError, match="too long a name for a socket; use a folder nearer to the root"), PrivateBus(deep):
        pass


def test_bus_that_has_ended_takes_no_service(bus):
    bus.stop()
    bus.stop()

    with pytest.raises(OSError), Radio(bus.address):  # noqa: PT011  # what the system says of a socket without a listener
        pass


def test_service_that_was_killed_does_nothing_more(bus, wrench):
    with Radio(bus.address, wrench) as radio:
        radio.kill()
        radio.kill()

        with pytest.raises(OSError, match="the service was killed; start it first"):
            radio.drop(wrench)


def test_folder_holds_the_socket_and_the_settings(bus, tmp_path):
    assert bus.address.startswith(f"unix:path={Path(tmp_path)}/bus,")
    assert (tmp_path / "bus").is_socket()
    assert (tmp_path / "bus.conf").is_file()
