"""Rows of joints that are gone round again: finals of one torque, one after the other in the plan, such as the wheels."""

from collections.abc import Sequence

from collector.expect.places import NOWHERE, Place


class Rows:
    """The finals of a plan, torque by torque and pass by pass; `done` are places as bits: bit n says that place n is done."""

    def __init__(self, places: Sequence[Place]) -> None:
        passes: dict[str, int] = {}
        found: dict[tuple[float, int], list[int]] = {}
        in_pass: dict[int, list[tuple[int, float]]] = {}
        self._row: dict[int, list[int]] = {}
        self._before: dict[int, list[int]] = {}
        for place in places:
            joint = place.joint
            if place.stage.number != joint.final.number:
                continue
            number = passes[joint.id] = passes.get(joint.id, 0) + 1
            row, finals = found.setdefault((place.target_nm, number), []), in_pass.setdefault(number, [])
            row.append(place.index)
            finals.append((place.index, place.target_nm))
            self._row[place.index] = row
            # Those right before it in the plan, the nearest first, as long as the torque is the same.
            self._before[place.index] = []
            for other, target_nm in reversed(finals[:-1]):
                if target_nm != place.target_nm:
                    break
                self._before[place.index].append(other)

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
        for place in self._before.get(here, ()):
            if not done >> place & 1:
                break
            run = place
        return found | ({run} - {here})
