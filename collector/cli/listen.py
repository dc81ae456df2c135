"""`witnessmark listen`: hear a few pulls, propose a wire format, write it, and try it on one pull more."""

import argparse
import json
import sys
from pathlib import Path

from collector.cli.listen_live import Ear, asked_about, asked_unit, hear_list, hear_typed, source_of
from collector.cli.listen_said import choice_lines, decoded_lines, said
from collector.cli.place import SystemClock, say, tell
from collector.listen.check_draft import Decoded, decode_burst, decode_heard, says
from collector.listen.draft import Draft
from collector.listen.heard import About, Heard, read_about
from collector.listen.propose import propose
from schemas.errors import SourceError, SourceReason, UnitError
from schemas.units import find_unit
from schemas.wire_format import WireFormat
from schemas.wire_format_load import load_wire_format

_NAME = "listened"


def run_listen(chosen: argparse.Namespace) -> int:
    """Propose a wire format for a source; 1 where something of it is not decided or a record gave no reading."""
    if chosen.write and Path(chosen.write).exists():
        raise _refused(f"{chosen.write}: is there already, and nothing is written over it; name another file")
    if chosen.unit:
        chosen.unit = find_unit(chosen.unit)[0].symbol
    abouts = _pulled(chosen.pulled) if chosen.pulled is not None else None
    kind, _, where = chosen.source.partition(":")
    if kind == "bytes" and where:
        if abouts is None:
            raise _refused("bytes:FILE has no times and nobody at it; give the value of each record, as --pulled 50,80,120")
        tell("no test pull, as this is a file")
        return _conclude(chosen, Heard((_read(where),), abouts, is_divided=False), None)
    if kind not in ("serial", "ble") or not where:
        raise _refused(f"`{chosen.source}` is no source here; use serial:PORT, ble:NAME or bytes:FILE")
    is_asked = abouts is None
    if is_asked and not sys.stdin.isatty():
        raise _refused("nobody is at the keyboard to type values; give them in order, as --pulled 50,80,120")
    with Ear(source_of(kind, where, SystemClock(), chosen.baud, chosen.dtr)) as ear:
        heard = hear_typed(ear, sys.stdin) if abouts is None else hear_list(ear, abouts, chosen.gap)
        if not is_asked:
            tell("no test pull, as the values came in a list")
        return _conclude(chosen, heard, ear if is_asked else None)


def _pulled(values: str) -> tuple[About | None, ...]:
    try:
        return tuple(read_about(value) for value in values.split(","))
    except (ValueError, UnitError) as error:
        raise _refused(f"--pulled: {error}") from error


def _read(where: str) -> bytes:
    try:
        raw = Path(where).read_bytes()
    except OSError as error:
        raise SourceError(f"{where}: cannot be read ({error.strerror}); name a file of bytes", SourceReason.MISSING) from error
    if not raw:
        raise SourceError(f"{where}: is empty; capture what the wrench sends", SourceReason.NOT_READABLE)
    return raw


def _conclude(chosen: argparse.Namespace, heard: Heard, ear: Ear | None) -> int:
    """Propose, write, decode all of it, and try one pull more where somebody is there."""
    if why := heard.why_too_few():
        raise _refused(why)
    draft = _choose(chosen, heard)
    text = draft.text(Path(chosen.write).stem if chosen.write else _NAME, _unit(chosen, draft, ear is not None))
    wire = _written(chosen, text)
    decoded = decode_heard(wire, heard)
    for line in [*draft.reasons, *decoded_lines(decoded)]:
        tell(line)
    for what in draft.open:
        tell(f"not decided: {what}")
    is_right = ear is None or _try(ear, wire)
    if chosen.json:
        say(json.dumps(_json(chosen, draft, text, decoded), ensure_ascii=False, indent=1))
    elif not chosen.write:
        say(text.rstrip())
    return 0 if is_right and not draft.open and all(one.reading for one in decoded) else 1


def _choose(chosen: argparse.Namespace, heard: Heard) -> Draft:
    proposed = propose(heard)
    drafts = proposed.drafts
    if not drafts:
        for refusal in proposed.refusals:
            tell(refusal)
        raise _refused("no wire format fits what was heard and typed; nothing is written. Look at the values, and pull once more")
    if chosen.choose is not None and not 1 <= chosen.choose <= len(drafts):
        raise _refused(f"--choose {chosen.choose}: the proposals are 1 to {len(drafts)}")
    if len(drafts) > 1:
        for line in choice_lines(drafts):
            tell(line)
        if chosen.choose is None:
            raise _refused(f"{len(drafts)} formats fit equally; nothing is written. Pull as said, or take one with --choose N")
    return drafts[(chosen.choose or 1) - 1]


def _unit(chosen: argparse.Namespace, draft: Draft, is_asked: bool) -> str | None:
    """The unit that the file has to name; None where the record, or what was typed, says it."""
    unit: str | None = chosen.unit
    known = "each record its own" if draft.seen_unit else draft.unit
    if known:
        if unit and unit != known:
            raise _refused(f"--unit {unit}: the unit is {known} by what was heard and typed; leave it out, or look at the values")
        return None
    if unit is None and is_asked:
        unit = asked_unit(sys.stdin)
    if unit is None:
        raise _refused("no field holds a unit, and a torque without one cannot be judged; name it with --unit, as --unit Nm")
    return unit


def _written(chosen: argparse.Namespace, text: str) -> WireFormat:
    """The proposal read back, from its file where it is written to one."""
    if not chosen.write:
        return load_wire_format(text.encode(), _NAME)
    try:
        with Path(chosen.write).open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as error:
        raise _refused(f"{chosen.write}: cannot be written ({error.strerror}); name another file") from error
    tell(f"written: {chosen.write}; use it with collect --wire {chosen.write}")
    return load_wire_format(Path(chosen.write).read_bytes(), chosen.write)


def _try(ear: Ear, wire: WireFormat) -> bool:
    """One pull more, read with the new format; False where it is not what the wrench showed."""
    ear.taken()
    tell("pull once more, then type what the wrench showed (Enter alone: no test pull)")
    about = asked_about(sys.stdin)
    if about is None:
        tell("no test pull was made; try the format before a job")
        return False
    decoded = decode_burst(wire, ear.taken())
    for one in decoded:
        tell(f"test pull -> {said(one)}")
    is_right = any(one.reading and says(one.reading, about) for one in decoded)
    tell("as typed" if is_right else f"{about} was typed, and it was not read so: do not use this format yet")
    return is_right


def _json(chosen: argparse.Namespace, draft: Draft, text: str, decoded: list[Decoded]) -> dict[str, object]:
    rows = [
        {
            "pull": one.pull + 1,
            "raw": one.raw.hex(),
            "torque": one.reading.torque if one.reading else None,
            "unit": one.reading.unit if one.reading else None,
            "reason": one.refusal or None,
        }
        for one in decoded
    ]
    found = {"torque": draft.place, "reasons": draft.reasons, "not_decided": draft.open}
    return {"format": 1, "wire": text, "written": chosen.write, **found, "records": rows}


def _refused(what: str) -> SourceError:
    return SourceError(what, SourceReason.NOT_READABLE)
