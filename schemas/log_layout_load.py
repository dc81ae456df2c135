"""From a layout file of a log (YAML 1.2) to a `LogLayout`; apart from it, since pydantic and ruamel are slow to load."""

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from schemas.errors import PlanError, PlanFault, UnitError
from schemas.log_layout import Delimiter, LogLayout
from schemas.log_rows import LogEncoding
from schemas.log_time import Counts, Order, TimeRule, instants, zone_of
from schemas.plan.text import read_tree, shown
from schemas.units import find_unit
from schemas.wire_format_file import FieldWord

DELIMITER_WORDS: dict[str, Delimiter] = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}


def _known_zone(written: object) -> object:
    if isinstance(written, str):
        zone_of(written)
    return written


def _known_unit(written: object) -> object:
    try:
        return find_unit(written)[0].symbol if isinstance(written, str) else written
    except UnitError as error:
        raise ValueError(str(error)) from error


def _moment(written: object) -> object:
    try:
        return datetime.fromisoformat(written) if isinstance(written, str) else written
    except ValueError as error:
        raise ValueError("wants a time such as 2026-03-02 08:00:00, with an offset or without") from error


Text = Annotated[str, Field(min_length=1)]
Moment = Annotated[datetime, BeforeValidator(_moment)]


_WANTED = {
    "list_type": "wants a list, such as [OL]",
    "dict_type": "wants fields, such as {name: value}",
    "model_type": "wants fields, such as {tool: 2026-03-02 08:00, ours: 2026-03-02 08:01}",
}


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class ClockFile(_Strict):
    """What the tool's clock showed at a moment, and what ours did."""

    tool: Moment
    ours: Moment


class LayoutFile(_Strict):
    """A layout as a person writes it; every field but the name may be left out."""

    layout: Text
    encoding: Literal["utf-8", LogEncoding] | None = None
    delimiter: Literal["comma", "semicolon", "tab", "bar"] | None = None
    decimal_mark: Literal[".", ","] | None = None
    unit: Annotated[Text | None, BeforeValidator(_known_unit)] = None
    dates: Order | None = None
    times_count: Counts | None = None
    zone: Annotated[Text | None, BeforeValidator(_known_zone)] = None
    clock: list[ClockFile] = []
    columns: dict[Text, FieldWord] = {}
    over_range: list[Text] | None = None
    no_reading: list[Text] | None = None
    status: dict[str, str] | None = None
    low_battery: list[Text] | None = None


def load_layout(data: bytes, file: str) -> LogLayout:
    """Read a layout file.

    Args:
        data: the file's bytes, UTF-8.
        file: its name, for messages.

    Raises:
        PlanError: it is not YAML, has an unknown, missing or wrong field, or a moment of its clock that has no certain place;
            each fault with its line and field.
    """
    tree = read_tree(data, file)
    try:
        written = LayoutFile.model_validate(tree.root)
    except ValidationError as error:
        faults = []
        for found in error.errors(include_url=False):
            what = str(found["msg"]).removeprefix("Value error, ")
            if found["type"] == "extra_forbidden":
                known = ClockFile if found["loc"][0] == "clock" else LayoutFile
                what = f"is not known here; the fields are {', '.join(known.model_fields)}"
            elif found["type"] == "missing":
                what = "is missing; write it"
            elif found["type"] in _WANTED:
                what = _WANTED[found["type"]]
            elif isinstance(found["input"], str):
                what = f"`{shown(found['input'])}` is not right: {what[0].lower()}{what[1:]}"
            faults.append(tree.fault(found["loc"], what))
        raise PlanError(file, tuple(faults)) from error
    return _built(written, file, tree.line(("clock",)))


def _built(written: LayoutFile, file: str, clock_line: int) -> LogLayout:
    moments = [(one.tool, one.ours) for one in written.clock]
    checks = tuple((_aware(tool, written, file, clock_line), _aware(ours, written, file, clock_line)) for tool, ours in moments)
    return LogLayout(
        source=f"declared in {file}",
        encoding=written.encoding,
        delimiter=DELIMITER_WORDS[written.delimiter] if written.delimiter else None,
        decimal_mark=written.decimal_mark,
        unit=written.unit,
        time=TimeRule(written.dates, written.times_count, written.zone, checks),
        columns=dict(written.columns),
        over_range=None if written.over_range is None else tuple(written.over_range),
        no_reading=None if written.no_reading is None else tuple(written.no_reading),
        status=written.status,
        low_battery=None if written.low_battery is None else tuple(written.low_battery),
    )


def _aware(moment: datetime, written: LayoutFile, file: str, line: int) -> datetime:
    if moment.tzinfo is not None:
        return moment
    found = instants(moment, zone_of(written.zone)) if written.zone else ()
    if len(found) != 1:
        why = "is no one moment in that zone" if written.zone else "has no offset, and no `zone` is declared"
        raise PlanError(file, (PlanFault(line, "clock", f"`{moment}` {why}; write it with its offset (+01:00)"),))
    return found[0]
