"""A plan's bytes, whatever form it was written in: YAML as it stands, CSV and XLSX made into YAML."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from collector.acquire.plan_table import TABLE_ENDINGS, read_plan_table
from schemas.errors import PlanError, SourceError, SourceReason


@dataclass(frozen=True, slots=True)
class PlanText:
    """A plan as YAML, what to know of how it was made, and how an error of it is shown at its place in the file."""

    data: bytes
    notes: tuple[str, ...]
    placed: Callable[[PlanError], PlanError]


def plan_bytes(path: str, ignored: Sequence[str] = ()) -> PlanText:
    """The plan in a file; `ignored` are columns of a table to leave out, by their headers.

    Raises:
        SourceError: the file cannot be read.
        PlanError: a table whose cells or columns are not certain, at their places in it.
    """
    if not is_table(path):
        return PlanText(_read(path), (), lambda error: error)
    # Loaded only here: it loads the models of the plan.
    from collector.decode.plan_book import read_book
    from collector.decode.plan_yaml import write_plan

    try:
        draft, notes = read_book(read_plan_table(Path(path)), ignored)
    except PlanError as error:
        raise PlanError(path, error.faults) from error
    written = write_plan(draft)
    return PlanText(written.data, notes, written.placed)


def is_table(path: str) -> bool:
    """Whether a plan's file is a table by the ending of its name."""
    return path.lower().endswith(TABLE_ENDINGS)


def _read(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as error:
        raise SourceError(f"{path}: cannot be read ({error.strerror}); name a plan file", SourceReason.MISSING) from error
