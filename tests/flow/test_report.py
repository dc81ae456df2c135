"""`job report` as its user calls it: both forms, their entries in the ledger, and a chart that fails."""

import hashlib
import json
import shutil
import sqlite3
import subprocess
from contextlib import closing

import pikepdf
import pytest

from analysis import plot_drift as plot
from analysis.verify import verify_file
from collector.cli.main import main
from collector.record.checks import add_checks
from schemas.bodies import CheckMade
from schemas.screen import Press, PressWord


@pytest.fixture(name="shop")
def _shop(floor, monkeypatch, tmp_path):
    """A job with some pulls of a wrench that has checks."""
    monkeypatch.chdir(tmp_path)
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        days = [f"2026-0{month}-0{day}" for month in (1, 2) for day in range(1, 8)]
        add_checks(recorder, [CheckMade("W-7", day, "100", "101", "N·m", "100", "101") for day in days], "p")
        floor.run(bench, floor.pull(50), Press(PressWord.QUIT))
    return floor


def issued(path):
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT form, sha256, length FROM report ORDER BY seq").fetchall()


def test_without_a_name_both_forms_are_written_and_each_has_its_entry(shop, tmp_path, capsys):
    assert main(["job", "report", "1", "--db", str(shop.path)]) == 1

    pdf, html = ((tmp_path / f"job-1.{form}").read_bytes() for form in ("pdf", "html"))
    assert issued(shop.path) == [
        ("pdf", hashlib.sha256(pdf).hexdigest(), len(pdf)), ("html", hashlib.sha256(html).hexdigest(), len(html)),
    ]  # fmt: skip
    assert capsys.readouterr().err.count("NOT complete; page one says why") == 2
    assert verify_file(shop.path).findings == []


def test_the_pdf_has_a_chart_of_the_wrench_and_the_record_beside_it(shop, tmp_path):
    main(["job", "report", "1", "--db", str(shop.path), "--to", "r.pdf"])

    with pikepdf.open(tmp_path / "r.pdf") as pdf:
        (attached,) = pdf.attachments.values()
        record = json.loads(attached.get_file().read_bytes())
    assert record["job"] == "1"
    assert b"no drift can be told from 14 checks" in _texts(tmp_path / "r.pdf")


def _texts(path) -> bytes:
    """The alternative texts of all figures."""
    with pikepdf.open(path) as pdf:
        found = [bytes(str(one.get("/Alt", "")), "utf-8") for one in pdf.objects if isinstance(one, pikepdf.Dictionary)]
    return b"\n".join(found)


def _words(path) -> str:
    text = subprocess.run(["pdftotext", "-enc", "UTF-8", path, "-"], capture_output=True, check=True).stdout.decode()
    return " ".join(text.split())


def test_a_chart_that_cannot_be_drawn_keeps_no_report_from_its_owner(shop, tmp_path, monkeypatch, capsys):
    def fails(*_, **__):
        raise ZeroDivisionError("a drawing went wrong")

    monkeypatch.setattr(plot, "plot_drift", fails)

    assert main(["job", "report", "1", "--db", str(shop.path), "--to", "r.pdf"]) == 1
    assert "the chart of wrench W-7 could not be drawn and is left out" in capsys.readouterr().err
    assert "a drawing went wrong" in (tmp_path / "witnessmark.log").read_text(encoding="utf-8")
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF-")
    if shutil.which("pdftotext"):
        assert "The chart of wrench W-7 could not be drawn." in _words(tmp_path / "r.pdf")


def test_another_ending_is_one_clear_line_and_issues_nothing(shop, capsys):
    assert main(["job", "report", "1", "--db", str(shop.path), "--to", "r.docx"]) == 2

    assert capsys.readouterr().err == "witnessmark: r.docx: give the file the ending .pdf or .html, which says what is written\n"
    assert issued(shop.path) == []


def test_the_report_draws_the_check_torque_that_presses_most_and_names_the_others(floor, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        checks = [
            CheckMade("W-7", f"2025-0{month}-0{day}", torque, shown, "N·m", torque, shown)
            for month in range(1, 8)
            for day in range(1, 5)
            for torque, shown in (("50", "50.1"), ("150", f"{150 + 0.5 * month + 0.05 * day:.2f}"))
        ]
        add_checks(recorder, checks, "p")
        floor.run(bench, floor.pull(50), Press(PressWord.QUIT))

    main(["job", "report", "1", "--db", str(floor.path), "--to", "r.pdf"])

    drawn = _texts(tmp_path / "r.pdf").decode()
    assert "at 150 N·m" in drawn
    assert "28 checks, " in drawn
    assert "at 50 N·m" not in drawn
    if shutil.which("pdftotext"):
        assert "W-7 shows +0.2 % at 50 N·m: no drift can be told from 28 checks" in _words(tmp_path / "r.pdf")


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        pytest.param("UPDATE job SET complete = 1, missed = 0", "the derived table `job`", id="complete"),
        pytest.param("UPDATE fastener SET proof = 'proven', why = ''", "the derived table `fastener`", id="proven"),
        pytest.param("UPDATE reading SET torque = '99'", "the derived table `reading`", id="torque"),
        pytest.param("DELETE FROM reading", "the derived table `reading`", id="reading-gone"),
        pytest.param("UPDATE wrench SET due_on = '2099-01-01'", "the derived table `wrench`", id="calibration"),
        pytest.param("UPDATE plan SET title = 'Another'", "the derived table `plan`", id="plan"),
        pytest.param("UPDATE private SET value = 'WX 99' WHERE field = 'item'", "the private value `item`", id="item"),
        pytest.param("UPDATE private SET value = 'Nobody' WHERE field = 'name'", "the private value `name`", id="name"),
    ],
)
def test_no_report_goes_out_on_altered_tables(shop, tmp_path, capsys, statement, said):
    with closing(sqlite3.connect(shop.path)) as db:
        db.execute(statement)
        db.commit()

    assert main(["job", "report", "1", "--db", str(shop.path), "--to", "r.html"]) == 2

    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert "run `witnessmark verify` on it, nothing was issued" in error
    assert not (tmp_path / "r.html").exists()
    assert issued(shop.path) == []


def test_an_erased_name_is_no_alteration(shop, tmp_path):
    with closing(sqlite3.connect(shop.path)) as db:
        db.execute("DELETE FROM private")
        db.commit()

    assert main(["job", "report", "1", "--db", str(shop.path), "--to", "r.html"]) == 1
    assert "(erased)" in (tmp_path / "r.html").read_text(encoding="utf-8")


def test_a_private_value_with_a_salt_that_is_none_is_an_alteration_and_no_crash(shop, capsys):
    with closing(sqlite3.connect(shop.path)) as db:
        db.execute("UPDATE private SET salt = 'no hex' WHERE field = 'item'")
        db.commit()

    assert main(["job", "report", "1", "--db", str(shop.path), "--to", "r.html"]) == 2
    assert "the private value `item`" in capsys.readouterr().err
    assert issued(shop.path) == []
