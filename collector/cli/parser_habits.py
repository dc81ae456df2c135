"""What can be typed after `witnessmark habits`."""

import argparse

from collector.cli.parser_parts import Commands, add_command, add_group, database


def add_habits(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the actions on the figures that matching goes by."""
    habits = add_group(commands, "habits", "the figures that matching goes by, and what it learns of this shop")
    database(add_command(habits, "show", "habits:run_show", "each figure, where it comes from, and what it stands for"))
    learn = add_command(habits, "learn", "habits:run_learn", "learn the figures anew from joints that a person has counted")
    learn.add_argument("--job", action="append", metavar="JOB", help="learn from this closed job (may stand again; default: all)")
    learn.add_argument("--simulated", action="store_true", help="learn from simulated jobs, and from no real one; it says so")
    learn.add_argument("--dry-run", action="store_true", help="print what would change, and record nothing")
    forget = add_command(habits, "forget", "habits:run_forget", "go back to the figures that come with the program")
    for command in (learn, forget):
        command.add_argument("--by", required=True, metavar="NAME", help="who enters it")
        database(command, json=False)
