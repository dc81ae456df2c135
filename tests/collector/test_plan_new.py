"""A plan out of lines: written whole or not at all, added to another without touching its other bytes; findings accepted."""

import argparse
import io
import os
import re
import subprocess
import sys

import pytest

from collector.cli import plan_insert
from collector.cli.plan_accept import run_accept
from collector.cli.plan_insert import inserted
from collector.cli.plan_new import run_new
from collector.decode.plan_yaml import Entry, Said
from schemas.errors import PlanError, RecordError, SourceError
from schemas.plan.columns import STEP_COLUMNS
from schemas.plan.load import load_plan, load_whole
from schemas.table import Place

LINES = """\
# Box trailer
caution: Chock the wheels
rear hanger, 4 x M12, 88 N·m, anti-seize, loose
front hanger, six 1/2-13, 88 N·m, grade 5, dry, ±5 %
hold point: Loaded to ride height, lead
torque: rear hanger after loaded to ride height
"""

PLAN = b"""\
# Kept as it stands.
plan: axle
title: "Rear axle"
revision: '7'   # seven
source: Sheet 7
unit: N\xc2\xb7m
tolerance: 8 %
joints:
- {id: hub, name: Hub nuts, fasteners: 5, torque: 110}   # flow
- id: cap
  name: Cap screws
  fasteners: 6
  torque: 9   # nine
  # the last of them
"""
STEPS = b"""\
steps:
    - torque:
        - hub
        - cap     # both

# The end.
"""


@pytest.fixture(name="new")
def _new(tmp_path, monkeypatch):
    """Runs `plan new` in an empty folder and gives the bytes of what it wrote."""
    monkeypatch.chdir(tmp_path)

    def run(lines=LINES, **chosen):  # lines None: standard input
        given = (
            dict.fromkeys(("to", "into", "title", "revision", "source", "unit", "tolerance"))
            | {"lines": lines and "lines.txt"}
            | chosen
        )
        if given["lines"]:
            (tmp_path / "lines.txt").write_bytes(lines if isinstance(lines, bytes) else lines.encode())
        assert run_new(argparse.Namespace(**given)) == 0
        return (tmp_path / (given["to"] or given["into"])).read_bytes()

    return run


@pytest.fixture(name="say")
def _say(monkeypatch):
    """Puts what a person types in the place of standard input; on a terminal unless told otherwise."""

    def put(text, terminal=True):
        stdin = io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8")
        monkeypatch.setattr(stdin, "isatty", lambda: terminal, raising=False)
        monkeypatch.setattr(sys, "stdin", stdin)

    return put


def test_lines_become_a_plan_that_loads(new, capsys):
    data = new(to="rear axle.yaml", tolerance="8 %", revision="C", title="Rear axle, all of it", source="Sheet 7")

    assert (
        data.decode()
        == """\
plan: rear-axle
title: "Rear axle, all of it"
revision: C
source: Sheet 7
unit: N·m
tolerance: 8 %
joints:
  - id: rear-hanger
    name: rear hanger
    fasteners: 4
    torque: 88
    thread: M12
    prep: anti-seize
  - id: front-hanger
    name: front hanger
    fasteners: 6
    torque: 88
    tolerance: ±5 %
    thread: 1/2-13
    grade: grade 5
    prep: dry
steps:
  - caution: Chock the wheels
  - loose: [rear-hanger]
  - torque: [front-hanger]
  - hold point: loaded-to-ride-height
    ask: Loaded to ride height
    sign: lead
  - torque: [rear-hanger]
    after: [loaded-to-ride-height]
"""
    )
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.splitlines()[1] == (
        "3: rear-hanger = rear hanger: fasteners 4, torque 88 N·m, thread M12, prep anti-seize; left loose here, torqued later"
    )
    assert told.err.splitlines()[-1] == "rear axle.yaml: 10 fasteners in 2 joints, 5 steps"


def test_what_is_not_named_of_the_head_is_made_and_told(new, capsys):
    route = load_plan(new("hub, 4 x M8, 9 ft-lb, 8 %\ncap, 4 x M8, 9 N·m, 8 %\n", to="axle.yaml"), "x")

    assert (route.plan, route.title, route.revision, route.source) == ("axle", "axle", "1", "read from lines.txt")
    assert [joint.unit for joint in route.joints] == ["lbf·ft", "N·m"]
    told = capsys.readouterr().err
    assert "axle.yaml: note: `source` is `read from lines.txt`, as none was named; --source names one\n" in told
    assert "axle.yaml: note: `ft-lb` read as lbf·ft: a mass stands in the place of the force\n" in told


def test_lines_may_come_through_a_pipe(new, say):
    say("hub, 4 x M8, 9 N·m\n", terminal=False)

    assert load_plan(new(to="axle.yaml", lines=None, tolerance="8 %"), "x").source == "as typed in"


def test_every_fault_of_the_lines_is_told_at_its_line_and_nothing_is_written(new, tmp_path):
    with pytest.raises(PlanError) as caught:
        new("hub, 4 x M8, 9 N·m\nbad, 4 x M8\n\ndo:\n", to="axle.yaml", tolerance="8 %")

    assert [line.partition(": ")[0] for line in str(caught.value).splitlines()] == ["lines.txt, line 2", "lines.txt, line 4"]
    assert not (tmp_path / "axle.yaml").exists()


def test_what_the_model_refuses_is_told_at_its_line(new, tmp_path):
    with pytest.raises(PlanError) as caught:
        new("hub, 4 x M8, 9 N·m\n\ncap, 4 x M8, 9 N·m, 8 %, cure 24 moons\n", to="axle.yaml")

    assert str(caught.value).startswith("lines.txt, line 3, `joints.cap.cure`: `24 moons`: it is no time; write it like 10 min")
    with pytest.raises(
        PlanError, match=r"^lines.txt, line 1, `joints.hub.tolerance`: neither the joint nor the plan has a tolerance"
    ):
        new("hub, 4 x M8, 9 N·m\n", to="axle.yaml")
    assert not (tmp_path / "axle.yaml").exists()


@pytest.mark.parametrize(
    ("lines", "chosen", "error", "says"),
    [
        pytest.param(LINES, {}, RecordError, "name the file to write with --to PLAN.yaml, or the plan to add to", id="neither"),
        pytest.param(LINES, {"to": "a", "into": "b"}, RecordError, "name the file to write with --to", id="both"),
        pytest.param(
            "\n# x\n", {"to": "a.yaml"}, RecordError, "no line says a joint or a step, so there is nothing to", id="nothing"
        ),
        pytest.param(
            LINES, {"to": "lines.txt"}, RecordError, "lines.txt: is there already; name another file, or add", id="there"
        ),
        pytest.param(LINES, {"to": "a.yaml", "unit": "kg"}, PlanError, "`unit`: unit `kg` is a mass, not a torque", id="unit"),
        pytest.param(
            LINES, {"to": "a.yaml", "tolerance": "8"}, PlanError, "`tolerance`: `8`: this is no tolerance", id="tolerance"
        ),
        pytest.param(
            b"a\nb\xff", {"to": "a.yaml"}, PlanError, "lines.txt, line 2: the text is not UTF-8; save the file", id="latin"
        ),
        pytest.param(
            b"x" * 1_000_001, {"to": "a.yaml"}, PlanError, "lines.txt: holds more than 1000000 bytes, as no", id="bytes"
        ),
        pytest.param(
            LINES, {"into": "no.yaml"}, SourceError, "no.yaml: cannot be read (No such file or directory)", id="no-plan"
        ),
        pytest.param(LINES, {"into": "x.csv"}, RecordError, "x.csv: is a table; write into it with the program that", id="table"),
        pytest.param(
            LINES,
            {"into": "lines.txt", "unit": "Nm"},
            RecordError,
            "--unit belongs to a new plan; the plan",
            id="head-of-another",
        ),
    ],
)
def test_what_cannot_be_done_is_one_line(new, tmp_path, lines, chosen, error, says):
    with pytest.raises(error, match=re.escape(says)):
        new(lines, **chosen)
    assert not (tmp_path / "a.yaml").exists()


def test_a_file_of_lines_that_is_not_there_is_named(new):
    with pytest.raises(SourceError, match=re.escape("zz.txt: cannot be read (No such file or directory); name a file of lines")):
        run_new(
            argparse.Namespace(
                **dict.fromkeys(("into", "title", "revision", "source", "unit", "tolerance")), to="a", lines="zz.txt"
            )
        )


def test_on_a_terminal_each_line_is_answered_and_asked_again_where_it_is_not_understood(new, say, capsys):
    say(
        "do: Clean it\nhub, 4 x M8\nhub, 4 x M8, 9 N·m, cure 24 moons\nhub, 4 x M8, 9 N·m\n"
        "cap, 2 x M8, 9 N·m\n\nnot read, 1 x M8\n"
    )

    data = new(to="axle.yaml", lines=None, tolerance="8 %", unit="N·m")

    assert [joint.id for joint in load_whole(data, "x").written.joints] == ["hub", "cap"]
    prompt = "joint or step (an empty line ends): "
    told = capsys.readouterr().err.splitlines()
    assert told[0] == f"{prompt}  do: Clean it"
    assert told[1] == f"{prompt}? what is the torque? write it with its unit, as 88 N·m or 88 to 96 N·m, or `not stated`"
    assert told[2].startswith(f"{prompt}? `24 moons`: it is no time; write it like")
    assert told[3] == f"{prompt}  hub = hub: fasteners 4, torque 9 N·m, thread M8"


def test_the_end_of_what_is_typed_ends_it_too(new, say):
    say("hub, 4 x M8, 9 N·m, 8 %")

    assert len(load_plan(new(to="axle.yaml", lines=None), "x").joints) == 1


def test_without_a_standard_input_there_is_nothing_to_read(new, monkeypatch):
    monkeypatch.setattr(sys, "stdin", None)

    with pytest.raises(SourceError, match="standard input: is closed; name a file of lines"):
        new(to="axle.yaml", lines=None)


def test_lines_are_added_to_a_plan_and_every_other_byte_stays(new, tmp_path):
    (tmp_path / "plan.yaml").write_bytes(PLAN + STEPS)

    data = new("do: Lower it\nguard, 2 x M6, 5 N·m, later\nhub, 4 x M8, 9 lbf·ft\nopen: Hub nuts\n", into="plan.yaml")

    joints = b"""\
- id: guard
  name: guard
  fasteners: 2
  torque: 5
  thread: M6
- id: hub-2
  name: hub
  fasteners: 4
  torque: 9
  unit: "lbf\xc2\xb7ft"
  thread: M8
""".replace(b'"lbf\xc2\xb7ft"', b"lbf\xc2\xb7ft")
    steps = b"""\
    - do: Lower it
    - torque: [hub-2]
    - open: [hub]
    - torque: [guard]
    - torque: [hub]
"""
    head, last, comment = PLAN.partition(b"  # the last of them\n")
    assert data == head + joints + last + comment + STEPS.replace(b"\n# The end", b"@", 1).replace(
        b"@", steps + b"\n# The end", 1
    )
    assert load_plan(data, "x").joints[-1].unit == "lbf·ft"


def test_a_plan_without_steps_gets_none_where_none_is_needed(new, tmp_path):
    (tmp_path / "plan.yaml").write_bytes(PLAN)

    assert b"steps" not in new("guard, 2 x M6, 5 N·m\n", into="plan.yaml")


def test_a_plan_without_steps_gets_its_own_joints_as_steps_first(new, tmp_path):
    (tmp_path / "plan.yaml").write_bytes(PLAN)

    steps = load_whole(new("guard, 2 x M6, 5 N·m, loose\n", into="plan.yaml"), "x").written.steps

    assert [step.model_dump(exclude_unset=True) for step in steps] == [
        {"torque": ["hub"]}, {"torque": ["cap"]}, {"loose": ["guard"]}, {"torque": ["guard"]}
    ]  # fmt: skip


def test_what_is_added_is_judged_before_anything_is_written(new, tmp_path):
    (tmp_path / "plan.yaml").write_bytes(PLAN)

    with pytest.raises(PlanError, match=r"^lines.txt, line 1, `joints.guard.cure`: `24 moons`"):
        new("guard, 2 x M6, 5 N·m, cure 24 moons\n", into="plan.yaml")
    with pytest.raises(
        PlanError, match=r"^lines.txt, line 2, `steps\[3\].retorque\[1\]`: `guard` is torqued only in a later step"
    ):
        new("guard, 2 x M6, 5 N·m, later\nretorque: guard, 40 km\n", into="plan.yaml")
    assert (tmp_path / "plan.yaml").read_bytes() == PLAN


def test_steps_alone_can_be_added_too(new, tmp_path):
    (tmp_path / "plan.yaml").write_bytes(PLAN + STEPS)

    assert b"    - hold point: level\n      ask: level\n      sign: lead\n" in new("hold point: level, lead\n", into="plan.yaml")


ENTRY = Entry(Place(0, ""), (Said(STEP_COLUMNS["do"][0], "Clean: it", Place(0, "")),))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        pytest.param("steps:\n- do: x   # c\n  # tail\n\nz: 3\n", "steps:\n- do: x   # c\n@  # tail\n\nz: 3\n", id="no-indent"),
        pytest.param("steps:\n   - do: x\nz: 3", "steps:\n   - do: x\n   @z: 3", id="three"),
        pytest.param("steps:\r\n  - do: x\r\n", "steps:\r\n  - do: x\r\n  @", id="cr-lf"),
        pytest.param("steps:\n  - do: x", "steps:\n  - do: x\n  @", id="no-last-line-end"),
        pytest.param("steps:\r\n  - do: x", "steps:\r\n  - do: x\r\n  @", id="no-last-line-end-after-cr-lf"),
        pytest.param(
            "steps:\n  - do: |\n      x\n      y\nz: 3\n", "steps:\n  - do: |\n      x\n      y\n  @z: 3\n", id="block-text"
        ),
        pytest.param('steps:\n  - do: "x\n      y" # c\n', 'steps:\n  - do: "x\n      y" # c\n  @', id="text-over-lines"),
        pytest.param("steps:\n  - {do: x,\n     covers: []}\n", "steps:\n  - {do: x,\n     covers: []}\n  @", id="braces"),
        pytest.param(
            "steps:\n  - torque:\n    - a\n    - b\n...\n", "steps:\n  - torque:\n    - a\n    - b\n  @...\n", id="inner-list"
        ),
        pytest.param("z: 3 # c\n# tail\n", "z: 3 # c\nsteps:\n  @# tail\n", id="no-list-yet"),
        pytest.param("\ufeffsteps:\n  - do: x\n", "\ufeffsteps:\n  - do: x\n  @", id="byte-order-mark"),
        pytest.param("steps:\n  - do: ×·ö\nz: 前\n", "steps:\n  - do: ×·ö\n  @z: 前\n", id="unicode"),
    ],
)
def test_an_entry_is_put_behind_the_last_one_and_nothing_else_changes(before, after):
    end = "\r\n" if "\r\n" in before else "\n"

    assert inserted(before.encode(), "steps", (ENTRY,), "x").decode() == after.replace("@", f'- do: "Clean: it"{end}')


def test_nothing_to_put_in_changes_nothing():
    assert inserted(b"\xff", "steps", (), "x") == b"\xff"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param(
            "steps: [{do: x}]\n", "x, line 1, `steps`: `steps` is no list with each entry on a line of its own", id="brackets"
        ),
        pytest.param(
            "steps: []\n",
            "x, line 1, `steps`: `steps` is no list with each entry on a line of its own behind a dash; take the"
            " line out, since it is empty",
            id="empty-brackets",
        ),
        pytest.param("steps: none\n", "x, line 1, `steps`: `steps` is no list with each entry on a line of its own", id="a-text"),
        pytest.param(
            "{steps: []}\n", "x, line 1: its fields stand in braces; write each on a line of its own first", id="braces"
        ),
        pytest.param("- a\n", "x, line 1: its fields stand in braces", id="list"),
        pytest.param("a: [\n", "x: this is no YAML (", id="no-yaml"),
        pytest.param(
            "a: 1\rsteps:\r  - do: x\rz: 3\r", "x: nothing can be put behind `steps` without changing something else", id="cr"
        ),
    ],
)
def test_a_plan_that_is_laid_out_otherwise_is_refused(text, says):
    with pytest.raises(PlanError, match=f"^{re.escape(says)}"):
        inserted(text.encode(), "steps", (ENTRY,), "x")


@pytest.fixture(name="accept")
def _accept(tmp_path, monkeypatch):
    """Accepts a finding in a plan and gives its bytes."""
    monkeypatch.chdir(tmp_path)

    def run(plan, joint=None, finding="unlike-mirror-joints", reason=" Sheet 7\n says so ", name="plan.yaml"):
        (tmp_path / name).write_bytes(plan)
        assert run_accept(argparse.Namespace(plan=name, finding=finding, joint=joint, reason=reason)) == 0
        return (tmp_path / name).read_bytes()

    return run


def test_a_finding_is_accepted_in_the_plan_with_its_reason(accept, capsys):
    data = accept(PLAN, ["hub", "cap", "hub"])

    assert data == PLAN.replace(
        b"  # the last of them\n",
        b"accepted:\n  - finding: unlike-mirror-joints\n    joints: [hub, cap]\n    reason: Sheet 7 says so\n"
        b"  # the last of them\n",
    )
    (accepted,) = load_whole(data, "x").written.accepted
    assert (accepted.finding, accepted.joints, accepted.reason) == ("unlike-mirror-joints", ["hub", "cap"], "Sheet 7 says so")
    assert "`unlike-mirror-joints` is accepted for hub, cap; give the plan a new revision" in capsys.readouterr().err


def test_one_more_is_put_behind_those_that_are_there(accept):
    once = accept(PLAN + b"accepted: # list\n- finding: a\n  reason: b # c\n", finding="single-use-reused")

    assert (
        once
        == PLAN + b"accepted: # list\n- finding: a\n  reason: b # c\n- finding: single-use-reused\n  reason: Sheet 7 says so\n"
    )


@pytest.mark.parametrize(
    ("entry", "joint", "writes"),
    [
        pytest.param(b"{finding: unlike-mirror-joints, reason: x}", ["hub"], False, id="for-all"),
        pytest.param(b"{finding: unlike-mirror-joints, reason: x, joints: [hub, cap]}", ["hub"], False, id="for-it"),
        pytest.param(b"{finding: unlike-mirror-joints, reason: x, joints: [cap]}", ["hub"], True, id="for-another"),
        pytest.param(b"{finding: unlike-mirror-joints, reason: x, joints: [cap]}", None, True, id="for-one-and-now-for-all"),
        pytest.param(b"{finding: another, reason: x}", ["hub"], True, id="another"),
    ],
)
def test_what_is_accepted_already_is_not_written_again(accept, capsys, entry, joint, writes):
    plan = PLAN + b"accepted:\n  - " + entry + b"\n"

    assert (accept(plan, joint) != plan) == writes
    assert ("is accepted already; nothing is written" in capsys.readouterr().err) != writes


@pytest.mark.parametrize(
    ("more", "says"),
    [
        pytest.param({"joint": ["hubb"]}, "plan.yaml: the plan has no joint `hubb`; did you mean `hub`?", id="joint"),
        pytest.param(
            {"finding": "unlike-miror"}, "there is no finding `unlike-miror`; did you mean `unlike-mirror-joints`?", id="finding"
        ),
        pytest.param(
            {"finding": "acceptance-of-nothing"}, "`acceptance-of-nothing` is about `accepted` itself and cannot be", id="own"
        ),
        pytest.param({"finding": "never-torqued"}, "`never-torqued` is an error, and no reason makes such a plan", id="error"),
        pytest.param({"reason": " "}, "--reason is empty; say why", id="reason"),
        pytest.param({"name": "plan.csv"}, "plan.csv: is a table; write into it with the program that made it", id="table"),
    ],
)
def test_an_acceptance_that_cannot_be_is_one_line_and_nothing_is_written(accept, tmp_path, more, says):
    with pytest.raises((PlanError, RecordError), match=re.escape(says)):
        accept(PLAN, **more)
    assert (tmp_path / more.get("name", "plan.yaml")).read_bytes() == PLAN


def test_one_side_of_a_mirrored_joint_can_be_named(accept):
    plan = PLAN.replace(b"torque: 110}", b"torque: 110, mirror: left/right}")

    assert b"joints: [hub-left]" in accept(plan, ["hub-left"])


def test_an_entry_that_would_land_elsewhere_is_not_written(monkeypatch):
    monkeypatch.setattr(plan_insert, "_last_line", lambda node: 1)

    with pytest.raises(PlanError, match="x: nothing can be put behind `steps` without changing something else; write it by hand"):
        inserted(b"steps:\n- do: x\n- do: y\n", "steps", (ENTRY,), "x")


def test_on_a_real_terminal_each_line_is_asked_for(tmp_path):
    controller, terminal = os.openpty()
    chosen = "lines=None, to='axle.yaml', into=None, title=None, revision=None, source=None, unit=None, tolerance='8 %'"
    program = f"from argparse import Namespace; from collector.cli.plan_new import run_new; run_new(Namespace({chosen}))"
    child = subprocess.Popen([sys.executable, "-c", program], cwd=tmp_path, stdin=terminal, stderr=terminal)
    os.close(terminal)
    shown = b""

    for line in ("hub, 4 x M8\n", "hub, 4 x M8, 9 N·m, loose\n", "\n"):
        while not shown.endswith(b"ends): "):
            shown += os.read(controller, 1000)
        os.write(controller, line.encode())
        shown += b"\n"
    assert child.wait(60) == 0
    os.close(controller)

    assert "? what is the torque?" in shown.decode()
    assert [joint.id for joint in load_plan((tmp_path / "axle.yaml").read_bytes(), "x").joints] == ["hub"]
