"""The report stands alone, answers first, says every state in words, and gives foreign text no power."""

import re
from contextlib import closing
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from analysis.load import load_job, open_audit
from analysis.report import report_html
from schemas.bodies import CountKept, Signed
from schemas.words import Proof

MADE_AT = "2026-03-02T12:00:00.000000Z"
VOID = {"meta", "br", "col"}


class Page(HTMLParser):
    """The visible text of a page, block by block, and whether its tags close in order."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.texts: list[str] = []
        self.feed(page.decode())
        self.close()
        self.text = re.sub(r"\s+", " ", " ".join(self.texts).replace("\u00a0", " "))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.texts.append(data)


@pytest.fixture
def make_page(path: Path):
    def make_page(job: str = "2026-0001") -> bytes:
        with closing(open_audit(path)) as db:
            return report_html(load_job(db, job), made_at=MADE_AT)

    return make_page


LATE = ", 1 of them after a pull that it holds: see Hold points and signatures"


@pytest.mark.parametrize(("signed_first", "late"), [(False, LATE), (True, "")], ids=["signed-late", "signed-in-time"])
def test_a_complete_job_is_answered_with_yes_and_what_was_signed_late(shop, make_page, signed_first, late) -> None:
    if signed_first:
        shop.append(Signed(shop.job, "lead", "ride-height"))
    shop.do_all()
    if not signed_first:
        shop.append(Signed(shop.job, "lead", "ride-height"))

    text = Page(make_page()).text

    answer = f"Is the torque record complete? Yes. Every fastener of the plan is proven, and every hold point is signed{late}."
    assert answer in text
    assert re.search(r"proven 6 .* doubtful 0 .* missed 0 .* failed 0 .* all 6 ", text)


def test_an_incomplete_job_is_answered_with_no_and_every_reason(spoiled, make_page) -> None:
    text = Page(make_page()).text

    assert "Is the torque record complete? No." in text
    assert "Yes." not in text
    for reason in (
        "1 fastener failed: Hub nuts, left, 2 (over-torque at reading 3: not opened, not done again)",
        "4 fasteners missed: Hub nuts, left, 1, 4; Guard bolts, 1-2",
        "hold point `ride-height` is not signed",
        "readings missing: W-140 numbers 7-8",
    ):
        assert reason in text
    assert re.search(r"proven 0 .* missed 4 .* failed 2 .* all 6 ", text)


def test_how_it_is_known_that_nothing_was_left_out_stands_beside_each_joint(shop, make_page) -> None:
    for joint, stage, torque, fasteners in (("hub-nuts", 1, "50", 4), ("hub-nuts", 2, "100", 4), ("guard", 1, "20", 2)):
        for position in range(1, fasteners + 1):
            shop.match(shop.read(torque), joint, stage, position, p="0.9931")
        shop.append(CountKept(shop.job, "0.9972", joint, stage))
    shop.say("stripes", "guard", count=2, of=2)

    text = Page(make_page()).text

    assert "order cross Stage 1: 4 of 4 by count and timing, p = 0.997 " in text
    assert "Confirmed: 2 of 2 counted " in text
    assert "100 N·m reading 5, p = 0.9931" in text
    assert "Hub nuts, left, position 1, stage 2 by order; p = 0.9931" in text


def test_a_joint_in_doubt_by_its_count_says_so_and_nothing_else(shop, make_page) -> None:
    for position in (1, 2):
        shop.match(shop.read("20"), "guard", 1, position, p="0.9931", position_by=None)
    shop.append(CountKept(shop.job, "0.9700", "guard", 1))

    text = Page(make_page()).text

    assert text.count("2 of 2 by count and timing, p = 0.97") == 3  # on page one, and beside each of the two
    assert "Guard bolts, position 1, stage 1 p = 0.9931" in text
    assert "by order only" not in text


def test_every_page_carries_the_cautions(shop, make_page) -> None:
    text = Page(make_page()).text

    for caution in (
        "support it, secure it against rolling",
        "The maker's instructions, local rules and licensed practice come before any plan",
        "does not say that the vehicle is safe to drive",
        "Clamp force is not measured and not proved",
        "The plan says: Trailer on stands, wheels chocked",
        "A retorque is due from 40 km to 80 km: Hub nuts, left",
        "Check policy: none is set in this version",
    ):
        assert caution in text


def test_everything_of_the_job_is_in_words(spoiled, make_page) -> None:
    text = Page(make_page()).text

    for said in (
        "37.1 lbf·ft = 50.30 N·m",
        "45 to under 90 N·m",
        "2026-03-02 08:14:11 +01:00",
        "▲ over",
        "● in band",
        "○ no reading",
        "above the tool's range",
        "not in the register",
        "SN-90417",
        "K-2210",
        "no joint is near 12.5 N·m",
        "put right by reading 3",
        "device unplugged",
        "Wrench W-140 : numbers 7 to 8 are missing",
        "inspected Hub nuts, left, 2 Mira Tannwald",
        "00ff016a756e6b hex, as they are no text",
        "12,5 N·m hex 31322c35204eb76d",
        "not signed",
    ):
        assert said in text


def test_the_fingerprint_is_printed_with_its_size(shop, make_page, path: Path) -> None:
    with closing(open_audit(path)) as db:
        tree = load_job(db, shop.job).tree

    assert f"fingerprint over {tree.size} entries {tree.head}" in Page(make_page()).text


def test_foreign_text_is_shown_and_has_no_power(make_shop, make_page) -> None:
    shop = make_shop(job="</title><script>7")
    shop.open(
        item="<img src=x onerror=alert(1)>",
        fitter="\"Mo\" </title><script>alert('x')</script> & Söhne",
        order="abc\u202edcb\x07",
    )

    shown = Page(make_page(shop.job))

    assert "Torque record, job </title><script>7" in shown.text
    assert {"script", "img", "link", "iframe"}.isdisjoint(shown.tags)
    assert "<img src=x onerror=alert(1)>" in shown.text
    assert "\"Mo\" </title><script>alert('x')</script> & Söhne" in shown.text
    assert "abc⟨U+202E⟩dcb⟨U+0007⟩" in shown.text


def test_text_from_right_to_left_keeps_its_letters_and_its_own_direction(make_shop, make_page) -> None:
    make_shop().open(item="عربة صندوق 17")

    assert "<bdi>عربة صندوق 17</bdi>" in make_page().decode()


def test_a_name_from_right_to_left_turns_no_position_round(make_shop, make_page) -> None:
    plan = """\
plan: hubs
title: Hubs
revision: "1"
source: Shop procedure 9
unit: N·m
tolerance: 10 %
joints:
  - {id: hub-nuts, name: "Hub nuts, left", fasteners: 4, torque: 100}
  - {id: guard, name: שלום, fasteners: 2, torque: 20}
"""
    shop = make_shop()
    shop.open(plan=plan)
    shop.match(shop.read("12.5"), "guard", 1, 2, verdict="under", kind="repeat")

    page = make_page().decode()

    assert '<td data-label="Matched to">\u2068שלום\u2069, position 2, stage 1<small>' in page
    assert "<li>6 fasteners missed: Hub nuts, left, 1-4; \u2068שלום\u2069, 1-2</li>" in page
    assert "U+2068" not in page


def test_a_person_who_answers_for_a_fastener_is_named_on_page_one(shop, make_page, path: Path) -> None:
    with closing(open_audit(path)) as db:
        record = load_job(db, shop.job)
    declared = [replace(fastener, proof=Proof.DECLARED, why="says Mira & Jonna") for fastener in record.fasteners]

    page = report_html(replace(record, fasteners=tuple(declared)), made_at=MADE_AT).decode()

    assert "<li>Hub nuts, left, 1-4; Guard bolts, 1-2: declared (says Mira &amp; Jonna)</li>" in page


def test_the_file_asks_for_nothing_from_outside(spoiled, make_page) -> None:
    page = make_page().decode()

    for call in ("http:", "https:", "//", "src=", "href=", "url(", "@import", "<script", "<link"):
        assert call not in page
    assert page.startswith('<!DOCTYPE html>\n<html lang="en">')


def test_tags_close_in_order(spoiled, make_page) -> None:
    assert Page(make_page()).open == []


def test_the_same_record_gives_the_same_bytes(spoiled, make_page) -> None:
    assert make_page() == make_page()


def test_a_simulated_job_says_so_on_top_in_each_table_and_at_the_end(make_shop, make_page) -> None:
    shop = make_shop(simulated=1)
    shop.open()
    shop.wrench()
    shop.do_all()

    page = make_page().decode()

    tables = page.count("<table")
    assert page.count('<tr class="mark">') == tables > 3
    assert "<title>SIMULATED: Torque record" in page
    assert '@top-center { content: "SIMULATED' in page
    assert "No fastener was torqued." in page
    assert "<footer>SIMULATED." in page


def test_a_real_job_never_says_simulated(spoiled, make_page) -> None:
    assert "SIMULATED" not in make_page().decode()


def test_a_joint_in_another_unit_has_its_band_in_newton_metres_beside(make_shop, make_page) -> None:
    plan = """\
plan: guard
title: Guard
revision: "1"
source: Shop procedure 9
unit: lbf·ft
joints:
  - {id: guard, name: Guard bolts, fasteners: 1, low: 90, high: 110}
"""
    make_shop().open(plan=plan)

    text = Page(make_page()).text

    # NIST Special Publication 811 (2008), B.8: 1 lbf·ft = 1.355 818 N·m
    assert "90 to 110 lbf·ft about 122.02 to 149.14 N·m" in text
    assert "The plan has no hold point, and nothing was signed." in text
