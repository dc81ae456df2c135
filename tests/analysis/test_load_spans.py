"""How long something took reads as a person would say it."""

from datetime import UTC, datetime

import pytest

from analysis.load.spans import between, lasted


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        pytest.param(0, "0 s", id="nothing"),
        pytest.param(119, "119 s", id="just-under-two-minutes"),
        pytest.param(120, "2 min", id="two-minutes"),
        pytest.param(14 * 60 + 29, "14 min", id="to-the-nearest-minute"),
        pytest.param(7199, "2 h", id="rounded-up-to-hours"),
        pytest.param(2 * 3600 + 300, "2 h 5 min", id="hours-and-minutes"),
        pytest.param(24 * 3600, "24 h", id="a-day-in-hours"),
        pytest.param(72 * 3600, "72 h", id="three-days-in-hours"),
        pytest.param(76 * 3600 + 1800, "3 days 5 h", id="days-and-hours"),
        pytest.param(96 * 3600, "4 days", id="days"),
    ],
)
def test_a_time_is_told_in_its_largest_units(seconds, said) -> None:
    assert lasted(seconds).replace("\u00a0", " ") == said


def test_how_long_it_was_does_not_depend_on_which_instant_comes_first() -> None:
    early, late = datetime(2026, 3, 2, 7, tzinfo=UTC), datetime(2026, 3, 2, 7, 14, tzinfo=UTC)

    assert between(early, late) == between(late, early) == "14\u00a0min"
