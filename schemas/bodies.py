"""The bodies of ledger entries, one frozen class a kind; a later field is added at the end with a default, never changed.

In the ledger a body is an object of strings, integers, lists and objects. Fields that are None are left out. Claims are
1 or left out. Torque, angle and probability are digit strings. `simulated` is 1 on everything from a simulated source.
The classes stand in `job_bodies`, `pull_bodies` and `register_bodies`; everybody takes them from here.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields
from operator import attrgetter
from typing import Any, ClassVar, Protocol, TypeVar

from schemas.entry import Json
from schemas.errors import RecordError
from schemas.job_bodies import Decided as Decided
from schemas.job_bodies import FindingsOpen as FindingsOpen
from schemas.job_bodies import HandedOver as HandedOver
from schemas.job_bodies import JobClosed as JobClosed
from schemas.job_bodies import JobOpened as JobOpened
from schemas.job_bodies import JointAdded as JointAdded
from schemas.job_bodies import LinkKept as LinkKept
from schemas.job_bodies import LogTaken as LogTaken
from schemas.job_bodies import PlanChanged as PlanChanged
from schemas.job_bodies import ReportIssued as ReportIssued
from schemas.job_bodies import Signed as Signed
from schemas.pull_bodies import CountKept as CountKept
from schemas.pull_bodies import FrameKept as FrameKept
from schemas.pull_bodies import MatchKept as MatchKept
from schemas.pull_bodies import NotRead as NotRead
from schemas.pull_bodies import ReadingKept as ReadingKept
from schemas.register_bodies import Calibrated as Calibrated
from schemas.register_bodies import CheckFile as CheckFile
from schemas.register_bodies import CheckMade as CheckMade
from schemas.register_bodies import CheckNotTaken as CheckNotTaken
from schemas.register_bodies import CheckVoided as CheckVoided
from schemas.register_bodies import HabitsLearned as HabitsLearned
from schemas.register_bodies import PersonNamed as PersonNamed
from schemas.register_bodies import PlanKept as PlanKept
from schemas.register_bodies import SessionOpened as SessionOpened
from schemas.register_bodies import WrenchAdded as WrenchAdded
from schemas.register_bodies import WrenchMeasured as WrenchMeasured

PROGRAM = "program"
"""Who an entry is by when no person said it."""


class Body(Protocol):
    """What every body class has: the kind of its entry."""

    KIND: ClassVar[str]


BODIES: Mapping[str, type[Body]] = {
    body.KIND: body
    for body in (
        SessionOpened, PersonNamed, PlanKept, WrenchAdded, WrenchMeasured, Calibrated, CheckFile, CheckMade, CheckNotTaken,
        CheckVoided, JobOpened, FindingsOpen, JobClosed, JointAdded, PlanChanged, HandedOver, LogTaken, FrameKept, ReadingKept,
        NotRead, MatchKept, Decided, Signed, LinkKept, ReportIssued, CountKept, HabitsLearned,
    )
}  # fmt: skip


def _fields(body: type[Body]) -> tuple[tuple[str, ...], Callable[[Body], tuple[Any, ...]]]:
    """The names of a body's fields, and what gives their values; every entry that is written comes here."""
    names = tuple(field.name for field in fields(body))  # type: ignore[arg-type]  # all of them are dataclasses
    return names, attrgetter(*names) if len(names) > 1 else lambda one: (getattr(one, names[0]),)


_FIELDS = {kind: _fields(body) for kind, body in BODIES.items()}

_LISTS = frozenset({"notes", "open", "findings", "jobs"})

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
    values = {name: tuple(value) if name in _LISTS and isinstance(value, list) else value for name, value in packed.items()}
    try:
        return body_class(**values)
    except TypeError as error:
        raise RecordError(f"ledger entry of kind `{kind}` with fields that do not fit: {error}") from error
