"""The work sheet has a box for every fastener in tightening order, says everything the plan does, and can be read aloud."""

import re
import shutil
import subprocess
from dataclasses import replace
from decimal import Decimal
from importlib import resources
from pathlib import Path

import pikepdf
import pytest

from analysis.report import printable, work_sheet_joint
from analysis.report.work_sheet import work_sheet_pdf
from analysis.report.work_sheet_joint import span_text
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route import Route, Stage
from schemas.words import StageWord, StepWord

MADE_AT = "2026-03-02T12:00:00.000000Z"
HOSTILE = "#panic(1) *x* $y$ <script>alert(1)</script> =1+1 @a `b` // c -- [q] ]{"

PLAN = """
plan: refit
title: Trailer hub refit
revision: "12"
source: Shop procedure 9
unit: N·m
tolerance: 8 %
item: VIN
small_drag: leave out below a third
joints:
  - {id: flange, name: Flange bolts, fasteners: 24, torque: 95, order: cross, stages: [snug, 30, 100, 100],
     start: [1, 7, 13], seen_from: the gearbox side, thread: M14x2, grade: "10.9", prep: oil, basis: as prepared,
     critical: yes, reopen: joint, socket: 22 mm}
  - {id: drum, name: Drum screws, fasteners: 60, torque: 9.5, unit: lbf·in, order: cross, mirror: left/right,
     seen_from: outside, prep: threadlocker medium, work_within: 10 min, cure: 24 h}
  - {id: rail, name: Rail bolts, fasteners: 9, torque: 40, order: in line, hand: left, turn: head,
     adapter: {length: 50 mm, angle: 0}}
  - {id: rack, name: Rack bolts, fasteners: 2, low: 35, high: 45, adapter: {length: 2 in, angle: 90, corrected_by: wrench}}
  - {id: nut, name: Centre nut, fasteners: 1, torque: 300, nut: prevailing, drag: measured, then_angle: 90,
     angle_tolerance: 10, mark: none, wrench: [W-1, W-2]}
  - {id: pin, name: Pin nuts, fasteners: 2, torque: 20, nut: prevailing, drag: 8 N·m, counter_hold: "pin, 10 mm",
     hardware: new, grade: grade 5}
  - {id: clamps, name: Clamps, fasteners: 3, torque: not stated, order: [3, 1, 2]}
  - {id: many, name: Rivet nuts, fasteners: 130, torque: 5, order: cross}
steps:
  - caution: Trailer on stands
  - do: Clean the faces
  - fit: flange
    positions: [5, 6, 7, 24]
  - loose: [nut, clamps]
  - fit: flange
    positions: [1, 2, 3, 4, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23]
  - torque: rail
  - open: rail
    as_found: yes
  - torque: rail
  - torque: flange
    covers: [rail]
  - torque: drum
  - hold point: gap
    ask: Gap of the drum
    sign: second person
    measure: {unit: mm, low: 0.2, high: 0.8}
  - torque: [rack, nut, pin, clamps, many]
    after: [gap, flange]
  - open: pin
  - torque: pin
  - recheck: flange
  - retorque: rail
    from: 40 km
    to: 80 km
    method: back off a turn
  - retorque: flange
    from: 2 weeks
""".encode()

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed (poppler-utils)")


@pytest.fixture(scope="module")
def axle() -> Route:
    """The plan of the workshop day: 84 fasteners, 16 joints, two units, staged and not."""
    plan = resources.files("sim.workshop").joinpath("rear-axle.yaml").read_bytes()
    return load_plan(plan, "axle.yaml")


@pytest.fixture(scope="module")
def refit() -> Route:
    """A plan that uses every word of the language."""
    return load_plan(PLAN, "refit.yaml")


@pytest.fixture(scope="module")
def refit_pdf(refit: Route) -> bytes:
    return work_sheet_pdf(refit, made_at=MADE_AT)


@pytest.fixture
def path(tmp_path: Path):
    def path(pdf: bytes) -> Path:
        file = tmp_path / "sheet.pdf"
        file.write_bytes(pdf)
        return file

    return path


@pytest.fixture
def pages(path):
    """The text of each page, in the order in which it was set, its spaces made one."""

    def pages(pdf: bytes) -> list[str]:
        run = subprocess.run(["pdftotext", "-raw", "-enc", "UTF-8", path(pdf), "-"], capture_output=True, check=True)
        return [re.sub(r"\s+", " ", page) for page in run.stdout.decode().split("\f")[:-1]]

    return pages


@pytest.fixture
def flowing(pages):
    """The whole text without what stands at the top and at the foot of each page."""

    def flowing(pdf: bytes) -> str:
        inner = (re.sub(r"^Work sheet, plan .*?\) Item( \(VIN\))? ", "", page) for page in pages(pdf))
        return re.sub(" +", " ", " ".join(re.sub(r"Values written by hand.*?page \d+ of \d+", "", page) for page in inner))

    return flowing


def boxes(text: str) -> list[list[int]]:
    """The positions of each round's boxes, which stand behind its lines to write on."""
    # The number of the next step is no box.
    parted = re.sub(r" \d+ (?=CAUTION|Do |Fit |Torque |Open |HOLD POINT|Check again|Later: )", " | ", text)
    return [list(map(int, found.split())) for found in re.findall(r"(?:Time|Date) ((?:\d+ )+)(?!\S+·)", parted)]


def own_rounds(route: Route) -> list[list[int]]:
    """The positions of every round that any step asks for, in the order of the steps."""
    found: list[list[int]] = []
    for step in route.steps:
        for joint in map(route.joint, step.joints):
            if step.word is StepWord.TORQUE:
                orders = [joint.order_of(stage) for stage in joint.own_stages] or [joint.order]
            elif step.word in (StepWord.RECHECK, StepWord.RETORQUE) or (step.word is StepWord.OPEN and step.as_found):
                orders = [joint.order]
            else:
                orders = []
            found += map(list, orders)
    return found


def test_every_fastener_has_its_box_in_tightening_order_in_every_round(axle: Route, flowing) -> None:
    found = boxes(flowing(work_sheet_pdf(axle, made_at=MADE_AT)))

    assert found == own_rounds(axle)
    # 84 fasteners, 24 of them in two measured stages, and ten wheel nuts that come back for their retorque.
    assert sum(map(len, found)) == 84 + 24 + 10


def test_every_word_of_the_plan_language_has_its_boxes(refit: Route, refit_pdf: bytes, flowing) -> None:
    assert boxes(flowing(refit_pdf)) == own_rounds(refit)


def test_steps_and_cautions_stand_in_their_place(axle: Route, flowing) -> None:
    text = flowing(work_sheet_pdf(axle, made_at=MADE_AT))

    told = [
        "1 CAUTION Trailer on stands, wheels chocked",
        "3 Do Fit hangers, springs and axle by hand",
        "4 Fit and leave loose Shackle bolts",
        "5 Torque Front hanger bolts hangers-front 6 fasteners, order in line; thread 1/2-13; grade 5; preparation dry",
        "55 lbf·ft 50.6 to 59.4 lbf·ft",
        "6 Torque Spring U-bolt nuts, left",
        "Snug round, not measured Name Time",
        "Stage 1 of 2, 50 %: 47.5 N·m 42.75 to under 85.5 N·m",
        "Stage 2 of 2, 100 %: 95 N·m 85.5 to 104.5 N·m",
        "All 4 are striped with paint",
        "counter-hold bolt head, 18 mm",
        "Prepared: threadlocker medium Name Time",
        "11 HOLD POINT Both hubs turn free and without play Name (fitter) Signature Date and time",
        "12 Torque Not before: hold point hubs-turn-free signed Hub cap screws, left",
        "16 HOLD POINT Loaded to ride height, axle centred within 3 mm Name (lead)",
        "17 Torque Not before: hold point ride-height-set signed Shackle bolts",
        "18 Later: retorque After 40 km to 80 km, do not slacken Wheel nuts, left",
        '110 N·m 102 to 118 N·m Write "held", or "moved" and the value. At km or time Wrench Name Date 1 3 5 2 4',
        "At the end Remarks Entered into the record by Job number Date",
    ]
    at = [text.index(one) for one in told]
    assert at == sorted(at)


@pytest.mark.parametrize(
    "told",
    [
        "Fit Flange bolts: positions 5-7, 24",
        "Fit and leave loose Centre nut; Clamps",
        "Open Rail bolts rail LEFT-HAND THREAD: it tightens counter-clockwise 9 fasteners, order in line; turn the head; "
        "adapter 50 mm at 0° Torque found before it is opened, then open it This is no tightening",
        "Before this step see that these are done and striped, they cannot be reached afterwards: Rail bolts",
        "CRITICAL joint If one of them is opened, the whole joint is open: do all its rounds again",
        "thread M14x2; grade 10.9; preparation oil; torque holds for threads as prepared; socket 22 mm",
        "Turns of stage 1. Picture seen from the gearbox side.",
        "Stage 3 of 3, 100 %, once more, until none moves: 95 N·m",
        "Prepared: threadlocker medium Last pull within 10 min from here.",
        "Not to be loaded before 24 h after the last pull",
        "Picture seen from outside. Right side, seen facing forward of travel.",
        "HOLD POINT Gap of the drum To be measured: 0.2 to 0.8 mm, both edges pass Value Name (second person)",
        "Not before: hold point gap signed; Flange bolts done",
        "What to set is worked out for this wrench and adapter and stands at each round; write down what the wrench shows 40 N·m "
        "36.8 to 43.2 N·m Set to Wrench Name Time",
        "adapter 50.8 mm at 90° Offset adapter entered in the wrench, which works out by itself what it shows 40 N·m",
        "Centre nut nut 1 fastener; nut prevailing; wrench W-1 or W-2 Drag of the nut while it turns on Add it to every torque "
        "below. Leave it out where it is below 100 N·m, a third of the torque. Drag, N·m",
        "Then turn each further by: 90° 80 to 100° Write the angle in degrees.",
        "grade 5; nut prevailing; drag of the nut is reckoned with in the values below; hardware new; counter-hold pin, 10 mm "
        "28 N·m 26.4 to 29.6 N·m",
        "3 fasteners, order as listed The procedure states no torque: say who did it, and with what tool Tool Name Time 3 1 2",
        "Open Pin nuts",
        "Check again, without slackening Flange bolts",
        "After 40 km to 80 km, back off a turn Rail bolts",
        "Back each off by one turn first, then torque it anew.",
        "After 2 weeks, do not slacken Flange bolts",
    ],
)
def test_what_the_plan_says_is_said(refit_pdf: bytes, flowing, told: str) -> None:
    assert told in flowing(refit_pdf)


def test_a_nut_that_is_not_marked_has_no_stripe_to_tick(refit_pdf: bytes, flowing) -> None:
    nut = flowing(refit_pdf).split("Centre nut nut")[1].split("Pin nuts")[0]

    assert "striped" not in nut


def test_a_drag_that_is_always_added_names_no_third(refit: Route, flowing) -> None:
    always = replace(refit, joints=tuple(replace(joint, drag_third_of_nm=None) for joint in refit.joints))

    text = flowing(work_sheet_pdf(always, made_at=MADE_AT))
    assert "Add it to every torque below. Drag, N·m" in text
    assert "a third" not in text


def test_the_head_says_which_plan_it_is_and_leaves_lines_or_prints_what_is_given(axle: Route, pages) -> None:
    plain = pages(work_sheet_pdf(axle, made_at=MADE_AT))
    given = pages(work_sheet_pdf(axle, made_at=MADE_AT, item="WX 17", order_no="4711"))

    assert plain[0].startswith(f"Work sheet, plan rear-axle, revision 3 (content {axle.content_sha256[:12]}) Item Box trailer")
    assert f"SHA-256 {axle.content_sha256} Sheet made 2026-03-02 12:00:00 UTC Item Order Fitter Date" in plain[0]
    assert "Figures from Shop procedure 114" in plain[0]
    assert "support it, secure it against rolling" in plain[0]
    assert "Item WX 17 Order 4711 Fitter Date" in given[0]
    assert all(") Item WX 17 " in page for page in given)


def test_the_foot_of_every_page_says_what_hand_written_values_count_for(refit_pdf: bytes, pages) -> None:
    texts = pages(refit_pdf)

    assert len(texts) > 5
    for number, page in enumerate(texts, 1):
        assert "Values written by hand are entered later and count as declared, not proven." in page
        assert "The maker's instructions and local rules override this sheet; it says which torque was reached, not" in page
        assert f"that anything is safe. page {number} of {len(texts)}" in page


def test_a_small_joint_is_not_parted_between_pages(axle: Route, pages) -> None:
    hub = axle.joint("hub-left")
    hubs = [replace(hub, id=f"hub-{n}", name=f"Hub {n}") for n in range(10)]
    route = replace(axle, joints=tuple(hubs), steps=(replace(axle.steps[4], joints=tuple(one.id for one in hubs)),))

    texts = pages(work_sheet_pdf(route, made_at=MADE_AT))
    assert len(texts) > 2
    for page in texts:
        # Each has two rounds, and ends with its stripes.
        parts = re.split(r"Hub \d hub-\d ", page)[1:]
        assert all("Stage 1 of 2" in part and "Stage 2 of 2" in part and "All 8 are striped" in part for part in parts)
    assert sum(page.count("Stage 2 of 2") for page in texts) == 10


def alts(pdf: pikepdf.Pdf) -> list[str]:
    found, waiting = [], [pdf.Root.StructTreeRoot]
    while waiting:
        node = waiting.pop()
        if isinstance(node, pikepdf.Dictionary):
            found += [str(node.Alt)] if node.get("/S") == "/Figure" else []
            inner = node.get("/K", [])
            waiting += list(inner) if isinstance(inner, pikepdf.Array) else [inner]
    return found[::-1]


def test_the_file_keeps_both_standards_and_says_each_picture_in_words(refit_pdf: bytes, path) -> None:
    # ISO 19005-3 (PDF/A-3) and ISO 14289-1 (PDF/UA-1), from memory, as the texts were not at hand.
    with pikepdf.open(path(refit_pdf)) as pdf:
        with pdf.open_metadata() as metadata:
            assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"], metadata["pdfuaid:part"]) == ("3", "A", "1")
            assert metadata["dc:title"] == "Work sheet: Trailer hub refit, revision 12"
        assert str(pdf.Root.Lang) == "en"
        assert [float(side) for side in pdf.pages[0].MediaBox] == pytest.approx([0, 0, 595.28, 841.89], abs=0.01)
        said = alts(pdf)
    # Any order needs no picture, 130 fasteners cannot be drawn.
    assert [alt.split(":")[0] for alt in said] == [
        "Rail bolts", "Rail bolts", "Flange bolts", "Drum screws, left", "Drum screws, right", "Clamps",
    ]  # fmt: skip
    assert said[0].startswith("Rail bolts: order 5, 4, 6, 3, 7, 2, 8, 1, 9 of 9; row, positions from left to right")
    assert "circle, position 1 at the top, then counter-clockwise; picture seen from outside; right side" in said[4]


def test_every_sign_stays_on_the_page_and_the_page_is_black_and_white(refit_pdf: bytes, path) -> None:
    file = path(refit_pdf)
    words = subprocess.run(["pdftotext", "-bbox", file, "-"], capture_output=True, check=True).stdout.decode()
    picture = subprocess.run(["pdftoppm", "-r", "30", file], capture_output=True, check=True).stdout

    found = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">', words)
    assert len(found) > 500
    for left, top, right, bottom in found:
        assert 30 < float(left) < float(right) < 595.3 - 30
        assert 20 < float(top) < float(bottom) < 841.9 - 20
    header = re.match(rb"P6\n(\d+) (\d+)\n255\n", picture)
    assert header is not None
    width, height = map(int, header.groups())
    first = picture[header.end() :][: width * height * 3]
    assert max(max(first[n : n + 3]) - min(first[n : n + 3]) for n in range(0, len(first), 3)) < 8


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(HOSTILE, id="markup"),
        pytest.param("W" * 500, id="one-word"),
        pytest.param("name " * 99 + "end", id="long"),
        pytest.param("שלום 5-6 " * 50 + "סוף", id="right-to-left"),
    ],
)
def test_hostile_and_long_texts_stay_text_and_on_the_page(refit: Route, path, pages, text: str) -> None:
    fields = dict.fromkeys(("name", "seen_from", "thread", "grade", "prep", "socket", "counter_hold", "hardware"), text)
    joints = tuple(replace(joint, **fields) for joint in refit.joints)  # type: ignore[arg-type]  # each of them is a text
    steps = tuple(replace(step, text=text, measure_unit=step.measure_unit and text) for step in refit.steps)
    route = replace(refit, title=text, revision=text, source=text, plan="W" * 64, joints=joints, steps=steps, notes=(text,))

    pdf = work_sheet_pdf(route, made_at=MADE_AT, item=text, order_no=text)
    words = subprocess.run(["pdftotext", "-bbox", path(pdf), "-"], capture_output=True, check=True).stdout.decode()
    found = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">', words)
    for left, top, right, bottom in found:
        assert 30 < float(left) < float(right) < 595.3 - 30
        assert 10 < float(top) < float(bottom) < 841.9 - 10
    if text.isascii():
        assert text.replace(" ", "") in "".join(pages(pdf)).replace(" ", "")
    with pikepdf.open(path(pdf)) as opened, opened.open_metadata() as metadata:
        assert metadata["dc:title"] == f"Work sheet: {text}, revision {text}"


def test_no_box_is_lost_of_the_longest_joint_and_of_the_most_rounds(refit: Route, flowing) -> None:
    nut = refit.joint("nut")
    twenty = tuple(Stage(n, Decimal(n), nut.stages[0].band) for n in range(1, 21))
    joints = (
        replace(refit.joint("many"), fasteners=999, order=tuple(range(999, 0, -1)), order_word="listed"),
        replace(refit.joint("flange"), stages=tuple(replace(stage, order=()) for stage in twenty)),
    )
    steps = tuple(replace(step, number=n, joints=(joint.id,), covers=(), after=()) for n, (joint, step) in enumerate(
        zip(joints, [step for step in refit.steps if step.word is StepWord.TORQUE], strict=False), 1,
    ))  # fmt: skip
    route = replace(refit, joints=joints, steps=steps)

    found = boxes(flowing(work_sheet_pdf(route, made_at=MADE_AT)))
    assert found == own_rounds(route)
    assert sum(map(len, found)) == 999 + 20 * 24


def test_a_recheck_round_is_no_part_of_the_torque_step(refit: Route, flowing) -> None:
    flange = refit.joint("flange")
    assert [stage.word for stage in flange.stages].count(StageWord.RECHECK) == 1

    torque = flowing(work_sheet_pdf(refit, made_at=MADE_AT)).split("Flange bolts flange")[1].split("striped")[0]
    assert torque.count("Wrench Name Time") == 3


def test_signs_that_cannot_be_set_are_written_out_and_said(axle: Route, pages, monkeypatch: pytest.MonkeyPatch) -> None:
    text = pages(work_sheet_pdf(axle, made_at=MADE_AT, item="日 and é"))[0]

    assert "Item ⟨U+65E5⟩ and é" in text
    assert "Signs that cannot be set or seen here (1) are written as code points" in text
    assert "cannot be set or seen" not in pages(work_sheet_pdf(axle, made_at=MADE_AT))[0]
    # A font that says it has the sign and fails on the page loses no sheet either.
    monkeypatch.setattr(printable, "in_fonts", lambda char: True)
    assert "Item ⟨U+65E5⟩ and" in pages(work_sheet_pdf(axle, made_at=MADE_AT, item="日 and é"))[0]


def test_a_sheet_that_cannot_be_made_says_so(axle: Route, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(work_sheet_joint, "pattern_svg", lambda *_, **__: b"no picture")

    with pytest.raises(RecordError, match=r"plan `rear-axle`: the work sheet cannot be made \("):
        work_sheet_pdf(axle, made_at=MADE_AT)


def test_the_same_plan_gives_the_same_bytes(refit: Route, refit_pdf: bytes) -> None:
    assert work_sheet_pdf(refit, made_at=MADE_AT) == refit_pdf
    assert work_sheet_pdf(refit, made_at="2026-03-03T12:00:00.000000Z") != refit_pdf


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(45, "45 s"), (90, "90 s"), (600, "10 min"), (3600, "1 h"), (86400, "24 h"), (172800, "48 h"), (259200, "3 days"),
     (1209600, "14 days"), (1814400, "3 weeks")],
)  # fmt: skip
def test_a_time_stands_in_its_largest_whole_unit(seconds: int, text: str) -> None:
    assert span_text(seconds) == text.replace(" ", "\u00a0")
