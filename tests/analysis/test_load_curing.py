"""A joint that cures is not to be loaded before a time that errs on the late side, and none is named where it is not known."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from analysis.load.curing import loading_text, loadings
from analysis.load.record_pulls import FastenerRow, Raw, ReadingRow
from analysis.load.record_said import DecisionRow
from schemas.plan.load import load_plan
from schemas.words import Proof

PLAN = """\
plan: drawbar
title: Drawbar
revision: "1"
source: Shop procedure 7
unit: N·m
tolerance: 10 %
joints:
  - {id: a, name: A, fasteners: 2, torque: 100, prep: threadlocker high, cure: CURE}
  - {id: b, name: B, fasteners: 2, torque: 80}
"""
PULL = ReadingRow(
    seq=1, n=1, at="2026-03-02T07:10:12.000000Z", by="Mira Tannwald", line=None, wrench="W-140", measures="highest",
    torque="60", unit="N·m", torque_nm="60", torque_shown=None, unit_shown=None, over_range=False, sequence=None,
    tool_time=None, angle_deg=None, notes="", fit=True, unfit=None, joint="a", joint_name="A", stage=1, position=1,
    position_by="order", kind="tightening", verdict="in band", p="1", reason="", low_nm="54", high_nm="66", revisions=0,
    raw=Raw("", ""),
)  # fmt: skip
SAID = DecisionRow(9, "2026-03-02T09:00:00.000000Z", "Ole Brand", "declared", "a", "A", 2, None, None, None)


def told(pulls, proofs=(Proof.PROVEN, Proof.PROVEN), cure: str = "24 h", saying: DecisionRow | None = None):
    route = load_plan(PLAN.replace("CURE", cure).encode(), "p.yaml")
    fasteners = [FastenerRow("a", "A", place, proof, "", (), saying) for place, proof in enumerate(proofs, 1)]
    (row,) = loadings(route, fasteners, pulls)
    return row.not_before, row.text.replace("\u00a0", " ")


def test_the_time_runs_from_the_last_pull_and_is_rounded_up_to_the_minute() -> None:
    later = replace(PULL, at="2026-03-02T07:20:30.000000Z", position=2)

    assert told([later, PULL], cure="2 h") == ("2026-03-02T09:21:00Z", "do not load before 09:21 UTC")
    assert told([replace(PULL, at="2026-03-02T07:20:00.000000Z")], cure="2 h")[1] == "do not load before 09:20 UTC"


def test_on_another_day_the_day_stands_too() -> None:
    assert told([PULL]) == ("2026-03-03T07:11:00Z", "do not load before 2026-03-03 07:11 UTC")
    assert loading_text(datetime(2026, 3, 3, 7, 11, tzinfo=UTC), "2026-03-03") == "do not load before 07:11 UTC"
    assert loading_text(datetime(2026, 3, 3, 7, 11, tzinfo=UTC)) == "do not load before 2026-03-03 07:11 UTC"


def test_the_day_is_that_of_the_pull_in_utc_wherever_the_tool_stands() -> None:
    row = replace(PULL, line=3, tool_time="2026-03-03T01:10:00+02:00")

    # 2026-03-02 23:10 UTC and half an hour.
    assert told([row], cure="30 min") == ("2026-03-02T23:40:00Z", "do not load before 23:40 UTC")
    assert told([row], cure="1 h")[1] == "do not load before 2026-03-03 00:10 UTC"


@pytest.mark.parametrize("kind", ["short pull", "repeat", "recheck", "loosening"])
def test_a_pull_of_any_kind_on_the_joint_begins_the_time_anew(kind) -> None:
    later = replace(PULL, at="2026-03-02T08:00:00.000000Z", kind=kind)

    assert told([PULL, later], cure="2 h")[1] == "do not load before 10:00 UTC"


@pytest.mark.parametrize("other", [{"joint": "b"}, {"kind": "stray"}], ids=["another-joint", "stray"])
def test_a_pull_elsewhere_does_not(other) -> None:
    later = replace(PULL, at="2026-03-02T08:00:00.000000Z", **other)

    assert told([PULL, later], cure="2 h")[1] == "do not load before 09:11 UTC"


def test_what_was_declared_counts_from_when_it_was_said() -> None:
    assert told([PULL], (Proof.PROVEN, Proof.DECLARED), "2 h", SAID)[1] == "do not load before 11:00 UTC"
    assert told([PULL], (Proof.PROVEN, Proof.NOT_FITTED), "2 h", SAID)[1] == "do not load before 09:11 UTC"


@pytest.mark.parametrize("proof", [Proof.MISSED, Proof.LEFT_LOOSE, Proof.FAILED])
def test_no_time_is_named_before_every_fastener_is_done(proof) -> None:
    assert told([PULL], (Proof.PROVEN, proof)) == (None, "do not load within 24 h of the last pull: not every fastener is done")


def test_no_time_is_named_where_a_pull_has_no_certain_time() -> None:
    uncertain = replace(PULL, line=3, tool_time=None)
    text = "do not load within 24 h of the last pull: when that was is not certain"

    assert told([PULL, uncertain]) == (None, text)
    assert told([]) == (None, text)
