"""The plan as the flow walks it: joints with stages and stored band edges, steps in order. Made once from a plan.

It is written into the ledger beside the plan's text, so that a record stays readable when the plan language grows.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from schemas.words import Method, Role, StageWord, StepWord


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
class AngleBand:
    """The edges of an angle that is turned on after the torque, in degrees; both are in band."""

    low: Decimal
    target: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Stage:
    """One measured round; `number` counts from 1, `share_percent` is of the joint's torque.

    Of an `angle` stage `angle` is what is judged, `band` the torque that it begins from. A `recheck` stage belongs to the
    step of the plan of that number, and shows whether the fastener held. `order` is empty where it is the joint's.
    """

    number: int
    share_percent: Decimal
    band: Band
    word: StageWord = StageWord.ROUND
    order: tuple[int, ...] = ()
    angle: AngleBand | None = None
    step: int | None = None


@dataclass(frozen=True, slots=True)
class Adapter:
    """An offset adapter: `length_mm` from drive to fastener, `angle_deg` to the wrench (0 ahead, 180 back to the hand).

    `by_wrench` says that the wrench itself works out what it shows, so that nobody else may.
    """

    length_mm: Decimal
    angle_deg: Decimal
    by_wrench: bool = False


# Without slots, so that what follows from the stages is worked out once: it is looked at again and again at every pull.
@dataclass(frozen=True)
class Joint:
    """A joint as it is worked: `order` is the order of positions (1 to `fasteners`) within a round.

    `unit` is our symbol. `snug` says that a snug round comes first, which is signed and not measured. The texts are as
    the plan gives them, None where it says nothing. `wrenches` empty means any registered wrench. `stages` is empty
    where the procedure states no torque: the joint can then only be declared.

    `drag` is what a prevailing nut takes: "included" and "added" stand in the bands already, "left out" is too small to
    count by the shop's rule, "measured" comes in on the job; one below a third of `drag_third_of_nm` is then left out, None:
    none is. `prepare` says that somebody has to declare the preparation, `renew` that its hardware is new whenever it was
    opened. `work_within_s` runs from preparing to the last pull, `cure_s` from the last pull until it may be loaded. `side`
    and `pattern` are for the picture: the right one of two mirrored joints is drawn the other way round.
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
    adapter: Adapter | None = None
    turn: str | None = None
    left_hand: bool = False
    basis: str | None = None
    drag: str | None = None
    drag_third_of_nm: Decimal | None = None
    prepare: bool = False
    renew: bool = False
    work_within_s: int | None = None
    cure_s: int | None = None
    mark: bool = True
    critical: bool = False
    reopen_joint: bool = False
    side: str | None = None
    pattern: str = "circle"
    seen_from: str | None = None

    @cached_property
    def final(self) -> Stage:
        """The stage that brings the full torque: the last round; of a joint that is only checked again its one stage.

        IndexError where no torque is stated.
        """
        rounds = [stage for stage in self.stages if stage.word is StageWord.ROUND]
        return (rounds or self.stages)[-1]

    @cached_property
    def is_check(self) -> bool:
        """Whether it is only checked again, as in a retorque that slackens nothing."""
        return bool(self.stages) and all(stage.word is StageWord.RECHECK for stage in self.stages)

    @cached_property
    def own_stages(self) -> tuple[Stage, ...]:
        """The stages that make it done: all but the rechecks of later steps."""
        return tuple(stage for stage in self.stages if stage.word is not StageWord.RECHECK) or self.stages

    def order_of(self, stage: Stage) -> tuple[int, ...]:
        """The positions in the order of that stage."""
        return stage.order or self.order

    def is_again(self, stage: Stage) -> bool:
        """Whether a round goes over fasteners that have their full torque already, until nothing moves."""
        number = stage.number
        return (
            stage.word is StageWord.ROUND and number > 1 and self.stages[number - 2].share_percent == stage.share_percent == 100
        )


@dataclass(frozen=True, slots=True)
class Step:
    """One line of the plan; `number` counts from 1.

    `joints` are those that the step is about. `text` is what a do or caution step says, a hold point asks, or the distance
    or time of a retorque. `hold_point` is its id, `sign` who signs, `measure_*` what is measured there. `after` are hold
    points to sign and joints to finish first. `positions` are those that a fit step puts in. `covers` are joints out of
    reach from here on. `as_found` asks for the torque found before opening. `method`, `from_s`, `from_km` are of a retorque.
    """

    number: int
    word: StepWord
    joints: tuple[str, ...] = ()
    text: str = ""
    hold_point: str | None = None
    sign: Role | None = None
    after: tuple[str, ...] = ()
    positions: tuple[int, ...] = ()
    covers: tuple[str, ...] = ()
    measure_unit: str | None = None
    measure_low: Decimal | None = None
    measure_high: Decimal | None = None
    as_found: bool = False
    method: Method | None = None
    from_s: int | None = None
    from_km: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """A whole plan as it is walked.

    `notes` are remarks that change nothing, such as a unit in another spelling. `item` is "VIN" where the item is named by
    its vehicle identification number.
    """

    plan: str
    title: str
    revision: str
    source: str
    content_sha256: str
    joints: tuple[Joint, ...]
    steps: tuple[Step, ...]
    notes: tuple[str, ...] = ()
    item: str | None = None

    def joint(self, joint_id: str) -> Joint:
        """The joint of that id; KeyError where the plan has none."""
        for joint in self.joints:
            if joint.id == joint_id:
                return joint
        raise KeyError(joint_id)

    def by_id(self) -> Mapping[str, Joint]:
        """Joints by id, in the plan's order."""
        return {joint.id: joint for joint in self.joints}
