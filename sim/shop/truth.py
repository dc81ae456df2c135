"""What a made-up day leaves behind: the readings as a log has them, and the truth that only the simulator knows."""

from dataclasses import dataclass, field

from schemas.words import Kind


@dataclass(frozen=True, slots=True)
class ShopReading:
    """One row of the log, in the order of the log.

    `at_s` counts from the day's start by the wrench's own clock, as it would be sent: None in a log without times, whole
    seconds where the wrench sends no more. `torque` and `angle` are digits as sent, N·m and degrees; negative is loosening.
    """

    at_s: float | None
    wrench: str | None
    torque: str
    angle: str | None = None
    seq: int | None = None


@dataclass(frozen=True, slots=True)
class Touch:
    """What really was touched at one reading; joint, stage and position are None for a stray."""

    kind: Kind
    joint: str | None = None
    stage: int | None = None
    position: int | None = None


@dataclass(frozen=True, slots=True)
class ShopDay:
    """One day: a plan, its log, and what really happened.

    `truth` has one touch a reading. `missed` are the fasteners without any tightening at a stage, as (joint, stage, position):
    none on a day whose fasteners were all done. Not in it: what was tightened out of band, since it was tightened. `shop` and
    `fitter` name whose habits they were. `secret` is whatever else the simulator knows, for an oracle of its own.
    """

    plan: str
    readings: tuple[ShopReading, ...]
    truth: tuple[Touch, ...]
    missed: tuple[tuple[str, int, int], ...]
    shop: str
    fitter: str
    secret: object = field(default=None, compare=False)
