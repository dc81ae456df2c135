"""What can be typed after `witnessmark job`."""

import argparse

from collector.cli.parser_parts import Commands, add_command, add_group, database, ignored


def add_job(commands: "Commands[argparse.ArgumentParser]") -> None:
    """Add the actions on jobs: opening and looking, then what named persons say."""
    job = add_group(commands, "job", "open, list, show, report and close jobs, and what named persons say of them")
    opened = add_command(job, "open", "job:run_open", "open a job on one item after a plan; prints the job's number")
    opened.add_argument("plan", metavar="PLAN")
    opened.add_argument("--item", required=True, metavar="ID", help="plate, serial number or other identity of the item")
    opened.add_argument("--order", default="", metavar="NO", help="order number")
    opened.add_argument("--fitter", default="not named", metavar="NAME")
    opened.add_argument("--vin", action="store_true", help="the item is a vehicle identification number: check it")
    ignored(opened)
    database(opened)
    database(add_command(job, "list", "job:run_list", "every job in one line"))
    show = add_command(job, "show", "job:run_show", "what the record says of one job")
    text = "write the report of one job, as PDF and as a self-contained HTML file"
    report = add_command(job, "report", "report:run_report", text)
    for command in (show, report):
        command.add_argument("job", metavar="JOB")
        database(command, json=command is show)
    report.add_argument("--to", metavar="FILE", help="FILE.pdf or FILE.html (default both, job-NUMBER here)")
    _said(job, "close", "job:run_close", "place all readings together, then close the job: nothing is added to it afterwards")
    _add_review(job)
    _add_said(job)
    _add_joint(job)
    _add_hands(job)
    _add_retorque(job)


def _said(
    job: "Commands[argparse.ArgumentParser]", name: str, run: str, text: str, joint: bool = False, position: str = ""
) -> argparse.ArgumentParser:
    """An action that a named person answers for."""
    command = add_command(job, name, run, text)
    command.add_argument("job", metavar="JOB")
    command.add_argument("--by", required=True, metavar="NAME", help="the person who says it")
    if joint:
        command.add_argument("--joint", required=True, metavar="ID")
    if position:
        command.add_argument("--position", type=int, metavar="N", help=position)
    database(command, json=False)
    return command


def _add_review(job: "Commands[argparse.ArgumentParser]") -> None:
    text = "ask what a look at the fasteners settles, what settles most first; every answer is recorded"
    review = add_command(job, "review", "job_review:run_review", text)
    review.add_argument("job", metavar="JOB")
    review.add_argument("--by", metavar="NAME", help="the person who looks and answers (not needed with --list or --json)")
    review.add_argument("--list", action="store_true", help="print the questions without asking; 1 while any is open")
    database(review)


def _add_said(job: "Commands[argparse.ArgumentParser]") -> None:
    one = "one fastener (default the whole joint)"
    opened = _said(job, "opened", "job_said:run_opened", "a fastener or joint was opened: every stage again", True, one)
    opened.add_argument("--step", type=int, metavar="N", help="the step of the plan that asks for it")
    decide = _said(job, "decide", "job_said:run_decide", "the lead's decision on an over-torque or a broken order", True, one)
    decide.add_argument(
        "--as", dest="said", required=True, choices=("inspected", "replaced", "let stand"),
        help="inspected or replaced: after an over-torque; let stand: done before what it had to wait for",
    )  # fmt: skip
    decide.add_argument("--why", metavar="TEXT", help="the reason; needed to let something stand")
    missing = _said(job, "not-fitted", "job_said:run_not_fitted", "a fastener or joint is not fitted, and why", True, one)
    missing.add_argument("--why", required=True, metavar="TEXT")
    declare = _said(job, "declare", "job_said:run_declare", "fasteners were done with a tool that sends nothing", True, one)
    declare.add_argument("--tool", metavar="TEXT", help="with which tool")
    declare.add_argument("--value", metavar="TORQUE", help="the torque, where one was read")
    declare.add_argument("--values", metavar="LIST", help="one for each position: 95,96.5,-,94 (`-`: left out)")
    declare.add_argument("--unit", metavar="UNIT")
    declare.add_argument("--on-paper", metavar="TIME", help="written by hand on a work sheet, at that time")
    declare.add_argument("--why", metavar="TEXT")
    prepared = _said(job, "prepared", "job_said:run_prepared", "a joint was prepared as the plan asks", True)
    prepared.add_argument("--lot", metavar="TEXT", help="lot of what was used")
    for name, text in (
        ("drag", "the measured drag of prevailing nuts, before they seat"),
        ("as-found", "the torque that was found before opening"),
    ):
        measured = _said(job, name, "job_said:run_measured", text, True, one)
        measured.add_argument("--value", required=True, metavar="TORQUE")
        measured.add_argument("--unit", required=True)
        measured.set_defaults(action=name)
    sign = _said(job, "sign", "job_said:run_sign", "sign a hold point, or a critical joint as second person")
    sign.add_argument("--hold-point", metavar="ID")
    sign.add_argument("--value", metavar="VALUE", help="what was measured there, in the unit of the plan")
    sign.add_argument("--joint", metavar="ID", help="the critical joint that the second person has looked at")


def _add_joint(job: "Commands[argparse.ArgumentParser]") -> None:
    joint = _said(job, "add-joint", "job_joint:run_add_joint", "add a joint that the plan does not have")
    joint.add_argument("--id", required=True, metavar="ID")
    joint.add_argument("--name", required=True, metavar="TEXT")
    joint.add_argument("--fasteners", required=True, metavar="N")
    joint.add_argument("--torque", metavar="TORQUE", help='in plain digits, or "not stated"')
    joint.add_argument("--low", metavar="TORQUE", help="with --high in place of --torque")
    joint.add_argument("--high", metavar="TORQUE")
    joint.add_argument("--unit", required=True)
    joint.add_argument("--tolerance", metavar="TEXT", help='such as "10 %%" or "±5 N·m"')
    joint.add_argument("--source", required=True, metavar="TEXT", help="where the figures come from")
    for field in ("order", "thread", "grade", "prep"):
        joint.add_argument(f"--{field}", metavar="TEXT", help="as in a plan")


def _add_hands(job: "Commands[argparse.ArgumentParser]") -> None:
    over = _said(job, "hand-over", "job_hand:run_hand_over", "hand the work over: who leaves signs what is open")
    over.add_argument("--to", required=True, metavar="NAME", help="who takes it over and signs next")
    take = _said(job, "take-over", "job_hand:run_take_over", "take the work over: sign what is open, be its fitter from then on")
    for command in (over, take):
        command.add_argument("--yes", action="store_true", help="sign without being asked")
    change = _said(job, "change-plan", "job_plan:run_change_plan", "let an open job go on after another revision of its plan")
    change.add_argument("plan", metavar="PLAN")
    change.add_argument("--why", required=True, metavar="TEXT")


def _add_retorque(job: "Commands[argparse.ArgumentParser]") -> None:
    due = add_command(job, "due", "job_due:run_due", "the retorques that wait to be done, the first one on top")
    due.add_argument("--item", metavar="ID", help="of this item alone")
    due.add_argument("--within", type=int, metavar="DAYS", help="due by a date that is not further off")
    due.add_argument("--all", action="store_true", help="also those that are done, were offered, or are not tightened yet")
    database(due)
    short = add_command(job, "retorque", "job_retorque:run_retorque", "open the short job of a retorque; prints its number")
    short.add_argument("job", metavar="JOB")
    short.add_argument("--step", type=int, metavar="N", help="the plan's step (needed where it has several)")
    short.add_argument("--fitter", metavar="NAME")
    short.add_argument("--distance", metavar="TEXT", help='what the item has gone since, such as "52 km"')
    short.add_argument("--again", action="store_true", help="once more, though it was done or is open")
    short.add_argument("--not-done", metavar="REASON", help="it was offered and not done; with --by")
    short.add_argument("--by", metavar="NAME")
    database(short, json=False)
