"""A plan against the register of wrenches: ranges, adapters, and bands that are finer than the wrench."""

from collections.abc import Iterator
from decimal import Decimal

from schemas.adapter import IN_LINE
from schemas.findings.finding import NotChecked, PlanFinding
from schemas.findings.subject import Seen, Subject, missing
from schemas.plan.cover import covering, uncovered
from schemas.units import torque_text

WIDE_SHARE = Decimal("0.25")
"""Of the whole width of the band: a permissible error above it, taken off at both edges, leaves less than half of it."""

_RIGHT_ANGLE = 90


def wrench_findings(subject: Subject) -> Iterator[PlanFinding | NotChecked]:
    """What no registered wrench can do, or none well enough; while none is registered, only that it was not checked."""
    registered = {wrench.id for wrench in subject.wrenches}
    for seen in subject.joints:
        adapter = seen.joint.adapter
        if adapter is not None and adapter.angle_deg == _RIGHT_ANGLE:
            what = f"its adapter stands at a right angle, and what the wrench shows is not changed by it; {IN_LINE}"
            yield subject.found("adapter-needs-no-correction", seen, "adapter", what)
        if not seen.joint.stages:
            continue
        if not registered:
            yield missing("range and precision of the wrench", seen, "no wrench is registered")
            continue
        if seen.joint.drag == "measured":
            yield missing("range of the wrench with the drag", seen, "the drag is measured on the job")
        unknown = [name for name in seen.joint.wrenches if name not in registered]
        # Where all are unknown, that none covers says it.
        if unknown and len(unknown) < len(seen.joint.wrenches):
            what = f"{', '.join(unknown)} {'is' if len(unknown) == 1 else 'are'} not in the register"
            yield subject.found("names-unknown-wrench", seen, "wrench", what)
        yield from _too_coarse(subject, seen)
    joints = {seen.joint.id: seen for seen in subject.joints}
    for gap in uncovered(subject.loaded.route, subject.wrenches):
        what, _, remedy = gap.what.partition("; ")
        yield subject.found(gap.id, joints[gap.joint], "wrench", what, remedy)


def _too_coarse(subject: Subject, seen: Seen) -> Iterator[PlanFinding]:
    """Where even the finest wrench that covers the final has a permissible error that is wide beside the band."""
    covers = covering(seen.joint, seen.joint.final, subject.wrenches)
    if not covers:
        return
    finest = min(covers, key=lambda wrench: wrench.limit_percent)
    band = seen.joint.final.band
    error, width = band.target * finest.limit_percent / 100, band.high - band.low
    if error <= WIDE_SHARE * width:
        return
    unit = seen.joint.unit
    name = "tolerance-finer-than-any-wrench" if 2 * error > width else "uncertainty-wide-for-the-band"
    what = (
        f"the finest wrench for it, {finest.id}, may be off by {_rounded(error)} {unit} to either side "
        f"({finest.limit_percent:f} %), and the band is {torque_text(width)} {unit} wide: {100 * error / width:.0f} % of it"
    )
    yield subject.found(name, seen, "tolerance", what)


def _rounded(value: Decimal) -> str:
    return f"{value:.3g}"
