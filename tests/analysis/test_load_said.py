"""What persons said, signed and handed over is read with names, limits and what is to be noted of it."""

from contextlib import closing

import pytest

from analysis.load import job_json, load_job, open_audit
from analysis.load.lines import job_lines
from schemas.bodies import HandedOver, JobClosed
from schemas.words import Proof


@pytest.fixture
def load(path):
    def load(job: str = "2026-0001"):
        with closing(open_audit(path)) as db:
            return load_job(db, job)

    return load


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_a_measured_hold_point_has_its_limits_its_value_and_what_lay_outside(whole, load) -> None:
    point, clean = load().hold_points

    assert (point.limits, point.signature.value, point.signature.unit) == ("0 to 3 mm", "2.5", "mm")
    assert [(row.value, row.notes) for row in point.outside] == [("7", ())]
    assert plain(point.late) == "signed 14 min after the first pull it holds"
    assert (clean.limits, clean.outside, clean.late) == ("", (), "")


@pytest.mark.parametrize("value", ["3.01", "-0.1", None], ids=["above", "below", "none"])
def test_a_value_outside_its_limits_signs_nothing(make_shop, load, value) -> None:
    from_whole = make_shop()
    from_whole.open(WITH_LIMITS)
    more = {} if value is None else {"value": value, "unit": "mm"}
    from_whole.sign("ride-height", **more)

    (point,) = load().hold_points

    assert point.signature is None
    assert len(point.outside) == 1
    assert "hold point `ride-height` is not signed" in load().reasons


@pytest.mark.parametrize("value", ["0", "3.00"], ids=["low", "high"])
def test_both_limits_pass(make_shop, load, value) -> None:
    shop = make_shop()
    shop.open(WITH_LIMITS)
    shop.sign("ride-height", value=value, unit="mm")

    assert load().hold_points[0].signature.value == value


WITH_LIMITS = """\
plan: level
title: Ride height
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: 1, torque: 100}
steps:
  - hold point: ride-height
    ask: Off by how much?
    sign: lead
    measure: {unit: mm, low: 0, high: 3}
  - torque: a
"""


def test_signatures_and_stripes_within_a_minute_are_marked_and_a_failed_measurement_is_not(whole, load) -> None:
    record = load()

    marked = [row.hold_point for row in record.signatures if row.notes]
    assert marked == ["ride-height", "clean"]
    assert [(row.said, row.joint) for row in record.decisions if row.notes] == [("stripes", "u-bolts")]
    assert plain(record.hold_points[1].signature.notes[0]) == "signed as one of 3 within 2 s"


def test_a_second_person_is_named_with_the_joint(whole, load) -> None:
    (row,) = [row for row in load().signatures if row.second is not None]

    assert (row.by, row.second, row.second_name) == ("Runa Veld", "cap", "Cap screws")


def test_decisions_have_reason_value_tool_lot_and_step(whole, load) -> None:
    record = load()
    by_word = {row.said: row for row in record.decisions}

    declared, opened = by_word["declared"], by_word["opened"]
    assert (declared.by, declared.tool, declared.value, declared.unit) == ("Ole Brand", "beam wrench B-2", "65", "N·m")
    assert by_word["prepared"].lot == "LX-2214"
    assert (opened.joint_name, opened.step) == ("Cap screws", 7)
    assert by_word["let stand"].reason == "height was set before, only signed late"
    assert [(row.position, row.value) for row in record.found] == [(1, "17.1"), (2, "17.2")]


def test_a_fastener_names_what_a_person_said_of_it(whole, load) -> None:
    said = {(one.joint, one.position): one.said for one in load().fasteners if one.said is not None}

    assert {place: row.said for place, row in said.items()} == {
        ("tie-rod", 1): "declared", ("tie-rod", 2): "not fitted", ("u-bolts", 1): "let stand",
    }  # fmt: skip


def test_a_fastener_that_was_declared_twice_names_the_last_one(whole, load) -> None:
    whole.say("declared", "tie-rod", by="Jonna Brandt", tool="beam wrench B-3")

    first, second = load().fasteners[:2]

    # Of the one that is not fitted nothing was meant.
    assert (first.proof, first.said.by) == (Proof.DECLARED, "Jonna Brandt")
    assert (second.proof, second.said.by) == (Proof.NOT_FITTED, "Runa Veld")


def test_that_it_was_turned_by_its_angle_is_told_apart_from_a_whole_declaration(make_shop, load) -> None:
    shop = make_shop()
    shop.open(WITH_ANGLE)
    shop.wrench()
    shop.say("declared", "a", 1, tool="beam wrench", step=None)
    shop.judge("a", 1, 1, "60")
    shop.say("declared", "a", 1, tool="turned by its angle", step=1)
    shop.judge("a", 1, 2, "60")
    shop.say("declared", "a", 2, tool="beam wrench")
    shop.say("declared", "a", 2, tool="turned by its angle", step=1)
    shop.say("stripes", "a", count=2, of=2)

    first, second = load().fasteners

    assert (first.proof, first.said.tool, second.proof, second.said.tool) == (
        Proof.DECLARED, "turned by its angle", Proof.DECLARED, "beam wrench",
    )  # fmt: skip


WITH_ANGLE = """\
plan: hanger
title: Hanger
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: 2, torque: 60, then_angle: 90, angle_tolerance: 10}
"""


def test_stages_say_what_they_are_with_their_edges(whole, load) -> None:
    record = load()
    hanger, wheel = (next(one for one in record.fasteners if one.joint == joint) for joint in ("hangers", "wheel-left"))

    assert [(stage.word, stage.angle_low, stage.angle_high) for stage in hanger.stages] == [
        ("round", None, None), ("angle", "80", "100"),
    ]  # fmt: skip
    assert [(stage.word, stage.step, stage.verdict) for stage in wheel.stages] == [
        ("round", None, "in band"), ("recheck", 9, "held"),
    ]  # fmt: skip
    assert (hanger.final.number, wheel.final.number) == (1, 1)
    assert record.fasteners_of("tie-rod")[0].final is None


def test_a_reading_has_lever_drag_and_what_had_to_be_set(whole, load) -> None:
    record = load()
    through = next(row for row in record.readings if row.joint == "u-bolts")

    # FAA AC 43.13-1B, 7-40: setting = torque · L / (L + E); 100 N·m and 10 N·m of drag, L 400 mm, E 50 mm.
    assert through.set_to == "97.78"
    assert (through.adapter, through.drag, through.length_mm) == (
        "adapter 50 mm at 0°, wrench 400 mm to the grip mark", "10", "400",
    )  # fmt: skip
    assert record.wrenches[0].length_mm == "400"
    assert next(row for row in record.readings if row.joint == "plate").set_to is None


def test_a_hand_over_has_both_signatures_and_what_was_open(whole, load) -> None:
    (row,) = load().hand_overs

    assert (row.leaver, row.taker, row.open) == ("Mira Tannwald", "Jonna Brandt", ("Spare wheel clamp: not begun",))
    assert row.taken_at > row.at


def test_a_hand_over_that_nobody_took_says_so(shop, load) -> None:
    other = shop.recorder.person("Jonna Brandt")
    shop.append(HandedOver(shop.job, "leaver", shop.person, other, ()))
    shop.append(HandedOver(shop.job, "leaver", shop.person, other, ("Hub nuts, left: not begun",)))
    shop.append(HandedOver(shop.job, "taker", shop.person, other, ()), "Jonna Brandt")
    # A second signature of the same taker takes nothing more.
    shop.append(HandedOver(shop.job, "taker", shop.person, other, ()), "Jonna Brandt")

    first, second = load().hand_overs

    assert (first.taken_at, first.open, second.open) == (None, (), ("Hub nuts, left: not begun",))
    assert second.taken_at is not None


def test_a_joint_added_has_its_source_and_who(whole, load) -> None:
    (row,) = load().joints_added

    assert (row.joint, row.name, row.fasteners, row.source, row.by) == (
        "spare", "Spare wheel clamp", 2, "Shop sheet 9, seen on the vehicle", "Runa Veld",
    )  # fmt: skip


def test_the_answer_has_what_stands_in_no_stage(whole, load) -> None:
    answer = job_json(load())

    assert answer["not_stated"] == [{"id": "tie-rod", "fasteners": 2, "declared": 1, "missed": 0, "proof": "not fitted"}]
    assert answer["loading"] == [
        {"joint": "plate", "not_before": "2026-03-03T07:04:00Z", "text": "do not load before 2026-03-03 07:04 UTC"}
    ]
    assert (answer["follows"], answer["outcome"]) == (None, None)
    assert "tie-rod" not in {row["id"] for row in answer["joints"]}


def test_short_lines_tell_what_the_stages_leave_out(whole, load) -> None:
    assert job_lines(load()) == [
        "Back plate bolts, confirmed: 4 of 4 counted",
        "Tie rod, torque not stated: 2 of 2 declared or not fitted",
        "Back plate bolts: do not load before 2026-03-03 07:04 UTC, last pull on 2026-03-02",
        "retorque of Wheel nuts, left; Wheel nuts, right from 40 km to 80 km: no job yet",
    ]


def test_the_lines_of_a_retorque_name_the_job_that_it_follows_and_how_it_was_closed(shop, make_shop, load) -> None:
    later = make_shop(job="2026-0002")
    later.open(follows=shop.job, step=5, distance="52 km")
    later.append(JobClosed("2026-0002", "offered, not done", "customer lives abroad"))

    record = load("2026-0002")

    assert job_lines(record) == [
        "retorque of job 2026-0001, step 5 of its plan, after 52 km",
        "closed as: offered, not done (customer lives abroad)",
    ]
    assert job_json(record)["follows"] == {"job": "2026-0001", "step": 5, "distance": "52 km"}
    assert job_json(record)["outcome"] == "offered, not done"
    assert job_lines(load())[-1].endswith("job 2026-0002 after 52 km: offered, not done (customer lives abroad)")


def test_lines_of_a_cure_that_is_not_over_and_of_a_closing_without_reason(whole, load) -> None:
    whole.say("opened", "plate", 1)
    whole.append(JobClosed(whole.job, "given up"))

    assert job_lines(load())[0] == "closed as: given up"
    assert job_lines(load())[2] == (
        "Back plate bolts: do not load within 24\u00a0h of the last pull: not every fastener is done"
    )
