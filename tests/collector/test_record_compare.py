"""What the database shows of a job is held against its entries, be it worked by one plan or by several."""

import sqlite3
from contextlib import closing

import pytest

from collector.record.compare import refuse_altered
from schemas.bodies import PlanChanged, PlanKept
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route_body import route_to_body


@pytest.fixture(name="job")
def _job(floor):
    """The number of a job that went on after another revision, which took a joint out; another one keeps the first."""
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        floor.run(bench, floor.pull(50), floor.pull(50))
        floor.job(recorder)
        text = floor.text.replace('revision: "1"', 'revision: "2"').replace("  - torque: guard\n", "")
        text = text.replace("  - {id: guard, name: Guard, fasteners: 2, torque: 20}\n", "")
        route = load_plan(text.encode(), "drawbar.yaml")
        with recorder.transaction():
            plan = PlanKept("drawbar", "drawbar.yaml", "1" * 64, route.content_sha256, text, route_to_body(route))
            recorder.append(PlanChanged("1", recorder.append(plan), "the guard is left out"), bench.by)
    return "1"


def alter(floor, statement):
    with closing(sqlite3.connect(floor.path)) as db:
        assert db.execute(statement).rowcount
        db.commit()


@pytest.mark.parametrize("number", ["1", "2"], ids=["two-plans", "one-plan"])
def test_a_job_that_nobody_altered_is_let_through(floor, job, number):
    with floor.recorder() as recorder:
        refuse_altered(recorder, number)


@pytest.mark.parametrize(
    ("statement", "table"),
    [
        pytest.param("UPDATE plan SET source = 'elsewhere' WHERE revision = '1'", "plan", id="the-plan-of-before"),
        pytest.param("UPDATE plan SET source = 'elsewhere' WHERE revision = '2'", "plan", id="the-present-plan"),
        pytest.param("DELETE FROM plan WHERE revision = '1'", "plan", id="the-plan-of-before-gone"),
        pytest.param("UPDATE plan_changed SET reason = 'none' WHERE job = '1'", "plan_changed", id="the-reason"),
        pytest.param(
            "INSERT INTO fastener VALUES ('1', 'guard', 1, 'proven', '')", "fastener", id="a-joint-that-was-taken-out"
        ),
        pytest.param("UPDATE job SET plan_seq = 1 WHERE job = '1'", "job", id="the-plan-that-the-job-names"),
    ],
)
def test_what_was_altered_is_refused(floor, job, statement, table):
    alter(floor, statement)

    said = f"derived table `{table}` is not what the entries of job 1"
    with floor.recorder() as recorder, pytest.raises(RecordError, match=said):
        refuse_altered(recorder, job)


def test_the_plan_of_another_job_is_none_of_its_business(floor, job):
    alter(floor, "UPDATE plan SET source = 'elsewhere' WHERE revision = '2'")

    with floor.recorder() as recorder:
        refuse_altered(recorder, "2")


def test_a_job_with_several_plans_is_loaded_as_it_was(floor, job):
    with floor.recorder() as recorder:
        state = recorder.load_job(job)

        assert list(state.joints) == ["clamp", "eye"]
        assert list(state.former) == ["guard"]
        assert recorder.query("SELECT DISTINCT joint FROM fastener WHERE job = '1'") == [("clamp",), ("eye",)]
        assert [seq for seq, entry in recorder.job_entries(job) if entry.kind == "plan"] == sorted(recorder.fold.routes)
