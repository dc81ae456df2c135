"""One job as its entries make it: pulls, what was decided and signed, which joint is in hand. Pure; the fold of one job."""

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from schemas.bodies import (
    Body,
    Decided,
    JobClosed,
    JobOpened,
    LinkKept,
    LogTaken,
    MatchKept,
    NotRead,
    ReadingKept,
    Signed,
)
from schemas.fastener_state import Pull
from schemas.joint_state import JointState
from schemas.number_gaps import Gap, NumberGaps
from schemas.route import Joint, Route, Step
from schemas.words import Kind, Link, Said, StepWord, Verdict


@dataclass(frozen=True, slots=True)
class At:
    """Where an entry stands: its number in the ledger, its time as text, who made it."""

    seq: int
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Signature:
    """A signed hold point or snug round."""

    at: At
    role: str


@dataclass(slots=True)
class JobState:
    """All that is known of one job after some entries.

    `pulls` are its readings by their entry's number, in the order of arrival; `logs` names the files read in.
    """

    opened: JobOpened
    at: At
    route: Route
    joints: dict[str, JointState] = field(init=False)
    pulls: dict[int, Pull] = field(default_factory=dict)
    not_read: dict[int, tuple[At, NotRead]] = field(default_factory=dict)
    fates: Counter[str] = field(default_factory=Counter)
    decisions: list[tuple[At, Decided]] = field(default_factory=list)
    links: list[tuple[At, LinkKept]] = field(default_factory=list)
    hold_points: dict[str, Signature] = field(default_factory=dict)
    numbers: NumberGaps = field(default_factory=NumberGaps)
    logs: list[str] = field(default_factory=list)
    in_hand: str | None = None
    closed: At | None = None
    last_pull: Pull | None = None
    strays: int = 0
    _placed: list[int] = field(default_factory=list)
    _passes: tuple[tuple[Step, Joint], ...] = field(init=False)

    def __post_init__(self) -> None:
        by_id = self.route.by_id()
        self._passes = tuple(
            (step, by_id[joint]) for step in self.route.steps if step.word is StepWord.TORQUE for joint in step.joints
        )
        after = {joint.id: step.after for step, joint in self.passes()}
        loose = {joint for step in self.route.steps if step.word is StepWord.LOOSE for joint in step.joints}
        self.joints = {
            joint.id: JointState(joint, after.get(joint.id, ()), joint.id in loose, self.hold_points)
            for joint in self.route.joints
        }

    def passes(self) -> Iterator[tuple[Step, Joint]]:
        """The torque steps in the plan's order, one pair a joint."""
        return iter(self._passes)

    @property
    def missing(self) -> list[Gap]:
        """The memory numbers that wrenches passed over and no later reading filled."""
        return self.numbers.gaps()

    @property
    def joint_in_hand(self) -> str | None:
        """The joint that was begun last, as long as nobody has confirmed it."""
        joint = self.joints.get(self.in_hand or "")
        begun = joint is not None and joint.events and joint.confirmed_seq is None
        return self.in_hand if begun else None

    def apply(self, at: At, body: Body) -> set[str]:
        """Take one more entry of this job; gives the ids of the joints whose state may have changed."""
        match body:
            case ReadingKept():
                return self._take_reading(at, body)
            case MatchKept():
                return self._take_match(at, body)
            case Decided():
                return self._take_decision(at, body)
            case Signed():
                return self._take_signature(at, body)
            case LinkKept():
                return self._take_link(at, body)
            case NotRead():
                self.not_read[at.seq] = (at, body)
                self.fates[body.fate] += 1
            case LogTaken():
                self.logs.append(body.file)
            case JobClosed():
                self.closed = at
        return set()

    def _take_reading(self, at: At, reading: ReadingKept) -> set[str]:
        pull = Pull(at.seq, at.at, at.by, len(self.pulls) + 1, reading)
        self.pulls[at.seq] = pull
        self.last_pull = pull
        wrench = reading.wrench or ""
        if reading.sequence is not None:
            self.numbers.take(wrench, reading.sequence)
        if reading.missing is not None:
            first, _, last = reading.missing.partition("-")
            self.numbers.pass_over(wrench, int(first), int(last or first))
        return set()

    def _take_match(self, at: At, match: MatchKept) -> set[str]:
        pull = self.pulls[match.reading]
        before = pull.match
        pull.match, pull.match_seq = match, at.seq
        self.strays += (match.kind == Kind.STRAY) - (before is not None and before.kind == Kind.STRAY)
        self._place(pull.seq, before is not None and before.joint is not None, match.joint is not None)
        touched = set()
        if before is not None:
            pull.revisions += 1
            if before.joint is not None:
                touched.add(before.joint)
                if _is_continued(before, match):
                    self.joints[before.joint].continue_pull(pull, match)
                else:
                    self.joints[before.joint].replay()
        if match.joint is not None:
            if before is None or before.joint != match.joint:
                self.joints[match.joint].take(pull)
            touched.add(match.joint)
            if match.kind == Kind.TIGHTENING and match.revises is None:
                self.in_hand = match.joint
        return touched

    def _place(self, seq: int, was_placed: bool, is_placed: bool) -> None:
        if is_placed and not was_placed:
            insort(self._placed, seq)
        elif was_placed and not is_placed:
            del self._placed[bisect_left(self._placed, seq)]

    def last_placed(self, before: int | None = None) -> Pull | None:
        """The last pull that lies on a fastener of this job, of those whose entry comes before that number.

        Looked up, not looked for: a log can have a hundred thousand strays behind it.
        """
        end = len(self._placed) if before is None else bisect_left(self._placed, before)
        return self.pulls[self._placed[end - 1]] if end else None

    def _take_decision(self, at: At, decided: Decided) -> set[str]:
        self.decisions.append((at, decided))
        if decided.said == Said.OTHER_JOINT:
            self.in_hand = decided.joint
            return set()
        if decided.joint is None:
            return set()
        self.joints[decided.joint].take_decision(at.seq, decided)
        return {decided.joint}

    def _take_signature(self, at: At, signed: Signed) -> set[str]:
        if signed.snug is not None:
            self.joints[signed.snug].take_snug(at.seq)
            return {signed.snug}
        if signed.hold_point is not None:
            self.hold_points.setdefault(signed.hold_point, Signature(at, signed.role))
        return set()

    def _take_link(self, at: At, link: LinkKept) -> set[str]:
        self.links.append((at, link))
        if link.joint is None or link.link != Link.LOST:
            return set()
        self.joints[link.joint].take_gap(at.seq)
        return {link.joint}


def _is_continued(before: MatchKept, after: MatchKept) -> bool:
    """Whether a tightening below the band only became a short pull in the same place."""
    was_under = before.kind == Kind.TIGHTENING and before.verdict == after.verdict == Verdict.UNDER
    same_place = (before.joint, before.stage, before.position) == (after.joint, after.stage, after.position)
    return was_under and same_place and after.kind == Kind.SHORT_PULL
