"""Puts entries into the text of a plan that somebody wrote, and leaves every other byte as it stands."""

import io

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.nodes import CollectionNode, MappingNode, Node, SequenceNode

from collector.decode.plan_yaml import Entry, entry_lines
from schemas.errors import PlanError, PlanFault
from schemas.plan.text import read_tree

_BOM = b"\xef\xbb\xbf"


def inserted(data: bytes, section: str, entries: tuple[Entry, ...], file: str) -> bytes:
    """The plan with these entries at the end of one of its lists: `joints`, `steps` or `accepted`.

    They take the indentation of the list and the line ends of the file. A list that is not there comes after everything else.

    Raises:
        PlanError: the list stands in brackets, where an entry has no line of its own; or the text is laid out so oddly that
            something else would change.
    """
    if not entries:
        return data
    text = data.removeprefix(_BOM).decode()
    root = _root(text, file)
    end = "\r\n" if "\r\n" in text else "\n"
    node = next((value for key, value in root.value if key.value == section), None)
    lines = [line for entry in entries for line, _ in entry_lines(entry)]
    if node is None:
        lines = [f"{section}:", *(f"  {line}" for line in lines)]
        node = root
    elif not isinstance(node, SequenceNode) or node.flow_style:
        what = f"`{section}` is no list with each entry on a line of its own behind a dash; " + (
            "write it so first" if node.value else "take the line out, since it is empty"
        )
        raise PlanError(file, (PlanFault(int(node.start_mark.line) + 1, section, what),))
    else:
        lines = [" " * int(node.start_mark.column) + line for line in lines]
    rows = text.split("\n")
    place = _last_line(node) + 1
    before, after = "\n".join(rows[:place]), "\n".join(rows[place:])
    before += end if place == len(rows) else "\n"
    changed = (_BOM if data.startswith(_BOM) else b"") + (before + "".join(f"{line}{end}" for line in lines) + after).encode()
    _look_at(data, changed, section, file)
    return changed


def _look_at(data: bytes, changed: bytes, section: str, file: str) -> None:
    """Stop where anything but the entries at the end of the list would be another than before."""
    what = f"nothing can be put behind `{section}` without changing something else; write it by hand"
    fault = PlanError(file, (PlanFault(0, "", what),))
    old = read_tree(data, file).root
    try:
        new = read_tree(changed, file).root
    except PlanError as error:
        raise fault from error
    before, now = old.pop(section, []), new.pop(section, [])
    if old != new or not isinstance(now, list) or now[: len(before)] != before:
        raise fault


def _root(text: str, file: str) -> MappingNode:
    try:
        root = YAML(typ="rt", pure=True).compose(io.StringIO(text))
    except YAMLError as error:
        raise PlanError(file, (PlanFault(0, "", f"this is no YAML ({error}); look at it with `plan check`"),)) from error
    if not isinstance(root, MappingNode) or root.flow_style:
        raise PlanError(file, (PlanFault(1, "", "its fields stand in braces; write each on a line of its own first"),))
    return root


def _last_line(node: Node) -> int:
    """The line, from 0, on which the last value in a node ends; where a block ends itself, comments below it count already."""
    if isinstance(node, CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return _last_line(last[1] if isinstance(last, tuple) else last)
    end = node.end_mark
    # A block text ends at the beginning of the line below it.
    return int(end.line) - int(end.column == 0 and end.line > node.start_mark.line)
