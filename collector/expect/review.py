"""What a person can settle by looking: one question a joint, what settles most first; and what no look settles. Pure."""

from collections.abc import Iterable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from statistics import median

from collector.expect.counted_whole import tightened
from schemas.bodies import Decided
from schemas.fastener_state import At, Pull, Saying
from schemas.job_state import JobState
from schemas.joint_counts import doubt_of_counts
from schemas.joint_state import JointState
from schemas.likelihood import read_p
from schemas.open_list import positions_text
from schemas.words import Kind, Proof, Said, StageWord, Verdict

_FINE = frozenset({Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED})
# Where nobody has worked out how sure it is, a yes is as likely as a no.
_UNKNOWN = Decimal("0.5")
# After every entry there can be: numbers in a ledger end there.
_LAST = 2**53
_REASONS = 2


@dataclass(frozen=True, slots=True)
class Question:
    """One look at a joint: whether all `of` of its fasteners are done.

    `p` is the probability of a yes, None where nobody has worked it out; `settles` how many fasteners a yes would prove, times
    `p`; `positions` are those that wait for the answer; `why` says what the evidence leaves open.
    """

    joint: str
    name: str
    text: str
    of: int
    p: Decimal | None
    settles: Decimal
    positions: tuple[int, ...]
    why: tuple[str, ...]


def review(state: JobState) -> tuple[Question, ...]:
    """The questions that a look can answer, what settles most first, then in the order of the plan; one a joint at most.

    Of alike joints between which a reading is not sure, the one that is whole with the lower probability comes first: its
    answer mostly settles the others.
    """
    asked = [(question, _alike(joint)) for joint in state.joints.values() if (question := _look(joint)) is not None]
    most: dict[object, Decimal] = {}
    first: dict[object, int] = {}
    for rank, (question, alike) in enumerate(asked):
        most[alike] = max(most.get(alike, Decimal(0)), question.settles)
        first.setdefault(alike, rank)
    asked.sort(key=lambda one: (-most[one[1]], first[one[1]], _chance(one[0].p)))
    return tuple(question for question, _ in asked)


def not_settled(state: JobState, questions: Iterable[Question]) -> tuple[str, ...]:
    """What is open and no look settles, one line a reason, with all that it speaks of."""
    asked = {question.joint: question.positions for question in questions}
    found: dict[str, list[str]] = {}
    for name, joint in state.joints.items():
        by_text: dict[str, list[int]] = {}
        for position, (proof, why) in enumerate(joint.summary.proofs, 1):
            if proof not in _FINE and position not in asked.get(name, ()):
                by_text.setdefault(f"{proof} ({'; '.join(why)})", []).append(position)
        for text, positions in by_text.items():
            found.setdefault(text, []).append(f"{joint.joint.name}, {positions_text(joint, positions)}")
    return tuple(f"{text}: {'; '.join(places)}" for text, places in found.items())


def _look(state: JointState) -> Question | None:
    joint, of = state.joint, state.to_see
    if not joint.stages or not of or _is_no_matter_of_looking(state):
        return None
    after = _seen_whole(state)
    changes = [(before, then) for before, then in zip(state.summary.proofs, after.summary.proofs, strict=True)]
    proven = [at for at, (before, then) in enumerate(changes, 1) if before[0] is not then[0] is Proof.PROVEN]
    p, is_open = _p_whole(state), _is_open(state)
    if not proven and not is_open:
        return None
    waiting = [at for at, (before, _) in enumerate(changes, 1) if before[0] in (Proof.DOUBTFUL, Proof.MISSED)]
    return Question(
        joint.id, joint.name, f"{joint.name}: look at the {_seen(state)}", of, p, len(proven) * _chance(p),
        tuple(waiting if is_open else proven), tuple(_why(state, after)),
    )  # fmt: skip


def _seen(state: JointState) -> str:
    of, joint = state.to_see, state.joint
    if state.is_checked_since:
        return f"fasteners: {of} of {of} checked again?"
    return f"stripes: {of} of {of}?" if joint.mark else f"fasteners: {of} of {of} torqued?"


def _is_no_matter_of_looking(state: JointState) -> bool:
    """Whether it was looked at already, is left loose, or has something still to be pulled on."""
    if state.denied is not None or _was_seen(state) or state.worst() is Proof.LEFT_LOOSE:
        return True
    finals = [fastener.stages[state.joint.final.number - 1] for fastener in state.fasteners if not fastener.is_settled]
    if any(pull is not None and pull.verdict == Verdict.UNDER for pull in finals):
        return True
    return not state.all_done and not _is_open(state)


def _was_seen(state: JointState) -> bool:
    """Whether somebody has said yes, and nothing has happened since."""
    seen = state.confirmed_seq
    if seen is None or state.is_checked_since or (state.gap_seq or 0) > seen:
        return False
    return all(count.stale is None for count in state.summary.counted.values())


def _stages(state: JointState) -> list[int]:
    """The stages that a look speaks of: the final with what follows it, a later check only once it was begun."""
    final = state.joint.final.number
    later = [stage for stage in state.joint.stages if stage.number > final]
    checked = state.is_checked_since
    return [final, *(stage.number for stage in later if checked or stage.word is not StageWord.RECHECK)]


def _p_whole(state: JointState) -> Decimal | None:
    counted = state.summary.counted
    return min((counted[number].p for number in _stages(state) if number in counted), default=None)


def _chance(p: Decimal | None) -> Decimal:
    return _UNKNOWN if p is None else p


def _is_open(state: JointState) -> bool:
    """Whether the readings neither show that it is whole nor that it is not."""
    p = _p_whole(state)
    return p is not None and 1 - state.limit < p < state.limit


def _seen_whole(state: JointState) -> JointState:
    """The joint as it would stand after a yes."""
    after = deepcopy(state)
    tightened(after, _LAST - 1)
    decided = Decided("", str(Said.STRIPES), state.joint.id, count=state.to_see, of=state.to_see)
    after.take_said(Saying(At(_LAST, "", ""), decided))
    return after


def _alike(state: JointState) -> object:
    """One key for all joints of one band that have a reading of which it is not sure that it is theirs; else the joint's own."""
    band = state.joint.final.band if state.joint.stages else None
    pulls = (fastener.stages[state.joint.final.number - 1] for fastener in state.fasteners) if band else ()
    unsure = any(pull.match.p is not None and read_p(pull.match.p) < state.limit for pull in pulls if pull and pull.match)
    return (band.low_nm, band.high_nm) if band is not None and unsure else state.joint.id


def _why(state: JointState, after: JointState) -> Iterator[str]:
    """The reasons that a yes takes away, then what the count says where no reason has it, and which reading it may be."""
    before, then = (
        dict.fromkeys(text for proof, why in one.summary.proofs if proof is Proof.DOUBTFUL for text in why)
        for one in (state, after)
    )
    counts = doubt_of_counts(state, _stages(state), state.summary.counted) if _is_open(state) else None
    reasons = list(dict.fromkeys([*(text for text in before if text not in then), *([counts] if counts is not None else [])]))
    # Each fastener has a reading of its own to name; two show what is meant.
    yield from reasons[:_REASONS]
    if len(reasons) > _REASONS:
        yield f"and {len(reasons) - _REASONS} more like it"
    if _is_open(state):
        yield from _second_clicks(state)


def _second_clicks(state: JointState) -> Iterator[str]:
    """The readings that are taken for a second click, or else the one that came much sooner than the others."""
    final = state.joint.final.number
    pulls = [pull for pull in state.pulls() if pull.match is not None and pull.match.stage == final]
    repeats = [pull for pull in pulls if pull.match is not None and pull.match.kind == Kind.REPEAT]
    for pull in repeats:
        yield f"reading {pull.n} is taken for a second click"
    soon = None if repeats else _much_sooner(pulls)
    if soon is not None:
        yield f"reading {soon.n} may be a second click"


def _much_sooner(pulls: list[Pull]) -> Pull | None:
    timed = [(pull, at) for pull in pulls if (at := pull.pulled_at) is not None]
    pauses = [((at - before).total_seconds(), pull) for (_, before), (pull, at) in pairwise(timed)]
    if len(pauses) < 2:
        return None
    shortest, pull = min(pauses, key=lambda pause: pause[0])
    return pull if shortest * 2 < median(pause for pause, _ in pauses) else None
