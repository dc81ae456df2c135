"""How it is known that no fastener of a joint was left out: a person has counted, or the readings say it. Pure."""

from decimal import Decimal

from analysis.load.record import JobRecord
from schemas.likelihood import p_shown, read_limit
from schemas.words import Proof, Said


def counted_text(record: JobRecord, joint: str) -> str | None:
    """In words, for a joint that is confirmed, or was counted by the readings at every stage; of these the least sure one.

    None for a joint in doubt, whose reasons say it, and where nobody knows: matched by order only, or nothing done yet.
    """
    rows = [row for row in record.joints if row.joint == joint]
    if not rows:
        return None
    if rows[0].confirmed:
        return _confirmed(record, joint) or None
    counts = [(Decimal(row.p_complete), row) for row in rows if row.p_complete is not None and row.tightened + row.missed]
    if rows[0].proof == Proof.DOUBTFUL or not counts or not any(row.tightened for row in rows):
        return None
    p, worst = min(counts, key=lambda count: count[0])
    head = f"stage {worst.stage}: " if len(rows) > 1 else ""
    of = worst.tightened + worst.missed
    return f"{head}{worst.tightened} of {of} by count and timing, p = {p_shown(p, read_limit(record.p_limit))}"


def _confirmed(record: JobRecord, joint: str) -> str:
    counted = [one for one in record.decisions if one.joint == joint and one.said == Said.STRIPES and one.count == one.of]
    # Who has counted them stands where everything is that persons said.
    return "".join(f"confirmed: {one.count} of {one.of} counted" for one in counted[-1:])


def lowest_p(record: JobRecord, joint: str) -> str | None:
    """The lowest probability of the readings that count for a joint, as it is kept; None where one has none."""
    pulls = (stage.reading for fastener in record.fasteners_of(joint) for stage in fastener.stages)
    known = [pull.p for pull in pulls if pull is not None]
    return None if None in known or not known else min((p for p in known if p is not None), key=Decimal)
