"""What can be typed after `witnessmark plan`."""

import argparse

from collector.cli.parser_parts import Commands, add_command, add_group, database, ignored


def add_plan(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the actions on plans."""
    plan = add_group(commands, "plan", "job plans")
    check = add_command(plan, "check", "plan:run_check", "look for mistakes in a plan")
    check.add_argument("plan", metavar="PLAN")
    ignored(check)
    database(check)
    diff = add_command(plan, "diff", "plan_diff:run_diff", "what a plan says differently from another; 1 where it does")
    diff.add_argument("before", metavar="A")
    diff.add_argument("after", metavar="B")
    diff.add_argument("--json", action="store_true", help="answer as JSON on standard output")
    add_command(plan, "schema", "plan:run_schema", "print the JSON Schema of a plan")
    _add_ways(plan)
    _add_paper(plan)


def _add_ways(plan: "Commands[argparse.ArgumentParser]") -> None:
    new = add_command(plan, "new", "plan_new:run_new", "a plan out of lines as they are read aloud")
    new.add_argument("lines", metavar="LINES.txt", nargs="?", help="one line a joint (default: typed, or standard input)")
    where = new.add_mutually_exclusive_group(required=True)
    where.add_argument("--to", metavar="PLAN.yaml", help="write a new plan")
    where.add_argument("--into", metavar="PLAN.yaml", help="add to this one; the rest of the file stays as it is")
    for field in ("title", "revision", "source", "unit", "tolerance"):
        new.add_argument(f"--{field}", metavar="TEXT", help="as in a plan")
    export = add_command(plan, "export", "plan_export:run_export", "a plan as .xlsx, .csv or .yaml")
    export.add_argument("plan", metavar="PLAN")
    export.add_argument("--to", required=True, metavar="FILE")
    ignored(export)
    accept = add_command(plan, "accept", "plan_accept:run_accept", "let a finding stand, with the reason")
    accept.add_argument("plan", metavar="PLAN")
    accept.add_argument("--finding", required=True, metavar="ID")
    accept.add_argument("--joint", action="append", metavar="ID", help="for this joint alone (may stand again; default: all)")
    accept.add_argument("--reason", required=True, metavar="TEXT")


def _add_paper(plan: "Commands[argparse.ArgumentParser]") -> None:
    sheet = add_command(plan, "sheet", "sheet:run_sheet", "write a plan as a work sheet on paper, with a box for every fastener")
    sheet.add_argument("plan", metavar="PLAN")
    sheet.add_argument("--to", required=True, metavar="FILE.pdf", help="file to write")
    sheet.add_argument("--item", default="", metavar="ID", help="item to print; else there is a line to write it on")
    sheet.add_argument("--order", default="", metavar="NO", help="order number to print")
    picture = add_command(plan, "picture", "sheet:run_picture", "draw the positions of one joint and their order, as SVG")
    picture.add_argument("plan", metavar="PLAN")
    picture.add_argument("--joint", required=True, metavar="ID")
    picture.add_argument("--to", required=True, metavar="FILE.svg", help="file to write")
