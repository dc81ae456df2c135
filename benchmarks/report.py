"""One job's report as PDF, with a drift chart of each wrench: as a command of its own, and in a process that made one before."""

import random
import subprocess
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import count
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.measure import in_turn, timed
from benchmarks.table import Row
from benchmarks.workshop import STAGES, open_shop, register, witnessmark
from collector.cli.place import SystemClock
from collector.cli.report import write_report
from collector.record.checks import add_checks
from collector.run import run
from schemas.bodies import CheckMade

COLD_S = 4.0
WARM_S = 2.0
_FASTENERS = 120
_WRENCHES = 10
_WEEKS = 150
_TORQUES_NM = (20, 60, 100)


def rows(quick: bool) -> list[Row]:
    """Seconds from the command to its end, and of a further report in the same process."""
    wrenches = [f"W-{number}" for number in range(1, (2 if quick else _WRENCHES) + 1)]
    fasteners = 20 if quick else _FASTENERS
    with TemporaryDirectory() as folder:
        path = Path(folder) / "audit.db"
        _build(path, fasteners, wrenches)
        work = _Reports(path)
        work.again()
        cold, warm = in_turn(1 if quick else 5, work.command, work.again)
    what = f"one job's report as PDF, {fasteners} fasteners, {len(wrenches)} charts of {_WEEKS * len(_TORQUES_NM)} checks each"
    return [
        _row(f"{what}, cold: `witnessmark job report`", median(cold), COLD_S),
        _row(f"{what}, in a running process", median(warm), WARM_S),
    ]


def _row(what: str, taken_s: float, limit_s: float) -> Row:
    return Row(
        what, "a fixed limit", f"{taken_s:.2f} s", f"{taken_s / limit_s:.2f} of the limit", f"{limit_s:.0f} s", taken_s <= limit_s
    )


class _Reports:
    """Makes reports of the one job, each into a new file."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._targets = (path.with_name(f"{number}.pdf") for number in count())

    def command(self) -> float:
        """Seconds of a process that does nothing else."""
        command = [*witnessmark(), "job", "report", "1", "--db", str(self._path), "--to", str(next(self._targets))]
        said: list[subprocess.CompletedProcess[str]] = []
        taken = timed(lambda: said.append(subprocess.run(command, capture_output=True, text=True, check=False)))
        if said[0].returncode not in (0, 1) or "could not be drawn" in said[0].stderr:
            raise AssertionError(f"no whole report was made: {said[0].stderr}")
        return taken

    def again(self) -> float:
        """Seconds in this process."""
        return timed(lambda: write_report(self._path, "1", next(self._targets), SystemClock()))


def _build(path: Path, fasteners: int, wrenches: list[str]) -> None:
    with open_shop(path, fasteners) as shop:
        for wrench in wrenches:
            if wrench not in shop.recorder.fold.wrenches:
                register(shop.recorder, wrench)
            add_checks(shop.recorder, _weekly_checks(wrench, shop.clock.now().date()), "lead")
        run(shop.frames(0, fasteners * STAGES, wrenches), shop.bench(), lambda _: None)


def _weekly_checks(wrench: str, today: date) -> Iterator[CheckMade]:
    """About three years of checks up to now, each torque with a drift of its own. SIMULATED."""
    dice = random.Random(wrench)
    for torque in _TORQUES_NM:
        a_week = dice.gauss(0, 0.01)
        for week in range(_WEEKS):
            reference = f"{torque * dice.uniform(0.997, 1.003):.2f}"
            shown = f"{float(reference) * (1 + (a_week * week + dice.gauss(0, 0.3)) / 100):.2f}"
            on = str(today - timedelta(weeks=_WEEKS - week))
            yield CheckMade(wrench, on, reference, shown, "N·m", reference, shown, simulated=1)
