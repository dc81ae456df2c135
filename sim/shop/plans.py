"""Made-up job plans of a trailer workshop: joints of few torques, left and right alike, as YAML that the plan loader reads."""

import random
from dataclasses import dataclass

from schemas.plan.order import ORDERS

_NOUNS = (
    ("u-bolts", "Spring U-bolt nuts"), ("shackle-bolts", "Shackle bolts"), ("wheel-nuts", "Wheel nuts"),
    ("hub-flange", "Hub flange bolts"), ("back-plate", "Brake back plate bolts"), ("damper", "Damper bolts"),
    ("spring-hanger", "Spring hanger bolts"), ("stub-axle", "Stub axle bolts"), ("axle-clamp", "Axle clamp bolts"),
    ("bearing-cap", "Bearing cap bolts"), ("equaliser", "Equaliser bolts"), ("drawbar", "Drawbar bolts"),
    ("mudguard-stay", "Mudguard stay bolts"), ("coupling-head", "Coupling head bolts"), ("side-rail", "Side rail bolts"),
    ("pivot", "Pivot bolts"), ("prop-stand", "Prop stand bolts"), ("tail-gate", "Tail gate hinge bolts"),
    ("bump-stop", "Bump stop bolts"), ("cross-member", "Cross member bolts"),
)  # fmt: skip
_TORQUES_NM = (9, 12, 22, 25, 35, 47, 55, 75, 88, 95, 110, 120, 150, 180, 210)
_COUNTS = (1, 1, 2, 2, 2, 3, 4, 4, 4, 5, 6, 6, 8, 10, 12)
_TOLERANCES = (5, 8, 8, 10, 10, 12, 15)
_STAGES = ((100,),) * 6 + ((50, 100),) * 3 + ((30, 60, 100),)
_STAGED_FROM_NM = 47
_FEWEST, _MOST = 30, 150


@dataclass(frozen=True, slots=True)
class PlanJoint:
    """One joint as the plan has it; `torque_nm` and `tolerance_percent` of the final, `order` the positions in turn."""

    id: str
    name: str
    fasteners: int
    torque_nm: int
    tolerance_percent: int
    stages: tuple[int, ...]
    order_word: str
    side: str | None = None

    @property
    def order(self) -> tuple[int, ...]:
        """The positions from 1 in the order in which they are pulled."""
        return tuple(ORDERS[self.order_word](self.fasteners))

    def band_nm(self, stage: int) -> tuple[float, float, float]:
        """Low edge, target and high edge of a stage, counted from 1."""
        target, share = float(self.torque_nm), self.stages[stage - 1] / 100
        low = target * (1 - self.tolerance_percent / 100)
        if share == 1:
            return low, target, target * (1 + self.tolerance_percent / 100)
        return target * share * 0.9, target * share, low


def draw_plan(rng: random.Random) -> tuple[PlanJoint, ...]:
    """8 to 30 joints with 1 to 12 fasteners each and 30 to 150 in all; half of the plans number their joints J01, J02 …"""
    while True:
        joints = _draw_joints(rng)
        if 8 <= len(joints) <= 30 and _FEWEST <= sum(joint.fasteners for joint in joints) <= _MOST:
            return joints


def plan_text(joints: tuple[PlanJoint, ...]) -> str:
    """The plan as YAML; every joint states its own tolerance."""
    head = (
        'plan: made-up-day\ntitle: A made-up trailer\nrevision: "1"\n'
        "source: Shop procedure of a made-up workshop\nunit: N·m\njoints:\n"
    )
    return head + "".join(_line(joint) for joint in joints)


def _line(joint: PlanJoint) -> str:
    stages = ", ".join(str(stage) for stage in joint.stages)
    return (
        f'  - {{id: {joint.id}, name: "{joint.name}", fasteners: {joint.fasteners}, torque: {joint.torque_nm}, '
        f"tolerance: {joint.tolerance_percent} %, stages: [{stages}], order: {joint.order_word}}}\n"
    )


def _draw_joints(rng: random.Random) -> tuple[PlanJoint, ...]:
    wanted = rng.randint(8, 30)
    torques = rng.sample(_TORQUES_NM, rng.randint(3, 6))
    usual_tolerance = rng.choice(_TOLERANCES)
    numbered = rng.random() < 0.5
    nouns = rng.sample(_NOUNS, len(_NOUNS))
    joints: list[PlanJoint] = []
    torque = rng.choice(torques)
    while len(joints) < wanted:
        torque = torque if rng.random() < 0.4 else rng.choice(torques)
        noun, name = nouns[len(joints) % len(nouns)]
        if len(joints) >= len(nouns):
            noun, name = f"{noun}-2", f"{name}, second"
        tolerance = usual_tolerance if rng.random() < 0.8 else rng.choice(_TOLERANCES)
        order = "cross" if rng.random() < 0.8 else "in line"
        count = rng.choice(_COUNTS)
        # Nobody goes round a single bolt or a small one in stages.
        stages = rng.choice(_STAGES) if count > 1 and torque >= _STAGED_FROM_NM else (100,)
        for side in ("left", "right") if rng.random() < 0.4 else (None,):
            joint_id = f"J{len(joints) + 1:02d}" if numbered else noun if side is None else f"{noun}-{side}"
            called = f"Joint {len(joints) + 1}" if numbered else name if side is None else f"{name}, {side}"
            joints.append(PlanJoint(joint_id, called, count, torque, tolerance, stages, order, side))
    return tuple(joints)
