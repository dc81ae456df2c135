"""What a press records: an answer by the one who may give it, or a word about the pull that was seen; else nothing."""

import pytest

from schemas.bodies import HandedOver, PlanChanged, PlanKept, parse_body
from schemas.plan.load import load_plan
from schemas.route_body import route_to_body
from schemas.screen import AskWord, Press, PressWord
from schemas.words import Kind, Proof

YES, NO = Press(PressWord.YES), Press(PressWord.NO)
LEAD = Press(PressWord.YES, name="Runa Veld")
CLAMP_DONE = (50, 50, 100, 101)


@pytest.fixture
def bench(floor, recorder):
    return floor.bench(recorder)


@pytest.fixture
def press(bench, floor):
    """Presses, and gives the notice, the question that stands then, and the bodies that were recorded."""

    def press(pressed: Press):
        before = bench.recorder.query("SELECT max(seq) FROM ledger")[0][0]
        screen = floor.run(bench, pressed)
        made = [(entry.by, parse_body(entry.kind, entry.body)) for _, entry in bench.recorder.entries("seq > ?", before)]
        return screen.notice, screen.ask, made

    return press


@pytest.fixture
def clamp_done(bench, floor):
    return floor.run(bench, *(floor.pull(torque) for torque in CLAMP_DONE))


@pytest.fixture
def level_asked(clamp_done, press):
    press(YES)


def test_yes_to_the_stripes_confirms_the_joint(clamp_done, press, bench):
    assert clamp_done.ask.word is AskWord.STRIPES

    notice, ask, ((by, made),) = press(YES)

    assert notice == "2 of 2 stripes seen"
    assert (by, made.said, made.joint, made.count, made.of) == (bench.by, "stripes", "clamp", 2, 2)
    assert bench.job.joints["clamp"].proof(1) == (Proof.PROVEN, ())
    assert ask.word is AskWord.HOLD_POINT


def test_no_to_the_stripes_leaves_the_joint_in_doubt(clamp_done, press, bench):
    notice, _, ((_, made), (_, match)) = press(NO)

    assert notice.startswith("stripes missing: pull those fasteners")
    assert (made.said, made.joint, made.count, made.of) == ("stripes", "clamp", None, 2)
    assert (match.joint, match.kind) == ("clamp", "repeat")
    assert Proof.MISSED in {bench.job.joints["clamp"].proof(position)[0] for position in (1, 2)}
    assert bench.matcher.expect_next(bench.job).joint.id == "clamp"


@pytest.mark.parametrize("pressed", [YES, NO], ids=["yes", "no"])
def test_an_answer_to_nothing_records_nothing(press, pressed):
    assert press(pressed) == ("that is not asked any more; nothing was recorded", None, [])


def test_an_answer_to_a_question_that_has_gone_records_nothing(clamp_done, press):
    press(YES)

    notice, ask, made = press(Press(PressWord.YES, name="Runa Veld", ask=clamp_done.ask))

    assert notice == "that is not asked any more; nothing was recorded"
    assert made == []
    assert ask.word is AskWord.HOLD_POINT


def test_an_answer_to_the_question_that_stands_counts(clamp_done, press):
    assert press(Press(PressWord.YES, ask=clamp_done.ask))[0] == "2 of 2 stripes seen"


@pytest.mark.usefixtures("level_asked")
class TestAHoldPointOfTheLead:
    def test_the_lead_signs_by_name(self, press, bench):
        notice, ask, made = press(LEAD)

        assert notice == "signed: level"
        ((by, signed),) = made
        assert by == bench.recorder.person("Runa Veld") != bench.by
        assert (signed.role, signed.hold_point, signed.snug) == ("lead", "level", None)
        assert ask.word is AskWord.SNUG

    def test_someone_new_gets_an_id_in_the_same_transaction(self, press, bench):
        _, _, made = press(Press(PressWord.YES, name="Ole Brand"))

        (_, named), (by, signed) = made
        assert (by, signed.hold_point) == (named.person, "level")
        assert bench.recorder.query("SELECT value FROM private ORDER BY seq DESC LIMIT 1") == [("Ole Brand",)]

    @pytest.mark.parametrize("name", [None, ""])
    def test_without_a_name_nothing_is_signed(self, press, name):
        notice, ask, made = press(Press(PressWord.YES, name=name))

        assert (notice, made) == ("the lead signs this: a name is needed", [])
        assert ask.hold_point == "level"

    def test_the_fitter_does_not_sign_for_the_lead(self, press):
        notice, ask, made = press(Press(PressWord.YES, name="Mira Tannwald"))

        assert (notice, made) == ("the lead must be another person than the fitter", [])
        assert ask.hold_point == "level"

    def test_no_signs_nothing_and_is_asked_again(self, press):
        notice, ask, made = press(NO)

        assert (notice, made) == ("not signed; it is asked until it is", [])
        assert ask.hold_point == "level"


def test_the_snug_round_is_signed_by_the_fitter(level_asked, press, bench):
    press(LEAD)

    notice, ask, ((by, signed),) = press(YES)

    assert notice == "signed: Towing eye: all 2 snug?"
    assert (by, signed.role, signed.hold_point, signed.snug) == (bench.by, "fitter", None, "eye")
    assert ask is None


def test_another_joint_is_chosen_by_name(press, bench):
    notice, _, ((_, made),) = press(Press(PressWord.OTHER_JOINT, "guard"))

    assert notice == "now at Guard"
    assert (made.said, made.joint) == ("other joint", "guard")
    assert bench.matcher.expect_next(bench.job).joint.id == "guard"


def test_another_joint_without_a_name_is_the_next_and_after_the_last_the_first(press, bench):
    notices = [press(Press(PressWord.OTHER_JOINT))[0] for _ in range(4)]

    assert notices == ["now at Towing eye", "now at Guard", "now at Drawbar clamp", "now at Towing eye"]


def test_another_joint_where_everything_is_done_is_the_first(floor, bench, press):
    floor.run(bench, *(floor.pull(torque) for torque in (*CLAMP_DONE, 80, 80, 20, 20)))

    assert press(Press(PressWord.OTHER_JOINT))[0] == "now at Drawbar clamp"


def test_opened_is_the_fastener_of_the_last_pull(floor, bench, press):
    floor.run(bench, floor.pull(50), floor.pull(50), floor.pull(100))

    notice, _, ((_, made),) = press(Press(PressWord.OPENED))

    assert notice == "opened: Drawbar clamp, position 1; every stage again"
    assert (made.said, made.joint, made.position, bench.job.pulls[made.reading].n) == ("opened", "clamp", 1, 3)
    target = bench.matcher.expect_next(bench.job)
    assert (target.joint.id, target.stage.number, target.position) == ("clamp", 1, 1)


def test_a_press_speaks_of_the_pull_that_was_seen(floor, bench, press):
    floor.run(bench, floor.pull(50), floor.pull(50), floor.pull(100))

    _, _, ((_, made),) = press(Press(PressWord.OPENED, n=2))

    assert (made.position, bench.job.pulls[made.reading].n) == (2, 2)


@pytest.mark.parametrize(
    "word", [PressWord.OPENED, PressWord.SAME_AGAIN, PressWord.NOT_THIS_JOB], ids=["opened", "same-again", "not-this-job"]
)
@pytest.mark.parametrize("n", [None, 7], ids=["before-any-pull", "a-pull-that-is-not-there"])
def test_a_word_about_no_pull_records_nothing(floor, bench, press, word, n):
    if n:
        floor.run(bench, floor.pull(50))

    notice, _, made = press(Press(word, n=n))

    assert notice.startswith("the last pull was on no fastener of this job")
    assert made == []


def test_same_again_makes_the_pull_a_repeat_on_the_fastener_before(floor, bench, press):
    floor.run(bench, floor.pull(50), floor.pull(51))

    notice, _, made = press(Press(PressWord.SAME_AGAIN))

    assert notice == "the last pull was on the same fastener again"
    (_, said), (by, match) = made
    assert (said.said, bench.job.pulls[said.reading].n) == ("same again", 2)
    assert (match.kind, match.joint, match.stage, match.position, match.verdict) == (Kind.REPEAT, "clamp", 1, 1, "in band")
    assert by == "program"
    pull = bench.job.pulls[said.reading]
    assert (pull.match, pull.revisions) == (match, 1)
    assert bench.matcher.expect_next(bench.job).position == 2
    assert bench.recorder.query("SELECT n, kind, position, revisions FROM reading ORDER BY n") == [
        (1, "tightening", 1, 0),
        (2, "repeat", 1, 1),
    ]


def test_same_again_of_the_first_pull_records_nothing(floor, bench, press):
    floor.run(bench, floor.pull(50))

    notice, _, made = press(Press(PressWord.SAME_AGAIN))

    assert (notice.startswith("nothing to change"), made) == (True, [])


def test_not_this_job_makes_the_pull_a_stray(floor, bench, press):
    floor.run(bench, floor.pull(50), floor.pull(51))

    notice, _, ((_, said), (_, match)) = press(Press(PressWord.NOT_THIS_JOB))

    assert notice == "the last pull does not belong to this job"
    assert (said.said, match.kind, match.joint, match.verdict) == ("not this job", Kind.STRAY, None, None)
    assert bench.recorder.query("SELECT strays FROM job") == [(1,)]
    assert bench.matcher.expect_next(bench.job).position == 2


def test_a_stray_has_nothing_to_be_said_about(floor, bench, press):
    floor.run(bench, floor.pull(50), floor.pull(51))
    press(Press(PressWord.NOT_THIS_JOB))

    assert press(Press(PressWord.NOT_THIS_JOB))[::2] == ("the last pull was on no fastener of this job", [])


def test_quit_records_nothing(press):
    assert press(Press(PressWord.QUIT)) == ("left the bench; the job stays open", None, [])


def test_what_is_said_at_a_simulated_bench_says_so(floor, recorder):
    bench = floor.bench(recorder, simulated=True)
    floor.run(bench, *(floor.pull(torque) for torque in CLAMP_DONE), YES, LEAD)

    entries = recorder.entries("json_extract(entry, '$.kind') IN ('decision', 'signature')")
    assert [entry.body["simulated"] for _, entry in entries] == [1, 1]


# What the whole plan language asks: answered with one press, with a value where one has to be typed.


WHOLE = """\
plan: drawbar
title: Box trailer, drawbar
revision: "1"
source: Shop procedure 7, section 2
unit: N·m
tolerance: 10 %
small_drag: add
joints:
  - {id: clamp, name: Drawbar clamp, fasteners: 1, torque: 100, prep: oil, nut: prevailing, drag: measured}
  - {id: eye, name: Towing eye, fasteners: 2, torque: 80, critical: yes, stages: [100, 100]}
  - {id: head, name: Head bolts, fasteners: 1, torque: 60, then_angle: 90, angle_tolerance: 10}
  - {id: guard, name: Guard, fasteners: 2, torque: not stated}
steps:
  - torque: clamp
  - hold point: toe
    ask: Toe?
    sign: fitter
    measure: {unit: mm, low: -2, high: 2}
  - torque: guard
  - torque: eye
  - torque: head
    covers: [eye]
  - open: clamp
  - torque: clamp
  - recheck: eye
"""


def value(text, name=None):
    return Press(PressWord.YES, name=name, value=text)


@pytest.fixture
def whole(floor, recorder):
    floor.text = WHOLE
    return floor.bench(recorder)


@pytest.fixture
def say(whole, floor):
    """Presses; gives the notice, the word of the question that stands then, and the bodies that were recorded."""

    def say(*pressed):
        before = whole.recorder.query("SELECT max(seq) FROM ledger")[0][0]
        screen = floor.run(whole, *pressed)
        made = [parse_body(entry.kind, entry.body) for _, entry in whole.recorder.entries("seq > ?", before)]
        return screen.notice, screen.ask and screen.ask.word, made

    return say


def test_a_preparation_is_declared_with_the_lot_of_what_was_used(say):
    notice, ask, (made,) = say(value("B-1207"))

    assert (notice, ask) == ("recorded: prepared, lot B-1207", AskWord.DRAG)
    assert (made.said, made.joint, made.lot, made.value) == ("prepared", "clamp", "B-1207", None)


def test_a_preparation_needs_no_lot(say):
    notice, _, (made,) = say(YES)

    assert (notice, made.lot) == ("recorded: prepared", None)


def test_what_was_not_prepared_is_asked_for_again(say):
    assert say(NO) == ("nothing recorded; it is asked again", AskWord.PREPARED, [])


def test_the_drag_of_a_nut_moves_what_has_to_be_reached(say, whole):
    say(YES)

    notice, ask, (made,) = say(value("8.5"))

    assert (notice, ask) == ("recorded: drag", None)
    assert (made.said, made.joint, made.value, made.unit, made.position) == ("drag", "clamp", "8.5", "N·m", None)
    assert str(whole.matcher.expect_next(whole.job).band.low) == "98.5"


@pytest.mark.parametrize("typed", [None, "", "much", "8,5", "1e3", "NaN", "Infinity", "٨", "1" * 20, " 8"])
def test_what_is_no_number_is_not_recorded(say, typed):
    say(YES)

    assert say(value(typed)) == ("a number in N·m is needed; nothing was recorded", AskWord.DRAG, [])


@pytest.mark.parametrize("typed", ["-0.1", "100.1"], ids=["below-nought", "above-the-joint-s-torque"])
def test_what_can_be_no_drag_is_not_recorded(say, typed):
    say(YES)

    notice, ask, made = say(value(typed))

    assert (ask, made) == (AskWord.DRAG, [])
    assert notice == "the drag lies between nought and the joint's own torque; nothing was recorded"


@pytest.fixture
def clamped(say, floor):
    say(YES, value("8"), floor.pull(108), YES)


@pytest.mark.usefixtures("clamped")
class TestAHoldPointWithAMeasure:
    @pytest.mark.parametrize("typed", ["-2", "2", "0.5"], ids=["on-the-low-edge", "on-the-high-edge", "inside"])
    def test_it_is_signed_with_its_value_inside_the_limits(self, say, typed):
        notice, ask, (signed,) = say(value(typed))

        assert (notice, ask) == ("signed: toe", AskWord.DECLARED)
        assert (signed.hold_point, signed.value, signed.unit) == ("toe", typed, "mm")

    @pytest.mark.parametrize("typed", ["-2.1", "2.1"], ids=["below", "above"])
    def test_outside_its_limits_it_is_recorded_and_stays_open(self, say, typed):
        notice, ask, (signed,) = say(value(typed))

        assert notice == f"{typed} mm lies outside the limits; recorded, and `toe` stays open"
        assert (ask, signed.value) == (AskWord.HOLD_POINT, typed)
        assert say(value("0"))[0] == "signed: toe"

    def test_without_a_value_nothing_is_signed(self, say):
        assert say(YES) == ("a number in mm is needed; nothing was recorded", AskWord.HOLD_POINT, [])


@pytest.fixture
def declared(clamped, say):
    say(value("0"))
    return say(YES)


def test_what_has_no_stated_torque_is_declared(declared, whole):
    notice, ask, (made,) = declared

    assert (notice, ask) == ("recorded: declared", None)
    assert (made.said, made.joint, made.position, made.step) == ("declared", "guard", None, None)
    assert whole.job.joints["guard"].proof(1) == (Proof.DECLARED, ("declared",))


@pytest.fixture
def eyed(declared, floor, say):
    say(*(floor.pull(80) for _ in range(4)), YES)


@pytest.mark.usefixtures("eyed")
class TestASecondPerson:
    def test_another_person_signs_by_name(self, say, whole):
        notice, ask, (signed,) = say(LEAD)

        assert (notice, ask) == ("signed: Towing eye: looked at by a second person?", None)
        assert (signed.role, signed.second, signed.hold_point) == ("second person", "eye", None)
        assert whole.job.joints["eye"].proof(1)[0] is Proof.DOUBTFUL, "it is to be checked again by a later step"

    @pytest.mark.parametrize("name", ["Mira Tannwald", "mira  tannwald"])
    def test_the_fitter_is_none(self, say, name):
        notice, ask, made = say(Press(PressWord.YES, name=name))

        assert (notice, ask, made) == ("the second person must be another person than the fitter", AskWord.SECOND, [])

    def test_who_pulled_before_a_hand_over_is_none(self, say, whole):
        recorder, leaver = whole.recorder, whole.by
        with recorder.transaction():
            taker = recorder.person("Ole Brand")
            for signs in ("leaver", "taker"):
                recorder.append(HandedOver("1", signs, leaver, taker, ()), taker)
        whole.by = taker

        for name in ("Mira Tannwald", "Ole Brand"):
            assert say(Press(PressWord.YES, name=name))[0] == "the second person must be another person than the fitter"
        assert say(LEAD)[0].startswith("signed")


@pytest.fixture
def seconded(eyed, say):
    say(LEAD)


def test_what_is_turned_by_hand_is_declared_for_its_step(seconded, say, floor):
    notice, ask, made = say(floor.pull(60), YES)

    assert (notice, ask) == ("recorded: declared", AskWord.STRIPES)
    assert (made[-1].said, made[-1].joint, made[-1].step, made[-1].tool) == ("declared", "head", 5, "turned by its angle")


def test_a_planned_opening_is_recorded_for_its_step_and_ends_in_the_joint_torqued_again(seconded, say, floor, whole):
    _, ask, _ = say(floor.pull(60), YES, YES)
    assert ask is AskWord.OPENED

    notice, ask, (made,) = say(YES)

    assert (notice, ask) == ("recorded: opened", AskWord.PREPARED)
    assert (made.said, made.joint, made.position, made.step) == ("opened", "clamp", None, 6)
    target = whole.matcher.expect_next(whole.job)
    assert (target.joint.id, target.step) == ("clamp", 7)


def test_going_on_over_what_gets_out_of_reach_is_recorded_and_going_back_takes_its_joint(declared, say, floor, whole):
    _, ask, _ = say(Press(PressWord.OTHER_JOINT, "head"))
    assert ask is AskWord.COVERED

    assert say(NO)[0] == "now at Towing eye"
    assert whole.matcher.expect_next(whole.job).joint.id == "eye"
    say(Press(PressWord.OTHER_JOINT, "head"))
    notice, ask, (made,) = say(YES)

    assert (notice, ask, made.said, made.joint) == ("recorded: covered", None, "covered", "eye")
    assert whole.matcher.expect_next(whole.job).joint.id == "head"


def test_the_next_joint_goes_on_from_one_without_a_stated_torque(say, whole):
    notices = [say(Press(PressWord.OTHER_JOINT))[0] for _ in range(4)]

    assert notices == ["now at Guard", "now at Towing eye", "now at Head bolts", "now at Drawbar clamp"]


# A fastener that moves though it is tight.


def test_a_move_in_a_closing_round_begins_it_again(declared, say, floor, whole):
    say(*(floor.pull(80) for _ in range(3)))

    notice, _, (made,) = say(Press(PressWord.MOVED))

    assert notice == "moved: Towing eye, position 1; the round is gone again from its beginning"
    assert (made.said, made.joint, made.position, whole.job.pulls[made.reading].n) == ("moved", "eye", 1, 4)
    say(floor.pull(80))
    target = whole.matcher.expect_next(whole.job)
    assert (target.joint.id, target.stage.number, target.position) == ("eye", 2, 1)


def test_a_move_in_a_round_to_tighten_is_no_news(declared, say, floor):
    say(floor.pull(80))

    notice, _, made = say(Press(PressWord.MOVED))

    assert (notice, made) == ("that was no round over fasteners that are tight already; nothing was noted", [])


def test_a_move_without_a_pull_is_none(say):
    assert say(Press(PressWord.MOVED))[::2] == ("the last pull was on no fastener of this job", [])


@pytest.fixture
def checked(seconded, say, floor):
    say(floor.pull(60), YES, YES, YES, YES, value("8"), floor.pull(108), YES)


def test_a_move_in_a_check_is_what_the_check_shows(checked, say, floor, whole):
    say(floor.pull(80))
    assert whole.job.last_pull.verdict == "held"

    notice, _, (said, match) = say(Press(PressWord.MOVED))

    assert notice == "moved: Towing eye, position 1"
    assert (said.said, match.verdict, match.kind, match.revises is not None) == ("moved", "moved", "tightening", True)
    assert whole.job.joints["eye"].proof(1)[0] is Proof.DOUBTFUL
    assert whole.job.joints["eye"].proof(1)[1][0] == "moved when it was checked again"


def test_a_move_is_not_said_twice_of_one_pull(checked, say, floor):
    say(floor.pull(80), Press(PressWord.MOVED))

    assert [type(body).__name__ for body in say(Press(PressWord.MOVED))[2]] == ["Decided"]


# What a later revision of the plan took out.


@pytest.mark.parametrize("word", [PressWord.OPENED, PressWord.SAME_AGAIN, PressWord.NOT_THIS_JOB, PressWord.MOVED])
def test_nothing_is_said_of_a_pull_whose_joint_the_plan_has_no_more(floor, bench, press, word):
    floor.run(bench, floor.pull(50), floor.pull(51))
    text = floor.text.replace('revision: "1"', 'revision: "2"').replace("clamp", "clasp")
    route = load_plan(text.encode(), "drawbar.yaml")
    with bench.recorder.transaction():
        plan = PlanKept("drawbar", "drawbar.yaml", "1" * 64, route.content_sha256, text, route_to_body(route))
        bench.recorder.append(PlanChanged("1", bench.recorder.append(plan), "renamed"), bench.by)

    notice, _, made = press(Press(word))

    assert notice.startswith("the last pull was on no fastener of this job")
    assert made == []


@pytest.mark.parametrize("pressed", [YES, NO], ids=["yes", "no"])
def test_where_no_paint_goes_on_nobody_is_told_of_stripes(floor, recorder, pressed):
    floor.text = floor.text.replace("torque: 100,", "torque: 100, mark: none,")
    notice = floor.run(floor.bench(recorder), *(floor.pull(torque) for torque in CLAMP_DONE), pressed).notice

    assert notice == ("2 of 2 torqued" if pressed is YES else "some missing: pull those fasteners, it is asked again")
