"""A body goes into a ledger entry and comes back equal; what this program does not know is refused."""

import json
from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.bodies import BODIES, PROGRAM, Decided, HandedOver, MatchKept, ReadingKept, SessionOpened, pack_body, parse_body
from schemas.entry import Entry, Json, decode_entry
from schemas.errors import RecordError

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=6)
NUMBERS = st.integers(-(2**53) + 1, 2**53 - 1)
BY_TYPE = {
    str: TEXTS,
    int: NUMBERS,
    str | None: st.none() | TEXTS,
    int | None: st.none() | NUMBERS,
    tuple[str, ...]: st.lists(TEXTS, max_size=3).map(tuple),
    tuple[str, ...] | None: st.none() | st.lists(TEXTS, max_size=3).map(tuple),
    Mapping[str, str]: st.dictionaries(st.text(st.characters(codec="ascii"), max_size=6), TEXTS, max_size=3),
    Mapping[str, Json]: st.just({"plan": "p", "joints": [{"id": "hub"}], "order": [1, 2]}),
}


def bodies(body_class):
    types = {name: kind for name, kind in body_class.__annotations__.items() if name != "KIND"}
    return st.builds(body_class, **{name: BY_TYPE[kind] for name, kind in types.items()})


@given(st.sampled_from(sorted(BODIES.values(), key=lambda body: body.KIND)).flatmap(bodies))
def test_every_body_comes_back_equal_through_the_bytes_of_its_entry(body):
    entry = Entry(body.KIND, "2026-03-02T07:15:00.250000Z", 1, PROGRAM, "00" * 16, pack_body(body))

    back = decode_entry(entry.encode())

    assert parse_body(back.kind, back.body) == body


def test_the_kinds_of_entries_are_those_that_ledgers_hold():
    assert set(BODIES) == {
        "session", "person", "plan", "wrench", "wrench length", "calibration", "check file", "check", "check not taken",
        "check void", "job", "job closed", "joint added", "plan changed", "plan findings", "hand-over", "log", "frame",
        "reading", "not read", "match", "decision", "signature", "link", "report issued", "count", "habits",
    }  # fmt: skip
    assert all(kind == body.KIND for kind, body in BODIES.items())


# Entries as an earlier program wrote them; an entry can never be migrated, so these must be read for ever.
@pytest.mark.parametrize(
    ("kind", "written", "body"),
    [
        pytest.param(
            "session",
            '{"ledger_format":1,"plan_format":1,"program":"witnessmark 0.1.0","python":"3.11.7","sqlite":"3.40.1"}',
            SessionOpened("witnessmark 0.1.0", 1, 1, "3.11.7", "3.40.1"),
            id="session",
        ),
        pytest.param(
            "reading",
            '{"fit":1,"frame":7,"job":"1","missing":"3-4","notes":["battery low"],"sequence":5,"torque":"95.20",'
            '"torque_nm":"95.20","unit":"N·m","wrench":"W-140"}',
            ReadingKept(
                "1", 7, wrench="W-140", torque="95.20", unit="N·m", torque_nm="95.20", sequence=5, missing="3-4",
                notes=("battery low",), fit=1,
            ),
            id="reading",
        ),
        pytest.param(
            "match",
            '{"high":"90","high_is_over":1,"job":"1","joint":"hub","kind":"tightening","low":"45","position":2,'
            '"position_by":"order","reading":8,"reason":"by order","stage":1,"verdict":"in band"}',
            MatchKept("1", 8, "tightening", "by order", "hub", 1, 2, "order", "in band", None, "45", "90", 1),
            id="match",
        ),
        pytest.param(
            "decision", '{"job":"1","joint":"hub","said":"opened","simulated":1}', Decided("1", "opened", "hub", simulated=1),
            id="decision",
        ),
    ],
)  # fmt: skip
def test_an_entry_of_an_earlier_program_is_read_and_would_be_written_the_same(kind, written, body):
    assert parse_body(kind, json.loads(written)) == body
    assert json.dumps(pack_body(body), sort_keys=True, ensure_ascii=False, separators=(",", ":")) == written


def test_a_field_that_is_not_there_is_left_out_and_no_notes_are_still_notes():
    assert pack_body(Decided("1", "opened")) == {"job": "1", "said": "opened"}
    assert parse_body("reading", {"job": "1", "notes": []}) == ReadingKept("1", notes=())
    nothing_open = {"job": "1", "signs": "leaver", "leaver": "p-1", "taker": "p-2", "open": []}
    assert parse_body("hand-over", nothing_open) == HandedOver("1", "leaver", "p-1", "p-2", ())


def test_an_unknown_kind_is_refused_with_what_to_do():
    with pytest.raises(RecordError, match="unknown kind `angle`; a newer program may have written it: update this one"):
        parse_body("angle", {})


@pytest.mark.parametrize(
    ("packed", "what"),
    [
        pytest.param({"job": "1"}, "missing 1 required positional argument: 'said'", id="a-field-missing"),
        pytest.param({"job": "1", "said": "opened", "mood": "good"}, "unexpected keyword argument 'mood'", id="a-field-too-many"),
    ],
)
def test_fields_that_do_not_fit_are_refused(packed, what):
    with pytest.raises(RecordError, match=f"kind `decision` with fields that do not fit: .*{what}"):
        parse_body("decision", packed)
