"""What can be typed after `witnessmark wire`."""

import argparse

from collector.cli.parser_parts import Commands, add_command, add_group


def add_wire(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the actions on wire formats."""
    wire = add_group(commands, "wire", "wire formats: how the records of a wrench are laid out")
    formats = add_command(wire, "list", "wire:run_list", "the wire formats that come with the program")
    show = add_command(wire, "show", "wire:run_show", "one of them as its file stands, to begin your own with")
    show.add_argument("name", metavar="NAME")
    check = add_command(wire, "check", "wire:run_check", "look through a wire format, and read a sample with it")
    check.add_argument("wire", metavar="NAME-OR-FILE")
    sample = "bytes as the wrench sent them; each record is shown with its reading, or why it gives none (then exit 1)"
    check.add_argument("--sample", metavar="FILE", help=sample)
    for command in (formats, check):
        command.add_argument("--json", action="store_true", help="answer as JSON on standard output")
