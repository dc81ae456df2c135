"""Makes a job's report: bytes in one file, complete in itself; whoever calls it writes it and records its hash."""

from analysis.report.html import report_html

__all__ = ["report_html"]
