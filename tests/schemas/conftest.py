"""What tests of findings share: a plan from a few lines of joints and steps, checked."""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

import pytest

from schemas.findings.check import Checked, check_plan
from schemas.plan.load import load_plan, load_whole
from schemas.wrench import Wrench

HEAD = "plan: axle\ntitle: Axle\nrevision: {revision}\nsource: Made up\nunit: N·m\ntolerance: 10 %\n{head}"


def plan_text(joints: Sequence[str], steps: Sequence[str] = (), head: str = "", revision: str = "B") -> str:
    """A plan of joints written as the inside of braces; a name and a count of fasteners are added where they are not said."""
    lines = [HEAD.format(head=head, revision=revision), "joints:\n"]
    for joint in joints:
        added = [f"{field}: {value}, " for field, value in (("name", "Bolts"), ("fasteners", "4")) if f"{field}:" not in joint]
        lines.append(f"  - {{{''.join(added)}{joint}}}\n")
    if steps:
        lines += ["steps:\n", *(f"  - {{{step}}}\n" for step in steps)]
    return "".join(lines)


def check(
    *joints: str,
    steps: Sequence[str] = (),
    head: str = "",
    wrenches: Sequence[Wrench] = (),
    earlier: Sequence[Sequence[str]] = (),
    k: Mapping[str, str] | None = None,
) -> Checked:
    """A plan checked; `earlier` are the joints of earlier revisions, the latest first."""
    routes = [
        load_plan(plan_text(each, revision=f"A{number}").encode(), "axle.yaml") for number, each in enumerate(earlier, start=1)
    ]
    return check_plan(load_whole(plan_text(joints, steps, head).encode(), "axle.yaml"), wrenches, routes, k)


@pytest.fixture(name="check", scope="session")
def _check() -> Callable[..., Checked]:
    """Checks a plan made of joints; see the function of that name."""
    return check


@pytest.fixture(name="wrench", scope="session")
def _wrench() -> Callable[..., Wrench]:
    """Makes a registered wrench: id, ends of its range in N·m, permissible error in percent, length in mm."""

    def make(name: str, low: int, high: int, limit: str = "4", length_mm: str | None = None) -> Wrench:
        length = None if length_mm is None else Decimal(length_mm)
        return Wrench(
            name, "SN", "indicating", Decimal(low), Decimal(high), "N·m", "highest", Decimal(limit), length_mm=length
        )  # fmt: skip

    return make


@pytest.fixture(name="ids", scope="session")
def _ids() -> Callable[[Checked], list[tuple[str, str | None]]]:
    """The open findings of a check, each as id and joint, in order."""
    return lambda checked: [(found.id, found.joint) for found in checked.open]
