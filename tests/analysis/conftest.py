"""A made-up workshop whose database is written by the real recorder, so that what is read here is what it writes."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from collector.flag import flag_match
from collector.record.recorder import Recorder
from schemas.bodies import (
    Calibrated,
    Decided,
    FrameKept,
    HandedOver,
    JobOpened,
    JointAdded,
    LinkKept,
    MatchKept,
    NotRead,
    PlanKept,
    ReadingKept,
    Signed,
    WrenchAdded,
    WrenchMeasured,
)
from schemas.clock import Clock
from schemas.plan.load import load_plan
from schemas.route_body import joint_to_body, route_to_body
from schemas.units import find_unit, to_nm, torque_text

PLAN = """\
plan: box-trailer-hubs
title: Box trailer, hubs
revision: "2"
source: Shop procedure 114, section 6
unit: N·m
tolerance: 10 %
joints:
  - {id: hub-nuts, name: "Hub nuts, left", fasteners: 4, torque: 100, stages: [50, 100], order: cross}
  - {id: guard, name: Guard bolts, fasteners: 2, torque: 20}
steps:
  - caution: Trailer on stands, wheels chocked
  - torque: hub-nuts
  - hold point: ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: guard
  - retorque: hub-nuts
    from: 40 km
    to: 80 km
"""
WHOLE = (Path(__file__).parents[1] / "data" / "whole-axle.yaml").read_text(encoding="utf-8")
BANDS = {("hub-nuts", 1): ("45", "90"), ("hub-nuts", 2): ("90", "110"), ("guard", 1): ("18", "22")}


@dataclass
class Shop:
    """One database with one job open in it; its acts append entries and give their numbers."""

    recorder: Recorder
    job: str = "2026-0001"
    simulated: int | None = None

    def open(
        self, plan: str = PLAN, item: str = "Box trailer WX 17", fitter: str = "Mira Tannwald", order: str = "4711", **more: Any
    ) -> None:
        with self.recorder.transaction():
            self.person = self.recorder.person(fitter)
            seq = self.keep_plan(plan)
            hashed, private = self.recorder.private("item", item)
            opened = JobOpened(self.job, seq, hashed, order, self.person, "Tannwald Trailers", self.simulated, **more)
            self.recorder.keep_private(self.recorder.append(opened, self.person), private)

    def append(self, body: object, by: str | None = None) -> int:
        with self.recorder.transaction():
            who = self.person if by is None else self.recorder.person(by)
            return self.recorder.append(body, who)  # type: ignore[arg-type]  # any body may come

    def keep_plan(self, plan: str) -> int:
        """The entry of a plan, or of another revision of it."""
        route = load_plan(plan.encode(), "hubs.yaml")
        return self.append(
            PlanKept(route.plan, "hubs.yaml", "ab" * 32, route.content_sha256, plan, route_to_body(route))
        )

    def wrench(self, wrench: str = "W-140") -> None:
        self.append(WrenchAdded(wrench, "SN-90417", "click, ratchet", "20", "200", "N·m", "20", "200", "click"))
        self.append(Calibrated(wrench, "K-2210", "2026-01-10", "2027-01-09", "20", "200"))

    def frame(self, raw: bytes) -> int:
        return self.append(FrameKept(self.job, "serial:tty", raw.hex(), "plain-line", simulated=self.simulated))

    def read(self, torque: str | None, unit: str = "N·m", **more: object) -> int:
        raw = f"{torque},{unit}".encode()
        nm = None if torque is None else torque_text(to_nm(Decimal(torque), find_unit(unit)[0]))
        sent = {"wrench": "W-140", "fit": 1, "torque": torque, "unit": None if torque is None else unit, "torque_nm": nm}
        return self.append(ReadingKept(self.job, self.frame(raw), **{**sent, **more}))

    def match(self, reading: int, joint: str | None, stage: int | None, position: int | None, **more: object) -> int:
        low, high = BANDS.get((joint, stage), (None, None))
        said = {"kind": "tightening", "reason": "next in the plan's order", "verdict": "in band", "position_by": "order",
                "p": "0.95", "low": low, "high": high}  # fmt: skip
        return self.append(MatchKept(self.job, reading, joint=joint, stage=stage, position=position, **{**said, **more}))

    def pull(self, joint: str, stage: int, position: int, torque: str, verdict: str = "in band", **more: object) -> int:
        seq = self.read(torque, **more)
        self.match(seq, joint, stage, position, verdict=verdict)
        return seq

    def judge(self, joint: str, stage: int, position: int, torque: str, **more: object) -> int:
        """A pull that is flagged as the program flags it."""
        seq = self.read(torque, **more)
        match = MatchKept(self.job, seq, "tightening", "next in the plan's order", joint, stage, position, "order", p="0.995")
        for flagged in flag_match(match, self.recorder.fold.jobs[self.job]):
            self.append(flagged)
        return seq

    def say(self, said: str, joint: str | None = None, position: int | None = None, by: str | None = None, **more: object) -> int:
        return self.append(Decided(self.job, said, joint, position, **more), by)  # type: ignore[arg-type]  # any field

    def sign(self, hold_point: str | None = None, by: str | None = None, **more: str) -> int:
        return self.append(Signed(self.job, "lead", hold_point, **more), by)  # type: ignore[arg-type]  # any field

    def do_all(self, *, without: tuple[tuple[str, int], ...] = ()) -> None:
        """Every fastener in band at every stage, all stripes seen; `without` names fasteners left out."""
        for joint, stage, count, torque in (("hub-nuts", 1, 4, "50.0"), ("hub-nuts", 2, 4, "100.4"), ("guard", 1, 2, "20.1")):
            for position in range(1, count + 1):
                if (joint, position) not in without:
                    self.pull(joint, stage, position, torque)
        for joint, count in (("hub-nuts", 4), ("guard", 2)):
            if not any(name == joint for name, _ in without):
                self.append(Decided(self.job, "stripes", joint, count=count, of=count))

    def not_read(self, raw: bytes, fate: str, reason: str) -> int:
        return self.append(NotRead(self.job, fate, reason, self.frame(raw)))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the database lies; the name needs quoting in a URI."""
    return tmp_path / "audit 100%?#1.db"


@pytest.fixture
def make_shop(path: Path, stepped_clock: Clock) -> Iterator[Callable[..., Shop]]:
    """Opens the database for writing, once a test, and closes it at the end."""
    with Recorder(path, stepped_clock, "test") as recorder:
        yield lambda **more: Shop(recorder, **more)


@pytest.fixture
def shop(make_shop: Callable[..., Shop]) -> Shop:
    """The workshop with its usual job open and its usual wrench in the register."""
    shop = make_shop()
    shop.open()
    shop.wrench()
    return shop


@pytest.fixture
def spoiled(shop: Shop) -> Shop:
    """A job in which much went wrong."""
    shop.pull("hub-nuts", 1, 1, "37.1", unit="lbf·ft", tool_time="2026-03-02T08:14:11+01:00")
    seq = shop.read("30.0")
    first = shop.match(seq, "hub-nuts", 1, 2, verdict="under")
    shop.match(seq, "hub-nuts", 1, 2, verdict="under", kind="short pull", reason="put right by reading 3", revises=first)
    shop.pull("hub-nuts", 2, 2, "118.5", "over", sequence=9, missing="7-8")
    shop.match(shop.read(None, over_range=1, wrench="W-9", fit=None, unfit="wrench W-9 is not in the register"), "hub-nuts", 2, 3,
               verdict="over")  # fmt: skip
    shop.match(shop.read("12.5"), None, None, None, kind="stray", verdict=None, reason="no joint is near 12.5 N·m")
    shop.append(LinkKept(shop.job, "serial:tty", "lost", "hub-nuts", "device unplugged"))
    shop.append(Decided(shop.job, "inspected", "hub-nuts", 2))
    shop.not_read(b"\x00\xff\x01junk", "unreadable", "not a line of text")
    shop.not_read(b"12,5 N\xb7m", "set aside", "12.5 or 125?")
    return shop


@pytest.fixture
def whole(make_shop: Callable[..., Shop], stepped_clock: Any) -> Shop:
    """A job with everything that a plan can ask for, most of it done as it should be."""
    shop = make_shop()
    shop.open(WHOLE)
    shop.wrench()
    shop.append(WrenchMeasured("W-140", "400"))
    shop.say("prepared", "plate", lot="LX-2214")
    stepped_clock.instant += timedelta(minutes=3)
    for stage, torque in ((1, "40.5"), (2, "80.5")):
        for position in (1, 3, 2, 4):
            shop.judge("plate", stage, position, torque)
    shop.say("stripes", "plate", count=4, of=4)
    shop.say("declared", "tie-rod", 1, by="Ole Brand", tool="beam wrench B-2", value="65", unit="N·m")
    shop.say("not fitted", "tie-rod", 2, by="Runa Veld", reason="part on order")
    shop.say("drag", "u-bolts", value="10", unit="N·m")
    shop.judge("u-bolts", 1, 1, "98", length_mm="400")
    stepped_clock.instant += timedelta(minutes=14)
    shop.sign("ride-height", by="Runa Veld", value="7", unit="mm")
    shop.sign("ride-height", by="Runa Veld", value="2.5", unit="mm")
    shop.sign("clean", by="Runa Veld")
    shop.say("stripes", "u-bolts", by="Runa Veld", count=2, of=2)
    shop.judge("u-bolts", 1, 2, "98.2", length_mm="400")
    shop.say("let stand", "u-bolts", by="Runa Veld", reason="height was set before, only signed late")
    for position in (3, 4, 2, 5, 1, 6):
        shop.judge("hangers", 1, position, "60.2")
    for position in (3, 4, 2, 5, 1):
        shop.judge("hangers", 2, position, "71.0", angle_deg="92")
    shop.judge("hangers", 2, 6, "75.0", angle_deg="104")
    for joint in ("wheel-left", "wheel-right"):
        for position in (1, 3, 5, 2, 4):
            shop.judge(joint, 1, position, "110.4")
    for position in (1, 2):
        shop.judge("cap", 1, position, "20.1")
        shop.say("as found", "cap", position, value=f"17.{position}", unit="N·m")
    shop.say("opened", "cap", step=7)
    for position in (1, 2):
        shop.judge("cap", 1, position, "20.3")
    shop.sign(second="cap", by="Runa Veld")
    for position in (1, 3, 5, 2):
        seq = shop.judge("wheel-left", 2, position, "108")
    shop.say("moved", "wheel-left", 2, reading=seq)
    match = shop.recorder.fold.jobs[shop.job].pulls[seq].match
    shop.append(replace(match, verdict="moved", revises=shop.recorder.fold.jobs[shop.job].pulls[seq].match_seq))
    joint = {**joint_to_body(load_plan(PLAN.encode(), "hubs.yaml").joint("guard")), "id": "spare", "name": "Spare wheel clamp"}
    shop.append(JointAdded(shop.job, joint, "Shop sheet 9, seen on the vehicle"), "Runa Veld")
    taker, left = shop.recorder.person("Jonna Brandt"), ("Spare wheel clamp: not begun",)
    shop.append(HandedOver(shop.job, "leaver", shop.person, taker, left))
    stepped_clock.instant += timedelta(minutes=2)
    shop.append(HandedOver(shop.job, "taker", shop.person, taker, left), "Jonna Brandt")
    return shop


@pytest.fixture
def whole_plan() -> str:
    """The plan of that job."""
    return WHOLE
