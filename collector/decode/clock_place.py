"""Places the time of a tool's own clock by what is certain, and says what is not. Pure."""

from datetime import UTC, datetime, timedelta

from collector.decode.clock_drift import clock_is_usable, corrected
from collector.decode.refuse import shown
from schemas.log_rows import UNPLACED, LogRows
from schemas.log_time import EARLIEST, Shape, instants, read_time, shape_of, zone_of

_AHEAD = timedelta(days=1)
# A wall clock of which nobody knows the zone can be so far ahead of UTC and be right.
_FURTHEST_ZONE = timedelta(hours=14)

Placed = tuple[str | None, tuple[str, ...]]


def place_time(text: str | None, log: LogRows, line: int, received_at: datetime) -> Placed:
    """Where a tool's time belongs, as `Reading.pulled_at` has it, and what is to be seen with it.

    Args:
        text: the time as sent, None where there is none.
        log: what is known of the file's clock.
        line: the row's line in the file.
        received_at: our own time, after which no pull can have been made.
    """
    if not text:
        return None, ()
    read = read_time(text, log.time)
    if read is None:
        return _not_read(text)
    if line in log.doubts:
        return UNPLACED, (log.doubts[line],)
    if read.replace(tzinfo=None) < EARLIEST:
        told = f"clock not set: the tool says `{shown(text)}`, before {EARLIEST.year}; its time is not used, set the tool's clock"
        return UNPLACED, (told,)
    if read.tzinfo is None and log.time.zone is None:
        is_ahead = read.replace(tzinfo=UTC) > received_at + _AHEAD + _FURTHEST_ZONE
        return _ahead(text) if is_ahead else (None if shape_of(text) is Shape.ISO else read.isoformat(), ())
    return _in_zone(text, read, log, line, received_at)


def _in_zone(text: str, read: datetime, log: LogRows, line: int, received_at: datetime) -> Placed:
    zone = log.time.zone or "+00:00"
    found = (read,) if read.tzinfo is not None else instants(read, zone_of(zone))
    if not found:
        return UNPLACED, (f"time `{shown(text)}` is in the missing hour of {zone}: tool clock not switched? It is not used",)
    if len(found) == 2 and line not in log.folds:
        either = " or ".join(f"{one:%Y-%m-%dT%H:%M:%SZ}" for one in found)
        return UNPLACED, (f"ambiguous hour: `{shown(text)}` comes twice in {zone}, it is {either}; its time is not used",)
    instant = found[log.folds.get(line, 0) if len(found) == 2 else 0]
    if instant > received_at + _AHEAD:
        return _ahead(text)
    told: tuple[str, ...] = ()
    if log.time.checks and not clock_is_usable(log.time.checks):
        return UNPLACED, ("clock unusable: it does not run evenly between the moments it was compared; its time is not used",)
    if log.time.checks:
        moved, remark = corrected(instant, log.time.checks)
        instant, told = moved, (remark,)
    stands_for_itself = read.tzinfo is not None and shape_of(text) is Shape.ISO and not told
    # In the zone's own offset, since a calibration runs out on a day of the shop's calendar.
    return None if stands_for_itself else instant.astimezone(zone_of(zone)).isoformat(), told


def _not_read(text: str) -> Placed:
    shape = shape_of(text)
    if shape is Shape.OTHER:
        # A time of day alone, or words: kept as sent, and nothing is read into it.
        return None, ()
    return UNPLACED, (f"time `{shown(text)}` is none in the form that this file's times have ({shape}); it is not used",)


def _ahead(text: str) -> Placed:
    told = f"clock not set: the tool says `{shown(text)}`, which is still to come; its time is not used, set the tool's clock"
    return UNPLACED, (told,)
