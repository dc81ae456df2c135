"""What a wire format says that cannot be true together, each with its place. Pure."""

from collections.abc import Iterator, Sequence

from schemas.errors import UnitError
from schemas.plan.text import Path
from schemas.units import find_unit
from schemas.wire_contradictions_layout import layout_contradictions, named_fields
from schemas.wire_format_build import built_checksum
from schemas.wire_format_file import ChecksumFile, WireFormatFile

Found = Iterator[tuple[Path, str]]

_CHECKED = b"123456789"
# What each framing cannot do without, and what it may have besides.
_OF_FRAMING: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "line": ((), ()),
    "marks": (("start", "stop"), ()),
    "length": (("length",), ("start", "stop", "silence_s")),
    "silence": (("silence_s",), ("length",)),
}


def contradictions(written: WireFormatFile) -> Found:
    """Each contradiction as the path of its field and a line that says what to write instead."""
    yield from _framing(written)
    if written.checksum:
        yield from _checksum(written, written.checksum)
    yield from layout_contradictions(written)
    names = named_fields(written)
    yield from _unit(written, names)
    yield from _words(written, names)
    yield from _marks(written)
    if written.peaks:
        yield from _peaks(written, names)


def _framing(written: WireFormatFile) -> Found:
    framing = written.framing
    needed, besides = _OF_FRAMING[framing.by]
    given = [name for name in ("start", "stop", "length", "silence_s") if getattr(framing, name)]
    for name in needed:
        if name not in given:
            yield ("framing", name), f"is missing; framing by {framing.by} needs it"
    for name in given:
        if name not in needed + besides:
            yield ("framing", name), f"does not belong to framing by {framing.by}; take it out"
    if framing.by == "length" and not (framing.start or framing.silence_s):
        what = "alone cannot be found again after a lost byte; give `start` too, or `silence_s`"
        yield ("framing", "length"), what
    if framing.by == "marks" and framing.start == framing.stop and framing.start:
        yield ("framing", "stop"), "is the start mark too; nobody could tell an end from a beginning"
    if framing.length and written.longest:
        yield ("longest",), "is the framing's length already; take it out"
    if written.begins and framing.start:
        yield ("begins",), "is the framing's `start` already; take it out"


def _checksum(written: WireFormatFile, checksum: ChecksumFile) -> Found:
    parameters = [name for name in ("poly", "init", "refin", "refout", "xorout") if getattr(checksum, name) is not None]
    if checksum.kind == "crc":
        for name in ("poly", "init", "refin", "refout", "xorout"):
            if name not in parameters:
                yield ("checksum", name), "is missing; a CRC has five parameters, and a wrong one spoils every record"
    else:
        for name in parameters:
            yield ("checksum", name), "is a parameter of a CRC only; take it out"
    if checksum.kind == "xor" and checksum.width == "16":
        yield ("checksum", "width"), "is 8 for an XOR"
    if checksum.byte_order and checksum.written != "binary":
        yield ("checksum", "byte_order"), "belongs to a checksum written in binary; take it out"
    yield from _checksum_place(written, checksum)
    yield from _checksum_value(checksum)


def _checksum_place(written: WireFormatFile, checksum: ChecksumFile) -> Found:
    framing = written.framing
    after_stop = checksum.after_stop == "yes"
    if after_stop and framing.by != "marks":
        yield ("checksum", "after_stop"), "needs a stop mark, which only framing by marks has in this place"
    if after_stop and checksum.behind:
        yield ("checksum", "behind"), "is the stop mark already; take it out"
    if "mark" in checksum.includes and not (checksum.behind or after_stop):
        yield ("checksum", "includes"), "names the mark before the checksum, and there is none; give `behind`"
    if "start" in checksum.includes and not (framing.start or written.begins):
        yield ("checksum", "includes"), "names the start mark, and there is none"
    if checksum.behind and written.binary:
        yield ("checksum", "behind"), "is for records of text; a binary record has its checksum in a fixed place"
    if checksum.written == "binary" and (framing.by == "line" or (framing.by == "marks" and not after_stop)):
        yield ("checksum", "written"), "cannot be binary here: one of its values would end the record"


def _checksum_value(checksum: ChecksumFile) -> Found:
    top = 1 << int(checksum.width)
    wide = [name for name in ("poly", "init", "xorout", "check") if (getattr(checksum, name) or 0) >= top]
    for name in wide:
        yield ("checksum", name), f"does not fit into {checksum.width} bits"
    if checksum.check is not None and not wide:
        given = built_checksum(checksum, "ascii").of(_CHECKED)
        if given != checksum.check:
            what = f"these parameters give {given:0{int(checksum.width) // 4}X} over 123456789; one of them is wrong"
            yield ("checksum", "check"), what


def _unit(written: WireFormatFile, names: Sequence[str]) -> Found:
    if written.unit and "unit" in names:
        yield ("unit",), "is fixed here, and the record has a field `unit` too; keep one of them"
    if written.unit_codes and "unit" not in names:
        yield ("unit_codes",), "needs a field `unit` in the record"
    spellings = [(("unit_codes", code), spelling) for code, spelling in written.unit_codes.items()]
    for path, spelling in [*([(("unit",), written.unit)] if written.unit else []), *spellings]:
        try:
            find_unit(spelling)
        except UnitError as error:
            yield path, str(error)


def _words(written: WireFormatFile, names: Sequence[str]) -> Found:
    """Words for a field that the record has not, and a field without its words."""
    of_field = {"kind": ("peak", "live"), "direction": ("tightening", "loosening"), "measures": ("measures_codes",)}
    for field, lists in of_field.items():
        for name in lists:
            if field in names and not getattr(written, name):
                yield (name,), f"is missing; say which words of the field `{field}` stand for it"
            # The status can tell of these two as well.
            if field not in names and getattr(written, name) and name not in ("live", "loosening"):
                yield (name,), f"needs a field `{field}` in the record"
    if written.measures and "measures" in names:
        yield ("measures",), "is fixed here, and the record has a field `measures` too; keep one of them"
    for name, field in (("low_battery", "battery"), ("live", "kind"), ("loosening", "direction")):
        if getattr(written, name) and not {field, "status", "flags"} & set(names):
            yield (name,), f"needs a field that can say so: {field}, status or flags"
    for name, needed in (("status", ("status", "flags")), ("flags", ("flags",)), ("time_counts", ("tool_time",))):
        if getattr(written, name) and not set(needed) & set(names):
            yield (name,), f"needs a field {' or '.join(f'`{field}`' for field in needed)} in the record"
    if "flags" in names and not written.flags:
        yield ("flags",), "is missing; say which bits stand for which words"


def _marks(written: WireFormatFile) -> Found:
    for one, other in (("over_range", "no_reading"), ("peak", "live"), ("tightening", "loosening")):
        for word in getattr(written, other):
            if word in getattr(written, one):
                yield (other,), f"holds `{word}`, which stands under `{one}` too; keep one"


def _peaks(written: WireFormatFile, names: Sequence[str]) -> Found:
    """What the tool says itself must not be picked from samples as well."""
    if written.live or "kind" in names:
        yield ("peaks",), "is for a tool that marks no peaks, and this one marks them; take it out"
    if "measures" in names or written.measures not in (None, "highest"):
        yield ("peaks",), "gives the highest value of a pull, and the record measures something else; keep one of them"
