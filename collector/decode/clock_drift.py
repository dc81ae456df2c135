"""Corrects a tool's clock that runs fast or slow, between two moments at which it was compared with ours. Pure."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

Check = tuple[datetime, datetime]

MOST_DRIFT = 0.02
"""A clock that gains or loses more than this share (72 s an hour) does not run: common practice, no source."""


def clock_is_usable(checks: Sequence[Check]) -> bool:
    """Whether the clock ran evenly enough between all moments at which it was compared; one moment alone shows nothing bad."""
    ordered = sorted(checks)
    return all(_is_even(before, after) for before, after in pairwise(ordered))


def _is_even(before: Check, after: Check) -> bool:
    shown, ours = after[0] - before[0], after[1] - before[1]
    return shown > timedelta(0) and abs((ours - shown) / shown) <= MOST_DRIFT


def corrected(shown_at: datetime, checks: Sequence[Check]) -> tuple[datetime, str]:
    """Our time of a moment of the tool's clock, with a remark.

    Args:
        shown_at: what the tool's clock showed, aware.
        checks: pairs of tool time and ours, aware, at least one; the clock is taken to run evenly from each to the next.
            Before the first and after the last the nearest difference is kept, and the remark says so.
    """
    ordered = sorted(checks)
    offset, known = _offset(shown_at, ordered)
    beyond = "" if known else ", beyond the moments at which the clocks were compared"
    return shown_at + offset, f"clock of the tool corrected by {offset.total_seconds():+.0f} s{beyond}"


def _offset(shown_at: datetime, ordered: Sequence[Check]) -> tuple[timedelta, bool]:
    for (tool, ours), (next_tool, next_ours) in pairwise(ordered):
        if tool <= shown_at <= next_tool:
            share = (shown_at - tool) / (next_tool - tool)
            return (ours - tool) + share * ((next_ours - next_tool) - (ours - tool)), True
    tool, ours = ordered[0] if shown_at < ordered[0][0] else ordered[-1]
    return ours - tool, shown_at == tool
