"""`witnessmark job review`: walks a person through what a look at the fasteners settles, what settles most first."""

import argparse
import json
import re
import sys
from collections.abc import Iterable
from contextlib import closing

from collector.cli.job_writer import job_writer, refuse_closed
from collector.cli.place import database_path, say, tell
from collector.cli.wording import plain
from collector.closing import place_all
from collector.expect.counted_whole import as_tightened
from collector.expect.review import Question, not_settled, review
from collector.flag import flag_match
from collector.record.recorder import Recorder
from schemas.bodies import Decided
from schemas.errors import RecordError
from schemas.job_state import JobState
from schemas.words import Proof, Said

_POSITIONS = re.compile(r"\d{1,4}(?:[ ,;]+\d{1,4})*")


def run_review(chosen: argparse.Namespace) -> int:
    """Ask what a look settles and record the answers; 1 while a question is open."""
    if chosen.list or chosen.json:
        return _list(chosen)
    if chosen.by is None:
        raise RecordError("the answers are a named person's; add --by NAME, or --list to see the questions alone")
    with job_writer(chosen, "review") as (recorder, state):
        refuse_closed(state)
        _Walk(recorder, state, chosen.by).ask()
        left = review(state)
        _say_left(state, left)
    return 1 if left else 0


def _list(chosen: argparse.Namespace) -> int:
    from analysis.load.database import open_audit
    from analysis.load.state import load_state

    with closing(open_audit(database_path(chosen.db))) as db:
        state = load_state(db, chosen.job)
    refuse_closed(state)
    questions = review(state)
    if chosen.json:
        say(json.dumps(_data(state, questions), ensure_ascii=False, indent=1))
        return 1 if questions else 0
    for question in questions:
        _say_question(state, question)
    if not questions:
        say(f"nothing on job {chosen.job} waits for a look{_mark(state)}")
    _say_not_settled(state, questions)
    return 1 if questions else 0


def _data(state: JobState, questions: Iterable[Question]) -> dict[str, object]:
    asked = [
        {
            "joint": one.joint, "name": one.name, "text": one.text, "of": one.of, "p": None if one.p is None else float(one.p),
            "settles": float(one.settles), "positions": list(one.positions), "why": list(one.why),
        }
        for one in questions
    ]  # fmt: skip
    mark = {"simulated": True} if state.opened.simulated else {}
    return {
        "format": 1, "job": state.opened.job, **mark, "questions": asked, "not_settled": list(not_settled(state, questions))
    }  # fmt: skip


class _Walk:
    """Goes through the questions, each joint once, and places all readings anew after every answer."""

    def __init__(self, recorder: Recorder, state: JobState, by: str) -> None:
        self._recorder = recorder
        self._state = state
        self._by = by

    def ask(self) -> None:
        """Ask until nothing is left that was not asked, or until the person leaves."""
        asked: set[str] = set()
        while (question := next((one for one in review(self._state) if one.joint not in asked), None)) is not None:
            asked.add(question.joint)
            _say_question(self._state, question)
            made = _answer(self._state, question)
            if made is None:
                return
            tell(self._record(made))

    def _record(self, made: tuple[Decided, ...]) -> str:
        before = self._proven()
        with self._recorder.transaction():
            by = self._recorder.person(self._by)
            if made[0].count is not None:
                # Before the yes, which confirms them.
                for match in as_tightened(self._state.joints[made[0].joint or ""]):
                    self._recorder.append(flag_match(match, self._state)[-1])
            for decided in made:
                self._recorder.append(decided, by)
            revised = place_all(self._recorder, self._state)
        change = self._proven() - before
        fasteners, way = "fastener" if abs(change) == 1 else "fasteners", "more" if change > 0 else "fewer"
        news = [f"{abs(change)} {fasteners} {way} proven"] if change else []
        news += [f"{revised} reading{'s' if revised > 1 else ''} placed anew"] if revised else []
        return "; ".join([f"  recorded: {_told(made)}", *news])

    def _proven(self) -> int:
        return sum(joint.summary.counts[Proof.PROVEN] for joint in self._state.joints.values())


def _told(made: tuple[Decided, ...]) -> str:
    first = made[0]
    if first.said == Said.NOT_LOOKED:
        return "not looked at, so it stays open"
    if first.count is not None:
        return f"{first.count} of {first.of} seen"
    places = ", ".join(str(decided.position) for decided in made[1:])
    return f"not all seen; to be pulled: {places}" if places else "not all seen; those that are not done are to be pulled"


def _answer(state: JobState, question: Question) -> tuple[Decided, ...] | None:
    """What the answer records; None where the person leaves."""
    while True:
        tell("  y: yes, all seen   n: no   l: not looked, or cannot be reached   Enter: leave")
        match _typed():
            case "y":
                return (_said(state, question, Said.STRIPES, count=question.of, of=question.of),)
            case "n":
                positions = _which(state, question)
                if positions is None:
                    return None
                no = _said(state, question, Said.STRIPES, of=question.of)
                return (no, *(_said(state, question, Said.NOT_DONE, position=position) for position in positions))
            case "l":
                return (_said(state, question, Said.NOT_LOOKED),)
            case None | "" | "q":
                return None


def _which(state: JobState, question: Question) -> list[int] | None:
    """The positions that are not done, none where nobody knows; None where the person leaves."""
    highest = state.joints[question.joint].joint.fasteners
    while True:
        tell("  which? (positions, such as 3 or 2,5; Enter: not known)")
        typed = _typed()
        if typed is None or typed == "q":
            return None
        if not typed:
            return []
        positions = sorted({int(text) for text in re.findall(r"\d+", typed)}) if _POSITIONS.fullmatch(typed) else []
        if positions and positions[0] > 0 and positions[-1] <= highest:
            return positions
        tell(f"  positions are numbers from 1 to {highest}, with commas between")


def _typed() -> str | None:
    """One line in small letters; None where there is none: without a line end nobody pressed Enter."""
    line = sys.stdin.readline()
    return line.strip().casefold() if line.endswith("\n") else None


def _said(state: JobState, question: Question, said: Said, **values: int) -> Decided:
    return Decided(state.opened.job, str(said), question.joint, simulated=state.opened.simulated, **values)  # type: ignore[arg-type]


def _say_question(state: JobState, question: Question) -> None:
    say(plain(question.text) + _mark(state))
    say(f"    ({plain('; '.join(question.why))})")


def _say_left(state: JobState, left: tuple[Question, ...]) -> None:
    if left:
        say(f"still to be looked at: {plain('; '.join(question.name for question in left))}{_mark(state)}")
    else:
        say(f"nothing on job {state.opened.job} waits for a look any more{_mark(state)}")
    _say_not_settled(state, left)


def _say_not_settled(state: JobState, questions: Iterable[Question]) -> None:
    for line in not_settled(state, questions):
        say(f"not settled by looking: {plain(line)}")


def _mark(state: JobState) -> str:
    return "  SIMULATED" if state.opened.simulated else ""
