"""Reads the audit database, never writes it: the list of jobs, and all that a report or an answer says of one job."""

from analysis.load.answer import job_json
from analysis.load.database import open_audit
from analysis.load.job import load_job
from analysis.load.jobs import load_jobs
from analysis.load.record import JobRecord, JobSummary

__all__ = ["JobRecord", "JobSummary", "job_json", "load_job", "load_jobs", "open_audit"]
