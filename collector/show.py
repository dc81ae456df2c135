"""Makes the picture that the fitter is shown from what was recorded; pure."""

from collections.abc import Iterator, Mapping
from decimal import ROUND_HALF_EVEN, Decimal, localcontext

from schemas.curing import cured_at
from schemas.fastener_state import Pull
from schemas.job_rows import is_complete
from schemas.job_state import JobState
from schemas.joint_state import JointState
from schemas.judged_band import judged_band
from schemas.screen import Ask, JointRow, Last, Screen, Target
from schemas.words import Kind, Proof, StageWord, StepWord, Verdict
from schemas.wrench import Wrench

SHOWN_DIGITS = 5000
"""More than the longest line of any wire format can hold, so that no number that was sent fails to be shown."""
STOP_TEXT = "STOP: over the upper edge. Do not back off and carry on; ask the lead"


def show_screen(
    state: JobState,
    target: Target | None,
    ask: Ask | None,
    last: Last | None,
    link: str,
    link_ok: bool,
    notice: str = "",
    ended: bool = False,
    wrenches: Mapping[str, Wrench] | None = None,
) -> Screen:
    """The picture after the entries that `state` holds; `wrenches` for what to set on them with an offset adapter."""
    rows = tuple(_row(number, joint) for number, joint in enumerate(state.joints.values(), 1))
    return Screen(
        state.opened.job, state.route.title, bool(state.opened.simulated), target, ask, last, rows,
        _reminders(state, target), link, link_ok, notice, len(state.pulls),
        is_complete(state, (row.proof for row in rows)), ended, _levers(state, target, wrenches or {}),
    )  # fmt: skip


def _row(number: int, state: JointState) -> JointRow:
    joint, summary = state.joint, state.summary
    return JointRow(
        number, joint.id, joint.name, joint.fasteners, summary.done, summary.counts.get(Proof.FAILED, 0), summary.worst,
        state.confirmed_seq is not None, Proof.LEFT_LOOSE in summary.counts,
    )  # fmt: skip


def _reminders(state: JobState, target: Target | None) -> tuple[str, ...]:
    """The cautions, things to do and joints to leave loose that stand between the torque step before and the target's."""
    if target is None:
        return tuple(_loading(state))
    texts: list[str] = []
    for step in state.route.steps:
        if step.number >= target.step:
            break
        names = [state.joints[joint].joint.name for joint in step.joints]
        match step.word:
            case StepWord.TORQUE | StepWord.RECHECK:
                texts = []
            case StepWord.CAUTION | StepWord.DO:
                texts.append(step.text)
            case StepWord.LOOSE:
                texts += [f"Leave loose: {name}" for name in names]
            case StepWord.FIT:
                positions = ", ".join(map(str, step.positions))
                texts += [f"Put in {name}, position{'s' * (len(step.positions) > 1)} {positions}" for name in names]
    here = next(step for step in state.route.steps if step.number == target.step)
    waits = [f"First: {what.removesuffix(' was signed').removesuffix(' was done')}" for what in state.waits(here, 1 << 62)]
    return (*waits, *texts, *_of_joint(state, target), *_loading(state))


def _loading(state: JobState) -> Iterator[str]:
    """From when on joints may be loaded that are done and have to cure."""
    for joint in state.joints.values():
        if joint.joint.cure_s is None or not joint.all_done:
            continue
        pulls = (pull for fastener in joint.fasteners for pull in fastener.stages if pull is not None)
        cured = cured_at((pull.pulled_at for pull in pulls), joint.joint.cure_s)
        if cured is not None:
            yield f"{joint.joint.name}: do not load before {cured:%Y-%m-%d %H:%M} UTC"
        else:
            yield f"{joint.joint.name}: do not load before it has cured; when it was pulled is not certain"


def _of_joint(state: JobState, target: Target) -> list[str]:
    """What the joint itself asks for while it is pulled."""
    joint, texts = target.joint, []
    if target.stage.word is StageWord.RECHECK:
        texts.append("Do not slacken: pull until the torque is reached; press m if it moved")
    elif joint.is_again(target.stage):
        texts.append("Round again over tight fasteners; press m if one moves, then it is gone once more")
    if joint.work_within_s is not None:
        texts.append(f"To be pulled within {joint.work_within_s / 60:.0f} min of preparing")
    return texts


def _levers(state: JobState, target: Target | None, wrenches: Mapping[str, Wrench]) -> tuple[str, ...]:
    """What to set on each wrench that may be used, through the joint's offset adapter."""
    adapter = None if target is None else target.joint.adapter
    if target is None or adapter is None:
        return ()
    if adapter.by_wrench:
        return ("The wrench corrects for the adapter itself: enter it there, set the torque of the joint",)
    lines = []
    for name in target.joint.wrenches or wrenches:
        wrench = wrenches.get(name)
        judged = judged_band(state.joints[target.joint.id], target.stage, target.position, wrench.length_mm if wrench else None)
        if judged.band is None:
            lines.append(f"{name}: cannot be used with the adapter: {judged.lever}")
        else:
            band, unit = judged.band, target.joint.unit
            lines.append(f"{name}: set {band.target:f} {unit} (in band {band.low:f} to {band.high:f}), hand on the grip mark")
    return tuple(lines)


def show_pull(state: JobState, pull: Pull) -> Last:
    """What became of a pull, in words."""
    match, reading = pull.match, pull.reading
    if match is None or match.joint is None or match.stage is None:
        reason = match.reason if match else "not matched"
        return Last("stray", f"Reading {pull.n} belongs to no joint here: {reason}", pull.n, Kind.STRAY, wrench=reading.wrench)
    joint = state.state_of(match.joint).joint
    shown = _in_unit(pull, state)
    verdict = Verdict(match.verdict) if match.verdict else None
    word = str(verdict or "no verdict") if match.kind == Kind.TIGHTENING else str(match.kind)
    stop = verdict is Verdict.OVER
    where = f"{joint.name}, position {match.position} of {joint.fasteners}"
    turned = f", turned {reading.angle_deg}°" if match.angle_low is not None and reading.angle_deg is not None else ""
    text = STOP_TEXT if stop else f"{where}: {word}, torque reached {shown}{turned}"
    return Last(
        word, text, pull.n, Kind(match.kind), verdict, joint.id, joint.name, match.stage, match.position, reading.torque,
        reading.unit, shown, reading.wrench, stop,
    )  # fmt: skip


def _in_unit(pull: Pull, state: JobState) -> str:
    """The torque in the joint's unit, to a tenth where it was converted, with the unit."""
    match, reading = pull.match, pull.reading
    if reading.torque is None or reading.torque_nm is None or match is None or match.joint is None:
        return "above the tool's range"
    joint = state.state_of(match.joint).joint
    if joint.unit == reading.unit or not joint.stages:
        return f"{reading.torque} {reading.unit}"
    target = joint.final.band
    with localcontext(prec=SHOWN_DIGITS):
        converted = Decimal(reading.torque_nm) * target.target / target.target_nm
        return f"{converted.quantize(Decimal('0.1'), ROUND_HALF_EVEN)} {joint.unit}"
