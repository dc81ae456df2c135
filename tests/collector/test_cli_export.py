"""`witnessmark export` as its users type it: which file, which form, what is refused, what stays as it was."""

import argparse
import csv
import hashlib
import io
import os
import re
import stat
from dataclasses import replace

import pytest
from openpyxl import load_workbook

from collector.acquire.check_file import read_check_file
from collector.cli.export import run_export
from schemas.bodies import CheckMade
from schemas.errors import RecordError
from schemas.safe_cell import plain_text

LOG = 'tool_time,wrench,torque,unit,seq\n2026-03-02T08:15:30+01:00,=1+1,25.0,Nm,1\n2026-03-02T08:15:40+01:00,W-7,-20.0,Nm,2\n'


@pytest.fixture
def database(floor):
    """A database with a job, two readings of a log and a check, closed again."""
    with floor.recorder() as recorder:
        floor.import_log(recorder, LOG)
        with recorder.transaction():
            check = CheckMade("W-7", "2026-03-02", "100.0", "99.50", "N·m", "100.0", "99.50")
            recorder.append(check, recorder.person("Runa Veld"))
    return floor.path


@pytest.fixture
def run(database, capsysbinary):
    """Runs the command, and gives what it said on standard output and on standard error."""

    def run(what, to, job=None, wrench=None):
        code = run_export(argparse.Namespace(what=what, to=str(to), job=job, wrench=wrench, db=str(database)))
        out, err = capsysbinary.readouterr()
        assert code == 0
        return out, err.decode()

    return run


def rows(path):
    return list(csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline="")))


def state(folder):
    """Each file with its time and its bytes."""
    return {path.name: (path.stat().st_mtime_ns, hashlib.sha256(path.read_bytes()).digest()) for path in folder.iterdir()}


def test_the_ending_names_the_form(run, tmp_path) -> None:
    _, said = run("readings", tmp_path / "r.csv", job="1")
    run("readings", tmp_path / "r.XLSX")

    assert said == f"{tmp_path / 'r.csv'}: 2 rows, readings of job 1\n"
    assert [row["torque"] for row in rows(tmp_path / "r.csv")] == ["25.0", "-20.0"]
    sheet = load_workbook(tmp_path / "r.XLSX")["readings"]
    assert [cell.value for cell in sheet["M"]] == ["torque", 25, -20]
    assert load_workbook(tmp_path / "r.XLSX")["about"]["B2"].value == "Tannwald Trailers"


def test_a_hostile_wrench_id_stays_text_and_a_negative_number_a_number(run, tmp_path) -> None:
    run("readings", tmp_path / "r.csv")

    wrenches = [row["wrench"] for row in rows(tmp_path / "r.csv")]
    assert wrenches == ["'=1+1", "W-7"]
    assert [plain_text(wrench) for wrench in wrenches] == ["=1+1", "W-7"]


def test_an_exported_log_is_read_in_again_with_the_same_values(run, tmp_path, floor) -> None:
    run("readings", tmp_path / "r.csv")
    other = replace(floor, path=tmp_path / "other.db")
    with other.recorder() as recorder:
        bench = other.import_log(recorder, (tmp_path / "r.csv").read_bytes().decode("utf-8"), file="again.csv")
        torques = [pull.reading.torque for pull in bench.job.pulls.values()]

    assert torques == ["25.0", "-20.0"]


def test_what_a_simulated_wrench_sent_does_not_come_back_as_real(floor, tmp_path) -> None:
    with floor.recorder() as recorder:
        floor.run(floor.bench(recorder, simulated=True), floor.pull("50.0"), floor.pull("50.5"))
    for what in ("readings", "tightenings"):
        to = str(tmp_path / f"{what}.csv")
        run_export(argparse.Namespace(what=what, to=to, job=None, wrench=None, db=str(floor.path)))
    other = replace(floor, path=tmp_path / "other.db")

    with other.recorder() as recorder:
        bench = other.import_log(recorder, (tmp_path / "readings.csv").read_bytes().decode("utf-8"), file="again.csv")
        again = other.import_log(recorder, (tmp_path / "tightenings.csv").read_bytes().decode("utf-8"), "1", "all.csv")
        found = recorder.query("SELECT fate, reason FROM not_read WHERE log IS NOT NULL")

    assert (list(bench.job.pulls), list(again.job.pulls)) == ([], [])
    assert found == [("set aside", "is SIMULATED: made by a program, not by a wrench")] * len(found)
    assert len(found) > 2


def test_exported_checks_are_read_as_a_file_of_checks(run, tmp_path) -> None:
    run("checks", tmp_path / "c.csv")

    (row,) = read_check_file(tmp_path / "c.csv").rows
    assert row.trouble is None
    assert row.texts == {
        "time": "2026-03-02", "wrench": "W-7", "reference": "100.0", "shown": "99.50", "unit": "N·m", "void": "", "simulated": "",
    }  # fmt: skip


def test_every_fastener_of_the_plan_has_its_rows(run, tmp_path) -> None:
    run("tightenings", tmp_path / "t.csv")

    # Two of two stages each, two of one behind a snug round, two of one; nobody torqued the last ones.
    found = rows(tmp_path / "t.csv")
    assert len(found) == 4 + 2 + 2
    assert [(row["verdict"], row["proof"]) for row in found if row["joint"] == "guard"] == [("", "missed")] * 2


def test_checks_go_to_standard_output_without_a_mark(run) -> None:
    out, said = run("checks", "-", wrench="W-7")

    head, check = out.splitlines()
    assert head == b"time,wrench,reference,shown,unit,by,reference_nm,shown_nm,error_percent,void,simulated,entry"
    assert re.fullmatch("2026-03-02,W-7,100.0,99.50,N·m,Runa Veld,100.0,99.50,-0.5000,,,[0-9]+", check.decode())
    assert said == "1 row, checks of wrench W-7\n"


def test_what_is_simulated_is_said(run, floor, tmp_path) -> None:
    with floor.recorder() as recorder, recorder.transaction():
        recorder.append(CheckMade("W-7", "2026-03-03", "100.0", "99.0", "N·m", "100.0", "99.0", simulated=1))

    assert run("checks", tmp_path / "c.xlsx")[1].endswith("2 rows, checks of all wrenches SIMULATED\n")


@pytest.mark.parametrize("to", ["r.csv", "r.xlsx", "-"])
def test_the_database_and_its_folder_stay_as_they_were(run, database, tmp_path_factory, to) -> None:
    # What a writer left beside it does not belong to the reader; a file that may not be written must do as well.
    database.chmod(stat.S_IRUSR)
    before = state(database.parent)

    run("readings", to if to == "-" else tmp_path_factory.mktemp("out") / to)

    assert state(database.parent) == before


def test_an_earlier_file_is_replaced_and_nothing_is_left_beside(run, tmp_path) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "r.csv").write_text("old")

    run("readings", folder / "r.csv")

    assert os.listdir(folder) == ["r.csv"]
    assert len(rows(folder / "r.csv")) == 2


@pytest.mark.parametrize(
    ("what", "chosen", "said"),
    [
        pytest.param("readings", {"to": "r.ods"}, r"r\.ods: give the file the ending \.csv or \.xlsx", id="ending"),
        pytest.param("readings", {"to": "r"}, r"r: give the file the ending \.csv or \.xlsx", id="no-ending"),
        pytest.param("readings", {"to": "no/r.csv"}, "cannot be written .No such file or directory.; name another", id="folder"),
        pytest.param("readings", {"to": "taken.csv"}, "cannot be written .Is a directory.; name another", id="is-a-folder"),
        pytest.param("readings", {"job": "9"}, "job `9` is not in this database", id="job"),
        pytest.param("readings", {"wrench": "W-7"}, "readings are not chosen by their wrench; choose them by --job", id="wrench"),
        pytest.param("checks", {"job": "1"}, "checks belong to no job; choose them by --wrench", id="job-of-checks"),
    ],
)
def test_what_cannot_be_done_is_refused_in_one_line_and_leaves_nothing(run, tmp_path, what, chosen, said) -> None:
    (tmp_path / "taken.csv").mkdir()
    before = sorted(os.listdir(tmp_path))
    to = tmp_path / chosen.pop("to", "r.csv")

    with pytest.raises(RecordError, match=said):
        run(what, to, **chosen)

    assert sorted(os.listdir(tmp_path)) == before


def test_a_failing_export_keeps_the_earlier_file(run, tmp_path) -> None:
    (tmp_path / "r.csv").write_text("old")

    with pytest.raises(RecordError, match="job `9` is not in this database"):
        run("readings", tmp_path / "r.csv", job="9")

    assert (tmp_path / "r.csv").read_text() == "old"


def test_the_audit_database_is_never_written_over(floor, tmp_path) -> None:
    database = tmp_path / "audit.csv"
    with floor.recorder() as recorder:
        floor.job(recorder)
    floor.path.rename(database)
    before = database.read_bytes()
    (tmp_path / "link.csv").symlink_to(database)

    for name in ("audit.csv", "link.csv"):
        chosen = argparse.Namespace(what="readings", to=str(tmp_path / name), job=None, wrench=None, db=str(database))
        with pytest.raises(RecordError, match="belongs to the audit database; name another file"):
            run_export(chosen)
    assert database.read_bytes() == before
