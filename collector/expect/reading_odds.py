"""The odds of one reading at every place, each worked out once and only where its torque fits."""

from collector.expect.odds import Gaps, Odds, Seen, odds_at, torque_at
from collector.expect.own import Own
from collector.expect.places import Place
from collector.expect.strays import burst_odds, other_odds, stray_odds

_PLAUSIBLE = 1e-4
"""A place whose odds are below this share of the best place's is not looked at."""


class Looks:
    """Which places look the same: a reading's torque is as likely at the one as at the other."""

    def __init__(self, places: tuple[Place, ...]) -> None:
        known: dict[object, int] = {}
        self.places = places
        self.number = tuple(known.setdefault(_look(place), len(known)) for place in places)
        self.members = [[place for place in places if self.number[place.index] == look] for look in range(len(known))]
        self.shares = [len(members) / len(places) for members in self.members]


class ReadingOdds:
    """One reading at the places of a plan; `plausible` are those that its torque and angle fit, with their odds."""

    def __init__(self, looks: Looks, own: Own, seen: Seen) -> None:
        self._looks, self._own, self._seen = looks, own, seen
        self.gaps = Gaps(own, seen.gap_s)
        self._after = self.gaps if seen.after_gap_s == seen.gap_s else Gaps(own, seen.after_gap_s)
        self._stray = stray_odds(seen, own, self.gaps)
        torque_nm = seen.click.torque_nm
        self.is_left = torque_nm is not None and torque_nm < 0.0
        self._torques = [torque_at(seen, members[0], own) for members in looks.members]
        self.burst = burst_odds(seen, own, self.gaps)
        self.other = other_odds(seen, own, self.gaps, zip(self._torques, looks.shares, strict=True))
        self._known: dict[int, Odds] = {}
        self._back: dict[int, Odds] = {}
        self.plausible = self._plausible()
        self.most_new = max((one[7] for one in self.plausible.values()), default=0.0)
        self.most_tight = max((max(one[8], one[9]) for one in self.plausible.values()), default=0.0)
        self.most_tried = max((one[10] for one in self.plausible.values()), default=0.0)
        share = own.habits.own_way
        # The odds of the pause before: to another joint, to a first place, and to another stage of the same fastener.
        self.joint = share * self.gaps.joint + (1.0 - share) * self._after.joint
        self.stray = self._after.stray
        self.within = 0.5 * (self.gaps.next + self.gaps.round)
        self.most_pause = max(self.joint, self.stray, self.gaps.round)

    def at(self, place: int) -> Odds:
        """The odds at one place."""
        found = self._known.get(place)
        if found is None:
            torque = self._torques[self._looks.number[place]]
            found = self._known[place] = odds_at(self._seen, self._looks.places[place], self._own, self.gaps, self._stray, torque)
        return found

    def back_at(self, place: int) -> Odds:
        """The odds at one place after a click that belonged to nothing."""
        found = self._back.get(place)
        if found is None:
            one, torque = self._looks.places[place], self._torques[self._looks.number[place]]
            found = self._back[place] = odds_at(self._seen, one, self._own, self.gaps.away(), self._stray, torque)
        return found

    def _plausible(self) -> dict[int, Odds]:
        found: dict[int, Odds] = {}
        least = _PLAUSIBLE * max((torque.most for torque in self._torques), default=0.0)
        for torque, members in zip(self._torques, self._looks.members, strict=True):
            if torque.most > least:
                odds = self.at(members[0].index)
                found |= {place.index: odds for place in members}
        return found

    def pause_to(self, here: Place | None, place: Place, away: bool = False) -> float:
        """The odds of the pause before, on the way from one place to another; None is nowhere.

        `away` is after a click that belonged to nothing: the wrench may have been tried right beside the joint.
        """
        if here is None or away:
            return self.stray
        return self.gaps.round if here.joint.id == place.joint.id else self.joint


def odds_of(seen: Seen, place: Place, own: Own) -> Odds | None:
    """The odds of a reading at a place; None for a loosening there."""
    torque_nm = seen.click.torque_nm
    if torque_nm is not None and torque_nm < 0.0 and not place.joint.left_hand:
        return None
    gaps = Gaps(own, seen.gap_s)
    return odds_at(seen, place, own, gaps, stray_odds(seen, own, gaps))


def _look(place: Place) -> object:
    joint = place.joint
    adapter = None if joint.adapter is None or joint.adapter.by_wrench else (joint.adapter, place.target_nm)
    band = place.low_nm, place.target_nm, place.high_nm, place.turns, place.by_angle, place.begins
    return band, joint.left_hand, joint.wrenches, adapter
