"""Which check torque each check of a wrench belongs to: references that lie close together, and the value that was meant."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from analysis.measure_lines import Floats, Indices

if TYPE_CHECKING:
    import pandas as pd

NEIGHBOUR = 1.05
"""References of one wrench that lie within 5 % of the next lower one can belong to one check torque. A hand comes to the torque
that it aims at within a few percent, and check torques are usually 20, 60 and 100 % of the range (common practice, no source)."""
CLEAR_GAP = 1.02
"""Where such a run spans more than 5 %, so wide a gap in it parts two check torques: the scatter of a hand leaves none."""
SPAN = 1.10
"""So far above its lowest a point ends in any case."""


@dataclass(frozen=True, slots=True)
class Points:
    """The check torques of many wrenches, by wrench and then by torque.

    `of_row` has the index of its point for each check; `wrench` and `nominal_nm` have one value a point.
    """

    of_row: Indices
    wrench: NDArray[np.object_]
    nominal_nm: Floats


@dataclass(frozen=True, slots=True)
class _ByPoint:
    """A value of each row, in an order in which the rows of a point stand together: where each starts, how many it has."""

    values: Floats
    starts: Indices
    counts: Indices


def nominals(checks: "pd.DataFrame") -> Floats:
    """The check torque of each row in N·m, in the order of the rows; see `check_points`."""
    points = check_points(checks)
    return points.nominal_nm[points.of_row]


def check_points(checks: "pd.DataFrame") -> Points:
    """Group checks by wrench and check torque; rows may come in any order.

    Sorted references of one wrench are one point as long as each lies within 5 % of the one before; a run that spans more than
    5 % is parted at each gap wider than 2 %, and ends 10 % above its lowest. The point's nominal is the value that at least half
    of its references have in common (a reference that is set), else the value that at least half of its shown values have in
    common (a wrench that is set), else the roundest value, of three significant digits at most, at the median reference and
    within the middle half of all. A single check that shows another point's nominal belongs to that. Points of one wrench with
    the same nominal are one: a set wrench whose error jumped is still checked at what it is set to.

    Args:
        checks: columns `wrench` str, `reference_nm` and `shown_nm` in N·m, finite and above 0.

    Returns:
        The points; without checks there are none.
    """
    if checks.empty:
        none = np.empty(0, np.intp)
        return Points(none, np.empty(0, object), np.empty(0))
    wrench, names = _wrenches(checks["wrench"].to_numpy(dtype=object))
    reference, shown = checks["reference_nm"].to_numpy(), checks["shown_nm"].to_numpy()
    order = _order(wrench, reference, len(names))
    by_wrench, values = wrench[order], reference[order]
    starts = _narrow(values, _starts((by_wrench[1:] != by_wrench[:-1]) | (values[1:] > values[:-1] * NEIGHBOUR)))
    counts = np.diff(starts, append=len(order))
    references, showns = _ByPoint(values, starts, counts), _ByPoint(shown[order], starts, counts)
    nominal_nm = _as_shown(by_wrench[starts], _nominal_nm(references, showns), showns)
    firsts, joined = _join(by_wrench[starts], nominal_nm)
    of_row = np.empty(len(order), np.intp)
    of_row[order] = np.repeat(joined, counts)
    return Points(of_row, names[by_wrench[starts[firsts]]], nominal_nm[firsts])


def _wrenches(row_names: NDArray[np.object_]) -> tuple[Indices, NDArray[np.object_]]:
    """The number of its wrench for each row, and the sorted names."""
    import pandas as pd

    # Rows mostly come by wrench, so only where the name changes is it looked up.
    heads = _starts(row_names[1:] != row_names[:-1])
    numbers, names = pd.factorize(row_names[heads], sort=True)
    small = numbers.astype(np.min_scalar_type(len(names)))
    return np.repeat(small, np.diff(heads, append=len(row_names))), names


def rows_by(group: Indices, groups: int) -> Indices:
    """Indices that sort rows by their group, 0 <= group < groups, and leave them in their order within it."""
    # As small integers they are sorted by counting, several times as quick as by comparing.
    return np.argsort(group.astype(np.min_scalar_type(groups), copy=False), kind="stable")


def _order(group: Indices, value: Floats, groups: int) -> Indices:
    """Indices that sort by group and then by value; several times as quick as numpy's lexsort."""
    order = np.argsort(value)
    return order[rows_by(group[order], groups)]


def _starts(changes: NDArray[np.bool_]) -> Indices:
    """Where runs start, given between which rows something changes; there is at least one row."""
    return np.concatenate(([0], np.flatnonzero(changes) + 1))


def _narrow(values: Floats, starts: Indices) -> Indices:
    """The starts with more of them in each run that spans too much; few do.

    Where one wrench's run ends and the next begins there is a start already, so that no gap reaches over it.
    """
    counts = np.diff(starts, append=len(values))
    is_wide = np.repeat(values[starts + counts - 1] > values[starts] * NEIGHBOUR, counts)[1:]
    starts = np.union1d(starts, np.flatnonzero(is_wide & (values[1:] > values[:-1] * CLEAR_GAP)) + 1)
    ends = np.append(starts[1:], len(values))
    more: list[int] = []
    for run in np.flatnonzero(values[ends - 1] >= values[starts] * SPAN):
        start, end = int(starts[run]), int(ends[run])
        while values[end - 1] >= values[start] * SPAN:
            start += int(np.searchsorted(values[start:end], values[start] * SPAN))
            more.append(start)
    return np.sort(np.append(starts, np.array(more, np.intp)))


def _as_shown(wrench: Indices, nominal_nm: Floats, shown: _ByPoint) -> Floats:
    """The nominals, where that of a lone check is what it shows if another point of its wrench has that."""
    several = shown.counts > 1
    known = set(zip(wrench[several].tolist(), nominal_nm[several].tolist(), strict=True))
    for lone in np.flatnonzero(~several):
        value = float(shown.values[shown.starts[lone]])
        if (int(wrench[lone]), value) in known:
            nominal_nm[lone] = value
    return nominal_nm


def _join(wrench: Indices, nominal_nm: Floats) -> tuple[Indices, Indices]:
    """Make one point of those with the same nominal, by wrench and nominal: one old index for each, and the new of each old."""
    order = np.lexsort((nominal_nm, wrench))
    sorted_wrench, sorted_nm = wrench[order], nominal_nm[order]
    starts = _starts((sorted_wrench[1:] != sorted_wrench[:-1]) | (sorted_nm[1:] != sorted_nm[:-1]))
    joined = np.empty(len(order), np.intp)
    joined[order] = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(order)))
    return order[starts], joined


def _nominal_nm(reference: _ByPoint, shown: _ByPoint) -> Floats:
    """The nominal of each point; `reference` is sorted within each."""
    nominal = _shared(reference)
    is_open = np.isnan(nominal)
    low, high = (reference.values[reference.starts + share * reference.counts // 4] for share in (1, 3))
    middles = zip(low[is_open].tolist(), _median(reference)[is_open].tolist(), high[is_open].tolist(), strict=True)
    nominal[is_open] = [_round_value(*middle) for middle in middles]
    is_set = is_open & _may_share(shown)
    if is_set.any():
        common = _shared(_sorted(shown, is_set))
        nominal[is_set] = np.where(np.isnan(common), nominal[is_set], common)
    return nominal


def _round_value(low: float, middle: float, high: float) -> float:
    """The middle to as few significant digits, at most three, as leave it within low to high: what a person would aim at."""
    for digits in (1, 2):
        value = float(f"{middle:.{digits}g}")
        if low <= value <= high:
            return value
    return float(f"{middle:.3g}")


def _may_share(rows: _ByPoint) -> NDArray[np.bool_]:
    """False where no value can be that of half of a point's n rows: it saves sorting them.

    Between n/2 or more equal rows at most n/4 gaps can be wider than 2, so that n/4 pairs or more of rows with a distance of
    1 or 2 are equal; one of them may go round from the last row to the first and is not counted here.
    """
    bounds, values = np.append(rows.starts, len(rows.values)), rows.values
    near = (np.flatnonzero(values[apart:] == values[:-apart]) for apart in (1, 2))
    alike = sum(np.diff(np.searchsorted(first, bounds)) for first in near)
    return np.asarray(alike >= rows.counts / 4 - 1)


def _sorted(rows: _ByPoint, points: NDArray[np.bool_]) -> _ByPoint:
    """Some of the points, the values sorted within each."""
    counts = rows.counts[points]
    values = rows.values[np.repeat(points, rows.counts)]
    point = np.repeat(np.arange(len(counts), dtype=np.min_scalar_type(len(counts))), counts)
    return _ByPoint(values[_order(point, values, len(counts))], np.cumsum(counts) - counts, counts)


def _shared(rows: _ByPoint) -> Floats:
    """For each point the value that two or more rows, and at least half of all, have in common; else NaN."""
    values, found = rows.values, np.full(len(rows.starts), np.nan)
    is_new = np.ones(len(values) + 1, np.bool_)
    is_new[1:-1] = values[1:] != values[:-1]
    is_new[rows.starts] = True
    edges = np.flatnonzero(is_new)
    # Such a run of equal values reaches over the middle of its point, or where the count is even over one of the two.
    for middle in (rows.starts + rows.counts // 2, rows.starts + (rows.counts - 1) // 2):
        run = np.searchsorted(edges, middle, side="right")
        alike = edges[run] - edges[run - 1]
        found = np.where((alike > 1) & (2 * alike >= rows.counts), values[middle], found)
    return found


def _median(rows: _ByPoint) -> Floats:
    upper, lower = rows.values[rows.starts + rows.counts // 2], rows.values[rows.starts + (rows.counts - 1) // 2]
    return np.asarray((upper + lower) / 2)
