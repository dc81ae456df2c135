"""The work passes from one person to another: both sign what is open, and the interrupted round comes first."""

import io
import sqlite3
import sys
from argparse import Namespace

import pytest

from analysis.load import open_audit
from analysis.verify import verify_file
from collector.cli import job_hand
from collector.cli.job_hand import open_lines, run_hand_over, run_take_over
from collector.expect.in_order import InOrder
from schemas.bodies import Decided, JobClosed
from schemas.errors import RecordError

# A joint that a later step goes round again; `beam` is between the two.
RECHECKED = """\
plan: axle
title: Box trailer, axle
revision: "1"
source: Shop procedure 7, section 4
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 3, torque: 100}
  - {id: beam, name: Beam bolts, fasteners: 2, torque: 60}
steps:
  - torque: hub
  - torque: beam
  - recheck: hub
"""


@pytest.fixture(name="begun")
def _begun(floor):
    """A job whose drawbar clamp is in the middle of its second round."""
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        floor.run(bench, *(floor.pull(torque) for torque in ("50.0", "50.1", "100.0")))
    return floor


def hand_over(floor, by="Mira Tannwald", to="Jonas Ried", yes=True):
    return run_hand_over(Namespace(db=str(floor.path), job="1", by=by, to=to, yes=yes))


def take_over(floor, by="Jonas Ried", yes=True):
    return run_take_over(Namespace(db=str(floor.path), job="1", by=by, yes=yes))


def rows(floor):
    db = open_audit(floor.path)
    try:
        return [tuple(row) for row in db.execute("SELECT signs, leaver, taker, open FROM hand_over ORDER BY seq")]
    finally:
        db.close()


def test_the_first_target_after_a_stop_and_a_hand_over_is_the_interrupted_round(begun):
    hand_over(begun)
    take_over(begun)

    with begun.recorder() as recorder:
        state = recorder.load_job("1")
        target = InOrder().expect_next(state)

    assert (target.joint.id, target.stage.number, target.position) == ("clamp", 2, 2)


def test_both_sign_the_same_list_which_begins_with_the_interrupted_round(begun, capsys):
    assert hand_over(begun) == 0
    said = capsys.readouterr().out.splitlines()
    assert take_over(begun) == 0
    again = capsys.readouterr().out.splitlines()

    assert said[:2] == [
        "open on job 1:",
        "  interrupted round: Drawbar clamp, stage 2 of 2 (100 %): still to pull position 2",
    ]
    assert again == [*said, "the same as the leaver signed"]
    signed = "\n".join(line.removeprefix("  ") for line in said[1:])
    assert rows(begun) == [("leaver", "person-2", "person-3", signed), ("taker", "person-2", "person-3", signed)]


def test_the_taker_is_the_fitter_from_then_on_and_the_record_verifies(begun):
    hand_over(begun)
    with begun.recorder() as recorder:
        assert recorder.load_job("1").fitter == recorder.person("Mira Tannwald"), "not before the taker signs"
    take_over(begun)

    with begun.recorder() as recorder:
        state = recorder.load_job("1")
        assert state.fitter == recorder.person("Jonas Ried")
        assert state.opened.fitter == recorder.person("Mira Tannwald")
    assert verify_file(begun.path).findings == []


def test_what_changed_since_the_leaver_signed_is_told_to_the_taker(begun, capsys):
    hand_over(begun)
    with begun.recorder() as recorder:
        begun.run(begun.bench(recorder, recorder.load_job("1")), begun.pull("99.0"))
    capsys.readouterr()

    take_over(begun)

    changed = capsys.readouterr().out.partition("changed since the leaver signed:\n")[2].splitlines()
    assert changed == [
        "  no longer: interrupted round: Drawbar clamp, stage 2 of 2 (100 %): still to pull position 2",
        "  new: waits for its stripes to be counted: Drawbar clamp",
    ]


@pytest.mark.parametrize(
    ("by", "said"),
    [
        pytest.param("Runa Veld", "is handed over to Jonas Ried, not to Runa Veld; only Jonas Ried signs for it", id="another"),
        pytest.param("Mira Tannwald", "only Jonas Ried signs", id="the-leaver"),
    ],
)
def test_only_the_named_taker_may_sign(begun, by, said):
    hand_over(begun)

    with pytest.raises(RecordError, match=said):
        take_over(begun, by)

    assert [row[0] for row in rows(begun)] == ["leaver"]


def test_nobody_takes_over_what_nobody_handed_over(begun):
    with pytest.raises(RecordError, match="nobody hands job 1 over: who leaves signs first"):
        take_over(begun)

    hand_over(begun)
    take_over(begun)
    with pytest.raises(RecordError, match="nobody hands job 1 over"):
        take_over(begun)


def test_nobody_hands_over_to_themselves_and_a_closed_job_is_handed_to_nobody(begun):
    with pytest.raises(RecordError, match="name another person with --to"):
        hand_over(begun, to="mira  tannwald")
    with begun.recorder() as recorder, recorder.transaction():
        recorder.load_job("1")
        recorder.append(JobClosed("1"), "person-1")
    with pytest.raises(RecordError, match="job 1 is closed; nothing is added to it"):
        hand_over(begun)
    with pytest.raises(RecordError, match="job 1 is closed; nothing is added to it"):
        take_over(begun)
    assert open_lines(begun.path, "1") == ()


def test_a_leaver_who_is_not_the_fitter_is_recorded_and_told(begun, capsys):
    hand_over(begun, by="Runa Veld")

    assert "the fitter of job 1 is Mira Tannwald; Runa Veld hands it over all the same" in capsys.readouterr().err
    assert rows(begun)[0][:3] == ("leaver", "person-1", "person-3")


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize("typed", ["\n", "y\n", " Yes \n"], ids=["enter", "y", "yes"])
def test_enter_on_a_terminal_signs(begun, monkeypatch, capsys, typed):
    monkeypatch.setattr(job_hand, "has_keyboard", lambda stream: stream.isatty())
    monkeypatch.setattr(sys, "stdin", Terminal(typed))

    assert hand_over(begun, yes=False) == 0

    assert "signed by Mira Tannwald? Enter = yes, n = no" in capsys.readouterr().err
    assert len(rows(begun)) == 1


@pytest.mark.parametrize("typed", ["n\n", "later\n", "", "y"], ids=["n", "another-word", "closed", "closed-without-enter"])
def test_anything_else_on_a_terminal_signs_nothing(begun, monkeypatch, typed):
    monkeypatch.setattr(job_hand, "has_keyboard", lambda stream: stream.isatty())
    monkeypatch.setattr(sys, "stdin", Terminal(typed))

    with pytest.raises(RecordError, match="not signed; nothing was recorded"):
        hand_over(begun, yes=False)

    assert rows(begun) == []


def test_where_nobody_can_be_asked_the_command_is_the_signature(begun, monkeypatch, capsys):
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))

    assert hand_over(begun, yes=False) == 0

    assert "Enter" not in capsys.readouterr().err


def test_without_a_file_or_a_job_one_line_says_so(floor, begun):
    with pytest.raises(RecordError, match="there is no job 7"):
        run_hand_over(Namespace(db=str(floor.path), job="7", by="A", to="B", yes=True))
    with pytest.raises(RecordError, match="there is no such file"):
        run_hand_over(Namespace(db=str(floor.path) + "x", job="1", by="A", to="B", yes=True))
    with pytest.raises(RecordError, match="there is no job 7"):
        open_lines(floor.path, "7")


def test_an_erased_name_is_told_as_erased(begun, capsys):
    with sqlite3.connect(begun.path) as db:
        db.execute("DELETE FROM private WHERE value = 'Mira Tannwald'")
    db.close()

    hand_over(begun, by="Runa Veld")

    assert "the fitter of job 1 is person-2 (name erased)" in capsys.readouterr().err


def test_open_lines_reads_without_writing(begun):
    before = begun.path.read_bytes()

    lines = open_lines(begun.path, "1")

    assert lines[0].startswith("interrupted round: Drawbar clamp")
    assert begun.path.read_bytes() == before


def test_a_simulated_job_is_handed_over_as_simulated(floor, capsys):
    with floor.recorder() as recorder:
        floor.job(recorder, simulated=True)

    hand_over(floor)

    assert capsys.readouterr().out.startswith("open on job 1:  SIMULATED\n")


def test_an_interrupted_recheck_comes_before_a_joint_that_was_opened_meanwhile(floor):
    """Gone round again, the first of three is pulled; then the lead opens a bolt between. The round is finished first."""
    floor.text = RECHECKED
    with floor.recorder() as recorder:
        bench = floor.bench(recorder)
        floor.run(bench, *(floor.pull(torque) for torque in ("100", "100", "100", "60", "60", "100")))
        assert bench.job.in_hand == "hub"
        with recorder.transaction():
            recorder.append(Decided("1", "opened", "beam", 2), "person-1")
        target = InOrder().expect_next(bench.job)

    assert (target.joint.id, target.stage.number, target.position) == ("hub", 2, 2)
