"""The drawn torques: inside the band where the hand means well, outside where it does not, inside the wrench's range."""

import random
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.plan.load import load_plan
from schemas.route import Joint, Stage
from schemas.units import find_unit, to_nm
from sim.pull import Aim, draw_torque
from sim.workshop import facts

ROUTE = load_plan(facts.plan_bytes(), facts.PLAN_FILE)
STAGES = [pytest.param(joint, stage, id=f"{joint.id}-{stage.number}") for joint in ROUTE.joints for stage in joint.stages]
FINALS = [pytest.param(joint, joint.final, id=joint.id) for joint in ROUTE.joints]
seeds = st.integers(0, 2**32)


def is_in_range(joint: Joint, torque: Decimal) -> bool:
    """Whether one wrench on the bench that covers the whole joint can show it; bench and joints are in N·m or lbf·ft."""
    known, _remark = find_unit(joint.unit)
    return any(
        wrench.low <= to_nm(torque, known) <= wrench.high
        for wrench in facts.WRENCHES
        if all(wrench.low <= stage.band.target_nm <= wrench.high for stage in joint.stages)
    )


@pytest.mark.parametrize(("joint", "stage"), STAGES)
@given(seed=seeds)
def test_a_hand_that_means_well_ends_inside_the_band(joint: Joint, stage: Stage, seed: int) -> None:
    torque = draw_torque(stage.band, Aim.IN_BAND, random.Random(seed))

    assert stage.band.low < torque < stage.band.high
    assert is_in_range(joint, torque)


@pytest.mark.parametrize(("joint", "stage"), FINALS)
@given(seed=seeds)
def test_a_pull_that_stops_short_or_goes_over_is_outside_and_can_be_shown(joint: Joint, stage: Stage, seed: int) -> None:
    under = draw_torque(stage.band, Aim.UNDER, random.Random(seed))
    over = draw_torque(stage.band, Aim.OVER, random.Random(seed))

    assert under < stage.band.low
    assert over > stage.band.high
    assert is_in_range(joint, under)
    assert is_in_range(joint, over)


@pytest.mark.parametrize("aim", [pytest.param(aim, id=aim.name.lower()) for aim in Aim])
def test_a_wrench_shows_tenths_and_the_same_seed_the_same_torque(aim: Aim) -> None:
    band = ROUTE.joint("wheel-nuts-left").final.band

    one, other = (draw_torque(band, aim, random.Random("a seed")) for _ in range(2))

    assert one == other
    assert one.as_tuple().exponent == -1


def test_a_wide_band_of_an_intermediate_stage_is_not_filled_upwards() -> None:
    band = ROUTE.joint("hub-left").stages[0].band

    drawn = [draw_torque(band, Aim.IN_BAND, random.Random(seed)) for seed in range(200)]

    assert max(drawn) < band.target + (band.target - band.low)
    assert len(set(drawn)) > 5
