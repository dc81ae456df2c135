"""Pictures of the order in which the fasteners of a joint are gone round, for the report. Pure."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from analysis.load.places import Room, isolated, joint_name
from analysis.measure_pattern import layout_of
from analysis.plot_pattern import pattern_svg, pattern_text
from schemas.route import Joint, Route, Stage

DRAWN_AT_MOST = 24
"""With more fasteners the numbers of a small picture cannot be read; the order stands in words."""
_DRAWN_FROM = 3
_ANY = "any"
_ROOM = Room(1, 1, 40)


@dataclass(frozen=True, slots=True)
class OrderPicture:
    """A picture: `svg`, `height` in its own units; `words` say all that is in it, `caption` what has to stand beside it."""

    svg: str
    words: str
    caption: str
    ring: bool
    height: float


def pictures_of(joint: Joint) -> list[OrderPicture]:
    """One picture for each order that the stages of a joint have, in their order; none where any order will do."""
    if joint.order_word == _ANY or not _DRAWN_FROM <= joint.fasteners <= DRAWN_AT_MOST:
        return []
    orders = [list(stages) for _, stages in groupby(joint.stages, key=joint.order_of)]
    if len(orders) <= 1:
        return [_picture(joint, None if not orders else orders[0][0], "")]
    return [_picture(joint, stages[0], _numbers(stages)) for stages in orders]


def _numbers(stages: list[Stage]) -> str:
    return f"stage{'' if len(stages) == 1 else 's'} {', '.join(str(stage.number) for stage in stages)}"


def _picture(joint: Joint, stage: Stage | None, stages: str) -> OrderPicture:
    words = pattern_text(joint, stage)
    seen = f"seen from {isolated(joint.seen_from)}" if joint.seen_from is not None else ""
    side = f"{joint.side} side, facing forward" if joint.side is not None else ""
    caption = "; ".join(filter(None, (stages, words.partition(";")[0].partition(" of ")[0], seen, side)))
    svg = pattern_svg(joint, stage=stage, words=False).decode()
    return OrderPicture(svg, words, caption, joint.pattern == "circle", layout_of(joint).height)


def _names(names: list[str]) -> str:
    left = len(names) - 1
    return names[0] + (f" and {left} more" if left else "")


def order_pictures(route: Route) -> list[dict[str, Any]]:
    """The pictures of all joints for the PDF; joints that are gone round alike share one, so that a report stays short."""
    alike: dict[tuple[int, str, str], tuple[OrderPicture, list[str]]] = {}
    for joint in route.joints:
        for picture in pictures_of(joint):
            looks = (joint.fasteners, picture.words, picture.caption)
            alike.setdefault(looks, (picture, []))[1].append(joint_name(joint.name, _ROOM))
    return [
        {
            "name": _names(names),
            "caption": picture.caption,
            "ring": picture.ring,
            "height": picture.height,
            "svg": picture.svg,
            "alt": f"{'; '.join(names)}: {picture.words}",
        }
        for picture, names in alike.values()
    ]
