"""A figure that a few readings show, drawn towards what is usual: the more readings stand behind it, the less."""

from math import exp, log, sqrt

BELL = 1.4826
"""From the middle of absolute deviations to the standard deviation of a bell."""


def drawn_share(found: float, of: int, usual: float, worth: float) -> float:
    """A share, or a mean, of which `found` of `of` were seen; what is usual counts as much as `worth` readings."""
    return (found + usual * worth) / (of + worth)


def own_part(count: int, worth: float) -> float:
    """What so many readings of one's own count, from 0 to 1, where what is usual counts as much as `worth` of them."""
    return count / (count + worth)


def drawn_middle(own: float, log_middle: float, usual: float) -> float:
    """A median, of whose logarithm `own` parts are the one seen, the rest that of the usual one; `own` from 0 to 1."""
    return exp(own * log_middle + (1.0 - own) * log(usual))


def drawn_sd(own: float, sd: float, usual: float) -> float:
    """A standard deviation whose variance is `own` parts of the one seen, the rest of the usual one; `own` from 0 to 1."""
    return sqrt(own * sd**2 + (1.0 - own) * usual**2)
