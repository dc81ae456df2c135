"""Ways in which a record could have become complete though it should not; each from the keys and the wire."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from collector.cli.wrench import added_wrench
from collector.closing import place_all
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.record.jobs import add_wrench, calibrate_wrench
from collector.record.recorder import Recorder
from schemas.bodies import Calibrated, Decided, PlanChanged, Signed
from schemas.errors import RecordError
from schemas.screen import Press, PressWord

YES, NO, SAME, NOT_OURS = (Press(word) for word in (PressWord.YES, PressWord.NO, PressWord.SAME_AGAIN, PressWord.NOT_THIS_JOB))
PLAN = """\
plan: two
title: Two bolts
revision: "1"
source: Shop sheet 1
unit: N·m
tolerance: 10 %
joints:
  - {id: pair, name: Pair, fasteners: 2, torque: 100}
"""


@pytest.fixture(name="floor", params=["by-order", "by-probability"])
def _floor(request, floor):
    """The same ways by both rules of matching; with a pause as from one fastener to the next."""
    if request.param == "by-probability":
        floor.matcher, floor.pause_s = lambda: Probable(habits_of(None)), 6.0
    return floor


@pytest.fixture(name="bench")
def _bench(floor, recorder):
    floor.text = PLAN
    return floor.bench(recorder)


def complete(bench):
    return bench.recorder.query("SELECT complete FROM job")[0][0]


def pulls(floor, *torques):
    return [torque if isinstance(torque, Press) else floor.pull(torque) for torque in torques]


def test_a_clean_job_is_complete(floor, bench):
    floor.run(bench, *pulls(floor, 100, 101, YES))

    assert complete(bench) == 1


@pytest.mark.parametrize(
    "events",
    [
        pytest.param((100, 101, YES, -60, SAME), id="same-again-of-a-loosening"),
        pytest.param((100, 101, YES, -60, NOT_OURS), id="not-this-job-of-a-loosening"),
        pytest.param((100, 160, NOT_OURS, 101, YES), id="not-this-job-of-an-over-pull"),
        pytest.param((100, 101, 160, YES), id="over-when-all-is-done"),
        pytest.param((100, 101, YES, 160), id="over-after-the-stripes"),
        pytest.param((100, 101, NO), id="not-all-stripes"),
        pytest.param((100, 101, NO, YES), id="yes-after-no-without-a-pull"),
        pytest.param((100, 160, NO, YES), id="no-to-the-stripes-of-an-over-pull"),
    ],
)
def test_what_must_not_become_complete_does_not(floor, bench, events):
    floor.run(bench, *pulls(floor, *events))

    assert complete(bench) == 0
    assert verify_file(floor.path).findings == []


@pytest.mark.parametrize("pause_s", [0.0, 6.0, 60.0])
@pytest.mark.parametrize("torque", [111, 120, 160, 300])
def test_an_over_pull_on_what_is_done_is_not_lost_as_a_stray(floor, bench, torque, pause_s):
    floor.run(bench, *pulls(floor, 100, 101, YES))
    floor.pause_s = pause_s
    floor.run(bench, *pulls(floor, torque))

    assert complete(bench) == 0
    assert bench.recorder.query("SELECT joint, verdict FROM reading ORDER BY n")[-1] == ("pair", "over")
    place_all(bench.recorder, bench.job)
    assert complete(bench) == 0
    assert verify_file(floor.path).findings == []


def test_after_not_all_stripes_the_missing_one_is_pulled_and_asked_again(floor, bench):
    floor.run(bench, *pulls(floor, 100, 101, NO, 99, YES))

    assert complete(bench) == 1
    assert bench.recorder.query("SELECT kind FROM reading ORDER BY n") == [("tightening",), ("repeat",), ("tightening",)]


def test_no_stripe_on_the_only_fastener_of_a_joint_makes_its_pull_a_stray(floor, recorder):
    floor.text = PLAN.replace("fasteners: 2", "fasteners: 1")
    bench = floor.bench(recorder)
    floor.run(bench, *pulls(floor, 100, NO))
    assert complete(bench) == 0
    assert recorder.query("SELECT kind, reason FROM reading") == [("stray", "the fitter said: no stripe seen on it")]

    floor.run(bench, *pulls(floor, 101, YES))
    assert complete(bench) == 1


def test_a_stage_done_before_the_decision_does_not_count_after_it(floor, bench):
    floor.run(bench, *pulls(floor, 100, 160))
    with bench.recorder.transaction():
        for said in ("opened", "replaced"):
            bench.recorder.append(Decided("1", said, "pair", 2), bench.by)
    floor.run(bench, *pulls(floor, 101, YES))
    assert complete(bench) == 1

    floor.run(bench, *pulls(floor, 170))
    with bench.recorder.transaction():
        bench.recorder.append(Decided("1", "opened", "pair", 2), bench.by)
    floor.run(bench, *pulls(floor, 102))
    with bench.recorder.transaction():
        bench.recorder.append(Decided("1", "replaced", "pair", 2), bench.by)
    floor.run(bench, YES)
    assert complete(bench) == 0


def test_a_snug_round_is_signed_anew_after_opening(floor, recorder):
    floor.text = PLAN.replace("torque: 100}", "torque: 100, stages: [snug, 100]}")
    bench = floor.bench(recorder)
    floor.run(bench, *pulls(floor, YES, 100, 101, YES))
    assert complete(bench) == 1
    with recorder.transaction():
        recorder.append(Decided("1", "opened", "pair"), bench.by)
    screen = floor.run(bench, *pulls(floor, 100))

    assert "snug?" in screen.ask.text
    floor.run(bench, *pulls(floor, 101))
    floor.run(bench, YES)
    assert complete(bench) == 0


def test_a_number_of_any_length_loses_no_frame(floor, bench):
    frame = floor.pull(50)
    huge = replace(frame, raw=frame.raw.replace(b"50", b"1" + b"0" * 40).replace(b"Nm", b"lbf.ft"))

    floor.run(bench, huge)

    assert bench.recorder.query("SELECT verdict FROM reading") == [("over",)]


def test_the_same_person_in_another_spelling_is_the_same_person(bench):
    assert bench.recorder.person("jo  FITTER ") == bench.recorder.person("Jo Fitter")
    assert bench.recorder.person("Jo\u200b Fitter") == bench.recorder.person("Jo Fitter"), "a sign that nobody sees"
    with pytest.raises(RecordError, match="a name is empty"):
        bench.recorder.person("  ")


def test_a_foreign_trigger_is_found_and_stops_the_writer(floor, bench):
    bench.recorder.__exit__()
    with closing(sqlite3.connect(floor.path)) as db:
        db.execute("CREATE TRIGGER quiet BEFORE INSERT ON ledger BEGIN SELECT RAISE(IGNORE); END")
        db.execute("CREATE VIEW extra AS SELECT 1")
        db.execute("PRAGMA user_version = 0")
        db.commit()

    findings = "\n".join(verify_file(floor.path).findings)
    for said in ("trigger quiet does not belong", "view extra does not belong", "version reads 0"):
        assert said in findings
    with pytest.raises(RecordError, match="trigger quiet does not belong there"), Recorder(floor.path, floor.clock, "test"):
        pass


def test_a_report_never_overwrites_the_database_nor_an_earlier_report_in_vain(floor, bench, tmp_path, capsys):
    report = tmp_path / "r.html"
    report.write_text("an earlier one")

    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(report)]) == 2
    assert report.read_text() == "an earlier one"
    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(floor.path)]) == 2
    (tmp_path / "link.html").symlink_to(floor.path)
    assert main(["job", "report", "1", "--db", str(floor.path), "--to", str(tmp_path / "link.html")]) == 2
    assert "belongs to the audit database" in capsys.readouterr().err
    assert verify_file(floor.path).findings == []


@pytest.mark.parametrize("pace", ["-1", "nan", "inf"])
def test_a_pace_that_cannot_be_is_refused(pace, capsys):
    with pytest.raises(SystemExit, match="2"):
        main(["demo", f"--pace={pace}"])

    assert "not a number of seconds from 0 on" in capsys.readouterr().err


def test_a_simulated_wrench_proves_nothing_of_a_real_pull(floor, recorder):
    floor.text = PLAN
    added = added_wrench("W-7", "SN-7", "indicating", "10", "200", "Nm", "highest", simulated=True)
    add_wrench(recorder, added, "program")
    calibrate_wrench(recorder, Calibrated("W-7", "C", "2026-01-01", "2026-12-31", "10", "200", 1), "program")
    bench = floor.bench(recorder)

    floor.run(bench, *pulls(floor, 100, 101, YES))

    assert complete(bench) == 0
    assert "is a simulated one" in recorder.query("SELECT why FROM fastener")[0][0]


# Nobody can make a record complete by the order in which things are said, or by a later revision.

TOP = """\
plan: axle
title: Box trailer, axle
revision: "1"
source: Shop sheet 4
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: nuts, name: Hub nuts, fasteners: 2, torque: 100JOINT}
  - {id: cap, name: Hub cap, fasteners: 1, torque: 20}
STEPS"""


@pytest.fixture(name="make")
def _make(new_job):
    return lambda joint="", steps="": new_job(axle(joint, steps))


def axle(joint="", steps="", revision=1):
    lines = "".join(f"  - {step}\n" for step in steps.split("; ")) if steps else ""
    text = TOP.replace("JOINT", f", {joint}" if joint else "").replace("STEPS", f"steps:\n{lines}" if lines else "")
    return text.replace('revision: "1"', f'revision: "{revision}"')


def tighten(job, *torques, joint="nuts", **more):
    """These pulls in the plan's order, and every stripe of the joint seen."""
    for torque in torques or ("100", "100"):
        job.take(torque, **more)
    to_see = job.joint(joint).to_see
    job.say("stripes", joint, count=to_see, of=to_see)


def change(job, text):
    job.put(PlanChanged("1", job.keep_plan(text), "corrected"), "p-9")


def rest(job):
    """All that the plan asks of the other joint."""
    tighten(job, "20", joint="cap")


AGAIN = "torque: nuts; open: nuts; torque: nuts; torque: cap"


def test_an_opening_before_anything_was_done_is_not_the_planned_one(make):
    job = make(steps=AGAIN)
    job.say("opened", "nuts", step=2)
    tighten(job)
    rest(job)

    assert job.proofs("nuts") == [("doubtful", "not opened again yet (step 2)")] * 2
    assert not job.complete
    job.say("opened", "nuts", step=2)
    tighten(job)
    assert job.complete


def test_two_planned_openings_are_not_done_without_a_torque_between(make):
    job = make(steps="torque: nuts; open: nuts; torque: nuts; open: nuts; torque: nuts; torque: cap")
    tighten(job)
    job.say("opened", "nuts", step=2)
    job.say("opened", "nuts", step=4)
    tighten(job)
    rest(job)

    assert not job.complete


def test_an_opening_that_did_not_wait_is_not_the_planned_one(make):
    steps = "torque: nuts; {hold point: level, ask: Level?, sign: lead}; {open: nuts, after: [level]}; torque: nuts; torque: cap"
    job = make(steps=steps)
    tighten(job)
    job.say("opened", "nuts", step=3)
    tighten(job)
    job.sign("level")
    rest(job)
    assert not job.complete

    job.say("opened", "nuts", step=3)
    tighten(job)
    assert job.complete


def test_a_planned_check_is_not_past_by_the_number_that_another_revision_gave_to_an_opening(make):
    job = make(steps="do: Wash; do: Dry; torque: nuts; open: nuts; torque: nuts; recheck: nuts; torque: cap")
    tighten(job)
    job.say("opened", "nuts", step=4)
    tighten(job)
    change(job, axle(steps="torque: nuts; torque: cap; recheck: nuts", revision=2))
    rest(job)

    assert job.proofs("nuts") == [("doubtful", "not checked again yet (step 3)")] * 2
    assert not job.complete


def test_no_revision_makes_an_over_pull_good(make):
    job = make()
    tighten(job, "100", "160")
    change(job, axle("stages: [50, 100]", revision=2))
    tighten(job, "50", "50", "100", "100")
    rest(job)
    assert job.proofs("nuts")[1] == ("failed", "over-torque at reading 2: not opened, no decision of the lead, not done again")
    assert not job.complete

    job.say("opened", "nuts", 2)
    job.say("replaced", "nuts", 2)
    change(job, axle("stages: [60, 100]", revision=3))
    assert job.proofs("nuts")[1][0] == "failed"
    tighten(job, "60", "100")
    assert job.proofs("nuts")[1][0] != "failed"


def test_an_over_pull_whose_place_is_gone_is_held_against_the_last_fastener(make):
    job = make()
    tighten(job, "100", "160")
    change(job, axle("", revision=2).replace("fasteners: 2", "fasteners: 1"))
    tighten(job, "100")

    assert job.proofs("nuts")[0][0] == "failed"


def test_a_hold_point_that_a_revision_changes_is_signed_anew(make):
    gap = "{hold point: gap, ask: Gap?, sign: lead, measure: {unit: mm, low: 0, high: 3}}"
    steps = f"{gap}; {{torque: nuts, after: [gap]}}; torque: cap"
    job = make(steps=steps)
    job.put(Signed("1", "lead", "gap", value="2.5", unit="mm"), "p-2")
    tighten(job)
    rest(job)
    assert job.complete

    change(job, axle(steps=steps.replace("high: 3", "high: 1"), revision=2))
    assert not job.complete
    job.put(Signed("1", "lead", "gap", value="0.5", unit="mm"), "p-2")
    assert job.proofs("nuts") == [("doubtful", "torqued before `gap` was signed")] * 2

    change(job, axle(steps=steps, revision=3))
    assert job.complete, "as it was signed"


def test_what_the_lead_let_stand_before_says_nothing_of_what_is_found_later(make):
    job = make("stages: [snug, 100]", "torque: cap; {torque: nuts, after: [cap]}")
    cap = job.take("20")
    tighten(job)
    job.say("let stand", "nuts", reason="snug by hand")
    assert [proof for proof, _ in job.proofs("nuts")] == ["proven"] * 2

    job.match(cap.seq, None, None, None, kind="stray", verdict=None, revises=cap.match_seq)
    tighten(job, "20", joint="cap")

    assert job.proofs("nuts") == [("doubtful", "torqued before `cap` was done")] * 2
    assert not job.complete
    job.say("let stand", "nuts", reason="cap was on")
    assert job.complete


def test_what_waits_is_not_let_go_by_a_joint_that_is_over(make):
    job = make(steps="torque: cap; {torque: nuts, after: [cap]}")
    tighten(job, "30", joint="cap")
    tighten(job)
    for said in ("opened", "replaced"):
        job.say(said, "cap", 1)
    rest(job)

    assert job.proofs("nuts") == [("doubtful", "torqued before `cap` was done")] * 2
    assert not job.complete


def test_what_is_declared_waits_like_what_is_pulled(make):
    job = make(steps="torque: cap; {torque: nuts, after: [cap]}")
    job.say("declared", "nuts", 1)
    job.say("declared", "nuts", 2)
    rest(job)
    assert job.proofs("nuts") == [("doubtful", "declared; declared before `cap` was done")] * 2
    assert not job.complete

    job.say("let stand", "nuts", reason="seen")
    assert job.proofs("nuts") == [("declared", "declared; declared before `cap` was done: the lead lets it stand (seen)")] * 2
    assert job.complete


@pytest.mark.parametrize(
    ("joint", "value", "unit", "doubt"),
    [
        pytest.param("", "89.9", "N·m", "the declared value lies outside 90 to 110 N·m", id="under"),
        pytest.param("", "110.1", "N·m", "the declared value lies outside 90 to 110 N·m", id="over"),
        pytest.param("", "100", "lbf·ft", "the declared value lies outside 90 to 110 N·m", id="in-another-unit"),
        pytest.param("", "110", "N·m", None, id="on-the-edge"),
        pytest.param("", "tight", "N·m", "the declared value cannot be read", id="no-number"),
        pytest.param("", "100", "turns", "the declared value cannot be read", id="no-unit"),
        pytest.param("nut: prevailing, drag: measured", "99", "N·m", "the declared value lies outside 108 to 128 N·m", id="drag"),
        pytest.param("adapter: {length: 50 mm, angle: 0, corrected_by: us}", "80", "N·m", None, id="through-an-adapter"),
    ],
)
def test_a_declared_value_outside_the_band_is_no_declaration_of_it(make, joint, value, unit, doubt):
    job = make(joint)
    if "drag" in joint:
        job.say("drag", "nuts", value="18", unit="N·m")
    job.say("declared", "nuts", value=value, unit=unit)
    rest(job)

    told = f"declared: {value} {unit}"
    assert job.proofs("nuts") == [("declared", told) if doubt is None else ("doubtful", f"{told}; {doubt}")] * 2
    assert job.complete == (doubt is None)


def test_a_drag_that_is_put_right_after_the_pull_leaves_no_proof(make):
    job = make("nut: prevailing, drag: measured")
    job.say("drag", "nuts", value="1", unit="N·m")
    job.take("101")
    job.say("drag", "nuts", value="8", unit="N·m")
    tighten(job, "108")
    rest(job)
    assert [proof for proof, _ in job.proofs("nuts")] == ["proven"] * 2, "the second one was said of what was not pulled yet"

    job.say("drag", "nuts", value="18", unit="N·m")
    assert job.proofs("nuts") == [("doubtful", "another drag of the nut was measured after it was pulled")] * 2
    job.say("drag", "nuts", 2, value="8", unit="N·m")
    assert [proof for proof, _ in job.proofs("nuts")] == ["doubtful", "proven"]


@pytest.mark.parametrize("more", ["60", "90"])
def test_what_was_turned_in_two_pulls_was_turned_nobody_knows_how_far(make, more):
    job = make("then_angle: 90, angle_tolerance: 10")
    for torque, angle in (("100", None), ("100", None), ("150", more), ("150", "90")):
        job.take(torque, angle_deg=angle)
    if more == "90":
        # The second one was on the first fastener again.
        pull = job.state.last_pull
        job.match(pull.seq, "nuts", 2, 1, kind="repeat", verdict="in band", revises=pull.match_seq)
    tighten(job, "150", angle_deg="90")
    rest(job)

    assert job.proofs("nuts")[0] == ("doubtful", "turned by its angle in more than one pull")
    assert job.proofs("nuts")[1] == ("proven", "")


@pytest.mark.parametrize("torques", [("60", "100"), ("100", "100")], ids=["first-stroke", "second-click"])
def test_a_move_is_not_forgotten_with_the_pull_that_it_was_said_of(make, torques):
    job = make("stages: [100, 100]")
    for _ in range(2):
        job.take("100")
    pulls = [job.take(torque) for torque in torques]
    if torques[0] == "100":
        job.match(pulls[1].seq, "nuts", 2, 1, kind="repeat", revises=pulls[1].match_seq)
        moved = pulls[1]
    else:
        moved = pulls[0]
    job.say("moved", "nuts", 1, reading=moved.seq)
    job.joint("nuts").replay()
    tighten(job, "100")

    assert [proof for proof, _ in job.proofs("nuts")] == ["missed"] * 2


def test_a_left_hand_thread_that_is_turned_to_the_right_is_opened(make):
    job = make("hand: left")
    tighten(job, "-100", "-100")
    rest(job)
    assert job.complete
    job.say("other joint", "nuts")
    job.take("20")
    assert job.complete, "what was touched last is no left-hand thread"

    job = make("hand: left", "torque: cap; torque: nuts")
    rest(job)
    tighten(job, "-100", "-100")
    assert job.complete
    job.take("60")

    assert job.proofs("nuts")[1][0] == "missed"
    assert not job.complete


def test_no_key_moves_an_over_pull_to_where_it_is_none(floor, recorder):
    floor.text = PLAN.replace("joints:\n", "joints:\n  - {id: big, name: Big, fasteners: 1, torque: 180}\n")
    bench = floor.bench(recorder)
    floor.run(bench, *pulls(floor, 180, YES, 130))

    assert floor.run(bench, SAME).notice.startswith("an over-pull stays on record")
    floor.run(bench, *pulls(floor, 130, SAME))
    rows = recorder.query("SELECT joint, position, verdict, kind FROM reading ORDER BY n")[1:]
    assert [row[:3] for row in rows] == [("pair", 1, "over")] * 2
    assert rows[1][3] in ("repeat", "recheck"), "whichever of them: it counts for no other fastener"
    assert verify_file(floor.path).findings == []


def test_one_fastener_clicked_again_and_again_does_not_check_the_others(floor, recorder):
    floor.text = PLAN + "steps:\n  - torque: pair\n  - recheck: pair\n"
    bench = floor.bench(recorder)
    screen = floor.run(bench, *pulls(floor, 100, 101, YES, 100, 100))
    assert screen.ask.text == "Pair: checked again: 2 of 2?"
    assert complete(bench) == 0

    assert floor.run(bench, NO).notice.startswith("some missing")
    assert recorder.query("SELECT kind, stage, position FROM reading ORDER BY n")[-1] == ("repeat", 2, 1)
    assert floor.run(bench, *pulls(floor, 100)).ask.text == "Pair: checked again: 2 of 2?"
    assert floor.run(bench, YES).notice == "2 of 2 checked again"
    assert complete(bench) == 1
    assert verify_file(floor.path).findings == []


def test_a_link_lost_during_a_check_leaves_it_in_doubt(make):
    job = make(steps="torque: nuts; torque: cap; recheck: nuts")
    tighten(job)
    rest(job)
    job.take("100")
    assert job.state.joint_in_hand == "nuts"
    job.link("lost", "nuts")
    job.take("100")
    assert not job.complete

    job.stripes("nuts")
    assert job.complete


def test_past_the_range_of_the_tool_it_is_over_though_its_lever_is_not_known(make):
    job = make("adapter: {length: 50 mm, angle: 0, corrected_by: us}")
    job.take(None, over_range=1)
    job.say("opened", "nuts", 1)
    tighten(job, "80", "80", length_mm="400")
    rest(job)

    assert job.proofs("nuts")[0] == ("failed", "over-torque at reading 1: no decision of the lead")
    assert not job.complete
