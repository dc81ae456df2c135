"""Whether a torque's unit could be told by anything but the plan's own word; what could not is said, and is no finding."""

from collections import defaultdict
from collections.abc import Iterator

from schemas.findings.earlier import earlier_joints
from schemas.findings.finding import NotChecked
from schemas.findings.likeness import like_key
from schemas.findings.subject import Seen, Subject, missing, stated_torque
from schemas.findings.torque import UNITS_MIXED_UP, strength_of
from schemas.units import find_unit

CHECK = "unit of the torque"
_WHY = (
    "the unit could not be cross-checked: the strength of the thread allows another one, no like joint is stated in another "
    "unit, and no earlier revision is known"
)


def unit_findings(subject: Subject) -> Iterator[NotChecked]:
    """Joints whose unit nothing confirms.

    Joints that share a unit do not confirm each other's: if it is wrong, it is wrong in all of them.
    """
    before = earlier_joints(subject)
    units: dict[object, set[str]] = defaultdict(set)
    for seen in subject.joints:
        units[like_key(seen)].add(seen.joint.unit)
    for seen in subject.joints:
        key = like_key(seen)
        by_like = key is not None and len(units[key]) > 1
        if seen.torque_nm is not None and not by_like and seen.joint.id not in before and not _by_strength(subject, seen):
            yield missing(CHECK, seen, _WHY)


def _by_strength(subject: Subject, seen: Seen) -> bool:
    """Whether the same digits in each other unit would be implausible."""
    strength, digits = strength_of(subject, seen), stated_torque(seen.model)
    if isinstance(strength, str) or digits is None:
        return False
    units = (find_unit(symbol)[0] for symbol in UNITS_MIXED_UP)
    return all(strength.word(digits * unit.nm_per_unit) for unit in units if unit.symbol != seen.joint.unit)
