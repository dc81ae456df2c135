"""A second maker of days, independent of `sim.shop`: other fitters, other distributions, for matchers that never saw it.

All rates and spreads are common practice and guesses of a fitter's, no source.
"""

import random
from dataclasses import dataclass, replace

from benchmarks.other_plans import (
    FITTERS,
    SHOPS,
    Fitter,
    PlanJoint,
    Shop,
    Slips,
    Slot,
    make_blocks,
    make_plan,
    make_round,
    make_slips,
    shared_out,
)
from schemas.words import Kind
from sim.shop.truth import ShopDay, ShopReading, Touch


@dataclass(frozen=True, slots=True)
class _Wrench:
    """One wrench: `bias` is a share, `step_nm` its last digit; `set_only` sends the set value, whatever was pulled."""

    name: str
    bias: float
    step_nm: float
    counts: bool
    shows_angle: bool
    shows_opening: bool
    set_only: bool
    first_seq: int


@dataclass(frozen=True, slots=True)
class _Row:
    """A reading before it is written out; `at_s` exact, `turned_deg` from where the wrench began to count."""

    at_s: float
    wrench: _Wrench
    torque_nm: float
    turned_deg: float
    touch: Touch


def live_day(shop: str, seed: int, *, angle: bool, times: bool) -> ShopDay:
    """A made-up day of a "tidy", "usual" or "rough" shop; the same arguments give the same day.

    `angle` and `times` only leave their columns out: the day is the same without. Where a stretch came in a lump its
    times are those of the delivery, or its rows stand behind the other wrench's. `secret` names what was odd that day.
    KeyError for another shop.
    """
    ways = SHOPS[shop]
    rng = random.Random(f"other:{shop}:{seed}")
    plan, joints = make_plan(rng)
    fitters = rng.sample(FITTERS, 2 if rng.random() < ways.pair else 1)
    slips = make_slips(joints, ways, rng)
    odd = [word for word, is_so in (("skipped", slips.skipped), ("two fitters", fitters[1:])) if is_so]
    rows: list[_Row] = []
    for index, share in enumerate(shared_out(joints, len(fitters), rng)):
        wrenches = [_wrench(rng, f"W-{10 * index + n + 1}") for n in range(3)]
        walk = _Walk(joints, fitters[index], ways, rng, wrenches)
        rows += walk.day(make_blocks(joints, share, fitters[index], ways, rng), slips)
        odd += walk.odd
    rows.sort(key=lambda row: row.at_s)
    readings = _sent(rows, rng, ways, odd)
    if not angle:
        readings = [replace(reading, angle=None) for reading in readings]
    if not times:
        readings = [replace(reading, at_s=None) for reading in readings]
    order = [row.touch for row in rows]
    return ShopDay(
        plan, tuple(readings), tuple(order), _missed(joints, order), shop, " + ".join(f.name for f in fitters), tuple(odd)
    )


def _missed(joints: tuple[PlanJoint, ...], touches: list[Touch]) -> tuple[tuple[str, int, int], ...]:
    done = {(touch.joint, touch.stage, touch.position) for touch in touches if touch.kind is Kind.TIGHTENING}
    every = ((j.id, s, p) for j in joints for s in range(1, len(j.shares) + 1) for p in range(1, j.fasteners + 1))
    return tuple(slot for slot in every if slot not in done)


def _wrench(rng: random.Random, name: str) -> _Wrench:
    bias = rng.choice((-1, 1)) * rng.uniform(0.012, 0.022) if rng.random() < 0.15 else rng.gauss(0, 0.006)
    step_nm = rng.choice((0.1, 0.1, 0.1, 0.01, 0.5, 1))
    return _Wrench(
        name, bias, step_nm, rng.random() < 0.6, rng.random() < 0.9, rng.random() < 0.3, rng.random() < 0.04, rng.randint(1, 4000)
    )


class _Walk:
    """One fitter's way through his part of the day: a clock, a wrench in hand, and how tight each fastener is by now."""

    def __init__(
        self, joints: tuple[PlanJoint, ...], fitter: Fitter, ways: Shop, rng: random.Random, wrenches: list[_Wrench]
    ) -> None:
        self.odd: list[str] = []
        self._joints, self._fitter, self._ways, self._rng = joints, fitter, ways, rng
        self._wrenches, self._wrench = wrenches, wrenches[0]
        # Some lay the large wrench down for small torques.
        self._small_below_nm = rng.choice((50, 60, 80)) if rng.random() < 0.2 * ways.new_wrench + 0.1 else 0
        self._now_s = rng.uniform(0, 300)
        self._rows: list[_Row] = []
        self._held_nm: dict[tuple[int, int], float] = {}
        self._done: set[Slot] = set()
        self._to_full_deg = [rng.gammavariate(6, 11) for _ in joints]
        self._is_tight = [rng.random() < min(0.9, fitter.strokes * ways.extra) for _ in joints]
        self._tempo = rng.uniform(0.8, 1.3)

    def day(self, blocks: list[list[Slot]], slips: Slips) -> list[_Row]:
        put_off: list[Slot] = []
        for block in blocks:
            self._between(block[0][0])
            before: Slot | None = None
            for slot in block:
                if slot in slips.late:
                    put_off.append(slot)
                elif slot not in slips.skipped:
                    self._wait(before, slot)
                    self._fasten(slot)
                    before = slot
                elif slot in slips.beside:
                    self._beside(slot)
            self._after(block)
        for slot in put_off:
            self._wait(None, slot)
            self._fasten(slot)
        if self._rng.random() < 2 * self._fitter.recheck * self._ways.extra:
            for at in self._rng.sample(sorted({slot[0] for block in blocks for slot in block}), 1):
                self._pass_s(self._fitter.walk_s, 2)
                self._recheck(at, slips)
        return self._rows

    def _pass_s(self, mean_s: float, shape: float) -> None:
        self._now_s += self._rng.gammavariate(shape, mean_s * self._tempo / shape)

    def _wait(self, before: Slot | None, slot: Slot) -> None:
        fitter, joint = self._fitter, self._joints[slot[0]]
        if before is None:
            self._pass_s(fitter.walk_s, 1.6)
            if not any((slot[0], 1, p) in self._done for p in range(1, joint.fasteners + 1)) and fitter.hand_s:
                self._pass_s(fitter.hand_s * joint.fasteners, 3)
        elif before[:2] == slot[:2]:
            self._pass_s(fitter.pull_s, fitter.even)
        else:
            self._pass_s(fitter.pull_s * (1.6 if before[0] != slot[0] else 1.3), 2.5)
        if self._rng.random() < 0.004:
            self._pass_s(240, 1)

    def _between(self, at: int) -> None:
        """What comes before a stretch of work: tea, another wrench, trial clicks, somebody else's vehicle, a joint opened."""
        rng, ways = self._rng, self._ways
        if rng.random() < 0.04:
            self._pass_s(900, 3)
        if self._small_below_nm:
            self._wrench = self._wrenches[1 if self._joints[at].torque_nm < self._small_below_nm else 0]
        if rng.random() < ways.new_wrench / 12 or (rng.random() < 0.3 * ways.stray and not self._rows):
            self._wrench = rng.choice(self._wrenches)
            if rng.random() < 0.5 * min(1, ways.extra):
                self._strays(rng.randint(1, 4), self._joints[at].torque_nm * rng.choice((1, 1, 0.6)), 3, 0)
        if rng.random() < ways.stray:
            is_vehicle = rng.random() < 0.5
            other_nm = rng.choice((80, 90, 100, 110, 120, 140, 160, self._joints[at].torque_nm))
            self._pass_s(150, 1.5)
            if is_vehicle:
                self._strays(rng.randint(4, 10), other_nm, self._fitter.pull_s, 60)
            else:
                self._strays(rng.randint(1, 4), rng.choice((other_nm, self._joints[at].torque_nm)), 3, 0)
        if rng.random() < ways.opened / 12 and self._done:
            self._reopen(rng.choice(sorted({slot[0] for slot in self._done})))

    def _strays(self, clicks: int, torque_nm: float, gap_s: float, turn_deg: float) -> None:
        self.odd.append("other vehicle" if turn_deg else "trial")
        for _ in range(clicks):
            self._pass_s(gap_s, 3)
            turned = self._rng.gammavariate(5, turn_deg / 5) if turn_deg else 0
            self._send(Kind.STRAY, None, self._pulled_nm(torque_nm), turned + self._rng.gammavariate(2, 0.7))

    def _reopen(self, at: int) -> None:
        """A joint opened with a tool that sends nothing, one fastener or all, and done again."""
        self.odd.append("opened")
        joint = self._joints[at]
        last = len(joint.shares)
        done = sorted(p for p in range(1, joint.fasteners + 1) if (at, last, p) in self._done)
        chosen = done if self._rng.random() < 0.25 else done[:1]
        self._pass_s(200, 2)
        for position in chosen:
            self._held_nm[at, position] = 0
        for stage in range(1 if self._rng.random() < 0.35 else last, last + 1):
            for position in chosen:
                self._pass_s(self._fitter.pull_s, self._fitter.even)
                self._fasten((at, stage, position))

    def _after(self, block: list[Slot]) -> None:
        for at in dict.fromkeys(slot[0] for slot in block):
            if self._rng.random() < self._fitter.recheck * self._ways.extra:
                self._pass_s(1.5 * self._fitter.pull_s, 2)
                self._recheck(at, None)

    def _recheck(self, at: int, slips: Slips | None) -> None:
        """Once more round a joint, all of it or a part; a fastener that was forgotten is hidden, or is found by it."""
        joint, rng = self._joints[at], self._rng
        order = make_round(joint, rng)
        if rng.random() < 0.25:
            order = order[: rng.randint(1, joint.fasteners)]
        last = len(joint.shares)
        sees_all = slips is not None and rng.random() < 0.5
        for position in order:
            slot = (at, last, position)
            if slot in self._done or sees_all:
                self._pass_s(0.7 * self._fitter.pull_s, self._fitter.even)
                is_done = slot in self._done
                short = rng.uniform(0.85, 0.98) if is_done and rng.random() < 0.1 else 1
                self._touch(Kind.RECHECK if is_done else Kind.TIGHTENING, slot, self._pulled_nm(joint.torque_nm) * short)
                self._done.add(slot)

    def _beside(self, slot: Slot) -> None:
        """The click that hides a forgotten fastener: the count is right, but one of the same joint got two."""
        done = [p for p in range(1, self._joints[slot[0]].fasteners + 1) if (*slot[:2], p) in self._done]
        if done and self._rows:
            self.odd.append("hidden by another click")
            again = (*slot[:2], self._rng.choice(done))
            touch = self._rows[-1].touch
            is_last = (touch.joint, touch.position) == (self._joints[slot[0]].id, again[2])
            self._pass_s(self._fitter.pull_s, self._fitter.even)
            self._touch(Kind.REPEAT if is_last else Kind.RECHECK, again, self._pulled_nm(self._target_nm(slot)))

    def _fasten(self, slot: Slot) -> None:
        """One fastener to its torque: strokes, perhaps one given up, the pull that counts, perhaps a second click."""
        rng, extra = self._rng, self._ways.extra
        low_nm, target_nm, high_nm = self._joints[slot[0]].band_nm(slot[1])
        if not self._wrench.set_only:
            if self._is_tight[slot[0]] and rng.random() < 0.8:
                self._short_pulls(slot, rng.choice((1, 1, 1, 2, 2, 3, 4, 5)), 2.0)
            elif rng.random() < self._fitter.give_up * extra:
                self._short_pulls(slot, 1, 7.0)
        pulled_nm = self._pulled_nm(target_nm)
        if pulled_nm < low_nm and rng.random() < 0.7:
            self._touch(Kind.SHORT_PULL, slot, pulled_nm)
            self._pass_s(3, 3)
            pulled_nm = self._pulled_nm(target_nm * 1.01)
        if rng.random() < self._ways.over and not self._wrench.set_only:
            self.odd.append("over-pull")
            pulled_nm = target_nm * rng.uniform(1.12, 1.35)
        self._touch(Kind.TIGHTENING, slot, pulled_nm)
        self._done.add(slot)
        if pulled_nm > high_nm and slot[1] == len(self._joints[slot[0]].shares) and rng.random() < 0.5:
            self._put_right(slot)
        elif rng.random() < self._fitter.repeat * extra:
            for _ in range(1 if rng.random() < 0.85 else 2):
                self._pass_s(rng.choice((1.2, 1.2, 2.5, 4)), 4)
                self._touch(Kind.REPEAT, slot, self._pulled_nm(target_nm))

    def _short_pulls(self, slot: Slot, strokes: int, gap_s: float) -> None:
        low_nm = self._joints[slot[0]].band_nm(slot[1])[0]
        held = min(0.9, self._held_nm.get((slot[0], slot[2]), 0) / low_nm)
        for share in sorted(self._rng.uniform(max(0.3, held), 0.985) for _ in range(strokes)):
            self._touch(Kind.SHORT_PULL, slot, min(low_nm * share, low_nm - self._wrench.step_nm))
            self._pass_s(gap_s, 4)

    def _put_right(self, slot: Slot) -> None:
        """After an over-pull: opened, or the bolt replaced, and done again; some open with the same wrench and it shows."""
        self.odd.append("put right")
        self._pass_s(25 if self._rng.random() < 0.6 else 180, 2)
        if self._wrench.shows_opening and self._rng.random() < 0.5:
            held_nm = self._held_nm[slot[0], slot[2]]
            self._send(Kind.LOOSENING, slot, -held_nm * self._rng.uniform(0.6, 0.95), -self._rng.gammavariate(4, 15))
            self._pass_s(12, 3)
        self._held_nm[slot[0], slot[2]] = 0
        for stage in range(1 if self._rng.random() < 0.4 else slot[1], slot[1] + 1):
            target_nm = self._joints[slot[0]].band_nm(stage)[1]
            self._touch(Kind.TIGHTENING, (slot[0], stage, slot[2]), self._pulled_nm(target_nm))
            self._pass_s(6, 3)

    def _target_nm(self, slot: Slot) -> float:
        return self._joints[slot[0]].band_nm(slot[1])[1]

    def _pulled_nm(self, target_nm: float) -> float:
        """What is shown of a pull for a target: past it rather than short of it, hardly ever far; with the wrench's bias."""
        if self._wrench.set_only:
            return target_nm
        past = self._rng.gammavariate(1.4, self._fitter.keen / 1.4) - 0.3 * self._fitter.keen
        return target_nm * (1 + self._wrench.bias + past + self._rng.gauss(0, self._ways.noise))

    def _touch(self, kind: Kind, slot: Slot, torque_nm: float) -> None:
        key, full_nm = (slot[0], slot[2]), self._joints[slot[0]].torque_nm
        held_nm = self._held_nm.get(key, 0)
        # The first eighth of the torque goes into seating, before the wrench begins to count.
        on = max(0.0, torque_nm - max(held_nm, full_nm / 8)) / full_nm
        turned = on * self._to_full_deg[slot[0]] * self._rng.gammavariate(30, 1 / 30) + self._rng.gammavariate(2, 0.7)
        self._held_nm[key] = max(held_nm, torque_nm)
        self._send(kind, slot, torque_nm, turned)

    def _send(self, kind: Kind, slot: Slot | None, torque_nm: float, turned_deg: float) -> None:
        touch = Touch(kind) if slot is None else Touch(kind, self._joints[slot[0]].id, slot[1], slot[2])
        if self._wrench.set_only and slot is not None and torque_nm > 0:
            torque_nm = self._target_nm(slot)
        self._rows.append(_Row(self._now_s, self._wrench, torque_nm, turned_deg, touch))


def _sent(rows: list[_Row], rng: random.Random, ways: Shop, odd: list[str]) -> list[ShopReading]:
    """The rows written out, in the order of the log; a lump reorders `rows` and a stop shortens them too."""
    counts: dict[str, int] = {}
    seqs: dict[int, int | None] = {}
    for row in rows:
        counts[row.wrench.name] = counts.get(row.wrench.name, row.wrench.first_seq - 1) + 1
        seqs[id(row)] = counts[row.wrench.name] if row.wrench.counts else None
    stamps = {id(row): row.at_s for row in rows}
    if rng.random() < ways.lump and len(rows) > 30:
        odd.append("lump")
        _lump(rows, rng, stamps)
    if rng.random() < ways.stop:
        odd.append("stopped")
        del rows[int(len(rows) * rng.uniform(0.35, 0.95)) :]
    whole = rng.random() < ways.seconds
    unnamed = rng.random() < 0.08
    return [_reading(row, stamps[id(row)], seqs[id(row)], whole, unnamed) for row in rows]


def _lump(rows: list[_Row], rng: random.Random, stamps: dict[int, float]) -> None:
    """A stretch of one wrench arrives at once behind what the other one sent; its own clock stands, or the delivery's."""
    first = rng.randrange(len(rows) - 20)
    stretch = rows[first : first + rng.randint(8, 40)]
    late = [row for row in stretch if row.wrench == stretch[0].wrench]
    rows[first : first + len(stretch)] = [row for row in stretch if row.wrench != stretch[0].wrench] + late
    if rng.random() < 0.6:
        for n, row in enumerate(late):
            stamps[id(row)] = stretch[-1].at_s + 0.02 * n


def _reading(row: _Row, at_s: float, seq: int | None, whole: bool, unnamed: bool) -> ShopReading:
    step_nm = row.wrench.step_nm
    places = {1: 0, 0.01: 2}.get(step_nm, 1)
    return ShopReading(
        float(int(at_s)) if whole else round(at_s, 2),
        None if unnamed else row.wrench.name,
        f"{round(row.torque_nm / step_nm) * step_nm:.{places}f}",
        f"{row.turned_deg:.0f}" if row.wrench.shows_angle else None,
        seq,
    )
