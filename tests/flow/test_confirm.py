"""A fitter at a keyboard says which fastener a pull was on: keys and cable are pseudo-terminals, the program is installed."""

import csv
import json
import sqlite3
from contextlib import closing

import pytest

from analysis.verify import verify_file
from collector.cli.main import main
from schemas.database import PROJECTIONS

PLAN = """\
plan: left-hub
title: Box trailer, left hub
revision: "1"
source: Shop sheet 7
unit: N·m
tolerance: 10 %
joints:
  - {id: wheel-nuts, name: "Wheel nuts, left", fasteners: 5, torque: 110, order: cross}
  - {id: guard, name: Guard bolts, fasteners: 2, torque: 25}
"""
EACH = ("--confirm", "each")


@pytest.fixture(name="shop")
def _shop(open_shop):
    return open_shop(PLAN, "W-140")


@pytest.fixture(name="wrench")
def _wrench(new_cable):
    return new_cable("port")


def line(number: int, torque: str) -> str:
    return f"@W-140;{number};{torque};Nm;;ok"


class Hand:
    """Who pulls at a bench and presses its keys, seeing what became of each."""

    def __init__(self, bench, wrench, number=0):
        self.bench, self.wrench, self.number = bench, wrench, number

    def pull(self, *torques):
        for torque in torques:
            self.number += 1
            self.wrench.send(f"{line(self.number, torque)}\r\n".encode())
            self.bench.wait_for(f"reached {torque} N·m")

    def press(self, keys, then):
        self.bench.press(keys)
        return self.bench.wait_for(then)


@pytest.fixture
def at_bench(collect, shop, wrench):
    def at_bench(*options, number=0):
        bench = collect(shop, "--from", wrench.source, *options)
        bench.wait_for("open")
        return Hand(bench, wrench, number)

    return at_bench


def where(answer):
    return [(row["joint"], row["position"], row["position_by"]) for row in answer["readings"]]


def wheel(*places):
    return [("wheel-nuts", position, "confirmed" if confirmed else "order") for position, confirmed in places]


# The cross of five goes 1, 3, 5, 2, 4.
NAMED = wheel((1, False), (5, False), (3, True), (2, False), (4, False))


def tables(path):
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
        return {table.name: [tuple(row) for row in db.execute(table.select_sql())] for table in PROJECTIONS}


def pull_and_name(hand):
    """Three pulls, the last of them on fastener 3."""
    hand.pull("110.1", "110.2", "110.3")
    hand.press("f3\r", "reading 3 was on Wheel nuts, left, fastener 3 of 5; counted anew: reading 2")


def test_a_pull_is_on_the_fastener_that_the_fitter_named_everywhere_it_stands(at_bench, shop, tmp_path, capsys):
    hand = at_bench()
    pull_and_name(hand)
    hand.pull("110.4", "110.5")
    hand.bench.wait_for("stripes: 5 of 5?")
    hand.press("\r", "5 of 5 stripes seen")
    _, answer = hand.bench.end()
    database = shop[1][1]

    assert where(answer) == NAMED
    assert answer["joints"][0]["tightened"] == 5
    assert main(["job", "report", "1", "--to", str(tmp_path / "job.html"), "--db", database]) == 1
    page = (tmp_path / "job.html").read_text(encoding="utf-8")
    assert page.count("position confirmed") == 2
    assert "Positions confirmed" in page
    assert "3 (reading 3)" in page
    assert main(["export", "readings", "--to", str(tmp_path / "rows.csv"), "--db", database]) == 0
    with (tmp_path / "rows.csv").open(encoding="utf-8-sig", newline="") as rows:
        assert [(row["joint"], int(row["position"]), row["position_by"]) for row in csv.DictReader(rows)] == NAMED
    with closing(sqlite3.connect(database)) as db:
        (said,) = db.execute("SELECT by, joint, position FROM decision WHERE said = 'position confirmed'").fetchall()
        fitter = db.execute("SELECT fitter FROM job").fetchone()[0]
    assert said == (fitter, "wheel-nuts", 3)
    capsys.readouterr()


def test_when_the_job_is_closed_it_stays_and_the_tables_come_out_the_same_when_made_anew(at_bench, shop, tmp_path, capsys):
    hand = at_bench()
    pull_and_name(hand)
    hand.pull("110.4", "110.5", "25.1", "25.2")
    hand.bench.end()
    database = tmp_path / "audit.db"
    for close in (True, False):
        assert verify_file(database).findings == []
        before = tables(database)
        assert main(["rebuild", str(database)]) == 0
        assert tables(database) == before
        with closing(sqlite3.connect(database)) as db:
            rows = db.execute("SELECT joint, position, position_by FROM reading ORDER BY n").fetchall()
        assert rows[:5] == NAMED
        assert not close or main(["job", "close", "1", "--by", "Runa Veld", *shop[1]]) == 0
    capsys.readouterr()


def test_after_a_kill_the_named_fastener_is_there_and_the_next_run_counts_around_it(at_bench):
    hand = at_bench()
    pull_and_name(hand)
    hand.bench.kill()
    again = at_bench(number=hand.number)
    again.pull("110.4", "110.5")
    again.bench.wait_for("stripes: 5 of 5?")

    _, answer = again.bench.end()

    assert where(answer) == NAMED
    assert not any("gone through again" in said for said in again.bench.said)


def test_conflicts_are_told_in_one_line_each_and_change_nothing(at_bench):
    hand = at_bench()
    hand.press("f1\r", "nothing was recorded: that pull belongs to no joint of this job")
    hand.pull("110.1")
    hand.press("f6\r", "nothing was recorded: Wheel nuts, left has fasteners 1 to 5, and no 6")
    hand.press("f1\r", "reading 1 was on Wheel nuts, left, fastener 1 of 5")
    hand.pull("110.2")
    hand.press("f1\r", "fastener 1 of 5: a second pull on fastener 1; was it opened between: job opened")
    hand.press("f1\r", "fastener 1 is on record for reading 2 already")

    _, answer = hand.bench.end()

    assert [(row["kind"], row["position"], row["position_by"]) for row in answer["readings"]] == [
        ("tightening", 1, "confirmed"), ("repeat", 1, "confirmed"),
    ]  # fmt: skip


def test_with_confirm_each_the_fastener_is_asked_for_after_each_pull(at_bench):
    hand = at_bench(*EACH)
    hand.pull("110.1")
    hand.bench.wait_for("was reading 1 on fastener 1 of 5? Enter = yes, else its number and Enter; n = not known")
    hand.press("\r", "reading 1 was on Wheel nuts, left, fastener 1 of 5")
    hand.pull("110.2")
    hand.bench.wait_for("was reading 2 on fastener 3 of 5?")
    hand.press("2\r", "reading 2 was on Wheel nuts, left, fastener 2 of 5")
    hand.pull("110.3")
    hand.bench.wait_for("was reading 3 on fastener 3 of 5?")
    hand.press("n", "not known; reading 3 stays counted in the order of its stage")

    _, answer = hand.bench.end()

    assert where(answer) == wheel((1, True), (2, True), (3, False))


def test_the_help_says_that_it_is_asked_of_the_last_pull_and_not_of_each(capsys):
    with pytest.raises(SystemExit, match="0"):
        main(["collect", "--help"])

    told = " ".join(capsys.readouterr().out.split())
    assert "on which fastener of its joint the last pull that counts was" in told
    assert "ask of each pull" not in told


def test_without_it_nobody_is_asked(at_bench):
    hand = at_bench()
    hand.pull("110.1", "110.2")
    _, answer = hand.bench.end()

    assert not any("was reading" in said for said in hand.bench.said)
    assert where(answer) == wheel((1, False), (3, False))


def test_where_an_instrument_types_the_fastener_is_said_by_a_line(collect, shop):
    bench = collect(shop, "--from", "keys:", *EACH)
    bench.wait_for("answers begin with /")
    bench.press(line(1, "110.1") + "\n")
    bench.wait_for("type / alone for yes, /fastener NUMBER for another one, /no for not known")
    bench.press("/fastener 4\n")
    bench.wait_for("reading 1 was on Wheel nuts, left, fastener 4 of 5")
    bench.press(line(2, "110.2") + "\n")
    bench.wait_for("was reading 2 on fastener 1 of 5?")
    bench.press("/\n")
    bench.wait_for("reading 2 was on Wheel nuts, left, fastener 1 of 5")

    _, answer = bench.end("/quit\n")

    assert where(answer) == wheel((4, True), (1, True))


def test_a_log_is_read_without_a_question(shop, tmp_path, capsys):
    (tmp_path / "day.csv").write_text("time,wrench,torque,unit\n,W-140,110,Nm\n", encoding="utf-8")

    assert main(["collect", shop[0], "--from", f"log:{tmp_path / 'day.csv'}", *EACH, *shop[1]]) == 2

    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "a log is read without a question; leave it out" in error


def test_a_simulated_fitter_answers_it_at_each_pull(tmp_path, pytestconfig, capsys):
    plan = pytestconfig.rootpath / "sim" / "workshop" / "rear-axle.yaml"
    database = tmp_path / "audit.db"

    main(["collect", str(plan), "--from", "sim:rear-axle", "--pace", "0", *EACH, "--json", "--db", str(database)])

    answer = json.loads(capsys.readouterr().out)
    assert {row["position_by"] for row in answer["readings"] if row["kind"] == "tightening"} == {"confirmed"}
    assert verify_file(database).findings == []
