"""From a wire format file (YAML 1.2) to a `WireFormat`; apart from it, since pydantic and ruamel are slow to load."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from schemas.errors import PlanError, PlanFault
from schemas.plan.text import Plain, Tree, read_tree, shown
from schemas.wire_format import DecimalMark, Encoding, FieldName, WireFormat

LONGEST_BYTES = 65536


def _null_is_none(written: object) -> object:
    return None if isinstance(written, Plain) and written in ("null", "~") else written


Text = Annotated[str, Field(min_length=1)]
FieldWord = Annotated[FieldName | None, BeforeValidator(_null_is_none)]


class _WireFormatFile(BaseModel):
    """A wire format as a person writes it; the fields are those of `WireFormat`."""

    model_config = ConfigDict(extra="forbid", strict=True)

    name: Text
    encoding: Encoding
    begins: str = ""
    delimiter: Text
    quoted: Literal["yes", "no"] = "no"
    fields: list[FieldWord]
    decimal_mark: DecimalMark = "."
    longest: int = Field(ge=1, le=LONGEST_BYTES, strict=False)  # the tree has only texts
    over_range: list[Text] = []
    no_reading: list[Text] = []
    status: dict[str, str] = {}


def load_wire_format(data: bytes, file: str) -> WireFormat:
    """Read a wire format file.

    Args:
        data: the file's bytes, UTF-8.
        file: its name, for messages.

    Raises:
        PlanError: it is not YAML, has an unknown, missing or wrong field, or describes lines that cannot be told
            apart. `faults` holds everything found, each with its line and field.
    """
    tree = read_tree(data, file)
    try:
        written = _WireFormatFile.model_validate(tree.root)
    except ValidationError as error:
        raise PlanError(file, tuple(_fault(tree, dict(found)) for found in error.errors(include_url=False))) from error
    contradictions = tuple(tree.fault((name,), what) for name, what in _contradictions(written))
    if contradictions:
        raise PlanError(file, contradictions)
    return WireFormat(
        name=written.name,
        encoding=written.encoding,
        delimiter=written.delimiter,
        fields=tuple(written.fields),
        longest=written.longest,
        begins=written.begins,
        quoted=written.quoted == "yes",
        decimal_mark=written.decimal_mark,
        over_range=tuple(written.over_range),
        no_reading=tuple(written.no_reading),
        status=dict(written.status),
    )


def _fault(tree: Tree, found: Mapping[str, Any]) -> PlanFault:
    message = str(found["msg"])
    what = {
        "extra_forbidden": f"is not known here; the fields are {', '.join(_WireFormatFile.model_fields)}",
        "missing": "is missing; write it",
        "string_type": "wants one text, not a list or fields",
    }.get(found["type"], f"{message[0].lower()}{message[1:]}")
    if isinstance(found["input"], str):
        what = f"`{shown(found['input'])}` is not right: {what}"
    return tree.fault(found["loc"], what)


def _contradictions(written: _WireFormatFile) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    names = [name for name in written.fields if name is not None]
    found += [("fields", f"names `{name}` twice") for name in dict.fromkeys(names) if names.count(name) > 1]
    found += [
        ("fields", f"does not name `{name}`; a torque cannot be judged without it")
        for name in ("torque", "unit")
        if name not in names
    ]
    if written.delimiter == written.decimal_mark:
        found.append(("delimiter", "is the decimal mark too; a torque would fall into two fields"))
    if written.quoted == "yes" and (len(written.delimiter) != 1 or written.delimiter == '"'):
        found.append(("delimiter", "must be one character, not the double quote, where fields may be quoted"))
    for name, text in (("begins", written.begins), ("delimiter", written.delimiter)):
        if "\r" in text or "\n" in text:
            found.append((name, "holds a line end; lines are cut there before they are read"))
        if not _encodes(text, written.encoding):
            found.append((name, f"cannot be written in {written.encoding}"))
    return found


def _encodes(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True
