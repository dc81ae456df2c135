"""Turns what pyserial and the system say about a port into one line that says what to do next."""

import errno
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from glob import iglob
from pathlib import Path

from schemas.errors import SourceError, SourceReason

# Measured with pyserial 3.5 on a port that vanished: OSError from `in_waiting`, termios.error from the flushes,
# TypeError and ValueError from a handle that is closed. SerialException is an OSError.
LINK_LOST: tuple[type[Exception], ...] = (OSError, TypeError, ValueError)
if sys.platform != "win32":
    import grp
    import termios

    LINK_LOST = (*LINK_LOST, termios.error)

_REASONS = {
    errno.ENOENT: SourceReason.MISSING,
    errno.ENODEV: SourceReason.MISSING,
    errno.ENXIO: SourceReason.MISSING,
    errno.EAGAIN: SourceReason.BUSY,
    errno.EBUSY: SourceReason.BUSY,
    errno.EACCES: SourceReason.PERMISSION,
    errno.EPERM: SourceReason.PERMISSION,
}
# Without an error number: Windows, where a port in use is refused as forbidden, and pyserial's search by name.
_PHRASES = {
    "FileNotFoundError": SourceReason.MISSING,
    "no ports found": SourceReason.MISSING,
    "PermissionError": SourceReason.BUSY,
}


def port_error(port: str, error: Exception, there: Sequence[str] = ()) -> SourceError:
    """The SourceError for a port that could not be opened; `there` are the ports that could be meant instead."""
    said = str(error)
    reason = _REASONS.get(getattr(error, "errno", None) or 0)
    if reason is None:
        reason = next((found for phrase, found in _PHRASES.items() if phrase in said), SourceReason.NOT_READABLE)
    match reason:
        case SourceReason.MISSING:
            return missing_port(port, there)
        case SourceReason.BUSY:
            advice = f"is in use by another program{holders(port)}; close that program, or name another port"
        case SourceReason.PERMISSION:
            advice = f"may not be opened by you; join its group ({_group_of(port)}) and log in again"
        case _:
            advice = f"cannot be read as a serial port ({first_line(error)}); name a serial port"
    return SourceError(f"port `{port}` {advice}", reason)


def missing_port(port: str, there: Sequence[str]) -> SourceError:
    """The SourceError for a port that is not there, with those that are."""
    others = f"there is {', '.join(there)}" if there else "no serial port is there"
    return SourceError(f"port `{port}` is not there; plug the cable in, or name another ({others})", SourceReason.MISSING)


def holders(port: str) -> str:
    """Which other programs hold a port open, in brackets; "" where the system does not tell.

    On Linux of every user's programs for the superuser, else of one's own.
    """
    try:
        device = os.path.realpath(port)
    except OSError:
        return ""  # a link that is pulled away in the midst of following it
    mine = f"/proc/{os.getpid()}/"
    found: dict[str, None] = {}
    for held in iglob("/proc/[0-9]*/fd/*"):
        # Programs end while they are looked at, and those of others may not be.
        with suppress(OSError):
            if os.readlink(held) == device and not held.startswith(mine):
                process = Path(held).parent.parent
                name = (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
                found[f"{name}, process {process.name}"] = None
    return f" ({'; '.join(found)})" if found else ""


def first_line(error: Exception) -> str:
    """What an exception says, in one line."""
    return str(error).partition("\n")[0]


def _group_of(port: str) -> str:
    if sys.platform != "win32":
        with suppress(OSError, KeyError):
            group = grp.getgrgid(Path(port).stat().st_gid).gr_name
            if group != "root":
                return f"`sudo usermod -aG {group} $USER`"
    return "on Linux mostly `dialout`"
