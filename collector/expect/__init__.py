"""What comes next, and where a reading belongs: by `probable` in a running job, by `smooth_job` in a whole one."""
