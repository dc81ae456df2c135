"""Earlier contents of a plan come out of the database as they were walked, the latest first, each once."""

from contextlib import closing

from analysis.load.database import open_audit
from analysis.load.plans import MOST, load_routes
from collector.record.jobs import NewJob, PlanFile, open_job
from schemas.plan.load import load_plan

NEW = NewJob("Trailer WX 17", "4711", "Mira Tannwald", "Tannwald Trailers")


def plan_of(floor, torque, comment="", name="drawbar"):
    data = (floor.text.replace("torque: 20", f"torque: {torque}").replace("plan: drawbar", f"plan: {name}") + comment).encode()
    return PlanFile("drawbar.yaml", data, load_plan(data, "drawbar.yaml"))


def load(floor, plan="drawbar"):
    with closing(open_audit(floor.path)) as db:
        return load_routes(db, plan)


def guard_of(route):
    return str(route.joint("guard").final.band.target)


def test_each_content_comes_once_the_latest_first(floor):
    with floor.recorder() as recorder:
        for plan in (plan_of(floor, 20), plan_of(floor, 25), plan_of(floor, 20, "# again\n"), plan_of(floor, 30, name="other")):
            open_job(recorder, plan, NEW)

    routes = load(floor)

    assert [guard_of(route) for route in routes] == ["20", "25"]
    assert routes[0] == plan_of(floor, 20).route
    assert [route.plan for route in load(floor, "other")] == ["other"]
    assert load(floor, "none") == ()


def test_of_very_many_the_latest_are_read(floor):
    with floor.recorder() as recorder:
        for torque in range(20, 22 + MOST):
            open_job(recorder, plan_of(floor, torque), NEW)

    routes = load(floor)

    assert len(routes) == MOST
    assert guard_of(routes[0]) == str(21 + MOST)
