"""The report as PDF/A-3a and PDF/UA-1: the short form on paper, with the full record for machines attached inside."""

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typst

from analysis.load.places import isolated
from analysis.load.record import JobRecord
from analysis.report.attached import attached_json, attached_name
from analysis.report.pdf_content import pdf_content
from analysis.report.typeset import typeset
from schemas.errors import RecordError

_TEMPLATE = Path(__file__).with_name("report.typ")


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart of a wrench for the report; `alt` says in words what it shows, `others` stands below as lines.

    `svg` is UTF-8, or None where the chart could not be drawn: a line in its place says so.
    """

    wrench: str
    title: str = ""
    alt: str = ""
    svg: bytes | None = None
    others: tuple[str, ...] = ()


def report_pdf(record: JobRecord, charts: tuple[Chart, ...], *, made_at: str) -> bytes:
    """The report of a job; the same record, charts and `made_at` (RFC 3339, UTC) give the same bytes.

    A sign that the report's fonts lack is written out as its code point, and page one says so. RecordError where a
    chart is no SVG that can be drawn.
    """
    content = pdf_content(record, made_at)
    attached = attached_json(record, made_at)
    content["attached"] = {
        "name": attached_name(record.job),
        "file_name": attached_name(record.job),
        "readings": str(len(record.readings)),
        "sha256": hashlib.sha256(attached).hexdigest(),
    }
    content["charts"] = [_chart(chart) for chart in charts]
    try:
        return typeset(_TEMPLATE, content, made_at, attached=attached.decode())
    except typst.TypstError as error:
        what = f"the PDF cannot be made ({error.message}); make the report as HTML instead"
        raise RecordError(f"job `{record.job}`: {what}") from error


def _chart(chart: Chart) -> dict[str, Any]:
    if chart.svg is None:
        return {"svg": None, "others": [f"The chart of wrench {isolated(chart.wrench)} could not be drawn.", *chart.others]}
    return {"title": chart.title, "alt": chart.alt, "svg": chart.svg.decode(), "others": list(chart.others)}
