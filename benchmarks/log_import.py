"""Log import: readings a second, against a bare table that takes the same bytes in batches of the same size."""

from contextlib import closing
from functools import partial
from itertools import count
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from benchmarks.bare import BareTable, entry_texts
from benchmarks.measure import in_turn, timed, times_as_long
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, STAGES, open_shop, write_log
from collector.run import LOG_ROWS_A_COMMIT

WANTED = 15_000


def rows(quick: bool) -> list[Row]:
    """One long log without matching; then logs of one whole job each, stored and then placed at once, as the program does it."""
    whole_job = PLAN_FASTENERS * STAGES
    bare_text, speed, ratio = _measure(1, 2_000 if quick else 100_000, quick, is_placed=False)
    jobs = 1 if quick else 10
    job_bare, job_speed, job_ratio = _measure(jobs, whole_job, quick, is_placed=True)
    return [
        Row(
            f"log import, {2_000 if quick else 100_000:,} readings, without matching",
            bare_text, f"{speed:,.0f} readings a second", ratio, f"{WANTED:,} readings a second", speed >= WANTED,
        ),
        Row(
            f"log import, stored and then placed at once: logs of one job each, {jobs} × {whole_job} readings",
            job_bare, f"{job_speed:,.0f} readings a second", job_ratio, "for information", None,
        ),
    ]  # fmt: skip


def _measure(logs: int, readings: int, quick: bool, *, is_placed: bool) -> tuple[str, float, str]:
    """The baseline in words, our readings a second, and how many times as long as the baseline we take."""
    with TemporaryDirectory() as folder:
        work = _Import(Path(folder), logs, readings, is_placed)
        ours, bare = in_turn(1 if quick else 5, work.run, work.run_bare)
    total = logs * readings
    words = f"bare sqlite3, the same bytes, {LOG_ROWS_A_COMMIT:,} readings a commit: {total / median(bare):,.0f} a second"
    return words, total / median(ours), f"{times_as_long(ours, bare):.1f} × as long"


class _Import:
    """Reads logs into jobs of a new file, then puts the bytes that were kept into a bare table."""

    def __init__(self, folder: Path, logs: int, readings: int, is_placed: bool) -> None:
        self._folder = folder
        self._is_placed = is_placed
        self._logs = [write_log(folder / f"{log}.csv", log * readings, readings) for log in range(logs)]
        self._readings = readings
        self._names = (f"{number}.db" for number in count())
        self._texts: list[str] = []

    def run(self) -> float:
        """Seconds of our import, opening of the jobs left out."""
        path = self._folder / next(self._names)
        taken = 0.0
        with open_shop(path) as shop:
            before = int(str(shop.recorder.query("SELECT count(*) FROM ledger")[0][0]))
            for log in self._logs:
                bench = shop.bench()
                taken += timed(partial(shop.import_log, log, bench, is_placed=self._is_placed))
        self._texts = list(entry_texts(path, before))
        path.unlink()
        return taken

    def run_bare(self) -> float:
        """Seconds of the bare table."""
        path = self._folder / next(self._names)
        batches = max(len(self._logs) * self._readings // LOG_ROWS_A_COMMIT, 1)
        size = -(-len(self._texts) // batches)
        with closing(BareTable(path)) as bare:
            begins = range(0, len(self._texts), size)
            taken = sum(timed(partial(bare.commit_all, self._texts[first : first + size])) for first in begins)
        path.unlink()
        return taken
