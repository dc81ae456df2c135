"""A log in which two jobs lie one among the other, through `collect --also`: each reading in the right job, nothing lost."""

import json
import sqlite3
from contextlib import closing

import pytest

from collector.cli.main import main

PLAN = """\
plan: {plan}
title: {title}
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 8 %
joints:
  - {{id: J01, name: Bracket bolts, fasteners: 3, torque: {first}}}
  - {{id: J02, name: Cover bolts, fasteners: 2, torque: {second}}}
"""
HEADER = "time,wrench,torque,unit,seq\n"
BRACKET, RAIL = ("95", "95.4", "94.8", "25", "25.1"), ("60", "60.3", "59.9", "40", "40.2")


@pytest.fixture(name="shop")
def _shop(tmp_path):
    for plan, first, second in (("bracket", 95, 25), ("rail", 60, 40)):
        text = PLAN.format(plan=plan, title=plan.title(), first=first, second=second)
        (tmp_path / f"{plan}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def rows(*torques, wrench="W-140", zone="+01:00", number=True):
    made = (
        f"2026-03-02T08:{n // 6:02d}:{n % 6 * 10:02d}{zone},{wrench},{torque},Nm,{n if number else ''}\n"
        for n, torque in enumerate(torques)
    )
    return HEADER + "".join(made)


def collect(shop, capsys, text, *plans, more=()):
    """Exit code, the answers of the jobs in the order of the plans, what was said on standard error."""
    (shop / "log.csv").write_text(text, encoding="utf-8")
    first, *others = [str(shop / f"{plan}.yaml") for plan in plans]
    also = [word for plan in others for word in ("--also", plan)]
    source = ["--from", f"log:{shop / 'log.csv'}", "--db", str(shop / "a.db"), "--json"]
    code = main(["collect", first, *also, *source, *more])
    out, err = capsys.readouterr()
    if not out:
        return code, [], err
    answer = json.loads(out)
    return code, [answer, *answer.get("also", [])], err


def torques(answer, kind=None):
    return [row["torque_nm"] for row in answer["readings"] if kind in (None, row["kind"])]


def places(answer):
    return [(row["joint"], row["position"]) for row in answer["readings"]]


WHERE = [("J01", 1), ("J01", 2), ("J01", 3), ("J02", 1), ("J02", 2)]


@pytest.mark.parametrize(
    ("log", "id_"),
    [
        pytest.param(BRACKET + RAIL, "after-each-other", id="one-after-the-other"),
        pytest.param(RAIL + BRACKET, "turned-round", id="the-second-plan-first"),
        pytest.param(BRACKET[:3] + RAIL[:3] + BRACKET[3:] + RAIL[3:], "by-joint", id="joint-by-joint"),
    ],
)
def test_each_reading_goes_to_the_job_of_its_plan(shop, capsys, log, id_):
    code, (bracket, rail), err = collect(shop, capsys, rows(*log), "bracket", "rail")

    assert (torques(bracket), torques(rail)) == (list(BRACKET), list(RAIL)), id_
    assert places(bracket) == places(rail) == WHERE
    assert {row["kind"] for answer in (bracket, rail) for row in answer["readings"]} == {"tightening"}
    assert bracket["job"] != rail["job"]
    assert code == 1, "nobody has looked at a fastener yet"
    assert "none of these readings" not in err


def test_with_one_plan_named_the_readings_of_the_other_are_strays(shop, capsys):
    _, (bracket,), _ = collect(shop, capsys, rows(*BRACKET, *RAIL), "bracket")

    assert torques(bracket, "tightening") == list(BRACKET)
    assert torques(bracket, "stray") == list(RAIL)
    assert sum(row["missed"] for row in bracket["joints"]) == 0


def test_what_belongs_to_neither_and_what_cannot_be_read_goes_with_the_first_plan(shop, capsys):
    text = rows(*BRACKET, "7.5", *RAIL) + "2026-03-02T09:00:00+01:00,W-140,48,km,90\n,W-140,,Nm,91\n"

    _, (bracket, rail), _ = collect(shop, capsys, text, "bracket", "rail")

    assert torques(bracket, "stray") == ["7.5"]
    assert len(bracket["set_aside"]) == 2
    assert rail["set_aside"] == []
    assert torques(rail) == list(RAIL)


def test_a_log_in_which_nothing_can_be_read_is_kept_with_the_first_plan(shop, capsys):
    code, (bracket, rail), _ = collect(shop, capsys, HEADER + "x,W-140,bad,Nm,1\n", "bracket", "rail")

    assert code == 1
    assert len(bracket["set_aside"]) + len(bracket["unreadable"]) == 1
    assert [answer["readings"] for answer in (bracket, rail)] == [[], []]


def test_a_second_reading_of_the_same_log_adds_nothing(shop, capsys):
    collect(shop, capsys, rows(*BRACKET, *RAIL), "bracket", "rail")

    _, (bracket, rail), _ = collect(shop, capsys, rows(*BRACKET, *RAIL), "bracket", "rail")

    assert (torques(bracket), torques(rail)) == (list(BRACKET), list(RAIL))
    assert (bracket["already_stored"], rail["already_stored"]) == (5, 5)
    with closing(sqlite3.connect(shop / "a.db")) as db:
        assert db.execute("SELECT count(*) FROM job").fetchone() == (2,)


@pytest.mark.parametrize("zone", ["", "Z", "+01:00"], ids=["without-a-zone", "utc", "with-an-offset"])
def test_times_are_used_as_far_as_they_are_there(shop, capsys, zone):
    _, (bracket, rail), _ = collect(shop, capsys, rows(*BRACKET, *RAIL, zone=zone), "bracket", "rail")

    assert (torques(bracket), torques(rail)) == (list(BRACKET), list(RAIL))


def test_a_log_without_times_and_wrenches_is_shared_out_by_torque_and_order(shop, capsys):
    text = "torque,unit\n" + "".join(f"{torque},Nm\n" for torque in (*BRACKET, *RAIL))

    _, (bracket, rail), _ = collect(shop, capsys, text, "bracket", "rail", more=("--wrench", "W-140"))

    assert (torques(bracket), torques(rail)) == (list(BRACKET), list(RAIL))


def test_an_angle_is_seen_and_a_value_above_the_range_is_kept(shop, capsys):
    text = "time,wrench,torque,unit,seq,angle\n" + "".join(
        f"2026-03-02T08:00:{n * 5:02d}+01:00,W-140,{torque},Nm,{n},{angle}\n"
        for n, (torque, angle) in enumerate([("95", "40"), ("95", "42"), ("95", "41"), ("OL", ""), ("60", "40")])
    )

    _, (bracket, rail), _ = collect(shop, capsys, text, "bracket", "rail")

    assert len(bracket["readings"]) + len(rail["readings"]) == 5
    assert torques(bracket)[:3] == ["95"] * 3
    assert "60" in torques(rail)


@pytest.mark.parametrize("more", [("--job", "1"), ()], ids=["with-a-job", "from-a-port"])
def test_also_goes_only_with_a_log_and_new_jobs(shop, capsys, more):
    source = [] if more else ["--from", "serial:/dev/none"]
    code, answers, err = collect(shop, capsys, rows("95"), "bracket", "rail", more=(*more, *source))

    assert (code, answers) == (2, [])
    assert "--also" in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("is_turned", [False, True], ids=["oldest-first", "newest-first"])
def test_a_log_is_shared_out_in_the_order_in_which_it_was_pulled(shop, capsys, is_turned):
    plan = PLAN.format(plan="rail", title="Rail", first=60, second=25)
    (shop / "rail.yaml").write_text(plan, encoding="utf-8")
    head, *lines = rows("60", "60.3", "59.9", "25.2", "25.3", *BRACKET).splitlines()
    log = "\n".join((head, *(reversed(lines) if is_turned else lines), ""))

    _, (bracket, rail), _ = collect(shop, capsys, log, "bracket", "rail")

    assert sorted(torques(bracket)) == sorted(BRACKET)
    assert sorted(torques(rail)) == ["25.2", "25.3", "59.9", "60", "60.3"]
