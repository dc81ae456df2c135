"""What can be typed of how a log is written."""

import argparse


def add_log_options(collect: argparse.ArgumentParser) -> None:
    """Add what a person declares of a log; anything else is proved by its rows, or left open."""
    log = collect.add_argument_group(
        "how a log is written", "declared where its own rows do not prove it; each goes before the layout file"
    )
    log.add_argument("--layout", metavar="FILE", help="a layout file (YAML) with all of these, and the names of its columns")
    log.add_argument("--zone", metavar="ZONE", help="of times without an offset: +01:00, or Europe/Berlin")
    log.add_argument("--unit", metavar="UNIT", help="of rows that state none")
    log.add_argument("--decimal", choices=(".", ","), help="the decimal mark; the other one then parts groups of three digits")
    log.add_argument("--dates", choices=("day-first", "month-first", "year-first"), help="the order of dates such as 03/04/2026")
    log.add_argument("--delimiter", choices=("comma", "semicolon", "tab", "bar"), help="what parts the columns")
    log.add_argument("--encoding", choices=("utf-8", "cp1252", "utf-16-le", "utf-16-be"))
