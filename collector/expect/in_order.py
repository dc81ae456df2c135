"""The plan's order as the only clue: a pull belongs to the fastener that the plan expects next."""

from collections.abc import Iterator
from decimal import Decimal

from collector.expect.bounds import is_confirmed
from schemas.bodies import CountKept, Decided, MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.judged_band import band_to_reach, judged_band
from schemas.passes import Pass
from schemas.screen import Target
from schemas.to_pull import is_to_pull
from schemas.words import Kind, PositionBy, Said, StageWord, Verdict

REASON = "matched by order only"


class InOrder:
    """Goes through the joint in hand stage by stage and position by position, then on to the next open joint.

    It knows nothing of time, torque or wrench, so it gives no probability. After the last joint of the plan it comes
    back to what was left behind. It keeps no state of its own.
    """

    def expect_next(self, so_far: JobState) -> Target | None:
        """The first fastener and stage without a good tightening, from the joint in hand on, round to the joint before it."""
        for one in _from_hand(so_far):
            target = _open_in(so_far, one)
            if target is not None:
                return target
        return None

    def match_reading(self, so_far: JobState, pull: Pull) -> tuple[MatchKept, ...]:
        """The fastener expected next; a pull against the tightening direction belongs to the fastener touched last."""
        reading = pull.reading
        target = self.expect_next(so_far)
        touched = last_touched(so_far, before=pull.seq)
        if _is_loosening(so_far, pull, target, touched):
            if touched is None:
                return (_stray(pull, "a loosening before anything was tightened"),)
            return (_again(pull, touched, Kind.LOOSENING, "against the tightening direction: the fastener touched last"),)
        if target is None:
            return (_beyond_the_plan(so_far, pull, touched),)
        return (
            MatchKept(
                reading.job, pull.seq, Kind.TIGHTENING, REASON, target.joint.id, target.stage.number, target.position,
                str(PositionBy.ORDER), simulated=reading.simulated,
            ),
        )  # fmt: skip

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

    def count(self, so_far: JobState) -> tuple[CountKept, ...]:
        """Nothing: the order alone says nothing of what was left out."""
        return ()


def _beyond_the_plan(so_far: JobState, pull: Pull, touched: MatchKept | None) -> MatchKept:
    """A stray, but over the upper edge of the fastener touched last it is held against that one: it may have been there."""
    if touched is not None and is_over(so_far.joints[touched.joint or ""], touched.position or 0, pull):
        return _again(pull, touched, Kind.RECHECK, "over when all was done: held against the last fastener")
    return _stray(pull, "every fastener of the plan was done already")


def is_over(state: JointState, position: int, pull: Pull) -> bool:
    """Whether a pull lies over the upper edge of a fastener's final, as its wrench shows it; past the tool's range it does."""
    torque, length = pull.reading.torque_nm, pull.reading.length_mm
    judged = judged_band(state, state.joint.final, position, None if length is None else Decimal(length))
    return torque is None or (judged.band is not None and abs(Decimal(torque)) > judged.band.high_nm)


def _is_loosening(so_far: JobState, pull: Pull, target: Target | None, touched: MatchKept | None) -> bool:
    """Whether a pull goes against the tightening direction: to the left, but on a left-hand thread that tightens.

    To the right it may be either on a left-hand thread, since most wrenches send no direction: it counts, in doubt.
    """
    torque_nm = pull.reading.torque_nm
    if torque_nm is None or Decimal(torque_nm) == 0:
        return False
    if Decimal(torque_nm) > 0:
        return _is_to_the_right(so_far, pull, target, touched)
    if target is not None:
        return not target.joint.left_hand
    return touched is None or not so_far.joints[touched.joint or ""].joint.left_hand


def _is_to_the_right(so_far: JobState, pull: Pull, target: Target | None, touched: MatchKept | None) -> bool:
    """Whether a left-hand thread was turned to the right by a wrench that has sent the direction there before."""
    joint = touched.joint if touched is not None and (target is None or target.joint.left_hand) else None
    if joint is None or not so_far.joints[joint].joint.left_hand:
        return False
    own = (earlier.reading for earlier in so_far.joints[joint].pulls() if earlier.reading.wrench == pull.reading.wrench)
    return any(reading.torque_nm is not None and Decimal(reading.torque_nm) < 0 for reading in own)


def _from_hand(so_far: JobState) -> Iterator[Pass]:
    passes = so_far.passes()
    here = [index for index, one in enumerate(passes) if one.joint.id == so_far.in_hand and _is_present(so_far, one)]
    begun = [index for index in here[1:] if _is_begun(so_far, passes[index])]
    start = (begun or here or [0])[0]
    yield from passes[start:]
    yield from passes[:start]


def _is_begun(so_far: JobState, one: Pass) -> bool:
    """Whether a later round of a joint is under way: it is finished before anything that was opened before it."""
    events = reversed(so_far.joints[one.joint.id].events)
    last = next((event.match for event in events if isinstance(event, Pull)), None)
    numbers = [stage.number for stage in one.stages]
    return last is not None and last.stage in numbers and _open_in(so_far, one) is not None


def _is_present(so_far: JobState, one: Pass) -> bool:
    """Whether a pass is the one that works its stages now: a joint that is opened again belongs to a later step."""
    return any(so_far.pass_of(one.joint.id, stage) is one for stage in one.stages)


def _open_in(so_far: JobState, one: Pass) -> Target | None:
    if not _is_present(so_far, one):
        return None
    state = so_far.joints[one.joint.id]
    for stage in one.stages:
        for position in state.joint.order_of(stage):
            if is_to_pull(state, stage, position):
                return Target(state.joint, stage, position, one.step.number, band_to_reach(state, stage, position))
    return None


def last_touched(so_far: JobState, before: int | None = None) -> MatchKept | None:
    """The match of the last pull on a fastener of this job, of those whose entry comes before that number.

    None also where a later revision of the plan has no such fastener any more.
    """
    pull = so_far.last_placed(before)
    return pull.match if pull is not None and pull.match is not None and has_place(so_far, pull.match) else None


def has_place(so_far: JobState, match: MatchKept) -> bool:
    """Whether the plan has the fastener and the stage of a match, as it stands now."""
    state = so_far.joints.get(match.joint or "")
    if state is None or match.stage is None or match.position is None:
        return False
    return match.stage <= len(state.joint.stages) and match.position <= state.joint.fasteners


def _place(match: MatchKept) -> tuple[str | None, int | None, int | None]:
    return match.joint, match.stage, match.position


def _one_fewer(so_far: JobState, decided: Decided) -> tuple[MatchKept, ...]:
    """The last final of the joint as a repeat; of a joint with one fastener as a stray. An over-pull stays what it is.

    So does one of which a person has said which fastener it was.
    """
    state = so_far.joints[decided.joint or ""]
    # With an angle after it the last pull is that of the angle, where a wrench sent it.
    last = [fastener.stages[number - 1] for number in _ends(state) for fastener in state.fasteners]
    guessed = (final for final in last if final is not None and not is_confirmed(final.match))
    pull = max(guessed, key=lambda final: final.seq, default=None)
    if pull is None or pull.match is None or pull.verdict == Verdict.OVER:
        return ()
    before = last_touched(so_far, before=pull.seq)
    reason = "the fitter said: not all stripes seen, so one pull was a second click"
    if before is None or before.joint != decided.joint or _place(before) == _place(pull.match):
        return (_stray(pull, "the fitter said: no stripe seen on it"),)
    return (_again(pull, before, Kind.REPEAT, reason),)


def _ends(state: JointState) -> set[int]:
    checks = (stage for stage in state.joint.stages if stage.word is StageWord.RECHECK)
    return {stage.number for stage in (*state.joint.own_stages[-1:], state.joint.final, *checks)}


def _stray(pull: Pull, reason: str) -> MatchKept:
    return MatchKept(
        pull.reading.job, pull.seq, Kind.STRAY, reason, revises=pull.match_seq, simulated=pull.reading.simulated
    )


def _again(pull: Pull, where: MatchKept, kind: Kind, reason: str) -> MatchKept:
    return MatchKept(
        pull.reading.job, pull.seq, kind, reason, where.joint, where.stage, where.position, str(PositionBy.ORDER),
        revises=pull.match_seq, simulated=pull.reading.simulated,
    )  # fmt: skip
