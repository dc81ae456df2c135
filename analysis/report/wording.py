"""The words and signs of the report: one text for each thing that its cells hold. Pure."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from markupsafe import Markup, escape

from analysis.load.curing import loading_text
from analysis.load.places import Room, first_joints, fitting, isolated, joint_name, shortened
from analysis.load.record import JobRecord, WrenchUsed
from analysis.load.record_pulls import MatchStep, ReadingRow, StageDone
from analysis.load.record_said import LoadingRow, Retorque
from schemas.words import Kind, PositionBy, Proof, StageWord, Verdict

# Told apart by shape, so that neither colour nor a colour print is needed; the word always stands beside it.
VERDICT_SHAPES: Mapping[str, str] = {
    Verdict.UNDER: "▼",
    Verdict.IN_BAND: "●",
    Verdict.OVER: "▲",
    Verdict.MARGINAL: "◆",
    Verdict.HELD: "■",
    Verdict.MOVED: "▶",
}
VERDICT_MEANINGS: Mapping[str, str] = {
    Verdict.UNDER: "below the lower edge of the band",
    Verdict.IN_BAND: "inside the band; both edges count as inside",
    Verdict.OVER: "above the upper edge, or above what the wrench can show",
    Verdict.MARGINAL: "so near to an edge that the wrench's own error reaches over it",
    Verdict.HELD: "checked again without slackening: it took the torque, and nobody said that it moved",
    Verdict.MOVED: "checked again without slackening, and it turned on",
}
PROOF_MEANINGS: Mapping[Proof, str] = {
    Proof.PROVEN: "in band, or held in a check, with a fit wrench, in the right order; which fastener is sure",
    Proof.DECLARED: "a named person says that it was done; no wrench sent a value",
    Proof.NOT_FITTED: "a named person says that it is not there, and why",
    Proof.DOUBTFUL: "done, but something that must be known is not",
    Proof.LEFT_LOOSE: "left loose on purpose and not torqued yet",
    Proof.MISSED: "no tightening of the final stage is on record",
    Proof.FAILED: "under or over the band, and not made good",
}

# So that a long name of a wrench leaves its row as low as the others.
_WRENCH_SIGNS = 24

_NBSP = "\u00a0"

# Letters of right-to-left scripts are shown as they are; these signs could make other text read in a false order.
_ORDER_SIGNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029")
_ISOLATED = re.compile("\u2068([^\u202a-\u202e\u2066-\u2069\u2028\u2029]*)\u2069")

# How many rows of page one the retorques may take; all of them stand under Retorques.
_RETORQUE_ROWS = 5
_DUE = "see Retorques"
_LOADING_ROWS = 4


def with_visible_controls(value: object) -> object:
    """A text with each control character written out as its code point; anything else as it is.

    The two signs around a name that is written from right to left stay: they keep it from turning its neighbours round.
    """
    if type(value) is not str:
        return value
    pairs = [match.span() for match in _ISOLATED.finditer(value) if isolated(match[1]) == match[0]]
    kept = {place for start, end in pairs for place in (start, end - 1)}
    return "".join(
        f"⟨U+{ord(char):04X}⟩" if _is_control(char) and place not in kept else char for place, char in enumerate(value)
    )


def _is_control(char: str) -> bool:
    return char in _ORDER_SIGNS or (unicodedata.category(char) == "Cc" and char not in "\t\n")


def free_text(value: object) -> Markup:
    """A text that a person or a tool wrote, escaped, in its own direction and without effect on its neighbours."""
    return Markup("<bdi>{}</bdi>").format(escape(with_visible_controls(str(value))))


def clock_text(instant: str) -> str:
    """An instant of ours to the second, `2026-03-02 07:15:00 UTC`."""
    return f"{instant[:10]} {instant[11:19]} UTC"


def tool_clock_text(sent: str) -> Markup:
    """A tool's time, spaced to be read where it is ISO 8601, else just as it was sent; its raw record stands beside it."""
    try:
        instant = datetime.fromisoformat(sent)
    except ValueError:
        return free_text(sent)
    offset = instant.strftime(f"{_NBSP}%z")
    zone = f"{offset[:4]}:{offset[4:6]}" if instant.tzinfo is not None else f"{_NBSP}(no zone)"
    return Markup("{}").format(f"{instant:%Y-%m-%d}{_NBSP}{instant:%H:%M:%S}{zone}")


def verdict_text(verdict: str | None) -> str:
    """Shape and word of a verdict; a ring and "no reading" where there is none."""
    return "○ no reading" if verdict is None else f"{VERDICT_SHAPES[verdict]} {verdict}"


def value_text(reading: ReadingRow) -> str:
    """The torque as it was sent."""
    if reading.torque is None:
        return "above the tool's range" if reading.over_range else "no value"
    return f"{reading.torque}{_NBSP}{reading.unit}"


def wrench_text(wrench: str | None) -> str:
    """A wrench for a narrow cell; its whole name stands under Wrenches."""
    return shortened(wrench or "not named", _WRENCH_SIGNS)


def shown_text(reading: ReadingRow) -> str | None:
    """The torque in the joint's unit where it was sent in another one, else None."""
    return None if reading.torque_shown is None else f"= {reading.torque_shown}{_NBSP}{reading.unit_shown}"


def checks_text(wrench: WrenchUsed) -> str:
    """How often a wrench was checked between calibrations, and what the last check showed."""
    if wrench.last_checked is None or wrench.last_error_percent is None:
        return "no check on record"
    times = "once, on" if wrench.checks == 1 else f"{wrench.checks} times, last on"
    error = f"{wrench.last_error_percent:+.1f}".replace("-", "−")
    return f"checked {times} {wrench.last_checked[:10]}: {error}{_NBSP}%, permissible ±{wrench.limit_percent}{_NBSP}%"


def band_text(stage: StageDone) -> str:
    """The edges that a stage is judged by: of an angle in degrees, else of the torque in the joint's unit."""
    if stage.word is StageWord.ANGLE:
        return f"{stage.angle_low} to {stage.angle_high}°"
    return f"{stage.low} to {'' if stage.high_is_in_band else 'under '}{stage.high}{_NBSP}{stage.unit}"


def band_nm_text(stage: StageDone) -> str:
    """The band in N·m to a hundredth, for a joint in another unit; of an angle the torque that it begins from is left out."""
    if stage.word is StageWord.ANGLE:
        return ""
    low, high = (Decimal(edge).quantize(Decimal("0.01")) for edge in (stage.low_nm, stage.high_nm))
    return f"about {low} to {high}{_NBSP}N·m"


def stage_text(stage: StageDone, stages: Sequence[StageDone]) -> str:
    """Which round it was, of how many, and its share of the torque; or that an angle was turned, or it was checked again."""
    if stage.word is StageWord.ANGLE:
        return "angle after it"
    if stage.word is StageWord.RECHECK:
        return f"check, step {stage.step}"
    rounds = sum(each.word is StageWord.ROUND for each in stages)
    return "final" if rounds == 1 else f"{stage.number} of {rounds}, {stage.share_percent}{_NBSP}%"


def done_text(reading: ReadingRow, stage: StageDone) -> str:
    """What a stage is judged by as it was sent: the angle where one is turned, else the torque."""
    if stage.word is not StageWord.ANGLE:
        return value_text(reading)
    return "no angle sent" if reading.angle_deg is None else f"{reading.angle_deg}°"


def through_text(reading: ReadingRow) -> str | None:
    """Through which lever and drag a torque was judged, and what the wrench had to show; None where by its stage's own band."""
    if reading.adapter is None and reading.drag is None:
        return None
    parts = [
        f"set to {reading.set_to}{_NBSP}{reading.unit_shown or reading.unit}" if reading.set_to is not None else "",
        reading.adapter or "",
        f"drag {reading.drag}{_NBSP}N·m" if reading.drag is not None else "",
        f"judged by {reading.low_nm} to {reading.high_nm}{_NBSP}N·m shown" if reading.low_nm is not None else "not judged",
    ]
    return ", ".join(part for part in parts if part)


def place_text(place: ReadingRow | MatchStep) -> str:
    """The fastener that a reading was matched to."""
    if place.joint_name is None:
        return "no joint of this job" if place.kind == Kind.STRAY else "not matched"
    parts = [isolated(place.joint_name)]
    parts += [f"position {place.position}"] if place.position is not None else []
    parts += [f"stage {place.stage}"] if place.stage is not None else []
    return ", ".join(parts)


def position_by_text(reading: ReadingRow) -> str:
    """How it is known which of its joint's fasteners a reading was on; empty where it was on none."""
    if reading.position_by == PositionBy.CONFIRMED:
        return "position confirmed"
    return f"by {reading.position_by}" if reading.position_by else ""


def closed_text(record: JobRecord) -> str:
    """When the job was closed, and as what where that is not simply done."""
    if record.closed_at is None:
        return "not closed"
    reason = f" ({record.outcome_reason})" if record.outcome_reason else ""
    return clock_text(record.closed_at) + (f", {record.outcome}{reason}" if record.outcome else "")


def fitters_text(record: JobRecord) -> str:
    """The fitter that the job was opened for, and all who took it over."""
    takers = [row.taker for row in record.hand_overs if row.taken_at is not None]
    return ", then ".join(map(isolated, (record.fitter, *takers)))


def revision_text(record: JobRecord) -> str:
    """The revision that the job goes by now; where it was opened after another one, that it changed."""
    changed = ", changed during the job: see Changes of the plan" if record.plan_changes else ""
    return f"revision {isolated(record.plan.revision)}{changed}"


def complete_text(record: JobRecord, named_below: Sequence[str]) -> str:
    """What a complete record says on page one; what a person answers for, and what was signed late, is said with it."""
    plan = f"plan{' and of the joints added to it' if record.joints_added else ''}" if record.follows is None else "retorque"
    named = ", or declared or not fitted as named below" if named_below else ""
    signed = ", and every hold point is signed" if record.hold_points else ""
    late = sum(bool(point.late) for point in record.hold_points)
    after = f", {late} of them after a pull that it holds: see Hold points and signatures" if late else ""
    return f"Every fastener of the {plan} is proven{named}{signed}{after}."


def all_text(record: JobRecord) -> str:
    """What all the fasteners that page one counts are."""
    return f"fasteners in the plan{' and in the joints added to it' if record.joints_added else ''}"


def follows_text(record: JobRecord) -> str | None:
    """Which job a retorque follows; None for a job that is none."""
    if record.follows is None:
        return None
    gone = f", after {record.distance}" if record.distance else ""
    return f"retorque of job {isolated(record.follows)}, step {record.step} of its plan{gone}"


def verdicts_of(record: JobRecord) -> list[Verdict]:
    """The verdicts that a job of this plan can have; held and moved only where something is checked again."""
    checked = any(stage.word is StageWord.RECHECK for joint in record.route.joints for stage in joint.stages)
    return [verdict for verdict in Verdict if checked or verdict not in (Verdict.HELD, Verdict.MOVED)]


def loadings_text(loadings: Sequence[LoadingRow]) -> list[str]:
    """From when on what cures may be loaded, for page one: always with the day."""

    def say(room: Room) -> list[str]:
        lines = [f"{joint_name(row.joint_name, room)}: {_loading(row)}" for row in loadings[: room.lines]]
        left = len(loadings) - len(lines)
        more = f"{left} more joint{'' if left == 1 else 's'} must not be loaded yet: see Every fastener"
        return [*lines, more] if left else lines

    return fitting(_LOADING_ROWS, say)


def _loading(row: LoadingRow) -> str:
    return row.text if row.not_before is None else loading_text(datetime.fromisoformat(row.not_before))


def retorques_text(retorques: Sequence[Retorque]) -> list[str]:
    """The retorques that are due or what became of them, for page one: the first ones, and how many more."""

    def say(room: Room) -> list[str]:
        lines = [_retorque(one, room) for one in retorques[: room.lines]]
        left = len(retorques) - len(lines)
        more = f"{left} more retorque{' is' if left == 1 else 's are'} asked for: {_DUE}"
        return [*lines, more] if left else lines

    return fitting(_RETORQUE_ROWS, say)


def _retorque(due: Retorque, room: Room) -> str:
    joints = first_joints([joint_name(name, room) for name in due.joints], room, _DUE)
    jobs = f" ({'; '.join(isolated(job.text) for job in due.jobs)})" if due.jobs else ""
    head = "A retorque is due" if due.is_due else "Retorque"
    return f"{head} from {isolated(shortened(due.span, room.signs))}: {joints}{jobs}"
