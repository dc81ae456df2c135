"""`witnessmark plan new`: a plan out of lines as they are read aloud, from a file or typed one by one."""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from collector.cli.place import tell
from collector.cli.plan_file import read_yaml, write_plan_file
from collector.cli.plan_insert import inserted
from collector.cli.plan_said import draft_of
from collector.cli.wording import plain
from collector.decode.plan_line import Spoken
from collector.decode.plan_slug import slug
from collector.decode.plan_yaml import Draft, Entry, Said, WrittenPlan, write_plan
from schemas.errors import PlanError, PlanFault, RecordError, SourceError, SourceReason
from schemas.plan.columns import HEAD_COLUMNS, JOINT_COLUMNS, STEP_COLUMNS
from schemas.plan.load import load_plan, load_whole
from schemas.plan.model import HoldPointStep, PlanModel
from schemas.table import Place, fault_at

_HEAD = ("title", "revision", "source", "unit", "tolerance")
_MOST_BYTES = 1_000_000
_PROMPT = "joint or step (an empty line ends): "
_COLUMNS = {column.name: column for column in JOINT_COLUMNS}


def run_new(chosen: argparse.Namespace) -> int:
    """Write the plan that the lines make, or add them to one; nothing is written where anything is not understood."""
    if bool(chosen.to) == bool(chosen.into):
        raise RecordError("name the file to write with --to PLAN.yaml, or the plan to add to with --into PLAN.yaml")
    for name in _HEAD if chosen.into else ():
        if getattr(chosen, name) is not None:
            raise RecordError(f"--{name} belongs to a new plan; the plan of --into has its own head, write it there")
    plan = _Into(chosen.into) if chosen.into else _New(chosen)
    if chosen.lines is None and sys.stdin is not None and sys.stdin.isatty():
        spoken = _ask(plan)
    else:
        spoken = _read(plan, *_lines(chosen.lines))
    if spoken.is_empty:
        raise RecordError("no line says a joint or a step, so there is nothing to write")
    data = plan.data(spoken)
    write_plan_file(plan.file, data)
    route = load_plan(data, plan.file)
    for note in (*plan.notes, *route.notes):
        tell(f"{plan.file}: note: {note}")
    fasteners = sum(joint.fasteners for joint in route.joints)
    tell(f"{plan.file}: {fasteners} fasteners in {len(route.joints)} joints, {len(route.steps)} steps")
    return 0


class _New:
    """A plan that does not exist yet, with the head that was named."""

    def __init__(self, chosen: argparse.Namespace) -> None:
        self.file: str = chosen.to
        self.notes: list[str] = []
        if Path(self.file).exists():
            raise RecordError(f"{self.file}: is there already; name another file, or add to it with --into")
        stem = Path(self.file).stem
        made = {
            "title": stem,
            "revision": "1",
            "source": f"read from {Path(chosen.lines).name}" if chosen.lines else "as typed in",
        }
        said = {"plan": slug(stem, "plan")}
        for name in _HEAD:
            given = getattr(chosen, name)
            if given is None and name in made:
                self.notes.append(f"`{name}` is `{made[name]}`, as none was named; --{name} names one")
            if value := given if given is not None else made.get(name):
                said[name] = value
        self._said = said
        trial = {"id": "x", "name": "x", "fasteners": "1", "torque": "not stated", "unit": "N·m"}
        place = Place(0, "")
        entry = Entry(place, tuple(Said(_COLUMNS[name], value, place) for name, value in trial.items()))
        # What is wrong with the head would else be asked of every line.
        load_plan(write_plan(Draft(self._head(said), (entry,))).data, self.file)

    def _head(self, said: dict[str, str]) -> Entry:
        place = Place(0, "the options")
        return Entry(place, tuple(Said(column, said[column.name], place) for column in HEAD_COLUMNS if column.name in said))

    def spoken(self) -> Spoken:
        """Nothing is known before the first line."""
        return Spoken()

    def written(self, spoken: Spoken) -> WrittenPlan:
        """The plan with these lines; a unit that all joints share stands at its head."""
        units = {str(said.value) for joint in spoken.joints for said in joint.fields if said.column.name == "unit"}
        said = dict(self._said)
        if "unit" not in said and len(units) == 1:
            said["unit"] = next(iter(units))
        joints = tuple(_without_unit(joint, said.get("unit")) for joint in spoken.joints)
        return write_plan(Draft(self._head(said), joints, spoken.steps()))

    def data(self, spoken: Spoken) -> bytes:
        """The bytes to write."""
        return self.written(spoken).data


class _Into:
    """A plan that is there, with everything in it kept as it stands."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.notes: list[str] = []
        self._data = read_yaml(file)
        self._plan: PlanModel = load_whole(self._data, file).written

    def spoken(self) -> Spoken:
        """The joints and hold points of the plan are known."""
        points = [step for step in self._plan.steps or () if isinstance(step, HoldPointStep)]
        return Spoken({joint.id: joint.name for joint in self._plan.joints}, {step.hold_point: step.ask for step in points})

    def written(self, spoken: Spoken) -> WrittenPlan:
        """The plan with these lines, to be judged at their places."""
        plan = draft_of(self._plan, Place(0, self.file))
        joints, steps = (*plan.joints, *self._joints(spoken)), (*plan.steps, *self._steps(spoken))
        return write_plan(replace(plan, joints=joints, steps=steps))

    def data(self, spoken: Spoken) -> bytes:
        """The plan's own bytes with the joints and steps put in; PlanError where it does not hold together then."""
        data = inserted(self._data, "joints", self._joints(spoken), self.file)
        data = inserted(data, "steps", self._steps(spoken), self.file)
        load_plan(data, self.file)
        return data

    def _joints(self, spoken: Spoken) -> tuple[Entry, ...]:
        return tuple(_without_unit(joint, self._plan.unit) for joint in spoken.joints)

    def _steps(self, spoken: Spoken) -> tuple[Entry, ...]:
        if self._plan.steps is not None:
            return spoken.steps(whole=True)
        if not spoken.steps():
            return ()
        place, torque = Place(0, self.file), STEP_COLUMNS["torque"][0]
        before = tuple(Entry(place, (Said(torque, (joint.id,), place),)) for joint in self._plan.joints)
        return (*before, *spoken.steps())


def _without_unit(joint: Entry, unit: str | None) -> Entry:
    return replace(joint, fields=tuple(said for said in joint.fields if said.column.name != "unit" or said.value != unit))


def _faults(plan: _New | _Into, spoken: Spoken) -> tuple[PlanFault, ...]:
    """What the model says of the lines so far; a new plan is none before its first joint."""
    if not plan.spoken().known and not spoken.joints:
        return ()
    written = plan.written(spoken)
    try:
        load_plan(written.data, plan.file)
    except PlanError as error:
        return written.placed(error).faults
    return ()


def _read(plan: _New | _Into, name: str, lines: Iterator[str]) -> Spoken:
    """All lines; PlanError with everything that is not understood, each at its line."""
    spoken, faults = plan.spoken(), list[PlanFault]()
    for number, line in enumerate(lines, 1):
        place = Place(number, f"line {number}")
        understood = spoken.add(line, place)
        faults += [fault_at(place, one) for one in understood.unclear]
        if understood.echo:
            tell(f"{number}: {plain(understood.echo)}")
    if not faults:
        faults += _faults(plan, spoken)
    if faults:
        raise PlanError(name, tuple(faults))
    return spoken


def _ask(plan: _New | _Into) -> Spoken:
    """One line after the other; what is not understood is asked again, so that nothing typed is lost."""
    spoken = plan.spoken()
    number = 0
    while line := _typed():
        number += 1
        trial = spoken.copy()
        understood = trial.add(line, Place(number, ""))
        unclear = understood.unclear or tuple(fault.what for fault in _faults(plan, trial))
        for one in unclear:
            tell(f"? {plain(one)}")
        if not unclear:
            spoken = trial
            tell(f"  {plain(understood.echo)}")
    return spoken


def _typed() -> str:
    sys.stderr.write(_PROMPT)
    sys.stderr.flush()
    return sys.stdin.readline().strip()


def _lines(named: str | None) -> tuple[str, Iterator[str]]:
    """The name of the lines, and they themselves."""
    name = named or "standard input"
    if named is None and sys.stdin is None:
        raise SourceError(f"{name}: is closed; name a file of lines", SourceReason.MISSING)
    try:
        if named is None:
            data = sys.stdin.buffer.read(_MOST_BYTES + 1)
        else:
            with Path(named).open("rb") as file:
                data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise SourceError(f"{name}: cannot be read ({error.strerror}); name a file of lines", SourceReason.MISSING) from error
    if len(data) > _MOST_BYTES:
        raise PlanError(name, (PlanFault(0, "", f"holds more than {_MOST_BYTES} bytes, as no plan does; name a file of lines"),))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        what = "the text is not UTF-8; save the file as UTF-8"
        raise PlanError(name, (fault_at(Place(line, f"line {line}"), what),)) from error
    return name, iter(text.splitlines())
