"""The made-up workshop: its plan is one that the collector takes as it is, and its figures are plausible."""

import math
import re
from datetime import timedelta
from decimal import Decimal
from itertools import pairwise

import pytest

from schemas.findings.check import check_plan
from schemas.plan.cover import uncovered
from schemas.plan.load import load_plan, load_whole
from schemas.route import Joint, Route
from schemas.units import find_unit, to_nm
from schemas.words import Role, StepWord
from schemas.wrench import Wrench, usual_limit_percent
from sim.workshop import facts

# Proof stress in MPa: ISO 898-1 class 8.8 up to 16 mm and class 10.9; SAE J429 grade 5 up to 1 in, 85 ksi.
# Read in published copies of the tables, not in the standards themselves.
PROOF_MPA = {"8.8": 580.0, "10.9": 830.0, "grade 5": 85 * 6.894757}
ROUTE = load_plan(facts.plan_bytes(), facts.PLAN_FILE)


def _on_the_bench(wrench: facts.WrenchFacts) -> Wrench:
    low, high = (to_nm(value, find_unit(wrench.unit)[0]) for value in (wrench.low, wrench.high))
    return Wrench(
        wrench.id, wrench.serial, wrench.type, low, high, wrench.unit, str(wrench.measures), usual_limit_percent(high)
    )  # fmt: skip


BENCH = [_on_the_bench(wrench) for wrench in facts.WRENCHES]


@pytest.fixture
def route() -> Route:
    return ROUTE


def proof_torque_nm(thread: str, grade: str, share: float = 0.75, k: float = 0.20) -> float:
    """Torque at a share of proof load, T = K d F, with the stress areas of ISO 898-1 and of ASME B1.1 (from memory)."""
    if metric := re.fullmatch(r"M(\d+)x([\d.]+)", thread):
        diameter_mm, pitch_mm = float(metric[1]), float(metric[2])
        area_mm2 = math.pi / 4 * (diameter_mm - 0.9382 * pitch_mm) ** 2
    else:
        inch = re.fullmatch(r"(\d+)/(\d+)-(\d+)", thread)
        assert inch, thread
        diameter_mm, pitch_mm = 25.4 * int(inch[1]) / int(inch[2]), 25.4 / int(inch[3])
        area_mm2 = math.pi / 4 * (diameter_mm - 0.9743 * pitch_mm) ** 2
    return k * diameter_mm / 1000 * share * PROOF_MPA[grade] * area_mm2


def test_proof_torque_of_this_test_agrees_with_a_computed_table() -> None:
    # Computed apart from this code, from the same formula with printed stress areas: M10x1.5 10.9 is 72.2 N·m.
    assert proof_torque_nm("M10x1.5", "10.9") == pytest.approx(72.2, rel=0.005)
    assert proof_torque_nm("1/2-13", "grade 5") == pytest.approx(75.4 * 1.355818, rel=0.005)


@pytest.mark.parametrize("joint", [pytest.param(joint, id=joint.id) for joint in ROUTE.joints])
def test_torque_stays_within_three_quarters_of_proof_load(joint: Joint) -> None:
    assert joint.thread
    assert joint.grade

    limit_nm = proof_torque_nm(joint.thread, joint.grade)

    assert 0.3 * limit_nm < float(joint.final.band.target_nm) <= limit_nm


def test_plan_is_read_without_a_remark(route: Route) -> None:
    assert route.notes == ()


def test_plan_is_long_enough_for_a_day(route: Route) -> None:
    assert len(route.joints) >= 14
    assert sum(joint.fasteners for joint in route.joints) >= 70


def test_plan_shows_what_the_trade_has(route: Route) -> None:
    shares = {tuple(int(stage.share_percent) for stage in joint.stages) for joint in route.joints}
    crossed = [joint for joint in route.joints if joint.order_word == "cross" and len(joint.stages) == 2]

    assert shares == {(100,), (50, 100)}
    assert crossed
    assert any(joint.snug for joint in route.joints)
    assert {joint.unit for joint in route.joints} == {"N·m", "lbf·ft"}
    assert any(joint.nut == "prevailing" for joint in route.joints)
    assert any(joint.wheel for joint in route.joints)
    assert any(one.final.band == other.final.band for one, other in pairwise(route.joints))


def test_cautions_come_first(route: Route) -> None:
    assert [step.word for step in route.steps[:2]] == [StepWord.CAUTION, StepWord.CAUTION]


def test_a_joint_left_loose_is_torqued_after_the_lead_signed(route: Route) -> None:
    words = [step.word for step in route.steps]
    loose = route.steps[words.index(StepWord.LOOSE)].joints
    late = [step for step in route.steps if step.word is StepWord.TORQUE and step.joints == loose]
    signed = {step.hold_point: step for step in route.steps if step.word is StepWord.HOLD_POINT}

    assert len(late) == 1
    assert [signed[name].sign for name in late[0].after] == [Role.LEAD]


def test_wheel_nuts_are_retorqued(route: Route) -> None:
    wheels = {joint.id for joint in route.joints if joint.wheel}
    retorqued = [set(step.joints) for step in route.steps if step.word is StepWord.RETORQUE]

    assert retorqued == [wheels]


def test_joints_are_listed_in_the_order_in_which_they_are_torqued(route: Route) -> None:
    torqued = [joint for step in route.steps if step.word is StepWord.TORQUE for joint in step.joints]

    assert [joint.id for joint in route.joints] == torqued


def test_every_stage_has_a_wrench_on_the_bench(route: Route) -> None:
    assert uncovered(route, BENCH) == ()


@pytest.mark.parametrize("wrenches", [pytest.param([], id="no-register"), pytest.param(BENCH, id="the-bench")])
def test_plan_check_finds_nothing_that_the_plan_does_not_accept(wrenches: list[Wrench]) -> None:
    checked = check_plan(load_whole(facts.plan_bytes(), facts.PLAN_FILE), wrenches)

    assert checked.open == ()
    assert "unlike-torque-on-like-joints" in {found.id for found in checked.findings}


@pytest.mark.parametrize("wrench", [pytest.param(wrench, id=wrench.id) for wrench in facts.WRENCHES])
def test_wrench_is_in_date_on_the_day(wrench: facts.WrenchFacts) -> None:
    last = wrench.certificates[-1]
    assert last.calibrated_on <= facts.START_AT.date() <= last.due_on
    assert [paper.due_on for paper in wrench.certificates[:-1]] == [
        paper.calibrated_on - timedelta(days=1) for paper in wrench.certificates[1:]
    ]
    assert Decimal(0) < wrench.low < wrench.high
