"""From what was heard to the wire formats that fit all of it."""

from collections.abc import Iterator
from dataclasses import dataclass

from collector.listen.binary_meaning import binary_meaning
from collector.listen.binary_torque import BinaryTorque, binary_torques
from collector.listen.catalogue import checksums, content_of
from collector.listen.check_draft import Held, decode_heard, held_against
from collector.listen.cut import Cut, cuts
from collector.listen.draft import Draft, framing_lines, pattern_text
from collector.listen.heard import Heard
from collector.listen.layout import Layout, layouts
from collector.listen.meaning import Meaning, column_meaning, quoted
from collector.listen.text_torque import TextTorque, columns_without_mark, text_torques
from schemas.wire_checksum import Checksum
from schemas.wire_format_load import load_wire_format

_FEWEST_VALUES = 2
_ANY_UNIT = "N·m"
_ANOTHER_VALUE = "pull to quite another value, and type every digit that the wrench shows"
_LARGEST_16_BITS = 0xFFFF

Sum = tuple[str, Checksum] | None


@dataclass(frozen=True, slots=True)
class Proposed:
    """The proposals, the best first, none of which says the same as another; and why there are none, or no more."""

    drafts: tuple[Draft, ...]
    refusals: tuple[str, ...]


def propose(heard: Heard) -> Proposed:
    """Every wire format that reads about the typed value of every pull out of what was heard.

    Two proposals are two ways to read the torque; of those that read the same bytes in the same way the simplest stands.
    """
    drafts, refusals = _drafts(heard)
    if not drafts:
        refusals += _wrong_values(heard)
    if not drafts and not refusals:
        refusals += [f"{cut.why}: nothing in them is near every value that was typed" for cut in cuts(heard)[0]]
    return Proposed(tuple(drafts), tuple(dict.fromkeys(refusals)))


def _drafts(heard: Heard) -> tuple[list[Draft], list[str]]:
    found, refusals = cuts(heard)
    kept: dict[tuple[object, ...], tuple[Draft, Held]] = {}
    for cut in found:
        if cut.encoding is None and kept:
            break  # what can be read as text is no binary record
        for draft in _of_cut(cut, heard, refusals):
            is_better = draft.key not in kept or (draft.seen_unit and not kept[draft.key][0].seen_unit)
            if is_better and (held := held_against(draft, heard)):
                kept[draft.key] = (draft, held)
    if not found and not refusals:
        refusals.append("no line ends, no marks and no one length were found by which to cut these bytes into records")
    # A column that has every digit as it was typed is what the wrench showed; one that is merely near is not.
    exact = [draft for draft, held in kept.values() if held.is_exact]
    return exact or [draft for draft, _ in kept.values()], refusals


def _wrong_values(heard: Heard) -> Iterator[str]:
    """Each pull whose value fits no field, while all the others fit one."""
    for number, about in enumerate(heard.abouts):
        rest = heard.without(number)
        if about is None or len({one.value for one in rest.known}) < _FEWEST_VALUES:
            continue
        drafts, _ = _drafts(rest)
        for draft in drafts[:1]:
            wire = load_wire_format(draft.text("proposed", _ANY_UNIT).encode(), "proposed")
            read = [one.reading.torque for one in decode_heard(wire, rest) if one.pull == number and one.reading]
            says = f"; {draft.place} fits the other pulls, and says {', '.join(map(str, read)) or 'nothing'} here"
            yield f"pull {number + 1}: {about} is in no field{says}: type it again"


def _of_cut(cut: Cut, heard: Heard, refusals: list[str]) -> Iterator[Draft]:
    sums: list[Sum] = [*checksums(cut)] or [None]
    if cut.trailing and sums == [None]:
        refusals.append(f"{cut.why}: those {cut.trailing} bytes are no checksum that is known here")
        return
    for sum_ in sums:
        yield from _binary(cut, sum_, heard, refusals) if cut.encoding is None else _text(cut, sum_, heard, refusals)


def _text(cut: Cut, sum_: Sum, heard: Heard, refusals: list[str]) -> Iterator[Draft]:
    encoding = cut.encoding or "ascii"
    checksum = sum_[1] if sum_ else None
    texts = [[content_of(cut, checksum, record).decode(encoding) for record in records] for records in cut.records]
    for layout in layouts(texts):
        refusals += [f"{where} holds the torque without its decimal mark: a wire format of text cannot say that yet"
                     for where in columns_without_mark(layout, heard)]  # fmt: skip
        for torque in text_torques(layout, heard):
            meaning = column_meaning(torque)
            if meaning.lacks:
                refusals.append(meaning.lacks)
            else:
                yield _text_draft(cut, sum_, torque, meaning)


def _text_draft(cut: Cut, sum_: Sum, torque: TextTorque, meaning: Meaning) -> Draft:
    layout = torque.layout
    lines = [*framing_lines(cut, sum_), f"encoding: {cut.encoding}", *_layout_lines(layout, meaning)]
    lines += [f'decimal_mark: "{torque.mark}"', *meaning.lines]
    place = f"field {torque.column + 1} of {len(meaning.names)}, decimal mark `{torque.mark}`"
    reasons = [cut.why, *_sum_reason(sum_), layout.why, f"the torque is {place}", *meaning.reasons]
    undecided = list(meaning.open)
    if not torque.mark_seen:
        undecided.append("no value had a decimal mark; pull to a value with one, or look whether `.` is right")
    if not sum_ and not cut.start:
        undecided.append("records have no start mark and no known checksum, so the first after each connect is not read")
    if cut.framing.length:
        undecided.append(f"every record had {cut.framing.length} bytes, and one of another length would not be read")
    one = torque.rows[0].row[torque.column].text
    seen_unit = "unit" in meaning.names
    if not seen_unit:
        undecided.append(_fixed_unit(meaning.unit))
    return Draft(
        tuple(lines), f"{place} (`{one}` in the first record)", ("text", torque.place, torque.mark, _sum_key(sum_)),
        tuple(reasons), tuple(undecided), _ANOTHER_VALUE, seen_unit, meaning.unit,
    )  # fmt: skip


def _layout_lines(layout: Layout, meaning: Meaning) -> list[str]:
    if layout.delimiter:
        names = ", ".join(name or "null" for name in meaning.names)
        lines = [f"delimiter: {quoted(layout.delimiter)}", f"fields: [{names}]"]
        return lines + ["quoted: yes"] * layout.quoted
    return [f"pattern: {quoted(pattern_text(layout.befores, layout.widths, meaning.names, layout.tail))}"]


def _binary(cut: Cut, sum_: Sum, heard: Heard, refusals: list[str]) -> Iterator[Draft]:
    checksum = sum_[1] if sum_ else None
    start, end = len(cut.start), cut.framing.length - len(cut.framing.stop) - (checksum.size if checksum else 0)
    records = cut.every_record()
    abouts = [about for of_pull, about in zip(cut.records, heard.abouts, strict=True) for _ in of_pull]
    for torque in binary_torques(cut.records, heard.abouts, start, end):
        meaning = binary_meaning(torque, records, abouts, start, end)
        if meaning.lacks:
            refusals.append(meaning.lacks)
            continue
        lines = [*framing_lines(cut, sum_), "binary:", f"  byte_order: {torque.order}", "  fields:"]
        lines += [f"    - {field}" for field in meaning.fields] + meaning.lines
        seen_unit = any("name: unit" in field for field in meaning.fields)
        undecided = [*meaning.open, *([] if seen_unit else [_fixed_unit(meaning.unit)])]
        if start > 1:
            undecided.append(f"{cut.start.hex(' ').upper()} opens every record; where its last byte is data, shorten `start`")
        reasons = [cut.why, *_sum_reason(sum_), *meaning.reasons]
        yield Draft(
            tuple(lines), str(torque), ("binary", torque, _sum_key(sum_)), tuple(reasons), tuple(undecided),
            _binary_telling(torque), seen_unit, meaning.unit,
        )  # fmt: skip


def _binary_telling(torque: BinaryTorque) -> str:
    if torque.type == "f32":
        return _ANOTHER_VALUE
    return f"loosen once, and type the value with a minus; or pull to more than {_LARGEST_16_BITS * torque.scale}"


def _fixed_unit(unit: str | None) -> str:
    named = f"is fixed as {unit}" if unit else "is fixed as it was named"
    return f"no field was found to hold the unit, so it {named}: switch the wrench to another unit and pull again"


def _sum_reason(sum_: Sum) -> list[str]:
    if sum_ is None:
        return []
    name, checksum = sum_
    return [f"checksum: {name}, {checksum.size} bytes in {checksum.written}; it fits every record"]


def _sum_key(sum_: Sum) -> Checksum | None:
    return sum_[1] if sum_ else None

