"""Looks through the times of a log in the order of the wrenches' own numbers: which hour it was, and where a clock went back."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from collector.acquire.log_header import Header
from schemas.log_time import EARLIEST, TimeRule, instants, read_time, zone_of

MOST_ROWS = 50_000
"""So many rows are looked at; a memory of a wrench has far fewer, and a longer file is read without it."""
_MOST_DIGITS = 15
# A day, and the zone that is furthest ahead of UTC.
_FURTHEST_AHEAD = timedelta(days=1, hours=14)


class Timed(NamedTuple):
    """A row with a number and a time: its wrench, its number in the wrench's memory, its time as sent, its line."""

    wrench: str
    number: int
    time: str
    line: int


def timed_row(header: Header, cells: Sequence[str], line: int) -> Timed | None:
    """The row as it is looked at; None where it has no number or no time. The header has columns for both."""
    number, time = (cells[header.fields.index(name)] for name in ("sequence", "tool_time"))
    if not (time and number.isascii() and number.isdigit() and len(number) <= _MOST_DIGITS):
        return None
    return Timed(cells[header.fields.index("wrench")] if "wrench" in header.fields else "", int(number), time, line)


class ClockFound(NamedTuple):
    """By line: which of the two it is in the repeated hour, and why a clock is not believed."""

    folds: dict[int, int]
    doubts: dict[int, str]


class _Moment(NamedTuple):
    number: int
    line: int
    wall: datetime
    found: tuple[datetime, ...]


def look_at_clocks(rows: Iterator[Timed], rule: TimeRule, now: datetime) -> ClockFound:
    """What the order of the numbers says of the clocks; nothing of a wrench whose numbers repeat.

    A time before `EARLIEST`, or still to come at `now`, is of a clock that was not set: it says nothing of the others.
    """
    latest = (now.astimezone(UTC) + _FURTHEST_AHEAD).replace(tzinfo=None)
    by_wrench: dict[str, list[_Moment]] = {}
    zone = zone_of(rule.zone) if rule.zone else UTC
    for row in rows:
        wall = read_time(row.time, rule)
        if wall is not None and EARLIEST <= wall.replace(tzinfo=None) <= latest:
            found = (wall.astimezone(UTC),) if wall.tzinfo is not None else instants(wall, zone)
            by_wrench.setdefault(row.wrench, []).append(_Moment(row.number, row.line, wall, found))
    folds: dict[int, int] = {}
    doubts: dict[int, str] = {}
    for own in by_wrench.values():
        ordered = sorted(own, key=lambda one: one.number)
        if len({one.number for one in own}) == len(own):
            _fold(ordered, folds)
            if not _is_restarted(own, ordered, folds):
                _doubt(ordered, folds, doubts)
    return ClockFound(folds, doubts)


def _fold(ordered: Sequence[_Moment], folds: dict[int, int]) -> None:
    """In each run through a repeated hour the one step back in its middle is the change; with none or two nothing is certain."""
    run: list[_Moment] = []
    for one in (*ordered, None):
        if one is not None and len(one.found) == 2 and (not run or one.wall.date() == run[0].wall.date()):
            run.append(one)
            continue
        backs = [place for place in range(1, len(run)) if run[place].wall < run[place - 1].wall]
        if len(backs) == 1:
            folds.update({moment.line: int(place >= backs[0]) for place, moment in enumerate(run)})
        run = [one] if one is not None and len(one.found) == 2 else []


def _instant(one: _Moment, folds: dict[int, int]) -> datetime | None:
    if len(one.found) == 2:
        return one.found[folds[one.line]] if one.line in folds else None
    return one.found[0] if one.found else None


def _is_restarted(own: Sequence[_Moment], ordered: Sequence[_Moment], folds: dict[int, int]) -> bool:
    """Whether the numbers, not the clock, went back: in the file the times run one way, and the numbers do not."""
    numbers = [one.number for one in own]
    if numbers in (sorted(numbers), sorted(numbers, reverse=True)):
        return False
    in_file, by_number = ([at for one in rows if (at := _instant(one, folds))] for rows in (own, ordered))
    runs_one_way = in_file in (sorted(in_file), sorted(in_file, reverse=True))
    return runs_one_way and by_number != sorted(by_number)


def _doubt(ordered: Sequence[_Moment], folds: dict[int, int], doubts: dict[int, str]) -> None:
    """From a step back on, until the clock has passed where it stood, no time of it is certain."""
    latest: tuple[datetime, int, datetime] | None = None
    for one in ordered:
        at = _instant(one, folds)
        if at is None:
            continue
        if latest is None or at >= latest[0]:
            latest = (at, one.number, one.wall)
        else:
            told = f"clock set back: number {one.number} says {one.wall:%Y-%m-%d %H:%M:%S}, and number {latest[1]} before it"
            doubts[one.line] = f"{told} {latest[2]:%Y-%m-%d %H:%M:%S}; the order of the numbers holds, its time is not used"
