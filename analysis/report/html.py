"""The report as one HTML file that needs nothing else: no script, no link, style inside; made to be printed on A4."""

from dataclasses import dataclass
from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template
from markupsafe import Markup

from analysis.load.counted import counted_text
from analysis.load.reasons import let_stand, named_unproven, why_text
from analysis.load.record import JobRecord
from analysis.load.record_pulls import FastenerRow
from analysis.report import wording
from analysis.report.joint_facts import joint_facts
from analysis.report.orders import pictures_of
from analysis.report.said import said_sections
from schemas.route import Joint
from schemas.words import Proof, StepWord

# Inside a page an SVG needs no name for its kind, and nothing in the page may look like an address.
_SVG_KIND = ' xmlns="http://www.w3.org/2000/svg"'


@dataclass(frozen=True, slots=True)
class _JointPart:
    name: str
    id: str
    facts: str
    counted: str
    loading: str
    pattern: str
    pictures: list[dict[str, object]]
    fasteners: tuple[FastenerRow, ...]


def report_html(record: JobRecord, *, made_at: str) -> bytes:
    """The report of a job in UTF-8; the same record and `made_at` (RFC 3339, UTC) give the same bytes."""
    named = named_unproven(record.fasteners)
    page = _template().render(
        record=record,
        made_at=made_at,
        fitters=wording.fitters_text(record),
        revision=wording.revision_text(record),
        complete=wording.complete_text(record, named),
        all_of=wording.all_text(record),
        closed=wording.closed_text(record),
        follows=wording.follows_text(record),
        proofs=[(proof, record.proof_counts[proof], wording.PROOF_MEANINGS[proof]) for proof in Proof],
        verdicts=[
            (verdict, wording.VERDICT_SHAPES[verdict], wording.VERDICT_MEANINGS[verdict])
            for verdict in wording.verdicts_of(record)
        ],
        named=named,
        let_stand=let_stand(record.fasteners),
        loadings=wording.loadings_text(record.loadings),
        retorques_due=wording.retorques_text(record.retorques),
        joints=[_joint_part(record, joint) for joint in record.route.joints],
        said=said_sections(record),
        cautions=[step.text for step in record.route.steps if step.word is StepWord.CAUTION],
    )
    return page.encode()


def _joint_part(record: JobRecord, joint: Joint) -> _JointPart:
    return _JointPart(
        joint.name,
        joint.id,
        joint_facts(joint),
        counted_text(record, joint.id) or "",
        next((row.text for row in record.loadings if row.joint == joint.id), ""),
        joint.pattern,
        [
            {"svg": Markup(picture.svg.replace(_SVG_KIND, "")), "caption": picture.caption} for picture in pictures_of(joint)
        ],
        record.fasteners_of(joint.id),
    )


def _capitalised(text: str) -> str:
    return text[:1].upper() + text[1:]


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
        done=wording.done_text,
        through=wording.through_text,
        why=why_text,
        capitalised=_capitalised,
        band=wording.band_text,
        band_nm=wording.band_nm_text,
        stage=wording.stage_text,
        place=wording.place_text,
        position_by=wording.position_by_text,
        checks=wording.checks_text,
    )
    return environment.get_template("report.html")
