"""The order of the positions within one round: cross, in line, any.

A plan that says nothing means `any`: no order is demanded, the positions are offered in turn.
"""


def cross_order(fasteners: int) -> tuple[int, ...]:
    """The positions 1 to n of a circle, crossing it at every second step; below 4 they come in turn.

    Even n: positions 2k-1 and 2k of the sequence lie opposite each other (they differ by n/2), and the pairs
    themselves follow the cross order of n/2; that gives the sequences drawn on gasket worksheets for 4, 8, 12, 16, 20
    and 24 bolts. Odd n: steps of (n-1)/2, nearly across, never to a neighbour; for 5 this is the star 1-3-5-2-4
    (from memory, no published text was read).
    """
    if fasteners < 4:
        return in_turn(fasteners)
    half = fasteners // 2
    if fasteners % 2:
        return tuple(step * half % fasteners + 1 for step in range(fasteners))
    return tuple(position for pair in cross_order(half) for position in (pair, pair + half))


def in_line_order(fasteners: int) -> tuple[int, ...]:
    """The positions 1 to n of a row, from the middle outwards by turns: 5 gives 3, 2, 4, 1, 5.

    With an even count the lower of the two middle ones is first: 4 gives 2, 3, 1, 4. A row worked from the middle
    outwards by turns is drawn in army work packages on torque limits (nine bolts; read), there beginning to the right.
    """
    middle = fasteners + 1
    return tuple(sorted(in_turn(fasteners), key=lambda position: (abs(2 * position - middle), position)))


def in_turn(fasteners: int) -> tuple[int, ...]:
    """The positions 1 to n as they are numbered."""
    return tuple(range(1, fasteners + 1))


def started_at(order: tuple[int, ...], start: int, fasteners: int, pattern: str) -> tuple[int, ...]:
    """The same round, begun at the position `start` in place of its first one.

    On a `circle` the cross order is turned as a whole, position p becoming (p + start - 2) mod n + 1: what lay opposite
    stays opposite, and an odd count still never goes to a neighbour. On a `row`, and in any other order, the sequence is
    kept and only entered at `start`; what stood before it comes at the end. An order that lacks `start` stays as it is:
    the rules of a plan have refused such a start by then.
    """
    if start not in order:
        return order
    if pattern == "circle" and order == cross_order(fasteners):
        return tuple((position + start - 2) % fasteners + 1 for position in order)
    at = order.index(start)
    return order[at:] + order[:at]


ORDERS = {"cross": cross_order, "in line": in_line_order, "any": in_turn}
"""The words that a plan may write, each with its order of n positions."""

LISTED = "listed"
"""The word of an order that the plan lists itself."""
