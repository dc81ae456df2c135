"""A plan against the same plan as it was kept before: torques that changed by just the factor of a slip."""

from collections.abc import Iterator
from decimal import Decimal

from schemas.findings.finding import PlanFinding
from schemas.findings.subject import Subject, quoted, torque_field
from schemas.route import Joint

WITHIN = 0.03
"""How far a ratio may lie from the factor of a slip: figures are rounded when they are typed in another unit."""

# NIST Special Publication 811 (2008), Appendix B, for the factors between units.
SLIPS: tuple[tuple[float, str], ...] = (
    (1.3558, "N·m and lbf·ft"),
    (8.8507, "N·m and lbf·in"),
    (9.8067, "N·m and kgf·m"),
    (10.0, "a decimal point, or N·m and daN·m"),
    (12.0, "lbf·ft and lbf·in"),
    (7.2330, "kgf·m and lbf·ft"),
)
"""Factors that come from a slip, with what is mixed up then; each is looked for both ways."""


def earlier_findings(subject: Subject) -> Iterator[PlanFinding]:
    """Joints whose torque differs from the latest earlier one by the factor of a slip."""
    before = earlier_joints(subject)
    for seen in subject.joints:
        if seen.torque_nm is None or seen.joint.id not in before:
            continue
        revision, joint = before[seen.joint.id]
        slip = _slip(seen.joint.final.band.target_nm, joint.final.band.target_nm)
        if slip is not None:
            what = f"{quoted(seen)} here, {joint.final.band.target:f} {joint.unit} in revision {revision}: the factor of {slip}"
            yield subject.found("unlike-earlier-revision", seen, torque_field(seen), what)


def earlier_joints(subject: Subject) -> dict[str, tuple[str, Joint]]:
    """By the id the latest earlier form of each joint that has a torque, with its revision."""
    found: dict[str, tuple[str, Joint]] = {}
    for route in subject.earlier:
        for joint in route.joints:
            if joint.stages:
                found.setdefault(joint.id, (route.revision, joint))
    return found


def _slip(torque_nm: Decimal, before_nm: Decimal) -> str | None:
    """What two torques differ by, by the nearest factor; None where it is that of no slip."""
    ratio = float(torque_nm / before_nm)
    ratio = max(ratio, 1 / ratio)
    factor, mixed_up = min(SLIPS, key=lambda slip: abs(ratio / slip[0] - 1))
    return f"{factor:.4g}, as between {mixed_up}" if abs(ratio / factor - 1) <= WITHIN else None
