"""What one log shows of its own fitter and wrenches, beside what is usual."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import hypot

from collector.expect.habits import Habits


@dataclass(frozen=True, slots=True)
class Own:
    """The habits of one log: shares of bias and spread by wrench; what is not in it is as usual.
    """

    habits: Habits
    bias: Mapping[str | None, float] = field(default_factory=dict)
    spread: Mapping[str | None, float] = field(default_factory=dict)

    def spread_of(self, wrench: str | None) -> float:
        """The spread of a wrench; one that is not known yet may be off besides."""
        known = self.spread.get(wrench)
        return known if known is not None else hypot(self.habits.spread, self.habits.level)
