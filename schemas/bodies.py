"""The bodies of ledger entries, one frozen class a kind; a later field is added at the end with a default, never changed.

In the ledger a body is an object of strings, integers, lists and objects. Fields that are None are left out. Claims are
1 or left out. Torque, angle and probability are digit strings. `simulated` is 1 on everything from a simulated source.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from operator import attrgetter
from typing import Any, ClassVar, Protocol, TypeVar

from schemas.entry import Json
from schemas.errors import RecordError

PROGRAM = "program"
"""Who an entry is by when no person said it."""


class Body(Protocol):
    """What every body class has: the kind of its entry."""

    KIND: ClassVar[str]


@dataclass(frozen=True, slots=True)
class SessionOpened:
    """A program opened the database for writing."""

    KIND: ClassVar[str] = "session"
    program: str
    ledger_format: int
    plan_format: int
    python: str
    sqlite: str


@dataclass(frozen=True, slots=True)
class PersonNamed:
    """A person got an id; the name lies in the side table."""

    KIND: ClassVar[str] = "person"
    person: str
    name_sha256: str


@dataclass(frozen=True, slots=True)
class PlanKept:
    """A plan revision as it was read: its file's text and hash, and the route with stored band edges made from it."""

    KIND: ClassVar[str] = "plan"
    plan: str
    file: str
    file_sha256: str
    content_sha256: str
    text: str
    route: Mapping[str, Json]


@dataclass(frozen=True, slots=True)
class WrenchAdded:
    """A wrench entered the register; range in N·m beside the unit that it was given in."""

    KIND: ClassVar[str] = "wrench"
    wrench: str
    serial: str
    type: str
    low: str
    high: str
    unit: str
    low_nm: str
    high_nm: str
    measures: str
    simulated: int | None = None
    limit_percent: str | None = None


@dataclass(frozen=True, slots=True)
class Calibrated:
    """A laboratory calibrated a wrench: certificate, day, last day on which it is in date, span in N·m.

    `adjusted` is 1 where it was set anew on that occasion, so that what it showed before says nothing of it any more.
    """

    KIND: ClassVar[str] = "calibration"
    wrench: str
    certificate: str
    calibrated_on: str
    due_on: str
    low_nm: str
    high_nm: str
    simulated: int | None = None
    adjusted: int | None = None


@dataclass(frozen=True, slots=True)
class CheckFile:
    """A file of checks was read in; its rows follow as entries that name this one."""

    KIND: ClassVar[str] = "check file"
    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class CheckMade:
    """A wrench was held against a reference: typed in, or from `line` of entry `file` with its `raw` bytes in hex.

    `checked_at` is a day, or an instant in UTC (RFC 3339). `reference` and `shown` are digits as given in `unit`.
    `identity` tells a row of a file from every other.
    """

    KIND: ClassVar[str] = "check"
    wrench: str
    checked_at: str
    reference: str
    shown: str
    unit: str
    reference_nm: str
    shown_nm: str
    file: int | None = None
    line: int | None = None
    raw: str | None = None
    identity: str | None = None
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class CheckNotTaken:
    """A row of a file of checks that cannot be one, with its raw bytes in hex and the reason."""

    KIND: ClassVar[str] = "check not taken"
    file: int
    line: int
    raw: str
    reason: str


@dataclass(frozen=True, slots=True)
class CheckVoided:
    """A named person takes back the check in entry `check`; it stays on record and counts no more."""

    KIND: ClassVar[str] = "check void"
    check: int
    reason: str


@dataclass(frozen=True, slots=True)
class JobOpened:
    """A job began on one item after the plan in entry `plan`; item lies in the side table, fitter is a person's id."""

    KIND: ClassVar[str] = "job"
    job: str
    plan: int
    item_sha256: str
    order: str
    fitter: str
    workshop: str
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class JobClosed:
    """A named person closed the job; nothing is added to it afterwards."""

    KIND: ClassVar[str] = "job closed"
    job: str


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
    record of a log from every other.
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


@dataclass(frozen=True, slots=True)
class Decided:
    """What a named person said during the job; `count` of `of` stripes seen, `reading` where it speaks of one."""

    KIND: ClassVar[str] = "decision"
    job: str
    said: str
    joint: str | None = None
    position: int | None = None
    count: int | None = None
    of: int | None = None
    reading: int | None = None
    simulated: int | None = None


@dataclass(frozen=True, slots=True)
class Signed:
    """A named person signed a hold point, or the snug round of a joint (`snug` is then its id)."""

    KIND: ClassVar[str] = "signature"
    job: str
    role: str
    hold_point: str | None = None
    snug: str | None = None
    simulated: int | None = None


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


BODIES: Mapping[str, type[Body]] = {
    body.KIND: body
    for body in (
        SessionOpened, PersonNamed, PlanKept, WrenchAdded, Calibrated, CheckFile, CheckMade, CheckNotTaken, CheckVoided,
        JobOpened, JobClosed, LogTaken, FrameKept, ReadingKept, NotRead, MatchKept, Decided, Signed, LinkKept, ReportIssued,
    )
}  # fmt: skip


def _fields(body: type[Body]) -> tuple[tuple[str, ...], Callable[[Body], tuple[Any, ...]]]:
    """The names of a body's fields, and what gives their values; every entry that is written comes here."""
    names = tuple(field.name for field in fields(body))  # type: ignore[arg-type]  # all of them are dataclasses
    return names, attrgetter(*names) if len(names) > 1 else lambda one: (getattr(one, names[0]),)


_FIELDS = {kind: _fields(body) for kind, body in BODIES.items()}

BodyT = TypeVar("BodyT")


def pack_body(body: Body) -> dict[str, Json]:
    """A body as it stands in the ledger; None is left out, tuples become lists."""
    names, values_of = _FIELDS[body.KIND]
    return {
        name: list(value) if type(value) is tuple else value
        for name, value in zip(names, values_of(body), strict=True)
        if value is not None
    }


def parse_body(kind: str, packed: Mapping[str, Json]) -> Body:
    """The body of an entry of that kind; RecordError for a kind or a field that this program does not know."""
    body_class = BODIES.get(kind)
    if body_class is None:
        raise RecordError(f"ledger entry of the unknown kind `{kind}`; a newer program may have written it: update this one")
    values = {name: tuple(value) if name == "notes" and isinstance(value, list) else value for name, value in packed.items()}
    try:
        return body_class(**values)
    except TypeError as error:
        raise RecordError(f"ledger entry of kind `{kind}` with fields that do not fit: {error}") from error
