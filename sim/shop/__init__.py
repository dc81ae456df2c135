"""Whole days of made-up fitters as logs, each with its truth beside it: what a matcher is measured with."""
