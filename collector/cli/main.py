"""The command `witnessmark`: reads the command line, runs one command, turns our errors into one line and exit 2."""

import argparse
import io
import math
import sys
from collections.abc import Sequence
from importlib import import_module

from schemas.errors import AuditError

EPILOG = """Support and secure the vehicle first. Do not watch the screen while pulling. The maker's instructions and local
rules override any plan. The record says which torque was reached; it does not say that a vehicle is safe to drive.
Exit: 0 clean, 1 findings (missed, under, doubtful, altered, a wrench outside its limit), 2 could not do it. A list is 0."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; gives 0 clean, 1 findings, 2 could not do it."""
    for stream in (sys.stdout, sys.stderr):
        # A sign that the terminal cannot show is written out, not a reason to fail.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    chosen = _parser().parse_args(arguments)
    module, _, function = chosen.run.partition(":")
    try:
        # A command's own imports are slow; they are made only for the command that is run.
        return int(getattr(import_module(f"collector.cli.{module}"), function)(chosen))
    except AuditError as error:
        print(f"witnessmark: {error}", file=sys.stderr)  # noqa: T201
        return 2
    except KeyboardInterrupt:
        print("witnessmark: stopped; what was shown as recorded is there", file=sys.stderr)  # noqa: T201
        return 2
    except BrokenPipeError:
        sys.stderr.close()
        return 2
    except OSError as error:
        print(f"witnessmark: {error.filename or 'output'}: {error.strerror}; check the place and its space", file=sys.stderr)  # noqa: T201
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="witnessmark",
        description="Shows, fastener by fastener, that a job was torqued: in order, to value, with a wrench that was fit.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="store_const", const="place:show_version", dest="run", help="program, formats")
    commands = parser.add_subparsers(metavar="COMMAND", title="commands")
    _add_demo(commands)
    _add_plan(commands)
    _add_job(commands)
    _add_collect(commands)
    _add_wrench(commands)
    _add_export(commands)
    _add_files(commands)
    parser.set_defaults(run="place:show_help", parser=parser)
    return parser


Commands = argparse._SubParsersAction  # argparse has no public name for it


def _command(commands: "Commands[argparse.ArgumentParser]", name: str, run: str, text: str) -> argparse.ArgumentParser:
    command = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".", epilog=EPILOG)
    command.set_defaults(run=run)
    return command


def _group(commands: "Commands[argparse.ArgumentParser]", name: str, text: str) -> "Commands[argparse.ArgumentParser]":
    group = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    group.set_defaults(run="place:show_help", parser=group)
    return group.add_subparsers(metavar="ACTION", title="actions")


def _database(command: argparse.ArgumentParser, json: bool = True) -> None:
    command.add_argument("--db", metavar="FILE", help="audit database (else WITNESSMARK_DB, else the platform's data folder)")
    if json:
        command.add_argument("--json", action="store_true", help="answer as JSON on standard output")


def _pace(text: str) -> float:
    pace = float(text)
    if not 0 <= pace < math.inf:
        raise argparse.ArgumentTypeError(f"{text}: not a number of seconds from 0 on")
    return pace


def _add_demo(commands: "Commands[argparse.ArgumentParser]") -> None:
    demo = _command(commands, "demo", "demo:run_demo", "a whole made-up day in a workshop, no hardware, under a minute")
    demo.add_argument("--seed", type=int, default=1, help="another day (default 1); the same seed gives the same readings")
    demo.add_argument("--folder", default="witnessmark-demo", help="where the files go (default witnessmark-demo, must be new)")
    demo.add_argument("--pace", type=_pace, default=0.15, metavar="SECONDS", help="real time between two acts (default 0.15)")


def _add_plan(commands: "Commands[argparse.ArgumentParser]") -> None:
    plan = _group(commands, "plan", "job plans")
    check = _command(plan, "check", "plan:run_check", "look for mistakes in a plan")
    check.add_argument("plan", metavar="PLAN")
    _database(check)
    _command(plan, "schema", "plan:run_schema", "print the JSON Schema of a plan")


def _add_job(commands: "Commands[argparse.ArgumentParser]") -> None:
    job = _group(commands, "job", "open, list, show, report and close jobs")
    opened = _command(job, "open", "job:run_open", "open a job on one item after a plan; prints the job's number")
    opened.add_argument("plan", metavar="PLAN")
    opened.add_argument("--item", required=True, metavar="ID", help="plate, serial number or other identity of the item")
    opened.add_argument("--order", default="", metavar="NO", help="order number")
    opened.add_argument("--fitter", default="not named", metavar="NAME")
    _database(opened)
    _database(_command(job, "list", "job:run_list", "every job in one line"))
    for name, run, text in (
        ("show", "job:run_show", "what the record says of one job"),
        ("report", "report:run_report", "write the report of one job, as PDF and as a self-contained HTML file"),
        ("close", "job:run_close", "close a job: nothing is added to it afterwards"),
        ("opened", "job:run_opened", "record that a fastener, or a whole joint, was opened: every stage has to be done again"),
        ("decide", "job:run_decide", "record the lead's decision on an over-torque"),
        ("sign", "job:run_sign", "sign a hold point away from the bench"),
    ):
        command = _command(job, name, run, text)
        command.add_argument("job", metavar="JOB")
        _database(command, json=name == "show")
        if name == "report":
            command.add_argument("--to", metavar="FILE", help="FILE.pdf or FILE.html (default both, job-NUMBER here)")
        elif name != "show":
            command.add_argument("--by", required=True, metavar="NAME", help="the person who says it")
        if name in ("opened", "decide"):
            command.add_argument("--joint", required=True, metavar="ID")
            command.add_argument("--position", type=int, required=name == "decide", metavar="N")
        if name == "decide":
            command.add_argument("--as", dest="said", required=True, choices=("inspected", "replaced"))
        if name == "sign":
            command.add_argument("--hold-point", required=True, metavar="ID")


def _add_collect(commands: "Commands[argparse.ArgumentParser]") -> None:
    collect = _command(commands, "collect", "collect:run_collect", "read a wrench or a log into a job after a plan")
    collect.add_argument("plan", metavar="PLAN")
    collect.add_argument(
        "--from", dest="source", required=True, metavar="SOURCE", help="serial:PORT, log:FILE.csv or sim:rear-axle"
    )
    collect.add_argument("--job", metavar="JOB", help="the job to go on with (needed where several are open)")
    collect.add_argument("--fitter", metavar="NAME", help="who is at the bench (default: the job's fitter)")
    collect.add_argument("--wire", metavar="FILE", help="wire format of a serial wrench (default: plain-line)")
    collect.add_argument("--baud", type=int, default=9600, help="speed of a serial port (default 9600)")
    collect.add_argument("--wrench", metavar="ID", help="the wrench in use where its records do not name it")
    collect.add_argument("--seed", type=int, default=1, help="of a simulated day")
    collect.add_argument("--pace", type=_pace, default=0.15, metavar="SECONDS", help="of a simulated day")
    _database(collect)


def _add_wrench(commands: "Commands[argparse.ArgumentParser]") -> None:
    wrench = _group(commands, "wrench", "the register of wrenches")
    add = _command(wrench, "add", "wrench:run_add", "add a wrench to the register")
    add.add_argument("wrench", metavar="ID")
    add.add_argument("--serial", required=True, metavar="TEXT")
    add.add_argument("--type", required=True, choices=("setting", "indicating"))
    add.add_argument("--low", required=True, metavar="TORQUE", help="lower end of its usable range")
    add.add_argument("--high", required=True, metavar="TORQUE", help="upper end of its usable range")
    add.add_argument("--unit", required=True, help="N·m, lbf·ft, lbf·in, kgf·m and their usual spellings")
    add.add_argument("--measures", required=True, choices=("highest", "first", "click", "set"), help="what its value is")
    add.add_argument("--limit", metavar="PERCENT", help="permissible error to either side (default 4, or 6 up to 10 N·m)")
    calibrate = _command(wrench, "calibrate", "wrench:run_calibrate", "record a laboratory's calibration of a wrench")
    calibrate.add_argument("wrench", metavar="ID")
    calibrate.add_argument("--certificate", required=True, metavar="TEXT")
    calibrate.add_argument("--on", required=True, metavar="DATE", help="day of the calibration, as 2026-01-31")
    calibrate.add_argument("--due", required=True, metavar="DATE", help="last day on which it is in date")
    calibrate.add_argument("--adjusted", action="store_true", help="it was set anew: its drift line begins again on that day")
    check = _command(wrench, "check", "check:run_check", "keep a check of a wrench against a reference, or a file of checks")
    check.add_argument("wrench", metavar="ID", nargs="?")
    check.add_argument("--reference", metavar="TORQUE", help="what the reference read")
    check.add_argument("--shown", metavar="TORQUE", help="what the wrench showed, or was set to")
    check.add_argument("--unit", help="of both (default: the wrench's own)")
    check.add_argument("--at", metavar="TIME", help="day or ISO 8601 time of the check (default now)")
    check.add_argument("--from", dest="file", metavar="FILE", help="CSV or XLSX with time,wrench,reference,shown,unit")
    check.add_argument("--zone", metavar="ZONE", help="of times without an offset: +01:00, or Europe/Berlin")
    check.add_argument("--void", type=int, metavar="ENTRY", help="take back the check in that entry of the ledger")
    check.add_argument("--why", metavar="TEXT", help="the reason, with --void")
    for command in (add, calibrate, check):
        command.add_argument("--by", default="not named", metavar="NAME", help="who enters it")
        _database(command, json=command is check)
    drift = _command(wrench, "drift", "drift:run_drift", "how the error of a wrench goes over time, and when it leaves its limit")
    drift.add_argument("wrench", metavar="ID")
    drift.add_argument("--chart", metavar="FILE", help="draw it too, as FILE.png or FILE.svg")
    _database(drift)
    _database(_command(wrench, "list", "drift:run_list", "every wrench, what has to be done first on top"))


def _add_export(commands: "Commands[argparse.ArgumentParser]") -> None:
    export = _command(commands, "export", "export:run_export", "readings, tightenings or checks as a table for a spreadsheet")
    rows = "one row a reading, a fastener's stage, or a check"
    export.add_argument("what", choices=("readings", "tightenings", "checks"), help=rows)
    export.add_argument("--to", required=True, metavar="FILE", help="FILE.csv or FILE.xlsx; `-` for CSV on standard output")
    export.add_argument("--job", metavar="JOB", help="readings or tightenings of this job alone (default: all)")
    export.add_argument("--wrench", metavar="ID", help="checks of this wrench alone (default: all)")
    _database(export, json=False)


def _add_files(commands: "Commands[argparse.ArgumentParser]") -> None:
    verify = _command(commands, "verify", "verify:run_verify", "recompute an audit database and say whether anything was altered")
    verify.add_argument("file", metavar="FILE")
    verify.add_argument("--json", action="store_true", help="answer as JSON on standard output")
    rebuild = _command(commands, "rebuild", "verify:run_rebuild", "make the derived tables anew from the ledger")
    rebuild.add_argument("file", metavar="FILE")


if __name__ == "__main__":
    sys.exit(main())
