"""The rows of one job in the database, and the names of the persons and joints that they speak of."""

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

from analysis.load.routes import Routes
from schemas.route import Joint


@dataclass(frozen=True, slots=True)
class Source:
    """Where a job is read from; `persons` are names by id, `routes` those that the job went by."""

    db: sqlite3.Connection
    job: str
    persons: Mapping[str, str]
    routes: Routes
    joints: Mapping[str, Joint]

    def rows(self, table: str, order: str = "seq") -> list[sqlite3.Row]:
        """The job's rows of a table."""
        return self.db.execute(f"SELECT * FROM {table} WHERE job = ? ORDER BY {order}", (self.job,)).fetchall()

    def name(self, person: str) -> str:
        """The name of a person, the id where there is none."""
        return self.persons.get(person, person)

    def joint_name(self, joint: str | None) -> str | None:
        """The name of a joint, of one that a later revision took out the last that it had; the id where no route has it."""
        found = self.joints.get(joint or "") or self.routes.last_joint(joint)
        return joint if found is None else found.name
