"""The odds of one reading at every place, each worked out once and only where its torque fits."""

from collector.expect.odds import Gaps, Odds, Seen, odds_at, torque_at
from collector.expect.own import Own
from collector.expect.places import Place
from collector.expect.strays import burst_odds, other_odds, stray_odds
from collector.expect.turning import Turning, turning_at

_PLAUSIBLE = 1e-4
"""A place whose odds are below this share of the best place's is not looked at."""
_ROUND_ON = 0.5
"""Whoever goes round several joints together is so often as quick to the next one as to the next round of the same one."""


class Looks:
    """Which places look the same: a reading's torque is as likely at the one as at the other."""

    def __init__(self, places: tuple[Place, ...]) -> None:
        known: dict[object, int] = {}
        self.places = places
        self.number = tuple(known.setdefault(look_of(place), len(known)) for place in places)
        self.members = [[place.index for place in places if self.number[place.index] == look] for look in range(len(known))]
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
        self._torques = [torque_at(seen, looks.places[members[0]], own) for members in looks.members]
        self.bursts = burst_odds(seen, own, self.gaps)
        self.other = other_odds(seen, own, self.gaps, zip(self._torques, looks.shares, strict=True))
        self._turning: dict[tuple[bool, bool], Turning] = {}
        self._known: dict[int, Odds] = {}
        self._back: dict[int, Odds] = {}
        self.most_new = self.most_tight = self.most_tried = 0.0
        self.plausible = self._plausible()
        share = own.habits.own_way
        # The odds of the pause before: to another joint, to a first place, and to another stage of the same fastener.
        self.joint = share * self.gaps.joint + (1.0 - share) * self._after.joint
        self.stray = self._after.stray
        self.within = 0.5 * (self.gaps.next + self.gaps.round)
        self.most_pause = max(self.joint, self.stray, self.gaps.round)

    def at(self, place: int) -> Odds:
        """The odds at one place."""
        return self._at(place, self._known, is_back=False)

    def back_at(self, place: int) -> Odds:
        """The odds at one place after a click that belonged to nothing."""
        return self._at(place, self._back, is_back=True)

    def _at(self, place: int, known: dict[int, Odds], *, is_back: bool) -> Odds:
        look = self._looks.number[place]
        found = known.get(look)
        if found is None:
            one = self._looks.places[place]
            kind = one.begins, one.turns
            turning = self._turning.get(kind)
            if turning is None:
                turning = self._turning[kind] = turning_at(self._seen, one, self._own)
            gaps = self.gaps.away() if is_back else self.gaps
            found = known[look] = odds_at(self._seen, one, self._own, gaps, self._stray, self._torques[look], turning)
        return found

    def _plausible(self) -> dict[int, Odds]:
        found: dict[int, Odds] = {}
        least = _PLAUSIBLE * max((torque.most for torque in self._torques), default=0.0)
        for torque, members in zip(self._torques, self._looks.members, strict=True):
            if torque.most > least:
                odds = self.at(members[0])
                self.most_new = max(self.most_new, odds.enter_new, odds.enter_under)
                self.most_tight = max(self.most_tight, odds.enter_check, odds.enter_redo)
                self.most_tried = max(self.most_tried, odds.tried)
                for place in members:
                    found[place] = odds
        return found

    def pause_to(self, here: Place | None, place: Place, away: int = 0) -> float:
        """The odds of the pause before, on the way from one place to another; None is nowhere.

        `away` is after a click that belonged to nothing: the wrench may have been tried right beside the joint.
        """
        if here is None or away:
            return self.stray
        if here.joint.id == place.joint.id:
            return self.gaps.round
        return self.joint if place.begins else _ROUND_ON * self.gaps.round + (1.0 - _ROUND_ON) * self.joint


def odds_of(seen: Seen, place: Place, own: Own) -> Odds | None:
    """The odds of a reading at a place; None for a loosening there."""
    torque_nm = seen.click.torque_nm
    if torque_nm is not None and torque_nm < 0.0 and not place.joint.left_hand:
        return None
    gaps = Gaps(own, seen.gap_s)
    stray, torque = stray_odds(seen, own, gaps), torque_at(seen, place, own)
    return odds_at(seen, place, own, gaps, stray, torque, turning_at(seen, place, own))


def look_of(place: Place) -> object:
    """What a reading can show of a place: equal for two places where it is as likely at the one as at the other."""
    joint = place.joint
    adapter = None if joint.adapter is None or joint.adapter.by_wrench else (joint.adapter, place.target_nm)
    band = place.low_nm, place.target_nm, place.high_nm, place.turns, place.by_angle, place.begins
    return band, joint.left_hand, joint.wrenches, adapter
