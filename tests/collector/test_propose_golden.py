"""Each shipped format, and each golden record, is found again from its bytes and the values that a person would read off."""

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

import schemas.wire
from collector.listen.check_draft import decode_heard
from collector.listen.heard import Heard, read_about
from collector.listen.propose import propose
from schemas.wire_format_load import load_wire_format
from sim.wrench import SimWrench

FORMATS = Path(schemas.wire.__file__).parent
VECTORS = Path(__file__).parents[1] / "data" / "wire"
SHIPPED = {path.stem: load_wire_format(path.read_bytes(), path.name) for path in FORMATS.glob("*.yaml")}


class TickingClock:
    """Ten seconds later at each call."""

    def __init__(self):
        self._now = datetime(2026, 3, 2, 8, 15, tzinfo=UTC)

    def now(self):
        self._now += timedelta(seconds=10)
        return self._now

    def monotonic_ns(self):
        return 0


def golden(stem):
    """Records with a torque, each as its bytes and what it says; not the one whose columns are full, which shows no edges."""
    if stem == "plain-line":
        vectors = json.loads((FORMATS / "plain-line.vectors.json").read_text("utf-8"))["vectors"]
        line_end = "0d0a"
    else:
        vectors = [json.loads(line) for line in (VECTORS / f"{stem}.jsonl").read_text("utf-8").splitlines()]
        line_end = ""
    told = [one for one in vectors if one.get("reading", {}).get("torque") and one["name"] != "every column full"]
    return [(bytes.fromhex(one["hex"] + line_end), one["reading"]["torque"], one["reading"]["unit"]) for one in told]


def heard_of(records, typed, is_divided=True):
    bursts = tuple(raw for raw, _, _ in records) if is_divided else (b"".join(raw for raw, _, _ in records),)
    return Heard(bursts, tuple(read_about(text) for text in typed), is_divided)


def read_again(draft, heard, unit="N·m"):
    wire = load_wire_format(draft.text("found", unit).encode(), "found.yaml")
    readings = [one.reading for one in decode_heard(wire, heard)]
    return [(reading.torque, reading.unit) for reading in readings]


@pytest.mark.parametrize("is_divided", [pytest.param(True, id="pull-by-pull"), pytest.param(False, id="one-capture")])
@pytest.mark.parametrize("stem", sorted(SHIPPED))
def test_golden_records_are_read_with_their_torque_and_unit(stem, is_divided):
    records = golden(stem)
    assert len(records) >= 4
    heard = heard_of(records, [f"{torque} {unit}" for _, torque, unit in records], is_divided)

    proposed = propose(heard)

    assert len(proposed.drafts) == 1, proposed.refusals
    assert read_again(proposed.drafts[0], heard) == [(torque, unit) for _, torque, unit in records]


@pytest.mark.parametrize("stem", sorted(SHIPPED))
def test_five_pulls_of_a_simulated_wrench_typed_without_decimals_are_enough(stem):
    wrench = SimWrench("W-140", SHIPPED[stem], TickingClock(), UTC)
    torques = [Decimal(text) for text in ("50.2", "80.7", "-19.6", "120.4", "95.1")]
    records = [(wrench.record(torque, "N·m"), torque, "N·m") for torque in torques]
    heard = heard_of(records, ["50", "81", "-20", "120", "95"])

    proposed = propose(heard)

    assert len(proposed.drafts) == 1, proposed.refusals
    assert [Decimal(torque) for torque, _ in read_again(proposed.drafts[0], heard)] == torques


def test_framed_record_is_found_with_its_marks_checksum_and_unit_codes():
    records = golden("framed-sum")
    heard = heard_of(records, [f"{torque} {unit}" for _, torque, unit in records])

    (draft,) = propose(heard).drafts

    wire = load_wire_format(draft.text("found", None).encode(), "found.yaml")
    shipped = SHIPPED["framed-sum"]
    assert (wire.framing, wire.checksum, wire.decimal_mark) == (shipped.framing, shipped.checksum, ",")
    assert wire.unit_codes == {"1": "N·m", "2": "lbf·ft"}


def test_binary_record_is_found_with_its_mark_checksum_and_the_place_of_the_torque():
    records = golden("binary-record")
    heard = heard_of(records, [f"{torque} {unit}" for _, torque, unit in records])

    (draft,) = propose(heard).drafts

    wire = load_wire_format(draft.text("found", None).encode(), "found.yaml")
    shipped = SHIPPED["binary-record"]
    torque = {field.name: field for field in wire.binary.fields}["torque"]
    assert (wire.framing, wire.checksum) == (shipped.framing, shipped.checksum)
    assert torque == {field.name: field for field in shipped.binary.fields}["torque"]


def test_binary_numbers_that_were_never_below_0_stay_undecided_and_the_pull_that_tells_is_named():
    wrench = SimWrench("W-140", SHIPPED["binary-record"], TickingClock(), UTC)
    records = [(wrench.record(Decimal(text), "N·m"), text, "N·m") for text in ("50.2", "80.7", "120.4", "95.1")]

    drafts = propose(heard_of(records, ["50", "81", "120", "95"])).drafts

    assert {draft.place.split()[0] for draft in drafts} == {"i16", "u16", "i32"}
    assert all("loosen once" in draft.telling for draft in drafts)
