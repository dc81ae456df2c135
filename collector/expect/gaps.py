"""The pauses between the readings of a wrench, as far as its times tell them."""

from collections.abc import Mapping, Sequence

from collector.expect.click import Click
from collector.expect.odds import Seen
from collector.expect.people import people_of

_A_LUMP = 3
"""So many readings of one wrench at one moment were not pulled then: they were delivered together."""


def see(clicks: Sequence[Click]) -> list[Seen]:
    """Each reading with the pause since the one before of the same wrench, and of the same person, in seconds.

    Not known: without times, where the clock went back, and in and around what came in one lump.
    """
    by_wrench: dict[str | None, list[int]] = {}
    for index, click in enumerate(clicks):
        by_wrench.setdefault(click.wrench, []).append(index)
    people = people_of(clicks)
    others, is_alone = _before_of_person(clicks, people), len(set(people.values())) < 2
    found: dict[int, Seen] = {}
    for indices in by_wrench.values():
        lumped = _lumped([clicks[index].at_s for index in indices])
        before: Click | None = None
        for rank, index in enumerate(indices):
            click = clicks[index]
            gap_s = None
            if before is not None and not lumped[rank]:
                gap_s = _pause(before, click)
            other = others[index]
            after_s = gap_s
            if other is not None and other is not before and not lumped[rank]:
                after_s = _pause(other, click)
            found[index] = Seen(
                click, gap_s, None if before is None else before.torque_nm, other, after_s,
                None if before is None else before.angle_deg, is_alone,
            )  # fmt: skip
            before = click
    return [found[index] for index in range(len(clicks))]


def is_shared(seen: Sequence[Seen]) -> bool:
    """Whether the readings are of two people."""
    return any(not one.is_alone for one in seen)


def _before_of_person(clicks: Sequence[Click], people: Mapping[str | None, int]) -> list[Click | None]:
    """For each reading the one before it of the same person."""
    last: dict[int, Click] = {}
    found: list[Click | None] = []
    for click in clicks:
        person = people[click.wrench]
        found.append(last.get(person))
        last[person] = click
    return found


def _pause(before: Click, click: Click) -> float | None:
    if click.at_s is None or before.at_s is None or click.at_s < before.at_s:
        return None
    return click.at_s - before.at_s


def _lumped(times: Sequence[float | None]) -> list[bool]:
    """Whether the pause before each is not known because it, or the one before it, came in a lump."""
    in_lump = [False] * len(times)
    begin = 0
    for index in range(1, len(times) + 1):
        if index == len(times) or times[index] is None or times[index] != times[begin]:
            if index - begin >= _A_LUMP and times[begin] is not None:
                in_lump[begin:index] = [True] * (index - begin)
            begin = index
    return [lump or (index > 0 and in_lump[index - 1]) for index, lump in enumerate(in_lump)]
