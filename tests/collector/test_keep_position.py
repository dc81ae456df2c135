"""A person at the bench says which fastener a pull was on: recorded by name, moved by no program, and told where it cannot be."""

import sqlite3
from contextlib import closing
from datetime import datetime, timedelta

import pytest

from analysis.verify import verify_file
from collector.closing import place_all
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from schemas.bodies import parse_body
from schemas.database import PROJECTIONS
from schemas.screen import AskWord, Press, PressWord
from schemas.words import Proof

PLAN = """\
plan: hub
title: Box trailer, left hub
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 5, torque: 100, order: cross}
  - {id: cap, name: Cap bolts, fasteners: 2, torque: 40}
  - {id: pin, name: Pin, fasteners: 1, torque: 70}
"""
YES, NO = Press(PressWord.YES), Press(PressWord.NO)


def number(position, n=None, ask=None):
    return Press(PressWord.FASTENER, value=str(position), n=n, ask=ask)


@pytest.fixture(name="floor")
def _floor(floor):
    floor.text, floor.pause_s = PLAN, 7.0
    floor.matcher = lambda: Probable(habits_of(None))
    return floor


@pytest.fixture
def bench(floor, recorder):
    return floor.bench(recorder)


@pytest.fixture
def take(floor, bench):
    """Takes torques as pulls and presses as they are; gives the last picture."""

    def take(*events):
        return floor.run(bench, *(pull(floor, event) if isinstance(event, int | float) else event for event in events))

    return take


def pull(floor, torque):
    """A pull whose wrench sends no time, so that our clock says how long it took."""
    floor.clock.instant += timedelta(seconds=floor.pause_s)
    floor.sent += 1
    return floor.frame(f"@W-7;{floor.sent:04d};{torque};Nm;;ok".encode())


def at_once(floor, bench, torque=100):
    """A pull one second after the last one."""
    floor.clock.instant = datetime.fromisoformat(bench.job.last_pull.at) - timedelta(seconds=floor.pause_s)
    return pull(floor, torque)


def hub(bench):
    """Kind, position and how that is known of the pulls of the hub."""
    return [(pull.match.kind, pull.match.position, pull.match.position_by) for pull in bench.job.joints["hub"].pulls()]


def at(bench):
    return [(position, by) for _, position, by in hub(bench)]


def made(bench, kind):
    return [(entry.by, parse_body(kind, entry.body)) for _, entry in bench.recorder.entries("seq > 0") if entry.kind == kind]


def size(bench):
    return bench.recorder.query("SELECT max(seq) FROM ledger")[0][0]


def test_the_number_of_a_fastener_is_an_entry_of_who_said_it_and_moves_the_pull_there(take, bench):
    shown = take(100, 101, number(4))

    (by, decided), *rest = made(bench, "decision")
    assert (by, rest) == (bench.by, [])
    assert (decided.said, decided.joint, decided.position) == ("position confirmed", "hub", 4)
    assert decided.reading == bench.job.last_pull.seq
    assert shown.notice == "reading 2 was on Hub nuts, fastener 4 of 5"
    assert (shown.last.n, shown.last.position) == (2, 4)
    assert at(bench) == [(1, "order"), (4, "confirmed")]


def test_the_others_are_counted_over_what_is_left_and_that_is_told(take, bench):
    shown = take(100, 101, 99, number(3))

    assert shown.notice == "reading 3 was on Hub nuts, fastener 3 of 5; counted anew: reading 2"
    assert at(bench) == [(1, "order"), (5, "order"), (3, "confirmed")]
    assert shown.target.position == 2
    take(100, 100)
    assert [position for position, _ in at(bench)] == [1, 5, 3, 2, 4]


def test_the_press_speaks_of_the_pull_that_was_seen(take, bench):
    take(100, 101, 99, number(2, n=2))

    assert at(bench) == [(1, "order"), (2, "confirmed"), (3, "order")]


def test_later_pulls_never_move_it(take, bench):
    take(100, number(5), 101, 60, 99, number(2))
    take(100, 100, 40, 40.2, 100, 100, 100)

    confirmed = [(position, by) for position, by in at(bench) if by == "confirmed"]
    assert confirmed == [(5, "confirmed"), (2, "confirmed")]
    assert sorted({position for position, _ in at(bench)}) == [1, 2, 3, 4, 5]


def test_said_twice_it_is_one_entry(take, bench):
    take(100, number(1))
    before = size(bench)

    assert take(number(1)).notice == "fastener 1 is on record for reading 1 already"
    assert size(bench) == before


@pytest.mark.parametrize(
    ("events", "told"),
    [
        pytest.param((100, number(6)), "Hub nuts has fasteners 1 to 5, and no 6", id="no-such-number"),
        pytest.param((100, number(0)), "Hub nuts has fasteners 1 to 5, and no 0", id="nought"),
        pytest.param((number(1),), "belongs to no joint", id="no-pull"),
        pytest.param((100, 100, 12, number(1)), "belongs to no joint", id="a-stray"),
        pytest.param((100, number("")), "the number of a fastener is needed", id="no-number"),
        pytest.param((100, number("1.0")), "the number of a fastener is needed", id="a-value"),
        pytest.param((100, number("12345")), "the number of a fastener is needed", id="too-long"),
        pytest.param((100, number("²")), "the number of a fastener is needed", id="no-digit"),
        pytest.param((100, -60, number(3)), "reading 2 opened fastener 1, and stays on it", id="another-than-it-opened"),
        pytest.param((100, number(1), 100, number(1), number(1)), "on record for reading 2 already", id="twice-on-one-again"),
    ],
)
def test_what_cannot_be_is_one_line_and_no_entry(take, bench, events, told):
    take(*events[:-1])
    before = size(bench)

    notice = take(events[-1]).notice

    assert told in notice
    assert "\n" not in notice
    assert size(bench) == before


def test_pulled_twice_on_one_is_said_by_its_number(take, bench):
    shown = take(100, number(1), 100, number(2), 100, number(1))

    assert hub(bench)[-1] == ("repeat", 1, "confirmed")
    assert bench.job.joints["hub"].summary.done == 2
    told = "reading 3 was on Hub nuts, fastener 1 of 5: a second pull on fastener 1; was it opened between: job opened"
    assert shown.notice == told
    (*_, (by, said)) = made(bench, "decision")
    assert (by, said.said, said.joint, said.position, said.reading) == (
        bench.by, "position confirmed", "hub", 1, bench.job.last_pull.seq,
    )  # fmt: skip
    place_all(bench.recorder, bench.job)
    assert hub(bench)[-1] == ("repeat", 1, "confirmed")


def test_four_done_and_one_of_them_twice_proves_no_joint(take, bench):
    take(100, 100, 100, number(5), 100, number(5), 100)
    assert bench.job.joints["hub"].summary.counts[Proof.MISSED] == 1

    place_all(bench.recorder, bench.job)

    state = bench.job.joints["hub"]
    assert state.proof(4)[0] is Proof.MISSED
    assert state.summary.counts[Proof.PROVEN] == 0
    assert (bench.job.last_pull.match.kind, state.summary.done) == ("tightening", 4)


def test_pulled_again_an_over_pull_stays_over_and_the_pull_fills_no_other_fastener(take, bench):
    take(100, 130, 100, number(3), 100, number(3))

    state = bench.job.joints["hub"]
    assert hub(bench)[1:] == [("tightening", 3, "order"), ("repeat", 3, "confirmed"), ("repeat", 3, "confirmed")]
    assert [state.proof(position)[0] for position in (3, 5, 2, 4)] == [Proof.FAILED, Proof.MISSED, Proof.MISSED, Proof.MISSED]
    place_all(bench.recorder, bench.job)
    assert bench.job.joints["hub"].proof(3)[0] is Proof.FAILED


def test_it_comes_to_the_same_as_same_again_and_the_number(take, bench, floor, tmp_path):
    take(100, 100, 100, number(5), 100, number(5), 100)
    place_all(bench.recorder, bench.job)
    one_word = [(kind, position) for kind, position, _ in hub(bench)]
    assert [pull.match.p for pull in bench.job.pulls.values() if pull.match.kind == "repeat"] == [None]
    counted = {stage: p for stage, (_, p) in bench.job.joints["hub"].counted.items()}

    floor.path = tmp_path / "other.db"
    with floor.recorder() as recorder:
        other = floor.bench(recorder)
        for event in (100, 100, 100, number(5), 100, Press(PressWord.SAME_AGAIN), number(5), 100):
            floor.run(other, pull(floor, event) if isinstance(event, int) else event)
        place_all(recorder, other.job)

    assert [(kind, position) for kind, position, _ in hub(other)] == one_word
    assert {stage: p for stage, (_, p) in other.job.joints["hub"].counted.items()} == counted


def test_a_second_pull_that_was_none_is_evidence_again(take, bench):
    take(100, 100, 100, number(5), 100, number(5), number(2), 100)

    assert hub(bench)[3] == ("tightening", 2, "confirmed")
    assert bench.job.joints["hub"].summary.done == 5
    assert float(bench.job.joints["hub"].counted[1][1]) > 0.9


def test_who_named_the_fastener_made_the_match_and_the_program_what_follows(take, bench):
    take(100, 101, 99, number(3))

    authors = {match.reason: by for by, match in made(bench, "match") if match.revises}
    assert authors["a person said which fastener it was on"] == bench.by
    assert [by for reason, by in authors.items() if reason.startswith("counted in order")] == ["program"]


def test_after_not_all_stripes_the_answer_that_is_proposed_is_taken(floor, recorder):
    floor.text = PLAN.split("  - {id: cap")[0]
    bench = floor.bench(recorder)
    bench.confirm_each = True
    for _ in range(5):
        floor.run(bench, pull(floor, 100), YES)
    ask = floor.run(bench, NO, pull(floor, 70)).ask
    assert ask.text == "Hub nuts: was reading 6 on fastener 4 of 5?"

    assert floor.run(bench, Press(PressWord.YES, ask=ask)).ask is None
    assert hub(bench)[-1] == ("tightening", 4, "confirmed")
    assert bench.job.joints["hub"].summary.counts[Proof.PROVEN] == 0


def test_who_said_same_again_cannot_say_that_it_was_the_first_pull_on_another(take, bench):
    take(100, 100, Press(PressWord.SAME_AGAIN))
    before = size(bench)

    assert "was said to be a second pull on a fastener, and 2 was not done before" in take(number(2)).notice
    assert size(bench) == before


def test_a_check_of_what_was_done_can_be_said_to_be_of_another_one(take, bench):
    take(100, 100, 100, 100, 100, 100)
    assert hub(bench)[-1] == ("recheck", 1, "order")

    take(number(4))

    assert hub(bench)[-1] == ("recheck", 4, "confirmed")
    assert [position for _, position, _ in hub(bench)][:5] == [1, 3, 5, 2, 4]


def test_a_pull_below_the_band_is_put_right_by_the_one_that_was_on_its_fastener(take, bench):
    take(100, 60)
    take(100)
    take(number(3))

    assert hub(bench) == [("tightening", 1, "order"), ("short pull", 3, "order"), ("tightening", 3, "confirmed")]


def test_a_pull_below_the_band_that_another_fastener_came_after_has_to_be_made_good(take, bench, floor):
    take(100, 60)
    take(at_once(floor, bench))
    assert hub(bench)[1][0] == "short pull"

    shown = take(number(2))

    assert hub(bench) == [("tightening", 1, "order"), ("tightening", 3, "order"), ("tightening", 2, "confirmed")]
    assert bench.job.joints["hub"].proof(3)[0] is Proof.FAILED
    assert shown.target.position == 3
    take(100)
    assert hub(bench)[1] == ("short pull", 3, "order")
    assert hub(bench)[3][:2] == ("tightening", 3)


def test_on_its_way_no_pull_puts_another_one_right(take, bench):
    take(100, 60, number(3), 100, number(1))

    assert hub(bench) == [("tightening", 5, "order"), ("tightening", 3, "confirmed"), ("tightening", 1, "confirmed")]
    assert bench.job.joints["hub"].proof(3)[0] is Proof.FAILED


def test_an_over_pull_fails_the_fastener_that_it_was_on_and_no_other(take, bench):
    take(100, 130, number(4))

    state = bench.job.joints["hub"]
    assert [state.proof(position)[0] for position in (3, 4)] == [Proof.MISSED, Proof.FAILED]
    assert take(100, number(3)).notice.startswith("reading 3 was on Hub nuts, fastener 3")


@pytest.mark.parametrize("then", [(), (100, 100)], ids=["at-once", "later"])
def test_no_word_about_another_pull_moves_an_over_pull_from_where_it_was_shown(take, bench, then):
    take(100, 130, 100, number(1), *then)

    assert hub(bench)[:3] == [("tightening", 5, "order"), ("tightening", 3, "order"), ("tightening", 1, "confirmed")]
    assert not bench.job.taken_back
    place_all(bench.recorder, bench.job)
    assert at(bench)[:3] == [(5, "order"), (3, "order"), (1, "confirmed")]


def test_no_word_about_another_pull_moves_one_that_was_spoken_of(take, bench):
    take(100, 100)
    second = list(bench.job.pulls.values())[1]
    with bench.recorder.transaction():
        said = {"job": "1", "said": "inspected", "joint": "hub", "position": 3, "reading": second.seq}
        bench.recorder.append(parse_body("decision", said), bench.by)
    take(100, number(1), 100, 100)

    assert [position for position, _ in at(bench)] == [5, 3, 1, 2, 4]
    place_all(bench.recorder, bench.job)
    assert [position for position, _ in at(bench)] == [5, 3, 1, 2, 4]


DRAG = """\
plan: hub
title: Box trailer, left hub
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100, nut: prevailing, drag: measured}
"""


def test_a_number_makes_no_over_pull_good(floor, recorder):
    floor.text = DRAG
    bench = floor.bench(recorder)
    drag = {"job": "1", "said": "drag", "joint": "hub", "position": 2, "value": "20", "unit": "N·m"}
    with recorder.transaction():
        recorder.append(parse_body("decision", drag), bench.by)
    floor.run(bench, pull(floor, 125))
    before = size(bench)

    assert "until the lead decides" in floor.run(bench, number(2)).notice
    assert size(bench) == before


def test_a_person_who_says_that_it_was_no_pull_of_this_job_takes_the_word_back(take, bench):
    take(100, 100, number(4), Press(PressWord.NOT_THIS_JOB))

    assert at(bench) == [(1, "order")]
    assert bench.job.last_pull.match.kind == "stray"


@pytest.mark.parametrize("confirmed", [(5,), (1, 3, 5, 2, 4)], ids=["one", "all"])
def test_not_all_stripes_seen_takes_no_confirmed_pull_away(take, bench, confirmed):
    for position in (1, 3, 5, 2, 4):
        take(100, *([number(position)] if position in confirmed else []))
    before = [one for one in hub(bench) if one[2] == "confirmed"]

    take(NO)

    assert [one for one in hub(bench) if one[2] == "confirmed"] == before
    assert bench.job.joints["hub"].summary.counts[Proof.PROVEN] == 0
    assert any(kind == "repeat" for kind, *_ in hub(bench)) is (len(confirmed) == 1)


# Asked at each pull.


@pytest.fixture
def each(bench):
    bench.confirm_each = True


def test_nobody_is_asked_where_the_shop_does_not_want_it(take, bench):
    assert take(100).ask is None


@pytest.mark.usefixtures("each")
class TestAskedAtEachPull:
    def test_one_press_confirms_the_one_that_was_counted(self, take, bench):
        ask = take(100).ask
        assert (ask.word, ask.text) == (AskWord.FASTENER, "Hub nuts: was reading 1 on fastener 1 of 5?")

        shown = take(Press(PressWord.YES, ask=ask))

        assert shown.ask is None
        assert at(bench) == [(1, "confirmed")]
        assert take(100).ask.text == "Hub nuts: was reading 2 on fastener 3 of 5?"

    def test_another_number_is_recorded_instead(self, take, bench):
        ask = take(100).ask

        assert take(number(4, ask=ask)).ask is None
        assert at(bench) == [(4, "confirmed")]

    def test_an_answer_never_meets_the_question_of_the_next_pull(self, take, bench):
        ask = take(100).ask

        assert take(100, number(4, ask=ask)).notice == "that is not asked any more; nothing was recorded"
        assert take(Press(PressWord.YES, ask=ask)).notice == "that is not asked any more; nothing was recorded"
        assert at(bench) == [(1, "order"), (3, "order")]

    def test_a_number_that_cannot_be_leaves_the_question(self, take):
        ask = take(100).ask

        assert take(number(9, ask=ask)).ask == ask

    def test_who_does_not_know_is_not_asked_again_and_nothing_is_recorded(self, take, bench):
        take(100)
        before = size(bench)

        shown = take(NO)

        assert (shown.notice, shown.ask) == ("not known; reading 1 stays counted in the order of its stage", None)
        assert size(bench) == before
        assert take(100).ask.word is AskWord.FASTENER

    def test_it_is_asked_before_the_stripes_and_not_once_they_were_seen(self, take):
        for _ in range(5):
            shown = take(100)
            assert shown.ask.word is AskWord.FASTENER
            shown = take(YES)
        assert shown.ask.word is AskWord.STRIPES
        assert take(YES).ask is None

    def test_a_second_click_a_stray_and_the_only_fastener_of_a_joint_are_not_asked_about(self, take):
        take(100, YES)
        assert take(100, Press(PressWord.SAME_AGAIN)).ask is None
        assert take(12).ask is None
        assert take(Press(PressWord.OTHER_JOINT, joint="pin"), 70).ask.word is AskWord.STRIPES


# What it survives.


DAY = (100, number(5), 101, 99, number(4), 100, 100.5)
KEPT = [(5, "confirmed"), (1, "order"), (4, "confirmed"), (3, "order"), (2, "order")]


def tables(path):
    with closing(sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)) as db:
        return {table.name: [tuple(row) for row in db.execute(table.select_sql())] for table in PROJECTIONS}


def test_in_the_tables_it_stands_with_the_reading_and_they_come_out_the_same_when_made_anew(take, bench, floor):
    take(*DAY)
    with closing(sqlite3.connect(floor.path)) as db:
        assert db.execute("SELECT position, position_by FROM reading ORDER BY n").fetchall() == KEPT
    before = tables(floor.path)
    bench.recorder.rebuild()

    assert tables(floor.path) == before
    assert verify_file(floor.path).findings == []


def test_the_closing_pass_leaves_it_where_it_is_and_counts_the_others_around_it(take, bench, recorder):
    take(*DAY)

    place_all(recorder, bench.job)
    assert at(bench) == KEPT
    place_all(recorder, bench.job)
    assert at(bench) == KEPT


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        pytest.param([], ("repeat", 3, "order"), id="not-said"),
        pytest.param([number(5)], ("tightening", 5, "confirmed"), id="said"),
    ],
)
def test_neither_later_pulls_nor_the_closing_pass_take_back_what_a_person_named(take, bench, floor, recorder, said, expected):
    take(100, 100)
    take(at_once(floor, bench), *said)
    take(100, 100, *([] if said else [100]), 40, 40)
    live = hub(bench)[2]

    place_all(recorder, bench.job)

    assert (live, hub(bench)[2]) == (expected, expected)


def test_another_run_goes_on_with_it(take, bench, floor, recorder):
    take(*DAY[:4])
    again = floor.bench(recorder, bench.job)

    floor.run(again, pull(floor, 100), number(4), pull(floor, 100))

    assert at(again) == [(5, "confirmed"), (1, "order"), (3, "order"), (4, "confirmed"), (2, "order")]
    assert again.matcher.differing(again.job) == []
