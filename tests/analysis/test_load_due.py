"""Every retorque that a plan asks for is found with its day, what followed it, and the erased left erased."""

import json
import sqlite3
from argparse import Namespace
from contextlib import closing
from datetime import UTC, datetime

import pytest

from analysis.load.database import open_audit
from analysis.load.due import load_retorques
from collector.cli import job_due
from schemas.bodies import Decided, JobClosed, JobOpened, ReadingKept
from schemas.errors import RecordError

PLAN = """\
plan: wheels
title: Box trailer, wheels
revision: "1"
source: Shop procedure 9, section 3
unit: N·m
tolerance: 10 %
joints:
  - {id: wheel, name: Wheel nuts, fasteners: 2, torque: 110}
  - {id: hub, name: Hub nut, fasteners: 1, torque: 150}
  - {id: bolt, name: Bolt, fasteners: 1, torque: 60}
steps:
  - torque: [wheel, hub, bolt]
  - {retorque: wheel, from: 40 km, to: 80 km}
  - {retorque: hub, from: 2 weeks, to: 3 weeks, method: back off a turn}
  - {retorque: [bolt, hub], from: 30 min}
"""


@pytest.fixture(name="shop")
def _shop(make_shop):
    """A job with three retorques; its clock began at 07:00 on 2 March 2026 and goes on by a second an entry."""
    shop = make_shop()
    shop.open(PLAN)
    shop.wrench()
    return shop


@pytest.fixture(name="tightened")
def _tightened(shop):
    tighten(shop, "hub", "wheel", "bolt")
    return shop


def tighten(shop, *joints):
    for joint in joints:
        for position in range(1, 3 if joint == "wheel" else 2):
            shop.pull(joint, 1, position, "110")


def loaded(path):
    with closing(open_audit(path)) as db:
        return load_retorques(db)


def short(shop, job, step, follows=None, **closed):
    shop.append(JobOpened(job, 3, "0" * 64, "", shop.person, "Tannwald Trailers", follows=follows or shop.job, step=step))
    if closed:
        shop.append(JobClosed(job, closed["outcome"], closed["reason"]))


def test_nothing_is_due_of_what_was_not_tightened(shop, path):
    rows = loaded(path)

    assert [(row.step, row.since, row.due_at, row.is_overdue(datetime.max.replace(tzinfo=UTC))) for row in rows] == [
        (2, None, None, None), (3, None, None, None), (4, None, None, None)
    ]  # fmt: skip


def test_a_day_counts_from_the_last_final_tightening_of_the_step_and_days_come_before_distances(shop, path):
    tighten(shop, "hub", "wheel", "bolt")
    rows = loaded(path)

    assert [row.step for row in rows] == [4, 3, 2]
    by_step = {row.step: row for row in rows}
    assert by_step[4].since > by_step[3].since, "the bolt was tightened after the hub"
    assert by_step[4].due_at - by_step[4].since == by_step[4].late_at - by_step[4].since
    assert (by_step[3].due_at - by_step[3].since).days == 14
    assert (by_step[3].late_at - by_step[3].since).days == 21
    assert by_step[2].due_at is None
    assert by_step[2].since is not None
    assert by_step[3].is_overdue(by_step[3].late_at) is False, "its last moment is inside"
    assert by_step[3].is_overdue(datetime(2026, 3, 24, tzinfo=UTC)) is True
    assert by_step[2].is_overdue(datetime(2036, 3, 24, tzinfo=UTC)) is None


def test_the_row_says_what_it_is_about(shop, path):
    tighten(shop, "hub", "bolt")

    row = next(row for row in loaded(path) if row.step == 4)

    assert (row.job, row.item, row.order_no) == ("2026-0001", "Box trailer WX 17", "4711")
    assert (row.plan, row.title, row.revision) == ("wheels", "Box trailer, wheels", "1")
    assert (row.joints, row.names) == (("bolt", "hub"), ("Bolt", "Hub nut"))
    assert (row.span, row.method, row.simulated) == ("30 min", "do not slacken", False)


def test_a_log_is_told_by_the_time_of_the_wrench_and_by_that_of_recording_where_it_sent_none(shop, path):
    def logged(joint, tool_time):
        value = {"torque": "150", "unit": "N·m", "torque_nm": "150", "fit": 1}
        reading = ReadingKept(shop.job, log=1, wrench="W-140", tool_time=tool_time, **value)
        shop.match(shop.append(reading), joint, 1, 1)

    logged("hub", "2026-01-05T10:00:00+01:00")
    row = next(row for row in loaded(path) if row.step == 3)
    assert (row.since, row.since_is_certain) == (datetime(2026, 1, 5, 9, tzinfo=UTC), True)
    assert (row.since.tzinfo, row.due_at.tzinfo) == (UTC, UTC)

    logged("hub", "2026-01-06T10:00:00")

    row = next(row for row in loaded(path) if row.step == 3)
    assert row.since.date().isoformat() == "2026-03-02"
    assert not row.since_is_certain


def test_what_was_declared_counts_as_tightened_while_the_declaration_stands(shop, path):
    shop.append(Decided(shop.job, "declared", "hub", tool="torque wrench of the lead"))
    row = next(row for row in loaded(path) if row.step == 3)
    assert row.since is not None
    # It was said after it was done, perhaps off a sheet of the day before.
    assert not row.since_is_certain

    shop.append(Decided(shop.job, "opened", "hub"))

    assert next(row for row in loaded(path) if row.step == 3).since is None


def test_an_erased_item_is_none_and_is_due_all_the_same(shop, path):
    tighten(shop, "hub")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM private WHERE field = 'item'")

    assert {row.item for row in loaded(path)} == {None}


def test_short_jobs_stand_beside_the_step_that_they_follow_and_ask_for_nothing_themselves(shop, path):
    tighten(shop, "hub", "wheel", "bolt")
    short(shop, "2", 3)
    short(shop, "3", 2, outcome="offered, not done", reason="sold")

    states = {row.step: (str(row.state), [one.job for one in row.follow_ups], row.is_settled) for row in loaded(path)}

    assert states == {4: ("due", [], False), 3: ("open", ["2"], False), 2: ("offered, not done", ["3"], True)}


def test_each_job_of_one_plan_has_its_own_rows(tightened, path):
    tightened.job = "2026-0002"
    tightened.append(JobOpened("2026-0002", 3, "0" * 64, "", tightened.person, "Tannwald Trailers"))

    assert [(row.job, row.step) for row in loaded(path)] == [
        ("2026-0001", 4), ("2026-0001", 3), ("2026-0001", 2), ("2026-0002", 2), ("2026-0002", 3), ("2026-0002", 4),
    ]  # fmt: skip


# The command.


def due(path, capsys, now=None, monkeypatch=None, **more):
    class Clock:
        def now(self):
            return now

    if now is not None:
        monkeypatch.setattr(job_due, "SystemClock", Clock)
    given = {"db": str(path), "item": None, "within": None, "all": False, "json": False} | more
    assert job_due.run_due(Namespace(**given)) == 0
    return capsys.readouterr()


NOW = datetime(2026, 3, 17, tzinfo=UTC)


def test_the_list_says_when_what_and_since_when(tightened, path, capsys, monkeypatch):
    assert due(path, capsys, NOW, monkeypatch).out.splitlines() == [
        "OVERDUE 2026-03-02 07:30 UTC  job 2026-0001 step 4  Box trailer WX 17  Bolt; Hub nut  30 min, do not slacken"
        "  tightened 2026-03-02 07:00 UTC",
        "due 2026-03-16  job 2026-0001 step 3  Box trailer WX 17  Hub nut  2 weeks to 3 weeks, back off a turn"
        "  tightened 2026-03-02",
        "by distance  job 2026-0001 step 2  Box trailer WX 17  Wheel nuts  40 km to 80 km, do not slacken  tightened 2026-03-02",
    ]


def test_a_number_of_days_leaves_out_what_is_due_later_and_no_distance(tightened, path, capsys, monkeypatch):
    early = datetime(2026, 3, 3, tzinfo=UTC)

    lines = due(path, capsys, early, monkeypatch, within=5).out.splitlines()
    assert [line.split("  ")[1] for line in lines] == ["job 2026-0001 step 4", "job 2026-0001 step 2"]
    assert len(due(path, capsys, early, monkeypatch, within=14).out.splitlines()) == 3
    with pytest.raises(RecordError, match="--within -1: a number of days from 0 on"):
        due(path, capsys, within=-1)


@pytest.mark.parametrize(("item", "count"), [("box trailer  wx 17", 3), ("WX 17", 0)])
def test_an_item_is_found_by_its_whole_name_whatever_its_case(tightened, path, capsys, item, count):
    assert len(due(path, capsys, item=item).out.splitlines()) == count


def test_what_is_not_tightened_yet_is_listed_with_all_alone(shop, path, capsys):
    assert due(path, capsys) == ("", "no retorque is waiting\n")

    lines = due(path, capsys, all=True).out.splitlines()

    assert [line.split("  ")[0] for line in lines] == ["not yet"] * 3
    assert lines[0].endswith("not tightened yet")


def test_a_plan_without_a_retorque_is_told_as_one(make_shop, path, capsys):
    shop = make_shop()
    shop.open(PLAN.partition("  - {retorque")[0])

    assert due(path, capsys, all=True).err == "no plan of these jobs asks for a retorque\n"


def test_a_short_job_that_was_cut_short_leaves_its_step_due(tightened, path, capsys):
    tightened.append(JobOpened("2", 3, "0" * 64, "", tightened.person, "Tannwald Trailers", follows="2026-0001", step=2))
    tightened.append(JobClosed("2"))

    assert "job 2 was closed with 2 not pulled" in due(path, capsys).out


def test_a_short_job_that_was_only_declared_says_so(tightened, path, capsys):
    tightened.append(JobOpened("2", 3, "0" * 64, "", tightened.person, "Tannwald Trailers", follows="2026-0001", step=2))
    tightened.append(Decided("2", "declared", "wheel", tool="hand"))
    tightened.append(JobClosed("2"))

    (line,) = (line for line in due(path, capsys, all=True).out.splitlines() if "in job 2" in line)
    assert line.startswith("done ")
    assert line.endswith("in job 2, 2 declared")


def test_a_time_of_the_wrench_in_another_zone_is_told_in_utc(shop, path, capsys):
    value = {"torque": "60", "unit": "N·m", "torque_nm": "60", "fit": 1}
    reading = ReadingKept(shop.job, log=1, wrench="W-140", tool_time="2026-03-02T09:00:00+02:00", **value)
    shop.match(shop.append(reading), "bolt", 1, 1)

    assert "due 2026-03-02 07:30 UTC" in due(path, capsys).out or "OVERDUE 2026-03-02 07:30 UTC" in due(path, capsys).out


def test_an_uncertain_time_and_an_erased_item_are_told(shop, path, capsys):
    reading = ReadingKept(shop.job, log=1, wrench="W-140", torque="150", unit="N·m", torque_nm="150", fit=1)
    shop.match(shop.append(reading), "hub", 1, 1)
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM private WHERE field = 'item'")

    line = due(path, capsys).out.splitlines()[1]

    assert "(item erased)" in line
    assert line.endswith("tightened before 2026-03-02 (when it was recorded)")


def test_the_answer_as_json_has_the_same(tightened, path, capsys, monkeypatch):
    short(tightened, "2", 3, outcome="offered, not done", reason="sold")

    answer = json.loads(due(path, capsys, NOW, monkeypatch, json=True, all=True).out)

    assert answer["format"] == 1
    first, second, third = answer["due"]
    assert (first["joints"], first["due_at"], first["overdue"]) == (["bolt", "hub"], first["late_at"], True)
    assert (second["state"], second["overdue"]) == ("offered, not done", False)
    assert second["follow_ups"] == [{"job": "2", "state": "offered, not done", "complete": False, "reason": "sold"}]
    assert (third["due_at"], third["late_at"], third["overdue"], third["span"]) == (None, None, None, "40 km to 80 km")
    assert "simulated" not in first


def test_what_is_simulated_says_so(make_shop, path, capsys):
    shop = make_shop(simulated=1)
    shop.open(PLAN)
    tighten(shop, "wheel")

    assert due(path, capsys).out.endswith("  SIMULATED\n")
    assert json.loads(due(path, capsys, json=True).out)["due"][0]["simulated"] == 1
