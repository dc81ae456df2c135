"""A picture of a joint's fasteners, their positions and the order of a round, as a small SVG of its own; and the same in words.

A circle has position 1 at the top and the others clockwise, a row runs from left to right; the picture of a right joint is
the mirror image of the left one's. What is done and what is next differ by shape, so that no colour is needed.
"""

import math
import unicodedata
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.etree import ElementTree
from xml.etree.ElementTree import Element, SubElement

from analysis.load.places import isolated
from analysis.measure_pattern import RADIUS, Layout, Place, layout_of, lines_of_row
from schemas.plan.order import in_turn
from schemas.route import Joint, Stage

DRAWN_AT_MOST = 60
"""With more fasteners than this the numbers cannot be read any more; a sentence stands in place of the picture."""

_ARROWS_AT_MOST = 12
_INK, _SOFT, _PAPER = "#1d1d1b", "#50504c", "#ffffff"
_TEXT, _TEXT_HEIGHT, _WORDS_WIDTH, _GAP = 11.0, 15.0, 400.0, 8.0
_NARROW = frozenset(" ,.;:'-()/0123456789")


def pattern_svg(
    joint: Joint, *, stage: Stage | None = None, done: Collection[int] = (), next_: int | None = None, words: bool = True
) -> bytes:
    """The positions of a joint and the turn of each in a round, as SVG in UTF-8: valid XML, no script, nothing from outside.

    Args:
        joint: up to 60 fasteners are drawn; for more the picture is a sentence.
        stage: whose order is drawn; None: the joint's.
        done: positions that are done already; `next_` the one that is next.
        words: whether the joint's name and the captions stand in the picture; title and description are always there.
    """
    order = _order(joint, stage)
    layout = layout_of(joint) if joint.fasteners <= DRAWN_AT_MOST else Layout({}, _WORDS_WIDTH, 0.0)
    head, below = _lines(joint, order, done, next_) if words or not layout.places else ([], [])
    width = max(layout.width, _WORDS_WIDTH) if head else layout.width
    set_lines = [(line, True) for text in head for line in _wrapped(text, width)]
    top = _TEXT_HEIGHT * len(set_lines) + (_GAP if set_lines else 0)
    under = [(line, False) for text in below for line in _wrapped(text, width)]
    root = _root(joint, (width, top + layout.height + _TEXT_HEIGHT * len(under) + (2 * _GAP if under else 0)))
    SubElement(root, "desc").text = _legal("; ".join((pattern_text(joint, stage), *_state_words(done, next_))))
    SubElement(root, "rect", {"width": "100%", "height": "100%", "fill": _PAPER})
    _draw_lines(root, set_lines, 0, width)
    drawn = SubElement(root, "g", {"transform": f"translate({_number((width - layout.width) / 2)} {_number(top)})"})
    _draw(drawn, layout, () if _is_any(joint, order) else order, _Marks(frozenset(done), next_, joint.pattern == "circle"))
    _draw_lines(root, under, top + layout.height, width)
    return bytes(ElementTree.tostring(root, encoding="utf-8"))


def pattern_text(joint: Joint, stage: Stage | None = None) -> str:
    """The same in words, for a terminal and for who cannot see the picture; every position is named, however many there are."""
    order = _order(joint, stage)
    if joint.fasteners == 1:
        return "1 fastener"
    if _is_any(joint, order) and joint.seen_from is None and joint.side is None:
        return f"any order of {joint.fasteners}"
    said = f"any order of {joint.fasteners}" if _is_any(joint, order) else f"order {_named(order)} of {joint.fasteners}"
    return "; ".join((said, f"{joint.pattern}, {_numbering(joint)}", *seen_words(joint)))


def _order(joint: Joint, stage: Stage | None) -> tuple[int, ...]:
    return joint.order if stage is None else joint.order_of(stage)


def _is_any(joint: Joint, order: tuple[int, ...]) -> bool:
    return joint.order_word == "any" and order == in_turn(joint.fasteners)


def _named(order: Sequence[int]) -> str:
    """Positions in their order; three and more that follow each other in turn as `1 to 6`."""
    runs: list[list[int]] = []
    for position in order:
        if runs and runs[-1][-1] == position - 1:
            runs[-1].append(position)
        else:
            runs.append([position])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)


def _numbering(joint: Joint) -> str:
    mirrored = joint.side == "right"
    if joint.pattern == "circle":
        return f"position 1 at the top, then {'counter-clockwise' if mirrored else 'clockwise'}"
    return f"positions from {'right to left' if mirrored else 'left to right'}"


def seen_words(joint: Joint) -> tuple[str, ...]:
    """From where the picture is seen, or that this is not stated; and on which side the joint is, where it is one of two."""
    seen = "from where the picture is seen is not stated"
    if joint.seen_from is not None:
        seen = f"picture seen from {isolated(joint.seen_from)}"
    return (seen,) if joint.side is None else (seen, f"{joint.side} side, seen facing forward of travel")


def _state_words(done: Collection[int], next_: int | None) -> tuple[str, ...]:
    said = (f"done: {_named(sorted(done))}" if done else "", "" if next_ is None else f"next: {next_}")
    return tuple(filter(None, said))


def _lines(joint: Joint, order: tuple[int, ...], done: Collection[int], next_: int | None) -> tuple[list[str], list[str]]:
    """What stands above the picture, and what below."""
    if joint.fasteners > DRAWN_AT_MOST:
        return [joint.name], [f"{joint.fasteners} fasteners in a {joint.pattern}, order {joint.order_word}: too many to draw."]
    turns = "Any order." if _is_any(joint, order) else f"In the ring: position. Beside it: its turn, order {joint.order_word}."
    rows = lines_of_row(joint.fasteners)
    parted = [f"One row, drawn in {rows} lines."] if joint.pattern != "circle" and rows > 1 else []
    state = [
        "Filled, with a stripe: done." if done else "",
        "" if next_ is None else f"Double ring, with a pointer: next, {next_}.",
    ]
    return [joint.name], [" ".join(filter(None, (turns, *parted, *state))), *(f"{_capital(one)}." for one in seen_words(joint))]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


@dataclass(frozen=True, slots=True)
class _Marks:
    done: frozenset[int]
    next: int | None
    arrows: bool


def _draw(group: Element, layout: Layout, order: Sequence[int], marks: _Marks) -> None:
    if marks.arrows and len(order) <= _ARROWS_AT_MOST:
        for one, other in pairwise(order):
            _arrow(group, layout.places[one], layout.places[other])
    turns = {position: turn for turn, position in enumerate(order, 1)}
    for position, at in layout.places.items():
        fastener = SubElement(group, "g", {"data-position": str(position)})
        _fastener(fastener, at, position, marks)
        if position in turns:
            beside = at.away(RADIUS + (14 if position == marks.next else 10))
            _say(fastener, f"{turns[position]}.", beside, {"font-size": "9.5", "fill": _SOFT})


def _fastener(group: Element, at: Place, position: int, marks: _Marks) -> None:
    done = position in marks.done
    middle = {"cx": _number(at.x), "cy": _number(at.y)}
    if position == marks.next:
        SubElement(group, "circle", {**middle, "r": "15", "fill": _PAPER, "stroke": _INK, "stroke-width": "2.4"})
        corners = (at.away(RADIUS + 23), at.away(RADIUS + 34, 6), at.away(RADIUS + 34, -6))
        SubElement(group, "polygon", {"points": _points(corners), "fill": _INK})
    filled = {"fill": _INK if done else _PAPER, "stroke": _INK, "stroke-width": "1.5"}
    SubElement(group, "circle", {**middle, "r": _number(RADIUS), **filled})
    if done:
        stripe = {"stroke": _INK, "stroke-width": "4"}
        SubElement(group, "line", {**_ends(at.away(RADIUS - 2, 3), at.away(RADIUS + 2, RADIUS + 1)), **stripe})
    _say(group, str(position), (at.x, at.y), {"font-weight": "bold", "fill": _PAPER if done else _INK})


def _arrow(group: Element, start: Place, end: Place) -> None:
    long = math.hypot(end.x - start.x, end.y - start.y)
    along = (end.x - start.x) / long, (end.y - start.y) / long
    gap = RADIUS + 2
    tip = end.x - along[0] * gap, end.y - along[1] * gap
    foot = tip[0] - along[0] * 8, tip[1] - along[1] * 8
    tail = start.x + along[0] * gap, start.y + along[1] * gap
    SubElement(group, "line", {**_ends(tail, foot), "stroke": _SOFT, "stroke-width": "1"})
    sides = ((foot[0] - along[1] * side, foot[1] + along[0] * side) for side in (3.2, -3.2))
    SubElement(group, "polygon", {"points": _points((tip, *sides)), "fill": _SOFT})


def _root(joint: Joint, size: tuple[float, float]) -> Element:
    width, height = map(_number, size)
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {width} {height}", "width": width, "height": height,
            "role": "img", "font-family": "DejaVu Sans, Arial, sans-serif", "font-size": _number(_TEXT),
        },
    )  # fmt: skip
    SubElement(root, "title").text = _legal(f"{joint.name}: positions and order")
    return root


def _draw_lines(root: Element, lines: Sequence[tuple[str, bool]], top: float, width: float) -> None:
    for at, (line, bold) in enumerate(lines, 1):
        weight = {"font-weight": "bold"} if bold else {}
        place = width / 2, top + at * _TEXT_HEIGHT
        _say(root, line, place, {"fill": _INK, "unicode-bidi": "plaintext", **weight})


def _say(parent: Element, text: str, at: tuple[float, float], more: dict[str, str]) -> None:
    place = {"x": _number(at[0]), "y": _number(at[1]), "dy": "0.36em", "text-anchor": "middle"}
    SubElement(parent, "text", {**place, **more}).text = _legal(text)


def _wrapped(text: str, width: float) -> Iterator[str]:
    """The text in lines that fit, parted at spaces, and within a word only where it alone is too long."""
    while text:
        room, fits = width / _TEXT - 1, 0
        while fits < len(text) and (room := room - _em(text[fits])) >= 0:
            fits += 1
        if fits < len(text) and (space := text.rfind(" ", 0, fits + 1)) > 0:
            fits = space
        yield text[:fits].rstrip()
        text = text[fits:].lstrip()


def _em(char: str) -> float:
    """At least as wide as the sign is in bold in common fonts without serifs, in units of the size of type."""
    narrow = char in _NARROW or (char.isascii() and char.islower() and char not in "mw") or unicodedata.combining(char)
    return 0.72 if narrow else 1.12


def _legal(text: str) -> str:
    """XML cannot hold control signs and halves of pairs; a plan that is read has none, so no meaning is lost."""
    return "".join(char if char.isprintable() or char in "\u2068\u2069" else "\ufffd" for char in text)


def _ends(start: tuple[float, float], end: tuple[float, float]) -> dict[str, str]:
    return dict(zip(("x1", "y1", "x2", "y2"), map(_number, (*start, *end)), strict=True))


def _points(corners: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in corners)


def _number(value: float) -> str:
    text = f"{value:.8f}".rstrip("0").rstrip(".")
    # Nothing is drawn at minus nought.
    return "0" if text == "-0" else text
