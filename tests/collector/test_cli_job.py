"""`job show` and `job list` never say complete alone where a person, and no wrench, answers for a fastener."""

import pytest

from collector.cli.main import main

PLAN = """\
plan: bracket
title: Bracket
revision: "1"
source: Shop sheet 9
unit: N·m
tolerance: 10 %
joints:
  - {id: bolts, name: Bracket bolts, fasteners: 2, torque: 40}
  - {id: clamps, name: Hose clamps, fasteners: 3, torque: not stated}
"""


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))
    plan = tmp_path / "plan.yaml"
    plan.write_text(PLAN, encoding="utf-8")

    def run(*arguments):
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        return code, capsys.readouterr().out

    run("job", "open", plan, "--item", "AB\x1b[2J12", "--fitter", "Oda Kern")
    return run


def test_a_record_that_is_complete_by_word_alone_names_who_answers_for_it(run):
    run("job", "declare", "1", "--by", "Lars Enk", "--joint", "bolts", "--tool", "beam wrench")
    run("job", "not-fitted", "1", "--by", "Lars Enk", "--joint", "clamps", "--position", "2", "--why", "hose is moulded")
    run("job", "declare", "1", "--by", "Lars Enk", "--joint", "clamps", "--tool", "screwdriver")

    code, shown = run("job", "show", "1")

    assert code == 0
    assert "the torque record is complete" in shown
    assert "declared or not fitted, so not proven by any wrench:" in shown
    assert "says Lars Enk" in shown
    assert "complete, 4 declared, 1 not fitted" in run("job", "list")[1]


def test_who_took_the_work_over_is_named_with_the_fitter(run):
    run("job", "hand-over", "1", "--by", "Oda Kern", "--to", "Jo Wald", "--yes")
    run("job", "take-over", "1", "--by", "Jo Wald", "--yes")

    assert "fitter Oda Kern, then Jo Wald" in run("job", "show", "1")[1]


def test_no_control_character_of_a_text_reaches_the_terminal(run):
    run("job", "declare", "1", "--by", "Lars Enk", "--joint", "bolts", "--tool", "beam\x1b[2J wrench")

    assert "\x1b" not in run("job", "show", "1")[1]
