"""The ways in which bytes give no reading, and how what was sent is shown in the reason."""

from schemas.errors import Fate, FrameError

_SHOWN = 40  # characters of what was sent, in a message


def unreadable(reason: str) -> FrameError:
    """Bytes that cannot be decoded: not whole, or not laid out as the format says."""
    return FrameError(reason, Fate.UNREADABLE)


def set_aside(reason: str) -> FrameError:
    """A record that was read, and whose value cannot be decided or does not count."""
    return FrameError(reason, Fate.SET_ASIDE)


def not_counted(reason: str) -> FrameError:
    """A record that the format names as one that brings no pull."""
    return FrameError(reason, Fate.SET_ASIDE, is_usual=True)


def shown(text: str) -> str:
    """What was sent, on one line, cut after 40 characters."""
    # repr escapes what would break the line or turn its direction.
    return repr(text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…")[1:-1]
