"""`witnessmark plan sheet` and `plan picture` as their users type them: what is written, what is refused and how."""

import argparse
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree

import pytest

from collector.cli.sheet import run_picture, run_sheet
from schemas.errors import PlanError, RecordError, SourceError


@pytest.fixture(autouse=True)
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file that stands for the audit database; these commands need none."""
    path = tmp_path / "audit.db"
    monkeypatch.setenv("WITNESSMARK_DB", str(path))
    return path


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "axle.yaml"
    path.write_bytes(resources.files("sim.workshop").joinpath("rear-axle.yaml").read_bytes())
    return path


def sheet(plan: object, to: object, item: str = "", order: str = "") -> int:
    return run_sheet(argparse.Namespace(plan=str(plan), to=str(to), item=item, order=order))


def picture(plan: object, joint: str, to: object) -> int:
    return run_picture(argparse.Namespace(plan=str(plan), joint=joint, to=str(to)))


def test_a_sheet_is_written_and_said(plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "sheet.PDF"

    assert sheet(plan, target, "WX 17", "4711") == 0
    assert target.read_bytes().startswith(b"%PDF-")
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"{target}: work sheet of rear-axle, revision 3, 84 fasteners\n"


def test_a_picture_is_written_and_its_order_said_in_words(plan: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "hub.svg"

    assert picture(plan, "hub-left", target) == 0
    root = ElementTree.fromstring(target.read_bytes())
    assert root.findtext("{http://www.w3.org/2000/svg}title") == "Hub flange bolts, left: positions and order"
    assert capsys.readouterr().err.startswith(f"{target}: Hub flange bolts, left: order 1, 5, 3, 7, 2, 6, 4, 8 of 8; circle")


@pytest.mark.parametrize(("write", "ending"), [(sheet, ".pdf"), (lambda plan, to: picture(plan, "hub-left", to), ".svg")])
def test_another_ending_and_the_database_are_refused(plan: Path, tmp_path: Path, database: Path, write, ending: str) -> None:
    database.write_bytes(b"kept")

    with pytest.raises(RecordError, match=rf"x\.png: give the file the ending \{ending}"):
        write(plan, tmp_path / "x.png")
    link = tmp_path / f"link{ending}"
    link.symlink_to(database)
    with pytest.raises(RecordError, match="belongs to the audit database"):
        write(plan, link)
    assert database.read_bytes() == b"kept"
    assert not (tmp_path / "x.png").exists()


def test_a_joint_that_is_not_there_names_the_nearest(plan: Path, tmp_path: Path) -> None:
    with pytest.raises(PlanError, match=r"axle\.yaml: no joint has the id `hubleft`; nearest are `hub-left`, "):
        picture(plan, "hubleft", tmp_path / "x.svg")


def test_a_plan_that_is_missing_or_wrong_writes_nothing(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text("plan: x\n")

    with pytest.raises(SourceError, match="cannot be read"):
        sheet(tmp_path / "none.yaml", tmp_path / "x.pdf")
    with pytest.raises(PlanError, match=r"wrong\.yaml"):
        sheet(wrong, tmp_path / "x.pdf")
    assert not (tmp_path / "x.pdf").exists()
