"""What can be typed: every command with its options. Nothing slow is imported here."""

import argparse

from collector.cli import parser_collect, parser_habits, parser_job, parser_listen, parser_plan, parser_wire
from collector.cli.parser_parts import EPILOG, Commands, add_command, add_group, database, pace


def parser() -> argparse.ArgumentParser:
    """The parser of the whole command line; what it gives names the function to run in `run`."""
    whole = argparse.ArgumentParser(
        prog="witnessmark",
        description="Shows, fastener by fastener, that a job was torqued: in order, to value, with a wrench that was fit.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    whole.add_argument("--version", action="store_const", const="place:show_version", dest="run", help="program, formats")
    commands = whole.add_subparsers(metavar="COMMAND", title="commands")
    _add_demo(commands)
    parser_plan.add_plan(commands)
    parser_job.add_job(commands)
    parser_collect.add_collect(commands)
    parser_wire.add_wire(commands)
    ports = add_command(commands, "ports", "ports:run_ports", "the serial ports of this machine, with what to type to read one")
    ports.add_argument("--json", action="store_true", help="answer as JSON on standard output")
    parser_listen.add_listen(commands)
    _add_wrench(commands)
    parser_habits.add_habits(commands)
    _add_export(commands)
    _add_files(commands)
    whole.set_defaults(run="place:show_help", parser=whole)
    return whole


def _add_demo(commands: "Commands[argparse.ArgumentParser]") -> None:
    demo = add_command(commands, "demo", "demo:run_demo", "a whole made-up day in a workshop, no hardware, under a minute")
    demo.add_argument("--seed", type=int, default=1, help="another day (default 1); the same seed gives the same readings")
    demo.add_argument("--folder", default="witnessmark-demo", help="where the files go (default witnessmark-demo, must be new)")
    demo.add_argument("--pace", type=pace, default=0.15, metavar="SECONDS", help="real time between two acts (default 0.15)")


def _add_wrench(commands: "Commands[argparse.ArgumentParser]") -> None:
    wrench = add_group(commands, "wrench", "the register of wrenches")
    add = add_command(wrench, "add", "wrench:run_add", "add a wrench to the register")
    add.add_argument("wrench", metavar="ID")
    add.add_argument("--serial", required=True, metavar="TEXT")
    add.add_argument("--type", required=True, choices=("setting", "indicating"))
    add.add_argument("--low", required=True, metavar="TORQUE", help="lower end of its usable range")
    add.add_argument("--high", required=True, metavar="TORQUE", help="upper end of its usable range")
    add.add_argument("--unit", required=True, help="N·m, lbf·ft, lbf·in, kgf·m and their usual spellings")
    add.add_argument("--measures", required=True, choices=("highest", "first", "click", "set"), help="what its value is")
    add.add_argument("--limit", metavar="PERCENT", help="permissible error to either side (default 4, or 6 up to 10 N·m)")
    calibrate = add_command(wrench, "calibrate", "wrench:run_calibrate", "record a laboratory's calibration of a wrench")
    calibrate.add_argument("wrench", metavar="ID")
    calibrate.add_argument("--certificate", required=True, metavar="TEXT")
    calibrate.add_argument("--on", required=True, metavar="DATE", help="day of the calibration, as 2026-01-31")
    calibrate.add_argument("--due", required=True, metavar="DATE", help="last day on which it is in date")
    calibrate.add_argument("--adjusted", action="store_true", help="it was set anew: its drift line begins again on that day")
    check = add_command(wrench, "check", "check:run_check", "keep a check of a wrench against a reference, or a file of checks")
    check.add_argument("wrench", metavar="ID", nargs="?")
    check.add_argument("--reference", metavar="TORQUE", help="what the reference read")
    check.add_argument("--shown", metavar="TORQUE", help="what the wrench showed, or was set to")
    check.add_argument("--unit", help="of both (default: the wrench's own)")
    check.add_argument("--at", metavar="TIME", help="day or ISO 8601 time of the check (default now)")
    check.add_argument("--from", dest="file", metavar="FILE", help="CSV or XLSX with time,wrench,reference,shown,unit")
    check.add_argument("--zone", metavar="ZONE", help="of times without an offset: +01:00, or Europe/Berlin")
    check.add_argument("--void", type=int, metavar="ENTRY", help="take back the check in that entry of the ledger")
    check.add_argument("--why", metavar="TEXT", help="the reason, with --void")
    length = add_command(
        wrench, "length", "wrench:run_length", "enter a wrench's length from drive to grip mark, for offset adapters"
    )
    length.add_argument("wrench", metavar="ID")
    length.add_argument("--length", required=True, metavar="LENGTH", help="with its unit, such as 450 mm")
    for command in (add, calibrate, check, length):
        command.add_argument("--by", default="not named", metavar="NAME", help="who enters it")
        database(command, json=command is check)
    drift = add_command(
        wrench, "drift", "drift:run_drift", "how the error of a wrench goes over time, and when it leaves its limit"
    )
    drift.add_argument("wrench", metavar="ID")
    drift.add_argument("--chart", metavar="FILE", help="draw it too, as FILE.png or FILE.svg")
    database(drift)
    database(add_command(wrench, "list", "drift:run_list", "every wrench, what has to be done first on top"))


def _add_export(commands: "Commands[argparse.ArgumentParser]") -> None:
    export = add_command(commands, "export", "export:run_export", "readings, tightenings or checks as a table for a spreadsheet")
    rows = "one row a reading, a fastener's stage, or a check"
    export.add_argument("what", choices=("readings", "tightenings", "checks"), help=rows)
    export.add_argument("--to", required=True, metavar="FILE", help="FILE.csv or FILE.xlsx; `-` for CSV on standard output")
    export.add_argument("--job", metavar="JOB", help="readings or tightenings of this job alone (default: all)")
    export.add_argument("--wrench", metavar="ID", help="checks of this wrench alone (default: all)")
    database(export, json=False)


def _add_files(commands: "Commands[argparse.ArgumentParser]") -> None:
    verify = add_command(
        commands, "verify", "verify:run_verify", "recompute an audit database and say whether anything was altered"
    )
    verify.add_argument("file", metavar="FILE")
    verify.add_argument("--json", action="store_true", help="answer as JSON on standard output")
    rebuild = add_command(commands, "rebuild", "verify:run_rebuild", "make the derived tables anew from the ledger")
    rebuild.add_argument("file", metavar="FILE")
