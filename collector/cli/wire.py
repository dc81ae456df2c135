"""`witnessmark wire`: the wire formats that come with the program, and a look through one's own with what the wrench sent."""

import argparse
import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from collector.cli.place import say, tell
from collector.cli.wire_named import read_wire, shipped_wires, wire_bytes
from collector.cli.wire_sample import Tried, try_sample
from schemas.errors import FrameError, PlanError, SourceError, SourceReason
from schemas.frame import Reading
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format


def run_list(chosen: argparse.Namespace) -> int:
    """Print each name with its layout."""
    found = [(name, _layout(read_wire(name))) for name in shipped_wires()]
    if chosen.json:
        rows = [{"name": name, "layout": layout} for name, layout in found]
        say(json.dumps({"format": 1, "wires": rows}, ensure_ascii=False, indent=1))
    for name, layout in () if chosen.json else found:
        say(f"{name}: {layout}")
    return 0


def run_show(chosen: argparse.Namespace) -> int:
    """Print the file of one; SourceError where none has that name."""
    if chosen.name not in shipped_wires():
        what = f"no wire format `{chosen.name}` comes with the program; there is {', '.join(shipped_wires())}"
        raise SourceError(what, SourceReason.MISSING)
    say(wire_bytes(chosen.name)[0].decode("utf-8").rstrip("\n"))
    return 0


def run_check(chosen: argparse.Namespace) -> int:
    """Look through a file, and read a sample with it; 1 where the file has faults, or a record of the sample gave no reading."""
    data, file = wire_bytes(chosen.wire)
    try:
        wire = load_wire_format(data, file)
    except PlanError as error:
        return _say_faults(error, chosen.json)
    tried = try_sample(wire, _sample(chosen.sample)) if chosen.sample else []
    if chosen.json:
        records = [_json(one) for one in tried]
        say(json.dumps({"format": 1, "wire": wire.name, "faults": [], "records": records}, ensure_ascii=False, indent=1))
    else:
        say(f"{file}: nothing wrong found: {_layout(wire)}")
        for number, one in enumerate(tried, 1):
            say(f"{number}  {one.shown}")
            say(f"   {_outcome(one)}")
    if not chosen.sample:
        tell(f"try it on bytes of your wrench: witnessmark wire check {chosen.wire} --sample FILE")
    elif not tried:
        tell(f"{chosen.sample}: holds no record; choose a file of what the wrench sent")
    return int(bool(chosen.sample) and not (tried and all(isinstance(one.outcome, Reading) for one in tried)))


def _say_faults(error: PlanError, as_json: bool) -> int:
    if as_json:
        faults = [{"line": fault.line, "field": fault.field, "what": fault.what} for fault in error.faults]
        say(json.dumps({"format": 1, "wire": None, "faults": faults, "records": []}, ensure_ascii=False, indent=1))
    else:
        say(str(error))
    return 1


def _sample(named: str) -> bytes:
    try:
        return Path(named).read_bytes()
    except OSError as error:
        what = f"{named}: cannot be read ({error.strerror}); name a file of bytes as the wrench sent them"
        raise SourceError(what, SourceReason.MISSING) from error


def _layout(wire: WireFormat) -> str:
    cut = {
        "line": "lines",
        "marks": "records between marks",
        "length": f"records of {wire.framing.length} bytes",
        "silence": "records between silences",
    }[wire.framing.by]
    names = [part.name for part in wire.pattern] or list(wire.fields)
    if wire.binary:
        names = [field.name for field in wire.binary.fields]
    return f"{cut}, at most {wire.longest} bytes: {', '.join(name or '(not read)' for name in names)}"


def _outcome(one: Tried) -> str:
    if isinstance(one.outcome, FrameError):
        return f"{one.outcome.fate}: {one.outcome}"
    at_connect = "but not where it is the first after a connect, as half a record could look the same"
    return "; ".join([*_parts(one.outcome), *[at_connect] * one.is_lost_at_connect])


def _parts(reading: Reading) -> Iterator[str]:
    yield "above the tool's range" if reading.over_range else f"{reading.torque} {reading.unit}"
    if reading.torque_nm is not None and reading.unit != "N·m":
        yield f"{reading.torque_nm:f} N·m"
    named = ("wrench", "serial", "sequence", "tool_time", "angle_deg", "measures", "battery")
    yield from (f"{name.replace('_', ' ')} {getattr(reading, name)}" for name in named if getattr(reading, name) is not None)
    yield from reading.notes
    if reading.doubt is not None:
        yield f"in doubt: {reading.doubt}"


def _json(one: Tried) -> dict[str, object]:
    found: dict[str, object] = {"raw": one.raw.hex(), "shown": one.shown}
    if isinstance(one.outcome, FrameError):
        return found | {"fate": str(one.outcome.fate), "reason": str(one.outcome)}
    reading = asdict(one.outcome)
    torque_nm = one.outcome.torque_nm
    return found | {"reading": reading | {"torque_nm": None if torque_nm is None else f"{torque_nm:f}"}}
