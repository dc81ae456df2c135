"""Takes what a person presses: the answer to what is asked, or a word about the last pull; each becomes an entry."""

from collector.bench import Bench
from collector.expect.ask import expect_answer
from collector.flag import flag_match
from schemas.bodies import Decided, MatchKept, Signed
from schemas.fastener_state import Pull
from schemas.screen import Ask, AskWord, Press, PressWord
from schemas.words import Role, Said, Verdict


def take_press(bench: Bench, press: Press) -> str:
    """Record what a press means; gives one line to show. To be called inside a transaction."""
    match press.word:
        case PressWord.YES | PressWord.NO:
            ask = expect_answer(bench.job, bench.matcher.expect_next(bench.job))
            if ask is None or (press.ask is not None and press.ask != ask):
                return "that is not asked any more; nothing was recorded"
            return _answer(bench, press, ask)
        case PressWord.OTHER_JOINT:
            return _other_joint(bench, press.joint)
        case PressWord.OPENED:
            return _opened(bench, press)
        case PressWord.SAME_AGAIN:
            return _of_last(bench, press, Said.SAME_AGAIN, "the last pull was on the same fastener again")
        case PressWord.NOT_THIS_JOB:
            return _of_last(bench, press, Said.NOT_THIS_JOB, "the last pull does not belong to this job")
        case PressWord.QUIT:
            return "left the bench; the job stays open"


def _say(bench: Bench, said: Said, **values: int | str | None) -> Decided:
    decided = Decided(bench.job.opened.job, str(said), simulated=bench.simulated_mark, **values)  # type: ignore[arg-type]
    bench.recorder.append(decided, bench.by)
    return decided


def _answer(bench: Bench, press: Press, ask: Ask) -> str:
    yes = press.word is PressWord.YES
    if ask.word is AskWord.STRIPES:
        decided = _say(bench, Said.STRIPES, joint=ask.joint, count=ask.of if yes else None, of=ask.of)
        _place_anew(bench, bench.matcher.match_said(bench.job, decided))
        return f"{ask.of} of {ask.of} stripes seen" if yes else "stripes missing: pull those fasteners, it is asked again"
    if not yes:
        return "not signed; it is asked until it is"
    signer = bench.by
    if ask.role is not Role.FITTER:
        if not press.name:
            return f"the {ask.role} signs this: a name is needed"
        signer = bench.recorder.person(press.name)
        if signer in (bench.by, bench.job.opened.fitter):
            return f"the {ask.role} must be another person than the fitter"
    snug = ask.joint if ask.word is AskWord.SNUG else None
    bench.recorder.append(
        Signed(bench.job.opened.job, str(ask.role), ask.hold_point, snug, bench.simulated_mark), signer
    )
    return f"signed: {ask.hold_point or ask.text}"


def _other_joint(bench: Bench, joint: str | None) -> str:
    ids = list(dict.fromkeys(joint.id for _, joint in bench.job.passes()))
    if joint is None:
        target = bench.matcher.expect_next(bench.job)
        here = ids.index(target.joint.id) if target else -1
        joint = ids[(here + 1) % len(ids)]
    _say(bench, Said.OTHER_JOINT, joint=joint)
    return f"now at {bench.job.joints[joint].joint.name}"


def _pull_meant(bench: Bench, press: Press) -> Pull | None:
    """The pull that the person saw when pressing, else the last one; None where it was on no fastener."""
    pull = bench.job.last_pull
    if press.n is not None and pull is not None and pull.n != press.n:
        pull = next((earlier for earlier in bench.job.pulls.values() if earlier.n == press.n), None)
    return pull if pull is not None and pull.match is not None and pull.match.joint is not None else None


def _opened(bench: Bench, press: Press) -> str:
    pull = _pull_meant(bench, press)
    if pull is None or pull.match is None or pull.match.joint is None:
        return "the last pull was on no fastener of this job; choose with `job opened` which one was opened"
    where = pull.match
    _say(bench, Said.OPENED, joint=where.joint, position=where.position, reading=pull.seq)
    return f"opened: {bench.job.joints[pull.match.joint].joint.name}, position {where.position}; every stage again"


def _of_last(bench: Bench, press: Press, said: Said, text: str) -> str:
    pull = _pull_meant(bench, press)
    if pull is None:
        return "the last pull was on no fastener of this job"
    if said is Said.NOT_THIS_JOB and pull.verdict == Verdict.OVER:
        return "an over-pull stays on record until the lead decides: witnessmark job decide"
    matches = bench.matcher.match_said(bench.job, Decided(bench.job.opened.job, str(said), reading=pull.seq))
    if not matches:
        return "nothing to change: it opened a fastener, or no other one was touched before it"
    _say(bench, said, reading=pull.seq)
    _place_anew(bench, matches)
    return text


def _place_anew(bench: Bench, matches: tuple[MatchKept, ...]) -> None:
    for match in matches:
        for flagged in flag_match(match, bench.job):
            bench.recorder.append(flagged)
