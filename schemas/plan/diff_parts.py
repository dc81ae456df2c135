"""One difference between two plans, and how it reads; what has moved in a list. Pure."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

NOTHING = "(nothing)"
_WHOLE = ("put in", "taken out")


@dataclass(frozen=True, slots=True)
class Difference:
    """What of a subject differs; `before` and `after` in words, None where nothing is said; `unit` is that of both."""

    subject: str
    what: str
    before: str | None
    after: str | None
    unit: str = ""

    def __str__(self) -> str:
        if self.what in _WHOLE:
            return f"{self.subject}: {self.what} ({self.after if self.before is None else self.before})"
        before, after = (NOTHING if text is None else text for text in (self.before, self.after))
        return f"{self.subject}: {self.what} {before} → {after}{f' {self.unit}' if self.unit else ''}"


def digits(value: Decimal) -> str:
    """A number in plain digits without closing zeros: 95 and 95.00 are one torque."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def moved(before: Sequence[str], after: Sequence[str]) -> list[str]:
    """Of the names in both lists, each once, the fewest that were moved from the one order to the other, as in `after`."""
    place = {name: index for index, name in enumerate(before)}
    common = [name for name in after if name in place]
    # The longest run that rises in both stays; ends[n] is the place of the best last member of a run of n + 1.
    ends: list[int] = []
    lengths = []
    for name in common:
        length = bisect_left(ends, place[name])
        ends[length : length + 1] = [place[name]]
        lengths.append(length)
    stays, wanted, limit = set(), len(ends) - 1, len(before)
    for name, length in zip(reversed(common), reversed(lengths), strict=True):
        if length == wanted and place[name] < limit:
            stays.add(name)
            wanted, limit = wanted - 1, place[name]
    return [name for name in common if name not in stays]
