"""A proposed wire format as the file that it would be."""

from collections.abc import Sequence
from dataclasses import dataclass

from collector.listen.cut import LONGEST_BYTES, Cut
from collector.listen.meaning import quoted
from schemas.wire_checksum import Checksum

_ROOM = 2  # how many times as long as the longest record seen a record of text may become


@dataclass(frozen=True, slots=True)
class Draft:
    """One proposal: `lines` are the file without its name and unit, `unit` our symbol where it is fixed and known.

    `place` says where the torque stands, `key` is the same for proposals that read the same bytes in the same way. `telling`
    is the pull that would show this one wrong where it is. `seen_unit` is whether the record itself has the unit.
    """

    lines: tuple[str, ...]
    place: str
    key: tuple[object, ...]
    reasons: tuple[str, ...]
    open: tuple[str, ...]
    telling: str
    seen_unit: bool
    unit: str | None = None

    def text(self, name: str, unit: str | None) -> str:
        """The whole file; `unit` is what a person named where the record does not say it."""
        fixed = None if self.seen_unit else self.unit or unit
        head = ["# Proposed by `witnessmark listen` from pulls whose values a person typed. Look through it before use."]
        head += [f"# Not decided: {what}." for what in self.open]
        return "\n".join([*head, f"name: {quoted(name)}", *self.lines, *([f"unit: {quoted(fixed)}"] if fixed else []), ""])


def framing_lines(cut: Cut, checksum: tuple[str, Checksum] | None) -> list[str]:
    """The lines of a file that say how records are cut and vouch for themselves."""
    framing = cut.framing
    parts = [f"by: {framing.by}"]
    marks = (("start", framing.start), ("stop", framing.stop))
    parts += [f"{name}: {quoted(mark.hex().upper())}" for name, mark in marks if mark]
    parts += [f"length: {framing.length}"] * bool(framing.length) + [f"silence_s: {framing.silence_s}"] * bool(framing.silence_s)
    lines = [f"framing: {{{', '.join(parts)}}}"]
    if not framing.length:
        longest = max(map(len, cut.every_record())) * _ROOM + len(cut.begins)
        lines.append(f"longest: {min(longest, LONGEST_BYTES)}")
    if cut.begins:
        lines.append(f"begins: {quoted(cut.begins.decode('latin-1'))}")
    return lines + ([_checksum_line(checksum[1], cut)] if checksum else [])


def _checksum_line(checksum: Checksum, cut: Cut) -> str:
    digits = checksum.width // 4
    parts = [f"kind: {checksum.kind}"] + ['width: "16"'] * (checksum.width == 16)
    crc = checksum.crc
    if crc is not None:
        numbers = (("poly", crc.poly), ("init", crc.init), ("xorout", crc.xorout), ("check", checksum.of(b"123456789")))
        parts += [f'{name}: "{number:0{digits}X}"' for name, number in numbers]
        parts += [f"{name}: {'yes' if on else 'no'}" for name, on in (("refin", crc.refin), ("refout", crc.refout))]
    parts.append(f"written: {checksum.written}")
    if checksum.written == "binary" and checksum.size > 1:
        parts.append(f"byte_order: {checksum.byte_order}")
    if checksum.behind:
        parts.append(f"behind: {quoted(checksum.behind.decode(cut.encoding or 'ascii'))}")
    parts += ["after_stop: yes"] * checksum.after_stop
    included = [word for word, is_in in (("start", checksum.includes_start), ("mark", checksum.includes_mark)) if is_in]
    parts += [f"includes: [{', '.join(included)}]"] * bool(included)
    return f"checksum: {{{', '.join(parts)}}}"


def pattern_text(befores: Sequence[str], widths: Sequence[int], names: Sequence[str | None], tail: str) -> str:
    """A pattern as a file has it."""
    parts = [
        f"{_doubled(before)}{{{name or ''}{f':{width}' if width else ''}}}"
        for before, width, name in zip(befores, widths, names, strict=True)
    ]
    return "".join(parts) + _doubled(tail)


def _doubled(text: str) -> str:
    return text.replace("{", "{{").replace("}", "}}")
