"""The bodies of entries about what a wrench sent, each with its `job`, and what is made of it. See `schemas.bodies`."""

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class FrameKept:
    """Raw bytes as they came, before anybody understood them. `raw` is hex; the marks are those of `Frame`."""

    KIND: ClassVar[str] = "frame"
    job: str
    source: str
    raw: str
    wire: str
    after_open: int | None = None
    overlong: int | None = None
    cut: int | None = None
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class ReadingKept:
    """One value: from entry `frame`, or from `line` of the log in entry `log` with its raw bytes inside.

    `raw` is hex, the row as it stands in the log. `fit` is 1 where the wrench was fit at that moment, else `unfit` says
    why not. `missing` names sequence numbers ("3-4") that were passed over just before this one. `identity` tells a
    record of a log from every other. `length_mm` is the wrench's length to the grip mark as the register had it.
    `measures` is what the record says that its value is, else what the register has of the wrench. `serial` is the tool's
    serial number and `battery` its charge, both as sent; `battery_low` is 1 where the record says so.
    `pulled_at` is the tool's time where `tool_time` does not stand for itself: ISO 8601, with offset where the instant is
    certain, without where only its wall clock is, `unknown` where it tells nothing.
    """

    KIND: ClassVar[str] = "reading"
    job: str
    frame: int | None = None
    log: int | None = None
    line: int | None = None
    raw: str | None = None
    identity: str | None = None
    wrench: str | None = None
    measures: str | None = None
    torque: str | None = None
    unit: str | None = None
    torque_nm: str | None = None
    over_range: int | None = None
    sequence: int | None = None
    missing: str | None = None
    tool_time: str | None = None
    angle_deg: str | None = None
    notes: tuple[str, ...] | None = None
    fit: int | None = None
    unfit: str | None = None
    simulated: int | None = None
    length_mm: str | None = None
    serial: str | None = None
    battery: str | None = None
    battery_low: int | None = None
    pulled_at: str | None = None


@dataclass(frozen=True, slots=True)
class NotRead:
    """A frame, or a row of a log, that gave no reading; `fate` is unreadable or set aside."""

    KIND: ClassVar[str] = "not read"
    job: str
    fate: str
    reason: str
    frame: int | None = None
    log: int | None = None
    line: int | None = None
    raw: str | None = None
    identity: str | None = None
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class MatchKept:
    """Where a reading belongs and what is said of it; `revises` names the match entry that it takes the place of.

    `low` and `high` are the edges it was judged by, in N·m; `high_is_over` is 1 where the upper edge itself is over.
    `angle_low`, `angle_high` are those of an angle in degrees. `adapter` says through which lever the edges were worked out,
    `drag` in N·m how much a measured drag moved them. `takes_back` is 1 on a revision that says otherwise than the fitter was
    shown.
    """

    KIND: ClassVar[str] = "match"
    job: str
    reading: int
    kind: str
    reason: str
    joint: str | None = None
    stage: int | None = None
    position: int | None = None
    position_by: str | None = None
    verdict: str | None = None
    p: str | None = None
    low: str | None = None
    high: str | None = None
    high_is_over: int | None = None
    revises: int | None = None
    simulated: int | None = None
    angle_low: str | None = None
    angle_high: str | None = None
    adapter: str | None = None
    drag: str | None = None
    takes_back: int | None = None


@dataclass(frozen=True, slots=True)
class CountKept:
    """The probability that every fastener of a joint got its tightening at a stage, in or out of band; the last one counts.

    Without `joint` and `stage` it is of the whole job: every measured stage of every joint. `habits` is the entry of the
    parameters used, None those that come with the program.
    """

    KIND: ClassVar[str] = "count"
    job: str
    p: str
    joint: str | None = None
    stage: int | None = None
    habits: int | None = None
    simulated: int | None = None
