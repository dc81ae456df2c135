"""The state of a job, folded from its entries alone, is the one that the writer has."""

import sqlite3
from contextlib import closing

import pytest

from analysis.load.database import open_audit
from analysis.load.state import load_state
from schemas.errors import RecordError


def loaded(path, job):
    with closing(open_audit(path)) as db:
        return load_state(db, job)


def test_it_is_the_state_of_the_writer_and_of_that_job_alone(spoiled, path):
    state, written = loaded(path, spoiled.job), spoiled.recorder.fold.jobs[spoiled.job]

    assert list(state.pulls) == list(written.pulls)
    assert {name: joint.summary.proofs for name, joint in state.joints.items()} == {
        name: joint.summary.proofs for name, joint in written.joints.items()
    }
    assert state.in_hand == written.in_hand


def test_a_job_that_is_not_there_is_named(shop, path):
    with pytest.raises(RecordError, match="there is no job 9 in this database"):
        loaded(path, "9")


def test_an_entry_that_cannot_be_is_named_with_its_number(shop, path):
    shop.pull("hub-nuts", 1, 1, "50")
    shop.recorder.__exit__()
    with closing(sqlite3.connect(path)) as db, db:
        db.execute("DROP TRIGGER ledger_update")
        db.execute('UPDATE ledger SET entry = replace(entry, \'"hub-nuts"\', \'"none"\') WHERE entry LIKE \'%"kind":"match"%\'')

    with pytest.raises(RecordError, match=r"entry \d+ cannot be what was recorded .*; run `witnessmark verify`"):
        loaded(path, shop.job)
