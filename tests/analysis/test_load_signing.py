"""A signature that came after what it holds says how long after; many within a minute by one person are marked."""

from dataclasses import replace

import pytest

from analysis.load.record_pulls import Raw, ReadingRow
from analysis.load.record_said import DecisionRow, SignatureRow
from analysis.load.signing import batch_notes, held_passes, late_text
from schemas.plan.load import load_plan

PLAN = """\
plan: drawbar
title: Drawbar
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: 2, torque: 100}
  - {id: b, name: B, fasteners: 2, torque: 80}
  - {id: c, name: C, fasteners: 2, torque: 60}
steps:
  - torque: a
  - hold point: named
    ask: Level?
    sign: lead
  - torque: b
  - torque: c
    after: [named]
  - hold point: unnamed
    ask: Clean?
    sign: lead
  - open: a
  - torque: a
  - recheck: c
  - hold point: last
    ask: Done?
    sign: lead
"""
ROUTE = load_plan(PLAN.encode(), "p.yaml")
STEPS = {step.hold_point: step for step in ROUTE.steps}


def pull(seq: int, joint: str, clock: str, stage: int = 1, **more: object) -> ReadingRow:
    made = ReadingRow(
        seq=seq, n=seq, at=f"2026-03-02T{clock}.000000Z", by="Mira Tannwald", line=None, wrench="W-140", measures="highest",
        torque="60", unit="N·m", torque_nm="60", torque_shown=None, unit_shown=None, over_range=False, sequence=None,
        tool_time=None, angle_deg=None, notes="", fit=True, unfit=None, joint=joint, joint_name=joint, stage=stage, position=1,
        position_by="order", kind="tightening", verdict="in band", p="1", reason="", low_nm="54", high_nm="66", revisions=0,
        raw=Raw("", ""),
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def signed(seq: int, clock: str, hold_point: str | None = "named", by: str = "Runa Veld", **more: object) -> SignatureRow:
    made = SignatureRow(seq, f"2026-03-02T{clock}.000000Z", by, "lead", hold_point, None, None)
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def said(seq: int, clock: str, word: str = "stripes", by: str = "Runa Veld", **more: object) -> DecisionRow:
    made = DecisionRow(seq, f"2026-03-02T{clock}.000000Z", by, word, "a", "A", None, None, None, None)
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def late(pulls, signature: SignatureRow, hold_point: str = "named", decisions=()) -> str:
    return late_text(ROUTE, STEPS[hold_point], signature, pulls, decisions).replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("hold_point", "held"),
    [
        pytest.param("named", [(4, "c")], id="the-step-that-names-it"),
        pytest.param("unnamed", [(7, "a")], id="else-the-first-one-after-it"),
        pytest.param("last", [], id="none-after-it"),
    ],
)
def test_a_hold_point_holds_what_names_it_else_what_comes_next(hold_point, held) -> None:
    assert [(one.step.number, one.joint.id) for one in held_passes(ROUTE, STEPS[hold_point])] == held


def test_the_delay_runs_from_the_first_pull_that_should_have_waited() -> None:
    pulls = [pull(1, "b", "06:00:00"), pull(2, "c", "07:10:00"), pull(3, "c", "07:01:00")]

    assert late(pulls, signed(9, "07:15:00")) == "signed 14 min after the first pull it holds"


def test_signed_before_the_first_pull_it_is_not_late() -> None:
    assert late([pull(12, "c", "07:16:00")], signed(9, "07:15:00")) == ""
    assert late([], signed(9, "07:15:00")) == ""


@pytest.mark.parametrize(
    "other",
    [
        pytest.param({"kind": "stray"}, id="stray"),
        pytest.param({"kind": "repeat"}, id="second-click"),
        pytest.param({"stage": 2}, id="the-recheck-of-a-later-step"),
        pytest.param({"joint": "b"}, id="another-joint"),
    ],
)
def test_what_is_no_pull_of_that_work_does_not_count(other) -> None:
    assert late([replace(pull(2, "c", "07:01:00"), **other)], signed(9, "07:15:00")) == ""


def test_of_a_joint_that_is_opened_again_only_what_came_after_the_opening_is_held() -> None:
    before, after = pull(2, "a", "07:01:00"), pull(6, "a", "07:05:00")
    opening = said(4, "07:04:00", "opened", step=6)

    assert late([before], signed(9, "07:15:00"), "unnamed") == ""
    assert late([before, after], signed(9, "07:15:00"), "unnamed", [opening]) == "signed 10 min after the first pull it holds"
    assert late([before, after], signed(9, "07:15:00"), "unnamed", [replace(opening, step=None)]) == ""


@pytest.mark.parametrize(
    "tool_time",
    [
        pytest.param(None, id="no-time"),
        pytest.param("2026-03-02T07:01:00", id="no-zone"),
        pytest.param("2026-03-02T09:00:00Z", id="a-clock-that-runs-ahead"),
    ],
)
def test_without_a_certain_time_the_ledger_decides_and_no_delay_is_named(tool_time) -> None:
    row = pull(2, "c", "07:16:00", line=4, tool_time=tool_time)

    assert late([row], signed(9, "07:15:00")) == "signed after the first pull it holds; how long after is not certain"
    assert late([replace(row, seq=12)], signed(9, "07:15:00")) == ""


def test_a_log_tells_the_delay_by_the_tools_own_time() -> None:
    row = pull(20, "c", "18:00:00", line=4, tool_time="2026-03-02T08:01:00+01:00")

    assert late([row], signed(9, "07:15:00")) == "signed 14 min after the first pull it holds"


def notes(signatures, decisions=()) -> dict[int, str]:
    return {seq: note.replace("\u00a0", " ") for seq, note in batch_notes(signatures, decisions).items()}


def test_three_within_a_minute_by_one_person_are_marked_whatever_they_signed() -> None:
    signatures = [signed(1, "07:00:00"), signed(2, "07:00:20", None, second="a")]

    assert notes(signatures, [said(3, "07:00:38")]) == dict.fromkeys((1, 2, 3), "signed as one of 3 within 38 s")


@pytest.mark.parametrize(
    ("third", "decisions"),
    [
        pytest.param(signed(3, "07:01:01"), [], id="a-second-too-late"),
        pytest.param(signed(3, "07:00:38", by="Jonna Brandt"), [], id="another-person"),
        pytest.param(signed(3, "07:00:38", None, snug="a"), [], id="a-snug-round"),
        pytest.param(None, [said(3, "07:00:38", "opened")], id="no-signature"),
    ],
)
def test_two_are_no_batch(third, decisions) -> None:
    signatures = [signed(1, "07:00:00"), signed(2, "07:00:30"), *([third] if third else [])]

    assert notes(signatures, decisions) == {}


def test_the_whole_minute_counts_and_each_is_told_of_its_largest_batch() -> None:
    clocks = ("07:00:00", "07:00:30", "07:01:00", "07:01:10", "07:01:20", "07:03:00")

    told = notes([signed(n, clock) for n, clock in enumerate(clocks)])

    # Second to fifth lie within 50 s; the first has but itself and two others within its minute.
    assert told == {0: "signed as one of 3 within 60 s", **dict.fromkeys((1, 2, 3, 4), "signed as one of 4 within 50 s")}
