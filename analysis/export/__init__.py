"""Readings, tightenings and checks of the audit database as tables for a spreadsheet: CSV and XLSX."""

from analysis.export.columns import What
from analysis.export.csv_file import write_csv
from analysis.export.rows import Export, Scope, open_export

__all__ = ["Export", "Scope", "What", "open_export", "write_csv"]
