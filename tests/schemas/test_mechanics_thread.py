"""Threads: every spelling that a plan may have, what is refused, and stress areas against printed tables."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.mechanics.thread import Thread, read_thread, stress_area_mm2
from schemas.plan.fields import _METRIC, _UNIFIED

MM2_PER_IN2 = 645.16

# in², as printed: Shigley's Mechanical Engineering Design, 9th ed., Table 8-2 (read; it cites ANSI B1.1-1974), whose formula
# is that of FED-STD-H28/2B, Appendix B, Table II.B.1 (read).
PRINTED_IN2 = {
    "#10-24": 0.0175, "1/4-20": 0.0318, "5/16-18": 0.0524, "3/8-16": 0.0775, "7/16-14": 0.1063, "1/2-13": 0.1419,
    "9/16-12": 0.182, "5/8-11": 0.226, "3/4-10": 0.334, "7/8-9": 0.462, "1-8": 0.606, "#10-32": 0.02, "1/4-28": 0.0364,
    "5/16-24": 0.058, "3/8-24": 0.0878, "7/16-20": 0.1187, "1/2-20": 0.1599, "9/16-18": 0.203, "5/8-18": 0.256,
    "3/4-16": 0.373, "7/8-14": 0.509, "1-12": 0.663,
}  # fmt: skip

# mm², as printed: ISO 898-1, coarse, read in public copies of its tables (second-hand).
PRINTED_COARSE_MM2 = {
    "M5": 14.2, "M6": 20.1, "M7": 28.9, "M8": 36.6, "M10": 58.0, "M12": 84.3, "M14": 115, "M16": 157, "M18": 192,
    "M20": 245, "M22": 303, "M24": 353,
}  # fmt: skip
# mm², fine, printed values from memory.
REMEMBERED_FINE_MM2 = {
    "M8x1": 39.2, "M10x1.25": 61.2, "M10x1": 64.5, "M12x1.25": 92.1, "M12x1.5": 88.1, "M14x1.5": 125, "M16x1.5": 167,
    "M18x1.5": 216, "M20x1.5": 272, "M22x1.5": 333, "M24x2": 384,
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "spelling", "d_mm", "pitch_mm", "tpi"),
    [
        pytest.param("M14x2", "M14x2", 14, 2, None, id="metric"),
        pytest.param("M14×2", "M14x2", 14, 2, None, id="metric-true-times-sign"),
        pytest.param("M14 x 2", "M14x2", 14, 2, None, id="metric-spaced"),
        pytest.param("M14x2.0", "M14x2", 14, 2, None, id="metric-closing-zero"),
        pytest.param("M12", "M12x1.75", 12, 1.75, None, id="metric-alone-is-coarse"),
        pytest.param("M3.5", "M3.5x0.6", 3.5, 0.6, None, id="metric-half-millimetre"),
        pytest.param("M12x1.25", "M12x1.25", 12, 1.25, None, id="metric-fine"),
        pytest.param("M32x1.5", "M32x1.5", 32, 1.5, None, id="metric-fine-only"),
        pytest.param("7/16-14", "7/16-14", 11.1125, 25.4 / 14, 14, id="fraction"),
        pytest.param("7/16-14 UNC", "7/16-14", 11.1125, 25.4 / 14, 14, id="fraction-series"),
        pytest.param("7/16-20UNF", "7/16-20", 11.1125, 1.27, 20, id="series-without-space"),
        pytest.param("#10-32", "#10-32", 4.826, 0.79375, 32, id="screw-number"),
        pytest.param("10-32", "#10-32", 4.826, 0.79375, 32, id="screw-number-without-sign"),
        pytest.param("1-8", "1-8", 25.4, 3.175, 8, id="whole-inch"),
        pytest.param("1-14", "1-14", 25.4, 25.4 / 14, 14, id="whole-inch-special-but-common"),
        pytest.param("1-14 UNS", "1-14", 25.4, 25.4 / 14, 14, id="whole-inch-special-named"),
        pytest.param("1 1/8-12", "1 1/8-12", 28.575, 25.4 / 12, 12, id="mixed"),
        pytest.param("1-1/8-12", "1 1/8-12", 28.575, 25.4 / 12, 12, id="mixed-with-hyphen"),
        pytest.param("1 1/8-8", "1 1/8-8", 28.575, 3.175, 8, id="eight-threads-in-tables"),
        pytest.param("1 1/8-16 UN", "1 1/8-16", 28.575, 1.5875, 16, id="constant-pitch-named"),
        pytest.param("1/2-28 UNEF", "1/2-28", 12.7, 25.4 / 28, 28, id="extra-fine-named"),
    ],
)
def test_spelling_is_read_as_diameter_and_pitch(text, spelling, d_mm, pitch_mm, tpi):
    thread = read_thread(text)

    assert (thread.text, thread.tpi) == (spelling, tpi)
    assert (thread.d_mm, thread.pitch_mm) == (pytest.approx(d_mm, abs=1e-9), pytest.approx(pitch_mm, abs=1e-9))
    assert thread.kind == ("metric" if tpi is None else "unified")


@pytest.mark.parametrize("text", ["7/16", "3/8", "1 1/8", "M32"])
def test_thread_without_its_pitch_is_not_guessed(text):
    assert read_thread(text) is None


@pytest.mark.parametrize(
    ("text", "what"),
    [
        pytest.param("M14x3", "`M14x3` has no pitch that is known for M14; write M14x2, M14x1.5, M14x1.25 or M14x1,", id="pitch"),
        pytest.param("M32x4", "known for M32; write M32x2 or M32x1.5, or take `thread` out", id="pitch-of-fine-only"),
        pytest.param("M26x2", "known for M26; write M26x1.5, or take", id="one-pitch-known"),
        pytest.param("M13", "`M13` is no metric size that we know; write M12 or M14, or take", id="no-preferred-diameter"),
        pytest.param("M999", "write M60 or M64, or take", id="larger-than-known"),
        pytest.param("7/16-15", "`7/16-15` has no pitch that is known for 7/16; write 7/16-14 UNC, 7/16-20 UNF,", id="tpi"),
        pytest.param("7/16-14 UNF", "`7/16-14 UNF` has no pitch that is known for 7/16", id="wrong-series"),
        pytest.param("7/16-16", "7/16-28 UNEF or 7/16-16 UN, or take", id="constant-pitch-not-named"),
        pytest.param("1-12 UNS", "`1-12 UNS` has no pitch", id="not-that-series"),
        pytest.param("5/7-14", "`5/7` is no inch size that we know; write one from #4 to 1 1/2", id="no-such-fraction"),
        pytest.param("2/3", "`2/3` is no inch size", id="no-such-fraction-without-pitch"),
        pytest.param("1/0-8", "`1/0` is no inch size", id="division-by-zero"),
        pytest.param("#7-32", "`#7` is no inch size", id="no-such-screw-number"),
        pytest.param("M14-2", "`M14-2` is no thread that we read; write it like M14x2", id="other-form"),
        pytest.param("\n", r"`\\n` is no thread", id="line-end"),
    ],
)
def test_unknown_thread_is_refused_with_what_to_write(text, what):
    with pytest.raises(ValueError, match=what) as refused:
        read_thread(text)

    assert str(refused.value).isprintable()


@given(st.from_regex(_METRIC, fullmatch=True) | st.from_regex(_UNIFIED, fullmatch=True))
def test_whatever_the_plan_accepts_is_read_or_refused_by_its_size_not_its_form(text):
    try:
        thread = read_thread(text)
    except ValueError as refused:
        assert "is no thread that we read" not in str(refused)  # noqa: PT017 - either outcome is right, the text is checked
    else:
        assert thread is None or (thread.pitch_mm < thread.d_mm and read_thread(thread.text) is not None)


@pytest.mark.parametrize(("text", "in2"), PRINTED_IN2.items())
def test_unified_stress_area_agrees_with_the_printed_table(text, in2):
    assert stress_area_mm2(read_thread(text)) / MM2_PER_IN2 == pytest.approx(in2, rel=0.002)


@pytest.mark.parametrize(("text", "mm2"), (PRINTED_COARSE_MM2 | REMEMBERED_FINE_MM2).items())
def test_metric_stress_area_agrees_with_the_printed_table(text, mm2):
    # Three figures are printed; the formula lies within 0.4 % of every one.
    assert stress_area_mm2(read_thread(text)) == pytest.approx(mm2, rel=0.004)


@pytest.mark.parametrize(
    ("text", "mm2"),
    [
        # Computed independently from the formula of ISO 898-1, to two decimals.
        pytest.param("M12x1.25", 92.07, id="M12-fine"),
        # One public page prints 290 and 44.2 for these; the formula is right and the page is not.
        pytest.param("M20x1.5", 271.5, id="M20-fine-misprinted-as-290"),
        pytest.param("M8x0.75", 41.8, id="M8-finest-misprinted-as-44.2"),
        pytest.param("M20x2", 258, id="M20-misprinted-as-272"),
    ],
)
def test_stress_area_follows_the_formula_where_a_page_has_a_misprint(text, mm2):
    assert stress_area_mm2(read_thread(text)) == pytest.approx(mm2, rel=0.0005)


def test_area_of_the_special_one_inch_thread_is_that_of_the_formula():
    # 0.67989 in², computed from the formula of FED-STD-H28/2B; no printed value was read.
    assert stress_area_mm2(Thread("1-14", "unified", 25.4, 25.4 / 14, 14)) / MM2_PER_IN2 == pytest.approx(0.67989, abs=5e-6)
