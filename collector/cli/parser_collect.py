"""What can be typed after `witnessmark collect`."""

import argparse

from collector.cli.asked_source import BAUD, InOrder
from collector.cli.parser_log import add_log_options
from collector.cli.parser_parts import EPILOG, Commands, add_command, baud, database, ignored, pace

_EPILOG = """Several wrenches at once: give --from once for each. --wire, --wrench, --baud and --dtr belong to the --from they
stand behind; before the first --from they hold for all:
  collect PLAN --from serial:/dev/ttyUSB0 --wire fixed-width --from ble:WRENCH-2 --wire mine.yaml --wrench W-025

keys: reads an instrument that types like a keyboard: one line of text a reading, ended by Enter. The terminal then keeps its
own lines, nothing is drawn over it, and single keys answer nothing: a typed line could not be told from an answer. What a
person answers is a line of its own that begins with /: / alone or /yes (with the value, or the name of who signs, behind it
where these are asked for), /no, /fastener NUMBER (which one of its joint the last pull was on), /same, /x not ours, /moved,
/opened, /joint NUMBER, /lot TEXT, /quit. Ctrl-D ends it.

Alike fasteners look alike to a wrench, so which one a pull was on is counted in the order of the plan (position_by: order).
Whoever wants more says it: f, the number of the fastener in its joint, Enter. It then stays there (position_by: confirmed).

"""


def add_collect(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command that reads wrenches or a log."""
    collect = add_command(commands, "collect", "collect:run_collect", "read wrenches or a log into a job after a plan")
    collect.formatter_class = argparse.RawDescriptionHelpFormatter
    collect.epilog = _EPILOG + EPILOG
    collect.add_argument("plan", metavar="PLAN")
    _add_sources(collect)
    collect.add_argument(
        "--also", action="append", metavar="PLAN", help="log: another plan whose job lies in the same log; may be given again"
    )
    ignored(collect)
    collect.add_argument("--job", metavar="JOB", help="the job to go on with (needed where several are open)")
    collect.add_argument("--fitter", metavar="NAME", help="who is at the bench (default: the job's fitter)")
    each = "ask on which fastener of its joint the last pull that counts was; who pulls on is asked of the newer one alone"
    collect.add_argument("--confirm", choices=("each",), help=f"live: {each}")
    collect.add_argument("--seed", type=int, default=1, help="of a simulated day")
    collect.add_argument("--pace", type=pace, default=0.15, metavar="SECONDS", help="of a simulated day")
    add_log_options(collect)
    database(collect)


def _add_sources(collect: argparse.ArgumentParser) -> None:
    collect.add_argument(
        "--from",
        dest="source",
        action=InOrder,
        required=True,
        metavar="SOURCE",
        help="serial:PORT, serial:usb=VVVV:PPPP:SERIAL (see `ports`), ble:NAME or ble:ADDRESS, keys:; each of these may stand "
        "with others. Or log:FILE.csv or sim:rear-axle, alone",
    )
    wire = "wire format of a wrench: a name from `wire list`, or a file (default plain-line)"
    collect.add_argument("--wire", action=InOrder, metavar="NAME-OR-FILE", help=wire)
    collect.add_argument("--wrench", action=InOrder, metavar="ID", help="the wrench in use where its records do not name it")
    collect.add_argument("--baud", action=InOrder, type=baud, help=f"speed of a serial port (default {BAUD})")
    dtr = "raise DTR and RTS of a serial port, for a wrench that sends only then (another restarts by it)"
    collect.add_argument("--dtr", action=InOrder, nargs=0, help=dtr)
