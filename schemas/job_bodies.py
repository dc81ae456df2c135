"""The bodies of entries that belong to a job, each with its `job`. See `schemas.bodies`."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from schemas.entry import Json


@dataclass(frozen=True, slots=True)
class JobOpened:
    """A job began on one item after the plan in entry `plan`; item lies in the side table, fitter is a person's id.

    A short job follows job `follows` and does its retorque step `step`; `distance` is what the item has gone since.
    `p_limit` is from where on a probability counts as sure, where the shop asks for more than 0.99.
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
    p_limit: str | None = None


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
    """A log file was read in; its rows follow as readings that name this entry.

    `notes` say how it was read and how that is known, one line each; what was declared was declared by whom the entry names.
    """

    KIND: ClassVar[str] = "log"
    job: str
    file: str
    sha256: str
    notes: tuple[str, ...] | None = None


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
