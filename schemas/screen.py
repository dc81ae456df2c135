"""What the fitter is shown after each commit: the next fastener, the last verdict, what is asked, how far it is.

The flow makes one and hands it out; the terminal view draws it, the simulated fitter reads it. Nobody answers it: what
a person does comes back as a `Press`.
"""

from dataclasses import dataclass
from enum import StrEnum

from schemas.route import Band, Joint, Stage
from schemas.words import Kind, Proof, Role, Verdict


class AskWord(StrEnum):
    """What a person is asked for."""

    STRIPES = "stripes"
    HOLD_POINT = "hold point"
    SNUG = "snug"
    PREPARED = "prepared"
    DRAG = "drag"
    TURNED = "turned"
    SECOND = "second"
    DECLARED = "declared"
    OPENED = "opened"
    COVERED = "covered"
    TAKEN_BACK = "taken back"
    FASTENER = "fastener"


@dataclass(frozen=True, slots=True)
class Ask:
    """One question that one press answers; `role` says who may, `of` how many stripes there should be.

    `value_in` is the unit of a value that has to be typed with the answer, empty where none is. `step` is the plan's step
    that asks, None where it is the joint's own question; `reading` is the entry of the reading that it speaks of.
    """

    word: AskWord
    text: str
    role: Role = Role.FITTER
    joint: str | None = None
    hold_point: str | None = None
    of: int = 0
    value_in: str = ""
    step: int | None = None
    reading: int | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """The fastener that the flow expects next; `step` is the plan's step that works it, `band` what it has to reach.

    `band` differs from the stage's where a drag was measured.
    """

    joint: Joint
    stage: Stage
    position: int
    step: int
    band: Band


@dataclass(frozen=True, slots=True)
class Last:
    """What became of the last pull or frame.

    `torque` and `unit` are as sent, `torque_shown` the same in the joint's unit. `text` is one line to read. A reading
    that gave no value (unreadable, set aside) has only `text` and `word`.
    """

    word: str
    text: str
    n: int | None = None
    kind: Kind | None = None
    verdict: Verdict | None = None
    joint: str | None = None
    joint_name: str | None = None
    stage: int | None = None
    position: int | None = None
    torque: str | None = None
    unit: str | None = None
    torque_shown: str | None = None
    wrench: str | None = None
    stop: bool = False


@dataclass(frozen=True, slots=True)
class JointRow:
    """How far one joint is; `number` is what a person types to choose it. `proof` is the worst of its fasteners."""

    number: int
    joint: str
    name: str
    fasteners: int
    done: int
    failed: int
    proof: Proof
    confirmed: bool
    left_loose: bool


@dataclass(frozen=True, slots=True)
class Screen:
    """One picture. `reminders` are cautions and things to do before the next fastener, in the plan's order.

    `levers` say what to set on which wrench with an offset adapter, empty where there is none.
    `link` is one line on the wrench's link, `link_ok` whether bytes can come. `notice` answers the last press.
    `ended` is set on the last picture of a run.
    """

    job: str
    title: str
    simulated: bool
    target: Target | None
    ask: Ask | None
    last: Last | None
    rows: tuple[JointRow, ...]
    reminders: tuple[str, ...]
    link: str
    link_ok: bool
    notice: str = ""
    readings: int = 0
    complete: bool = False
    ended: bool = False
    levers: tuple[str, ...] = ()


class PressWord(StrEnum):
    """What a person can press."""

    YES = "yes"
    NO = "no"
    SAME_AGAIN = "same again"
    NOT_THIS_JOB = "not this job"
    MOVED = "moved"
    OPENED = "opened"
    OTHER_JOINT = "other joint"
    FASTENER = "fastener"
    QUIT = "quit"


@dataclass(frozen=True, slots=True)
class Press:
    """One press; `joint` is the joint chosen (None: the next in the plan), `name` who signs where it is another person.

    `value` is what was typed with it: the measured value, the lot of a preparation, or the number of a fastener in its joint.

    `ask` is the question that the person saw and `n` the reading, so that a press made while the picture changes never
    answers another question or speaks of another pull; None where the press is about neither.
    """

    word: PressWord
    joint: str | None = None
    name: str | None = None
    ask: Ask | None = None
    n: int | None = None
    value: str | None = None
