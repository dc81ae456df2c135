"""What a plan accepts of its findings, each with a reason; errors are never accepted."""

import difflib
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace

from schemas.findings.catalogue import CATALOGUE
from schemas.findings.finding import PlanFinding, finding, named
from schemas.findings.subject import Subject
from schemas.plan.model import AcceptedModel

_FROM_OUTSIDE = {
    "names-unknown-wrench", "uncertainty-wide-for-the-band", "tolerance-finer-than-any-wrench", "unlike-earlier-revision",
}  # fmt: skip
"""What hangs on the database as well: that it is not found today says nothing about the plan."""


def with_acceptances(subject: Subject, found: list[PlanFinding]) -> list[PlanFinding]:
    """The findings with the reasons that the plan gives for some, and what is wrong with the acceptances themselves."""
    labels = {seen.joint.id: seen.label for seen in subject.joints}
    tree = subject.loaded.tree
    acceptances = [
        _Acceptance(accepted, labels, tree.line(("accepted", index)))
        for index, accepted in enumerate(subject.loaded.plan.accepted or ())
    ]
    by_id: dict[str, list[_Acceptance]] = defaultdict(list)
    for acceptance in acceptances:
        by_id[acceptance.finding].append(acceptance)
    judged = [_judged(each, by_id.get(each.id, [])) for each in found]
    return judged + [wrong for acceptance in acceptances for wrong in acceptance.faults()]


ABOUT_ACCEPTED = frozenset({"acceptance-of-nothing", "acceptance-of-an-error"})
"""What is said of `accepted` itself, and can only be put right there."""


class _Acceptance:
    """One entry of `accepted`, and what it has been found to fit; `labels` are the ids of the file by those of the joints."""

    def __init__(self, accepted: AcceptedModel, labels: Mapping[str, str], line: int) -> None:
        self.finding, self.reason, self.line = accepted.finding, accepted.reason, line
        self.names = None if accepted.joints is None else {labels[name] for name in accepted.joints}
        self.used = False
        self.unused = set(self.names or ())
        self.near: PlanFinding | None = None

    def fits(self, found: PlanFinding) -> bool:
        """Whether it accepts a finding; remembers what of it was of use, and a finding that it names in part."""
        joints = set(found.joints)
        if self.names is not None and joints & self.names:
            self.near = found
        if self.names is None:
            fits = True
        elif found.apart:
            fits = sum(not self.names.issuperset(group) for group in found.apart) <= 1
        else:
            fits = found.joint in self.names
        if fits:
            self.used = True
            self.unused -= joints
        return fits

    def faults(self) -> Iterator[PlanFinding]:
        """What is wrong with it: it fits nothing, names what it does not fit, or an error."""
        kind = CATALOGUE.get(self.finding)
        if kind is None:
            near = difflib.get_close_matches(self.finding, CATALOGUE, n=1)
            hint = f"write `{near[0]}`" if near else "write the id that `witnessmark plan check` prints"
            yield finding("acceptance-of-nothing", None, self.line, f"there is no finding `{self.finding}`", hint)
        elif kind.level == "error":
            yield finding("acceptance-of-an-error", None, self.line, f"`{self.finding}` is an error and cannot be accepted")
        elif self.finding in ABOUT_ACCEPTED:
            what = f"`{self.finding}` is about `accepted` itself and cannot be accepted"
            yield finding(
                "acceptance-of-nothing", None, self.line, what, "put right the entry that it is about, and take this out"
            )
        elif self.finding not in _FROM_OUTSIDE and (self.unused or not self.used):
            yield finding("acceptance-of-nothing", None, self.line, self._fits_nothing())

    def _fits_nothing(self) -> str:
        if not self.used and self.near is not None:
            return f"`{self.finding}` is about {named(self.near.joints, 12)}, and too few of them are named"
        where = f" at {named(sorted(self.unused))}" if self.unused else ""
        return f"`{self.finding}` is not found{where}"


def _judged(found: PlanFinding, acceptances: list[_Acceptance]) -> PlanFinding:
    if found.level == "error":
        return found
    # All of them are asked, so that each knows what it fits.
    fitting = [acceptance for acceptance in acceptances if acceptance.fits(found)]
    return replace(found, accepted=fitting[0].reason) if fitting else found
