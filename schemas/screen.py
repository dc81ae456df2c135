"""What the fitter is shown after each commit: the next fastener, the last verdict, what is asked, how far it is.

The flow makes one and hands it out; the terminal view draws it, the simulated fitter reads it. Nobody answers it: what
a person does comes back as a `Press`.
"""

from dataclasses import dataclass
from enum import StrEnum

from schemas.route import Joint, Stage
from schemas.words import Kind, Proof, Role, Verdict


class AskWord(StrEnum):
    """What a person is asked for."""

    STRIPES = "stripes"
    HOLD_POINT = "hold point"
    SNUG = "snug"


@dataclass(frozen=True, slots=True)
class Ask:
    """One question that one press answers; `role` says who may, `of` how many stripes there should be."""

    word: AskWord
    text: str
    role: Role = Role.FITTER
    joint: str | None = None
    hold_point: str | None = None
    of: int = 0


@dataclass(frozen=True, slots=True)
class Target:
    """The fastener that the flow expects next."""

    joint: Joint
    stage: Stage
    position: int


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


class PressWord(StrEnum):
    """What a person can press."""

    YES = "yes"
    NO = "no"
    SAME_AGAIN = "same again"
    NOT_THIS_JOB = "not this job"
    OPENED = "opened"
    OTHER_JOINT = "other joint"
    QUIT = "quit"


@dataclass(frozen=True, slots=True)
class Press:
    """One press; `joint` is the joint chosen (None: the next in the plan), `name` who signs where it is another person.

    `ask` is the question that the person saw and `n` the reading, so that a press made while the picture changes never
    answers another question or speaks of another pull; None where the press is about neither.
    """

    word: PressWord
    joint: str | None = None
    name: str | None = None
    ask: Ask | None = None
    n: int | None = None
