"""A pull is judged by the band at the fastener, moved by a measured drag, as the wrench shows it through its lever."""

from decimal import Decimal

import pytest

from schemas.judged_band import band_to_reach, judged_band, lever_text

PLAN = """\
plan: box-trailer
title: Box trailer
revision: "1"
source: Shop procedure 9, section 10
unit: UNIT
tolerance: 10 %
small_drag: RULE
joints:
  - {id: nuts, name: Hub nuts, fasteners: 2, torque: 100, stages: [50, 100], MORE}
"""
DRAG = "nut: prevailing, drag: measured"


@pytest.fixture(name="make")
def _make(new_job):
    def make(more=DRAG, rule="add", unit="N·m"):
        return new_job(PLAN.replace("UNIT", unit).replace("RULE", rule).replace("MORE", more)).joint("nuts")

    return make


def measured(new_job, value, position=None, **more):
    job = new_job(PLAN.replace("UNIT", more.get("unit", "N·m")).replace("RULE", more.get("rule", "add")).replace("MORE", DRAG))
    job.say("drag", "nuts", position, value=value, unit=more.get("unit", "N·m"))
    return job.joint("nuts")


def edges(band):
    return str(band.low), str(band.target), str(band.high)


# Add the drag to the stated torque: FAA AC 43.13-1B, 7-40, and NASA-STD-5020B; from a third of the torque on: US Army
# TB 43-0218 (all three as told in `schemas.plan.bands`).
def test_a_measured_drag_is_added_to_every_edge_of_every_round(new_job):
    state = measured(new_job, "8")
    first, final = state.joint.stages

    assert edges(band_to_reach(state, first, 1)) == ("53", "58", "98")
    assert edges(band_to_reach(state, final, 1)) == ("98", "108", "118")
    assert not band_to_reach(state, first, 1).high_is_in_band
    assert judged_band(state, final, 1, None).drag_nm == 8


@pytest.mark.parametrize(
    ("value", "edge"),
    [
        pytest.param("33.3", "90", id="just-below-a-third"),
        pytest.param("33.4", "123.4", id="just-above-a-third"),
        pytest.param("0", "90", id="none"),
    ],
)
def test_a_small_drag_is_left_out_where_the_shop_says_so_and_recorded_all_the_same(new_job, value, edge):
    state = measured(new_job, value, rule="leave out below a third")

    judged = judged_band(state, state.joint.final, 1, None)

    assert str(judged.band.low) == edge
    assert str(judged.drag_nm) == value


def test_a_third_itself_counts(new_job):
    text = PLAN.replace("UNIT", "N·m").replace("RULE", "leave out below a third").replace("MORE", DRAG)
    job = new_job(text.replace("torque: 100", "torque: 90"))
    job.say("drag", "nuts", value="30", unit="N·m")

    assert edges(band_to_reach(job.joint("nuts"), job.joint("nuts").joint.final, 1)) == ("111", "120", "129")


def test_a_drag_in_another_unit_is_that_of_the_joint(new_job):
    # 8 lbf·ft are 10.846543… N·m by NIST Special Publication 811 (2008), appendix B.
    state = measured(new_job, "8", unit="lbf·ft")
    judged = judged_band(state, state.joint.final, 1, None)

    assert edges(judged.band) == ("98", "108", "118")
    assert round(judged.drag_nm, 4) == Decimal("10.8465")


def test_the_drag_of_one_fastener_moves_its_band_alone(new_job):
    state = measured(new_job, "8", 2)

    assert str(band_to_reach(state, state.joint.final, 1).low) == "90"
    assert str(band_to_reach(state, state.joint.final, 2).low) == "98"


def test_without_a_measured_drag_the_band_is_that_of_the_stage(make):
    state = make()
    judged = judged_band(state, state.joint.final, 1, None)

    assert (judged.band, judged.drag_nm, judged.lever) == (state.joint.final.band, None, None)


# An offset adapter: setting = T L / (L + E), FAA AC 43.13-1B, 7-40. For 100 at 400 and 100 mm: 80.
ADAPTER = "adapter: {length: 100 mm, angle: 0}"


def test_through_an_adapter_the_band_is_what_the_wrench_has_to_show(make):
    state = make(ADAPTER)
    judged = judged_band(state, state.joint.final, 1, Decimal(400))

    assert edges(judged.band) == ("72", "80", "88")
    assert judged.lever == "adapter 100 mm at 0°, wrench 400 mm to the grip mark"


def test_a_measured_drag_comes_before_the_lever(new_job):
    job = new_job(PLAN.replace("UNIT", "N·m").replace("RULE", "add").replace("MORE", f"{DRAG}, {ADAPTER}"))
    job.say("drag", "nuts", value="10", unit="N·m")
    state = job.joint("nuts")

    assert edges(judged_band(state, state.joint.final, 1, Decimal(400)).band) == ("80", "88", "96")


def test_without_the_length_of_the_wrench_there_is_no_band(make):
    state = make(ADAPTER)
    judged = judged_band(state, state.joint.final, 1, None)

    assert (judged.band, judged.lever) == (None, "the wrench's length is not in the register")


def test_an_adapter_that_leaves_no_lever_gives_no_band_and_says_why(make):
    state = make("adapter: {length: 100 mm, angle: 180}")
    judged = judged_band(state, state.joint.final, 1, Decimal(100))

    assert judged.band is None
    assert "reaches back to the hand" in judged.lever


def test_a_wrench_that_corrects_for_the_adapter_shows_the_torque_itself(make):
    state = make("adapter: {length: 100 mm, angle: 0, corrected_by: wrench}")
    judged = judged_band(state, state.joint.final, 1, None)

    assert judged.band == state.joint.final.band
    assert judged.lever == "adapter 100 mm at 0°, corrected by the wrench"


def test_without_an_adapter_there_is_no_lever_to_tell_of(make):
    assert lever_text(make().joint, Decimal(400)) is None


# In a whole job.


def test_a_pull_through_an_adapter_is_judged_by_the_length_that_the_register_had(new_job):
    job = new_job(PLAN.replace("UNIT", "N·m").replace("RULE", "add").replace("MORE", ADAPTER).replace("[50, 100]", "[100]"))
    known, unknown = job.take("80", length_mm="400"), job.take("100")
    job.stripes("nuts")

    assert (known.verdict, known.match.low, known.match.high) == ("in band", "72", "88")
    assert known.match.adapter == "adapter 100 mm at 0°, wrench 400 mm to the grip mark"
    assert (unknown.verdict, unknown.match.low) == (None, None)
    assert unknown.match.adapter == "the wrench's length is not in the register"
    assert job.proofs("nuts") == [("proven", ""), ("doubtful", "a pull of stage 1 is without a verdict")]
    assert not job.complete


def test_a_pull_with_a_measured_drag_is_kept_with_it(new_job):
    job = new_job(PLAN.replace("UNIT", "N·m").replace("RULE", "add").replace("MORE", DRAG).replace("[50, 100]", "[100]"))
    before = job.take("100")
    job.say("drag", "nuts", value="12", unit="N·m")
    after = job.take("101")

    assert (before.match.drag, before.match.low) == (None, "90")
    assert (after.match.drag, after.match.low, after.match.high, after.verdict) == ("12", "102", "122", "under")
