"""What a person's word about the fastener of a pull puts on record: the pull itself there, the others over what is left. Pure."""

from collections.abc import Iterator
from dataclasses import replace

from collector.expect.bounds import PULLED_AGAIN, is_denied_between, is_named_again, is_spoken_of, placed_by_person, stays_put
from collector.expect.in_order import has_place
from collector.expect.positions import GOES_ON, positions_of
from collector.expect.smooth_job import openings
from schemas.bodies import MatchKept
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.words import Kind, PositionBy, Verdict

REASON = "a person said which fastener it was on"
LEFT = "counted in order over the fasteners that are left, after a person said where another pull was"
_EXTRA = (Kind.REPEAT, Kind.RECHECK)


def why_not(so_far: JobState, pull: Pull | None, position: int) -> str | None:
    """Why a pull cannot have been on that fastener of its joint, in one line with what to do next; None where it can."""
    match = None if pull is None else pull.match
    if pull is None or match is None or match.stage is None or not has_place(so_far, match):
        return "nothing was recorded: that pull belongs to no joint of this job, so it was on none of its fasteners"
    state = so_far.joints[match.joint or ""]
    if not 1 <= position <= state.joint.fasteners:
        return f"nothing was recorded: {state.joint.name} has fasteners 1 to {state.joint.fasteners}, and no {position}"
    if position != match.position and (match.kind == Kind.LOOSENING or is_spoken_of(so_far, pull)):
        why = f"fastener {match.position} was opened or spoken of since, so reading {pull.n} stays on it"
        why = f"reading {pull.n} opened fastener {match.position}, and stays on it" if match.kind == Kind.LOOSENING else why
        return f"nothing was recorded: {why}. If it was {position} that was opened: job opened"
    is_said_again = match.kind in _EXTRA and pull.seq in placed_by_person(so_far) and not is_named_again(match)
    if is_said_again and _kind_at(so_far, state, pull, position) is Kind.TIGHTENING:
        again = f"reading {pull.n} was said to be a second pull on a fastener, and {position} was not done before"
        return f"nothing was recorded: {again}; pull it, or count the joint when that is asked"
    return None


def confirm_position(so_far: JobState, pull: Pull, position: int) -> tuple[MatchKept, ...]:
    """The match of a pull on the fastener that a person named, then those of its stage that go to another one by that.

    Only where `why_not` has nothing to say. A second click on a fastener that was not done counts there; a pull on one where
    another stays, and that was not opened since, is a second one, placed by a person. The others are counted anew in the order
    of the stage, but those that stay: confirmed, over, opening something, or on a fastener that was spoken of. Only the first
    match may put an earlier pull right; of the others each has to be judged for itself.
    """
    match = pull.match
    if match is None:
        return ()
    state = so_far.joints[match.joint or ""]
    kind = _kind_at(so_far, state, pull, position)
    own = replace(
        match, kind=str(kind), reason=REASON, position=position, position_by=str(PositionBy.CONFIRMED), revises=pull.match_seq,
        takes_back=None,
    )  # fmt: skip
    if kind is Kind.REPEAT and (match.kind in GOES_ON or is_named_again(match)):
        own = replace(own, reason=PULLED_AGAIN, p=None)
    is_counted = own.kind in GOES_ON or match.kind in GOES_ON
    is_moved = is_counted and (own.kind, own.position) != (match.kind, match.position)
    return own, *(_others(so_far, state, pull, own) if is_moved else ())


def _kind_at(so_far: JobState, state: JointState, pull: Pull, position: int) -> Kind:
    """What a pull is on that fastener: one that only went over what was done counts where nothing was, or is under.

    One that counts is a second pull where another one stays. Said by a number alone, either is taken back by another number.
    """
    kind = Kind.TIGHTENING if pull.match is None else Kind(pull.match.kind)
    if kind is Kind.TIGHTENING or is_named_again(pull.match):
        return Kind.REPEAT if _is_there(so_far, state, pull, position) else Kind.TIGHTENING
    there = state.fasteners[position - 1].stages[_stage(pull) - 1]
    is_open = there is None or there.verdict == Verdict.UNDER
    return Kind.TIGHTENING if kind in _EXTRA and pull.match is not None and position != pull.match.position and is_open else kind


def _is_there(so_far: JobState, state: JointState, pull: Pull, position: int) -> bool:
    """Whether another pull counts on that fastener at the same stage, is not to be continued, and cannot be moved from it.

    Not where it was opened in between, or not all of its joint was seen: then it may well be done a second time.
    """
    fastener, joint = state.fasteners[position - 1], state.joint.id
    return pull.seq > fastener.opened_seq and any(
        one is not pull and one.verdict != Verdict.UNDER and stays_put(so_far, one)
        and not is_denied_between(so_far, joint, one.seq, pull.seq)
        for one in fastener.earlier[_stage(pull) - 1]
    )  # fmt: skip


def _stage(pull: Pull) -> int:
    return 0 if pull.match is None else pull.match.stage or 0


def _others(so_far: JobState, state: JointState, pull: Pull, own: MatchKept) -> Iterator[MatchKept]:
    stage = state.joint.stages[_stage(pull) - 1]
    since = state.round_since if stage is state.joint.final else 0
    rows = [one for one in state.pulls() if one.seq > since and _stage(one) == stage.number]
    matches = [own if one is pull else one.match for one in rows if one.match is not None]
    again = _not_continued(rows, pull, own)
    kinds = [Kind.TIGHTENING if one is again else Kind(match.kind) for one, match in zip(rows, matches, strict=True)]
    under = state.fasteners[(own.position or 0) - 1].stages[stage.number - 1]
    continued = under if under is not None and under.verdict == Verdict.UNDER else None
    kept = {
        rank: match.position or 0
        for rank, (one, match) in enumerate(zip(rows, matches, strict=True))
        if one is pull or one is continued or stays_put(so_far, one)
    }
    order = state.joint.order_of(stage)
    free = tuple(position for position in order if not state.fasteners[position - 1].is_settled) or order
    opened = openings(so_far, state.joint.id, stage.number, [one.seq for one in rows])
    counted = positions_of(free, kinds, opened, kept)
    for one, match, kind, position in zip(rows, matches, kinds, counted, strict=True):
        if one is not pull and (match.position, match.kind) != (position, kind):
            yield replace(match, kind=str(kind), position=position, reason=LEFT, revises=one.match_seq, takes_back=None)


def _not_continued(rows: list[Pull], pull: Pull, own: MatchKept) -> Pull | None:
    """The pull below the band that this one was taken to continue, and did not: it stands for itself again."""
    before = pull.match
    if before is None or before.kind not in GOES_ON or before.position == own.position:
        return None
    there = [one for one in rows if one.seq < pull.seq and one.match is not None and one.match.position == before.position]
    last = there[-1] if there else None
    return last if last is not None and last.match is not None and last.match.kind == Kind.SHORT_PULL else None
