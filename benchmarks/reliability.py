"""`python -m benchmarks.reliability`: how often claims of each level are true, for fitters it was tuned on and for strangers."""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from benchmarks.bins import reliability_lines
from benchmarks.days import SEED, STRANGERS, Sort, score_days
from benchmarks.score import Score, all_claims

OWN = "smooth"
GROUPS = {"all fitters": Sort("usual", True, True), **STRANGERS}


def told_groups(days: int) -> Iterator[str]:
    """The tables of each group: so many days each of the usual and the rough shop, with angles and without, all with times."""
    for group, of in GROUPS.items():
        scores: list[Score] = []
        for shop, angle in product(("usual", "rough"), (True, False)):
            scores += score_days(replace(of, shop=shop, angle=angle), range(SEED, SEED + days), [OWN])[OWN]
        yield f"{group}: {len(scores)} days of the usual and the rough shop, with times"
        for what, claims in all_claims(scores).by_what():
            yield from reliability_lines(what, claims)


def main() -> int:
    """Print the tables."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.reliability", description="Shows what probabilities are worth.")
    parser.add_argument("--days", type=int, default=100, help="of each shop, with angles and without")
    for line in told_groups(parser.parse_args().days):
        print(line)
    return 0


if __name__ == "__main__":
    sys.exit(main())
