"""`verify` over a large ledger, against a plain hashlib loop that reads the same rows from SQLite."""

import sqlite3
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from analysis.load.database import open_as_is
from analysis.verify import verify_file
from analysis.verify_ledger import check_ledger
from analysis.verify_shape import Checked
from benchmarks.measure import in_turn, timed, times_as_long
from benchmarks.table import Row
from benchmarks.workshop import PLAN_FASTENERS, STAGES, open_shop
from collector.expect.in_order import InOrder
from collector.run import run

LEDGER_TIMES = 3.0
REST_TIMES = 10.0


def rows(quick: bool) -> list[Row]:
    """The ledger's own part, and all the rest: entries read and folded, projections compared, SQLite's own check."""
    wanted = 5_000 if quick else 1_000_000
    with TemporaryDirectory() as folder:
        path = Path(folder) / "audit.db"
        _build(path, wanted)
        rounds = 1 if quick else 3
        whole, ledger, bare = in_turn(rounds, lambda: _whole(path, wanted), lambda: _ledger(path), lambda: _bare(path))
    rest = [one - other for one, other in zip(whole, ledger, strict=True)]
    what = f"verify a ledger of {wanted:,} entries"
    return [
        _row(f"{what}: leaves, tree, a tree head every third entry", ledger, bare, LEDGER_TIMES),
        _row(f"{what}: all the rest (decode, fold, compare projections, integrity_check)", rest, bare, REST_TIMES),
    ]


def _row(what: str, ours: list[float], bare: list[float], most: float) -> Row:
    ratio = times_as_long(ours, bare)
    return Row(
        what, f"hashlib loop over the same rows: {median(bare):.2f} s", f"{median(ours):.2f} s", f"{ratio:.1f} × as long",
        f"{most:.0f} × as long", ratio <= most,
    )  # fmt: skip


def _build(path: Path, wanted: int) -> None:
    """Jobs one after the other through the real flow, one commit a reading, until there are so many entries.

    By the rule of order, whose matches are quick: how they were found is no matter to `verify`.
    """
    pull, a_job = 0, PLAN_FASTENERS * STAGES
    with open_shop(path) as shop:
        while int(str(shop.recorder.query("SELECT max(seq) FROM ledger")[0][0])) < wanted:
            run(shop.frames(pull, a_job), shop.bench(InOrder()), lambda _: None)
            pull += a_job


def _whole(path: Path, wanted: int) -> float:
    found: list[Checked] = []
    taken = timed(lambda: found.append(verify_file(path)))
    if found[0].findings or found[0].size < wanted:
        raise AssertionError(f"the ledger is whole, yet verify says: {found[0]}")
    return taken


def _ledger(path: Path) -> float:
    db, _ = open_as_is(path)
    with closing(db):
        return timed(lambda: check_ledger(db, Checked(), lambda _seq, _raw: None))


def _bare(path: Path) -> float:
    with closing(sqlite3.connect(path)) as db:
        return timed(lambda: _hash_all(db))


def _hash_all(db: sqlite3.Connection) -> None:
    for _, entry, _ in db.execute("SELECT seq, CAST(entry AS BLOB), CAST(leaf AS BLOB) FROM ledger ORDER BY seq"):
        sha256(entry).digest()
