"""Where the fasteners of a joint lie in a picture of it: positions in a circle or a row, of a right joint mirrored. Pure."""

import math
from dataclasses import dataclass

from schemas.plan.order import in_turn
from schemas.route import Joint

RADIUS = 11.0
"""Of a fastener, in units of the picture, as all lengths here; on paper one is about a third of a millimetre."""

_SPACING, _LEAST_RING, _MARGIN = 27.0, 58.0, 50.0
_IN_A_LINE, _LINE_HEIGHT, _LAST_LINE = 15, 66.0, 8.0


@dataclass(frozen=True, slots=True)
class Place:
    """The middle of a fastener, and the unit vector that leads away from the pattern; y runs downwards."""

    x: float
    y: float
    away_x: float
    away_y: float

    def away(self, distance: float, aside: float = 0.0) -> tuple[float, float]:
        """The point so far outside the middle, and so far to the side."""
        return self.x + self.away_x * distance - self.away_y * aside, self.y + self.away_y * distance + self.away_x * aside


@dataclass(frozen=True, slots=True)
class Layout:
    """The place of each position, and the size of the picture that holds them."""

    places: dict[int, Place]
    width: float
    height: float


def layout_of(joint: Joint) -> Layout:
    """The places of a joint's fasteners.

    A circle has position 1 at the top and the others clockwise at equal angles; a row runs from left to right, a long one in
    several lines below each other. Where the joint is a right one, the whole is mirrored from left to right.
    """
    layout = _circle(joint.fasteners) if joint.pattern == "circle" else _row(joint.fasteners)
    if joint.side != "right":
        return layout
    mirrored = {n: Place(layout.width - at.x, at.y, -at.away_x, at.away_y) for n, at in layout.places.items()}
    return Layout(mirrored, layout.width, layout.height)


def lines_of_row(fasteners: int) -> int:
    """In how many lines a row of so many is drawn."""
    return math.ceil(fasteners / _IN_A_LINE)


def _circle(count: int) -> Layout:
    ring = max(_LEAST_RING, count * _SPACING / math.tau) if count > 1 else 0.0
    middle = ring + _MARGIN
    places = {}
    for position in in_turn(count):
        angle = math.tau * (position - 1) / count - math.pi / 2
        away = math.cos(angle), math.sin(angle)
        places[position] = Place(middle + ring * away[0], middle + ring * away[1], *away)
    return Layout(places, 2 * middle, 2 * middle)


def _row(count: int) -> Layout:
    lines = lines_of_row(count)
    across = math.ceil(count / lines)
    places = {
        n: Place(_MARGIN / 2 + (0.5 + (n - 1) % across) * _SPACING, _LINE_HEIGHT * (0.75 + (n - 1) // across), 0.0, -1.0)
        for n in in_turn(count)
    }
    return Layout(places, across * _SPACING + _MARGIN, lines * _LINE_HEIGHT + _LAST_LINE)
