"""Measures the numbers that the whole must reach, each side by side with its baseline in one run; never in a timed test."""
