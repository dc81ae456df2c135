"""Makes the live sources that were asked for, each with how it is read."""

import sys
from collections.abc import Mapping, Sequence
from functools import partial

from collector.acquire.framing import framer_of
from collector.acquire.keys import ANSWER, KeysSource
from collector.acquire.serial_port import SerialSource
from collector.acquire.source import FrameSource
from collector.bench import Feed
from collector.cli.asked_source import AskedSource
from collector.cli.line_answers import LineAnswers
from collector.cli.place import tell
from collector.cli.wire_named import read_wire
from schemas.clock import Clock
from schemas.errors import SourceError, SourceReason
from schemas.wire_format import WireFormat


def feed_of(asked: AskedSource) -> Feed:
    """How a source is read; SourceError or PlanError where its wire format cannot be used with it."""
    wire, is_typed = read_wire(asked.wire), asked.kind == "keys"
    if is_typed and wire.framing.by != "line":
        what = f"`{asked.source}` brings lines of text, and the records of wire format `{wire.name}` are none"
        raise SourceError(f"{what}; name another with --wire", SourceReason.NOT_READABLE)
    if is_typed and wire.begins.startswith(ANSWER.decode()):
        what = f"lines of wire format `{wire.name}` begin as an answer does, with `/`; have the instrument begin them otherwise"
        raise SourceError(what, SourceReason.NOT_READABLE)
    return Feed(wire, asked.wrench, is_typed)


def live_source(asked: AskedSource, feed: Feed, clock: Clock, answers: LineAnswers | None) -> FrameSource:
    """The source itself, not opened yet; `answers` takes what a person types between the lines of `keys:`."""
    framer = partial(framer_of, feed.wire)
    if answers is not None and feed.is_typed:
        return KeysSource(sys.stdin, clock, framer, answers.take, partial(_is_mixed, feed.wire))
    if asked.kind == "serial":
        return SerialSource(asked.where, clock, framer, asked.baud, dtr=asked.dtr)
    from collector.acquire.ble import BleSource  # slow to load, as the library behind it is
    from collector.acquire.ble_where import ble_where

    source = BleSource(ble_where(asked.where), clock, framer, feed.wire.bluetooth)
    tell(f"looking for {source.name}, which may take a moment")
    return source


def _is_mixed(wire: WireFormat, line: bytes) -> bool:
    """Whether the instrument typed into an answer; then it is told."""
    text, divided = line.decode(wire.encoding, "replace"), wire.delimiter.strip() and len(wire.fields) > 1
    mixed = wire.begins in text if wire.begins else divided and text.count(wire.delimiter) >= len(wire.fields) - 1
    if mixed:
        tell("an answer and a line of the instrument ran together: nothing was answered, and the line is kept; type it again")
    return bool(mixed)


def feeds_by_name(sources: Sequence[FrameSource], feeds: Sequence[Feed]) -> Mapping[str, Feed]:
    """The feed of each source by its name; of several each is told. SourceError where one is named twice."""
    names = [source.name for source in sources]
    if twice := next((name for name in names if names.count(name) > 1), None):
        raise SourceError(f"`{twice}` is named twice; name each wrench with --from once", SourceReason.NOT_READABLE)
    wrenches = [feed.wrench for feed in feeds if feed.wrench]
    if twice := next((wrench for wrench in wrenches if wrenches.count(wrench) > 1), None):
        what = f"wrench `{twice}` is named for two sources, and each of its pulls might count twice; give each its own --wrench"
        raise SourceError(what, SourceReason.NOT_READABLE)
    by_name = dict(zip(names, feeds, strict=True))
    for name, feed in by_name.items() if len(names) > 1 else ():
        tell(f"{name}: read as {feed.wire.name}, wrench {feed.wrench or 'as its records say'}")
    return by_name
