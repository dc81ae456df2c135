"""What each field of a plan becomes on the route: rounds, the angle, rechecks, orders, and what is asked of a fitter."""

from dataclasses import replace
from decimal import Decimal

import pytest

from schemas.plan.load import load_plan
from schemas.route import Adapter, AngleBand, Joint, Route, Step
from schemas.words import Method, Role, StageWord, StepWord

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 10 %\n"
BOLTS = "  - {id: bolts, name: Bolts, fasteners: 4, torque: 40}\n"


def load(joints: str, *steps: str, head: str = HEAD) -> Route:
    listed = "steps:\n" + "".join(f"  - {step}\n" for step in steps) if steps else ""
    return load_plan(f"{head}joints:\n{joints}{listed}".encode(), "axle.yaml")


def joint(more: str = "", *, fasteners: int = 4, torque: str = "torque: 40", head: str = HEAD) -> Joint:
    fields = f"id: bolts, name: Bolts, fasteners: {fasteners}, {torque}"
    return load(f"  - {{{fields}{f', {more}' if more else ''}}}\n", head=head).joints[0]


@pytest.mark.parametrize(
    ("more", "field", "value"),
    [
        pytest.param("turn: head", "turn", "head", id="turn"),
        pytest.param("hand: left", "left_hand", True, id="left-hand"),
        pytest.param("hand: right", "left_hand", False, id="right-hand"),
        pytest.param("basis: dry", "basis", "dry", id="basis-dry"),
        pytest.param("basis: as prepared", "basis", "as prepared", id="basis-as-prepared"),
        pytest.param("work_within: 10 min", "work_within_s", 600, id="work-within"),
        pytest.param("cure: 24 h", "cure_s", 86_400, id="cure"),
        pytest.param("prep: anti-seize", "prepare", True, id="prepared"),
        pytest.param("prep: dry", "prepare", False, id="dry"),
        pytest.param("prep: dry, work_within: 10 min", "prepare", True, id="dry-with-a-time"),
        pytest.param("mark: none", "mark", False, id="no-paint"),
        pytest.param("mark: paint", "mark", True, id="paint"),
        pytest.param("critical: yes", "critical", True, id="critical"),
        pytest.param("critical: no", "critical", False, id="not-critical"),
        pytest.param("reopen: joint", "reopen_joint", True, id="reopen-joint"),
        pytest.param("reopen: fastener", "reopen_joint", False, id="reopen-fastener"),
        pytest.param("seen_from: below", "seen_from", "below", id="seen-from"),
        pytest.param("pattern: row", "pattern", "row", id="row"),
        pytest.param("order: cross", "pattern", "circle", id="circle-where-nothing-is-said"),
        pytest.param("order: in line", "pattern", "row", id="row-in-line"),
        pytest.param("order: in line, pattern: circle", "pattern", "circle", id="circle-in-line"),
        pytest.param("wheel: yes", "wheel", True, id="wheel"),
        pytest.param("nut: prevailing, drag: included", "drag", "included", id="drag-included"),
        pytest.param("adapter: {length: 2 in, angle: 0}", "adapter", Adapter(Decimal("50.8"), Decimal(0)), id="adapter"),
        pytest.param(
            "adapter: {length: 50 mm, angle: 22.5, corrected_by: us}",
            "adapter", Adapter(Decimal(50), Decimal("22.5")), id="adapter-by-us",
        ),
        pytest.param(
            "adapter: {length: 50 mm, angle: 180, corrected_by: wrench}",
            "adapter", Adapter(Decimal(50), Decimal(180), by_wrench=True), id="adapter-by-wrench",
        ),
    ],
)  # fmt: skip
def test_a_field_of_a_joint_comes_onto_the_route(more: str, field: str, value: object) -> None:
    assert getattr(joint(more), field) == value


def test_a_joint_that_says_nothing_has_the_defaults() -> None:
    plain = joint()

    assert plain == Joint("bolts", "Bolts", 4, plain.stages, (1, 2, 3, 4), "any", "N·m")
    assert [(stage.word, stage.order, stage.angle, stage.step) for stage in plain.stages] == [(StageWord.ROUND, (), None, None)]


def test_closing_rounds_at_the_full_torque_have_its_band_and_are_rounds_again() -> None:
    bolts = joint("stages: [snug, 50, 100, 100]")

    assert [stage.share_percent for stage in bolts.stages] == [50, 100, 100]
    assert [(stage.band.low, stage.band.high) for stage in bolts.stages] == [(18, 36), (36, 44), (36, 44)]
    assert [bolts.is_again(stage) for stage in bolts.stages] == [False, False, True]
    assert bolts.final.number == 3
    assert bolts.snug


def test_an_angle_is_a_stage_of_its_own_after_the_torque() -> None:
    bolts = joint("stages: [50, 100], then_angle: 90, angle_tolerance: 7.5")
    turn = bolts.stages[-1]

    assert [stage.word for stage in bolts.stages] == [StageWord.ROUND, StageWord.ROUND, StageWord.ANGLE]
    assert turn.angle == AngleBand(Decimal("82.5"), Decimal(90), Decimal("97.5"))
    assert (turn.number, turn.band) == (3, bolts.stages[1].band)
    assert bolts.final.number == 2
    assert not bolts.is_again(turn)


def test_rechecks_of_later_steps_are_stages_behind_all_others() -> None:
    route = load(BOLTS, "torque: bolts", "do: Drive it round the yard", "recheck: bolts", "recheck: [bolts]")
    bolts = route.joints[0]

    assert [(stage.number, stage.word, stage.step) for stage in bolts.stages] == [
        (1, StageWord.ROUND, None),
        (2, StageWord.RECHECK, 3),
        (3, StageWord.RECHECK, 4),
    ]
    assert bolts.stages[2].band == bolts.stages[0].band
    assert bolts.own_stages == bolts.stages[:1]
    assert bolts.final.number == 1
    assert not bolts.is_again(bolts.stages[1])


def test_a_joint_that_is_only_checked_again_has_its_check_as_the_stage_that_counts() -> None:
    bolts = load(BOLTS, "torque: bolts", "recheck: bolts").joints[0]
    checked = replace(bolts, stages=bolts.stages[1:])

    assert not bolts.is_check
    assert checked.is_check
    assert checked.final == bolts.stages[1]
    assert checked.own_stages == checked.stages


def test_one_start_is_for_all_rounds_and_a_list_has_one_each() -> None:
    each = joint("stages: [snug, 50, 100], order: cross, start: [1, 2]", fasteners=8)
    alike = joint("stages: [50, 100], order: cross, start: 3", fasteners=8)

    assert [each.order_of(stage) for stage in each.stages] == [(1, 5, 3, 7, 2, 6, 4, 8), (2, 6, 4, 8, 3, 7, 5, 1)]
    assert [alike.order_of(stage)[0] for stage in alike.stages] == [3, 3]
    assert each.order == alike.order == (1, 5, 3, 7, 2, 6, 4, 8)


def test_the_angle_and_the_rechecks_go_in_the_order_of_the_last_round() -> None:
    bolts = joint("order: cross, start: 2, then_angle: 90, angle_tolerance: 5")

    assert [bolts.order_of(stage) for stage in bolts.stages] == [(2, 4, 3, 1), (2, 4, 3, 1)]


def test_an_order_without_a_start_is_the_joints() -> None:
    bolts = joint("order: [4, 2, 3, 1]")

    assert bolts.stages[0].order == ()
    assert bolts.order_of(bolts.stages[0]) == (4, 2, 3, 1)


# 12 running on 50 to 70 lbf·in: added always by FAA AC 43.13-1B para 7-40, and left out by the US Army's TB 43-0218, where
# it is below a third of the recommended torque; 30 running counts by both. Both were read.
@pytest.mark.parametrize(
    ("rule", "drag", "low", "high", "kept"),
    [
        pytest.param("add", "12", 62, 82, "added", id="always"),
        pytest.param("leave out below a third", "12", 50, 70, "left out", id="small-left-out"),
        pytest.param("add", "30", 80, 100, "added", id="large-always"),
        pytest.param("leave out below a third", "30", 80, 100, "added", id="large-by-the-third"),
    ],
)
def test_a_stated_drag_is_in_the_band_by_the_rule_of_the_shop(rule: str, drag: str, low: int, high: int, kept: str) -> None:
    head = HEAD.replace("N·m", "lbf·in") + f"small_drag: {rule}\n"
    nut = joint(f"nut: prevailing, drag: {drag} in-lb", torque="low: 50, high: 70", head=head)

    assert (nut.final.band.low, nut.final.band.high) == (low, high)
    assert nut.final.band.target == (low + high) / 2
    assert (nut.drag, nut.drag_third_of_nm) == (kept, None)


def test_a_stated_drag_is_in_every_round() -> None:
    nut = joint("nut: prevailing, drag: 4 N·m, stages: [50, 100]", head=f"{HEAD}small_drag: add\n")

    assert [(stage.band.low, stage.band.target, stage.band.high) for stage in nut.stages] == [(22, 24, 40), (40, 44, 48)]
    assert [stage.band.high_is_in_band for stage in nut.stages] == [False, True]


@pytest.mark.parametrize(
    ("torque", "third_of"), [pytest.param("torque: 40", 40, id="torque"), pytest.param("low: 30, high: 40", 30, id="edges")]
)
def test_a_drag_that_is_measured_on_the_job_keeps_what_the_rule_looks_at(torque: str, third_of: int) -> None:
    head = f"{HEAD}small_drag: leave out below a third\n"
    more = "nut: prevailing, drag: measured"

    assert (joint(more, torque=torque, head=head).drag, joint(more, torque=torque, head=head).drag_third_of_nm) == (
        *("measured", third_of),
    )
    assert joint(more, torque=torque, head=f"{HEAD}small_drag: add\n").drag_third_of_nm is None
    assert joint("nut: prevailing, drag: included", torque=torque, head=head).drag_third_of_nm is None


def test_a_torque_that_is_not_stated_has_no_stage_of_any_kind() -> None:
    route = load(BOLTS.replace("torque: 40", "torque: not stated, start: 2"), "torque: bolts")

    assert route.joints[0].stages == ()
    with pytest.raises(IndexError, match="index out of range"):
        _ = route.joints[0].final


def test_every_step_comes_onto_the_route_with_all_that_it_says() -> None:
    route = load(
        BOLTS + BOLTS.replace("bolts", "caps"),
        "caution: Wheels chocked",
        "{do: Lower it, covers: []}",
        "{fit: bolts, positions: [2, 1]}",
        "{fit: bolts, positions: [3, 4]}",
        "loose: caps",
        "{torque: [bolts, caps], covers: bolts}",
        "{hold point: turns, ask: Turns free, sign: second person, after: bolts}",
        "{hold point: gap, ask: Gap, sign: lead, measure: {unit: mm, low: −0.5, high: 3}, covers: [caps]}",
        "{open: caps, as_found: yes, after: turns}",
        "{torque: caps, after: [gap, bolts]}",
        "{recheck: bolts, after: caps, covers: bolts}",
        "{retorque: [bolts, caps], from: 40 km, to: 50 miles}",
        "{retorque: bolts, from: 2 weeks, method: back off a turn}",
    )

    assert route.steps == (
        Step(1, StepWord.CAUTION, text="Wheels chocked"),
        Step(2, StepWord.DO, text="Lower it"),
        Step(3, StepWord.FIT, ("bolts",), positions=(2, 1)),
        Step(4, StepWord.FIT, ("bolts",), positions=(3, 4)),
        Step(5, StepWord.LOOSE, ("caps",)),
        Step(6, StepWord.TORQUE, ("bolts", "caps"), covers=("bolts",)),
        Step(7, StepWord.HOLD_POINT, text="Turns free", hold_point="turns", sign=Role.SECOND_PERSON, after=("bolts",)),
        Step(8, StepWord.HOLD_POINT, text="Gap", hold_point="gap", sign=Role.LEAD, covers=("caps",), measure_unit="mm",
             measure_low=Decimal("-0.5"), measure_high=Decimal(3)),
        Step(9, StepWord.OPEN, ("caps",), as_found=True, after=("turns",)),
        Step(10, StepWord.TORQUE, ("caps",), after=("gap", "bolts")),
        Step(11, StepWord.RECHECK, ("bolts",), after=("caps",), covers=("bolts",)),
        Step(12, StepWord.RETORQUE, ("bolts", "caps"), text="40 km to 50 miles", method=Method.HOLD, from_km=Decimal(40)),
        Step(13, StepWord.RETORQUE, ("bolts",), text="2 weeks", method=Method.BACK_OFF, from_s=1_209_600),
    )  # fmt: skip
