"""The PDF keeps to its two standards, answers on page one, loses no fastener, and gives foreign text no power."""

import json
import re
import shutil
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from decimal import Decimal
from importlib import resources
from pathlib import Path

import pikepdf
import pytest

from analysis.load import job_json, load_job, open_audit
from analysis.load.reasons import reasons_not_complete
from analysis.load.record import Calibration, JobRecord, LogFile, PlanUsed, Tree, WrenchUsed
from analysis.load.record_pulls import Correction, FastenerRow, JointRow, MatchStep, MissingNumbers, Raw, ReadingRow, StageDone
from analysis.load.record_said import DecisionRow, HoldPointRow, Retorque
from analysis.report import printable
from analysis.report.pdf import Chart, report_pdf
from analysis.report.pdf_fasteners import joints_content
from analysis.report.pdf_halves import side_by_side
from schemas.bodies import CountKept, Signed
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route import Adapter, Joint, Route
from schemas.words import Proof

MADE_AT = "2026-03-02T12:00:00.000000Z"
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="180mm" height="90mm" viewBox="0 0 180 90">'
    '<rect x="5" y="5" width="170" height="80" fill="none" stroke="black"/>'
    '<text x="20" y="40" font-family="DejaVu Sans" font-size="4">error in %</text></svg>'
)
HOSTILE = "#panic(1) *x* $y$ <script>alert(1)</script> =1+1 @a `b` // c -- \\u{41} [q] ]{"

needs_pdftotext = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed (poppler-utils)")
needs_qpdf = pytest.mark.skipif(shutil.which("qpdf") is None, reason="qpdf is not installed")


def chart(wrench: str = "W-140", svg: str = SVG) -> Chart:
    alt = f"Error of wrench {wrench} over a year, inside 4 % all along"
    return Chart(wrench, f"Wrench {wrench}: its checks", alt, svg.encode())


def reading(n: int, joint: Joint, stage: int, position: int) -> ReadingRow:
    """A pull in the middle of its band, as an indicating wrench sends it."""
    band = joint.stages[stage].band
    torque = f"{band.target + Decimal(n % 7) / 10:.1f}"
    return ReadingRow(
        seq=1000 + n, n=n, at="2026-03-02T07:30:00.000000Z", by="Mira Tannwald", line=None, wrench="W-140", measures="highest",
        torque=torque, unit=joint.unit, torque_nm=torque, torque_shown=None, unit_shown=None, over_range=False, sequence=n,
        tool_time=f"2026-03-02T08:{n // 60 % 60:02}:{n % 60:02}+01:00", angle_deg=None, notes="", fit=True, unfit=None,
        joint=joint.id, joint_name=joint.name, stage=stage + 1, position=position, position_by="order", kind="tightening",
        verdict="in band", p="0.998", reason="next in the plan's order", low_nm=str(band.low_nm), high_nm=str(band.high_nm),
        revisions=0, raw=Raw(f"W-140,{n},{torque}", f"W-140,{n},{torque}".encode().hex()),
    )  # fmt: skip


def fasteners_of(route: Route, bad: dict[tuple[str, int], tuple[Proof, str]]) -> tuple[FastenerRow, ...]:
    rows: list[FastenerRow] = []
    n = 0
    for joint in route.joints:
        for position in range(1, joint.fasteners + 1):
            proof, why = bad.get((joint.id, position), (Proof.PROVEN, ""))
            stages = []
            for at, stage in enumerate(joint.stages):
                n += 1
                band = stage.band
                pull = None if proof is Proof.MISSED else reading(n, joint, at, position)
                stages.append(
                    StageDone(
                        stage.number, str(stage.share_percent), joint.unit, str(band.low), str(band.high), str(band.low_nm),
                        str(band.high_nm), band.high_is_in_band, None if pull is None else pull.verdict, pull,
                    )
                )  # fmt: skip
            rows.append(FastenerRow(joint.id, joint.name, position, proof, why, tuple(stages)))
    return tuple(rows)


def record_of(route: Route, bad: dict[tuple[str, int], tuple[Proof, str]] | None = None, **more: object) -> JobRecord:
    """A job over all of a route, every fastener in band but those in `bad`."""
    fasteners = fasteners_of(route, bad or {})
    readings = tuple(stage.reading for row in fasteners for stage in row.stages if stage.reading is not None)
    reasons = reasons_not_complete(False, fasteners, (), ()) if bad else ()
    made = JobRecord(
        job="7", workshop="Tannwald Trailers", item="Box trailer WX 17", order_no="4711", fitter="Mira Tannwald",
        opened_at="2026-03-02T07:00:00.000000Z", closed_at=None, simulated=False,
        plan=PlanUsed(8, route.plan, route.title, route.revision, route.source, route.content_sha256, "axle.yaml", "ab" * 32),
        route=route, complete=not reasons, reasons=reasons,
        joints=tuple(JointRow(j.id, 1, 1, j.name, j.fasteners, j.fasteners, 0, 0, 0, "proven", "1", True) for j in route.joints),
        fasteners=fasteners, readings=readings, not_read=(),
        decisions=tuple(
            DecisionRow(n, f"2026-03-02T07:{n:02}:09.000000Z", "Mira Tannwald", "stripes", j.id, j.name, None, j.fasteners,
                        j.fasteners, None)
            for n, j in enumerate(route.joints)
        ),
        signatures=(), hold_points=(), links=(), corrections=(), missing=(), retorques=(),
        wrenches=tuple(
            WrenchUsed(wrench, 50, f"SN {wrench}", "indicating", "20", "200", "N·m", "highest",
                       (Calibration("K-2210", "2026-01-10", "2027-01-09", "20", "200"),))
            for wrench in ("W-025", "W-140")
        ),
        logs=(), tree=Tree(365, "cd" * 32, 365),
    )  # fmt: skip
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


@pytest.fixture(scope="module")
def axle() -> Route:
    """The plan of the workshop day: 84 fasteners, 16 joints, two units, staged and not."""
    plan = resources.files("sim.workshop").joinpath("rear-axle.yaml").read_bytes()
    return load_plan(plan, "axle.yaml")


@pytest.fixture(scope="module")
def day(axle: Route) -> JobRecord:
    """A day on which not all went well."""
    bad = {
        ("shackle-bolts", 2): (Proof.FAILED, "over-torque at reading 107: not opened, not done again"),
        ("wheel-nuts-left", 4): (Proof.MISSED, "no tightening of the final stage"),
        ("wheel-nuts-left", 5): (Proof.DOUBTFUL, "matched by order only and not confirmed"),
        ("hub-cap-left", 1): (Proof.DECLARED, "says Jonna Brandt, with a beam wrench"),
    }
    record = record_of(axle, bad, simulated=True)
    step = MatchStep(40, "2026-03-02T07:32:14.000000Z", "the program", "short pull", "Hub cap screws, left", 1, 2, "under", "0.9",
                     "put right by reading 4")  # fmt: skip
    return replace(record, corrections=(Correction(3, (replace(step, kind="tightening"), step)),))


@pytest.fixture(scope="module")
def long_job(axle: Route) -> JobRecord:
    """1,500 fasteners on 100 joints."""
    names = [replace(axle.joints[n % 16], id=f"j{n}", name=f"Row {n} bolts", fasteners=15) for n in range(100)]
    return record_of(replace(axle, joints=tuple(names)), simulated=True)


@pytest.fixture(scope="module")
def long_pdf(long_job: JobRecord) -> bytes:
    return report_pdf(long_job, (), made_at=MADE_AT)


@pytest.fixture(scope="module")
def day_pdf(day: JobRecord) -> bytes:
    return report_pdf(day, (chart("W-025"), chart("W-140")), made_at=MADE_AT)


@pytest.fixture
def hostile(day: JobRecord) -> JobRecord:
    """Long and hostile texts wherever a person or a tool writes one."""
    word, text = "W" * 90, "A name that goes on and on, " * 6
    joints = [replace(j, name=(HOSTILE, text, word)[n % 3], hardware=word) for n, j in enumerate(day.route.joints)]
    route = replace(day.route, joints=tuple(joints))

    def named(stage: StageDone) -> StageDone:
        pull = stage.reading and replace(stage.reading, wrench=word, by=text, tool_time="at *noon*")
        return replace(stage, reading=pull)

    return replace(
        day, item=HOSTILE, fitter=word, order_no=text, workshop="عربة صندوق 17", job=f"</title>{word}", route=route,
        fasteners=tuple(
            replace(f, joint_name=word, why=text if f.position == 2 else f.why, stages=tuple(map(named, f.stages)))
            for f in day.fasteners
        ),
        wrenches=tuple(replace(w, wrench=word, serial=word) for w in day.wrenches),
        decisions=tuple(replace(d, by=word) for d in day.decisions),
    )  # fmt: skip


@pytest.fixture
def open_pdf(tmp_path: Path):
    def open_pdf(pdf: bytes) -> pikepdf.Pdf:
        path = tmp_path / "report.pdf"
        path.write_bytes(pdf)
        return pikepdf.open(path)

    return open_pdf


@pytest.fixture
def pages(tmp_path: Path):
    """The text of each page, in the order in which it was set, its spaces made one."""

    def pages(pdf: bytes) -> list[str]:
        path = tmp_path / "report.pdf"
        path.write_bytes(pdf)
        run = subprocess.run(["pdftotext", "-raw", "-enc", "UTF-8", path, "-"], capture_output=True, check=True)
        return [re.sub(r"\s+", " ", page) for page in run.stdout.decode().split("\f")[:-1]]

    return pages


def elements(pdf: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    """All elements of the structure tree."""
    found, waiting = [], [pdf.Root.StructTreeRoot]
    while waiting:
        node = waiting.pop()
        if isinstance(node, pikepdf.Dictionary):
            found += [node] if "/S" in node else []
            inner = node.get("/K", [])
            waiting += list(inner) if isinstance(inner, pikepdf.Array) else [inner]
    return found


def test_the_file_says_that_it_keeps_both_standards_and_carries_what_they_ask_for(day_pdf: bytes, open_pdf) -> None:
    # ISO 19005-3 (PDF/A-3) and ISO 14289-1 (PDF/UA-1), from memory, as the texts were not at hand: the identification in
    # the metadata, an output intent with its profile, marked content, a language, and the title shown.
    with open_pdf(day_pdf) as pdf:
        with pdf.open_metadata() as metadata:
            assert metadata["pdfaid:part"] == "3"
            assert metadata["pdfaid:conformance"] == "A"
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == "SIMULATED: Torque record, job 7"
            assert metadata["xmp:CreateDate"] == "2026-03-02T12:00:00+00:00"
        assert str(pdf.Root.Lang) == "en"
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.ViewerPreferences.DisplayDocTitle
        (intent,) = pdf.Root.OutputIntents
        assert intent.S == "/GTS_PDFA1"
        assert len(intent.DestOutputProfile.read_bytes()) > 100


def test_every_font_is_embedded_and_its_text_can_be_read_out(day_pdf: bytes, open_pdf) -> None:
    with open_pdf(day_pdf) as pdf:
        dicts = [each for each in pdf.objects if isinstance(each, pikepdf.Dictionary)]
        fonts = [each for each in dicts if each.get("/Type") == "/Font" and each.get("/Subtype") == "/Type0"]
        descriptors = [each for each in dicts if each.get("/Type") == "/FontDescriptor"]

        assert {str(font.BaseFont).split("+")[1] for font in fonts} == {"DejaVuSans", "DejaVuSans-Bold", "DejaVuSansMono"}
        assert all("/ToUnicode" in font for font in fonts)
        assert len(descriptors) == len(fonts)
        assert all("/FontFile2" in each or "/FontFile3" in each for each in descriptors)


def test_each_picture_has_words_and_each_head_of_a_table_its_scope(day: JobRecord, day_pdf: bytes, open_pdf) -> None:
    with open_pdf(day_pdf) as pdf:
        found = elements(pdf)
        alts = [str(each.Alt) for each in found if each.S == "/Figure" and "/Alt" in each]
        figures = [each for each in found if each.S == "/Figure"]
        heads = [each for each in found if each.S == "/TH"]

        assert len(alts) == len(figures) >= len(day.route.joints) + 2
        assert "Wheel nuts, left, 5 positions drawn as a ring: 3 of 5 proven; doubtful: 5; missed: 4" in alts
        assert "Error of wrench W-140 over a year, inside 4 % all along" in alts
        assert heads
        for cell in heads:
            attributes = cell.A if isinstance(cell.A, pikepdf.Array) else [cell.A]
            assert "/Column" in [str(each.get("/Scope")) for each in attributes]


def test_the_record_for_machines_is_attached_with_raw_bytes_times_and_wrench(day: JobRecord, day_pdf: bytes, open_pdf) -> None:
    with open_pdf(day_pdf) as pdf:
        spec = pdf.attachments["job-7.json"]
        attached = json.loads(spec.get_file().read_bytes())

        assert str(spec.obj.AFRelationship) == "/Data"
        assert spec.obj.objgen in [each.objgen for each in pdf.Root.AF]
        assert spec.get_file().mime_type == "application/json"
    for name, said in job_json(day).items():
        if name != "readings":
            assert attached[name] == said
    assert len(attached["readings"]) == len(day.readings) == 107
    for row, said, full in zip(day.readings, job_json(day)["readings"], attached["readings"], strict=True):
        assert said.items() <= full.items()
        assert full["raw_hex"] == row.raw.hex
        assert (full["tool_time"], full["received_at"], full["wrench"]) == (row.tool_time, row.at, "W-140")


@needs_pdftotext
def test_page_one_answers_with_reasons_counts_and_cautions(day: JobRecord, day_pdf: bytes, pages) -> None:
    first = pages(day_pdf)[0]

    assert "Is the torque record complete? No." in first
    for reason in day.reasons:
        assert reason in first
    for said in (
        "proven 80 in band, or held in a check",
        "declared 1 a named person says",
        "doubtful 1 done, but",
        "missed 1 no tightening",
        "failed 1 under or over",
        "all 84 fasteners",
        "Hub cap screws, left, 1: declared (says Jonna Brandt, with a beam wrench)",
        "Box trailer WX 17",
        "Order 4711",
        "Report made 2026-03-02 12:00:00 UTC",
        "Box trailer, rear axle and hubs, rear-axle, revision 3",
        "support it, secure it against rolling",
        "The maker's instructions, local rules and licensed practice come before any plan",
        "does not say that the vehicle is safe to drive",
        "Clamp force is not measured and not proved",
        "The plan says: Trailer on stands, wheels chocked",
        "The job is not closed",
        "Attached to this file: job-7.json",
        "cdcdcdcdcdcdcdcd … over 365 entries",
        "3 of 5 proven doubtful: 5 missed: 4",
    ):
        assert said in first


@needs_pdftotext
@pytest.mark.parametrize(
    ("proofs", "name"),
    [
        pytest.param((Proof.DOUBTFUL,), "Row {} bolts, left", id="all-doubtful"),
        pytest.param(tuple(Proof)[1:], "Row {} bolts", id="each-its-own"),
        pytest.param(tuple(Proof)[1:], "{} a name that goes on" + " and on" * 30, id="long-names"),
    ],
)
def test_page_one_answers_for_a_job_in_which_nothing_went_well(long_job: JobRecord, pages, proofs, name: str) -> None:
    joints = tuple(replace(joint, name=name.format(n)) for n, joint in enumerate(long_job.route.joints))
    bad = {
        (joint.id, position): (proofs[(n + position) % len(proofs)], f"over-torque at reading {n * 15 + position}: not opened")
        for n, joint in enumerate(joints)
        for position in range(1, 16)
    }
    points = tuple(HoldPointRow(f"hold-{n}", "Turns free?", "lead", None) for n in range(60))
    missing = tuple(MissingNumbers("W-140", 3 * n, 3 * n + 1) for n in range(60))
    due = Retorque(tuple(joint.name for joint in joints), "40 km to 80 km")
    made = record_of(replace(long_job.route, joints=joints), bad, retorques=(due,) * 9, hold_points=points, missing=missing)
    reasons = reasons_not_complete(False, made.fasteners, points, missing)

    texts = pages(report_pdf(replace(made, reasons=reasons), (), made_at=MADE_AT))

    for said in (
        *reasons,
        *(f"{proof} {count} " for proof, count in made.proof_counts.items()),
        "all 1500 fasteners in the plan",
        "Clamp force is not measured and not proved.",
        "A retorque is due from 40 km to 80 km: ",
        "more retorques are asked for: see Retorques",
        "The plan says: Trailer on stands",
        "brakes are worked on by licensed people only",
        "readings, 0 of them stray",
    ):
        # A name may be broken over two lines.
        assert said.replace(" ", "") in texts[0].replace(" ", "")
    whole = " ".join(texts)
    assert all(f"hold-{n} Turns free?" in whole for n in range(60))
    assert whole.count("W-140: numbers") == 60
    assert whole.count("over-torque at reading") >= 1500


@needs_pdftotext
def test_a_fasteners_row_names_a_long_wrench_by_its_beginning_and_the_list_of_wrenches_all_of_it(axle: Route, pages) -> None:
    wrench = "W" + "0123456789" * 20
    # So few joints that the list of wrenches is not parted by the end of a page.
    record = record_of(replace(axle, joints=axle.joints[:6]))
    first, *rest = record.fasteners
    (stage,) = first.stages
    pulled = replace(first, stages=(replace(stage, reading=replace(stage.reading, wrench=wrench)),))
    used = (replace(record.wrenches[0], wrench=wrench), *record.wrenches[1:])

    text = " ".join(pages(report_pdf(replace(record, fasteners=(pulled, *rest), wrenches=used), (), made_at=MADE_AT)))

    unbroken = text.replace(" ", "")
    assert f"{wrench[:24]}…" in unbroken
    assert unbroken.count(wrench) == 1


def test_a_single_joint_stands_in_the_first_column(axle: Route, tmp_path: Path) -> None:
    (columns, beside) = side_by_side(joints_content(record_of(replace(axle, joints=axle.joints[:1]))), [])

    assert len(columns["joints"]) == 1
    assert beside["joints"] == []


@needs_pdftotext
def test_names_from_right_to_left_do_not_turn_round_what_stands_beside_them(day: JobRecord, tmp_path: Path) -> None:
    joints = (replace(day.route.joints[0], name="שלום"), *day.route.joints[1:])
    bad = {(joints[0].id, position): (Proof.DOUBTFUL, "") for position in (1, 3, 4)}
    due = (Retorque(("שלום", "Hub nuts"), "40 km to 80 km"),)
    record = record_of(replace(day.route, joints=joints), bad, retorques=due)

    path = tmp_path / "report.pdf"
    path.write_bytes(report_pdf(record, (), made_at=MADE_AT))
    boxes = subprocess.run(["pdftotext", "-l", "1", "-bbox", path, "-"], capture_output=True, check=True).stdout.decode()

    words = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" [^>]*>([^<]*)</word>', boxes)
    line = min((top for _, top, word in words if word == "3-4"), key=float)
    seen = [word for left, top, word in sorted(words, key=lambda word: float(word[0])) if top == line]
    assert "".join(seen[:3]) == "–3fasteners"
    assert seen[-2:] == ["1,", "3-4"]


@needs_pdftotext
def test_every_fastener_stands_in_the_table_with_value_verdict_and_time(day: JobRecord, day_pdf: bytes, pages) -> None:
    text = " ".join(pages(day_pdf))

    assert "earlier stages first, the final in bold with its time, 2026-03-02 +01:00." in text
    for fastener in day.fasteners:
        final = fastener.stages[-1].reading
        if final is None:
            assert f"{fastener.position} ○ no reading {fastener.proof}" in text
            continue
        clock = final.tool_time[11:19]
        before = "".join(f"{stage.reading.torque} ● → " for stage in fastener.stages[:-1])
        assert f"{fastener.position} {before}{final.torque} ● in band W-140 {clock} {fastener.proof}" in text
    for why in (
        "4 missed: no tightening of the final stage",
        "2 failed: over-torque at reading 107",
        "stripes: 6 of 6 seen Front hanger bolts Mira Tannwald 07:00:09",
    ):
        assert why in text
    assert "Front hanger bolts hangers-front · band 50.6 to 59.4 lbf·ft, about 68.60 to 80.54 N·m" in text
    assert "stage 1 of 2, 50 %: 42.75 to under 85.5 N·m; stage 2 of 2, 100 %: 85.5 to 104.5 N·m" in text


def test_a_usual_job_with_two_charts_takes_three_pages(day_pdf: bytes, open_pdf) -> None:
    with open_pdf(day_pdf) as pdf:
        assert len(pdf.pages) == 3


@needs_pdftotext
def test_each_page_says_which_it_is_that_the_job_is_simulated_and_that_no_clamp_force_is_proved(long_pdf: bytes, pages) -> None:
    texts = pages(long_pdf)

    assert len(texts) > 10
    for number, text in enumerate(texts, start=1):
        assert "SIMULATED: made by a program, not by a wrench" in text
        assert "SIMULATED. Job 7, report made 2026-03-02 12:00:00 UTC. Torque reached, never clamp force proved." in text
        assert f"Page {number} of {len(texts)}" in text
    assert "SIMULATED: these readings were made by a program. No fastener was torqued." in texts[0]


@needs_pdftotext
def test_a_real_job_never_says_simulated(axle: Route, pages) -> None:
    assert "SIMULATED" not in " ".join(pages(report_pdf(record_of(axle), (chart(),), made_at=MADE_AT)))


@needs_pdftotext
def test_heads_of_tables_and_names_of_joints_come_again_on_each_page(long_job: JobRecord, long_pdf: bytes, pages) -> None:
    texts = pages(long_pdf)
    with_rows = [text for text in texts if re.search(r"● in band W-140 08:\d\d:\d\d proven", text)]

    assert len(with_rows) > 8
    for text in with_rows[:-1]:
        assert len(re.findall(r"Pos. Torque Verdict Wrench Time Proof Row \d+ bolts j\d+ · ", text)) == 2
    assert "Pos. Torque Verdict Wrench Time Proof" in with_rows[-1]
    assert len(re.findall(r"● in band W-140 08:\d\d:\d\d proven", " ".join(texts))) == len(long_job.fasteners) == 1500
    joints = [int(number) for number in re.findall(r"Row \d+ bolts j(\d+) · ", " ".join(texts))]
    assert joints == sorted(joints)
    assert set(joints) == set(range(100))
    assert sum(text.count("What was said Of By Time") for text in texts) > 1


@needs_pdftotext
@pytest.mark.parametrize("name", [pytest.param(name, id=name) for name in ("day", "long_job", "hostile")])
def test_no_word_reaches_over_the_edge_of_its_page(name: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(report_pdf(request.getfixturevalue(name), (chart(),), made_at=MADE_AT))

    boxes = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, check=True).stdout.decode()

    # 210 by 297 mm in points; a finger's breadth stays free for the printer.
    words = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">', boxes)
    assert len(words) > 800
    for left, top, right, bottom in words:
        assert 30 < float(left) < float(right) < 595.3 - 30
        assert 5 < float(top) < float(bottom) < 841.9 - 5


@needs_pdftotext
def test_foreign_text_is_shown_sign_by_sign_and_has_no_power(hostile: JobRecord, open_pdf, pages) -> None:
    pdf = report_pdf(hostile, (chart(svg=SVG.replace("error", "#panic(1)")),), made_at=MADE_AT)
    text = " ".join(pages(pdf))

    assert HOSTILE in text
    assert "at *noon*" in text
    assert "عربة" in text
    assert "W" * 90 in text.replace(" ", "")
    with open_pdf(pdf) as opened:
        assert list(opened.attachments) == [f"job-__title_{'W' * 72}.json"]
        with opened.open_metadata() as metadata:
            assert metadata["dc:title"] == f"SIMULATED: Torque record, job </title>{'W' * 90}"


@needs_pdftotext
def test_a_name_longer_than_a_page_is_cut_where_it_would_hide_the_rest_and_says_so(day: JobRecord, pages) -> None:
    first, *rest = day.route.joints
    route = replace(day.route, joints=(replace(first, name="long " * 4000, prep="wet " * 9000), *rest))

    text = " ".join(pages(report_pdf(replace(day, route=route, item="item " * 4000), (), made_at=MADE_AT)))

    assert text.count("… (19760 more signs, in the attached record)") >= 2
    assert text.count("item ") >= 4000
    assert len(re.findall(r"W-140 08:00:0\d proven", text)) >= 6


@needs_pdftotext
def test_in_place_of_a_chart_that_failed_a_line_says_so(day: JobRecord, pages) -> None:
    texts = pages(report_pdf(day, (Chart("W-7"), chart("W-140")), made_at=MADE_AT))

    assert "The chart of wrench W-7 could not be drawn. Wrench W-140: its checks" in texts[-1]


@needs_pdftotext
def test_a_sign_that_the_fonts_lack_is_written_out_and_said(day: JobRecord, open_pdf, pages) -> None:
    spoiled = replace(day, item="trailer 日本\u202e\x07 \ue000 end", job="日")
    pdf = report_pdf(spoiled, (replace(chart(svg=SVG.replace("error", "日")), title="本", alt="日"),), made_at=MADE_AT)
    texts = pages(pdf)

    assert "Item trailer ⟨U+65E5⟩⟨U+672C⟩⟨U+202E⟩⟨U+0007⟩ ⟨U+E000⟩ end" in texts[0]
    assert "Signs that cannot be set or seen here (3) are written as code points" in texts[0]
    assert "⟨U+672C⟩ ⟨U+65E5⟩ in %" in texts[-1]
    with open_pdf(pdf) as opened:
        assert json.loads(opened.attachments["job-_.json"].get_file().read_bytes())["job"] == "日"
    assert "cannot be set or seen" not in pages(report_pdf(day, (), made_at=MADE_AT))[0]


@needs_pdftotext
def test_a_sign_that_fails_only_on_the_page_loses_no_report(day: JobRecord, pages, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(printable, "in_fonts", lambda char: True)

    first = pages(report_pdf(replace(day, item="日 and é"), (), made_at=MADE_AT))[0]

    assert "Item ⟨U+65E5⟩ and ⟨U+00E9⟩" in first


@pytest.mark.parametrize(
    "svg",
    [
        pytest.param("<svg", id="cut-off"),
        pytest.param("no chart", id="no-svg"),
        pytest.param("", id="empty"),
        pytest.param(SVG.replace("error", "&#x65E5;"), id="a-sign-hidden-in-a-character-reference"),
    ],
)
def test_a_chart_that_cannot_be_drawn_is_refused_in_one_line(day: JobRecord, svg: str) -> None:
    with pytest.raises(RecordError, match=r"^job `7`: the PDF cannot be made \(.+\); make the report as HTML instead$"):
        report_pdf(day, (chart(svg=svg),), made_at=MADE_AT)


def test_the_same_record_gives_the_same_bytes_in_this_process_and_in_another(
    shop, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop.do_all()
    code = (
        "import sys; from pathlib import Path; from contextlib import closing\n"
        "from analysis.load import load_job, open_audit; from analysis.report.pdf import Chart, report_pdf\n"
        "with closing(open_audit(Path(sys.argv[1]))) as db: record = load_job(db, sys.argv[2])\n"
        "chart = Chart('W-140', 'Checks', 'flat', sys.argv[3].encode())\n"
        "sys.stdout.buffer.write(report_pdf(record, (chart,), made_at=sys.argv[4]))\n"
    )
    # Neither the hash seed nor the zone of the process may show.
    monkeypatch.setenv("PYTHONHASHSEED", "7")
    monkeypatch.setenv("TZ", "Asia/Tokyo")

    with closing(open_audit(path)) as db:
        record = load_job(db, shop.job)
    charts = (Chart("W-140", "Checks", "flat", SVG.encode()),)
    here = report_pdf(record, charts, made_at=MADE_AT)
    command = [sys.executable, "-c", code, path, shop.job, SVG, MADE_AT]
    there = subprocess.run(command, capture_output=True, check=True, cwd=tmp_path)

    assert here == report_pdf(record, charts, made_at=MADE_AT)
    assert here == there.stdout
    assert here != report_pdf(record, charts, made_at="2026-03-02T12:00:01.000000Z")


@needs_qpdf
@pytest.mark.parametrize("name", [pytest.param(name, id=name) for name in ("day", "hostile")])
def test_qpdf_finds_no_fault(name: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    path = tmp_path / "report.pdf"
    path.write_bytes(report_pdf(request.getfixturevalue(name), (chart(),), made_at=MADE_AT))

    run = subprocess.run(["qpdf", "--check", path], capture_output=True, text=True, check=False)

    assert run.returncode == 0, run.stdout + run.stderr


@pytest.fixture
def shop_text(path: Path, pages):
    """The text of the report of a job in the database."""

    def shop_text(job: str = "2026-0001") -> str:
        with closing(open_audit(path)) as db:
            return " ".join(pages(report_pdf(load_job(db, job), (), made_at=MADE_AT)))

    return shop_text


@needs_pdftotext
def test_a_complete_job_is_answered_with_yes(shop, shop_text) -> None:
    shop.do_all()
    shop.append(Signed(shop.job, "lead", "ride-height"))

    text = shop_text()

    late = ", 1 of them after a pull that it holds: see Hold points and signatures"
    assert f"complete? Yes. Every fastener of the plan is proven, and every hold point is signed{late}." in text
    assert "complete? No." not in text
    signed = "as lead signed 7 s after the first pull it holds signed as one of 3 within 2 s 07:"
    assert f"ride-height Loaded to ride height lead Mira Tannwald {signed}" in text


@needs_pdftotext
def test_how_it_is_known_that_nothing_was_left_out_stands_beside_each_joint(shop, shop_text) -> None:
    for joint, stage, torque, fasteners in (("hub-nuts", 1, "50", 4), ("hub-nuts", 2, "100", 4), ("guard", 1, "20", 2)):
        for position in range(1, fasteners + 1):
            shop.match(shop.read(torque), joint, stage, position, p="0.9931")
        shop.append(CountKept(shop.job, "0.9972", joint, stage))
    shop.say("stripes", "guard", count=2, of=2)

    text = shop_text()

    assert "order cross; stage 1: 4 of 4 by count and timing, p = 0.997; lowest p = 0.9931" in text
    assert "confirmed: 2 of 2 counted; lowest p = 0.9931" in text
    assert "Sure from" not in text


@needs_pdftotext
def test_a_limit_that_the_shop_asks_for_stands_on_page_one(make_shop, shop_text) -> None:
    make_shop().open(p_limit="0.995")

    assert "Sure from p = 0.995 on, as the shop asks" in shop_text()


@needs_pdftotext
def test_all_that_went_wrong_is_in_words(spoiled, shop_text) -> None:
    spoiled.match(spoiled.read("101.0", tool_time="half past"), "hub-nuts", 2, 2, kind="recheck")
    spoiled.not_read(b"x" * 308, "set aside", "which wrench?")

    text = shop_text()

    for said in (
        "1 37.1 lbf·ft ● → ○ no reading W-140 missed",
        "2 ○ none → 118.5 ▲ over W-140",
        "3 ○ none → above the tool's range ▲ over W-9",
        "2 failed: over-torque at reading 3",
        "W-9 1 reading not in the register none on record",
        "W-140 5 readings SN-90417",
        "K-2210: 2026-01-10, in date to 2027-01-09; 20 to 200 N·m",
        "ride-height Loaded to ride height lead not signed",
        "inspected Hub nuts, left, 2 Mira Tannwald",
        "Retorques: Hub nuts, left: from 40 km to 80 km, not slackened first: no job was opened for it yet",
        "2, first 30.0 N·m Hub nuts, left, position 2, stage 1",
        "2, then Hub nuts, left, position 2, stage 1 short pull ▼ under put right by reading 3",
        "Missing numbers: Wrench W-140: numbers 7 to 8 are missing.",
        "lost device unplugged serial:tty Hub nuts, left",
        "5 12.5 N·m W-140 no joint is near 12.5 N·m",
        "6 101.0 N·m Hub nuts, left, position 2, stage 2 p = 0.95 recheck ● in band",
        "half past",
        "unreadable not a line of text 00ff016a756e6b hex, as they are no text",
        "68 more signs, in the attached record",
        "6 readings, 1 of them stray; 1 unreadable and 2 set aside.",
        "no tightening of the final stage",
    ):
        assert said in text


@needs_pdftotext
def test_a_job_without_readings_and_with_an_erased_item_has_its_report(make_shop, path: Path, pages) -> None:
    make_shop().open()
    with closing(open_audit(path)) as db:
        record = load_job(db, "2026-0001")

    text = " ".join(pages(report_pdf(replace(record, item=None, order_no=""), (), made_at=MADE_AT)))

    for said in (
        "Item (erased)",
        "Order none given",
        "6 fasteners missed",
        "all 4 missed",
        "Wrenches: No reading names a wrench. Check policy",
        "Strays: None.",
    ):
        assert said in text


@needs_pdftotext
def test_a_joint_to_no_stated_torque_has_rows_and_its_reason(axle: Route, pages) -> None:
    adapter = Adapter(Decimal(50), Decimal(0))
    joints = (replace(axle.joints[0], stages=(), fasteners=1, order_word="any", grade="8.8", adapter=adapter),)
    declared = {(joints[0].id, 1): (Proof.DECLARED, "says Mira Tannwald")}
    record = record_of(replace(axle, joints=joints), declared, complete=True, closed_at=MADE_AT, retorques=(), decisions=())

    text = " ".join(pages(report_pdf(record, (), made_at=MADE_AT)))

    for said in (
        "Every fastener of the plan is proven, or declared or not fitted as named below.",
        "the procedure states no torque · order any; thread 1/2-13; grade 8.8; dry; nut prevailing; drag included; hardware new",
        "hardware new; adapter 50 mm at 0°",
        "1 not stated declared",
        "1 declared: says Mira Tannwald",
        "Closed 2026-03-02 12:00:00 UTC",
        "Front hanger bolts declared",
    ):
        assert said in text
    assert "not closed" not in text


@needs_pdftotext
def test_times_of_several_days_and_rows_of_a_log_stand_in_full(day: JobRecord, pages) -> None:
    times = ("2026-03-01T23:59:59+01:00", "2026-03-02T00:00:01", "after lunch", None, None)

    def timed(fastener: FastenerRow) -> FastenerRow:
        if fastener.joint != "hangers-front":
            return fastener
        sent, line = times[fastener.position % 5], 12 if fastener.position == 3 else None
        (stage,) = fastener.stages
        pull = replace(stage.reading, tool_time=sent, line=line, by="Jonna Brandt" if fastener.position < 3 else "Mira Tannwald")
        return replace(fastener, stages=(replace(stage, reading=pull),))

    logs = (LogFile("2026-03-02T07:01:00.000000Z", "day.csv", "ef" * 32),)
    decisions = (day.decisions[0], replace(day.decisions[1], at="2026-03-03T07:01:09.000000Z"))
    tree = Tree(364, "cd" * 32, 365)
    record = replace(day, fasteners=tuple(map(timed, day.fasteners)), logs=logs, decisions=decisions, tree=tree)

    text = " ".join(pages(report_pdf(record, (), made_at=MADE_AT)))

    for said in (
        "2026-03-02 00:00:01 (no zone)",
        "after lunch",
        "no time sent",
        "2026-03-02 07:30:00 UTC, received",
        "hardware new; pulled 2026-03-02 +01:00",
        "1-2 pulled by Jonna Brandt",
        "day.csv, 2026-03-02 07:01:00 UTC SHA-256 efef",
        "2026-03-03 07:01:09 UTC",
        "The database holds 365 entries, but its fingerprint covers 364: it was altered.",
    ):
        assert said in text


@needs_pdftotext
def test_a_torque_in_another_unit_stands_as_sent_with_the_same_in_the_joints_unit(day: JobRecord, pages) -> None:
    first, *rest = day.fasteners
    (stage,) = first.stages
    # NIST Special Publication 811 (2008), B.8: 1 lbf·ft = 1.355 818 N·m, so 74.57 N·m is 55.0 lbf·ft.
    pull = replace(stage.reading, torque="74.57", unit="N·m", torque_shown="55.0", unit_shown="lbf·ft")

    text = " ".join(pages(report_pdf(
        replace(day, fasteners=(replace(first, stages=(replace(stage, reading=pull),)), *rest)), (), made_at=MADE_AT
    )))  # fmt: skip

    assert "1 74.57 N·m = 55.0 lbf·ft ● in band" in text
