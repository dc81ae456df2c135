"""Two plans are told apart in words: what of their heads, joints and steps differs, and what they let stand."""

from dataclasses import fields, replace
from decimal import Decimal
from itertools import permutations

import pytest

from schemas.plan.diff import Accepted, PlanSays, diff_text, differences
from schemas.plan.diff_parts import moved
from schemas.plan.diff_steps import step_differences
from schemas.plan.load import load_plan
from schemas.route import Adapter, Joint, Route, Step
from schemas.words import Method, Role, StepWord

PLAN = """\
plan: axle
title: Box trailer, axle
revision: "1"
source: Shop procedure 7, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: u-bolts, name: U-bolt nuts, fasteners: 4, torque: 95, stages: [snug, 50, 100], order: cross}
  - {id: shackle, name: Shackle bolts, fasteners: 2, torque: 120}
  - {id: wheel, name: Wheel nuts, fasteners: 5, torque: 110, order: cross}
steps:
  - caution: Trailer on stands
  - loose: shackle
  - torque: u-bolts
  - hold point: ride-height
    ask: Loaded to ride height
    sign: fitter
  - torque: shackle
    after: [ride-height]
  - torque: wheel
  - {retorque: wheel, from: 40 km, to: 80 km}
"""


def route(text=PLAN, *changes):
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return load_plan(text.encode(), "plan.yaml")


def said(*changes):
    """The lines that tell the plan with those changes from the one without."""
    return diff_text(differences(PlanSays(route()), PlanSays(route(PLAN, *changes))))


NONE = ("no difference in what the plans say",)


@pytest.mark.parametrize(
    "changes",
    [
        pytest.param([], id="itself"),
        pytest.param([("joints:\n", "# looked through\njoints:\n")], id="comment"),
        pytest.param([("{id: wheel, name: Wheel nuts,", "{name: Wheel nuts, id: wheel,")], id="order-of-fields"),
        pytest.param([("torque: 120}", "torque: 120, tolerance: 10 %, unit: Nm}")], id="default-written-out"),
        pytest.param([("torque: 120}", "torque: 120.0}")], id="closing-zero"),
    ],
)
def test_comments_layout_and_defaults_written_out_make_no_difference(changes):
    assert said(*changes) == NONE


def test_a_torque_is_told_with_its_band_and_its_unit_once():
    # 95 ± 10 % is 85.5 to 104.5; 105 ± 10 % is 94.5 to 115.5.
    assert said(("torque: 95", "torque: 105")) == (
        "u-bolts: torque 95 → 105 N·m",
        "u-bolts: band 85.5 to 104.5 → 94.5 to 115.5 N·m",
    )


def test_another_unit_or_none_is_told_on_both_sides():
    assert said(("torque: 120}", "torque: 120, unit: lbf·ft}")) == (
        "shackle: torque 120 N·m → 120 lbf·ft",
        "shackle: band 108 to 132 N·m → 108 to 132 lbf·ft",
    )
    not_stated = route(PLAN, ("torque: 120}", "torque: not stated}"))
    told = diff_text(differences(PlanSays(route(PLAN.split("  - {retorque")[0])), PlanSays(not_stated)))
    assert "shackle: torque 120 N·m → not stated" in told
    assert "shackle: band 108 to 132 N·m → not stated" in told
    other_unit = route(PLAN, ("torque: 120}", "torque: not stated, unit: lbf·ft}"))
    assert differences(PlanSays(not_stated), PlanSays(other_unit)) == ()


def test_a_tolerance_alone_changes_the_band_alone():
    assert said(("torque: 120}", "torque: 120, tolerance: 5 %}")) == ("shackle: band 108 to 132 → 114 to 126 N·m",)


@pytest.mark.parametrize(
    ("change", "line"),
    [
        pytest.param(("plan: axle", "plan: beam"), "plan: id axle → beam", id="id"),
        pytest.param(("title: Box trailer, axle", "title: Axle"), "plan: title Box trailer, axle → Axle", id="title"),
        pytest.param(('revision: "1"', 'revision: "2"'), "plan: revision 1 → 2", id="revision"),
        pytest.param(
            ("procedure 7, section 4", "sheet 5"), "plan: source Shop procedure 7, section 4 → Shop sheet 5", id="source"
        ),
        pytest.param(("unit: N·m", "unit: N·m\nitem: VIN"), "plan: item (nothing) → VIN", id="item"),
        pytest.param(("name: Wheel nuts", "name: Wheel bolts"), "wheel: name Wheel nuts → Wheel bolts", id="name"),
        pytest.param(("[snug, 50, 100]", "[30, 60, 100]"), "u-bolts: stages snug, 50 %, 100 % → 30 %, 60 %, 100 %", id="stages"),
        pytest.param(
            ("5, torque: 110, order: cross", "5, torque: 110, order: in line"),
            "wheel: order cross (1, 3, 5, 2, 4) → in line (3, 2, 4, 1, 5)",
            id="order",
        ),
        pytest.param(("torque: 120}", "torque: 120, thread: M14x2}"), "shackle: thread (nothing) → M14x2", id="thread"),
        pytest.param(
            ("torque: 120}", "torque: 120, wrench: [W-1, W-2]}"), "shackle: wrench any registered → W-1 or W-2", id="wrench"
        ),
        pytest.param(
            ("torque: 120}", "torque: 120, adapter: {length: 50 mm, angle: 90}}"),
            "shackle: adapter (nothing) → 50 mm at 90°, corrected by us",
            id="adapter",
        ),
        pytest.param(
            ("torque: 120}", "torque: 120, then_angle: 90, angle_tolerance: 10}"),
            "shackle: then angle (nothing) → 90°, 80 to 100°",
            id="angle",
        ),
        pytest.param(("torque: 120}", "torque: 120, start: 2}"), "shackle: order from its start (nothing) → 2, 1", id="start"),
        pytest.param(("after: [ride-height]", "after: [u-bolts]"), "torque shackle: waits for ride-height → u-bolts", id="waits"),
        pytest.param(("    after: [ride-height]\n", ""), "torque shackle: waits for ride-height → (nothing)", id="waits-no-more"),
        pytest.param(
            ("- torque: wheel", "- torque: wheel\n    covers: [u-bolts]"), "torque wheel: covers (nothing) → u-bolts", id="covers"
        ),
        pytest.param(
            ("ask: Loaded to ride height", "ask: Level"), "hold point ride-height: asks Loaded to ride height → Level", id="asks"
        ),
        pytest.param(("sign: fitter", "sign: lead"), "hold point ride-height: signed by fitter → lead", id="signs"),
        pytest.param(
            ("sign: fitter", "sign: fitter\n    measure: {unit: mm, low: 0, high: 3.50}"),
            "hold point ride-height: measured (nothing) → 0 to 3.5 mm",
            id="measured",
        ),
        pytest.param(
            ("from: 40 km, to: 80 km", "from: 50 km"), "retorque wheel: due after 40 km to 80 km → 50 km", id="retorque-span"
        ),
        pytest.param(
            ("from: 40 km", "method: back off a turn, from: 40 km"),
            "retorque wheel: method do not slacken → back off a turn",
            id="retorque-method",
        ),
        pytest.param(
            ("- caution: Trailer on stands", "- caution: Wheels chocked"),
            "caution Trailer on stands: taken out (step 1)",
            id="text-out",
        ),
        pytest.param(
            ("- caution: Trailer on stands", "- caution: Wheels chocked"), "caution Wheels chocked: put in (step 1)", id="text-in"
        ),
    ],
)
def test_a_change_is_told_in_words(change, line):
    assert line in said(change)


def test_a_renamed_joint_is_told_as_taken_out_and_put_in_and_its_steps_with_it():
    lines = said(*((f"{word}: shackle", f"{word}: hanger") for word in ("id", "loose", "torque")))

    assert lines == (
        "shackle: taken out (Shackle bolts, 2 fasteners)",
        "hanger: put in (Shackle bolts, 2 fasteners)",
        "loose shackle: taken out (step 2)",
        "torque shackle: taken out (step 5)",
        "loose hanger: put in (step 2)",
        "torque hanger: put in (step 5)",
    )


def test_one_fastener_is_told_as_one():
    single = PLAN.replace("Shackle bolts, fasteners: 2", "Shackle bolt, fasteners: 1")
    told = differences(PlanSays(route(single)), PlanSays(route(single, ("shackle", "hanger"))))

    assert str(told[0]) == "shackle: taken out (Shackle bolt, 1 fastener)"


def test_a_moved_step_is_told_once_and_those_that_made_way_are_not():
    torque = "  - torque: wheel\n"

    assert said((torque, ""), ("  - torque: u-bolts\n", f"{torque}  - torque: u-bolts\n")) == ("torque wheel: moved, step 6 → 3",)


def test_joints_that_are_listed_in_another_order_are_told():
    wheel = "  - {id: wheel, name: Wheel nuts, fasteners: 5, torque: 110, order: cross}\n"

    assert said((wheel, ""), ("joints:\n", f"joints:\n{wheel}")) == ("wheel: listed in place 3 → 1",)


def test_a_step_about_other_joints_is_the_same_step_where_it_shares_one():
    lines = said(("- torque: wheel", "- torque: [wheel, shackle]"), ("  - torque: shackle\n    after: [ride-height]\n", ""))

    # Two steps became one, which is the first of them about more joints.
    assert lines == (
        "torque shackle: joints shackle → wheel, shackle",
        "torque shackle: waits for ride-height → (nothing)",
        "torque wheel: taken out (step 6)",
    )


def steps(*told):
    return tuple(replace(step, number=number) for number, step in enumerate(told, 1))


def lines_of(before, after):
    return [str(one) for one in step_differences(steps(*before), steps(*after))]


DO = Step(0, StepWord.DO, text="Grease")


def test_steps_that_say_the_same_are_told_apart_by_their_count():
    hub = Step(0, StepWord.TORQUE, ("hub",))

    assert lines_of([DO, hub], [DO, hub, DO]) == ["do Grease (2): put in (step 3)"]
    assert lines_of([DO, hub, DO], [DO, hub]) == ["do Grease (2): taken out (step 3)"]


def test_the_steps_of_fitting_and_opening_are_told_by_what_they_say():
    fit, opened = Step(0, StepWord.FIT, ("hub",), positions=(1, 2)), Step(0, StepWord.OPEN, ("hub",))

    assert lines_of([fit], [replace(fit, positions=(1, 2, 3))]) == ["fit hub: positions 1, 2 → 1, 2, 3"]
    assert lines_of([opened], [replace(opened, as_found=True)]) == ["open hub: torque as found recorded (nothing) → yes"]
    assert lines_of([replace(opened, joints=("hub", "eye"))], [opened, replace(opened, joints=("eye",))]) == [
        "open hub, eye: joints hub, eye → hub",
        "open eye: put in (step 2)",
    ]


def test_a_step_with_other_joints_that_moved_is_told_with_both():
    before = [Step(0, StepWord.TORQUE, ("hub", "eye")), DO]
    after = [DO, Step(0, StepWord.TORQUE, ("hub",))]

    lines = lines_of(before, after)

    assert "torque hub, eye: joints hub, eye → hub" in lines
    assert [line for line in lines if "moved" in line] == ["do Grease: moved, step 2 → 1"]
    assert len(lines) == 2


OLD = Accepted("old-source", (), "still the maker's last word")
ONE = Accepted("unlike-torque", ("hub-left",), "brake side")


@pytest.mark.parametrize(
    ("before", "after", "line"),
    [
        pytest.param((), (OLD,), "accepted `old-source`: put in (still the maker's last word)", id="put-in"),
        pytest.param((ONE,), (), "accepted `unlike-torque` of hub-left: taken out (brake side)", id="taken-out"),
        pytest.param(
            (ONE,),
            (replace(ONE, reason="sheet 12"),),
            "accepted `unlike-torque` of hub-left: reason brake side → sheet 12",
            id="reason",
        ),
        pytest.param((ONE, OLD), (OLD, ONE), "no difference in what the plans say", id="another-order"),
    ],
)
def test_what_is_let_stand_is_told_with_its_reason(before, after, line):
    assert diff_text(differences(PlanSays(route(), before), PlanSays(route(), after))) == (line,)


# Every field of what is walked is told: none can change in silence. What a field's change looks like from a file is above.

_TOLD_BY_OTHERS = {"id", "stages", "snug", "order", "unit"}


def other(value, name):
    """Another value of a field."""
    given = {
        "wrenches": ("W-9",), "adapter": Adapter(Decimal(60), Decimal(0)), "drag_third_of_nm": Decimal(12), "work_within_s": 90,
        "cure_s": 7200,
    }  # fmt: skip
    if name in given:
        return given[name]
    if isinstance(value, bool):
        return not value
    return value + 1 if isinstance(value, int) else "other"


@pytest.mark.parametrize("name", [field.name for field in fields(Joint) if field.name not in _TOLD_BY_OTHERS])
def test_no_field_of_a_joint_changes_in_silence(name):
    before = route().joints[0]
    before = replace(before, drag="measured") if name == "drag_third_of_nm" else before
    after = replace(before, **{name: other(getattr(before, name), name)})
    plan = route()

    found = differences(*(PlanSays(replace(plan, joints=(one, *plan.joints[1:]))) for one in (before, after)))

    assert len(found) == 1
    assert found[0].subject == "u-bolts"


@pytest.mark.parametrize(("seconds", "shown"), [(90, "90 s"), (600, "10 min"), (7200, "2 h"), (86400, "1 d"), (5400, "90 min")])
def test_times_are_told_in_the_largest_unit_that_holds_them(seconds, shown):
    plan = route()
    after = replace(plan, joints=(replace(plan.joints[0], cure_s=seconds), *plan.joints[1:]))

    assert diff_text(differences(PlanSays(plan), PlanSays(after))) == (f"u-bolts: cure (nothing) → {shown}",)


def test_an_adapter_that_the_wrench_corrects_for_is_told():
    plan = route()
    adapters = (Adapter(Decimal(50), Decimal(0), by_wrench) for by_wrench in (False, True))
    before, after = (replace(plan, joints=(replace(plan.joints[0], adapter=one), *plan.joints[1:])) for one in adapters)

    line = "u-bolts: adapter 50 mm at 0°, corrected by us → 50 mm at 0°, corrected by the wrench"
    assert diff_text(differences(PlanSays(before), PlanSays(after))) == (line,)


@pytest.mark.parametrize("name", [field.name for field in fields(Step) if field.name not in ("number", "from_s", "from_km")])
def test_no_field_of_a_step_changes_in_silence(name):
    if name in ("hold_point", "sign", "text", "measure_unit", "measure_low", "measure_high"):
        before = Step(1, StepWord.HOLD_POINT, hold_point="level")
    else:
        before = Step(1, StepWord.OPEN, ("hub",))
    before = replace(before, measure_unit="mm", measure_low=Decimal(0), measure_high=Decimal(3))
    given = {
        "word": StepWord.TORQUE, "joints": ("eye",), "text": "Level?", "hold_point": "square", "sign": Role.LEAD, "after": ("x",),
        "positions": (1,), "covers": ("x",), "measure_unit": "in", "measure_low": Decimal(1), "measure_high": Decimal(2),
        "as_found": True, "method": Method.BACK_OFF,
    }  # fmt: skip

    assert list(step_differences((before,), (replace(before, **{name: given[name]}),)))


@pytest.mark.parametrize("name", [field.name for field in fields(Route) if field.name not in ("content_sha256", "notes")])
def test_no_field_of_a_plan_changes_in_silence(name):
    plan = route()
    changed = getattr(plan, name)[1:] if name in ("joints", "steps") else "other"

    assert differences(PlanSays(plan), PlanSays(replace(plan, **{name: changed})))


def test_moved_names_the_fewest_that_make_the_one_order_of_the_other():
    names = "abcd"
    for after in permutations(names):
        found = moved(names, after)
        kept = [name for name in after if name not in found]
        assert kept == sorted(kept)
        longest = max(len(one) for one in _rising(after))
        assert len(kept) == longest, after


def _rising(names):
    """Every rising selection, by trying all."""
    for mask in range(1 << len(names)):
        chosen = [name for bit, name in enumerate(names) if mask >> bit & 1]
        if chosen == sorted(chosen):
            yield chosen


def test_moved_leaves_out_what_stands_in_one_list_alone():
    assert len(moved(["a", "x", "b"], ["b", "y", "a"])) == 1
    assert moved(["a", "x", "b"], ["y", "a", "b"]) == []
    assert moved([], ["a"]) == []
