"""`plan diff` on files of every form: one line a difference, exit 1 where there is one."""

import json
from argparse import Namespace

import pytest

from collector.cli.plan_diff import accepted_in, run_diff
from schemas.errors import PlanError

PLAN = """\
plan: axle
title: Box trailer, axle
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 4, torque: 100, order: cross}
"""


@pytest.fixture(name="diff")
def _diff(tmp_path, capsys):
    def diff(before, after, as_json=False):
        paths = []
        for name, text in (("a.yaml", before), ("b.yaml", after)):
            path = tmp_path / name if not name.startswith("b") or not text.startswith("plan,") else tmp_path / "b.csv"
            path.write_text(text, encoding="utf-8")
            paths.append(str(path))
        code = run_diff(Namespace(before=paths[0], after=paths[1], json=as_json))
        return code, capsys.readouterr().out

    return diff


def test_a_difference_is_told_and_gives_1(diff):
    assert diff(PLAN, PLAN.replace("torque: 100", "torque: 105")) == (
        1,
        "hub: torque 100 → 105 N·m\nhub: band 90 to 110 → 94.5 to 115.5 N·m\n",
    )


def test_a_comment_is_no_difference_and_gives_0(diff):
    assert diff(PLAN, f"# read by Runa\n{PLAN}") == (0, "no difference in what the plans say\n")


def test_what_is_written_differently_and_says_the_same_is_told_as_that(diff):
    code, out = diff(PLAN, PLAN.replace("order: cross}", "order: cross, tolerance: 10 %}"))

    assert code == 0
    assert out.splitlines() == [
        "no difference in what the plans say",
        "they are written differently, so that their content hashes differ",
    ]


def test_what_a_plan_lets_stand_is_a_difference(diff):
    accepted = "accepted:\n  - {finding: one-wheel, joints: [hub], reason: single axle}\n  - {finding: old, reason: still so}\n"

    assert diff(PLAN, PLAN + accepted) == (
        1,
        "accepted `one-wheel` of hub: put in (single axle)\naccepted `old`: put in (still so)\n",
    )


def test_the_answer_as_json_has_each_difference_in_parts(diff):
    code, out = diff(PLAN, PLAN.replace("Hub nuts", "Hub bolts"), as_json=True)

    assert code == 1
    assert json.loads(out) == {
        "format": 1,
        "differences": [{"subject": "hub", "what": "name", "before": "Hub nuts", "after": "Hub bolts", "unit": ""}],
    }
    assert json.loads(diff(PLAN, PLAN, as_json=True)[1]) == {"format": 1, "differences": []}


def test_a_table_is_compared_with_a_text(diff):
    table = (
        "plan,title,revision,source,id,name,fasteners,torque,unit,tolerance,order\n"
        'axle,"Box trailer, axle",1,Shop procedure 7,hub,Hub nuts,5,100,N·m,10 %,cross\n'
    )

    code, out = diff(PLAN, table)

    assert code == 1
    assert out.splitlines()[:2] == ["hub: fasteners 4 → 5", "hub: order cross (1, 3, 2, 4) → cross (1, 3, 5, 2, 4)"]


def test_a_plan_that_is_none_is_refused(diff):
    with pytest.raises(PlanError, match="line 8"):
        diff(PLAN, PLAN.replace("torque: 100", "torque: strong"))


def test_a_kept_text_that_cannot_be_read_any_more_lets_nothing_stand():
    assert accepted_in(b"plan: [", "kept") == ()
