"""The plan as the flow walks it: joints with stages and stored band edges, steps in order. Made once from a plan.

It is written into the ledger beside the plan's text, so that a record stays readable when the plan language grows.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from schemas.words import Role, StepWord


@dataclass(frozen=True, slots=True)
class Band:
    """The edges that a torque is judged by, exact.

    `low`, `target`, `high` are in the joint's unit, for people; the same with `_nm` in N·m, for the verdict. Both edges
    are in band, but where `high_is_in_band` is False (an intermediate stage, that reaches to just under the final's
    lower edge) the upper edge itself is over.
    """

    low: Decimal
    target: Decimal
    high: Decimal
    low_nm: Decimal
    target_nm: Decimal
    high_nm: Decimal
    high_is_in_band: bool = True


@dataclass(frozen=True, slots=True)
class Stage:
    """One measured round; `number` counts from 1, `share_percent` is of the joint's torque."""

    number: int
    share_percent: Decimal
    band: Band


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint as it is worked: `order` is the order of positions (1 to `fasteners`) within a round.

    `unit` is our symbol. `snug` says that a snug round comes first, which is signed and not measured. The texts are as
    the plan gives them, None where it says nothing. `wrenches` empty means any registered wrench. `stages` is empty
    where the procedure states no torque: the joint can then only be declared.
    """

    id: str
    name: str
    fasteners: int
    stages: tuple[Stage, ...]
    order: tuple[int, ...]
    order_word: str
    unit: str
    snug: bool = False
    thread: str | None = None
    grade: str | None = None
    prep: str | None = None
    nut: str | None = None
    hardware: str | None = None
    counter_hold: str | None = None
    socket: str | None = None
    wheel: bool = False
    wrenches: tuple[str, ...] = ()
    adapter: str | None = None

    @property
    def final(self) -> Stage:
        """The last stage."""
        return self.stages[-1]


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the plan; `number` counts from 1.

    `joints` are those of a loose, torque or retorque step. `text` is what a do or caution step says, a hold point asks,
    or the distance or time of a retorque. `hold_point` is its id, `sign` who signs. `after` are hold points to sign
    first.
    """

    number: int
    word: StepWord
    joints: tuple[str, ...] = ()
    text: str = ""
    hold_point: str | None = None
    sign: Role | None = None
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Route:
    """A whole plan as it is walked.

    `not_obeyed` says, one line each, what the plan asks for and the collector does not do yet: such a plan opens no
    job. `notes` are remarks that change nothing, such as a unit in another spelling.
    """

    plan: str
    title: str
    revision: str
    source: str
    content_sha256: str
    joints: tuple[Joint, ...]
    steps: tuple[Step, ...]
    not_obeyed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def joint(self, joint_id: str) -> Joint:
        """The joint of that id; KeyError where the plan has none."""
        for joint in self.joints:
            if joint.id == joint_id:
                return joint
        raise KeyError(joint_id)

    def by_id(self) -> Mapping[str, Joint]:
        """Joints by id, in the plan's order."""
        return {joint.id: joint for joint in self.joints}
