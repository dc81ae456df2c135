"""From when on a joint may be loaded whose thread compound has to cure: one answer for the screen and for the report. Pure."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

_UP_TO_THE_MINUTE = timedelta(minutes=1, microseconds=-1)


def cured_at(pulled: Iterable[datetime | None], cure_s: int) -> datetime | None:
    """The first whole minute, UTC, from which on it may be loaded: so long after the last pull, rounded up.

    None where the time of any pull is not certain, and where there is none.
    """
    times = list(pulled)
    certain = [at.astimezone(UTC) for at in times if at is not None]
    if not certain or len(certain) < len(times):
        return None
    return (max(certain) + timedelta(seconds=cure_s) + _UP_TO_THE_MINUTE).replace(second=0, microsecond=0)
