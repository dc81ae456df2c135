"""Times, lengths and distances of a plan are exact, and what is none is refused with what to write."""

from decimal import Decimal

import pytest

from schemas.plan.quantity import Span, length_mm, seconds_of, span_of, split


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        *[("90 s", 90), ("1 second", 1), ("10 min", 600), ("30 minutes", 1800), ("0.5 min", 30), ("24 h", 86_400)],
        *[("1 hour", 3600), ("1.5 hours", 5400), ("3 d", 259_200), ("1 day", 86_400), ("2 weeks", 1_209_600), ("10min", 600)],
    ],
)
def test_a_time_is_whole_seconds(text: str, seconds: int) -> None:
    assert seconds_of(text) == seconds


# 1 in = 25.4 mm and 1 mile = 1.609344 km exactly: international yard and pound agreement of 1959, NIST SP 811 B.6.
@pytest.mark.parametrize(
    ("text", "mm"), [("50 mm", "50"), ("5.5 cm", "55"), ("0.05 m", "50"), ("2 in", "50.8"), ("123456789.123456789 in", None)]
)
def test_a_length_is_exact_in_millimetres(text: str, mm: str | None) -> None:
    assert length_mm(text) == (Decimal("3135802443.7358024406") if mm is None else Decimal(mm))


@pytest.mark.parametrize(
    ("text", "km"), [("40 km", "40"), ("50 miles", "80.4672"), ("1 mi", "1.609344"), ("1 mile", "1.609344"), ("0 km", "0")]
)
def test_a_span_is_a_distance_or_a_time(text: str, km: str) -> None:
    assert span_of(text) == Span(km=Decimal(km))
    assert span_of("30 min") == Span(seconds=1800)


NO_TIME = "it is no time; write it like 10 min, 24 h, 3 days or 2 weeks"
NO_LENGTH = "it is no length; write it like 50 mm or 2 in"
NO_SPAN = "it is no distance and no time; write it like 40 km, 50 miles, 30 min or 2 weeks"
NO_NUMBER = "it is no number with its unit; write it like 40 km, 50 mm or 24 h"


@pytest.mark.parametrize(
    ("read", "text", "what"),
    [
        pytest.param(seconds_of, "0 min", NO_TIME, id="no-time-at-all"),
        pytest.param(seconds_of, "10 m", NO_TIME, id="metres"),
        pytest.param(seconds_of, "1 month", NO_TIME, id="months-differ"),
        pytest.param(seconds_of, "10 MIN", NO_TIME, id="letter-case"),
        pytest.param(seconds_of, "0.5 s", "it is no whole number of seconds; write it like 10 min or 90 s", id="half-second"),
        pytest.param(seconds_of, "0.001 min", "it is no whole number of seconds; write it like 10 min or 90 s", id="60-ms"),
        pytest.param(seconds_of, "999999999 weeks", "it is more than 100 years; write a shorter time", id="for-ever"),
        pytest.param(span_of, "999999999 weeks", "it is more than 100 years; write a shorter time", id="span-for-ever"),
        pytest.param(length_mm, "0 mm", NO_LENGTH, id="no-length-at-all"),
        pytest.param(length_mm, "5 km", NO_LENGTH, id="kilometres"),
        pytest.param(length_mm, "5 min", NO_LENGTH, id="minutes"),
        pytest.param(span_of, "50 mm", NO_SPAN, id="millimetres"),
        pytest.param(span_of, "50 furlongs", NO_SPAN, id="unknown"),
        pytest.param(span_of, "0 h", NO_TIME, id="span-of-no-time"),
        *[pytest.param(split, text, NO_NUMBER, id=f"no-quantity-{text!r}")
          for text in ("", "40", "km", "-40 km", "4e1 km", "040 km", "40  km", "40 km 5", ".5 m", "5. m", "٤ km", "1,5 m")],
    ],
)  # fmt: skip
def test_what_is_no_quantity_of_its_kind_is_refused_with_what_to_write(read, text, what):
    with pytest.raises(ValueError, match=f"^{what}$"):
        read(text)
