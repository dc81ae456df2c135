"""Reads the audit database and never writes it: load, report, verify."""
