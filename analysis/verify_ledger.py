"""Recomputes the ledger of an audit database: numbers without a gap, leaves that fit their entries, tree heads."""

import sqlite3
from collections.abc import Callable, Iterator
from typing import Any

from analysis.verify_shape import Checked
from schemas.tree import Frontier, leaf_hash


def check_ledger(db: sqlite3.Connection, checked: Checked, take: Callable[[int, bytes], str | None]) -> None:
    """Leaves, numbers and tree heads; `take` is given each entry and says what is wrong with its content, if anything.

    From the first entry on that is missing, inserted or wrong in itself, nothing is given to `take` any more.
    """
    heads = dict(db.execute("SELECT size, root FROM tree_head ORDER BY size").fetchall())
    tree, wrong, expected, good_head = Frontier(), [], 1, 0
    foldable = True
    for seq, raw, leaf in ledger_rows(db):
        if seq != expected:
            wrong.append(_misplaced(expected, seq))
            foldable = False
            expected = max(expected, seq)
        if seq == expected:
            expected += 1
        recomputed = leaf_hash(raw)
        if recomputed != leaf:
            wrong.append(f"entry {seq} was changed: its content does not fit the hash it was stored with")
        tree.append(recomputed)
        if foldable:
            trouble = take(seq, raw)
            if trouble:
                wrong.append(f"entry {seq} cannot be what was recorded: {trouble}")
                foldable = False
        head = heads.get(seq)
        if head is not None and tree.size == seq:
            if tree.root() == head:
                good_head = seq
            elif not wrong:
                where = _range(good_head + 1, seq)
                wrong.append(f"entry {where}: changed, swapped, inserted or removed; the tree head stored then differs")
    last = max(heads, default=0)
    if last >= expected:
        wrong.append(f"entry {_range(expected, last)} missing: a tree head of {last} entries is stored")
    elif last < tree.size:
        wrong.append(f"entry {_range(last + 1, tree.size)} not covered by any tree head: inserted by another program")
    checked.size, checked.head = tree.size, tree.root().hex()
    checked.find(wrong)


def _misplaced(expected: int, seq: int) -> str:
    if seq < expected:
        return f"entry {seq} was inserted: the ledger's numbers begin with 1"
    return f"entry {_range(expected, seq - 1)} {'is' if seq - 1 == expected else 'are'} missing from the ledger"


def _range(first: int, last: int) -> str:
    return str(first) if first >= last else f"{first} to {last}"


def ledger_rows(db: sqlite3.Connection) -> Iterator[tuple[int, bytes, bytes]]:
    # As bytes: an altered entry need not be text any more.
    return plain_rows(
        db, "SELECT seq, coalesce(CAST(entry AS BLOB), x''), coalesce(CAST(leaf AS BLOB), x'') FROM ledger ORDER BY seq"
    )


def plain_rows(db: sqlite3.Connection, sql: str) -> Iterator[Any]:
    """Rows as tuples without names, of which there can be very many."""
    cursor = db.cursor()
    cursor.row_factory = None
    return cursor.execute(sql)
