"""Which fastener of a joint each reading was on: counted in the order of the stage, since alike fasteners look alike."""

from collections.abc import Mapping, Sequence

from collector.expect.kinds import kinds_of, path_at
from collector.expect.odds import Odds
from collector.expect.places import Place
from collector.expect.settle import AtPlace
from collector.expect.within import Within
from schemas.words import Kind

Opened = Mapping[int, Sequence[int | None]]
"""By the rank of a reading which positions a person opened before it; None for all of them."""

_GOES_ON = (Kind.TIGHTENING, Kind.SHORT_PULL)


def positions_of(order: Sequence[int], kinds: Sequence[Kind], opened: Opened | None = None) -> tuple[int, ...]:
    """The position of each reading of one stage.

    A pull that counts is on the first fastener of the order that is not done, one after a short pull on the same; a second
    click on the one before; a round over tight ones begins at the first.

    Args:
        order: positions in the order of the stage.
        kinds: what each reading was.
        opened: by the rank of a reading which positions were opened before it; None for all of them.
    """
    found: list[int] = []
    done: set[int] = set()
    here, checked, before = order[0], 0, None
    for rank, kind in enumerate(kinds):
        for position in (opened or {}).get(rank, ()):
            done = done - {position} if position is not None else set()
        if kind in _GOES_ON:
            if before is not Kind.SHORT_PULL:
                here = next((position for position in order if position not in done), here)
            checked = 0
        elif kind is Kind.RECHECK:
            here, checked = order[checked % len(order)], checked + 1
        if kind is Kind.TIGHTENING:
            done.add(here)
        elif kind is Kind.LOOSENING:
            done.discard(here)
        found.append(here)
        before = kind
    return tuple(found)


def story_of(
    place: Place, within: Within, odds: Sequence[Odds | None], begins: Sequence[bool], opened: Opened
) -> list[tuple[Kind, int]]:
    """Kind and position of each reading of a place, on the likeliest path through what persons opened in between.

    Args:
        odds: of each reading there, None for a loosening.
        begins: which came after a reading elsewhere.
        opened: what was opened before which of them.
    """
    steps: list[Odds | None] = []
    entered: list[bool] = []
    own: list[int] = []
    for rank, (one, begin) in enumerate(zip(odds, begins, strict=True)):
        for position in opened.get(rank, ()):
            # Who says that it was opened has loosened it with another tool.
            count = place.fasteners if position is None else 1
            steps, entered = [*steps, *[None] * count], [*entered, *[False] * count]
        own.append(len(steps))
        # A loosening opens one fastener, or with it all of a joint that is done again as a whole.
        count = place.fasteners if one is None and place.joint.reopen_joint else 1
        steps, entered = [*steps, *[one] * count], [*entered, begin, *[False] * (count - 1)]
    path = path_at(within, steps, entered)
    told = kinds_of(AtPlace(place, tuple(own), tuple(entered), tuple(one is None for one in steps), path))
    kinds = [told[index][0] for index in own]
    opens = {**opened}
    for rank, kind in enumerate(kinds):
        if kind is Kind.LOOSENING and place.joint.reopen_joint:
            opens[rank + 1] = [*opens.get(rank + 1, ()), None]
    return list(zip(kinds, positions_of(place.order, kinds, opens), strict=True))
