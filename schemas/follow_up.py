"""The short job that followed a retorque step, how far it came; and from when to when a retorque is due. Pure."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum

from schemas.plan.quantity import span_of
from schemas.route import Step


class Followed(StrEnum):
    """What became of a retorque, and of a short job that was opened for it."""

    DUE = "due"
    OPEN = "open"
    UNFINISHED = "closed unfinished"
    DONE = "done"
    NOT_DONE = "offered, not done"


@dataclass(frozen=True, slots=True)
class FollowUp:
    """One short job; `untouched` counts its fasteners that nobody has pulled yet, `reason` is why it was not done.

    `declared` and `not_fitted` count those that a person answers for and no wrench has checked.
    """

    job: str
    closed: bool
    complete: bool
    untouched: int
    outcome: str | None = None
    reason: str | None = None
    declared: int = 0
    not_fitted: int = 0

    @property
    def remarks(self) -> str:
        """What keeps one that was done from being all proven, in words: `, 4 declared`; "" where nothing does."""
        if self.state is not Followed.DONE:
            return ""
        counted = ((self.declared, "declared"), (self.not_fitted, "not fitted"))
        told = [*([] if self.complete else ["its record not complete"]), *(f"{count} {word}" for count, word in counted if count)]
        return "".join(f", {one}" for one in told)

    @property
    def state(self) -> Followed:
        """Done once its record is complete, or once it was closed after every fastener was pulled, whatever that showed."""
        if self.outcome == Followed.NOT_DONE:
            return Followed.NOT_DONE
        if self.complete or (self.closed and not self.untouched):
            return Followed.DONE
        return Followed.UNFINISHED if self.closed else Followed.OPEN


def followed(follow_ups: tuple[FollowUp, ...]) -> Followed:
    """What became of a retorque, all its short jobs together: the last one decides, since it was opened for a reason."""
    return follow_ups[-1].state if follow_ups else Followed.DUE


@dataclass(frozen=True, slots=True)
class Window:
    """When a retorque is due after it was last tightened: from and to a time, or a distance in km; `to` may be open."""

    from_s: int | None = None
    to_s: int | None = None
    from_km: Decimal | None = None
    to_km: Decimal | None = None

    def due_at(self, since: datetime) -> datetime | None:
        """From when on it is due; None where that is a distance."""
        return None if self.from_s is None else since + timedelta(seconds=self.from_s)

    def late_at(self, since: datetime) -> datetime | None:
        """From when on it is overdue: past its end, or past its beginning where the plan gives no end."""
        seconds = self.from_s if self.to_s is None else self.to_s
        return None if self.from_s is None or seconds is None else since + timedelta(seconds=seconds)

    def has_km(self, km: Decimal) -> bool | None:
        """Whether a distance lies inside; None where the plan gives a time."""
        if self.from_km is None:
            return None
        return self.from_km <= km and (self.to_km is None or km <= self.to_km)


def window_of(step: Step) -> Window:
    """The window of a retorque step, as its text has it: `40 km to 80 km`, or `24 h`."""
    _, _, end = step.text.partition(" to ")
    to = span_of(end) if end else None
    return Window(step.from_s, to.seconds if to else None, step.from_km, to.km if to else None)
