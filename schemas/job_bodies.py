"""The bodies of entries that belong to a job, each with its `job`. See `schemas.bodies`."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from schemas.entry import Json


@dataclass(frozen=True, slots=True)
class JobOpened:
    """A job began on one item after the plan in entry `plan`; item lies in the side table, fitter is a person's id.

    A short job follows job `follows` and does its retorque step `step`; `distance` is what the item has gone since.
    """

    KIND: ClassVar[str] = "job"
    job: str
    plan: int
    item_sha256: str
    order: str
    fitter: str
    workshop: str
    simulated: int | None = None
    follows: str | None = None
    step: int | None = None
    distance: str | None = None


@dataclass(frozen=True, slots=True)
class JobClosed:
    """A named person closed the job; nothing is added to it afterwards. `outcome` where it is not simply closed, and why."""

    KIND: ClassVar[str] = "job closed"
    job: str
    outcome: str | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class FindingsOpen:
    """What `plan check` had found on the plan when the job was opened, and nobody had accepted; one line each."""

    KIND: ClassVar[str] = "plan findings"
    job: str
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class JointAdded:
    """A named person added a joint that the plan does not have: as it is worked, and the source of its figures."""

    KIND: ClassVar[str] = "joint added"
    job: str
    joint: Mapping[str, Json]
    source: str


@dataclass(frozen=True, slots=True)
class PlanChanged:
    """A named person decided that an open job goes on after the plan in entry `plan`."""

    KIND: ClassVar[str] = "plan changed"
    job: str
    plan: int
    reason: str


@dataclass(frozen=True, slots=True)
class HandedOver:
    """The work passes from a person to another; each signs what is open, the leaver first: `signs` is leaver or taker."""

    KIND: ClassVar[str] = "hand-over"
    job: str
    signs: str
    leaver: str
    taker: str
    open: tuple[str, ...]
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class LogTaken:
    """A log file was read in; its rows follow as readings that name this entry."""

    KIND: ClassVar[str] = "log"
    job: str
    file: str
    sha256: str


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
    `drag` in N·m how much a measured drag moved them.
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


@dataclass(frozen=True, slots=True)
class Decided:
    """What a named person said during the job; `count` of `of` stripes seen, `reading` where it speaks of one.

    `reason` is why; `value` in `unit` what was measured or declared, with which `tool`; `lot` names the compound used.
    `step` is the plan's step that it answers: a planned opening, the turning by an angle.
    """

    KIND: ClassVar[str] = "decision"
    job: str
    said: str
    joint: str | None = None
    position: int | None = None
    count: int | None = None
    of: int | None = None
    reading: int | None = None
    simulated: int | None = None
    reason: str | None = None
    value: str | None = None
    unit: str | None = None
    tool: str | None = None
    lot: str | None = None
    step: int | None = None


@dataclass(frozen=True, slots=True)
class Signed:
    """A named person signed a hold point, the snug round of joint `snug`, or as second person the joint `second`.

    `value` in `unit` is what was measured at the hold point; outside its limits the hold point stays open.
    """

    KIND: ClassVar[str] = "signature"
    job: str
    role: str
    hold_point: str | None = None
    snug: str | None = None
    simulated: int | None = None
    second: str | None = None
    value: str | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class LinkKept:
    """The link changed; `joint` was in hand."""

    KIND: ClassVar[str] = "link"
    job: str
    source: str
    link: str
    joint: str | None = None
    detail: str | None = None
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class ReportIssued:
    """A report left the program: its hash and length, and the tree that it was made from."""

    KIND: ClassVar[str] = "report issued"
    job: str
    form: str
    sha256: str
    length: int
    tree_size: int
    tree_head: str
