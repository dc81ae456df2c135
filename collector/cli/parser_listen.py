"""What can be typed after `witnessmark listen`."""

import argparse

from collector.cli.parser_parts import Commands, add_command, baud, pace


def add_listen(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the command that finds out how a wrench sends."""
    listen = add_command(commands, "listen", "listen:run_listen", "show what a wrench sends, and propose its wire format")
    listen.add_argument(
        "source", metavar="SOURCE", help="serial:PORT, serial:usb=VVVV:PPPP:SERIAL, ble:NAME, or bytes:FILE, a capture"
    )
    values = "what the wrench showed at each pull, `-` where not known, as 50,80.2,-,120; at a terminal it is asked"
    listen.add_argument("--pulled", metavar="VALUES", help=values)
    listen.add_argument("--write", metavar="FILE", help="write the wire format there, never over a file (default: print it)")
    listen.add_argument("--unit", metavar="UNIT", help="the unit that the wrench sends in, where its records do not say it")
    listen.add_argument("--choose", type=int, metavar="N", help="take that proposal where several fit")
    listen.add_argument("--baud", type=baud, default=9600, help="speed of a serial port (default 9600)")
    dtr = "raise DTR and RTS of a serial port, for a wrench that sends only then"
    listen.add_argument("--dtr", action="store_true", help=dtr)
    apart = "with --pulled: silence between two pulls (default 1)"
    listen.add_argument("--gap", type=pace, default=1.0, metavar="SECONDS", help=apart)
    listen.add_argument("--json", action="store_true", help="answer as JSON on standard output")
