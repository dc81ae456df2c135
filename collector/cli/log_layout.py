"""What was declared of a log on the command line and in a layout file; and what is told of how it was read."""

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from collector.acquire.log_settled import Told
from collector.bench import Bench
from collector.cli.place import tell
from schemas.errors import SourceError, SourceReason, UnitError
from schemas.log_layout import LogLayout
from schemas.log_rows import UNPLACED
from schemas.log_time import zone_of
from schemas.units import find_unit

MOST_TOLD = 5
"""So many rows that gave no reading are told one by one."""


def layout_of(chosen: argparse.Namespace) -> LogLayout:
    """The layout of a log as declared; SourceError or PlanError where what was declared is none."""
    layout = _layout_file(chosen.layout) if chosen.layout else LogLayout()
    if chosen.delimiter:
        from schemas.log_layout_load import DELIMITER_WORDS

        layout = replace(layout, delimiter=DELIMITER_WORDS[chosen.delimiter])
    time = layout.time
    if chosen.dates:
        time = replace(time, order=chosen.dates.replace("-", " "))
    if chosen.zone:
        time = replace(time, zone=_zone(chosen.zone))
    return replace(
        layout,
        time=time,
        encoding=chosen.encoding or layout.encoding,
        decimal_mark=chosen.decimal or layout.decimal_mark,
        unit=_unit(chosen.unit) if chosen.unit else layout.unit,
    )


def tell_read(told: Sequence[Told]) -> None:
    """Say how a log was read, where that is not as in any plain log."""
    if not all(one.is_usual for one in told):
        for one in told:
            tell(f"read with {one.what}")


def tell_rows(bench: Bench, file: str) -> None:
    """Say what of the log that was just read in gave no reading, and whose time is not used."""
    aside = [body for _, body in bench.job.not_read.values() if body.log == bench.log]
    for body in aside[:MOST_TOLD]:
        tell(f"{file}, line {body.line}, {body.fate}: {body.reason}")
    if len(aside) > MOST_TOLD:
        tell(f"{file}: {len(aside) - MOST_TOLD} more rows gave no reading; --json tells all")
    readings = [pull.reading for pull in bench.job.pulls.values() if pull.reading.log == bench.log]
    untimed = [reading for reading in readings if reading.pulled_at == UNPLACED]
    if untimed:
        first = untimed[0]
        told = f"{len(untimed)} of {len(readings)} readings have a time that is not used, first in line {first.line}"
        tell(f"{file}: {told}: {'; '.join(first.notes or ())}")
    if bench.wire.log is not None and (changes := bench.wire.log.remarks):
        tell(f"{file}, line {min(changes)}: {changes[min(changes)]}" + f", and in {len(changes) - 1} more" * (len(changes) > 1))


def _layout_file(named: str) -> LogLayout:
    from schemas.log_layout_load import load_layout

    try:
        data = Path(named).read_bytes()
    except OSError as error:
        what = f"{named}: cannot be read ({error.strerror}); name a layout file"
        raise SourceError(what, SourceReason.MISSING) from error
    return load_layout(data, Path(named).name)


def _zone(text: str) -> str:
    try:
        zone_of(text)
    except ValueError as error:
        raise SourceError(f"--zone {text}: {error}", SourceReason.NOT_READABLE) from error
    return text


def _unit(text: str) -> str:
    try:
        return find_unit(text)[0].symbol
    except UnitError as error:
        raise SourceError(f"--unit {text}: {error}", SourceReason.NOT_READABLE) from error
