"""A retorque from the first job to the last word of the short one, through the commands and a wrench's log."""

import json
import sqlite3
from argparse import Namespace
from contextlib import closing

import pytest

from analysis.load import open_audit
from analysis.verify import verify_file
from collector.cli.job_due import run_due
from collector.cli.job_retorque import run_retorque
from collector.cli.main import main
from schemas.bodies import Decided, JobClosed
from schemas.errors import RecordError
from schemas.screen import Press, PressWord

PLAN = """\
plan: wheels
title: Box trailer, wheels
revision: "1"
source: Shop procedure 9, section 3
unit: N·m
tolerance: 10 %
joints:
  - {id: wheel-left, name: "Wheel nuts, left", fasteners: 3, torque: 110, stages: [50, 100]}
  - {id: guard, name: Guard, fasteners: 1, torque: 20}
  - {id: hub, name: Hub nut, fasteners: 1, torque: 150, hardware: new each time}
steps:
  - torque: [wheel-left, guard, hub]
  - {retorque: wheel-left, from: 40 km, to: 80 km}
  - {retorque: hub, from: 2 weeks, to: 3 weeks, method: back off a turn}
"""
FIRST = ("55", "55", "55", "110", "110", "110", "20", "150")
ROWS = "time,wrench,torque,unit\n"


@pytest.fixture(name="shop")
def _shop(floor, monkeypatch):
    """A workshop whose first job is done and signed for, joint by joint."""
    floor.text = PLAN
    floor.path.with_name("wheels.yaml").write_text(PLAN, encoding="utf-8")
    monkeypatch.setenv("WITNESSMARK_DB", str(floor.path))
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        pulls = list(FIRST)
        floor.run(bench)
        while pulls or floor.screens[-1].ask:
            ask = floor.screens[-1].ask
            floor.run(bench, Press(PressWord.YES, ask=ask) if ask else floor.pull(pulls.pop(0)))
        assert floor.screens[-1].complete
    return floor


def retorque(shop, **more):
    given = {"step": None, "fitter": None, "distance": None, "again": False, "not_done": None, "by": None, "job": "1"} | more
    return run_retorque(Namespace(db=str(shop.path), **given))


def collect(shop, capsys, log, *more, at_s=(0, 10, 20)):
    """What `collect --from log:` answers of a log with these rows, so many seconds after the first."""
    path = shop.path.with_name("retorque.csv")
    rows = (f"2026-03-09T10:00:{second:02}Z,W-7,{row},Nm\n" for second, row in zip(at_s, log, strict=False))
    path.write_text(ROWS + "".join(rows), encoding="utf-8")
    capsys.readouterr()
    code = main(["collect", str(shop.path.with_name("wheels.yaml")), "--from", f"log:{path}", "--json", *more])
    return code, json.loads(capsys.readouterr().out or "{}")


def press_all(shop, job):
    """Answer yes to all that is asked, as the fitter does at the bench."""
    with shop.recorder() as recorder:
        bench = shop.bench(recorder, recorder.load_job(job))
        shop.run(bench)
        while ask := shop.screens[-1].ask:
            shop.run(bench, Press(PressWord.YES, ask=ask))
    return shop.screens[-1]


def entries_of(shop, job):
    with closing(open_audit(shop.path)) as db:
        return db.execute("SELECT entry FROM ledger WHERE json_extract(entry, '$.body.job') = ?", (job,)).fetchall()


def row_of(shop, job):
    with closing(open_audit(shop.path)) as db:
        return dict(db.execute("SELECT * FROM job WHERE job = ?", (job,)).fetchone())


def test_a_whole_retorque_holds_and_leaves_the_first_record_as_it_was(shop, capsys):
    before = [tuple(row) for row in entries_of(shop, "1")], row_of(shop, "1")
    shop.path.with_name("settings.toml").write_text("p_limit = 0.999", encoding="utf-8")

    assert retorque(shop, step=2, fitter="Jonas Ried", distance="52 km") == 0
    assert capsys.readouterr().out == "2\n"
    # Two clicks at once: for this shop only a person can say that all three were checked.
    code, answer = collect(shop, capsys, ["110", "108", "99"], "--job", "2", at_s=(0, 1, 12))

    assert code == 1, "nobody has counted the stripes yet"
    assert answer["job"] == "2"
    assert [(one["joint"], one["position"], one["verdict"]) for one in answer["readings"]] == [
        ("wheel-left", 1, "held"), ("wheel-left", 2, "held"), ("wheel-left", 3, "held")
    ]  # fmt: skip
    assert press_all(shop, "2").complete
    job = row_of(shop, "2")
    assert (job["complete"], job["fasteners"], job["proven"]) == (1, 3, 3)
    assert (job["follows"], job["step"], job["distance"]) == ("1", 2, "52 km")
    assert ([tuple(row) for row in entries_of(shop, "1")], row_of(shop, "1")) == before
    assert verify_file(shop.path).findings == []


def test_a_short_job_goes_by_the_probability_that_the_shop_asks_for_now(shop):
    shop.path.with_name("settings.toml").write_text("p_limit = 0.995", encoding="utf-8")
    retorque(shop, step=2)
    retorque(shop, step=3, not_done="no time", by="Runa Veld")

    with closing(sqlite3.connect(shop.path)) as db:
        assert db.execute("SELECT p_limit FROM job ORDER BY seq").fetchall() == [(None,), ("0.995",), ("0.995",)]


def test_below_and_above_the_band_a_retorque_is_under_and_over_and_never_in_band(shop, capsys):
    retorque(shop, step=2)

    # The first nut is under and pulled again at once, with the same hand.
    _, answer = collect(shop, capsys, ["98.9", "110", "121.1"], "--job", "2", at_s=(0, 2, 12))
    verdicts = [one["verdict"] for one in answer["readings"]]

    # 110 N·m ± 10 %: 99 to 121, both edges in band.
    assert verdicts == ["under", "held", "over"]
    assert answer["complete"] is False


def test_that_a_nut_moved_is_only_said_by_a_person(shop, capsys):
    retorque(shop, step=2)
    with shop.recorder() as recorder:
        bench = shop.bench(recorder, recorder.load_job("2"))
        shop.run(bench, shop.pull("110"))
        assert bench.job.last_pull.verdict == "held"
        shop.run(bench, Press(PressWord.MOVED, n=1))
        assert bench.job.last_pull.verdict == "moved"
    _, answer = collect(shop, capsys, ["110", "110"], "--job", "2")

    assert [one["verdict"] for one in answer["readings"]] == ["moved", "held", "held"]
    assert not press_all(shop, "2").complete


def test_backed_off_a_turn_it_is_torqued_anew_in_its_band(shop, capsys):
    retorque(shop, step=3)

    _, answer = collect(shop, capsys, ["150"], "--job", "2")

    assert [one["verdict"] for one in answer["readings"]] == ["in band"]
    assert press_all(shop, "2").complete


def test_collect_asks_which_job_while_the_first_one_is_open_too(shop, capsys):
    retorque(shop, step=2)

    assert collect(shop, capsys, ["110"])[0] == 2
    assert main(["collect", str(shop.path.with_name("wheels.yaml")), "--from", f"log:{shop.path.with_name('retorque.csv')}"]) == 2
    assert "jobs 1, 2 of plan `wheels` are open; say which with --job" in capsys.readouterr().err

    with shop.recorder() as recorder, recorder.transaction():
        recorder.load_job("1")
        recorder.append(JobClosed("1"), "person-1")
    assert collect(shop, capsys, ["110"])[1]["job"] == "2", "the only open one"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        pytest.param({}, r"retorque in steps 2 \(Wheel nuts, left\), 3 \(Hub nut\); say which with --step", id="which"),
        pytest.param({"step": 1}, "step 1 is none of them", id="no-retorque-step"),
        pytest.param({"step": 2, "distance": "2 weeks"}, "--distance 2 weeks: this is a time", id="time-for-a-distance"),
        pytest.param({"step": 2, "distance": "far"}, "--distance far: it is no number with its unit", id="no-distance"),
        pytest.param({"step": 2, "not_done": "refused"}, "add --by NAME", id="nobody-says-it"),
        pytest.param({"job": "9"}, "there is no job 9", id="no-job"),
    ],
)
def test_what_cannot_be_a_retorque_is_refused_in_one_line(shop, more, said):
    with pytest.raises(RecordError, match=said) as refused:
        retorque(shop, **more)

    assert "\n" not in str(refused.value)


def test_a_second_short_job_takes_again_while_one_is_open_or_done(shop, capsys):
    retorque(shop, step=2)
    with pytest.raises(RecordError, match="job 2 is open for step 2 of job 1; open another one with --again"):
        retorque(shop, step=2)
    collect(shop, capsys, ["110", "110", "110"], "--job", "2")
    press_all(shop, "2")
    with pytest.raises(RecordError, match="job 2 is done for step 2 of job 1; open another one with --again"):
        retorque(shop, step=2)

    assert retorque(shop, step=2, again=True) == 0
    assert capsys.readouterr().out.endswith("3\n")
    assert retorque(shop, step=3) == 0, "another step is another retorque"


def test_a_retorque_of_a_retorque_is_refused(shop):
    retorque(shop, step=2)

    with pytest.raises(RecordError, match="job 2 is a retorque of job 1 itself"):
        retorque(shop, job="2")


def test_before_the_joints_are_tightened_there_is_nothing_to_retorque(floor):
    floor.text = PLAN
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder), *(floor.pull(torque) for torque in FIRST[:5]))

    with pytest.raises(RecordError, match=r"job 1 has not tightened these yet.*Wheel nuts, left: 2 of 3 done"):
        retorque(floor, step=2)


def test_a_job_that_was_closed_with_a_nut_missed_is_followed_all_the_same_and_told(floor, capsys):
    floor.text = PLAN
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        floor.run(bench, *(floor.pull(torque) for torque in FIRST[:5]))
        with recorder.transaction():
            recorder.append(JobClosed("1"), bench.by)

    assert retorque(floor, step=2) == 0
    assert "closed with less than all of it tightened: Wheel nuts, left: 2 of 3 done" in capsys.readouterr().err
    with pytest.raises(RecordError, match="job 1 has not tightened these yet"):
        retorque(floor, step=3)


def test_a_plan_without_a_retorque_and_the_only_one_of_a_plan(floor, capsys):
    floor.text = PLAN[: PLAN.index("  - {retorque: wheel")]
    with floor.recorder() as recorder:
        floor.job(recorder)
        floor.text = PLAN[: PLAN.index("  - {retorque: hub")]
        floor.run(floor.bench(recorder), *(floor.pull(torque) for torque in FIRST))

    with pytest.raises(RecordError, match="the plan of job 1 asks for no retorque"):
        retorque(floor)
    assert retorque(floor, job="2") == 0
    assert "job 3 is open: Wheel nuts, left, without slackening first" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("distance", "outside"),
    [("39.9 km", True), ("40 km", False), ("80 km", False), ("50 miles", True), ("30 mi", False)],
)
def test_a_distance_outside_the_plan_is_recorded_and_told(shop, capsys, distance, outside):
    # 50 miles are 80.4672 km, 30 miles 48.28032 km (international mile).
    assert retorque(shop, step=2, distance=distance) == 0

    assert (f"{distance} lies outside 40 km to 80 km; recorded as it is" in capsys.readouterr().err) is outside
    assert row_of(shop, "2")["distance"] == distance


def test_offered_and_not_done_is_a_short_job_that_is_closed_with_its_reason(shop, capsys):
    assert retorque(shop, step=2, not_done="customer will do it at home", by="Runa Veld", distance="0 km") == 0

    job = row_of(shop, "2")
    assert (job["outcome"], job["outcome_reason"]) == ("offered, not done", "customer will do it at home")
    assert job["closed_at"] is not None
    assert (job["complete"], job["missed"]) == (0, 3)
    err = capsys.readouterr().err
    assert "recorded: offered, not done: Wheel nuts, left (customer will do it at home)" in err
    assert retorque(shop, step=2) == 0, "offered and not done hinders nobody later"
    assert verify_file(shop.path).findings == []


def test_what_was_not_fitted_is_told(floor, capsys):
    floor.text = PLAN
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        with recorder.transaction():
            recorder.append(Decided("1", "not fitted", "wheel-left", 3, reason="stud sheared"), bench.by)
        floor.run(bench, *(floor.pull(torque) for torque in ("55", "55", "110", "110")))

    assert retorque(floor, step=2) == 0

    assert "Wheel nuts, left, position 3 was not fitted; where it still is not, say so again" in capsys.readouterr().err


def test_the_short_job_of_an_erased_item_names_it_by_the_same_hash(shop):
    with closing(sqlite3.connect(shop.path)) as db, db:
        db.execute("DELETE FROM private WHERE field = 'item'")
    retorque(shop, step=2)

    with shop.recorder() as recorder:
        first, short = (recorder.load_job(job).opened for job in ("1", "2"))
    assert short.item_sha256 == first.item_sha256
    assert verify_file(shop.path).findings == []


def test_the_short_job_has_the_item_order_and_simulated_mark_of_the_first(floor, capsys):
    floor.text = PLAN
    with floor.recorder() as recorder:
        bench = floor.bench(recorder, simulated=True)
        floor.run(bench, *(floor.pull(torque) for torque in FIRST))
    retorque(floor, step=2)

    job = row_of(floor, "2")
    assert (job["simulated"], job["order_no"]) == (1, "4711")
    assert "SIMULATED" in capsys.readouterr().err
    with closing(open_audit(floor.path)) as db:
        items = [row[0] for row in db.execute("SELECT value FROM private WHERE field = 'item' ORDER BY seq")]
    assert items == ["Trailer WX 17", "Trailer WX 17"]


def due(shop, capsys, **more):
    given = {"item": None, "within": None, "all": False, "json": False} | more
    capsys.readouterr()
    assert run_due(Namespace(db=str(shop.path), **given)) == 0
    return capsys.readouterr()


def test_what_is_due_leaves_the_list_once_it_is_done_or_was_offered(shop, capsys):
    assert [line.split("  ")[1:4] for line in due(shop, capsys).out.splitlines()] == [
        ["job 1 step 3", "Trailer WX 17", "Hub nut"],
        ["job 1 step 2", "Trailer WX 17", "Wheel nuts, left"],
    ]
    retorque(shop, step=2)
    assert "job 2 is open for it" in due(shop, capsys).out
    collect(shop, capsys, ["110", "110", "110"], "--job", "2")
    press_all(shop, "2")
    retorque(shop, step=3, not_done="sold", by="Runa Veld")

    nothing = due(shop, capsys)
    assert (nothing.out, nothing.err) == ("", "no retorque is waiting\n")
    settled = due(shop, capsys, all=True).out.splitlines()
    assert [line.split("  ")[0] for line in settled] == ["offered, not done", "done"]
    assert [line.split("  ")[-1] for line in settled] == ["job 3: sold", "in job 2"]
