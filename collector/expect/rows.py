"""Rows of joints that are gone round again: finals of one torque, one after the other in the plan, such as the wheels."""

from collections.abc import Sequence

from collector.expect.places import NOWHERE, Place


class Rows:
    """The finals of a plan, torque by torque and pass by pass; `done` are places as bits: bit n says that place n is done."""

    def __init__(self, places: Sequence[Place]) -> None:
        passes: dict[str, int] = {}
        rows: dict[tuple[float, int], list[int]] = {}
        last: dict[int, Place] = {}
        self._row: dict[int, list[int]] = {}
        # The final right before each in the plan, where that has the same torque.
        self._before: dict[int, int] = {}
        for place in places:
            joint = place.joint
            if place.stage.number != joint.final.number:
                continue
            number = passes[joint.id] = passes.get(joint.id, 0) + 1
            row = self._row[place.index] = rows.setdefault((place.target_nm, number), [])
            row.append(place.index)
            before = last.get(number)
            if before is not None and before.target_nm == place.target_nm:
                self._before[place.index] = before.index
            last[number] = place

    def next(self, here: int, done: int) -> int:
        """The next one that is done after a place; NOWHERE if there is none."""
        return next((place for place in self._row.get(here, ()) if place > here and done >> place & 1), NOWHERE)

    def begins(self, here: int, done: int) -> set[int]:
        """The places that a round over what is done may begin with, after a place: the next one of its row, or the first one
        where it is the last; and the first one of those that were done just before it without another torque in between.
        """
        others = [place for place in self._row.get(here, ()) if place != here and done >> place & 1]
        found = {next((place for place in others if place > here), others[0])} if others else set()
        run = here
        while (before := self._before.get(run)) is not None and done >> before & 1:
            run = before
        return found | ({run} - {here})
