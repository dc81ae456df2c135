"""A finding of `plan check`, and what could not be checked; both in words for whoever writes the plan."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import takewhile

from schemas.errors import PlanFault
from schemas.findings.catalogue import level_of, remedy_of, why_of
from schemas.plan.model import AdapterModel, JointModel


@dataclass(frozen=True, slots=True)
class PlanFinding:
    """One thing that is wrong (`error`) or has to be looked at (`warning`) in a plan.

    `joint` is the joint that it stands for, None where it is about the whole or a step; `line` is in the file, 0 where it
    has no place there. `what` was found, `why` it matters in one sentence, `remedy` what to do. `accepted` is the reason
    that the plan gives for letting it stand, None where it is open. `apart` are the joints of a finding that compares
    them, alike ones together; it is accepted where at most one of these is not named.
    """

    id: str
    level: str
    joint: str | None
    line: int
    what: str
    why: str
    remedy: str
    accepted: str | None = None
    apart: tuple[tuple[str, ...], ...] = ()

    @property
    def joints(self) -> tuple[str, ...]:
        """Every joint that it is about."""
        return tuple(name for group in self.apart for name in group) or (() if self.joint is None else (self.joint,))


@dataclass(frozen=True, slots=True)
class NotChecked:
    """One check that one joint did not get, and what is missing for it; no finding."""

    check: str
    joint: str
    missing: str


def finding(name: str, joint: str | None, line: int, what: str, remedy: str | None = None) -> PlanFinding:
    """A finding of a catalogued id; without a remedy of its own it has that of the catalogue."""
    return PlanFinding(name, level_of(name), joint, line, what, why_of(name), remedy or remedy_of(name))


def findings_of(faults: Iterable[PlanFault]) -> tuple[PlanFinding, ...]:
    """The structural errors of a plan that cannot be loaded, as findings."""
    return tuple(_of_fault(fault) for fault in faults)


def named(names: Iterable[str], most: int = 4) -> str:
    """Names for a sentence, not more than `most` of them: `a, b and 3 more`."""
    listed = list(dict.fromkeys(names))
    if len(listed) > most + 1:
        return f"{', '.join(listed[:most])} and {len(listed) - most} more"
    return " and ".join(filter(None, (", ".join(listed[:-1]), listed[-1])))


# Up to the first semicolon that does not stand in a text quoted from the plan.
_WHAT = re.compile(r"(?:`[^`]*`|(?!; ).)+", re.DOTALL)
_QUOTED = re.compile(r"`([^`]+)`")
_PLACE = re.compile(r"\[[0-9]+\]$")
_FIELDS = {*JointModel.model_fields, *AdapterModel.model_fields}
_JOINT_QUOTED_FIRST = {
    "angle-checked-by-torque", "covered-before-torqued", "cured-thread-moved", "fitted-after-torqued", "fitted-twice",
    "left-loose-for-good", "left-open-for-good", "named-twice", "never-fitted", "opened-before-torqued",
    "recheck-before-torqued", "retorque-before-torqued", "torqued-twice",
}  # fmt: skip
"""Errors that stand at a step; the first thing that their text quotes is the joint that they are about."""


def _of_fault(fault: PlanFault) -> PlanFinding:
    what = _WHAT.findall(fault.what)[0]
    remedy = fault.what[len(what) + len("; ") :] or remedy_of(fault.id)
    where = f"`{fault.field}`: " if fault.field else ""
    quoted = _QUOTED.findall(what) if fault.id in _JOINT_QUOTED_FIRST else []
    joint = quoted[0] if quoted else _joint_of(fault.field)
    return PlanFinding(fault.id, "error", joint, fault.line, f"{where}{what}", why_of(fault.id), remedy)


def _joint_of(field: str) -> str | None:
    """The joint of a place such as `joints.u-bolts.adapter.length`; an id may have points of its own."""
    if not field.startswith("joints."):
        return None
    parts = field.removeprefix("joints.").split(".")
    fields = len(list(takewhile(lambda part: _PLACE.sub("", part) in _FIELDS, reversed(parts[1:]))))
    return ".".join(parts[: len(parts) - fields])
