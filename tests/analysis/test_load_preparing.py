"""A preparation is held against the pulls that followed it, or that it should have come before."""

from dataclasses import replace

import pytest

from analysis.load.preparing import preparations
from analysis.load.record_pulls import Raw, ReadingRow
from analysis.load.record_said import DecisionRow
from schemas.plan.load import load_plan

PLAN = """\
plan: drawbar
title: Drawbar
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: 2, torque: 100, prep: threadlocker high, work_within: 10 min}
  - {id: b, name: B, fasteners: 2, torque: 80, prep: oil}
"""
ROUTE = load_plan(PLAN.encode(), "p.yaml")


def pull(seq: int, clock: str, **more: object) -> ReadingRow:
    made = ReadingRow(
        seq=seq, n=seq, at=f"2026-03-02T{clock}.000000Z", by="Mira Tannwald", line=None, wrench="W-140", measures="highest",
        torque="60", unit="N·m", torque_nm="60", torque_shown=None, unit_shown=None, over_range=False, sequence=None,
        tool_time=None, angle_deg=None, notes="", fit=True, unfit=None, joint="a", joint_name="A", stage=1, position=1,
        position_by="order", kind="tightening", verdict="in band", p="1", reason="", low_nm="54", high_nm="66", revisions=0,
        raw=Raw("", ""),
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def said(seq: int, clock: str, joint: str = "a", position: int | None = None, **more: object) -> DecisionRow:
    at = f"2026-03-02T{clock}.000000Z"
    made = DecisionRow(
        seq, at, "Mira Tannwald", "prepared", joint, joint.upper(), position, None, None, None, lot="L7"
    )
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def told(decisions, pulls) -> list[str]:
    return [row.when.replace("\u00a0", " ") for row in preparations(ROUTE, decisions, pulls)]


def test_it_says_who_when_what_with_and_how_long_before_the_pulls() -> None:
    (row,) = preparations(ROUTE, [said(1, "07:00:00")], [pull(2, "07:02:00"), pull(3, "07:09:00", position=2)])

    assert (row.by, row.at[11:19], row.joint_name, row.prep, row.lot) == (
        "Mira Tannwald", "07:00:00", "A", "threadlocker high", "L7",
    )  # fmt: skip
    assert row.when.replace("\u00a0", " ") == "first pull 2 min later, last pull 9 min later (10 min allowed)"


def test_declared_after_the_pulls_it_says_how_late() -> None:
    pulls = [pull(2, "07:02:00"), pull(3, "07:09:00")]

    assert told([said(4, "07:12:00")], pulls) == ["declared 10 min after the first pull and 3 min after the last one"]
    assert told([said(4, "07:05:00")], [pull(2, "07:02:00"), pull(5, "07:09:00")]) == [
        "declared 3 min after the first pull, last pull 4 min later (10 min allowed)"
    ]


def test_without_a_time_that_the_compound_allows_none_is_named() -> None:
    assert told([said(1, "07:00:00", "b")], [pull(2, "07:02:00", joint="b")]) == ["first pull 2 min later, last pull 2 min later"]


def test_each_preparation_has_the_pulls_up_to_the_next_one_at_its_place() -> None:
    decisions = [said(1, "07:00:00"), said(4, "07:30:00"), said(5, "07:40:00", "b")]
    pulls = [pull(2, "07:02:00"), pull(6, "07:31:00"), pull(7, "07:50:00", joint="b")]

    assert told(decisions, pulls) == [
        "first pull 2 min later, last pull 2 min later (10 min allowed)",
        "first pull 60 s later, last pull 60 s later (10 min allowed)",
        "first pull 10 min later, last pull 10 min later",
    ]


def test_of_one_position_only_its_own_pulls_count() -> None:
    decisions = [said(1, "07:00:00", position=1), said(2, "07:01:00", position=2)]
    pulls = [pull(3, "07:05:00"), pull(4, "07:06:00", position=2)]

    assert [text.split(",")[0] for text in told(decisions, pulls)] == ["first pull 5 min later", "first pull 5 min later"]


@pytest.mark.parametrize(
    ("pulls", "text"),
    [
        pytest.param([], "no pull since", id="none"),
        pytest.param([pull(2, "07:02:00", kind="repeat")], "no pull since", id="a-second-click"),
        pytest.param([pull(2, "07:02:00", line=3)], "the times of the pulls are not certain", id="no-certain-time"),
    ],
)
def test_without_pulls_or_times_it_says_so(pulls, text) -> None:
    assert told([said(1, "07:00:00")], pulls) == [text]


def test_a_joint_that_the_plan_has_no_more_keeps_its_preparation() -> None:
    (row,) = preparations(ROUTE, [said(1, "07:00:00", "gone")], [pull(2, "07:02:00", joint="gone")])

    assert (row.joint, row.prep) == ("gone", "prepared")
