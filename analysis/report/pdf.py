"""The report as PDF/A-3a and PDF/UA-1: the short form on paper, with the full record for machines attached inside."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

import typst

from analysis.load.places import isolated
from analysis.load.record import JobRecord
from analysis.report.attached import attached_json, attached_name
from analysis.report.pdf_content import pdf_content
from analysis.report.printable import FONTS, Printable, in_ascii
from schemas.errors import RecordError

_TEMPLATE = Path(__file__).with_name("report.typ")

# Read by a machine or aloud and not set as text of ours, so without marks for a line's end or direction.
_NOT_SET = frozenset({"alt", "document_title", "file_name", "svg"})
_NO_SUCH_SIGN = ("could not be displayed", "codepoint")


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
    page = _Page(content, attached.decode(), datetime.fromisoformat(made_at).replace(microsecond=0))
    try:
        return page.set_with(Printable())
    except typst.TypstError as error:
        if not any(sign in error.message for sign in _NO_SUCH_SIGN):
            raise _not_made(record.job, error) from error
    # The font has each of the signs, yet not as they stand together; plain letters are always there.
    try:
        return page.set_with(Printable(in_ascii))
    except typst.TypstError as error:
        raise _not_made(record.job, error) from error


def _chart(chart: Chart) -> dict[str, Any]:
    if chart.svg is None:
        return {"svg": None, "others": [f"The chart of wrench {isolated(chart.wrench)} could not be drawn.", *chart.others]}
    return {"title": chart.title, "alt": chart.alt, "svg": chart.svg.decode(), "others": list(chart.others)}


def _not_made(job: str, error: typst.TypstError) -> RecordError:
    return RecordError(f"job `{job}`: the PDF cannot be made ({error.message}); make the report as HTML instead")


@dataclass(frozen=True, slots=True)
class _Page:
    content: dict[str, Any]
    attached: str
    made: datetime

    def set_with(self, printable: Printable) -> bytes:
        """The PDF with every text made printable."""
        texts = _each_text(self.content, printable, "")
        texts["missing_signs"] = len(printable.missing)
        inputs = {"content": json.dumps(texts, ensure_ascii=False), "attached": self.attached}
        # A compiler is made for each report, so that two threads never share one.
        compiler = typst.Compiler(_TEMPLATE, root=_TEMPLATE.parent, font_paths=_fonts())
        pdf = compiler.compile(format="pdf", sys_inputs=inputs, pdf_standards=["a-3a", "ua-1"], timestamp=self.made)
        # A list comes only for pictures of several pages, and None only where a file to write is named.
        return cast(bytes, pdf)


def _each_text(value: Any, printable: Printable, key: str) -> Any:  # noqa: ANN401  # JSON of any shape
    if isinstance(value, dict):
        return {name: _each_text(inner, printable, name) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_each_text(inner, printable, key) for inner in value]
    if not isinstance(value, str):
        return value
    return printable.plain(value) if key in _NOT_SET else printable.cell(value)


@lru_cache(maxsize=1)
def _fonts() -> typst.Fonts:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])
