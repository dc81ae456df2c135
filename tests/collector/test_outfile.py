"""A file that is written whole or not at all: what lies beside it stays, what belongs to the database is left alone."""

import os
from pathlib import Path

import pytest

from collector.cli.outfile import form_of, whole_file
from schemas.errors import RecordError


def write(target: Path, text: str = "new", database: Path | None = None) -> None:
    with whole_file(target, database or target.parent / "audit.db") as part:
        part.write_text(text)


def state(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in folder.iterdir()}


def test_an_earlier_file_is_replaced_and_no_other_is_touched(tmp_path):
    mine = {"x.csv": "old", "x.csv.part": "mine", ".x.csv": "mine too"}
    for name, text in mine.items():
        (tmp_path / name).write_text(text)

    write(tmp_path / "x.csv")

    assert state(tmp_path) == mine | {"x.csv": "new"}


def test_an_earlier_file_stays_whole_until_the_end_and_after_an_error(tmp_path):
    (tmp_path / "x.csv").write_text("old")
    seen = []

    def stop_half_way() -> None:
        with whole_file(tmp_path / "x.csv", tmp_path / "audit.db") as part:
            part.write_text("half")
            seen.append((tmp_path / "x.csv").read_text())
            raise ValueError("half way")

    with pytest.raises(ValueError, match="half way"):
        stop_half_way()
    assert seen == ["old"]
    assert state(tmp_path) == {"x.csv": "old"}


# The longest name on the usual file systems has 255 bytes: POSIX NAME_MAX as Linux has it.
@pytest.mark.parametrize("length", [251, 255])
def test_the_longest_name_can_be_written(tmp_path, length):
    name = f"{'n' * (length - 4)}.csv"
    write(tmp_path / name)

    assert state(tmp_path) == {name: "new"}


def test_a_name_that_no_disk_takes_is_one_clear_line(tmp_path):
    with pytest.raises(RecordError, match=r"n\.csv: cannot be written \(File name too long\); name another file$"):
        write(tmp_path / f"{'n' * 300}.csv")


@pytest.mark.parametrize("mask", [0o022, 0o027, 0o077])
def test_a_new_file_has_the_rights_of_any_new_file(tmp_path, mask):
    before = os.umask(mask)
    try:
        write(tmp_path / "x.csv")
        (tmp_path / "usual").write_text("")
    finally:
        os.umask(before)

    assert (tmp_path / "x.csv").stat().st_mode == (tmp_path / "usual").stat().st_mode


@pytest.mark.parametrize("there", [True, False], ids=["its-file-is-there", "it-points-to-nothing-yet"])
def test_a_link_stays_a_link_and_its_file_is_written(tmp_path, there):
    (tmp_path / "far").mkdir()
    if there:
        (tmp_path / "far" / "real.csv").write_text("old")
    (tmp_path / "link.csv").symlink_to(Path("far") / "real.csv")

    write(tmp_path / "link.csv")

    assert (tmp_path / "link.csv").is_symlink()
    assert state(tmp_path / "far") == {"real.csv": "new"}


OWN = ("audit.csv", "audit.csv-wal", "audit.csv-shm", "audit.csv-journal", "audit.csv.lock", "audit.csv.holder",
       "witnessmark.log", "settings.toml")  # fmt: skip


@pytest.mark.parametrize("there", [True, False], ids=["there", "not-there-yet"])
@pytest.mark.parametrize("name", OWN)
def test_what_belongs_to_the_database_is_never_written_over(tmp_path, name, there):
    if there:
        (tmp_path / name).write_text("ours")
    before = state(tmp_path)
    with pytest.raises(RecordError, match=f"{name}: belongs to the audit database; name another file"):
        write(tmp_path / name, database=tmp_path / "audit.csv")
    assert state(tmp_path) == before


@pytest.mark.parametrize("name", ["link.csv", "hard.csv", "far/../audit.csv"])
def test_the_database_is_known_by_any_of_its_names(tmp_path, name):
    (tmp_path / "far").mkdir()
    database = tmp_path / "audit.csv"
    database.write_text("ours")
    (tmp_path / "link.csv").symlink_to(database)
    os.link(database, tmp_path / "hard.csv")
    with pytest.raises(RecordError, match="belongs to the audit database"):
        write(tmp_path / name, database=database)
    assert database.read_text() == "ours"


@pytest.mark.parametrize("name", ["real.csv", "real.csv-wal", "link.csv.lock"])
def test_a_database_behind_a_link_is_known_in_both_places(tmp_path, name):
    (tmp_path / "real.csv").write_text("ours")
    (tmp_path / "link.csv").symlink_to(tmp_path / "real.csv")
    with pytest.raises(RecordError, match="belongs to the audit database"):
        write(tmp_path / name, database=tmp_path / "link.csv")


@pytest.mark.parametrize("name", ["audit.csv", "audit.db.csv", "audit.db-wal.csv", "audit.db2.csv", "far/audit.db"])
def test_a_name_that_only_begins_alike_is_free(tmp_path, name):
    (tmp_path / "far").mkdir()
    write(tmp_path / name, database=tmp_path / "audit.db")

    assert (tmp_path / name).read_text() == "new"


def test_the_ending_is_one_of_the_forms(tmp_path):
    assert form_of(Path("a.b.CSV"), "csv", "xlsx") == "csv"
    with pytest.raises(RecordError, match=r"^a\.ods: give the file the ending \.csv or \.xlsx, which says what is written"):
        form_of(Path("a.ods"), "csv", "xlsx")
