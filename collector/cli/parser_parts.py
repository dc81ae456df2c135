"""What the parts of the command line share."""

import argparse
import math

EPILOG = """Support and secure the vehicle first. Do not watch the screen while pulling. The maker's instructions and local
rules override any plan. The record says which torque was reached; it does not say that a vehicle is safe to drive.
Exit: 0 clean, 1 findings (missed, under, doubtful, altered, a wrench outside its limit), 2 could not do it. A list is 0."""

Commands = argparse._SubParsersAction  # argparse has no public name for it


def add_command(commands: "Commands[argparse.ArgumentParser]", name: str, run: str, text: str) -> argparse.ArgumentParser:
    """Add a command that `run` names as module:function of this folder."""
    command = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".", epilog=EPILOG)
    command.set_defaults(run=run)
    return command


def add_group(commands: "Commands[argparse.ArgumentParser]", name: str, text: str) -> "Commands[argparse.ArgumentParser]":
    """Add a command that has actions of its own."""
    group = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    group.set_defaults(run="place:show_help", parser=group)
    return group.add_subparsers(metavar="ACTION", title="actions")


def database(command: argparse.ArgumentParser, json: bool = True) -> None:
    """Add the options of a command that works on an audit database."""
    command.add_argument("--db", metavar="FILE", help="audit database (else WITNESSMARK_DB, else the platform's data folder)")
    if json:
        command.add_argument("--json", action="store_true", help="answer as JSON on standard output")


def pace(text: str) -> float:
    """A number of seconds from 0 on."""
    seconds = float(text)
    if not 0 <= seconds < math.inf:
        raise argparse.ArgumentTypeError(f"{text}: not a number of seconds from 0 on")
    return seconds


def baud(text: str) -> int:
    """The speed of a serial port in bits a second, above 0."""
    if not text.isascii() or not text.isdecimal() or not int(text):
        raise argparse.ArgumentTypeError(f"{text}: not a speed in bits a second, such as 9600")
    return int(text)


def ignored(command: argparse.ArgumentParser) -> None:
    """Add the option of a command that reads a plan from a table."""
    command.add_argument(
        "--ignore", action="append", default=[], metavar="COLUMN", help="leave this column of a table out (may stand again)"
    )
