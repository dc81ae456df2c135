"""Whether probabilities are what they say: how often a claim at each level was right, and its Brier score."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchmarks.score import SURE, Claim

EDGES = (0.0, 0.5, 0.8, 0.9, 0.95, 0.99, 0.999)
"""Where each bin begins; it ends before the next one, the last at 1 and with it."""


@dataclass(frozen=True, slots=True)
class Bin:
    """Claims of about one probability; `mean_p` and `right` are None where there is none."""

    name: str
    count: int
    mean_p: float | None
    right: float | None


def bins_of(claims: Sequence[Claim]) -> tuple[Bin, ...]:
    """The claims by their probability."""
    ends = (*EDGES[1:], float("inf"))
    found = []
    for low, high in zip(EDGES, ends, strict=True):
        inside = [(p, is_right) for p, is_right in claims if low <= p < high]
        count = len(inside)
        name = f">= {low:g}" if high > 1 else f"{low:g} to {high:g}"
        mean_p = sum(p for p, _ in inside) / count if count else None
        found.append(Bin(name, count, mean_p, sum(is_right for _, is_right in inside) / count if count else None))
    return tuple(found)


def brier(claims: Sequence[Claim]) -> float | None:
    """The mean squared distance of a probability from what turned out; 0 is best, None without a claim."""
    return sum((p - is_right) ** 2 for p, is_right in claims) / len(claims) if claims else None


def sure_and_right(claims: Sequence[Claim]) -> tuple[int, int]:
    """How many claims were made at `SURE` or better, and how many of them were right."""
    sure = [is_right for p, is_right in claims if p >= SURE]
    return len(sure), sum(sure)


def reliability_lines(what: str, claims: Sequence[Claim]) -> Iterator[str]:
    """The table of one kind of claim as text."""
    score = brier(claims)
    yield f"{what}: {len(claims):,} claims, Brier score {'–' if score is None else f'{score:.4f}'}"
    for one in bins_of(claims):
        if one.mean_p is not None and one.right is not None:
            yield f"  p {one.name:<13} {one.count:>8,} claims, mean p {one.mean_p:.4f}, right {one.right:.4f}"
