"""Writes the audit database: one writer, the ledger and its projections in one transaction."""
