"""How long something took or is to last, in words."""

from datetime import datetime

_NBSP = "\u00a0"


def lasted(seconds: float) -> str:
    """A time in words, to the nearest of its smallest unit: `38 s`, `14 min`, `24 h`, `2 h 5 min`, `3 days 4 h`."""
    if seconds < 120:
        return f"{seconds:.0f}{_NBSP}s"
    minutes = round(seconds / 60)
    if minutes < 120:
        return f"{minutes}{_NBSP}min"
    hours, minutes = divmod(minutes, 60)
    if hours <= 72:
        return f"{hours}{_NBSP}h" + (f" {minutes}{_NBSP}min" if minutes else "")
    days, hours = divmod(hours + (minutes >= 30), 24)
    return f"{days}{_NBSP}days" + (f" {hours}{_NBSP}h" if hours else "")


def between(first: datetime, last: datetime) -> str:
    """How long it was from one instant to another one, whichever came first."""
    return lasted(abs((last - first).total_seconds()))
