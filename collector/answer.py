"""Takes what a person presses: the answer to what is asked, or a word about the last pull; each becomes an entry."""

import re
from dataclasses import replace
from decimal import Decimal

from collector.bench import Bench, keep_match
from collector.expect.ask import expect_answer
from collector.expect.in_order import has_place
from collector.flag import flag_match
from collector.keep_position import keep_position
from schemas.bodies import Decided, MatchKept, Signed
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.screen import Ask, AskWord, Press, PressWord
from schemas.words import Role, Said, StageWord, Verdict

_NOT_ASKED = "that is not asked any more; nothing was recorded"


def take_press(bench: Bench, press: Press) -> str:
    """Record what a press means; gives one line to show. To be called inside a transaction."""
    match press.word:
        case PressWord.YES | PressWord.NO:
            ask = _asked(bench)
            if ask is None or (press.ask is not None and press.ask != ask):
                return _NOT_ASKED
            return _answer(bench, press, ask)
        case PressWord.OTHER_JOINT:
            return _other_joint(bench, press.joint)
        case PressWord.FASTENER:
            return _on_fastener(bench, press)
        case PressWord.OPENED:
            return _opened(bench, press)
        case PressWord.SAME_AGAIN:
            return _of_last(bench, press, Said.SAME_AGAIN, "the last pull was on the same fastener again")
        case PressWord.NOT_THIS_JOB:
            return _of_last(bench, press, Said.NOT_THIS_JOB, "the last pull does not belong to this job")
        case PressWord.MOVED:
            return _moved(bench, press)
        case PressWord.QUIT:
            return "left the bench; the job stays open"


def _asked(bench: Bench) -> Ask | None:
    return expect_answer(bench.job, bench.matcher.expect_next(bench.job), bench.to_confirm)


def _say(bench: Bench, said: Said, **values: int | str | None) -> Decided:
    decided = Decided(bench.job.opened.job, str(said), simulated=bench.simulated_mark, **values)  # type: ignore[arg-type]
    bench.recorder.append(decided, bench.by)
    return decided


def _answer(bench: Bench, press: Press, ask: Ask) -> str:
    yes = press.word is PressWord.YES
    if ask.word is AskWord.FASTENER:
        return _answer_fastener(bench, bench.job.pulls[ask.reading or 0], yes=yes)
    if ask.word is AskWord.STRIPES:
        state = bench.job.joints[ask.joint or ""]
        counted = "checked again" if state.is_checked_since else "stripes seen" if state.joint.mark else "torqued"
        decided = _say(bench, Said.STRIPES, joint=ask.joint, count=ask.of if yes else None, of=ask.of)
        _place_anew(bench, bench.matcher.match_said(bench.job, decided))
        if not yes:
            return f"{'stripes' if counted == 'stripes seen' else 'some'} missing: pull those fasteners, it is asked again"
        return f"{ask.of} of {ask.of} {counted}"
    if not yes:
        return _answer_no(bench, ask)
    if ask.word is AskWord.TAKEN_BACK:
        _say(bench, Said.TAKEN_NOTE, joint=ask.joint, reading=ask.reading)
        return "taken note"
    value = _value(press, ask)
    if value is None:
        return f"a number in {ask.value_in} is needed; nothing was recorded"
    if ask.word in _SIGNED:
        return _sign(bench, press, ask, value)
    return _record_said(bench, press, ask, value)


_SIGNED = (AskWord.HOLD_POINT, AskWord.SNUG, AskWord.SECOND)
_SAYS = {
    AskWord.PREPARED: Said.PREPARED, AskWord.DRAG: Said.DRAG, AskWord.TURNED: Said.DECLARED, AskWord.DECLARED: Said.DECLARED,
    AskWord.OPENED: Said.OPENED, AskWord.COVERED: Said.COVERED,
}  # fmt: skip


# As many digits as a measuring tool shows, so that nothing else gets into the record.
_NUMBER = re.compile(r"-?[0-9]{1,12}(\.[0-9]{1,6})?")
_WHOLE = re.compile(r"[0-9]{1,4}")


def _answer_no(bench: Bench, ask: Ask) -> str:
    if ask.word is AskWord.COVERED:
        return _other_joint(bench, ask.joint)
    return "not signed; it is asked until it is" if ask.word in _SIGNED else "nothing recorded; it is asked again"


def _value(press: Press, ask: Ask) -> str | None:
    """The value that was typed, "" where none is asked for; None where it is none."""
    if not ask.value_in:
        return ""
    value = press.value or ""
    return value if _NUMBER.fullmatch(value) else None


def _sign(bench: Bench, press: Press, ask: Ask, value: str) -> str:
    signer = bench.by
    if ask.role is not Role.FITTER:
        if not press.name:
            return f"the {ask.role} signs this: a name is needed"
        signer = bench.recorder.person(press.name)
        if signer in _fitters(bench, ask):
            return f"the {ask.role} must be another person than the fitter"
    snug = ask.joint if ask.word is AskWord.SNUG else None
    second = ask.joint if ask.word is AskWord.SECOND else None
    unit = ask.value_in or None
    signed = Signed(bench.job.opened.job, str(ask.role), ask.hold_point, snug, bench.simulated_mark, second, value or None, unit)
    bench.recorder.append(signed, signer)
    if ask.hold_point is not None and ask.hold_point not in bench.job.hold_points:
        return f"{value} {ask.value_in} lies outside the limits; recorded, and `{ask.hold_point}` stays open"
    return f"signed: {ask.hold_point or ask.text}"


def _fitters(bench: Bench, ask: Ask) -> set[str]:
    """Who ever worked on the job; where a joint is looked at, its fitters and who ever pulled there."""
    joint = ask.joint if ask.word is AskWord.SECOND else None
    return {bench.by, *(bench.job.workers if joint is None else workers_on(bench.job, joint))}


def workers_on(job: JobState, joint: str) -> set[str]:
    """Who had the job first, who has it now, and whoever pulled on that joint: none of them is its second person."""
    return {job.opened.fitter, job.fitter, *(pull.by for pull in job.state_of(joint).pulls())}


def _record_said(bench: Bench, press: Press, ask: Ask, value: str) -> str:
    if ask.word is AskWord.DRAG and not _can_be_drag(bench, ask, value):
        return "the drag lies between nought and the joint's own torque; nothing was recorded"
    lot = press.value or None if ask.word is AskWord.PREPARED else None
    unit = ask.value_in or None
    step = ask.step if ask.word in (AskWord.OPENED, AskWord.TURNED) else None
    tool = "turned by its angle" if ask.word is AskWord.TURNED else None
    _say(bench, _SAYS[ask.word], joint=ask.joint, value=value or None, unit=unit, lot=lot, step=step, tool=tool)
    return f"recorded: {_SAYS[ask.word]}{f', lot {lot}' if lot else ''}"


def _can_be_drag(bench: Bench, ask: Ask, value: str) -> bool:
    # A slip of the keys would move the band, and with it what the fitter pulls to.
    return Decimal(0) <= Decimal(value) <= bench.job.joints[ask.joint or ""].joint.final.band.target


def _other_joint(bench: Bench, joint: str | None) -> str:
    ids = list(dict.fromkeys(one.joint.id for one in bench.job.passes()))
    if joint is None:
        joint = ids[(ids.index(here) + 1) % len(ids)] if (here := _here(bench)) in ids else ids[0]
    _say(bench, Said.OTHER_JOINT, joint=joint)
    return f"now at {bench.job.joints[joint].joint.name}"


def _here(bench: Bench) -> str | None:
    """The joint that is worked on; one without a stated torque is never the next fastener's."""
    in_hand = bench.job.joints.get(bench.job.in_hand or "")
    if in_hand is not None and not in_hand.joint.stages:
        return in_hand.joint.id
    target = bench.matcher.expect_next(bench.job)
    return None if target is None else target.joint.id


def _pull_meant(bench: Bench, press: Press) -> Pull | None:
    """The pull that the person saw when pressing, else the last one; None where it was on no fastener of the plan."""
    pull = bench.job.last_pull
    if press.n is not None and pull is not None and pull.n != press.n:
        pull = next((earlier for earlier in bench.job.pulls.values() if earlier.n == press.n), None)
    return pull if pull is not None and pull.match is not None and has_place(bench.job, pull.match) else None


def _opened(bench: Bench, press: Press) -> str:
    pull = _pull_meant(bench, press)
    if pull is None or pull.match is None or pull.match.joint is None:
        return "the last pull was on no fastener of this job; choose with `job opened` which one was opened"
    where = pull.match
    _say(bench, Said.OPENED, joint=where.joint, position=where.position, reading=pull.seq)
    return f"opened: {bench.job.joints[pull.match.joint].joint.name}, position {where.position}; every stage again"


def _moved(bench: Bench, press: Press) -> str:
    """A fastener that was tight turned on: noted in a round that only goes over tight fasteners, elsewhere it is no news."""
    pull = _pull_meant(bench, press)
    match = None if pull is None else pull.match
    if pull is None or match is None or match.joint is None or match.stage is None:
        return "the last pull was on no fastener of this job"
    joint = bench.job.joints[match.joint].joint
    stage = joint.stages[match.stage - 1]
    is_check = stage.word is StageWord.RECHECK
    if not is_check and not joint.is_again(stage):
        return "that was no round over fasteners that are tight already; nothing was noted"
    _say(bench, Said.MOVED, joint=match.joint, position=match.position, reading=pull.seq)
    if is_check and match.verdict == Verdict.HELD:
        _place_anew(bench, (replace(match, verdict=str(Verdict.MOVED), revises=pull.match_seq),))
    again = "" if is_check else "; the round is gone again from its beginning"
    return f"moved: {joint.name}, position {match.position}{again}"


def _of_last(bench: Bench, press: Press, said: Said, text: str) -> str:
    pull = _pull_meant(bench, press)
    if pull is None:
        return "the last pull was on no fastener of this job"
    if said is Said.NOT_THIS_JOB and pull.verdict == Verdict.OVER:
        return "an over-pull stays on record until the lead decides: witnessmark job decide"
    matches = bench.matcher.match_said(bench.job, Decided(bench.job.opened.job, str(said), reading=pull.seq))
    if pull.verdict == Verdict.OVER and not _stay_over(bench, matches):
        return "an over-pull stays on record until the lead decides: witnessmark job decide"
    if not matches:
        return "nothing to change: it opened a fastener, or no other one was touched before it"
    _say(bench, said, reading=pull.seq)
    _place_anew(bench, matches)
    return text


def _stay_over(bench: Bench, matches: tuple[MatchKept, ...]) -> bool:
    """Whether an over-pull is one still where it would lie then: no key makes it good by moving it to a higher band."""
    flagged = [one for match in matches for one in flag_match(match, bench.job)]
    return all(one.verdict == Verdict.OVER for one in flagged)


def _answer_fastener(bench: Bench, pull: Pull, *, yes: bool) -> str:
    if yes and pull.match is not None:
        return keep_position(bench, pull, pull.match.position or 0)
    bench.not_known = pull.seq
    return f"not known; reading {pull.n} stays counted in the order of its stage"


def _on_fastener(bench: Bench, press: Press) -> str:
    if press.ask is not None and press.ask != _asked(bench):
        return _NOT_ASKED
    number = press.value or ""
    if not _WHOLE.fullmatch(number):
        return "the number of a fastener is needed; nothing was recorded"
    return keep_position(bench, _pull_meant(bench, press), int(number))


def _place_anew(bench: Bench, matches: tuple[MatchKept, ...]) -> None:
    for match in matches:
        keep_match(bench, match)
