"""The drift chart says what was measured and what is only expected, in colour, in grey, and in words."""

import io
import itertools
import random
import re
import struct
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text
from PIL import Image

from analysis.measure_drift import measure_drift
from analysis.plot_drift import DriftView, alt_text, draw_drift, plot_drift, title_of
from analysis.plot_style import BAND, BLUE, OUTSIDE, VERMILLION, drawing_style
from analysis.wording_drift import finding

EPOCH = date(1970, 1, 1)
TODAY = date(2026, 3, 2)
SVG = "{http://www.w3.org/2000/svg}"


def day(text: str) -> float:
    return float((date.fromisoformat(text) - EPOCH).days)


@dataclass(frozen=True)
class Course:
    """Made-up checks at one torque: how many, how far apart, the error at first and its change in a year."""

    torque_nm: float
    checks: int
    error: float
    per_year: float
    first: str = "2023-03-06"
    every: float = 7.3
    scatter: float = 0.3
    gross: Sequence[tuple[int, float]] = ()


def view(*courses: Course, **changes: object) -> DriftView:
    rows = []
    for course in courses:
        dice = random.Random(course.torque_nm)
        for n in range(course.checks):
            error = course.error + course.per_year * n * course.every / 365.25 + dice.gauss(0, course.scatter)
            error = dict(course.gross).get(n, error)
            rows.append((day(course.first) + n * course.every, course.torque_nm, course.torque_nm * (1 + error / 100), error))
    checks = pd.DataFrame(sorted(rows), columns=["day", "reference_nm", "shown_nm", "error_percent"]).astype("float64")
    checks.insert(0, "wrench", pd.Series(str(changes.get("wrench", "W-140")), checks.index, dtype="str"))
    checks.insert(0, "seq", np.arange(1, len(rows) + 1))
    checks["simulated"] = False
    made = DriftView("W-140", "HL-88-0140", 4.0, checks, measure_drift(checks), (), TODAY, False)
    return replace(made, **changes)


YEARLY = tuple((day(text), "calibrated") for text in ("2023-11-27", "2024-11-26", "2025-11-26"))
CALM = Course(40, 150, 0.2, 0.0)
RISING = Course(120, 150, 0.4, 1.05)
VIEWS = {
    "three-years-of-weekly-checks": view(CALM, RISING, Course(200, 150, 0.1, 0.5), calibrations=YEARLY, simulated=True),
    "two-checks": view(Course(120, 2, 0.4, 0, "2025-12-01", 60)),
    "one-check": view(Course(120, 1, 0.4, 0, "2025-12-01"), calibrations=YEARLY),
    "no-checks": view(calibrations=YEARLY, simulated=True),
    "checks-of-one-instant": view(Course(120, 4, 0.4, 0, "2026-03-01", 0)),
    "crossing-in-eight-years": view(replace(CALM, per_year=-0.37, scatter=0.2)),
    "crossing-at-no-time": view(replace(CALM, error=0.0, per_year=0.15, scatter=0.1)),
    "crossing-in-the-past": view(replace(CALM, error=-1, per_year=-1.9), replace(RISING, error=1, per_year=1.9)),
    "outside-since-the-first-check": view(replace(CALM, error=5, per_year=0.3)),
    "outside-and-coming-back": view(replace(CALM, error=7, per_year=-0.6)),
    "not-checked-for-years": view(replace(RISING, first="2017-03-06")),
    "checks-dated-ahead": view(replace(RISING, first="2026-03-06")),
    "gross-checks": view(
        replace(CALM, gross=((3, 35.58), (4, 99.0), (5, -31.0), (6, 35.6), (60, 35.6), (148, -80.0), (149, 35.6))),
        replace(RISING, gross=((20, 35.58), (149, 900.0))),
        calibrations=YEARLY,
    ),
    "nothing-but-gross-checks": view(Course(40, 150, 135, 0)),
    "crossing-across-new-year": view(replace(RISING, per_year=0.94, scatter=0.1)),
    "eight-torques": view(
        *(Course(20.0 * (n + 1), 60, 0.2, slope, every=18) for n, slope in enumerate((0, 0.3, 0.9, 1.1, -1.3, 0, 0.1, 0.6))),
        calibrations=YEARLY,
        simulated=True,
    ),
    "twelve-torques": view(*(Course(nm, 20, 0.2, 0.4, every=50) for nm in range(10, 240, 20))),
    "calibrated-every-fortnight": view(
        RISING, calibrations=tuple((day("2023-03-01") + 14 * n, ("calibrated", "adjusted")[n % 2]) for n in range(79))
    ),
    "a-wide-limit-and-eight-torques": view(
        *(Course(20.0 * (n + 1), 60, 0, 8 * (-1) ** n, every=18, gross=((n, 99), (n + 9, -99))) for n in range(8)),
        limit_percent=30.0,
    ),
    "a-narrow-limit-and-wide-scatter": view(replace(RISING, error=-15, per_year=5, scatter=4), limit_percent=0.5),
    "thousands-of-checks": view(replace(RISING, checks=3600, every=1, first="2016-03-06", per_year=0.3)),
    "checks-of-one-week": view(Course(120, 8, 0.4, 200, "2026-02-23", 1, 0.1)),
    "the-last-years-of-the-calendar": view(replace(RISING, first="9996-01-01"), today=date(9999, 12, 30)),
    "names-that-hurt": view(
        replace(RISING, checks=40),
        wrench=r"W $\frac{1}$ <b> -- & 日本 " + "x" * 120,
        serial="$1$\n\x00\u202e" + "S" * 150,
        simulated=True,
    ),
}  # fmt: skip
EVERY = [pytest.param(name, id=name) for name in VIEWS]
USUAL = VIEWS["three-years-of-weekly-checks"]


@cache
def drawn(name: str) -> Figure:
    """The chart of one of VIEWS; drawing it is most of what these tests take."""
    return draw_drift(VIEWS[name])


def labelled(figure: Figure, label: str) -> list[Artist]:
    return [artist for axes in figure.axes for artist in axes.get_children() if artist.get_label() == label]


def words(figure: Figure) -> str:
    """Everything that is written on the figure, in one line."""
    return " ".join(text.get_text().replace("\n", " ") for text in texts(figure))


def texts(figure: Figure) -> list[Text]:
    return [text for text in figure.findobj(Text) if text.get_visible() and text.get_text().strip()]


def luminance(colour: str | tuple[float, ...]) -> float:
    """Relative luminance as WCAG 2.1 defines it (from memory)."""
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in to_rgb(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str | tuple[float, ...], other: str | tuple[float, ...]) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("name", EVERY)
def test_no_text_covers_another_or_leaves_the_picture(name: str) -> None:
    figure = drawn(name)
    figure.set_dpi(200)

    renderer = FigureCanvasAgg(figure).get_renderer()
    with drawing_style():
        figure.draw(renderer)
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts(figure)]
    for (one, box), (other, place) in itertools.combinations(boxes, 2):
        wide = min(box.x1, place.x1) - max(box.x0, place.x0)
        high = min(box.y1, place.y1) - max(box.y0, place.y0)
        assert min(wide, high) < 1, (one, other)
    for text, box in boxes:
        assert box.x0 > -1, text
        assert box.x1 < figure.bbox.width + 1, text
        assert box.y0 > -1, text
        assert box.y1 < figure.bbox.height + 1, text


@pytest.mark.parametrize("name", EVERY)
def test_svg_is_well_formed_and_says_in_words_what_it_shows(name: str) -> None:
    root = ET.fromstring(plot_drift(VIEWS[name], "svg"))

    assert root.tag == f"{SVG}svg"
    assert float(root.attrib["width"].removesuffix("pt")) == pytest.approx(180 / 25.4 * 72, abs=0.1)
    assert list(root.iter(f"{SVG}text")) == []
    titles = [node.text for node in root.iter(f"{SVG}title")]
    assert len(titles) == 1
    assert titles[0] is not None
    assert "Drift chart of wrench" in titles[0]


def test_svg_comes_out_the_same_whatever_was_drawn_before() -> None:
    svg = plot_drift(USUAL, "svg")
    plot_drift(VIEWS["gross-checks"], "svg")

    assert plot_drift(USUAL, "svg") == svg
    assert re.search(rb"\b20\d\d-\d\d-\d\dT", svg) is None
    assert mpl.__version__.encode() not in svg


def test_png_is_180_mm_wide_and_comes_out_the_same() -> None:
    png = plot_drift(USUAL, "png")

    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    wide, high = struct.unpack(">II", png[16:24])
    assert wide == pytest.approx(180 / 25.4 * 200, abs=1)
    assert high < 135 / 25.4 * 200
    with Image.open(io.BytesIO(png)) as picture:
        assert picture.text == {"Title": alt_text(USUAL)}  # type: ignore[attr-defined]  # PNG only
    assert png == plot_drift(USUAL, "png")


def test_settings_of_the_machine_change_nothing() -> None:
    usual = plot_drift(USUAL, "svg")

    with mpl.rc_context({"font.size": 30, "lines.linewidth": 9, "svg.fonttype": "none", "text.usetex": True}):
        assert plot_drift(USUAL, "svg") == usual
        assert mpl.rcParams["font.size"] == 30


def test_title_is_the_finding_that_presses_most() -> None:
    rising = next(line for line in USUAL.lines if line.nominal_nm == 120)

    assert title_of(USUAL) == finding(rising, 4.0, TODAY)
    assert title_of(USUAL).startswith("W-140 leaves +4 % at 120 N·m between ")
    assert title_of(USUAL) in words(drawn("three-years-of-weekly-checks"))


@pytest.mark.parametrize(
    ("presses", "less"),
    [
        pytest.param(replace(CALM, error=-6), RISING, id="outside-before-crossing"),
        pytest.param(Course(40, 9, 40, 0), RISING, id="nothing-to-go-by-before-crossing"),
        pytest.param(replace(CALM, per_year=1.2), replace(RISING, per_year=0.9), id="earlier-before-later-crossing"),
        pytest.param(RISING, replace(CALM, error=2), id="crossing-before-calm"),
        pytest.param(replace(RISING, per_year=0, gross=((3, 50),)), replace(CALM, error=2), id="gross-check-before-calm"),
        pytest.param(replace(RISING, per_year=0, error=-2), CALM, id="larger-before-smaller-error"),
    ],
)
def test_title_goes_to_what_presses(presses: Course, less: Course) -> None:
    assert f"at {presses.torque_nm:g} N·m" in title_of(view(presses, less))


@pytest.mark.parametrize("name", EVERY)
def test_alt_text_says_the_finding_and_the_mark_of_a_simulation(name: str) -> None:
    made = VIEWS[name]
    alt = alt_text(made)

    assert alt.startswith(f"{'SIMULATED. ' if made.simulated else ''}{title_of(made)}. Drift chart of wrench ")
    assert ("±" in alt) == bool(made.lines)


def test_alt_text_counts_checks_and_names_their_days_and_torques() -> None:
    one = VIEWS["one-check"]

    assert alt_text(one).endswith("serial HL-88-0140: 1 check, 1 December 2025, at 120 N·m, permissible ±4 %.")
    assert "450 checks, 6 March 2023 to 25 February 2026, at 40 N·m, 120 N·m, 200 N·m" in alt_text(USUAL)


@pytest.mark.parametrize("simulated", [pytest.param(True, id="simulated"), pytest.param(False, id="real")])
def test_picture_says_simulated_just_where_it_is(simulated: bool) -> None:
    made = replace(VIEWS["two-checks"], simulated=simulated)

    assert ("SIMULATED" in words(draw_drift(made))) is simulated
    # matplotlib writes each text that it draws as outlines into a comment too.
    assert (b"<!-- SIMULATED -->" in plot_drift(made, "svg")) is simulated


def test_each_panel_has_its_torque_and_finding_and_all_share_their_scales() -> None:
    figure = drawn("three-years-of-weekly-checks")

    assert len(figure.axes) == 3
    said = words(figure)
    assert said.index("40 N·m") < said.index("200 N·m")
    assert "no drift can be told from 150 checks" in said
    assert len({axes.get_xlim() for axes in figure.axes}) == 1
    assert len({axes.get_ylim() for axes in figure.axes}) == 1


def test_every_check_is_drawn_where_it_was_measured() -> None:
    figure = drawn("three-years-of-weekly-checks")

    found = np.vstack([np.asarray(points.get_offsets()) for points in labelled(figure, "checks")])
    given = USUAL.checks[["day", "error_percent"]].to_numpy()
    assert np.array_equal(found[np.lexsort(found.T)], given[np.lexsort(given.T)])


def test_limits_are_drawn_and_named_in_every_panel() -> None:
    figure = draw_drift(replace(USUAL, limit_percent=3.5))

    assert [line.get_ydata()[0] for line in labelled(figure, "limit +3.5")] == [3.5] * 3
    assert [line.get_ydata()[0] for line in labelled(figure, "limit -3.5")] == [-3.5] * 3
    assert words(figure).count("limit +3.5 %") == words(figure).count("limit −3.5 %") == 3


def test_limit_whose_name_is_too_wide_is_named_by_its_number() -> None:
    said = words(draw_drift(replace(USUAL, limit_percent=12.25)))

    assert "limit" not in said.replace("reaches the limit", "")
    assert said.count("+12.25 %") >= 6


def test_line_and_band_change_their_look_where_the_forecast_begins() -> None:
    figure = draw_drift(view(RISING))
    (line,), (to_come,) = labelled(figure, "line"), labelled(figure, "line to come")
    (band,), (band_to_come,) = labelled(figure, "band"), labelled(figure, "band to come")

    last = view(RISING).lines[0].last_day
    assert line.get_xdata()[-1] == to_come.get_xdata()[0] == last
    assert (line.get_linestyle(), to_come.get_linestyle()) == ("-", "--")
    assert (band.get_hatch(), band_to_come.get_hatch()) == (None, "////")
    assert band_to_come.get_paths()[0].get_extents().x0 == last


def test_band_is_that_of_single_checks() -> None:
    line = view(RISING).lines[0]
    (band,) = labelled(draw_drift(view(RISING)), "band")

    edges = band.get_paths()[0].get_extents()
    assert edges.y0 == pytest.approx(float(line.fit(line.first_day) - line.prediction_half_width(line.first_day)))
    assert edges.y1 == pytest.approx(float(line.fit(line.last_day) + line.prediction_half_width(line.last_day)))


def test_panel_without_drift_is_calm() -> None:
    figure = draw_drift(view(CALM))

    for label in ("line to come", "band to come", "crossing", "interval"):
        assert labelled(figure, label) == []
    assert "if it goes on so" not in words(figure)


def test_crossing_is_marked_on_its_limit_with_its_days() -> None:
    made = view(replace(RISING, per_year=-1.3))
    crossing = made.lines[0].crossing(4.0)
    assert crossing is not None
    figure = draw_drift(made)

    (mark,), (interval,) = labelled(figure, "crossing"), labelled(figure, "interval")
    assert (*mark.get_xdata(), *mark.get_ydata()) == (crossing.on, -4.0)
    assert list(interval.get_xdata()) == [crossing.from_, crossing.to]
    assert "reaches −4 % on 26 July 2026 (26 June to 27 August 2026)" in words(figure)
    assert int(crossing.on) == day("2026-07-26")


@pytest.mark.parametrize(
    ("name", "said", "is_marked"),
    [
        pytest.param("crossing-in-eight-years", "reaches −4 % after 2027 →", False, id="after-the-picture"),
        pytest.param("crossing-in-the-past", "reached −4 % on ", True, id="in-the-record"),
        pytest.param("outside-since-the-first-check", "← reached +4 % before the first check", False, id="before-the-record"),
        pytest.param("not-checked-for-years", "may have reached +4 % on ", True, id="since-the-last-check"),
        pytest.param("three-years-of-weekly-checks", "reaches +4 % after 2027 →", True, id="of-one-panel"),
        pytest.param(
            "crossing-across-new-year", "reaches +4 % on 1 January 2027 (15 December 2026 to 18 January 2027)", True, id="year"
        ),
        pytest.param("checks-of-one-week", "reached +4 % on 1 March 2026 ", True, id="known-to-the-day"),
    ],
)
def test_crossing_that_lies_elsewhere_is_told_in_words(name: str, said: str, is_marked: bool) -> None:
    figure = drawn(name)

    assert said in words(figure)
    assert bool(labelled(figure, "crossing")) is is_marked
    assert ("line reaches the limit, 95 % interval" in words(figure)) is is_marked


def test_crossing_at_no_time_is_not_told() -> None:
    figure = drawn("crossing-at-no-time")

    assert "reaches" not in words(figure)
    assert len(labelled(figure, "line to come")) == 1


@pytest.mark.parametrize("name", EVERY)
def test_time_goes_on_for_as_long_as_the_record_at_most_and_two_years(name: str) -> None:
    made = VIEWS[name]
    start, end = drawn(name).axes[0].get_xlim()

    days = made.checks["day"] if len(made.checks) else pd.Series([day(TODAY.isoformat())])
    assert end - days.max() <= 1.05 * min(730, max(90, days.max() - days.min())) + 30
    assert start <= days.min()


def test_gross_checks_are_told_at_the_edge_and_do_not_squash_the_scale() -> None:
    figure = drawn("gross-checks")

    low, high = figure.axes[0].get_ylim()
    assert -10 < low < -4 < 4 < high < 10
    assert sum(len(arrows.get_xdata()) for arrows in labelled(figure, "gross")) == 9
    assert words(figure).count("+36 %") == 4
    for said in ("3 checks, +36 % to +99 %", "−31 %", "−80 %", "+900 %", "off the scale, not in the line"):
        assert said in words(figure)


def test_gross_checks_that_stand_thick_share_one_text() -> None:
    assert "150 checks, +134 % to +136 %" in words(drawn("nothing-but-gross-checks"))


def test_calibrations_are_marked_in_every_panel_and_named_where_there_is_room() -> None:
    figure = draw_drift(replace(USUAL, calibrations=((day("2001-01-01"), "calibrated"), (day("2023-03-01"), "adjusted"))))

    for axes in figure.axes:
        assert [line for line in axes.lines if set(line.get_xdata()) == {day("2023-03-01")}] != []
        assert axes.get_xlim()[0] < day("2023-03-01")
        assert axes.get_xlim()[0] > day("2022-01-01")
    assert words(figure).count("adjusted") == 2
    assert "calibrated" not in words(figure)


def test_today_is_named() -> None:
    assert "today, 2 March 2026" in words(drawn("three-years-of-weekly-checks"))
    assert "today" not in words(draw_drift(view(Course(120, 9, 0, 0, "2009-01-01"))))


def test_chart_without_checks_says_so() -> None:
    figure = drawn("no-checks")

    assert "W-140 has no checks yet" in words(figure)
    assert len(labelled(figure, "limit +4")) == 1


def test_names_are_drawn_as_they_are_or_as_code_points() -> None:
    said = words(drawn("names-that-hurt"))

    assert r"W $\frac{1}$ <b> -- & ⟨U+65E5⟩⟨U+672C⟩" in said
    assert "$1$⟨U+000A⟩⟨U+0000⟩⟨U+202E⟩SSS" in said


def test_thousands_of_checks_are_one_image_in_the_svg() -> None:
    svg = plot_drift(VIEWS["thousands-of-checks"], "svg")

    assert len(list(ET.fromstring(svg).iter(f"{SVG}image"))) == 1
    assert len(svg) < 300_000
    assert len(list(ET.fromstring(plot_drift(USUAL, "svg")).iter(f"{SVG}image"))) == 0


@pytest.mark.parametrize("name", EVERY)
def test_text_stands_out_from_its_ground(name: str) -> None:
    """At least 4.5 to 1, as WCAG 2.1 asks of text of this size (from memory), and no smaller than 7 points."""
    for text in texts(drawn(name)):
        box = text.get_bbox_patch()
        grounds: Iterable[str | tuple[float, ...]] = ["white"] if box is None else [box.get_facecolor()[:3]]
        assert min(contrast(text.get_color(), ground) for ground in grounds) >= 4.5, text.get_text()
        assert text.get_fontsize() >= 7


def test_signs_tell_apart_in_grey() -> None:
    figure = drawn("three-years-of-weekly-checks")
    rows = [labelled(figure, label)[0] for label in ("line", "line to come", "limit +4")]

    assert len({str(row._unscaled_dash_pattern) for row in rows}) == 3
    for light in (BAND, OUTSIDE, "white"):
        assert min(contrast(BLUE, light), contrast(VERMILLION, light)) > 3
    assert contrast(BAND, "white") > 1.5
    assert contrast(BAND, OUTSIDE) > 1.3


def test_a_crossing_that_the_title_tells_as_past_is_in_the_picture():
    # Two months of checks, a crossing some months later, and today long after both.
    day = [20_500.0 + 7 * week for week in range(8)]
    table = pd.DataFrame({"seq": range(8), "wrench": "W-1", "day": day, "reference_nm": 100.0})
    table["error_percent"] = [1.0 + 0.12 * week + (0.04 if week % 2 else -0.04) for week in range(8)]
    table["shown_nm"] = 100 + table["error_percent"]
    table["simulated"] = False
    lines = measure_drift(table)
    crossing = lines[0].crossing(4.0)
    view = DriftView("W-1", "SN", 4.0, table, lines, (), date(2028, 3, 1), False)

    figure = draw_drift(view)

    assert crossing.to > day[-1] + (day[-1] - day[0])
    assert title_of(view).startswith("W-1 left +4 % at 100 N·m")
    assert figure.axes[0].get_xlim()[1] >= crossing.to
