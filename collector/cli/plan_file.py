"""A plan's file on the disk: read to be changed, checked whole, written whole or not at all."""

from pathlib import Path

from collector.cli.outfile import whole_file
from collector.cli.place import database_path
from collector.cli.plan_source import is_table, plan_bytes
from schemas.errors import RecordError


def read_yaml(path: str) -> bytes:
    """The bytes of a plan that can be added to; RecordError for a table, which a spreadsheet writes."""
    if is_table(path):
        raise RecordError(f"{path}: is a table; write into it with the program that made it, or name a plan in YAML")
    return plan_bytes(path).data


def write_plan_file(path: str, data: bytes) -> None:
    """Write a plan; an earlier file stays whole until this one is. RecordError where it cannot be written."""
    with whole_file(Path(path), database_path(None)) as part:
        part.write_bytes(data)
