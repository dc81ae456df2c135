"""The checks of wrenches as the database holds them, as a table for measures and charts."""

import sqlite3
from typing import TYPE_CHECKING

from analysis.load.database import snapshot

if TYPE_CHECKING:
    import pandas as pd

_SQL = """
SELECT wrench_check.seq, wrench_check.wrench, day, reference_nm_real AS reference_nm, CAST(shown_nm AS REAL) AS shown_nm,
       error_percent, wrench_check.simulated
FROM wrench_check JOIN wrench ON wrench.wrench = wrench_check.wrench
WHERE void IS NULL AND (?1 IS NULL OR wrench_check.wrench = ?1)
  AND (adjusted_on IS NULL OR day >= julianday(adjusted_on) - julianday('1970-01-01') + 1)
ORDER BY wrench_check.wrench, day, wrench_check.seq
"""


def load_checks(db: sqlite3.Connection, wrench: str | None = None) -> "pd.DataFrame":
    """The checks that count, of one wrench or of all; one row a check.

    Left out are those that were taken back, and those up to the day on which their wrench was last set anew, that day included:
    who says only a day does not say whether it was before or after.

    Returns:
        Columns `seq` int64, `wrench` str, `day` float64 (days since 1970-01-01), `reference_nm` and `shown_nm` float64 in
        N·m, `error_percent` float64, `simulated` bool; by wrench, day and entry. Without checks it has no rows.
    """
    import pandas as pd

    with snapshot(db):
        rows = [tuple(row) for row in db.execute(_SQL, (wrench,))]
    kinds = {
        "seq": "int64", "wrench": "str", "day": "float64", "reference_nm": "float64", "shown_nm": "float64",
        "error_percent": "float64", "simulated": "bool",
    }  # fmt: skip
    return pd.DataFrame(rows, columns=list(kinds)).astype(kinds)
