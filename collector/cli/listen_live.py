"""Listens to a source whose format nobody knows: shows its bytes as they come, and keeps them pull by pull."""

import queue
import threading
from functools import partial
from types import TracebackType
from typing import TextIO

from collector.acquire.framing_silence import SilenceFramer
from collector.acquire.serial_port import SerialSource
from collector.acquire.source import FrameSource
from collector.cli.listen_said import burst_lines, choice_lines
from collector.cli.place import tell
from collector.listen.cut import LONGEST_BYTES
from collector.listen.heard import About, Heard, read_about
from collector.listen.propose import propose
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason, UnitError
from schemas.frame import Frame, LinkChange
from schemas.units import find_unit
from schemas.words import Link

# Longer than any pause inside a record at the usual speeds, and short beside the hand that pulls.
SILENCE_S = 0.1
SILENT_FRAMER = partial(SilenceFramer, SILENCE_S, LONGEST_BYTES)
_HELP = """\
Pull once, then type what the wrench showed, such as 50 or 50.2 Nm; Enter alone where it is not known.
At least 3 pulls with 2 different values, best one of them the other way (a loosening, typed with a minus).
`2=80` types the value of pull 2 again; `end` proposes a format."""


def source_of(kind: str, where: str, clock: Clock, baud: int, dtr: bool) -> FrameSource:
    """A live source that gives its bytes as they come, cut only where it falls silent."""
    if kind == "serial":
        return SerialSource(where, clock, SILENT_FRAMER, baud, dtr=dtr)
    from collector.acquire.ble import BleSource  # slow to load, as the library behind it is
    from collector.acquire.ble_where import ble_where

    return BleSource(ble_where(where), clock, SILENT_FRAMER)


class Ear:
    """A source that is being read, on a thread of its own, for as long as the `with` lasts; it shows what comes."""

    def __init__(self, source: FrameSource) -> None:
        self._source = source
        self._came: queue.SimpleQueue[Frame | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._read, name="source")
        self._last_ns: int | None = None

    def __enter__(self) -> "Ear":
        self._source.open()
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._source.close()
        self._thread.join()

    def taken(self) -> bytes:
        """What came since the last call."""
        frames = [self._came.get() for _ in range(self._came.qsize())]
        return b"".join(frame.raw for frame in frames if frame is not None)

    def next_pull(self, gap_s: float) -> bytes:
        """The bytes that come until the source is silent for that long; waits for the first.

        Raises:
            SourceError: the source has ended.
        """
        first = self._came.get()
        raw = b""
        while first is not None:
            raw += first.raw
            try:
                first = self._came.get(timeout=gap_s)
            except queue.Empty:
                return raw
        raise SourceError("the source ended before all pulls had come; look at the cable, and begin again", SourceReason.MISSING)

    def _read(self) -> None:
        try:
            self._source.run(self._put)
        except Exception as error:  # noqa: BLE001  # on its own thread it would be lost, and the program would wait for ever
            tell(f"the source failed: {error!r}")
        self._came.put(None)

    def _put(self, came: Frame | LinkChange) -> None:
        if isinstance(came, LinkChange):
            if came.link is not Link.ENDED:
                tell(f"{came.source}: {came.link}{f', {came.detail}' if came.detail else ''}")
            return
        since_s = None if self._last_ns is None else (came.mono_ns - self._last_ns) / 1e9
        self._last_ns = came.mono_ns
        # First kept and then shown: whoever sees it may type its value at once.
        self._came.put(came)
        for line in burst_lines(came, since_s):
            tell(line)


def hear_list(ear: Ear, abouts: tuple[About | None, ...], gap_s: float) -> Heard:
    """As many pulls as values are known, each ended by a silence."""
    bursts = []
    for number, about in enumerate(abouts, 1):
        tell(f"pull {number} of {len(abouts)}: {about or 'value not known'}")
        bursts.append(ear.next_pull(gap_s))
    return Heard(tuple(bursts), abouts)


def hear_typed(ear: Ear, keys: TextIO) -> Heard:
    """Pulls whose values a person types one after the other, until `end`; or until nobody is at the keyboard any more."""
    heard = Heard((), ())
    tell(_HELP)
    while True:
        tell(f"pull {len(heard.bursts) + 1}, what did the wrench show?")
        line = keys.readline()
        why = heard.why_too_few()
        if not line or (line.strip() == "end" and why is None):
            return heard
        try:
            if line.strip() == "end":
                raise ValueError(why)
            heard = _with(heard, ear, line)
        except (ValueError, UnitError) as error:
            tell(str(error))


def asked_about(keys: TextIO) -> About | None:
    """A value that a person types, asked for again where it is none; None where there is nothing to say."""
    while True:
        try:
            return read_about(keys.readline())
        except (ValueError, UnitError) as error:
            tell(str(error))


def asked_unit(keys: TextIO) -> str | None:
    """The unit that a wrench sends in, our symbol, asked for again where it is none; None where nobody knows."""
    while True:
        tell("no field holds a unit; in which unit does the wrench send? (N·m, lbf·ft, …)")
        typed = keys.readline().strip()
        try:
            return find_unit(typed)[0].symbol if typed else None
        except UnitError as error:
            tell(str(error))


def _with(heard: Heard, ear: Ear, line: str) -> Heard:
    number, is_again, again = line.partition("=")
    if is_again:
        if not number.strip().isdecimal() or not 1 <= int(number) <= len(heard.bursts):
            raise ValueError(f"`{number.strip()}` is no pull; the pulls are 1 to {len(heard.bursts)}")
        abouts = list(heard.abouts)
        abouts[int(number) - 1] = read_about(again)
        heard = Heard(heard.bursts, tuple(abouts))
    else:
        about = read_about(line)
        burst = ear.taken()
        if not burst:
            raise ValueError("no byte came since the last pull; pull first, then type the value")
        heard = Heard((*heard.bursts, burst), (*heard.abouts, about))
    if heard.why_too_few() is None:
        _tell_so_far(heard)
    return heard


def _tell_so_far(heard: Heard) -> None:
    proposed = propose(heard)
    if len(proposed.drafts) == 1:
        tell(f"one wire format fits: the torque is {proposed.drafts[0].place}; pull more, or type `end`")
        return
    for line in choice_lines(proposed.drafts) if proposed.drafts else proposed.refusals:
        tell(line)
