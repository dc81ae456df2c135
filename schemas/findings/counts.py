"""How many fasteners there are, where a table did not say it."""

from collections.abc import Iterator

from schemas.findings.finding import PlanFinding, finding
from schemas.findings.subject import Subject


def count_findings(subject: Subject) -> Iterator[PlanFinding]:
    """One finding for a whole plan whose fasteners were counted by the rows of its table."""
    if subject.loaded.written.counted is not None:
        what = "no column of the table says how many fasteners a joint has, so each row was taken as one fastener"
        yield finding("count-not-stated", None, subject.loaded.tree.line(("counted",)), what)
