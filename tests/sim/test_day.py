"""A whole day against a small flow written here, that walks the plan by its order alone."""

import queue
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from importlib.resources import files

import pytest

from schemas.plan.load import load_plan
from schemas.route import Joint
from schemas.screen import Ask, AskWord, JointRow, Last, Screen, Target
from schemas.wire_format_load import load_wire_format
from schemas.words import Kind, Proof, Role, StepWord, Verdict
from sim.clock import SimClock
from sim.day import Day, SimBench, lay_out
from sim.fitter import Fitter
from sim.mishap import Mishap, Spot
from sim.workshop import facts

ROUTE = load_plan(facts.plan_bytes(), facts.PLAN_FILE)
WIRE_FORMAT = load_wire_format((files("schemas") / "wire" / "plain-line.yaml").read_bytes(), "plain-line.yaml")
SYMBOL = {"N.m": "N·m", "lbf.ft": "lbf·ft"}


class SmallFlow:
    """Wire and keys in, screens out, all in the caller's thread.

    It counts a pull on the fastener that the order expects; with `sees_repeats` a pull within 3 s of one in
    band is a repeat. With `chatters` every screen is followed by one that only tells of the link.
    """

    url = "none"

    def __init__(self, *, sees_repeats: bool = False, chatters: bool = False) -> None:
        self.screens: queue.Queue[Screen] = queue.Queue()
        self.sees_repeats = sees_repeats
        self.chatters = chatters
        self.ends_after: int | None = None
        self.deaf = False
        self.lines: list[bytes] = []
        self.pressed: list[str] = []
        self.counted: dict[Spot, Verdict] = {}
        self.repeats: list[Spot] = []
        self.unreadable = 0
        self.signed: dict[str, str] = {}
        self.in_hand: str | None = None
        self.last: Last | None = None
        self.pulled_at: datetime | None = None
        self.torqued = [ROUTE.joint(j) for s in ROUTE.steps if s.word is StepWord.TORQUE for j in s.joints]
        self.show()

    def close(self) -> None:
        """It holds nothing."""

    def send(self, data: bytes) -> None:
        self.lines.append(data)
        if self.deaf:
            return
        try:
            wrench, _sequence, torque, unit, at, _status = data.decode("ascii").strip().split(";")
        except UnicodeDecodeError:
            self.unreadable += 1
            self.last = Last("unreadable", "unreadable")
        else:
            self.take(wrench.removeprefix("@"), Decimal(torque), SYMBOL[unit], datetime.fromisoformat(at))
        self.show()

    def take(self, wrench: str, torque: Decimal, unit: str, at: datetime) -> None:
        quick = self.pulled_at is not None and (at - self.pulled_at).total_seconds() <= 3
        quick = quick and self.last is not None and self.last.verdict is Verdict.IN_BAND
        self.pulled_at = at
        if self.sees_repeats and quick and self.last is not None and self.last.joint:
            self.last = replace(self.last, n=len(self.lines), kind=Kind.REPEAT)
            self.repeats.append(self.spot_of_last())
            return
        target = self.target()
        assert target is not None
        assert self.ask() is None, "pulled before the question was answered"
        assert unit == target.joint.unit
        assert not target.joint.wrenches or wrench in target.joint.wrenches
        band = target.stage.band
        verdict = Verdict.UNDER if torque < band.low else Verdict.OVER if torque > band.high else Verdict.IN_BAND
        self.in_hand = target.joint.id
        spot = Spot(target.joint.id, target.stage.number, target.position)
        self.counted[spot] = verdict
        self.last = Last(str(verdict), "", len(self.lines), Kind.TIGHTENING, verdict, spot.joint, "", spot.stage, spot.position)

    def press(self, keys: str) -> None:
        self.pressed.append(keys)
        ask, target = self.ask(), self.target()
        match keys[0]:
            case "\r":
                assert ask is not None
                self.signed[ask.hold_point or f"{ask.word} {ask.joint}"] = keys.strip()
            case "s":
                spot = self.spot_of_last()
                del self.counted[spot]
                self.repeats.append(spot)
                self.last = replace(self.last, kind=Kind.REPEAT) if self.last else None
            case "j":
                assert target is not None
                ids = [joint.id for joint in self.torqued]
                self.in_hand = ids[int(keys[1:]) - 1 if keys[1:].strip() else ids.index(target.joint.id) + 1]
        self.show(ended=keys == "q")

    def spot_of_last(self) -> Spot:
        last = self.last
        assert last is not None
        assert last.joint is not None
        assert last.stage is not None
        assert last.position is not None
        return Spot(last.joint, last.stage, last.position)

    def target(self) -> Target | None:
        ids = [joint.id for joint in self.torqued]
        start = ids.index(self.in_hand) if self.in_hand else 0
        for joint in self.torqued[start:] + self.torqued[:start]:
            for stage in joint.stages:
                for position in joint.order:
                    spot = Spot(joint.id, stage.number, position)
                    if self.counted.get(spot, Verdict.UNDER) is Verdict.UNDER:
                        return Target(joint, stage, position, 1, stage.band)
        return None

    def done(self, joint: Joint) -> int:
        return sum(Spot(joint.id, joint.final.number, position) in self.counted for position in joint.order)

    def ask(self) -> Ask | None:
        target = self.target()
        for joint in self.torqued:
            under = target is not None and target.joint is joint
            if self.done(joint) == joint.fasteners and not under and f"stripes {joint.id}" not in self.signed:
                return Ask(AskWord.STRIPES, "", joint=joint.id, of=joint.fasteners)
        if target is None:
            return None
        for step in ROUTE.steps:
            if step.word is StepWord.TORQUE and target.joint.id in step.joints:
                break
            if step.hold_point and step.hold_point not in self.signed:
                return Ask(AskWord.HOLD_POINT, step.text, step.sign or Role.FITTER, hold_point=step.hold_point)
        if target.joint.snug and f"snug {target.joint.id}" not in self.signed:
            return Ask(AskWord.SNUG, "", joint=target.joint.id)
        return None

    def show(self, ended: bool = False) -> None:
        rows = tuple(
            JointRow(n, j.id, j.name, j.fasteners, self.done(j), 0, Proof.MISSED, f"stripes {j.id}" in self.signed, False)
            for n, j in enumerate(self.torqued, 1)
        )  # fmt: skip
        screen = Screen(
            "1", ROUTE.title, True, self.target(), self.ask(), self.last, rows, (), "link open", True,
            readings=len(self.lines), ended=ended or len(self.lines) == self.ends_after,
        )  # fmt: skip
        self.screens.put(screen)
        if self.chatters:
            self.screens.put(replace(screen, link="link open, all well"))


def make_day(flow: SmallFlow, seed: int = 1, **options: object) -> tuple[Day, Fitter, SimBench]:
    fitter = Fitter(ROUTE, seed, facts.WRENCHES, facts.LEAD)
    bench = lay_out(WIRE_FORMAT, SimClock(facts.START_AT), flow, {"W-140": 37})
    return Day(fitter, bench, flow.screens, flow.press, **options), fitter, bench  # type: ignore[arg-type]


def live(seed: int, **kinds: bool) -> tuple[SmallFlow, Fitter]:
    flow = SmallFlow(**kinds)
    day, fitter, _bench = make_day(flow, seed)
    day.run()
    assert day.trouble is None
    return flow, fitter


FLOWS = [
    pytest.param({}, id="order-only"),
    pytest.param({"sees_repeats": True}, id="sees-repeats"),
    pytest.param({"chatters": True}, id="chatters"),
]
SEEDS = [pytest.param(seed, id=f"seed-{seed}") for seed in (0, 1, 2, 3, 4, 5, 2026)]


@pytest.mark.parametrize("kinds", FLOWS)
@pytest.mark.parametrize("seed", SEEDS)
def test_everything_is_done_but_the_missed_one_and_each_mishap_shows(seed: int, kinds: dict[str, bool]) -> None:
    flow, fitter = live(seed, **kinds)
    at = {mishap: spot for spot, mishap in fitter.mishaps.items()}
    spots = {Spot(j.id, s.number, p) for j in ROUTE.joints for s in j.stages for p in j.order}

    assert spots - set(flow.counted) == {at[Mishap.MISSED]}
    assert {spot for spot, verdict in flow.counted.items() if verdict is not Verdict.IN_BAND} == {at[Mishap.OVER]}
    assert flow.unreadable == 1
    assert len(flow.repeats) == 1
    assert flow.repeats[0].joint == at[Mishap.TWICE].joint
    # One line a spot but the missed one, and one more for the short, the second and the spoiled pull.
    assert len(flow.lines) == len(spots) - 1 + 3


@pytest.mark.parametrize("kinds", FLOWS)
def test_all_that_is_asked_is_signed_and_the_lead_signs_with_the_name(kinds: dict[str, bool]) -> None:
    flow, fitter = live(1, **kinds)
    missed = next(spot.joint for spot, mishap in fitter.mishaps.items() if mishap is Mishap.MISSED)
    stripes = {f"stripes {joint.id}" for joint in ROUTE.joints if joint.id != missed}
    snug = {f"snug {joint.id}" for joint in ROUTE.joints if joint.snug}

    assert set(flow.signed) == stripes | snug | {"hubs-turn-free", "ride-height-set"}
    assert flow.signed["ride-height-set"] == "Tomasz Reed"
    assert flow.signed["hubs-turn-free"] == ""
    others = [keys for keys in flow.pressed if keys[0] != "\r"]
    assert sorted(others) == (["j\r", "q"] if flow.sees_repeats else ["j\r", "q", "s"])
    assert others[-1] == "q"


def test_the_same_seed_sends_the_same_bytes_and_another_one_others() -> None:
    assert live(1)[0].lines == live(1)[0].lines
    assert live(1)[0].lines != live(2)[0].lines


def test_records_of_each_wrench_are_counted_on_and_its_clock_goes_on() -> None:
    flow, _fitter = live(1)
    fields = [line.strip().split(b";") for line in flow.lines]
    times = [datetime.fromisoformat(row[4].decode()) for row in fields if row[4].isascii()]

    assert times == sorted(times)
    assert 0.5 < (times[-1] - times[0]).total_seconds() / 3600 < 3
    for wrench, first in ((b"@W-140", 37), (b"@W-025", 1)):
        numbers = [int(row[1]) for row in fields if row[0] == wrench]
        assert numbers == list(range(first, first + len(numbers)))


def test_a_day_that_was_stopped_goes_on_where_it_was() -> None:
    whole, _fitter = live(1)
    flow = SmallFlow()
    day, _fitter, _bench = make_day(flow)
    flow.ends_after = 40
    day.run()
    assert len(flow.lines) == 40
    flow.ends_after = None
    flow.show()

    make_day(flow)[0].run()

    assert flow.counted == whole.counted
    assert [line.split(b";")[2] for line in flow.lines] == [line.split(b";")[2] for line in whole.lines]


def test_a_screen_that_never_comes_ends_the_day_with_what_to_look_for() -> None:
    flow = SmallFlow()
    day, _fitter, _bench = make_day(flow, patience_s=0.01)
    flow.deaf = True

    day.run()

    assert day.trouble == "no answer on the screen for 0.01 s; look what the collector waits for"
    assert flow.pressed[-1] == "q"


def test_a_wire_that_fails_ends_the_day_with_the_reason() -> None:
    class PulledOut(SmallFlow):
        def send(self, data: bytes) -> None:
            raise OSError("pulled out")

    flow = PulledOut()
    day, _fitter, _bench = make_day(flow)

    day.run()

    assert day.trouble == "the simulated wire failed: pulled out; start the day again"
    assert flow.pressed[-1] == "q"


def test_acts_are_paced_in_real_seconds() -> None:
    flow = SmallFlow()
    waits: list[float] = []
    day, _fitter, _bench = make_day(flow, pace_s=0.25, wait=waits.append)

    day.run()

    assert set(waits) == {0.25}
    assert len(waits) == len(flow.lines) + len(flow.pressed)


def test_the_day_waits_while_the_link_is_down() -> None:
    flow = SmallFlow()
    first = flow.screens.get()
    flow.screens.put(replace(first, link="link lost", link_ok=False))
    flow.screens.put(first)
    day, _fitter, _bench = make_day(flow)

    day.run()

    assert day.trouble is None
    assert flow.pressed[-1] == "q"
