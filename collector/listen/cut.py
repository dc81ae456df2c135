"""The ways in which what was heard can be cut into records."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from collector.acquire.framing import Framer, LineFramer
from collector.acquire.framing_record import RecordFramer
from collector.listen.heard import Heard
from schemas.wire_format import Encoding, Framing

LONGEST_BYTES = 4096
SILENCE_S = 0.2
_LINE_END = b"\r\n"
_LINE_ENDS = {b"\r\n": "CR LF", b"\n\r": "LF CR", b"\n": "LF", b"\r": "CR"}
_ENCODINGS: tuple[Encoding, ...] = ("ascii", "utf-8", "latin-1")
# What begins or ends a number, a text in quotes or a word is no mark.
_NO_MARK = b" \t+-.,'\"_"


@dataclass(frozen=True, slots=True)
class Cut:
    """One way: `records` are those of each pull, as the framer gives them; `begins` opens each line.

    `trailing` is how many bytes stand behind the stop mark. `encoding` is None where the records are no text. `why` says what
    was seen.
    """

    framing: Framing
    records: tuple[tuple[bytes, ...], ...]
    why: str
    encoding: Encoding | None = None
    begins: bytes = b""
    trailing: int = 0

    @property
    def start(self) -> bytes:
        """The mark that opens each record."""
        return self.begins or self.framing.start

    def every_record(self) -> list[bytes]:
        """The records of all pulls, in order."""
        return [record for records in self.records for record in records]


def cuts(heard: Heard) -> tuple[list[Cut], list[str]]:
    """Every way that cuts the bytes into records, one or more for each pull; and why others are none."""
    marked = [*_lines(heard), *_marks(heard)]
    # A text of one length may become longer with its value, so that a silence is the better end.
    found = marked or sorted([*_silences(heard), *_lengths(heard)], key=lambda cut: cut.encoding is None)
    found = [cut for cut in found if any(cut.records)]
    if heard.is_divided:
        return found, []
    # Without times nothing but their order says which record belongs to which pull.
    each = [replace(cut, records=tuple((record,) for record in cut.records[0])) for cut in found]
    wanted = len(heard.abouts)
    typed = f"and {wanted} values were typed; type one for each, `-` where it is not known"
    why = [f"{cut.why}: these are {len(cut.records)}, {typed}" for cut in each if len(cut.records) != wanted]
    return [cut for cut in each if len(cut.records) == wanted], why


def text_encoding(pieces: Sequence[bytes]) -> Encoding | None:
    """In which encoding all of these are text without control characters; None where in none."""
    for encoding in _ENCODINGS:
        try:
            text = "".join(piece.decode(encoding) for piece in pieces)
        except UnicodeDecodeError:
            continue
        if all(sign == "\t" or not (sign < " " or "\x7f" <= sign <= "\x9f") for sign in text):
            return encoding
    return None


def _lines(heard: Heard) -> Iterator[Cut]:
    records = _by(heard, lambda: LineFramer(LONGEST_BYTES))
    whole = [record for of_pull in records for record in of_pull]
    encoding = text_encoding(whole)
    if encoding is None or not any(byte in _LINE_END for burst in heard.bursts for byte in burst):
        return
    ends = {burst[len(burst.rstrip(_LINE_END)) :] for burst in heard.bursts}
    named = sorted({_LINE_ENDS.get(end, "line end") for end in ends if end})
    begins = _same_first(whole)
    is_mark = _can_be_mark(begins) and all(one.count(begins) == 1 for one in whole)
    why = f"lines, each ended by {' or '.join(named) or 'a line end'}"
    yield Cut(Framing(), records, why + f", begun by `{begins.decode('latin-1')}`" * bool(is_mark), encoding,
              begins if is_mark else b"")  # fmt: skip


def _marks(heard: Heard) -> Iterator[Cut]:
    start = _same_first(heard.bursts)
    if not _can_be_mark(start):
        return
    parts = [part for burst in heard.bursts for part in burst.split(start)[1:]]
    stops = [bytes([byte]) for byte in dict.fromkeys(reversed(parts[0])) if byte < 0x20 and byte not in b"\t\r\n"]
    closing = {part.rstrip(_LINE_END)[-1:] for part in parts}
    if len(closing) == 1:
        stops += [stop for stop in closing if _can_be_mark(stop) and stop not in stops]
    for stop in stops:
        rests = [part.partition(stop)[2] for part in parts if part.count(stop) == 1]
        if len(rests) < len(parts):
            continue
        if all(rest.endswith(_LINE_END) for rest in rests) or len({len(rest) for rest in rests}) > 1:
            rests = [rest.rstrip(_LINE_END) for rest in rests]
        encoding = text_encoding([part.partition(stop)[0] for part in parts])
        if encoding is None or len({len(rest) for rest in rests}) > 1:
            continue
        trailing = len(rests[0])
        framing = Framing("marks", start, stop)
        records = _by(heard, _record_framer(framing, LONGEST_BYTES, trailing))
        why = f"records from 0x{start.hex().upper()} to 0x{stop.hex().upper()}"
        yield Cut(framing, records, why + f" with {trailing} bytes behind" * bool(trailing), encoding, trailing=trailing)
        return


def _lengths(heard: Heard) -> Iterator[Cut]:
    length = len(heard.bursts[0]) if heard.is_divided else len(heard.bursts[0]) // len(heard.abouts)
    if not length or any(len(burst) % length for burst in heard.bursts):
        return
    records = tuple(tuple(burst[at : at + length] for at in range(0, len(burst), length)) for burst in heard.bursts)
    whole = [record for of_pull in records for record in of_pull]
    start = _start_bytes(whole)
    framing = Framing("length", start, length=length, silence_s=None if start else SILENCE_S)
    why = f"records of {length} bytes" + f" that begin with {start.hex(' ').upper()}" * bool(start)
    # Text has its layout, and binary another; the same bytes can be both.
    encoding = text_encoding(whole)
    if encoding is not None:
        yield Cut(replace(framing, start=b"", silence_s=SILENCE_S), records, f"records of {length} bytes", encoding)
    yield Cut(framing, records, why)
    stop = whole[0][-1:]
    if all(record.endswith(stop) for record in whole) and stop != b"\0":
        yield Cut(replace(framing, stop=stop), records, f"{why} and end with {stop.hex().upper()}")


def _silences(heard: Heard) -> Iterator[Cut]:
    encoding = text_encoding(heard.bursts)
    if heard.is_divided and encoding is not None:
        records = tuple((burst,) for burst in heard.bursts)
        yield Cut(Framing("silence", silence_s=SILENCE_S), records, "records between silences", encoding)


def _can_be_mark(sign: bytes) -> bool:
    return len(sign) == 1 and sign.isascii() and not sign.isalnum() and sign not in _NO_MARK


def _same_first(pieces: Sequence[bytes]) -> bytes:
    first = {piece[:1] for piece in pieces}
    return first.pop() if len(first) == 1 else b""


def _start_bytes(records: Sequence[bytes]) -> bytes:
    """The one or two bytes that open every record and are not the beginning of a text or a number of small value."""
    for length in (2, 1):
        start = records[0][:length]
        is_text = all(0x20 < byte < 0x7F for byte in records[0][: length + 1])
        if all(record.startswith(start) for record in records) and 0 not in start and not is_text:
            return start
    return b""


def _record_framer(framing: Framing, longest: int, trailing: int) -> Callable[[], Framer]:
    return lambda: RecordFramer(framing, longest, trailing, lambda _: True)


def _by(heard: Heard, framer_of: Callable[[], Framer]) -> tuple[tuple[bytes, ...], ...]:
    framer = framer_of()
    pieces = [tuple(piece.raw for piece in [*framer.feed(burst), *framer.flush()]) for burst in heard.bursts]
    return tuple(pieces)
