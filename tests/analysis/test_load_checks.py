"""The checks that count, as a table: their types, their order, what is left out."""

from contextlib import closing

import pandas as pd
import pytest

from analysis.load.checks import load_checks
from analysis.load.database import open_audit
from collector.record.checks import add_checks, void_check
from collector.record.jobs import add_wrench, calibrate_wrench
from schemas.bodies import Calibrated, CheckMade, WrenchAdded

KINDS = {
    "seq": "int64", "wrench": "str", "day": "float64", "reference_nm": "float64", "shown_nm": "float64",
    "error_percent": "float64", "simulated": "bool",
}  # fmt: skip


def check(at, shown="101", wrench="W-7", simulated=None):
    return CheckMade(wrench, at, "100", shown, "N·m", "100", shown, simulated=simulated)


@pytest.fixture(name="bench")
def _bench(floor, recorder):
    floor.register(recorder)
    add_wrench(recorder, WrenchAdded("W-1", "SN-1", "setting", "10", "200", "N·m", "10", "200", "click", 1), "person-1")
    return recorder


def load(floor, wrench=None):
    with closing(open_audit(floor.path)) as db:
        return load_checks(db, wrench)


def test_checks_come_by_wrench_day_and_entry_with_their_types(floor, bench):
    noon = check("2026-03-02T12:00:00.000000Z", "99.5")
    add_checks(bench, [check("2026-03-09"), noon, check("2026-03-02"), check("2026-03-02")], "person-1")
    add_checks(bench, [check("2026-03-30", wrench="W-1", simulated=1)], "person-1")

    table = load(floor)

    assert dict(table.dtypes) == dict(pd.DataFrame(columns=list(KINDS)).astype(KINDS).dtypes)
    assert list(table["wrench"]) == ["W-1", *["W-7"] * 4]
    # 2026-03-02 is 20,514 days after 1970-01-01 (GNU date: `date -d 2026-03-02 +%s` in UTC, divided by 86,400).
    assert list(table["day"]) == [20542.0, 20514.0, 20514.0, 20514.5, 20521.0]
    assert list(table["seq"].diff()[1:]) == [-2, 1, -2, -1]
    assert list(table["error_percent"]) == [1.0, 1.0, 1.0, -0.5, 1.0]
    assert list(table["shown_nm"]) == [101.0, 101.0, 101.0, 99.5, 101.0]
    assert list(table["simulated"]) == [True, False, False, False, False]
    assert list(table.index) == [0, 1, 2, 3, 4]


def test_of_one_wrench_only_its_own_checks_are_read(floor, bench):
    add_checks(bench, [check("2026-03-09"), check("2026-03-02", wrench="W-1")], "person-1")

    assert list(load(floor, "W-1")["wrench"]) == ["W-1"]
    assert len(load(floor, "W-9")) == 0


def test_without_checks_the_table_has_its_columns_and_no_rows(floor, bench):
    table = load(floor)

    assert (len(table), list(table.columns)) == (0, list(KINDS))
    assert dict(table.dtypes) == dict(pd.DataFrame(columns=list(KINDS)).astype(KINDS).dtypes)


def test_a_check_that_was_taken_back_does_not_count(floor, bench):
    add_checks(bench, [check("2026-03-02", "199"), check("2026-03-09")], "person-1")
    void_check(bench, int(load(floor)["seq"][0]), "slip of the pen", "person-1")

    assert list(load(floor)["shown_nm"]) == [101.0]


def test_a_gross_check_counts_here_and_is_left_to_the_measures(floor, bench):
    add_checks(bench, [check("2026-03-02", "199")], "person-1")

    assert list(load(floor)["error_percent"]) == [99.0]


def test_checks_from_before_the_last_adjustment_do_not_count(floor, bench):
    days = ["2026-02-27", "2026-02-28T23:59:59.999999Z", "2026-03-01", "2026-03-01T00:00:00.000000Z", "2026-03-02"]
    add_checks(bench, [check(day) for day in days], "person-1")
    add_checks(bench, [check("2026-01-01", wrench="W-1")], "person-1")
    calibrate_wrench(bench, Calibrated("W-7", "C-8", "2026-03-01", "2027-02-28", "10", "200", adjusted=1), "person-1")

    # 20,514 is 2026-03-02; on the day of the adjustment nobody knows which came first.
    assert list(load(floor, "W-7")["day"]) == [20514.0]
    assert len(load(floor, "W-1")) == 1
    calibrate_wrench(bench, Calibrated("W-7", "C-9", "2026-03-02", "2027-03-01", "10", "200"), "person-1")
    assert len(load(floor, "W-7")) == 1
