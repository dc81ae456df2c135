"""Times for narrow tables: what all rows share stands once beside the table, and each row keeps its clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from analysis.load.record_pulls import ReadingRow


@dataclass(frozen=True, slots=True)
class PullTime:
    """When a pull was: `day` is empty where only `clock` says anything of it, as it was sent or in words."""

    day: str
    clock: str
    zone: str

    @property
    def full(self) -> str:
        """All of it."""
        return " ".join(part for part in (self.day, self.clock, self.zone) if part)

    @property
    def shared(self) -> str:
        """What other pulls of the same day have in common with it."""
        return f"{self.day} {self.zone}" if self.day else ""


def pull_time(reading: ReadingRow) -> PullTime:
    """The tool's own time where it sent one, else ours; a row of a log without a time has none."""
    if reading.tool_time is not None:
        return _tool_time(reading.tool_time)
    if reading.line is not None:
        return PullTime("", "no time sent", "")
    return PullTime(reading.at[:10], reading.at[11:19], "UTC, received")


def _tool_time(sent: str) -> PullTime:
    try:
        instant = datetime.fromisoformat(sent)
    except ValueError:
        return PullTime("", sent, "")
    offset = instant.strftime("%z")
    zone = f"{offset[:3]}:{offset[3:5]}" if instant.tzinfo is not None else "(no zone)"
    return PullTime(f"{instant:%Y-%m-%d}", f"{instant:%H:%M:%S}", zone)


def shared_day(times: Iterable[PullTime]) -> str | None:
    """Day and zone that all of them share that have a day; None where they differ, or none has one."""
    shared = {time.shared for time in times if time.day}
    return shared.pop() if len(shared) == 1 else None


def pull_times(readings: Iterable[ReadingRow]) -> tuple[str, list[str]]:
    """The day that these pulls share, to stand above their column, and its cells; a day of "" where they differ."""
    times = [pull_time(reading) for reading in readings]
    day = shared_day(times)
    return (day, [time.clock for time in times]) if day else ("", [time.full for time in times])


def our_times(instants: Iterable[str]) -> tuple[str, list[str]]:
    """The day that our times share, to stand above their column, and its cells; a day of "" where they differ."""
    given = list(instants)
    days = {instant[:10] for instant in given}
    if len(days) == 1:
        return f"{days.pop()}, UTC", [instant[11:19] for instant in given]
    return "", [f"{instant[:10]} {instant[11:19]} UTC" for instant in given]
