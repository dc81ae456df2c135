"""The peak of a pull is picked from samples, with what they cannot show; nothing that was high is passed by."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collector.decode.peaks import A_SAMPLE, PeakPicker, Sample, why_unfinished
from collector.decode.peaks_by_source import PeaksBySource
from schemas.errors import Fate, FrameError
from schemas.frame import Frame, Reading
from schemas.units import torque_text
from schemas.wire_format import Peaks
from schemas.words import Measures

PEAKS = Peaks(Decimal(50), Decimal(5), Decimal(20))
OVER = None
NOW = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


def sample(
    torque: object, number: int | None = None, at_s: float = 0.0, wrench: str = "W-140", source: str = "serial:A"
) -> Sample:
    nm = None if torque is OVER else Decimal(str(torque))
    sent = None if nm is None else torque_text(nm)
    frame = Frame(source, f"{torque}".encode(), NOW, int(at_s * 1e9))
    return Sample(frame, 7, Reading(sent, "N·m", nm, nm is None, wrench, number))


def picked(*samples: object, peaks: Peaks = PEAKS) -> list[Reading]:
    """The pulls in a stream that begins and ends at rest; samples come 0.02 s apart."""
    picker = PeakPicker(peaks)
    row = [one if isinstance(one, Sample) else sample(one, at_s=n / 50) for n, one in enumerate([0, *samples, 0])]
    return [peak.reading for one in row if (peak := picker.take(one)) is not None]


def torques(*samples: object, peaks: Peaks = PEAKS) -> list[str | None]:
    return [reading.torque for reading in picked(*samples, peaks=peaks)]


@pytest.mark.parametrize(
    ("samples", "peaks"),
    [
        pytest.param((20, 60, 95.2, 90, 40), ["95.2"], id="one-pull"),
        pytest.param((20, 60, 95.2), ["95.2"], id="let-go-at-once"),
        pytest.param((20, 95.2, 95.2, 95.2), ["95.2"], id="held"),
        pytest.param((0.4, 4.99, 3, 4.99), [], id="below-the-start"),
        pytest.param((5,), ["5"], id="at-the-start"),
        pytest.param((50, 80, 70, 100), ["100"], id="a-dip-of-less"),
        pytest.param((100, 80.1, 100.5), ["100.5"], id="a-dip-of-just-less"),
        pytest.param((100, 80, 101), ["100", "101"], id="a-dip-of-just-as-much"),
        pytest.param((100, 60, 79.9), ["100"], id="a-rise-of-less"),
        pytest.param((100, 60, 80), ["100", "80"], id="a-rise-of-as-much"),
        pytest.param((100, 70, 60, 50, 40, 30, 20, 10), ["100"], id="a-long-way-down"),
        pytest.param((100, 2, 6), ["100", "6"], id="from-rest-again"),
        pytest.param((60, 0, 80, 0, 95), ["60", "80", "95"], id="strokes"),
        pytest.param((5.0, 5.1, 5.0, 5.1, 5.0), ["5.1"], id="trembling-at-the-start"),
        pytest.param((-20, -30, -10), ["-30"], id="loosening"),
        pytest.param((95, -30, -10), ["95", "-30"], id="over-to-loosening"),
        pytest.param((95, -10), ["95", "-10"], id="over-to-loosening-of-little"),
        pytest.param((-30, 95), ["-30", "95"], id="over-to-tightening"),
        pytest.param((95, 150, OVER, OVER, 140, 100, 20), [None], id="past-the-range"),
        pytest.param((OVER, 140, 0, 95), [None, "95"], id="past-the-range-and-again"),
    ],
)
def test_the_peak_of_each_pull_is_its_highest_sample(samples, peaks):
    assert torques(*samples) == peaks


def test_a_pull_is_known_at_the_first_sample_that_has_come_down():
    picker = PeakPicker(PEAKS)

    found = [picker.take(sample(torque)) is not None for torque in (0, 60, 100, 95, 81, 80, 70, 0)]

    assert found.index(True) == 5
    assert sum(found) == 1


def test_the_peak_stands_on_the_frame_that_it_came_in():
    picker = PeakPicker(PEAKS)
    for at_s, torque in enumerate((0, 60, 100.0, 100.0, 90)):
        picker.take(sample(torque, at_s, at_s))

    peak = picker.take(sample(20, 5, 5))

    # Of two alike it is the first.
    assert (peak.frame.raw, peak.frame.mono_ns, peak.kept) == (b"100.0", 2_000_000_000, 7)


def test_a_picked_peak_carries_its_rate_and_is_the_highest_value_and_has_no_number_of_its_own():
    (reading,) = picked(sample(20, 2), sample(95.2, 3), sample(90, 4), sample(40, 5))

    assert reading.notes == ("picked from 3 samples at 50 a second; the true peak may be higher",)
    assert (reading.torque, reading.measures, reading.sequence, reading.doubt) == ("95.2", Measures.HIGHEST, None, None)


@pytest.mark.parametrize(
    ("enough_hz", "doubt"),
    [
        pytest.param(None, None, id="none-declared"),
        pytest.param("50", None, id="as-many"),
        pytest.param(
            "50.5", "sampled at 50 a second where 50.5 are enough: cannot show a short over-pull", id="fewer"
        ),
    ],
)  # fmt: skip
def test_below_the_declared_rate_the_upper_edge_is_not_shown(enough_hz, doubt):
    (reading,) = picked(95, peaks=Peaks(Decimal(50), Decimal(5), Decimal(20), enough_hz and Decimal(enough_hz)))

    assert reading.doubt == doubt


@pytest.mark.parametrize(
    ("samples", "doubt"),
    [
        pytest.param([(0, 1), (60, 2), (95, 3), (0, 4)], None, id="all-there"),
        pytest.param([(0, 1), (60, 2), (95, 6), (0, 7)], "samples 3 to 5 of it did not come", id="within-the-pull"),
        pytest.param([(0, 1), (60, 2), (95, 3), (0, 5)], "sample 4 of it did not come", id="just-before-its-end"),
        pytest.param(
            [(0, 1), (0, 12), (95, 13), (0, 14)],
            "samples 2 to 11 did not come: a pull before it may not have been seen",
            id="a-fifth-of-a-second-at-rest",
        ),
        pytest.param([(0, 1), (0, 11), (95, 12), (0, 13)], None, id="less-than-any-pull-at-rest"),
        pytest.param([(0, 1), (0, 2), (95, 4), (0, 5)], "sample 3 of it did not come", id="just-before-its-beginning"),
        pytest.param([(0, 254), (60, 255), (95, 0), (0, 1)], None, id="a-count-that-begins-anew"),
        pytest.param([(60, 1), (95, 2), (0, 3)], "its beginning was not seen", id="begun-before-the-link"),
    ],
)
def test_samples_that_are_not_there_leave_a_doubt(samples, doubt):
    picker = PeakPicker(PEAKS)

    found = [picker.take(sample(*one)) for one in samples]

    assert [peak.reading.doubt for peak in found if peak] == [doubt]


@pytest.mark.parametrize(
    ("second_s", "number", "doubt"),
    [
        pytest.param(1.0, None, None, id="a-second"),
        pytest.param(1.1, None, "samples of it did not come for more than a second", id="longer"),
        pytest.param(30.0, 3, None, id="held-back-and-none-missing"),
    ],
)
def test_a_pause_within_a_pull_leaves_a_doubt_where_no_number_shows_that_nothing_is_missing(second_s, number, doubt):
    first = None if number is None else number - 1
    row = [sample(0, first and first - 1), sample(60, first), sample(95, number, second_s), sample(0, number and 4, second_s)]

    (reading,) = (peak.reading for one in (PeakPicker(PEAKS),) for each in row if (peak := one.take(each)) is not None)

    assert reading.doubt == doubt


@pytest.mark.parametrize(
    ("behind_the_pause", "doubt"),
    [
        pytest.param((0, 96), None, id="begun-at-rest"),
        pytest.param((20, 96), None, id="rises-behind-it"),
        pytest.param((96, 90), "its beginning was not seen", id="only-the-way-down"),
    ],
)
def test_a_pause_between_two_pulls_is_none_unless_the_tool_woke_up_too_late(behind_the_pause, doubt):
    late = [sample(torque, at_s=60 + n / 50) for n, torque in enumerate((*behind_the_pause, 0))]

    reading = picked(95, 0, *late)[-1]

    assert (reading.torque, reading.doubt) == ("96", doubt)


@pytest.mark.parametrize(
    ("before", "after", "doubt"),
    [
        pytest.param((0, 60), (95, 0), "a record of it gave no value", id="within-the-pull"),
        pytest.param((0,), (95, 0), "a record of it gave no value", id="just-before-it"),
        pytest.param((0,), (0, 95, 0), None, id="at-rest"),
        pytest.param((0, 95, 70), (0,), None, id="behind-it"),
    ],
)
def test_a_record_without_a_value_may_have_been_the_highest(before, after, doubt):
    picker = PeakPicker(PEAKS)
    found = [picker.take(sample(torque)) for torque in before]
    picker.miss()
    picker.miss()

    found += [picker.take(sample(torque)) for torque in after]

    assert [peak.reading.doubt for peak in found if peak] == [doubt]


def test_a_doubt_of_one_pull_is_none_of_the_next():
    first, second = picked(sample(60, 1), sample(95, 4), sample(0, 5), sample(96, 6), sample(0, 7))

    assert (first.doubt is None, second.doubt) == (False, None)


def test_a_unit_that_changes_within_a_pull_is_compared_in_one_unit():
    pounds = Sample(sample(0).frame, 7, Reading("75.0", "lbf·ft", Decimal("101.68636"), wrench="W-140"))

    assert torques(60, 95, pounds, 100) == ["75.0"]


@pytest.mark.parametrize(
    ("torque", "reached"),
    [
        pytest.param("80.0", "it had reached 80.0 N·m", id="value"),
        pytest.param(OVER, "it had passed the tool's range", id="over"),
    ],
)
def test_a_pull_that_has_not_come_down_is_set_aside_with_what_it_had_reached(torque, reached):
    why = why_unfinished(sample(torque).reading)

    assert (why.fate, why.is_usual) == (Fate.SET_ASIDE, False)
    assert str(why) == f"unfinished pull: {reached} and not come down when the samples ended; look at this fastener"


def take(pickers: PeaksBySource, one: Sample) -> Reading | FrameError:
    return pickers.pick(PEAKS, (one.frame, one.kept, one.reading))[2]


def test_samples_of_two_wrenches_and_of_two_sources_are_kept_apart():
    pickers = PeaksBySource()
    who = [{}, {"wrench": "W-025"}, {"source": "serial:B"}]
    for one in who:
        take(pickers, sample(0, **one))
    rising = [take(pickers, sample(torque, **one)) for torque, one in zip((95, 25, 60), who, strict=True)]
    falling = [take(pickers, sample(10, **one)) for one in who]

    assert rising == [A_SAMPLE] * 3
    assert [reading.torque for reading in falling] == ["95", "25", "60"]


def test_at_the_end_of_a_session_only_the_pulls_of_its_source_that_are_in_hand_are_unfinished():
    pickers = PeaksBySource()
    for one in (sample(0), sample(95), sample(0), sample(70), sample(80.0), sample(75), sample(60, source="serial:B")):
        take(pickers, one)

    ended = pickers.end("serial:A")

    assert [(frame.raw, kept) for frame, kept, _ in ended] == [(b"80.0", 7)]
    assert pickers.end("serial:A") == []
    # Nothing of it comes up in the next session, which begins in the middle of another pull.
    assert take(pickers, sample(20)) is A_SAMPLE
    assert take(pickers, sample(0)).doubt == "its beginning was not seen"


def test_what_gave_no_value_stays_what_it_was():
    pickers, error = PeaksBySource(), FrameError("no torque was sent", Fate.SET_ASIDE)
    frame = sample(0).frame

    assert pickers.pick(PEAKS, (frame, 7, error)) == (frame, 7, error)


@pytest.mark.parametrize(
    ("is_usual", "doubt"),
    [pytest.param(True, None, id="usual"), pytest.param(False, "a record of it gave no value", id="lost")],
)
def test_a_record_that_the_wrench_sends_besides_its_samples_is_none_that_was_lost(is_usual, doubt):
    pickers = PeaksBySource()
    for torque in (0, 60):
        take(pickers, sample(torque))
    pickers.pick(PEAKS, (sample(0).frame, 7, FrameError("battery", Fate.SET_ASIDE, is_usual=is_usual)))

    assert take(pickers, sample(0)).doubt == doubt


@given(st.lists(st.integers(-200, 200), max_size=60))
def test_the_highest_sample_to_either_side_is_always_picked_and_only_samples_are(values):
    found = [int(torque) for torque in torques(*values)]

    for side in (1, -1):
        highest = max((value * side for value in values), default=0)
        if highest >= PEAKS.start_nm:
            assert max(peak * side for peak in found) == highest
    assert set(found) <= set(values)
    assert all(abs(peak) >= PEAKS.start_nm for peak in found)


@given(st.lists(st.integers(-200, 200), max_size=40))
def test_a_pull_lasts_from_one_rest_to_the_next_or_less(values):
    """Whoever lets go between two pulls gets two readings."""
    pulls = [abs(value) for value in values if abs(value) >= 7]

    assert torques(*(part for pull in pulls for part in (pull, 0))) == [str(pull) for pull in pulls]
