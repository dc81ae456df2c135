"""A made-up day as three files: the plan, the log as a wrench would give it, and the truth beside it."""

import csv
import json
from datetime import datetime, timedelta, timezone
from pathlib import Path

from sim.shop.truth import ShopDay

_BEGUN_AT = datetime(2026, 3, 2, 7, 30, tzinfo=timezone(timedelta(hours=1)))


def write_day(day: ShopDay, folder: Path, name: str) -> None:
    """Write `NAME.yaml`, `NAME.csv` and `NAME.truth.json` into an existing folder; what the day does not tell has no column.

    Raises OSError where a file cannot be written.
    """
    (folder / f"{name}.yaml").write_text(day.plan, encoding="utf-8")
    with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows(_table(day))
    (folder / f"{name}.truth.json").write_text(json.dumps(_truth(day), indent=1) + "\n", encoding="utf-8")


def _table(day: ShopDay) -> list[list[str]]:
    columns: dict[str, list[str | None]] = {
        "time": [None if reading.at_s is None else _time(reading.at_s) for reading in day.readings],
        "wrench": [reading.wrench for reading in day.readings],
        "torque": [reading.torque for reading in day.readings],
        "unit": ["N·m" for _ in day.readings],
        "angle": [reading.angle for reading in day.readings],
        "seq": [None if reading.seq is None else str(reading.seq) for reading in day.readings],
    }
    told = {name: values for name, values in columns.items() if any(value is not None for value in values)}
    return [list(told), *([value or "" for value in row] for row in zip(*told.values(), strict=True))]


def _time(at_s: float) -> str:
    moment = _BEGUN_AT + timedelta(seconds=at_s)
    return moment.isoformat(timespec="seconds" if at_s == int(at_s) else "milliseconds")


def _truth(day: ShopDay) -> dict[str, object]:
    return {
        "readings": [
            {"n": n, "joint": touch.joint, "stage": touch.stage, "position": touch.position, "kind": str(touch.kind)}
            for n, touch in enumerate(day.truth, start=1)
        ],
        "missed": [{"joint": joint, "stage": stage, "position": position} for joint, stage, position in day.missed],
        "shop": day.shop,
        "fitter": day.fitter,
        "simulated": 1,
    }
