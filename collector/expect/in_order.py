"""The plan's order as the only clue: a pull belongs to the fastener that the plan expects next."""

from collections.abc import Iterator
from decimal import Decimal

from schemas.bodies import Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.route import Joint
from schemas.screen import Target
from schemas.words import Kind, Said, Verdict

REASON = "matched by order only"


class InOrder:
    """Goes through the joint in hand stage by stage and position by position, then on to the next open joint.

    It knows nothing of time, torque or wrench, so it gives no probability. After the last joint of the plan it comes
    back to what was left behind. It keeps no state of its own.
    """

    def expect_next(self, so_far: JobState) -> Target | None:
        """The first fastener and stage without a good tightening, from the joint in hand on, round to the joint before it."""
        for joint in _from_hand(so_far):
            target = _open_in(so_far.joints[joint.id])
            if target is not None:
                return target
        return None

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """The fastener expected next; a pull against the tightening direction belongs to the fastener touched last."""
        reading = pull.reading
        if reading.torque_nm is not None and Decimal(reading.torque_nm) < 0:
            touched = last_touched(so_far, before=pull.seq)
            if touched is None:
                return (_stray(pull, "a loosening before anything was tightened"),)
            return (_again(pull, touched, Kind.LOOSENING, "against the tightening direction: the fastener touched last"),)
        target = self.expect_next(so_far)
        if target is None:
            return (self._beyond_the_plan(so_far, pull),)
        return (
            MatchKept(
                reading.job, pull.seq, Kind.TIGHTENING, REASON, target.joint.id, target.stage.number, target.position, "order",
                simulated=reading.simulated,
            ),
        )  # fmt: skip

    def _beyond_the_plan(self, so_far: JobState, pull: Pull) -> MatchKept:
        """A stray, but over the upper edge of the fastener touched last it is held against that one: it may have been there."""
        touched, torque = last_touched(so_far, before=pull.seq), pull.reading.torque_nm
        state = so_far.joints.get(touched.joint or "") if touched is not None else None
        if touched is not None and state is not None and (torque is None or Decimal(torque) > state.joint.final.band.high_nm):
            return _again(pull, touched, Kind.RECHECK, "over when all was done: held against the last fastener")
        return _stray(pull, "every fastener of the plan was done already")

    def match_said(self, so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
        """`same again` makes a pull a repeat on the fastener touched before it; `not this job` makes it a stray.

        Stripes of which not all are seen make the last final of the joint a second click: one fewer was done than counted,
        and which one it was nobody knows.
        """
        if decided.said == Said.STRIPES:
            return _one_fewer(so_far, decided) if decided.count is None else ()
        pull = so_far.pulls.get(decided.reading or 0)
        if pull is None or pull.match is None or pull.match.joint is None:
            return ()
        if pull.match.kind == Kind.LOOSENING:
            # What was opened stays open, whatever is said of it; it is done again.
            return ()
        if decided.said == Said.NOT_THIS_JOB:
            return (_stray(pull, "the fitter said: not this job"),)
        touched = last_touched(so_far, before=pull.seq)
        if decided.said != Said.SAME_AGAIN or touched is None or _place(touched) == _place(pull.match):
            return ()
        return (_again(pull, touched, Kind.REPEAT, "the fitter said: same fastener again"),)


def _from_hand(so_far: JobState) -> Iterator[Joint]:
    joints = [joint for _, joint in so_far.passes()]
    start = next((index for index, joint in enumerate(joints) if joint.id == so_far.in_hand), 0)
    yield from joints[start:]
    yield from joints[:start]


def _open_in(state: JointState) -> Target | None:
    for stage in state.joint.stages:
        for position in state.joint.order:
            pull = state.fasteners[position - 1].stages[stage.number - 1]
            # An over-pull is not pulled again before it was opened; an under-pull is continued.
            if pull is None or pull.verdict == Verdict.UNDER:
                return Target(state.joint, stage, position)
    return None


def last_touched(so_far: JobState, before: int | None = None) -> MatchKept | None:
    """The match of the last pull on a fastener of this job, of those whose entry comes before that number."""
    pull = so_far.last_placed(before)
    return None if pull is None else pull.match


def _place(match: MatchKept) -> tuple[str | None, int | None, int | None]:
    return match.joint, match.stage, match.position


def _one_fewer(so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
    """The last final of the joint as a repeat; of a joint with one fastener as a stray. An over-pull stays what it is."""
    state = so_far.joints[decided.joint or ""]
    finals = [fastener.stages[-1] for fastener in state.fasteners]
    pull = max((final for final in finals if final is not None), key=lambda final: final.seq, default=None)
    if pull is None or pull.match is None or pull.verdict == Verdict.OVER:
        return ()
    before = last_touched(so_far, before=pull.seq)
    reason = "the fitter said: not all stripes seen, so one pull was a second click"
    if before is None or before.joint != decided.joint or _place(before) == _place(pull.match):
        return (_stray(pull, "the fitter said: no stripe seen on it"),)
    return (_again(pull, before, Kind.REPEAT, reason),)


def _stray(pull: Pull, reason: str) -> MatchKept:
    return MatchKept(
        pull.reading.job, pull.seq, Kind.STRAY, reason, revises=pull.match_seq, simulated=pull.reading.simulated
    )


def _again(pull: Pull, where: MatchKept, kind: Kind, reason: str) -> MatchKept:
    return MatchKept(
        pull.reading.job, pull.seq, kind, reason, where.joint, where.stage, where.position, "order",
        revises=pull.match_seq, simulated=pull.reading.simulated,
    )  # fmt: skip
