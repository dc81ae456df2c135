"""`plan check`: everything that can be said of a plan that holds together, and what could not be checked."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from schemas.findings.accept import with_acceptances
from schemas.findings.condition import condition_findings
from schemas.findings.counts import count_findings
from schemas.findings.cross_check import unit_findings
from schemas.findings.earlier import earlier_findings
from schemas.findings.finding import NotChecked, PlanFinding, named
from schemas.findings.likeness import likeness_findings
from schemas.findings.subject import Subject, subject_of
from schemas.findings.torque import torque_findings
from schemas.findings.wheels import wheel_findings
from schemas.findings.wrenches import wrench_findings
from schemas.mechanics.preload import read_k_ranges
from schemas.plan.load import LoadedPlan
from schemas.route import Route
from schemas.wrench import Wrench

_FAMILIES: tuple[Callable[[Subject], Iterator[PlanFinding | NotChecked]], ...] = (
    torque_findings, condition_findings, likeness_findings, wrench_findings, wheel_findings, earlier_findings, unit_findings,
    count_findings,
)  # fmt: skip

PLAUSIBILITY = "this is plausibility, not joint design: the maker's value rules"


@dataclass(frozen=True, slots=True)
class Checked:
    """The findings in the order of lines, accepted ones among them, and a line for each check that joints did not get."""

    findings: tuple[PlanFinding, ...]
    not_checked: tuple[str, ...]

    @property
    def open(self) -> tuple[PlanFinding, ...]:
        """Those that the plan does not accept."""
        return tuple(found for found in self.findings if found.accepted is None)


def check_plan(
    loaded: LoadedPlan,
    wrenches: Sequence[Wrench] = (),
    earlier_routes: Sequence[Route] = (),
    k_overrides: Mapping[str, str] | None = None,
) -> Checked:
    """Look for mistakes in a plan.

    Args:
        loaded: the plan as `load_whole` gives it.
        wrenches: the register; while it is empty, ranges and adapters are not checked.
        earlier_routes: other contents of the same plan, the latest first.
        k_overrides: the shop's own nut factors by preparation, as `read_k_ranges` takes them; ValueError as it raises.
    """
    subject = subject_of(loaded, tuple(wrenches), tuple(earlier_routes), read_k_ranges(k_overrides or {}))
    found: dict[PlanFinding, None] = {}
    lacking: dict[tuple[str, str], dict[str, None]] = {}
    for family in _FAMILIES:
        for each in family(subject):
            # Two mirrored joints are one place in the file, and give each finding once.
            if isinstance(each, PlanFinding):
                found[each] = None
            else:
                lacking.setdefault((each.check, each.missing), {})[each.joint] = None
    judged = sorted(with_acceptances(subject, list(found)), key=lambda each: (each.line, each.id))
    lines = tuple(_line(check, missing, list(joints)) for (check, missing), joints in lacking.items())
    return Checked(tuple(judged), lines)


def _line(check: str, missing: str, joints: list[str]) -> str:
    who = joints[0] if len(joints) == 1 else f"{len(joints)} joints ({named(joints)})"
    return f"{check}, {who}: {missing}"
