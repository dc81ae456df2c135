"""YAML 1.2 text to a plain tree whose leaves are the file's own texts, with the line of every place.

Nothing is resolved: `012` stays `012` and `95.20` stays `95.20`. What YAML offers beyond fields, lists and texts
(anchors, tags, merge keys, several documents) is refused, because a reader of the plan would not see what it says.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)
from ruamel.yaml.reader import ReaderError

from schemas.errors import PlanError, PlanFault

MAX_BYTES = 2_000_000
MAX_DEPTH = 20

Path: TypeAlias = tuple[str | int, ...]
Node: TypeAlias = "dict[str, Node] | list[Node] | str"


class Plain(str):
    """A leaf that stood without quotes; any other str leaf was quoted or a block."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Tree:
    """A plan's text as fields, lists and leaves; `lines` has the line (from 1) of each key and list entry."""

    root: dict[str, Node]
    lines: Mapping[Path, int]

    def line(self, path: Path) -> int:
        """The line of a place, or of the nearest place around it that stands in the file."""
        while path not in self.lines:
            path = path[:-1]
        return self.lines[path]

    def fault(self, path: Path, what: str, name: str = "field") -> PlanFault:
        """A fault at a place, named by the joint's id where it has one; a single value is no list with one entry."""
        if path not in self.lines and isinstance(path[-1], int):
            path = path[:-1]
        return PlanFault(self.line(path), field_name(path, self.root), what, name)


def shown(text: str) -> str:
    """A text from the file, fit for one line of a message: control characters escaped, cut after 60 characters."""
    safe = "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in text)
    return safe if len(safe) <= 60 else f"{safe[:57]}..."


def field_name(path: Path, root: Node = "") -> str:
    """A place as people read it: `joints.wheel-nuts.torque`, `steps[4].after`; places in a list count from 1."""
    name = ""
    node: object = root
    for part in path:
        node = _child(node, part)
        if isinstance(part, str):
            name += f".{shown(part)}"
        elif name == ".joints" and isinstance(node, dict) and isinstance(node.get("id"), str) and node["id"]:
            name += f".{shown(node['id'])}"
        else:
            name += f"[{part + 1}]"
    return name.removeprefix(".")


def _child(node: object, part: str | int) -> object:
    if isinstance(node, dict):
        return node.get(part)
    return node[part] if isinstance(node, list) and isinstance(part, int) and part < len(node) else None


def read_tree(data: bytes, file: str) -> Tree:
    """Read a plan's bytes into a tree; `file` is the name shown in messages.

    Raises PlanError with every doubt about what the text says: not UTF-8, no YAML, too large, nested too deep,
    a field given twice, an anchor, alias, tag, merge key, directive or second document, no fields at all.
    """
    text = _decoded(data, file)
    reader = _Reader(text, file)
    try:
        root = reader.document()
    # The other two come from an escape that is no character, such as \UFFFFFFFF.
    except (YAMLError, ValueError, OverflowError) as error:
        raise PlanError(file, (*reader.faults, _syntax_fault(error, text))) from error
    if reader.faults or not isinstance(root, dict):
        raise PlanError(file, tuple(reader.faults) or (PlanFault(1, "", _NO_FIELDS),))
    return Tree(root, reader.lines)


_NO_FIELDS = "a plan is made of fields, such as `plan: box-trailer-axle`; this file has none at its top"


def _decoded(data: bytes, file: str) -> str:
    if len(data) > MAX_BYTES:
        what = f"the file has {len(data)} bytes, more than the {MAX_BYTES} that a plan may have; split the plan"
        raise PlanError(file, (PlanFault(1, "", what),))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        what = "the text is not UTF-8; save the file as UTF-8"
        raise PlanError(file, (PlanFault(data[: error.start].count(b"\n") + 1, "", what),)) from error
    if not text.strip():
        raise PlanError(file, (PlanFault(1, "", "the file is empty; write a plan into it"),))
    return text


def _syntax_fault(error: Exception, text: str) -> PlanFault:
    if isinstance(error, ReaderError):
        line = text.count("\n", 0, error.position) + 1
        return PlanFault(line, "", f"the control character U+{error.character:04X} stands in the text; take it out")
    mark = getattr(error, "problem_mark", None)
    problem = str(getattr(error, "problem", None) or error)
    line = mark.line + 1 if mark is not None else 1
    if "\\t" in problem:
        return PlanFault(line, "", "a tab stands where YAML takes spaces only; put spaces in its place")
    what = f"this is no YAML ({shown(problem)}); look at the indentation, colons, brackets and quotes up to this line"
    return PlanFault(line, "", what)


class _Reader:
    """Builds the tree from the parser's events, so that the depth is bounded before anything is built."""

    def __init__(self, text: str, file: str) -> None:
        self.lines: dict[Path, int] = {}
        self.faults: list[PlanFault] = []
        self._file = file
        self._events: Iterator[Event] = YAML(typ="safe", pure=True).parse(text)

    def document(self) -> Node:
        next(self._events)
        start = next(self._events)
        if not isinstance(start, DocumentStartEvent):
            return ""
        if start.tags or start.version not in (None, (1, 2)):
            self._refuse(start, (), "a plan is YAML 1.2 without other directives; take out the lines that begin with %")
        first = next(self._events)
        self.lines[()] = _line(first)
        root = self._node(first, ())
        for event in self._events:
            if isinstance(event, DocumentStartEvent):
                self._refuse(event, (), "a second document begins here; keep one plan a file")
                break
        return root

    def _node(self, event: Event, path: Path) -> Node:
        if isinstance(event, AliasEvent):
            self._refuse(event, path, f"`*{shown(event.anchor)}` is a YAML alias; write the value itself")
            return ""
        # The parser gives no common type to the events that may carry these two.
        anchor, tag = getattr(event, "anchor", None), getattr(event, "ctag", None)
        if anchor is not None:
            self._refuse(event, path, f"`&{shown(anchor)}` is a YAML anchor; take it out, or quote the text")
        if tag is not None:
            self._refuse(event, path, f"`{shown(str(tag))}` is a YAML tag; take it out, or quote the text")
        if isinstance(event, ScalarEvent):
            return str(event.value) if event.style else Plain(event.value)
        if len(path) >= MAX_DEPTH:
            self._refuse(event, path[:2], f"fields are nested more than {MAX_DEPTH} deep; a plan needs no more than 4")
            raise PlanError(self._file, tuple(self.faults))
        return self._list(path) if isinstance(event, SequenceStartEvent) else self._mapping(path)

    def _list(self, path: Path) -> Node:
        entries: list[Node] = []
        while not isinstance(event := next(self._events), SequenceEndEvent):
            entry = (*path, len(entries))
            self.lines[entry] = _line(event)
            entries.append(self._node(event, entry))
        return entries

    def _mapping(self, path: Path) -> Node:
        fields: dict[str, Node] = {}
        while not isinstance(event := next(self._events), MappingEndEvent):
            key = self._key(event, path)
            place = (*path, key)
            line = _line(event)
            if key in fields:
                first = self.lines[place]
                what = f"`{shown(key)}` stands twice, on lines {first} and {line}; keep one, or give one another name"
                self.faults.append(PlanFault(line, field_name(place), what))
                self._skip(next(self._events))
                continue
            self.lines[place] = line
            fields[key] = self._node(next(self._events), place)
        return fields

    def _key(self, event: Event, path: Path) -> str:
        key = self._node(event, path)
        if not isinstance(key, str):
            self._refuse(event, path, "the name of a field must be one text, not a list or fields")
            return ""
        if key == "<<" and isinstance(key, Plain):
            self._refuse(event, path, "`<<` is a YAML merge key; write the fields themselves")
        return key

    def _skip(self, event: Event) -> None:
        """Read past the value of a field that is given twice; the lines of the first one stay."""
        depth = 0
        while True:
            if isinstance(event, MappingStartEvent | SequenceStartEvent):
                depth += 1
            elif isinstance(event, MappingEndEvent | SequenceEndEvent):
                depth -= 1
            if depth == 0:
                return
            event = next(self._events)

    def _refuse(self, event: Event, path: Path, what: str) -> None:
        self.faults.append(PlanFault(_line(event), field_name(path), what))


def _line(event: Event) -> int:
    return int(event.start_mark.line) + 1
