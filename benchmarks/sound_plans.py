"""Made-up plans without a mistake, as fields that a mistake can be put into, and the register that they are checked with."""

import json
import random
from decimal import Decimal
from typing import Any

from schemas.plan.text import read_tree
from schemas.wrench import Wrench
from sim.workshop import facts

Fields = dict[str, Any]
"""A plan as fields, lists and texts."""

# Thread, grade, torque, unit: 75 % of the proof load by T = K d F at K 0.20 (computed), and US Army capscrews, clean and dry
# (TM 10-6640-238-13, Table G-1, read).
_USUAL = (
    ("M8x1.25", "8.8", "25", "N·m"), ("M8x1.25", "10.9", "36", "N·m"), ("M10x1.5", "8.8", "50", "N·m"),
    ("M10x1.5", "10.9", "72", "N·m"), ("M10x1.25", "10.9", "76", "N·m"), ("M12x1.75", "8.8", "88", "N·m"),
    ("M12x1.75", "10.9", "125", "N·m"), ("M12x1.25", "8.8", "96", "N·m"), ("M14x2", "8.8", "140", "N·m"),
    ("M16x2", "8.8", "215", "N·m"), ("3/8-16", "grade 5", "31", "lbf·ft"), ("3/8-24", "grade 8", "49", "lbf·ft"),
    ("7/16-14", "grade 5", "49", "lbf·ft"), ("7/16-20", "grade 8", "78", "lbf·ft"), ("1/2-13", "grade 5", "75", "lbf·ft"),
    ("1/2-20", "grade 8", "120", "lbf·ft"), ("9/16-12", "grade 5", "110", "lbf·ft"), ("5/8-11", "grade 5", "150", "lbf·ft"),
)  # fmt: skip
_PARTS = (
    "spring clip",
    "axle stop",
    "brake support",
    "hub flange",
    "drawbar",
    "tow plate",
    "floor rail",
    "tail frame",
    "winch post",
)
SEEDS = (11, 12, 13)


def register() -> list[Wrench]:
    """Three wrenches that cover every torque of the sound plans; the length of the smallest is not known."""
    return [_wrench("W-025", 5, 60, None), _wrench("W-140", 40, 200, 400), _wrench("W-400", 80, 400, 650)]


def sound_plans() -> list[Fields]:
    """The workshop's plan and made-up ones of other sizes; each is sound by itself."""
    return [_fields(facts.plan_bytes()), *(_made_up(seed) for seed in SEEDS)]


def as_bytes(plan: Fields) -> bytes:
    """A plan as its file; JSON is YAML."""
    return json.dumps(plan, ensure_ascii=False, indent=1).encode()


def _fields(data: bytes) -> Fields:
    fields: Fields = json.loads(json.dumps(read_tree(data, "plan").root))
    return fields


def _wrench(name: str, low: int, high: int, length_mm: int | None) -> Wrench:
    length = None if length_mm is None else Decimal(length_mm)
    low_nm, high_nm = Decimal(low), Decimal(high)
    return Wrench(name, f"S{name}", "indicating", low_nm, high_nm, "N·m", "highest", Decimal(4), length_mm=length, simulated=True)


def _made_up(seed: int) -> Fields:
    """Left and right of some parts, some parts by themselves, wheels, a joint left loose until a hold point is signed."""
    rng = random.Random(seed)
    usual = rng.sample(_USUAL, len(_PARTS))
    joints: list[Fields] = []
    for number, (part, row) in enumerate(zip(_PARTS, usual, strict=True)):
        for side in ("left", "right") if number < 4 else (None,):
            joints.append(_joint(part, side, row, rng))
    joints += [_wheel(side) for side in ("left", "right")]
    names = [joint["id"] for joint in joints]
    loose, *others = names[8:-2]
    steps: list[Fields] = [
        {"caution": "Trailer on stands, wheels chocked"},
        {"loose": [loose]},
        *({"torque": [left, right]} for left, right in zip(names[0:8:2], names[1:8:2], strict=True)),
        *({"torque": [name]} for name in others),
        {"do": "Fit the cover", "covers": [others[0]]},
        {"hold point": "level", "ask": "Frame level?", "sign": "lead"},
        {"torque": [loose], "after": ["level"]},
        {"torque": names[-2:]},
        {"retorque": names[-2:], "from": "40 km", "to": "80 km"},
    ]
    return {
        "plan": f"made-up-{seed}", "title": "Box trailer (made up)", "revision": "A", "source": "Shop procedure (made up)",
        "unit": "N·m", "tolerance": "10 %", "joints": joints, "steps": steps,
    }  # fmt: skip


def _joint(part: str, side: str | None, row: tuple[str, str, str, str], rng: random.Random) -> Fields:
    thread, grade, torque, unit = row
    name = part if side is None else f"{part}, {side}"
    own_unit = {} if unit == "N·m" else {"unit": unit}
    return {
        "id": name.replace(", ", "-").replace(" ", "-"), "name": f"{name} bolts",
        "fasteners": "4" if side else rng.choice(("4", "6", "8")), "torque": torque, **own_unit, "stages": ["65", "100"],
        "order": "cross", "thread": thread, "grade": grade, "prep": "dry", "basis": "dry", "nut": "prevailing",
        "drag": "included", "hardware": "new",
    }  # fmt: skip


def _wheel(side: str) -> Fields:
    return {
        "id": f"wheel-{side}", "name": f"Wheel nuts, {side}", "fasteners": "5", "torque": "110", "order": "cross",
        "thread": "M12x1.5", "grade": "10.9", "prep": "dry", "basis": "dry", "nut": "plain", "hardware": "reused", "wheel": "yes",
    }  # fmt: skip
