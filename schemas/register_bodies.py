"""The bodies of entries that belong to no job: sessions, persons, plans, wrenches, checks, habits. See `schemas.bodies`."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from schemas.entry import Json


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
    """A wrench entered the register; range in N·m beside the unit that it was given in.

    `length_mm` runs from the drive's centre to the grip mark, where it is known.
    """

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
    length_mm: str | None = None


@dataclass(frozen=True, slots=True)
class WrenchMeasured:
    """A wrench's length from the drive's centre to the grip mark was entered; the last one counts."""

    KIND: ClassVar[str] = "wrench length"
    wrench: str
    length_mm: str


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
class HabitsLearned:
    """How this shop pulls, in the numbers that matching goes by, learned from its own `jobs`; the last entry counts.

    `figures` are digit strings by the ASCII name of the parameter, `version` counts the sets from 1; `method` says how they were
    learned. `simulated` is 1 where the jobs were: such a set is for simulated jobs alone.
    """

    KIND: ClassVar[str] = "habits"
    version: int
    figures: Mapping[str, str]
    jobs: tuple[str, ...]
    method: str
    simulated: int | None = None
