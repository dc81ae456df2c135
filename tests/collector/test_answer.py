"""What a press records: an answer by the one who may give it, or a word about the pull that was seen; else nothing."""

import pytest

from schemas.bodies import parse_body
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
