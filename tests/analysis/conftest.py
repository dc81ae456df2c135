"""A made-up workshop whose database is written by the real recorder, so that what is read here is what it writes."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import pytest

from collector.record.recorder import Recorder
from schemas.bodies import (
    Calibrated,
    Decided,
    FrameKept,
    JobOpened,
    LinkKept,
    MatchKept,
    NotRead,
    PlanKept,
    ReadingKept,
    WrenchAdded,
)
from schemas.clock import Clock
from schemas.plan.load import load_plan
from schemas.route_body import route_to_body
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
BANDS = {("hub-nuts", 1): ("45", "90"), ("hub-nuts", 2): ("90", "110"), ("guard", 1): ("18", "22")}


@dataclass
class Shop:
    """One database with one job open in it; its acts append entries and give their numbers."""

    recorder: Recorder
    job: str = "2026-0001"
    simulated: int | None = None

    def open(self, plan: str = PLAN, item: str = "Box trailer WX 17", fitter: str = "Mira Tannwald", order: str = "4711") -> None:
        route = load_plan(plan.encode(), "hubs.yaml")
        with self.recorder.transaction():
            self.person = self.recorder.person(fitter)
            kept = PlanKept(route.plan, "hubs.yaml", "ab" * 32, route.content_sha256, plan, route_to_body(route))
            seq = self.recorder.append(kept, self.person)
            hashed, private = self.recorder.private("item", item)
            opened = JobOpened(self.job, seq, hashed, order, self.person, "Tannwald Trailers", self.simulated)
            self.recorder.keep_private(self.recorder.append(opened, self.person), private)

    def append(self, body: object) -> int:
        with self.recorder.transaction():
            return self.recorder.append(body, self.person)  # type: ignore[arg-type]  # any body may come

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
