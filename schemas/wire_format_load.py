"""From a wire format file (YAML 1.2) to a `WireFormat`; apart from it, since pydantic and ruamel are slow to load."""

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from schemas.errors import PlanError, PlanFault
from schemas.plan.text import Path, Tree, read_tree, shown
from schemas.wire_contradictions import contradictions
from schemas.wire_format import WireFormat
from schemas.wire_format_build import built
from schemas.wire_format_file import PARTS, BinaryFieldFile, WireFormatFile

_MISSING = "is missing; write it"


def load_wire_format(data: bytes, file: str) -> WireFormat:
    """Read a wire format file.

    Args:
        data: the file's bytes, UTF-8.
        file: its name, for messages.

    Raises:
        PlanError: it is not YAML, has an unknown, missing or wrong field, or describes records that cannot be told
            apart. `faults` holds everything found, each with its line and field.
    """
    tree = read_tree(data, file)
    faults = [tree.fault((name,), what) for name, what in _missing(tree)]
    try:
        written = WireFormatFile.model_validate(tree.root)
    except ValidationError as error:
        faults += [_fault(tree, dict(found)) for found in error.errors(include_url=False)]
        raise PlanError(file, tuple(faults)) from error
    faults = faults or [tree.fault(path, what) for path, what in contradictions(written)]
    if faults:
        raise PlanError(file, tuple(faults))
    return built(written)


def _missing(tree: Tree) -> Iterator[tuple[str, str]]:
    root = tree.root
    framing = root.get("framing")
    if "longest" not in root and not (isinstance(framing, dict) and "length" in framing):
        yield "longest", _MISSING
    if "binary" in root:
        return
    if "encoding" not in root:
        yield "encoding", _MISSING
    if "pattern" not in root:
        if "delimiter" not in root:
            yield "delimiter", f"{_MISSING}, or a `pattern` or `binary` layout in its place"
        if "fields" not in root:
            yield "fields", f"{_MISSING}, or a `pattern` or `binary` layout in its place"


def _fault(tree: Tree, found: Mapping[str, Any]) -> PlanFault:
    message = str(found["msg"]).removeprefix("Value error, ")
    what = {
        "extra_forbidden": f"is not known here; the fields are {', '.join(_known(found['loc']))}",
        "missing": _MISSING,
        "string_type": "wants one text, not a list or fields",
    }.get(found["type"], f"{message[0].lower()}{message[1:]}")
    if isinstance(found["input"], str):
        what = f"`{shown(found['input'])}` is not right: {what}"
    return tree.fault(found["loc"], what)


def _known(place: Path) -> Iterator[str]:
    """The fields that there are where an unknown one stands."""
    model = BinaryFieldFile if len(place) > 2 else PARTS.get(str(place[0]), WireFormatFile)
    yield from model.model_fields
