"""`witnessmark job hand-over` and `take-over`: the work passes from one person to another, both sign what is open."""

import argparse
import sys
from contextlib import closing
from pathlib import Path

from collector.cli.job_writer import job_writer, name_of, refuse_closed
from collector.cli.keyboard import has_keyboard
from collector.cli.place import say, tell
from collector.cli.wording import plain
from collector.expect.in_order import InOrder
from schemas.bodies import HandedOver
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.open_list import open_list


def run_hand_over(chosen: argparse.Namespace) -> int:
    """Print what is open and record that the leaver signs it."""
    with job_writer(chosen, "hand-over") as (recorder, state), recorder.transaction():
        refuse_closed(state)
        leaver, taker = recorder.person(chosen.by), recorder.person(chosen.to)
        if leaver == taker:
            raise RecordError(f"{chosen.by} cannot hand job {chosen.job} over to themselves; name another person with --to")
        if leaver != state.fitter:
            fitter = name_of(recorder, state.fitter)
            tell(f"note: the fitter of job {chosen.job} is {fitter}; {chosen.by} hands it over all the same")
        lines = _open_now(state)
        _print(state, lines)
        _ask(chosen)
        recorder.append(HandedOver(chosen.job, "leaver", leaver, taker, lines, state.opened.simulated), leaver)
    tell(f'signed by {chosen.by}; now {chosen.to} signs: witnessmark job take-over {chosen.job} --by "{chosen.to}"')
    return 0


def run_take_over(chosen: argparse.Namespace) -> int:
    """Print what is open now, and what changed since the leaver signed; record that the taker signs it."""
    with job_writer(chosen, "take-over") as (recorder, state), recorder.transaction():
        refuse_closed(state)
        given = state.leaving
        if given is None:
            raise RecordError(
                f"nobody hands job {chosen.job} over: who leaves signs first, with `witnessmark job hand-over {chosen.job}`"
            )
        if recorder.person(chosen.by) != given.taker:
            named = name_of(recorder, given.taker)
            raise RecordError(f"job {chosen.job} is handed over to {named}, not to {chosen.by}; only {named} signs for it")
        lines = _open_now(state)
        _print(state, lines)
        _print_changes(given.open, lines)
        _ask(chosen)
        taken = HandedOver(chosen.job, "taker", given.leaver, given.taker, lines, state.opened.simulated)
        recorder.append(taken, given.taker)
    tell(f"signed by {chosen.by}, who is the fitter of job {chosen.job} from now on")
    return 0


def _open_now(state: JobState) -> tuple[str, ...]:
    return open_list(state, InOrder().expect_next(state))


def _print(state: JobState, lines: tuple[str, ...]) -> None:
    job, mark = state.opened.job, "  SIMULATED" if state.opened.simulated else ""
    say(f"open on job {job}:{mark}" if lines else f"nothing is open on job {job}{mark}")
    for line in lines:
        say(f"  {plain(line)}")


def _print_changes(before: tuple[str, ...], now: tuple[str, ...]) -> None:
    gone, new = ([line for line in one if line not in other] for one, other in ((before, now), (now, before)))
    if not gone and not new:
        say("the same as the leaver signed")
        return
    say("changed since the leaver signed:")
    for word, lines in (("no longer", gone), ("new", new)):
        for line in lines:
            say(f"  {word}: {plain(line)}")


def _ask(chosen: argparse.Namespace) -> None:
    """Ask whoever sits at a terminal; where nobody does, the command itself is the signature."""
    if chosen.yes or not has_keyboard(sys.stdin):
        return
    tell(f"signed by {chosen.by}? Enter = yes, n = no")
    answer = sys.stdin.readline()
    # Without a line end nobody pressed Enter: the terminal was closed.
    if not answer.endswith("\n") or answer.strip().casefold() not in ("", "y", "yes"):
        raise RecordError("not signed; nothing was recorded")


def open_lines(database: Path, job: str) -> tuple[str, ...]:
    """What is open on a job, read without writing; empty where nothing is, and of a closed job. RecordError as `load_job`."""
    from analysis.load.database import open_audit
    from analysis.load.state import load_state

    with closing(open_audit(database)) as db:
        state = load_state(db, job)
    return () if state.closed is not None else _open_now(state)
