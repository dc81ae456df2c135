"""The pauses before readings as they come in live, by our own clock."""

from collector.expect.click import Click
from collector.expect.odds import Seen

_TOGETHER_S = 0.15
"""Nobody pulls twice in so short a time: what comes like that was buffered, and the pause before it is not known."""


class LiveGaps:
    """Gives each reading with the pauses before it; one reading after the other."""

    def __init__(self) -> None:
        self._last: dict[str | None, Click] = {}
        self._before: Click | None = None
        self._unknown = False

    def link_was_lost(self) -> None:
        """Nobody was listening for a while: the pause before the next reading is not known."""
        self._unknown = True

    def copy(self) -> "LiveGaps":
        """The same as it stands now, to come back to."""
        other = LiveGaps()
        other._last, other._before, other._unknown = dict(self._last), self._before, self._unknown
        return other

    def see(self, click: Click) -> Seen:
        """The reading as the model takes it."""
        own = self._last.get(click.wrench)
        gap_s, after_gap_s = self._pause(own, click), self._pause(self._before, click)
        before_nm, before_deg = (None, None) if own is None else (own.torque_nm, own.angle_deg)
        seen = Seen(click, gap_s, before_nm, self._before, after_gap_s, before_deg)
        self._last[click.wrench] = self._before = click
        self._unknown = False
        return seen

    def _pause(self, before: Click | None, click: Click) -> float | None:
        if before is None or self._unknown or click.at_s is None or before.at_s is None:
            return None
        gap_s = click.at_s - before.at_s
        return gap_s if gap_s > _TOGETHER_S else None
