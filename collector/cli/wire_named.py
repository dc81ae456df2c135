"""Wire formats by name or by file."""

from importlib.resources import files
from pathlib import Path

from schemas.errors import SourceError, SourceReason
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

DEFAULT = "plain-line"
_SUFFIX = ".yaml"


def shipped_wires() -> tuple[str, ...]:
    """The names of the wire formats that come with the program."""
    names = (entry.name for entry in files("schemas.wire").iterdir())
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX)))


def wire_bytes(named: str) -> tuple[bytes, str]:
    """A wire format's file and what to call it: of that name those that come with the program, else the file of that path.

    SourceError where there is neither.
    """
    if named in shipped_wires():
        return files("schemas.wire").joinpath(named + _SUFFIX).read_bytes(), named + _SUFFIX
    try:
        return Path(named).read_bytes(), named
    except OSError as error:
        what = f"{named}: cannot be read ({error.strerror}); name a wire format file, or one of {', '.join(shipped_wires())}"
        raise SourceError(what, SourceReason.MISSING) from error


def read_wire(named: str | None) -> WireFormat:
    """A wire format by name or file, by default the plain line. SourceError or PlanError where it cannot be used."""
    return load_wire_format(*wire_bytes(named or DEFAULT))
