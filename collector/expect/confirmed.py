"""What a person's word about the fastener of a pull puts on record: the pull itself there, the others over what is left. Pure."""

from collections.abc import Iterator
from dataclasses import replace

from collector.expect.bounds import is_confirmed, is_spoken_of, placed_by_person, stays_put
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
        stays = f"nothing was recorded: fastener {match.position} was opened or spoken of since, so reading {pull.n} stays on it"
        return f"{stays}. If it was {position} that was opened: job opened"
    return _why_not_there(so_far, state, pull, position) if _kind_at(state, pull, match, position) is Kind.TIGHTENING else None


def _why_not_there(so_far: JobState, state: JointState, pull: Pull, position: int) -> str | None:
    """Why a pull that counts cannot have been on that fastener."""
    if pull.match is not None and pull.match.kind in _EXTRA and pull.seq in placed_by_person(so_far):
        again = f"reading {pull.n} was said to be a second pull on a fastener, and {position} was not done before"
        return f"nothing was recorded: {again}; pull it, or count the joint when that is asked"
    there = _there(so_far, state, pull, position)
    if there is None:
        return None
    if not is_confirmed(there.match):
        return f"nothing was recorded: reading {there.n} stays on fastener {position}, where it was shown or spoken of"
    nothing = f"nothing was recorded: fastener {position} was confirmed for reading {there.n}"
    return f"{nothing}. Pulled twice: same again, then its number; opened between: job opened; else its own number"


def confirm_position(so_far: JobState, pull: Pull, position: int) -> tuple[MatchKept, ...]:
    """The match of a pull on the fastener that a person named, then those of its stage that go to another one by that.

    Only where `why_not` has nothing to say. A second click on a fastener that was not done counts there. The others are counted
    anew in the order of the stage, but those that stay: confirmed, over, opening something, or on a fastener that was spoken
    of. Only the first match may put an earlier pull right; of the others each has to be judged for itself.
    """
    match = pull.match
    if match is None:
        return ()
    state = so_far.joints[match.joint or ""]
    kind = _kind_at(state, pull, match, position)
    own = replace(
        match, kind=str(kind), reason=REASON, position=position, position_by=str(PositionBy.CONFIRMED), revises=pull.match_seq,
        takes_back=None,
    )  # fmt: skip
    is_moved = own.kind in GOES_ON and (own.kind, own.position) != (match.kind, match.position)
    return own, *(_others(so_far, state, pull, own) if is_moved else ())


def _kind_at(state: JointState, pull: Pull, match: MatchKept, position: int) -> Kind:
    """What a pull is on that fastener: one that only went over what was done counts where nothing was, or is under."""
    there = state.fasteners[position - 1].stages[(match.stage or 0) - 1]
    is_open = there is None or there is pull or there.verdict == Verdict.UNDER
    return Kind.TIGHTENING if match.kind in _EXTRA and position != match.position and is_open else Kind(match.kind)


def _there(so_far: JobState, state: JointState, pull: Pull, position: int) -> Pull | None:
    """An earlier pull that counts on that fastener at the same stage, is not to be continued, and cannot be moved from it."""
    earlier = state.fasteners[position - 1].earlier[_stage(pull) - 1]
    staying = (one for one in earlier if one is not pull and one.verdict != Verdict.UNDER and stays_put(so_far, one))
    return next(staying, None)


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
