"""What an exported table holds: every reading, every fastener and stage of the plan, every check, in words and as sent."""

from contextlib import closing
from decimal import Decimal

import pytest

from analysis.export import Scope, What, open_export
from analysis.export.columns import COLUMNS
from analysis.load import open_audit
from schemas.bodies import CheckMade, CheckVoided, LogTaken, MatchKept, ReadingKept, Signed
from schemas.errors import RecordError


@pytest.fixture
def table(path):
    """Reads a table as dictionaries by column, and what is known of it beside the rows."""

    def table(what: str, of: str | None = None):
        with closing(open_audit(path)) as db, open_export(db, Scope(What(what), of)) as export:
            names = [column.name for column in export.columns]
            return [dict(zip(names, row, strict=True)) for row in export.rows], export

    return table


def add_check(shop, shown: str = "100.5", wrench: str = "W-140", at: str = "2026-03-02") -> int:
    return shop.append(CheckMade(wrench, at, "100.0", shown, "N·m", "100.0", shown))


def test_a_reading_has_what_was_sent_and_what_was_made_of_it(shop, table) -> None:
    seq = shop.pull("hub-nuts", 2, 3, "95.20", sequence=17, tool_time="2026-03-02T08:00:00", notes=("battery low", "=1+1"),
                    fit=None, unfit="calibration ran out")  # fmt: skip

    (row,), export = table("readings")

    assert export.count == 1
    assert {name: row[name] for name in ("job", "item", "order", "plan", "plan_revision", "n", "entry")} == {
        "job": "2026-0001", "item": "Box trailer WX 17", "order": "4711", "plan": "box-trailer-hubs", "plan_revision": "2",
        "n": 1, "entry": seq,
    }  # fmt: skip
    assert (row["torque"], row["unit"], row["torque_nm"], row["over_range"]) == ("95.20", "N·m", "95.20", "no")
    assert (row["joint"], row["joint_name"], row["stage"], row["position"]) == ("hub-nuts", "Hub nuts, left", 2, 3)
    assert (row["kind"], row["verdict"], row["low_nm"], row["high_nm"]) == ("tightening", "in band", "90", "110")
    assert (row["wrench"], row["wrench_serial"], row["sequence"], row["probability"]) == ("W-140", "SN-90417", 17, "0.95")
    assert (row["tool_time"], row["received_at"][:10]) == ("2026-03-02T08:00:00", "2026-03-02")
    assert (row["notes"], row["fit"], row["unfit_reason"]) == ("battery low; =1+1", "no", "calibration ran out")
    assert bytes.fromhex(row["raw_hex"]) == "95.20,N·m".encode()
    assert (row["by"], row["simulated"]) == ("Mira Tannwald", "")


def test_a_reading_of_a_log_names_file_and_line_and_has_its_own_bytes(shop, table) -> None:
    log = shop.append(LogTaken(shop.job, "day.csv", "ab" * 32))
    shop.append(ReadingKept(shop.job, log=log, line=7, raw=b"W-9,25.0".hex(), torque="25.0", unit="N·m", torque_nm="25.0"))

    (row,), _ = table("readings")

    assert (row["log_file"], row["log_line"], row["raw_hex"]) == ("day.csv", 7, b"W-9,25.0".hex())
    assert (row["joint"], row["joint_name"], row["upper_edge"], row["wrench_serial"]) == (None, None, None, None)


@pytest.mark.parametrize(
    ("high_is_over", "edge"), [pytest.param(1, "over", id="stage"), pytest.param(None, "in band", id="final")]
)
def test_whether_the_upper_edge_itself_is_over_stands_beside_it(shop, table, high_is_over, edge) -> None:
    seq = shop.read("50.0")
    shop.append(
        MatchKept(shop.job, seq, "tightening", "by order", "hub-nuts", 1, 1, low="45", high="90", high_is_over=high_is_over)
    )

    (row,), _ = table("readings")

    assert row["upper_edge"] == edge


def test_a_missed_fastener_has_its_row_without_a_verdict(shop, table) -> None:
    shop.do_all(without=(("hub-nuts", 4),))

    rows, export = table("tightenings", "2026-0001")

    # Four nuts of two stages and two bolts of one, whatever was done.
    assert len(rows) == export.count == 4 * 2 + 2
    missed = [row for row in rows if row["joint"] == "hub-nuts" and row["position"] == 4]
    assert [(row["stage"], row["verdict"], row["proof"], row["torque"], row["by"]) for row in missed] == [
        (1, None, "missed", None, None),
        (2, None, "missed", None, None),
    ]
    assert missed[1]["why"] == "no tightening of the final stage"
    assert [row["low_nm"] for row in missed] == ["45", "90"]


def test_a_tightening_has_its_band_its_reading_and_its_proof(shop, table) -> None:
    shop.do_all()
    shop.append(Signed(shop.job, "lead", "ride-height"))

    rows, _ = table("tightenings")

    # The plan states 100 N·m with 10 % in stages of 50 and 100 %; below the final's 90 an intermediate pull may reach.
    first = rows[0]
    assert (first["joint_name"], first["position"], first["stage"], first["stages"]) == ("Hub nuts, left", 1, 1, 2)
    assert (first["share_percent"], first["low"], first["high"], first["band_unit"]) == ("50", "45", "90", "N·m")
    assert (first["upper_edge"], rows[1]["upper_edge"]) == ("over", "in band")
    assert (first["verdict"], first["proof"], first["reading"], first["torque_nm"]) == ("in band", "proven", 1, "50.0")
    assert (first["wrench"], first["wrench_serial"], first["by"]) == ("W-140", "SN-90417", "Mira Tannwald")


def test_a_joint_in_another_unit_has_its_edges_in_both(make_shop, table) -> None:
    shop = make_shop()
    shop.open("plan: p\ntitle: P\nrevision: '1'\nsource: Shop sheet\nunit: lbf·ft\ntolerance: 10 %\n"
              "joints:\n  - {id: a, name: A, fasteners: 1, torque: 100}\n")  # fmt: skip

    (row,), _ = table("tightenings")

    # 1 lbf·ft is 0.45359237 kg x 9.80665 m/s2 x 0.3048 m, exact by definition (international yard and pound, 1959).
    nm = Decimal("0.45359237") * Decimal("9.80665") * Decimal("0.3048")
    assert (row["low"], row["high"], row["band_unit"]) == ("90", "110", "lbf·ft")
    assert (Decimal(row["low_nm"]), Decimal(row["high_nm"])) == (90 * nm, 110 * nm)


def test_a_fastener_without_a_measured_stage_has_a_row_with_what_was_declared(whole, table) -> None:
    rows, export = table("tightenings")

    first, second = (row for row in rows if row["joint"] == "tie-rod")
    assert (first["joint_name"], first["position"], first["stage"], first["verdict"]) == ("Tie rod", 1, None, None)
    assert (first["proof"], first["said_by"], first["said_reason"]) == ("declared", "Ole Brand", None)
    assert (first["declared_value"], first["declared_unit"], first["declared_tool"]) == ("65", "N·m", "beam wrench B-2")
    assert (second["proof"], second["said_by"], second["said_reason"]) == ("not fitted", "Runa Veld", "part on order")
    assert (first["stage_word"], first["angle_deg"], first["adapter"]) == (None, None, None)
    assert export.count == len(rows)


def test_angles_and_checks_have_their_words_and_edges(whole, table) -> None:
    rows, _ = table("tightenings")

    angle = next(row for row in rows if (row["joint"], row["position"], row["stage"]) == ("hangers", 6, 2))
    check = next(row for row in rows if (row["joint"], row["position"], row["stage"]) == ("wheel-left", 2, 2))
    assert (angle["stage_word"], angle["angle_deg"], angle["angle_low"], angle["angle_high"]) == ("angle", "104", "80", "100")
    assert (angle["verdict"], angle["torque"]) == ("over", "75.0")
    assert (check["stage_word"], check["step"], check["verdict"], check["proof"]) == ("recheck", 9, "moved", "doubtful")


def test_lever_and_drag_stand_beside_a_tightening_and_a_reading(whole, table) -> None:
    tightening = next(row for row in table("tightenings")[0] if row["joint"] == "u-bolts")
    reading = next(row for row in table("readings")[0] if row["joint"] == "u-bolts")

    for row in (tightening, reading):
        assert row["adapter"] == "adapter 50 mm at 0°, wrench 400 mm to the grip mark"
        assert (row["drag_nm"], row["wrench_length_mm"]) == ("10", "400")
    # What the fastener had to get, and what the wrench had to show for it.
    assert (tightening["low_nm"], tightening["high_nm"]) == ("90", "110")
    assert (reading["low_nm"], reading["high_nm"]) == ("88.889", "106.666")
    angle = next(row for row in table("readings")[0] if row["angle_low"] is not None)
    assert (angle["angle_low"], angle["angle_high"], angle["angle_deg"]) == ("80", "100", "92")


def test_later_columns_come_last_so_that_a_macro_finds_the_older_ones() -> None:
    readings, tightenings = ([column.name for column in COLUMNS[what]] for what in (What.READINGS, What.TIGHTENINGS))

    assert readings.index("raw_hex") == 38
    assert tightenings.index("by") == 32


def test_a_joint_that_was_added_has_its_rows(whole, table) -> None:
    rows, _ = table("tightenings")

    assert [(row["joint_name"], row["proof"]) for row in rows if row["joint"] == "spare"] == [("Spare wheel clamp", "missed")] * 2


def test_a_fastener_that_the_database_lost_keeps_its_row(shop, path, table) -> None:
    import sqlite3

    shop.do_all()
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM tightening WHERE joint = 'guard'")
        db.execute("DELETE FROM fastener WHERE joint = 'guard'")

    rows, _ = table("tightenings")

    assert [(row["proof"], row["verdict"]) for row in rows if row["joint"] == "guard"] == [("missed", None)] * 2


def test_checks_begin_with_the_five_columns_that_a_file_of_checks_has(shop, table) -> None:
    seq = add_check(shop, "100.5")

    (row,), export = table("checks")

    assert list(row)[:5] == ["time", "wrench", "reference", "shown", "unit"]
    assert list(row.values()) == [
        "2026-03-02", "W-140", "100.0", "100.5", "N·m", "Mira Tannwald", "100.0", "100.5", "0.5000", None, "", seq,
    ]  # fmt: skip
    assert export.workshops == ()


def test_a_check_that_was_taken_back_says_why(shop, table) -> None:
    shop.append(CheckVoided(add_check(shop), "wrong wrench"))

    (row,), _ = table("checks")

    assert row["void"] == "wrong wrench"


def test_one_job_or_one_wrench_can_be_chosen(shop, make_shop, table) -> None:
    other = make_shop(job="2026-0002")
    other.open()
    shop.wrench("W-25")
    shop.pull("guard", 1, 1, "20.0")
    other.pull("guard", 1, 1, "21.0")
    add_check(shop)
    add_check(shop, wrench="W-25")

    assert [row["torque"] for row in table("readings", "2026-0002")[0]] == ["21.0"]
    assert {row["job"] for row in table("tightenings", "2026-0002")[0]} == {"2026-0002"}
    assert [row["job"] for row in table("readings")[0]] == ["2026-0001", "2026-0002"]
    assert [row["wrench"] for row in table("checks", "W-25")[0]] == ["W-25"]
    assert table("readings", "2026-0002")[1].count == table("checks", "W-25")[1].count == 1


def test_an_erased_name_and_an_erased_item_are_said_to_be_erased(shop, path, table) -> None:
    import sqlite3

    shop.pull("guard", 1, 1, "20.0")
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DELETE FROM private")

    (row,), _ = table("readings")

    assert row["by"].endswith("(name erased)")
    assert row["item"] == "(item erased)"


def test_what_is_simulated_says_so_in_every_row(make_shop, table) -> None:
    shop = make_shop(simulated=1)
    shop.open()
    shop.pull("guard", 1, 1, "20.0", simulated=1)

    for what in ("readings", "tightenings"):
        rows, export = table(what)
        assert {row["simulated"] for row in rows} == {"SIMULATED"}
        assert export.simulated


def test_a_write_between_count_and_rows_does_not_show(shop, path) -> None:
    add_check(shop, "100.5")
    with closing(open_audit(path)) as db, open_export(db, Scope(What.CHECKS)) as export:
        add_check(shop, "99.5", at="2026-03-03")
        rows = list(export.rows)

    assert (export.count, [row[3] for row in rows]) == (1, ["100.5"])
    with closing(open_audit(path)) as db, open_export(db, Scope(What.CHECKS)) as later:
        assert later.count == len(list(later.rows)) == 2


@pytest.mark.parametrize(
    ("what", "said"),
    [
        pytest.param("readings", "job `9` is not in this database; `witnessmark job list`", id="job"),
        pytest.param("checks", "wrench `9` is not in this database; `witnessmark wrench list`", id="wrench"),
    ],
)
def test_a_job_or_wrench_that_is_not_there_is_refused(shop, table, what, said) -> None:
    with pytest.raises(RecordError, match=said):
        table(what, "9")


@pytest.mark.parametrize(
    ("scope", "text"),
    [
        pytest.param(Scope(What.READINGS, "17"), "readings of job 17", id="job"),
        pytest.param(Scope(What.TIGHTENINGS), "tightenings of all jobs", id="jobs"),
        pytest.param(Scope(What.CHECKS, "W-1"), "checks of wrench W-1", id="wrench"),
        pytest.param(Scope(What.CHECKS), "checks of all wrenches", id="wrenches"),
    ],
)
def test_a_scope_reads_as_people_say_it(scope, text) -> None:
    assert str(scope) == text
