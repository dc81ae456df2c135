"""Turns what pyserial and the system say about a port into one line that says what to do next."""

import errno
import sys

from schemas.errors import SourceError, SourceReason

# Measured with pyserial 3.5 on a port that vanished: OSError from `in_waiting`, termios.error from the flushes,
# TypeError and ValueError from a handle that is closed. SerialException is an OSError.
LINK_LOST: tuple[type[Exception], ...] = (OSError, TypeError, ValueError)
if sys.platform != "win32":
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
_ADVICE = {
    SourceReason.MISSING: "is not there; plug the cable in, or see the ports with `python -m serial.tools.list_ports`",
    SourceReason.BUSY: "is in use by another program; close that program, or name another port",
    SourceReason.PERMISSION: "may not be opened by you; join its group (on Linux mostly `dialout`) and log in again",
}


def port_error(port: str, error: Exception) -> SourceError:
    """The SourceError for a port that could not be opened."""
    said = str(error)
    reason = _REASONS.get(getattr(error, "errno", None) or 0)
    if reason is None:
        reason = next((found for phrase, found in _PHRASES.items() if phrase in said), SourceReason.NOT_READABLE)
    advice = _ADVICE.get(reason, f"cannot be read as a serial port ({said.partition(chr(10))[0]}); name a serial port")
    return SourceError(f"port `{port}` {advice}", reason)
