"""What the PDF says of a job, page by page, as plain texts in dicts; the template gives it its looks. Pure."""

from collections.abc import Sequence
from typing import Any

from analysis.load.places import isolated, shortened
from analysis.load.reasons import let_stand, named_unproven
from analysis.load.record import JobRecord
from analysis.report import wording
from analysis.report.orders import order_pictures
from analysis.report.pdf_fasteners import joints_content, pulled_day
from analysis.report.pdf_halves import side_by_side
from analysis.report.pdf_sections import sections_content
from schemas.words import StepWord


def pdf_content(record: JobRecord, made_at: str) -> dict[str, Any]:
    """Everything but the charts and what is said of the attached file."""
    joints = joints_content(record)
    named = named_unproven(record.fasteners)
    return {
        "simulated": record.simulated,
        "document_title": f"{'SIMULATED: ' if record.simulated else ''}Torque record, job {record.job}",
        "job": record.job,
        "workshop": record.workshop,
        "head": {"job": shortened(record.job, 20), "workshop": shortened(record.workshop, 30)},
        "made_at": wording.clock_text(made_at),
        "facts": _facts(record, made_at),
        "answer": _answer(record, named),
        "proofs": _proofs(record),
        "named": named,
        "let_stand": let_stand(record.fasteners),
        "counts": f"{_count(record.readings, 'reading')}, {len(record.strays)} of them stray; "
        f"{len(record.unreadable)} unreadable and {len(record.set_aside)} set aside.",
        "cautions": _cautions(record),
        "fingerprint": {"short": record.tree.head[:16], "size": str(record.tree.size)},
        "joints": joints,
        "pulled": pulled_day(record.fasteners),
        "verdicts": [
            f"{wording.VERDICT_SHAPES[verdict]} {verdict}: {wording.VERDICT_MEANINGS[verdict]}"
            for verdict in wording.verdicts_of(record)
        ],
        "orders": order_pictures(record.route),
        "columns": side_by_side(joints, sections_content(record)),
        "source": _source(record),
    }


def _count(rows: Sequence[object], word: str) -> str:
    return f"{len(rows)} {word}{'' if len(rows) == 1 else 's'}"


def _facts(record: JobRecord, made_at: str) -> list[dict[str, str]]:
    follows = wording.follows_text(record)
    plan = (isolated(record.plan.title), isolated(record.plan.plan), wording.revision_text(record))
    facts = {
        "Item": "(erased)" if record.item is None else record.item,
        "Order": record.order_no or "none given",
        "Fitter": wording.fitters_text(record),
        "Opened": wording.clock_text(record.opened_at),
        "Closed": wording.closed_text(record),
        "Report made": wording.clock_text(made_at),
        "Plan": ", ".join(plan),
        "Figures from": record.plan.source,
        **({} if record.p_limit is None else {"Sure from": f"p = {record.p_limit} on, as the shop asks"}),
        **({} if follows is None else {"Follows": follows}),
    }
    return [{"label": label, "value": value} for label, value in facts.items()]


def _answer(record: JobRecord, named_below: Sequence[str]) -> dict[str, Any]:
    return {
        "complete": record.complete,
        "yes": wording.complete_text(record, named_below),
        "reasons": [] if record.complete else list(record.reasons),
        "open": "" if record.closed_at is not None else "The job is not closed: more can still be recorded.",
    }


def _proofs(record: JobRecord) -> dict[str, Any]:
    rows = [
        {"proof": str(proof), "count": str(count), "any": count > 0, "meaning": wording.PROOF_MEANINGS[proof]}
        for proof, count in record.proof_counts.items()
    ]
    return {"rows": rows, "all": str(len(record.fasteners)), "of": wording.all_text(record)}


def _cautions(record: JobRecord) -> list[str]:
    return [
        "The maker's instructions, local rules and licensed practice come before any plan and before this record.",
        "This record does not say that the vehicle is safe to drive.",
        "It shows the torque reached at the fastener. Clamp force is not measured and not proved.",
        *wording.loadings_text(record.loadings),
        *wording.retorques_text(record.retorques),
        *(f"The plan says: {step.text}" for step in record.route.steps if step.word is StepWord.CAUTION),
    ]


def _source(record: JobRecord) -> dict[str, Any]:
    logs = ((f"{isolated(log.file)}, {wording.clock_text(log.at)}", log.sha256) for log in record.logs)
    hashes = [
        {"label": "Plan file", "value": record.plan.file, "hash": f"SHA-256 {record.plan.file_sha256}"},
        {"label": "Plan content", "value": "", "hash": f"SHA-256 {record.plan.content_sha256}"},
        *({"label": "Log read in", "value": log, "hash": f"SHA-256 {sha256}"} for log, sha256 in logs),
        {"label": "Database", "value": f"fingerprint over {record.tree.size} entries", "hash": record.tree.head},
    ]
    altered = (
        f"The database holds {record.tree.entries} entries, but its fingerprint covers {record.tree.size}: it was altered. "
        "Check the file."
    )
    return {"hashes": hashes, "altered": altered if record.tree.entries != record.tree.size else ""}
