"""The order of positions in a round keeps the invariants of published bolt circle sequences."""

from itertools import pairwise

import pytest

from schemas.plan.order import ORDERS, cross_order, in_line_order, in_turn, started_at

# Sketches on a gasket maker's bolt-tightening worksheet (read as excerpt, 4 to 24 bolts); 5 and 6 are from memory.
PUBLISHED = {
    4: (1, 3, 2, 4),
    5: (1, 3, 5, 2, 4),
    6: (1, 4, 2, 5, 3, 6),
    8: (1, 5, 3, 7, 2, 6, 4, 8),
    12: (1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12),
    16: (1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16),
    20: (1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19),
    24: (1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24),
}


@pytest.mark.parametrize("fasteners", PUBLISHED)
def test_cross_order_is_the_published_sequence(fasteners: int) -> None:
    assert cross_order(fasteners) == PUBLISHED[fasteners]


@pytest.mark.parametrize("fasteners", range(4, 65, 2))
def test_cross_order_of_an_even_count_takes_opposite_pairs(fasteners: int) -> None:
    order = cross_order(fasteners)

    assert all(abs(order[k] - order[k + 1]) == fasteners // 2 for k in range(0, fasteners, 2))


# MIL-HDBK-60, figure 4 (read): the second pair lies at a right angle to the first.
@pytest.mark.parametrize("fasteners", range(4, 65, 4))
def test_cross_order_takes_the_second_pair_at_a_right_angle(fasteners: int) -> None:
    assert (cross_order(fasteners)[2] - 1) * 4 == fasteners


@pytest.mark.parametrize("fasteners", range(5, 64, 2))
def test_cross_order_of_an_odd_count_never_goes_to_a_neighbour(fasteners: int) -> None:
    order = cross_order(fasteners)

    steps = [abs(order[k] - order[k - 1]) for k in range(1, fasteners)]
    assert all(1 < step < fasteners - 1 for step in steps)


@pytest.mark.parametrize("fasteners", [1, 2, 3])
def test_cross_order_of_few_comes_in_turn(fasteners: int) -> None:
    assert cross_order(fasteners) == in_turn(fasteners)


@pytest.mark.parametrize("word", ORDERS)
@pytest.mark.parametrize("fasteners", [*range(1, 40), 999])
def test_every_order_has_each_position_once(word: str, fasteners: int) -> None:
    assert sorted(ORDERS[word](fasteners)) == list(range(1, fasteners + 1))


@pytest.mark.parametrize(
    ("fasteners", "order"),
    [
        pytest.param(1, (1,), id="one"),
        pytest.param(2, (1, 2), id="two"),
        pytest.param(4, (2, 3, 1, 4), id="even"),
        pytest.param(5, (3, 2, 4, 1, 5), id="odd"),
        # The straight row of army work packages on torque limits (read), seen from its other end.
        pytest.param(9, (5, 4, 6, 3, 7, 2, 8, 1, 9), id="army-row-of-nine"),
    ],
)
def test_in_line_order_goes_from_the_middle_outwards(fasteners: int, order: tuple[int, ...]) -> None:
    assert in_line_order(fasteners) == order


STARTS = [(fasteners, start) for fasteners in range(1, 61) for start in range(1, fasteners + 1)]


def turned(fasteners: int, start: int) -> tuple[int, ...]:
    return started_at(cross_order(fasteners), start, fasteners, "circle")


def apart(one: int, other: int, fasteners: int) -> int:
    """How many places lie between two positions of a circle, the shorter way round."""
    return min((one - other) % fasteners, (other - one) % fasteners)


@pytest.mark.parametrize("word", ORDERS)
@pytest.mark.parametrize("pattern", ["circle", "row"])
def test_a_round_started_anywhere_begins_there_and_has_each_position_once(word: str, pattern: str) -> None:
    for fasteners, start in STARTS:
        order = started_at(ORDERS[word](fasteners), start, fasteners, pattern)

        assert order[0] == start, (fasteners, start)
        assert sorted(order) == list(range(1, fasteners + 1)), (fasteners, start)


# The invariant of the sequences drawn on a gasket maker's bolt-tightening worksheet (read as excerpt, 4 to 24 bolts).
def test_a_turned_cross_of_an_even_count_still_takes_opposite_pairs() -> None:
    for fasteners, start in STARTS:
        if fasteners >= 4 and fasteners % 2 == 0:
            order = turned(fasteners, start)

            pairs = zip(order[::2], order[1::2], strict=True)
            assert all(apart(one, other, fasteners) == fasteners // 2 for one, other in pairs), (fasteners, start)


# MIL-HDBK-60, figure 4 (read): where the count is a multiple of 4, the second pair lies at a right angle to the first.
def test_a_turned_cross_still_takes_the_second_pair_at_a_right_angle() -> None:
    for fasteners, start in STARTS:
        if fasteners % 4 == 0:
            order = turned(fasteners, start)

            assert apart(order[0], order[2], fasteners) * 4 == fasteners, (fasteners, start)


# The star of five, 1-3-5-2-4, from memory; that no neighbour follows is what makes any odd round one of that kind.
def test_a_turned_cross_of_an_odd_count_never_goes_to_a_neighbour() -> None:
    for fasteners, start in STARTS:
        if fasteners >= 5 and fasteners % 2:
            order = turned(fasteners, start)

            steps = pairwise(order)
            assert all(apart(one, other, fasteners) > 1 for one, other in steps), (fasteners, start)


# A turn keeps every distance, so the published sequences turned stay the published sequences; worked out by hand.
@pytest.mark.parametrize(
    ("order", "start", "pattern", "expected"),
    [
        pytest.param((1, 3, 2, 4), 2, "circle", (2, 4, 3, 1), id="four-in-a-circle"),
        pytest.param((1, 3, 5, 2, 4), 4, "circle", (4, 1, 3, 5, 2), id="star-of-five"),
        pytest.param((1, 5, 3, 7, 2, 6, 4, 8), 8, "circle", (8, 4, 2, 6, 1, 5, 3, 7), id="eight-in-a-circle"),
        pytest.param((1, 3, 2, 4), 2, "row", (2, 4, 1, 3), id="cross-in-a-row-is-entered"),
        pytest.param((3, 2, 4, 1, 5), 4, "row", (4, 1, 5, 3, 2), id="in-line-is-entered"),
        pytest.param((2, 1, 4, 3), 4, "circle", (4, 3, 2, 1), id="listed-is-entered"),
        pytest.param((1, 2, 3), 3, "circle", (3, 1, 2), id="below-four-in-turn"),
        pytest.param((1,), 1, "circle", (1,), id="one"),
        pytest.param((1, 3, 2, 4), 1, "circle", (1, 3, 2, 4), id="where-it-starts-anyway"),
        pytest.param((1, 3, 2, 4), 9, "circle", (1, 3, 2, 4), id="a-start-that-is-not-there"),
    ],
)
def test_a_round_starts_elsewhere(order: tuple[int, ...], start: int, pattern: str, expected: tuple[int, ...]) -> None:
    assert started_at(order, start, len(order), pattern) == expected
