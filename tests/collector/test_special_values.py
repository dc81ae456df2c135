"""A wrench's zero, its unit, and a unit that would fit better: said, and nothing is ever changed by it."""

from dataclasses import replace
from decimal import Decimal

import pytest

from collector.flag_wrench import WrenchFlags
from schemas.bodies import ReadingKept
from schemas.errors import Fate
from schemas.frame import LinkChange, Reading
from schemas.plan.load import load_plan
from schemas.units import find_unit, to_nm
from schemas.wire_format import Peaks
from schemas.words import Link

PLAN = """\
plan: tow-bar
title: Tow bar
revision: "1"
source: Shop sheet 7
unit: N·m
tolerance: 10 %
joints:
  - {id: bolts, name: Bolts, fasteners: 2, torque: 100}
  - {id: guard, name: Guard, fasteners: 2, torque: 25}
"""
ROUTE = load_plan(PLAN.encode(), "plan.yaml")
NO_TORQUE = load_plan(PLAN.replace("torque: 100", "torque: not stated").replace("torque: 25", "torque: not stated").encode(), "p")
CHANGED = "unit changed from N·m to lbf·ft"
FITS = "numbers would fit lbf·ft: look at the wrench's unit; nothing was changed"


def reading(torque: str | None, unit: str = "N·m") -> Reading:
    nm = None if torque is None else to_nm(Decimal(torque), find_unit(unit)[0])
    return Reading(torque, unit, nm, over_range=torque is None)


def zeros(*torques: str | None, route=ROUTE) -> list[bool]:
    """Which of these values, one wrench's in a row, are its zero."""
    flags = WrenchFlags()
    return [flags.flag_zero(reading(torque), "W-140", route) is not None for torque in torques]


def notes(*sent: tuple[str | None, str], route=ROUTE) -> list[tuple[str, ...]]:
    flags = WrenchFlags()
    return [tuple(flags.flag_unit_fit(reading(*one), "W-140", route)) for one in sent]


def changes(*sent: tuple[str | None, str]) -> list[tuple[str, ...]]:
    flags = WrenchFlags()
    return [tuple(flags.flag_unit_change(reading(*one), "W-140")) for one in sent]


@pytest.mark.parametrize(
    ("torques", "are_zero"),
    [
        # A tenth of 22.5 N·m, the lower edge of the smallest band, is 2.25 N·m.
        pytest.param(["0.4"], [True], id="small"),
        pytest.param(["0.0"], [True], id="none"),
        pytest.param(["-0.4"], [True], id="below-nothing"),
        pytest.param(["2.24"], [True], id="just-below-a-tenth"),
        pytest.param(["2.25"], [False], id="a-tenth"),
        pytest.param(["-2.25"], [False], id="a-tenth-to-the-left"),
        pytest.param(["0.4", "0.1", "25.0"], [True, True, False], id="several-before-the-first-pull"),
        pytest.param(["25.0", "0.4"], [False, False], id="given-up-after-a-pull"),
        pytest.param([None, "0.4"], [False, False], id="past-the-range-is-a-pull"),
    ],
)
def test_only_a_small_value_before_the_first_pull_is_the_wrenchs_zero(torques, are_zero):
    assert zeros(*torques) == are_zero


def test_a_plan_that_states_no_torque_has_no_small_value():
    assert zeros("0.0", route=NO_TORQUE) == [False]


def test_each_wrench_has_its_own_zero():
    flags = WrenchFlags()
    flags.flag_zero(reading("25.0"), "W-140", ROUTE)

    assert flags.flag_zero(reading("0.4"), "W-025", ROUTE) is not None


@pytest.mark.parametrize(
    ("torque", "unit", "says"),
    [
        pytest.param("0.25", "N·m", "zero offset 0.25 N·m, sent before the first pull", id="one-percent-of-25"),
        pytest.param(
            "-0.26",
            "N·m",
            "zero offset -0.26 N·m, sent before the first pull: more than 1 % of the smallest torque of the plan (25 N·m), "
            "so set the wrench to zero; nothing is corrected",
            id="more",
        ),
        pytest.param("0.1", "lbf·ft", "zero offset 0.1 lbf·ft, sent before the first pull", id="in-its-own-unit"),
    ],
)
def test_a_zero_is_set_aside_with_its_value_and_a_hint_where_it_is_large(torque, unit, says):
    why = WrenchFlags().flag_zero(reading(torque, unit), "W-140", ROUTE)

    assert (str(why), why.fate, why.is_usual) == (says, Fate.SET_ASIDE, False)


def test_the_first_reading_in_another_unit_says_so_each_time():
    sent = [("25.0", "N·m"), ("25.1", "N·m"), ("18.4", "lbf·ft"), ("18.5", "lbf·ft"), ("25.0", "N·m")]

    assert changes(*sent) == [(), (), (CHANGED,), (), ("unit changed from lbf·ft to N·m",)]


def test_a_value_past_the_range_changes_no_unit():
    assert changes(("25.0", "N·m"), (None, "lbf·ft"), ("25.0", "N·m")) == [(), (), ()]


def test_the_unit_of_an_earlier_run_counts_and_that_of_another_wrench_does_not():
    flags = WrenchFlags([ReadingKept("1", wrench="W-140", unit="N·m"), ReadingKept("1", wrench="W-025", unit="lbf·in")])

    assert [*flags.flag_unit_change(reading("73.8", "lbf·ft"), "W-140")] == [CHANGED]
    assert [*flags.flag_unit_change(reading("221", "lbf·in"), "W-025")] == []


@pytest.mark.parametrize(
    ("torques", "unit", "noted_at"),
    [
        # 73.8 lbf·ft are 100.06 N·m and 18.4 lbf·ft are 24.95 N·m; within a tenth of a band is 20.25 to 30.25 and 81 to 121 N·m.
        pytest.param(["73.8", "74.1", "73.0"], "N·m", [2], id="three"),
        pytest.param(["73.8", "18.4", "73.8"], "N·m", [2], id="of-two-joints"),
        pytest.param(["73.8", "74.1"], "N·m", [], id="two"),
        pytest.param(["73.8"] * 5, "N·m", [2], id="said-once"),
        pytest.param(["73.8", "73.8", "100", "73.8", "73.8"], "N·m", [], id="broken-by-a-good-one"),
        pytest.param(["73.8", "73.8", "60", "73.8"], "N·m", [], id="broken-by-one-that-fits-nothing"),
        pytest.param(["100", "100", "100"], "N·m", [], id="good"),
        pytest.param(["81.1", "81.1", "81.1"], "N·m", [], id="near-a-band"),
        pytest.param(["-73.8", "-73.8", "-73.8"], "N·m", [], id="loosening"),
        pytest.param(["100", "100", "100"], "lbf·ft", [2], id="the-other-way"),
        pytest.param(["73.8", "73.8", "-30", "73.8"], "N·m", [3], id="with-a-loosening-among-them"),
    ],
)
def test_three_in_a_row_that_fit_another_unit_and_not_their_own_give_a_hint(torques, unit, noted_at):
    found = notes(*((torque, unit) for torque in torques))

    assert [n for n, one in enumerate(found) if any(note.startswith("numbers would fit") for note in one)] == noted_at


def test_the_hint_names_the_unit_that_all_three_would_fit_in():
    assert notes(*[("73.8", "N·m")] * 3)[-1] == (FITS,)
    # 10.2 are 100 N·m as kgf·m and 102 N·m as daN·m.
    assert notes(*[("10.2", "N·m")] * 3)[-1] == (
        "numbers would fit daN·m or kgf·m: look at the wrench's unit; nothing was changed",
    )


def test_a_band_within_a_wider_one_leaves_that_as_wide_as_it_is():
    staged = PLAN.replace("torque: 100", "torque: 200, stages: [50, 100]").replace("torque: 25", "torque: 110")

    # 150 N·m lies in the band of the first round, 90 to 180 N·m; as lbf·ft it would be 203 N·m, which is in the final band.
    assert notes(*[("150", "N·m")] * 3, route=load_plan(staged.encode(), "plan.yaml")) == [(), (), ()]


def test_a_torque_of_more_digits_than_can_be_converted_gives_none():
    assert notes(*[("9" * 900, "N·m")] * 3) == [(), (), ()]
    assert zeros("0." + "0" * 899) == [True]


def test_numbers_that_fit_different_units_one_after_the_other_give_none():
    assert [*notes(("73.8", "N·m"), ("73.8", "N·m"), ("10.2", "N·m"))[-1]] == []


def test_a_plan_that_states_no_torque_gives_no_hint():
    assert notes(*[("73.8", "N·m")] * 3, route=NO_TORQUE) == [(), (), ()]


@pytest.fixture(name="sampled")
def _sampled(floor, recorder):
    """A bench whose wrench sends 50 samples a second."""
    bench = floor.bench(recorder)
    bench.wire = replace(bench.wire, peaks=Peaks(Decimal(50), Decimal(5), Decimal(20)))
    return bench


def link(floor, word: Link) -> LinkChange:
    return LinkChange("serial:/dev/bench", word, floor.clock.now(), floor.clock.monotonic_ns())


def test_of_samples_every_frame_is_kept_and_the_peak_alone_is_a_reading_of_its_frame(sampled, floor):
    screen = floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "31.0", "49.5", "47.0", "12.0", "0.0")))

    query = sampled.recorder.query
    frames = [entry.body["raw"] for _, entry in sampled.recorder.entries("json_extract(entry, '$.kind') = 'frame'")]
    (peak,) = query("SELECT frame, torque, measures, notes, sequence FROM reading")
    assert len(frames) == 6
    assert bytes.fromhex(next(e for e in sampled.recorder.entries("seq = ?", peak[0]))[1].body["raw"]).split(b";")[2] == b"49.5"
    assert peak[1:] == ("49.5", "highest", "picked from 3 samples at 50 a second; the true peak may be higher", None)
    assert query("SELECT count(*) FROM not_read") == [(0,)]
    assert (screen.readings, screen.last.verdict) == (1, "in band")


def test_a_sample_changes_nothing_on_the_screen(sampled, floor):
    floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "49.5", "12.0")))
    before = floor.screens[-1]

    after = floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "0.1")))

    assert replace(after, last=before.last, notice=before.notice) == before
    floor.screens.clear()
    floor.run(sampled, floor.pull("49.6"), floor.pull("0.0"), floor.pull("0.1"))
    assert [screen.last and screen.last.torque for screen in floor.screens[1:]] == [None, "49.6", "49.6"]


def test_what_the_rate_cannot_show_leaves_the_fastener_in_doubt(sampled, floor):
    sampled.wire = replace(sampled.wire, peaks=Peaks(Decimal(50), Decimal(5), Decimal(20), Decimal(200)))

    screen = floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "49.5", "12.0")))

    doubt = "sampled at 50 a second where 200 are enough: cannot show a short over-pull"
    assert screen.last.verdict == "in band"
    assert sampled.recorder.query("SELECT fit, unfit FROM reading") == [(0, doubt)]


def test_what_the_samples_cannot_show_comes_behind_why_the_wrench_is_not_fit(sampled, floor):
    sampled.wrench = "W-9"
    frames = [replace(floor.pull(torque), raw=f"@;1;{torque};Nm;;ok".encode()) for torque in ("49.5", "12.0")]

    floor.run(sampled, *frames)

    unfit = "wrench W-9 is not in the register; its beginning was not seen"
    assert sampled.recorder.query("SELECT unfit FROM reading") == [(unfit,)]


@pytest.mark.parametrize("word", [Link.LOST, Link.ENDED])
def test_a_pull_that_the_link_cut_off_is_set_aside_and_shown(sampled, floor, word):
    screen = floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "44.0", "51.0")), link(floor, word))

    query = sampled.recorder.query
    reason = "unfinished pull: it had reached 51.0 N·m and not come down when the samples ended; look at this fastener"
    (row,) = query("SELECT fate, reason, frame FROM not_read")
    assert row[:2] == ("set aside", reason)
    assert b";51.0;" in bytes.fromhex(next(sampled.recorder.entries("seq = ?", row[2]))[1].body["raw"])
    assert query("SELECT count(*) FROM reading") == [(0,)]
    assert screen.last.text == f"set aside: {reason}"


def test_a_pull_that_the_link_cut_off_leaves_the_joint_that_is_next_in_doubt(sampled, floor):
    floor.run(sampled, floor.pull("0.0"), floor.pull("60.0"), link(floor, Link.LOST))

    assert sampled.recorder.query("SELECT joint FROM link WHERE link = 'lost'") == [("clamp",)]


def test_a_link_that_goes_between_two_pulls_leaves_nothing_in_doubt(sampled, floor):
    floor.run(sampled, floor.pull("0.0"), floor.pull("0.1"), link(floor, Link.LOST))

    assert sampled.recorder.query("SELECT joint FROM link WHERE link = 'lost'") == [(None,)]
    assert sampled.recorder.query("SELECT count(*) FROM not_read") == [(0,)]


def test_a_small_sampled_peak_is_no_zero(sampled, floor):
    sampled.wire = replace(sampled.wire, peaks=Peaks(Decimal(50), Decimal("0.2"), Decimal(20)))

    floor.run(sampled, *(floor.pull(torque) for torque in ("0.0", "0.5", "0.0")))

    assert sampled.recorder.query("SELECT torque FROM reading") == [("0.5",)]


def test_a_zero_takes_no_fastener_and_the_next_number_is_not_missing(floor, recorder):
    bench = floor.bench(recorder)
    floor.run(bench, floor.pull("50", 41))

    again = floor.bench(recorder, bench.job)
    screen = floor.run(again, floor.pull("0.1", 42), floor.pull("50", 43))

    assert [(pull.reading.sequence, pull.reading.missing) for pull in again.job.pulls.values()] == [(41, None), (43, None)]
    assert recorder.query("SELECT reason FROM not_read") == [("zero offset 0.1 N·m, sent before the first pull",)]
    assert screen.readings == 2


def test_two_wrenches_on_one_link_have_each_their_zero(floor, recorder):
    bench = floor.bench(recorder)
    zero = floor.pull("0.1", 1)

    screen = floor.run(bench, floor.pull("50", 1), replace(zero, raw=zero.raw.replace(b"W-7", b"W-8")))

    assert screen.last.text == "set aside: zero offset 0.1 N·m, sent before the first pull"


def test_two_wrenches_on_one_link_have_each_their_unit(floor, recorder):
    bench = floor.bench(recorder)
    other = floor.pull("37.0", 1)

    floor.run(bench, floor.pull("50", 1), replace(other, raw=other.raw.replace(b"W-7", b"W-8").replace(b"Nm", b"lbf.ft")))

    assert recorder.query("SELECT wrench, notes FROM reading ORDER BY n") == [("W-7", ""), ("W-8", "")]


def test_the_fitter_is_told_of_another_unit_beside_the_verdict(floor, recorder):
    bench = floor.bench(recorder)
    pull = floor.pull("37.0")

    floor.run(bench, floor.pull("50"), replace(pull, raw=pull.raw.replace(b"Nm", b"lbf.ft")))

    noted = [screen for screen in floor.screens if screen.notice == f"W-7: {CHANGED}"]
    assert [screen.last.verdict for screen in noted] == ["in band"]
    assert recorder.query("SELECT notes FROM reading ORDER BY n") == [("",), (CHANGED,)]
