"""The shape of the audit database: the ledger, which is the truth, and the projections, which are made from it.

One file, usable by any SQL tool. STRICT and NOT NULL; digits as sent stand in TEXT beside a REAL for charts.
"""

from dataclasses import dataclass

APPLICATION_ID = 0x574D4B31
"""ASCII `WMK1`; `file` shows it."""
SCHEMA_VERSION = 4
"""Of the derived tables; the ledger's own tables are those of version 1 for good."""
DERIVED_STEP = f"derived-{SCHEMA_VERSION}"
"""The name under which a file notes that its derived tables were brought to this version."""
LEDGER_FORMAT = 1
PLAN_FORMAT = 2

Value = str | int | float | None
Row = tuple[Value, ...]

LEDGER_SQL = (
    "CREATE TABLE ledger (seq INTEGER PRIMARY KEY, entry TEXT NOT NULL, "
    "leaf BLOB NOT NULL CHECK (length(leaf) = 32)) STRICT",
    # The job and the kind are inside the entry; an index over the text itself can never differ from it.
    "CREATE INDEX ledger_job ON ledger (json_extract(entry, '$.body.job'))",
    "CREATE INDEX ledger_kind ON ledger (json_extract(entry, '$.kind'))",
    "CREATE TABLE tree_head (size INTEGER PRIMARY KEY, root BLOB NOT NULL CHECK (length(root) = 32)) STRICT",
    # Names, customers and plates: the ledger holds SHA-256 over salt and value; erasing a row here erases the name.
    "CREATE TABLE private (seq INTEGER NOT NULL REFERENCES ledger (seq), field TEXT NOT NULL, salt TEXT NOT NULL, "
    "value TEXT NOT NULL, PRIMARY KEY (seq, field)) STRICT",
)

TRIGGER_SQL = tuple(
    f"CREATE TRIGGER {table}_{event.lower()} BEFORE {event} ON {table} {when}"
    f"BEGIN SELECT RAISE(ABORT, '{table} is append-only: write a correction as a new entry'); END"
    for table, key in (("ledger", "seq"), ("tree_head", "size"))
    for event, when in (
        ("UPDATE", ""),
        ("DELETE", ""),
        # INSERT OR REPLACE fires no delete trigger, so an insert over a key needs a guard of its own. For the ledger the
        # guard also keeps the numbers without a gap.
        (
            "INSERT",
            f"WHEN NEW.{key} IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM ledger) "
            if table == "ledger"
            else f"WHEN NEW.{key} <= (SELECT coalesce(max(size), 0) FROM tree_head) ",
        ),
    )
)


@dataclass(frozen=True, slots=True)
class Table:
    """A projection table: `columns` as (name, SQL type with nullness), the first `keys` of them the primary key."""

    name: str
    columns: tuple[tuple[str, str], ...]
    keys: int = 1

    @property
    def names(self) -> tuple[str, ...]:
        """The column names."""
        return tuple(name for name, _ in self.columns)

    def create_sql(self) -> str:
        """The statement that makes the table."""
        columns = ", ".join(f"{name} {kind}" for name, kind in self.columns)
        return f"CREATE TABLE {self.name} ({columns}, PRIMARY KEY ({', '.join(self.names[: self.keys])})) STRICT"

    def upsert_sql(self) -> str:
        """The statement that puts a row, over an older one of the same key."""
        marks = ", ".join("?" * len(self.columns))
        rest = ", ".join(f"{name} = excluded.{name}" for name in self.names[self.keys :])
        keys = ", ".join(self.names[: self.keys])
        return (
            f"INSERT INTO {self.name} ({', '.join(self.names)}) VALUES ({marks}) "
            f"ON CONFLICT ({keys}) DO {f'UPDATE SET {rest}' if rest else 'NOTHING'}"
        )

    def delete_sql(self) -> str:
        """The statement that takes out the row of a key."""
        return f"DELETE FROM {self.name} WHERE {' AND '.join(f'{name} = ?' for name in self.names[: self.keys])}"

    def select_sql(self) -> str:
        """The statement that reads every row in the order of the key."""
        return f"SELECT {', '.join(self.names)} FROM {self.name} ORDER BY {', '.join(self.names[: self.keys])}"


def _table(name: str, text: str, keys: int = 1) -> Table:
    """A table from `column type` lines; a type is NOT NULL unless it ends in a question mark."""
    columns = []
    for line in text.split(";"):
        column, kind = line.split()
        columns.append((column, kind[:-1] if kind.endswith("?") else f"{kind} NOT NULL"))
    return Table(name, tuple(columns), keys)


PERSON = _table("person", "person TEXT; seq INTEGER")
PLAN = _table("plan", "seq INTEGER; plan TEXT; title TEXT; revision TEXT; source TEXT; content_sha256 TEXT; file TEXT")
WRENCH = _table(
    "wrench",
    "wrench TEXT; seq INTEGER; serial TEXT; type TEXT; low TEXT; high TEXT; unit TEXT; measures TEXT; certificate TEXT?;"
    "calibrated_on TEXT?; due_on TEXT?; span_low_nm TEXT?; span_high_nm TEXT?; simulated INTEGER; limit_percent TEXT;"
    "adjusted_on TEXT?; length_mm TEXT?",
)
WRENCH_CHECK = _table(
    "wrench_check",
    "seq INTEGER; wrench TEXT; at TEXT; day REAL; by TEXT; reference TEXT; shown TEXT; unit TEXT; reference_nm TEXT;"
    "shown_nm TEXT; reference_nm_real REAL; error_percent REAL; file INTEGER?; line INTEGER?; identity TEXT?; void TEXT?;"
    "simulated INTEGER",
)
JOB = _table(
    "job",
    "job TEXT; seq INTEGER; plan_seq INTEGER; plan TEXT; revision TEXT; order_no TEXT; fitter TEXT; workshop TEXT;"
    "opened_at TEXT; closed_at TEXT?; simulated INTEGER; complete INTEGER; fasteners INTEGER; proven INTEGER;"
    "declared INTEGER; not_fitted INTEGER; doubtful INTEGER; left_loose INTEGER; missed INTEGER; failed INTEGER;"
    "readings INTEGER; strays INTEGER; unreadable INTEGER; set_aside INTEGER; unsigned INTEGER; missing_numbers INTEGER;"
    "follows TEXT?; step INTEGER?; distance TEXT?; outcome TEXT?; outcome_reason TEXT?; p_complete TEXT?; p_limit TEXT?",
)
JOINT = _table(
    "joint",
    "job TEXT; joint TEXT; stage INTEGER; stages INTEGER; name TEXT; fasteners INTEGER; tightened INTEGER; missed INTEGER;"
    "under INTEGER; over INTEGER; proof TEXT; p_complete TEXT?; confirmed INTEGER",
    3,
)
FASTENER = _table("fastener", "job TEXT; joint TEXT; position INTEGER; proof TEXT; why TEXT", 3)
TIGHTENING = _table(
    "tightening", "job TEXT; joint TEXT; position INTEGER; stage INTEGER; reading INTEGER?; verdict TEXT?", 4
)
READING = _table(
    "reading",
    "seq INTEGER; job TEXT; n INTEGER; at TEXT; by TEXT; frame INTEGER?; log INTEGER?; line INTEGER?; identity TEXT?;"
    "wrench TEXT?; measures TEXT?; torque TEXT?; unit TEXT?; torque_nm TEXT?; torque_nm_real REAL?; over_range INTEGER;"
    "sequence INTEGER?; tool_time TEXT?; angle_deg TEXT?; notes TEXT; fit INTEGER; unfit TEXT?; joint TEXT?;"
    "stage INTEGER?; position INTEGER?; position_by TEXT?; kind TEXT?; verdict TEXT?; p TEXT?; reason TEXT?; low_nm TEXT?;"
    "high_nm TEXT?; match_seq INTEGER?; revisions INTEGER; simulated INTEGER; angle_low TEXT?; angle_high TEXT?;"
    "adapter TEXT?; drag TEXT?; length_mm TEXT?",
)
NOT_READ = _table(
    "not_read",
    "seq INTEGER; job TEXT; at TEXT; fate TEXT; reason TEXT; frame INTEGER?; log INTEGER?; line INTEGER?; raw TEXT?;"
    "identity TEXT?; simulated INTEGER",
)
DECISION = _table(
    "decision",
    "seq INTEGER; job TEXT; at TEXT; by TEXT; said TEXT; joint TEXT?; position INTEGER?; count INTEGER?; of INTEGER?;"
    "reading INTEGER?; simulated INTEGER; reason TEXT?; value TEXT?; unit TEXT?; tool TEXT?; lot TEXT?; step INTEGER?",
)
SIGNATURE = _table(
    "signature",
    "seq INTEGER; job TEXT; at TEXT; by TEXT; role TEXT; hold_point TEXT?; snug TEXT?; simulated INTEGER; second TEXT?;"
    "value TEXT?; unit TEXT?",
)
HAND_OVER = _table(
    "hand_over",
    "seq INTEGER; job TEXT; at TEXT; by TEXT; signs TEXT; leaver TEXT; taker TEXT; open TEXT; simulated INTEGER",
)
JOINT_ADDED = _table(
    "joint_added", "seq INTEGER; job TEXT; at TEXT; by TEXT; joint TEXT; name TEXT; fasteners INTEGER; source TEXT"
)
PLAN_CHANGED = _table("plan_changed", "seq INTEGER; job TEXT; at TEXT; by TEXT; plan_seq INTEGER; reason TEXT")
LINK = _table(
    "link", "seq INTEGER; job TEXT; at TEXT; source TEXT; link TEXT; joint TEXT?; detail TEXT?; simulated INTEGER"
)
REPORT = _table(
    "report", "seq INTEGER; job TEXT; at TEXT; by TEXT; form TEXT; sha256 TEXT; length INTEGER; tree_size INTEGER; tree_head TEXT"
)

PROJECTIONS: tuple[Table, ...] = (
    PERSON, PLAN, WRENCH, WRENCH_CHECK, JOB, JOINT, FASTENER, TIGHTENING, READING, NOT_READ, DECISION, SIGNATURE, LINK, REPORT,
    HAND_OVER, JOINT_ADDED, PLAN_CHANGED,
)  # fmt: skip
INDEX_SQL = (
    "CREATE INDEX reading_job ON reading (job, n)",
    "CREATE UNIQUE INDEX reading_identity ON reading (identity) WHERE identity IS NOT NULL",
    "CREATE UNIQUE INDEX not_read_identity ON not_read (identity) WHERE identity IS NOT NULL",
    "CREATE INDEX reading_wrench ON reading (wrench, seq)",
    "CREATE INDEX wrench_check_wrench ON wrench_check (wrench, day)",
    "CREATE UNIQUE INDEX wrench_check_identity ON wrench_check (identity) WHERE identity IS NOT NULL",
)


def derived_sql() -> tuple[str, ...]:
    """Every statement that makes the derived tables of the present version, in order."""
    return (*(table.create_sql() for table in PROJECTIONS), *INDEX_SQL)


def schema_sql() -> tuple[str, ...]:
    """Every statement that makes the present schema, in order."""
    return (*LEDGER_SQL, *TRIGGER_SQL, *derived_sql())
