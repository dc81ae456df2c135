"""The report as one HTML file that needs nothing else: no script, no link, style inside; made to be printed on A4."""

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from analysis.load.reasons import named_unproven
from analysis.load.record import FastenerRow, JobRecord
from analysis.report import wording
from schemas.route import Joint
from schemas.words import Proof, StepWord, Verdict


def report_html(record: JobRecord, *, made_at: str) -> bytes:
    """The report of a job in UTF-8; the same record and `made_at` (RFC 3339, UTC) give the same bytes."""
    page = _template().render(
        record=record,
        made_at=made_at,
        proofs=[(proof, record.proof_counts[proof], wording.PROOF_MEANINGS[proof]) for proof in Proof],
        verdicts=[(verdict, wording.VERDICT_SHAPES[verdict], wording.VERDICT_MEANINGS[verdict]) for verdict in Verdict],
        named=named_unproven(record.fasteners),
        retorques_due=wording.retorques_text(record.retorques),
        joints=[(joint, _fasteners_of(record, joint)) for joint in record.route.joints],
        cautions=[step.text for step in record.route.steps if step.word is StepWord.CAUTION],
    )
    return page.encode()


def _fasteners_of(record: JobRecord, joint: Joint) -> list[FastenerRow]:
    return [fastener for fastener in record.fasteners if fastener.joint == joint.id]


@lru_cache(maxsize=1)
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("analysis.report", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=wording.with_visible_controls,
    )
    environment.filters.update(
        free=wording.free_text,
        clock=wording.clock_text,
        tool_clock=wording.tool_clock_text,
        verdict=wording.verdict_text,
        value=wording.value_text,
        shown=wording.shown_text,
        band=wording.band_text,
        band_nm=wording.band_nm_text,
        stage=wording.stage_text,
        place=wording.place_text,
        checks=wording.checks_text,
    )
    return environment.get_template("report.html")
