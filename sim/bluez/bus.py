"""A message bus of its own, so that a made-up Bluetooth service can stand where the system's would."""

import shutil
import subprocess
from pathlib import Path
from types import TracebackType
from typing import Self

BUS_PROGRAM = "dbus-daemon"
BUS_VARIABLE = "DBUS_SYSTEM_BUS_ADDRESS"
_STOP_S = 5.0
_LONGEST_SOCKET = 107  # bytes that fit into sockaddr_un of Linux, its end mark not counted

_CONFIG = """\
<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig>
  <type>custom</type>
  <listen>unix:path={socket}</listen>
  <auth>EXTERNAL</auth>
  <policy context="default">
    <allow user="*"/>
    <allow own="*"/>
    <allow send_destination="*"/>
    <allow receive_sender="*"/>
  </policy>
</busconfig>
"""


class PrivateBus:
    """A dbus-daemon whose socket and settings lie in `folder`; used once, as a context.

    `address` is what programs find it by, mostly through the environment (`BUS_VARIABLE`).
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._daemon: subprocess.Popen[str] | None = None
        self.address = ""

    def __enter__(self) -> Self:
        """Start it; OSError where dbus-daemon is missing, does not start, or the folder's name is too long for a socket."""
        program = shutil.which(BUS_PROGRAM)
        if program is None:
            raise OSError(f"{BUS_PROGRAM} is not installed; on Debian it comes with the package dbus")
        socket, settings = self._folder / "bus", self._folder / "bus.conf"
        if len(bytes(socket)) > _LONGEST_SOCKET:
            raise OSError(f"{socket}: too long a name for a socket; use a folder nearer to the root")
        settings.write_text(_CONFIG.format(socket=socket), encoding="utf-8")
        command = [program, f"--config-file={settings}", "--nofork", "--nopidfile", "--print-address=1"]
        # It grumbles about file limits where it may not raise them.
        self._daemon = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        said = self._daemon.stdout
        self.address = said.readline().strip() if said else ""  # printed once it listens
        if not self.address:
            self.stop()
            raise OSError(f"{BUS_PROGRAM} did not start with {settings}")
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.stop()

    def stop(self) -> None:
        """End it, and with it every connection to it; more than once does no harm."""
        daemon, self._daemon = self._daemon, None
        if daemon is not None:
            daemon.terminate()
            daemon.communicate(timeout=_STOP_S)
