"""`witnessmark export`: readings, tightenings or checks as a table for a spreadsheet."""

import argparse
import sys
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from collector.cli.outfile import form_of, whole_file
from collector.cli.place import SystemClock, database_path, settings, tell, version
from schemas.clock import Clock, rfc3339
from schemas.errors import RecordError

if TYPE_CHECKING:
    from analysis.export import Scope

_STDOUT = "-"


def run_export(chosen: argparse.Namespace) -> int:
    """Write a table in the form that the file's ending names, or as CSV on standard output where the file is `-`."""
    scope = _scope(chosen)
    database = database_path(chosen.db)
    if chosen.to == _STDOUT:
        tell(_write(database, scope, sys.stdout.buffer, _STDOUT, SystemClock()))
    else:
        tell(f"{chosen.to}: {export_file(database, scope, Path(chosen.to), SystemClock())}")
    return 0


def _scope(chosen: argparse.Namespace) -> "Scope":
    from analysis.export import Scope, What

    what = What(chosen.what)
    if what is What.CHECKS and chosen.job is not None:
        raise RecordError("checks belong to no job; choose them by --wrench, or leave --job out for all")
    if what is not What.CHECKS and chosen.wrench is not None:
        raise RecordError(f"{what} are not chosen by their wrench; choose them by --job, or leave --wrench out for all")
    return Scope(what, chosen.wrench if what is What.CHECKS else chosen.job)


def export_file(database: Path, scope: "Scope", target: Path, clock: Clock) -> str:
    """Write the table to a file, and say in a few words what was written; an earlier file stays whole until this one is.

    RecordError where the ending names no form, or the file cannot be written or belongs to the audit database.
    """
    form = form_of(target, "csv", "xlsx")
    with whole_file(target, database) as part, part.open("wb") as file:
        return _write(database, scope, file, form, clock)


def _write(database: Path, scope: "Scope", target: BinaryIO, form: str, clock: Clock) -> str:
    from analysis.export import open_export, write_csv
    from analysis.load import open_audit

    with closing(open_audit(database)) as db, open_export(db, scope) as export:
        if form == "xlsx":
            # Loaded only here: openpyxl is slow to load.
            from analysis.export.xlsx_file import Made, write_xlsx

            count = write_xlsx(export, target, Made(rfc3339(clock.now()), version(), settings(database).workshop))
        else:
            # A byte-order mark helps a spreadsheet that opens a file; the next program of a pipe would stumble over it.
            count = write_csv(export, target, with_bom=form != _STDOUT)
    return f"{count} row{'' if count == 1 else 's'}, {scope}{' SIMULATED' if export.simulated else ''}"
