"""What sort of mistake a wrong reading is, so that one sees at once where a matcher loses its way."""

from collections import Counter
from collections.abc import Iterable, Iterator

from collector.expect.smooth import Placed
from schemas.route import Joint, Route
from schemas.words import Kind
from sim.shop.truth import Touch

ALIKE = "an alike joint"
"""It has as many fasteners and the same bands, so that no torque can tell them apart."""


def mistake_of(route: Route, told: Placed, true: Touch) -> str | None:
    """The mistake in a few words, the place before the kind; None where place and kind are right."""
    if (true.kind is Kind.STRAY) != (told.kind is Kind.STRAY):
        return f"{true.kind} taken for {told.kind}"
    if true.joint != told.joint:
        joints = route.by_id()
        is_alike = _signature(joints[true.joint or ""]) == _signature(joints[told.joint or ""])
        return ALIKE if is_alike and true.stage == told.stage else "another joint"
    if true.stage != told.stage:
        return "another stage of the joint"
    return None if true.kind is told.kind else f"{true.kind} taken for {told.kind}, in the right place"


def mistake_lines(mistakes: Iterable[str]) -> Iterator[str]:
    """How often each mistake was made, the most frequent first."""
    for what, count in Counter(mistakes).most_common():
        yield f"  {count:>7,} × {what}"


def _signature(joint: Joint) -> tuple[object, ...]:
    return joint.fasteners, tuple((stage.band.low_nm, stage.band.high_nm) for stage in joint.own_stages)
