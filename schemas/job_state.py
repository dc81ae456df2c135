"""One job as its entries make it: pulls, what was decided and signed, which joint is in hand. Pure; the fold of one job."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from schemas.bodies import (
    Body,
    CountKept,
    Decided,
    HandedOver,
    JobClosed,
    JobOpened,
    JointAdded,
    LinkKept,
    LogTaken,
    MatchKept,
    NotRead,
    PlanChanged,
    ReadingKept,
    Signed,
)
from schemas.errors import RecordError
from schemas.fastener_state import At, Pull, Saying, is_continued_by
from schemas.job_waits import as_planned, unmet_before, unmet_of
from schemas.joint_counts import take_count
from schemas.joint_state import JointState
from schemas.likelihood import read_limit, read_p
from schemas.number_gaps import Gap, NumberGaps
from schemas.passes import Pass, Walk, present_pass, walk_of
from schemas.placed import Placed
from schemas.route import Joint, Route, Stage, Step
from schemas.route_body import joint_from_body
from schemas.route_change import changed_states, with_joint
from schemas.step_waits import Signature, When, is_passed, missing_before, signature_of, signed_now
from schemas.words import Kind, Link, Said


@dataclass(slots=True)
class JobState:
    """All that is known of one job after some entries.

    `pulls` are its readings by their entry's number, in the order of arrival; `logs` names the files read in. `added` are
    joints that the plan does not have, `former` those that a later revision took out. `fitter` has the work in hand, `workers`
    are all who ever had it or pulled. `counted`: by joint and stage, (None, None) of the job, the last count's entry and its p.
    `taken_back`: by reading what the fitter was shown and is not so, until somebody has taken note.
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
    former: dict[str, JointState] = field(default_factory=dict)
    added: dict[str, Joint] = field(default_factory=dict)
    leaving: HandedOver | None = None
    outcome: str | None = None
    outcome_reason: str | None = None
    plan_seq: int = field(init=False)
    fitter: str = field(init=False)
    workers: set[str] = field(init=False)
    numbers: NumberGaps = field(default_factory=NumberGaps)
    logs: list[str] = field(default_factory=list)
    in_hand: str | None = None
    closed: At | None = None
    last_pull: Pull | None = None
    strays: int = 0
    limit: Decimal = field(init=False)
    counted: dict[tuple[str | None, int | None], tuple[int, str]] = field(default_factory=dict)
    taken_back: dict[int, MatchKept] = field(default_factory=dict)
    _signatures: list[tuple[str, Signature]] = field(default_factory=list)
    _placed: Placed = field(default_factory=Placed)
    walk: Walk = field(init=False)

    def __post_init__(self) -> None:
        self.fitter, self.plan_seq = self.opened.fitter, self.opened.plan
        self.workers, self.limit = {self.opened.fitter}, read_limit(self.opened.p_limit)
        self._take_route(self.route)
        self.joints, _ = changed_states({}, self.route, self.at.seq, self.limit)

    def _take_route(self, route: Route) -> None:
        self.route, self.walk = route, walk_of(route)

    def passes(self) -> tuple[Pass, ...]:
        """The passes of the plan in its order."""
        return self.walk.passes

    def pass_of(self, joint: str, stage: Stage | None) -> Pass | None:
        """The pass that works a stage of a joint now; `stage` None: of a joint without stages. None where the plan has none."""
        return present_pass(self.walk.of_joint.get(joint, ()), self.joints[joint].opened_steps, stage)

    def waits(self, step: Step, seq: int, pulled_at: datetime | None = None) -> Iterator[str]:
        """What a step waits for and was not there before the entry of that number, in words."""
        return missing_before(step, self.joints, self.hold_points, When(seq, pulled_at))

    @property
    def missing(self) -> list[Gap]:
        """The memory numbers that wrenches passed over and no later reading filled."""
        return self.numbers.gaps()

    @property
    def joint_in_hand(self) -> str | None:
        """The joint that was begun last, as long as nobody has confirmed it."""
        return self.in_hand if self.is_under_way(self.in_hand) else None

    def is_under_way(self, joint: str | None) -> bool:
        """Whether a joint was begun and nobody has confirmed it since."""
        state = self.joints.get(joint or "")
        return state is not None and bool(state.events) and (state.confirmed_seq is None or state.is_checked_since)

    def apply(self, at: At, body: Body) -> set[str]:
        """Take one more entry of this job; gives the ids of the joints whose state may have changed."""
        match body:
            case ReadingKept():
                return self._take_reading(at, body)
            case MatchKept():
                return self._take_match(at, body)
            case CountKept():
                return take_count(self, at, body)
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
                self.closed, self.outcome, self.outcome_reason = at, body.outcome, body.reason
            case JointAdded():
                return self._add_joint(body)
            case HandedOver():
                self._hand_over(body)
        return set()

    def _hand_over(self, handed: HandedOver) -> None:
        """The taker has the work once both have signed, the leaver first."""
        left = self.leaving
        if handed.signs == "leaver":
            self.leaving = handed
        elif left is not None and (left.leaver, left.taker) == (handed.leaver, handed.taker):
            self.leaving, self.fitter = None, handed.taker
            self.workers.add(handed.taker)

    def change_plan(self, at: At, changed: PlanChanged, route: Route) -> set[str]:
        """The job goes on after another revision; joints that it changes are in doubt as far as they are done."""
        before = self.joints
        self.plan_seq = changed.plan
        for joint in self.added.values():
            # What was added on this job is forgotten by no revision; one that has the joint itself takes it over.
            route = route if joint.id in route.by_id() else with_joint(route, joint)
        self._take_route(route)
        self.hold_points = signed_now(self.route, self._signatures)
        self.joints, self.former = changed_states({**self.former, **before}, route, at.seq, self.limit)
        self._settle_waits(self.joints, at.seq)
        return set(self.joints)

    def _add_joint(self, added: JointAdded) -> set[str]:
        joint = joint_from_body(added.joint)
        if joint.id in self.joints or joint.id in self.former:
            raise RecordError(f"joint `{joint.id}` is in job {self.opened.job} already; give the new one another id")
        self.added[joint.id] = joint
        self._take_route(with_joint(self.route, joint))
        self.joints[joint.id] = JointState(joint, limit=self.limit)
        return {joint.id}

    def state_of(self, joint: str) -> JointState:
        """The state of a joint, be it one that a later revision took out; KeyError where there never was one."""
        return self.joints.get(joint) or self.former[joint]

    def _take_reading(self, at: At, reading: ReadingKept) -> set[str]:
        pull = Pull(at.seq, at.at, at.by, len(self.pulls) + 1, reading)
        self.pulls[at.seq] = pull
        self.last_pull = pull
        self.workers.add(at.by)
        self.numbers.take_reading(reading.wrench or "", reading.sequence, reading.missing)
        return set()

    def _take_match(self, at: At, match: MatchKept) -> set[str]:
        pull = self.pulls[match.reading]
        before = pull.match
        if match.p is not None:
            # What is no probability proves nothing.
            read_p(match.p)
        pull.match, pull.match_seq = match, at.seq
        self.strays += (match.kind == Kind.STRAY) - (before is not None and before.kind == Kind.STRAY)
        self._placed.note(pull.seq, before is not None and before.joint is not None, match.joint is not None)
        touched = {one.joint for one in (before, match) if one is not None and one.joint is not None}
        is_news = before is None and pull is self.last_pull
        is_continued = before is not None and is_continued_by(before, match)
        if before is not None:
            pull.revisions += 1
            if match.takes_back:
                self.taken_back.setdefault(pull.seq, before)
            if before.joint is not None and not is_continued:
                self.state_of(before.joint).replay()
        if match.joint is not None:
            state = self.state_of(match.joint)
            if is_continued:
                state.continue_pull(pull, match)
            elif before is None or before.joint != match.joint:
                state.take(pull, unmet_before(self, match.joint, pull) if is_news else ())
            if match.kind == Kind.TIGHTENING and match.revises is None:
                self.in_hand = match.joint
        return touched if is_news else touched | self._settle_waits(touched, at.seq, is_continued)

    def _settle_waits(self, touched: Iterable[str], since: int, is_continued: bool = False) -> set[str]:
        """Say anew what pulls should have waited for, after a match of before has changed; gives the joints that waited."""
        waiting = {name for joint in touched for name in self.walk.waiting.get(joint, ())}
        for name in waiting if is_continued else {*touched, *waiting}:
            if (state := self.joints.get(name)) is not None:
                state.wait(unmet_of(self, name), since)
        return waiting

    def last_placed(self, before: int | None = None) -> Pull | None:
        """The last pull that lies on a fastener of this job, of those before that entry; looked up, since a log can be long."""
        return None if (last := self._placed.last(before)) is None else self.pulls[last]

    def _take_decision(self, at: At, decided: Decided) -> set[str]:
        self.decisions.append((at, decided))
        if decided.said == Said.TAKEN_NOTE:
            self.taken_back.pop(decided.reading or 0, None)
        if decided.said == Said.OTHER_JOINT:
            self.in_hand = decided.joint
            return set()
        if decided.joint is None:
            return set()
        saying = Saying(at, as_planned(self, at, decided))
        self.state_of(decided.joint).take_said(saying, unmet_before(self, decided.joint, saying))
        if decided.step is not None:
            # From a planned opening on the joint is worked by another step, which waits for other things.
            self._settle_waits({decided.joint}, at.seq)
        return {decided.joint}

    def _take_signature(self, at: At, signed: Signed) -> set[str]:
        if signed.snug is not None:
            self.state_of(signed.snug).take_snug(at.seq)
            return {signed.snug}
        if signed.second is not None:
            self.state_of(signed.second).take_second(at)
            return {signed.second}
        if signed.hold_point is not None and is_passed(self.route, signed):
            self._signatures.append((signed.hold_point, signature_of(self.route, at, signed)))
            self.hold_points = signed_now(self.route, self._signatures)
        return set()

    def _take_link(self, at: At, link: LinkKept) -> set[str]:
        self.links.append((at, link))
        if link.joint is None or link.link != Link.LOST:
            return set()
        self.state_of(link.joint).take_gap(at.seq)
        return {link.joint}
