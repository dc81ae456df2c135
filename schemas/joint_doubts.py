"""Why a fastener whose finals are done is no better than doubtful: every reason, in words. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from schemas.bodies import Decided
from schemas.errors import UnitError
from schemas.fastener_state import FastenerState, Pull
from schemas.joint_counts import Count, doubt_of_counts, was_before_opening, was_refused
from schemas.judged_band import band_to_reach
from schemas.likelihood import p_shown
from schemas.route import Stage
from schemas.units import find_unit, to_nm, torque_text
from schemas.words import StageWord, Verdict

if TYPE_CHECKING:
    from schemas.joint_state import JointState

_GOOD = {
    StageWord.ROUND: (Verdict.IN_BAND,),
    StageWord.ANGLE: (Verdict.IN_BAND,),
    # In band where it was opened since, so that the check became a tightening.
    StageWord.RECHECK: (Verdict.HELD, Verdict.IN_BAND),
}


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a fastener is no better than doubtful; one of order since entry `since` is over once the lead lets it stand."""

    text: str
    since: int | None = None


def find_doubts(state: "JointState", position: int, counted: Mapping[int, Count]) -> list[Doubt]:
    """All of them, in the order in which they are told; `counted` is how sure each stage of the joint is."""
    return _Search(state, position, counted).found()


def lacks_angle(state: "JointState", fastener: FastenerState) -> bool:
    """Whether no wrench has sent an angle that can be judged for a fastener that is turned by one."""
    pulls = (fastener.stages[stage.number - 1] for stage in state.joint.stages if stage.word is StageWord.ANGLE)
    return any(pull is None or pull.verdict is None for pull in pulls)


def lacks_second(state: "JointState", fastener: FastenerState) -> bool:
    """Whether no second person, other than who worked on it, has signed since a fastener was pulled or declared."""
    pulls = [pull for pull in state.own_pulls(fastener) if pull is not None]
    worked = [(pull.seq, pull.by) for pull in pulls]
    worked += [(saying.at.seq, saying.at.by) for saying in (fastener.declared, fastener.turned) if saying is not None]
    last, workers = max((seq for seq, _ in worked), default=0), {by for _, by in worked}
    return fastener.not_fitted is None and not any(at.seq > last and at.by not in workers for at in state.seconds)


def declared_outside(state: "JointState", position: int, declared: Decided) -> list[Doubt]:
    """The doubt about a declared value that lies outside the final's band; through an offset adapter nobody can tell."""
    adapter = state.joint.adapter
    if declared.value is None or not state.joint.stages or (adapter is not None and not adapter.by_wrench):
        return []
    band, joint = band_to_reach(state, state.joint.final, position), state.joint
    try:
        torque_nm = to_nm(Decimal(declared.value), find_unit(declared.unit or joint.unit)[0])
    except (ArithmeticError, UnitError):
        return [Doubt("the declared value cannot be read")]
    if band.low_nm <= torque_nm <= band.high_nm:
        return []
    return [Doubt(f"the declared value lies outside {torque_text(band.low)} to {torque_text(band.high)} {joint.unit}")]


def not_opened(state: "JointState") -> list[Doubt]:
    """The doubt about the first planned opening that was not done; none where all were."""
    missing = [number for number in state.to_open if number not in state.opened_steps]
    return [Doubt(_not_opened_text(missing[0]))] if missing else []


def doubts_of_later(state: "JointState", step: int) -> frozenset[str]:
    """The texts of doubts that only say that a later step of the plan than this one opens the joint or checks it again."""
    opened = (_not_opened_text(number) for number in state.to_open if number > step)
    checks = (stage.step for stage in state.joint.stages if stage.step is not None and stage.step > step)
    return frozenset((*opened, *(_not_checked_text(number) for number in checks)))


def _not_opened_text(step: int) -> str:
    return f"not opened again yet (step {step})"


def _not_checked_text(step: int | None) -> str:
    return f"not checked again yet (step {step})"


def _p_of(pull: Pull) -> Decimal:
    """The probability that joint and stage of a pull are right; nought where its matcher has none."""
    return Decimal(pull.match.p) if pull.match and pull.match.p else Decimal(0)


def _is_unsure_check(pull: Pull | None, state: "JointState") -> bool:
    """Whether a pull of a later check was counted by nobody since: who saw the stripes before said nothing of it."""
    match = None if pull is None else pull.match
    if pull is None or match is None or match.stage is None or state.confirmed_seq is None or state.joint.is_check:
        return False
    is_check = state.joint.stages[match.stage - 1].word is StageWord.RECHECK
    return is_check and pull.seq > state.confirmed_seq and _p_of(pull) < state.limit


class _Search:
    """Looks at one fastener."""

    def __init__(self, state: "JointState", position: int, counted: Mapping[int, Count]) -> None:
        self._state = state
        self._counted = counted
        self._position = position
        self._fastener = state.fasteners[position - 1]
        self._joint = state.joint

    def found(self) -> list[Doubt]:
        doubts: list[Doubt] = []
        for stage, pull in zip(self._joint.stages, self._fastener.stages, strict=True):
            doubts += self._of_missing(stage) if pull is None else self._of_pull(stage, pull)
        return doubts + self._of_rounds() + self._of_matching() + self._of_state()

    def _of_missing(self, stage: Stage) -> list[Doubt]:
        if stage.word is StageWord.ANGLE:
            return [] if self._fastener.turned else [Doubt("not turned by its angle yet")]
        if stage.word is StageWord.RECHECK:
            return [] if self._state.is_past(stage) else [Doubt(_not_checked_text(stage.step))]
        return [Doubt(f"stage {stage.number} has no tightening")]

    def _of_pull(self, stage: Stage, pull: Pull) -> list[Doubt]:
        doubts = [Doubt(pull.reading.unfit)] if pull.reading.unfit else []
        if pull.verdict == Verdict.MOVED and stage.word is StageWord.RECHECK:
            doubts.append(Doubt("moved when it was checked again", pull.match_seq))
        elif pull.verdict not in _GOOD[stage.word] and not self._is_answered(stage, pull):
            doubts.append(Doubt(f"a pull of stage {stage.number} is {pull.verdict or 'without a verdict'}"))
        if self._joint.wrenches and pull.reading.wrench not in self._joint.wrenches:
            doubts.append(Doubt(f"wrench {pull.reading.wrench or '(none named)'} is not one that the plan names"))
        doubts += [Doubt(text, since) for text, since in self._state.unmet.get(pull.seq, {}).items()]
        if self._joint.snug and stage.word is StageWord.ROUND and not self._state.is_snug(self._position, pull.seq):
            doubts.append(Doubt("the snug round was not signed first", pull.seq))
        if was_before_opening(self._state, self._position, pull):
            doubts.append(Doubt("pulled before it was opened, by the clock of its wrench"))
        doubts += self._of_drag(pull) if stage.word is not StageWord.ANGLE else self._of_angle(stage, pull)
        if self._joint.left_hand and pull.reading.torque_nm is not None and Decimal(pull.reading.torque_nm) > 0:
            doubts.append(Doubt("a left-hand thread, and the wrench sent no direction", pull.seq))
        return doubts

    def _of_drag(self, pull: Pull) -> list[Doubt]:
        if self._joint.drag != "measured" or pull.match is None:
            return []
        if pull.match.drag is None:
            return [Doubt("the drag of the nut was not measured first", pull.seq)]
        drag = self._state.drag(self._position)
        now = None if drag is None else torque_text(to_nm(drag, find_unit(self._joint.unit)[0]))
        return [] if now == pull.match.drag else [Doubt("another drag of the nut was measured after it was pulled")]

    def _of_angle(self, stage: Stage, pull: Pull) -> list[Doubt]:
        """An angle is what one pull turned; of one that was turned in several nobody knows how far it went in all."""
        turns = (
            other
            for other in self._state.pulls()
            if other.match and (other.match.stage, other.match.position) == (stage.number, self._position)
        )
        more = any(other is not pull and other.seq > self._fastener.opened_seq and other.verdict for other in turns)
        return [Doubt("turned by its angle in more than one pull")] if more else []

    def _is_answered(self, stage: Stage, pull: Pull) -> bool:
        """Whether a person answers for an angle that the wrench did not send."""
        return stage.word is StageWord.ANGLE and pull.verdict is None and self._fastener.turned is not None

    def _of_rounds(self) -> list[Doubt]:
        pulls = [pull for pull in self._fastener.stages if pull is not None]
        counts = [pull.n for pull in pulls]
        late = max((pull.seq for pull in pulls), default=0)
        return [Doubt("stages out of order", late)] if counts != sorted(counts) else []

    def _of_matching(self) -> list[Doubt]:
        state, doubts = self._state, []
        # An angle may be declared and a recheck comes later; a round that is missing leaves the others unsure too.
        done = {
            stage.number: pull
            for stage, pull in zip(self._joint.stages, self._fastener.stages, strict=True)
            if pull is not None or stage.word is StageWord.ROUND
        }
        sure = all(pull is not None and _p_of(pull) >= state.limit for pull in done.values())
        if state.denied is not None:
            doubts.append(Doubt(state.denied))
        elif was_refused(state, self._fastener):
            doubts.append(Doubt("not all stripes were seen, and nobody has counted them since"))
        elif state.counted:
            doubts += self._of_counts(done)
        elif not sure and state.confirmed_seq is None:
            doubts.append(Doubt("matched by order only and not confirmed"))
        elif state.confirmed_seq is None and any(fastener.is_settled for fastener in state.fasteners):
            # Pulls that were to make it whole were waited for until then, so nothing was counted yet.
            doubts.append(Doubt("it was not counted"))
        elif any(_is_unsure_check(pull, state) for pull in done.values()):
            doubts.append(Doubt("matched by order only and not confirmed since it was checked again"))
        if state.gap_seq is not None and (state.confirmed_seq is None or state.confirmed_seq < state.gap_seq):
            doubts.append(Doubt("the link was lost while this joint was in hand"))
        return doubts

    def _of_counts(self, done: Mapping[int, Pull | None]) -> list[Doubt]:
        """The one thing that is not sure of a joint whose fasteners were counted by the readings."""
        state = self._state
        if (text := doubt_of_counts(state, done, self._counted)) is not None:
            return [Doubt(text)]
        pulls = [pull for pull in done.values() if pull is not None]
        if state.confirmed_seq is not None:
            pulls = [pull for pull in pulls if _is_unsure_check(pull, state)]
        worst = min(pulls, key=_p_of, default=None)
        if worst is None or _p_of(worst) >= state.limit:
            return []
        if worst.match is None or worst.match.p is None:
            return [Doubt(f"reading {worst.n} was matched by order only")]
        return [Doubt(f"reading {worst.n} may belong elsewhere, p = {p_shown(_p_of(worst), state.limit)}")]

    def _of_state(self) -> list[Doubt]:
        state, joint, doubts = self._state, self._joint, []
        pulls = [pull for pull in state.own_pulls(self._fastener) if pull is not None]
        last = max(pull.seq for pull in pulls)
        if joint.prepare and not state.is_prepared(self._position):
            doubts.append(Doubt(f"preparation ({joint.prep or 'to be worked in time'}) not declared"))
        if joint.renew and not state.is_renewed(self._position):
            doubts.append(Doubt("opened, and new hardware was not declared"))
        if joint.work_within_s is not None:
            doubts += self._of_time(joint.work_within_s, pulls)
        if joint.critical and lacks_second(state, self._fastener):
            doubts.append(Doubt("no second person has signed"))
        if joint.cure_s is not None and self._fastener.checked_again:
            doubts.append(Doubt("pulled again after its thread began to cure", last))
        doubts += not_opened(state)
        if state.changed is not None and min(pull.seq for pull in pulls) < state.changed[0]:
            doubts.append(Doubt(state.changed[1], state.changed[0]))
        return doubts

    def _of_time(self, within_s: int, pulls: list[Pull]) -> list[Doubt]:
        """A pull too long after the preparation; where either time is not certain nothing can be said, and that is told."""
        times = [pull.pulled_at for pull in pulls]
        last, opened = max(pull.seq for pull in pulls), self._fastener.opened_seq
        prepared = [saying for saying in self._state.prepared if opened < saying.at.seq < last]
        if not prepared or None in times:
            return [Doubt("not known whether it was pulled in the time the compound allows", last)]
        begun = datetime.fromisoformat(prepared[-1].at.at)
        took = max((at - begun).total_seconds() for at in times if at is not None)
        text = f"pulled {took / 60:.0f} min after it was prepared, {within_s / 60:.0f} min are allowed"
        return [Doubt(text, last)] if took > within_s else []
