"""Which fastener of a joint each reading was on: counted in the order of the stage, since alike fasteners look alike."""

from collections.abc import Mapping, Sequence

from collector.expect.bounds import is_confirmed, stays_put
from collector.expect.kinds import kinds_of, path_at
from collector.expect.odds import Odds
from collector.expect.places import Place
from collector.expect.settle import AtPlace
from collector.expect.within import Within
from schemas.fastener_state import Pull
from schemas.job_state import JobState
from schemas.words import Kind

Opened = Mapping[int, Sequence[int | None]]
"""By the rank of a reading which positions a person opened before it; None for all of them."""
Kept = Mapping[int, tuple[Kind, int]]
"""By the rank of a reading what it is on record as, and the position that it stays on, whatever is counted."""

GOES_ON = (Kind.TIGHTENING, Kind.SHORT_PULL)


def positions_of(
    order: Sequence[int], kinds: Sequence[Kind], opened: Opened | None = None, kept: Mapping[int, int] | None = None
) -> tuple[int, ...]:
    """The position of each reading of one stage.

    A pull that counts is on the first fastener of the order that is not done and that no later pull is known to be the first
    on, one after a short pull on the same; a second click on the one before; a round over tight ones begins at the first.

    Args:
        order: positions in the order of the stage.
        kinds: what each reading was.
        opened: by the rank of a reading which positions were opened before it; None for all of them.
        kept: by the rank of a reading the position that it is known to be on.
    """
    opened, kept = opened or {}, kept or {}
    found: list[int] = []
    done: set[int] = set()
    here, checked, before = order[0], 0, None
    for rank, kind in enumerate(kinds):
        for position in opened.get(rank, ()):
            done = done - {position} if position is not None else set()
        if rank in kept:
            here = kept[rank]
            checked = 0 if kind in GOES_ON else checked
        elif kind in GOES_ON:
            if before is not Kind.SHORT_PULL:
                taken = done | _taken_later(rank, kinds, opened, kept) if kept else done
                free = next((position for position in order if position not in taken), here)
                here = _continued_on(rank, kinds, kept) or free
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


def _continued_on(rank: int, kinds: Sequence[Kind], kept: Mapping[int, int]) -> int | None:
    """The position that strokes are known to end on, None where it is not known."""
    end = next((later for later in range(rank, len(kinds)) if kinds[later] is not Kind.SHORT_PULL), None) if kept else None
    return None if end is None or kinds[end] is not Kind.TIGHTENING else kept.get(end)


def _taken_later(rank: int, kinds: Sequence[Kind], opened: Opened, kept: Mapping[int, int]) -> set[int]:
    """The positions on which later pulls are known to be, of those that are not opened in between."""
    taken: set[int] = set()
    again: set[int] = set()
    for later in range(rank + 1, len(kinds)):
        positions = {*opened.get(later, ()), *([kept.get(later)] if kinds[later] is Kind.LOOSENING else [])}
        if None in positions:
            # From here on any of them may be done a second time.
            break
        again.update(position for position in positions if position is not None)
        if later in kept and kinds[later] in GOES_ON and kept[later] not in again:
            taken.add(kept[later])
    return taken


def story_of(
    place: Place,
    within: Within,
    odds: Sequence[Odds | None],
    begins: Sequence[bool],
    opened: Opened,
    kept: Kept | None = None,
) -> list[tuple[Kind, int]]:
    """Kind and position of each reading of a place, on the likeliest path through what persons opened in between.

    Args:
        odds: of each reading there, None for a loosening.
        begins: which came after a reading elsewhere.
        opened: what was opened before which of them.
        kept: those that stay on the position that they have on record. What counts there counts here; whether it was continued
            is told by the path all the same.
    """
    kept = kept or {}
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
    kinds = [_kind_of(told[index][0], kept.get(rank)) for rank, index in enumerate(own)]
    opens = {**opened}
    for rank, kind in enumerate(kinds):
        if kind is Kind.LOOSENING and place.joint.reopen_joint:
            opens[rank + 1] = [*opens.get(rank + 1, ()), None]
    positions = positions_of(place.order, kinds, opens, {rank: position for rank, (_, position) in kept.items()})
    return list(zip(kinds, positions, strict=True))


def kept_of(state: JobState, place: Place, pulls: Sequence[Pull]) -> Kept:
    """The readings of a place, by their rank, that stay on their fastener; none where no person has named one there."""
    if not any(is_confirmed(pull.match) for pull in pulls):
        return {}
    here = place.joint.id, place.stage.number
    matches = ((rank, pull.match) for rank, pull in enumerate(pulls) if stays_put(state, pull))
    own = ((rank, match) for rank, match in matches if match is not None and (match.joint, match.stage) == here)
    return {rank: (Kind(match.kind), match.position or 0) for rank, match in own}


def _kind_of(told: Kind, kept: tuple[Kind, int] | None) -> Kind:
    return told if kept is None or (told in GOES_ON and kept[0] in GOES_ON) else kept[0]
