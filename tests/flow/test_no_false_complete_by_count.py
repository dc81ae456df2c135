"""Ways in which probabilities could have made a record complete though a fastener was missed, opened, or seen not done."""

from datetime import timedelta

import pytest

from analysis.verify import verify_file
from collector.closing import place_all
from collector.expect.bounds import is_held
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.record.jobs import keep_plan
from schemas.bodies import CountKept, Decided, MatchKept, PlanChanged

PLATE = "id: plate, name: Plate, fasteners: 2, torque: 30"
HUB = "id: hub, name: Hub nuts, fasteners: 3, torque: 100"
CAP = "id: cap, name: Cap screws, fasteners: 2, torque: 60"


def plan(*joints, revision=1):
    lines = "".join(f"  - {{{joint}}}\n" for joint in joints)
    head = f'plan: axle\ntitle: Axle\nrevision: "{revision}"\nsource: Shop sheet 3\nunit: N·m\ntolerance: 10 %\njoints:\n'
    return head + lines


class Day:
    """A job on the real recorder that is lived pull by pull; what persons say away from the bench is recorded as it is."""

    def __init__(self, floor, recorder, *joints):
        self._floor, self._recorder = floor, recorder
        floor.text, floor.matcher = plan(*joints), lambda: Probable(habits_of(None))
        self._bench = floor.bench(recorder)

    def pull(self, torque, after_s=8):
        # The clock goes on by itself by a second.
        self._floor.clock.instant += timedelta(seconds=after_s - 1)
        self._floor.run(self._bench, self._floor.pull(torque))

    def pulls(self, *torques, after_s=8):
        for torque in torques:
            self.pull(torque, after_s)

    def say(self, said, joint, position=None, **more):
        self._put(Decided("1", said, joint, position, **more))

    def close(self):
        place_all(self._recorder, self._bench.job)

    def change(self, *joints):
        self._floor.text = plan(*joints, revision=2)
        with self._recorder.transaction():
            self._put(PlanChanged("1", keep_plan(self._recorder, self._floor.plan), "corrected"))

    def proofs(self, joint):
        return [(proof, why) for _, proof, why in rows_of(self._recorder, joint)]

    def p_of(self, joint, stage=1):
        """The last count of a place, None where there is none."""
        kept = self._bench.job.counted.get((joint, stage))
        return None if kept is None else float(kept[1])

    @property
    def state(self):
        return self._bench.job

    @property
    def complete(self):
        return bool(self._recorder.query("SELECT complete FROM job")[0][0])

    def _put(self, body):
        with self._recorder.transaction():
            self._recorder.append(body, self._bench.by)


def proven(job, joint):
    return [proof for proof, _ in job.proofs(joint)]


@pytest.fixture(name="day")
def _day(floor, recorder):
    """Makes a job of these joints."""
    return lambda *joints: Day(floor, recorder, *joints)


@pytest.fixture(name="live")
def _live(day):
    """The same after another joint that is done twice and counted, so that nothing is unsure for being the first."""

    def make(*joints):
        job = day(PLATE, *joints)
        job.pulls("30", "30.2", "30.1", "30.3")
        job.say("stripes", "plate", count=2, of=2)
        return job

    return make


@pytest.fixture(name="bench")
def _bench(floor, recorder):
    """A bench of the real recorder that matches by probability; a pause as from one fastener to the next before each pull."""
    floor.text, floor.pause_s = plan(PLATE, HUB, CAP), 8.0
    floor.matcher = lambda: Probable(habits_of(None))
    return floor.bench(recorder)


def work_day(floor, bench):
    """All of it, done once, joint after joint."""
    for torques in ((30, 30.3), (100, 101, 100.5), (60, 60.3)):
        floor.clock.instant += timedelta(seconds=60)
        floor.run(bench, *[floor.pull(torque) for torque in torques])


def log_text(rows):
    return "time,wrench,torque,unit\n" + "".join(f"{at},W-7,{torque},N·m\n" for at, torque in rows)


def rows_of(recorder, joint):
    return recorder.query("SELECT position, proof, why FROM fastener WHERE joint = ? ORDER BY position", joint)


@pytest.mark.parametrize("word", ["not fitted", "declared"])
def test_the_last_fastener_that_a_person_answers_for_makes_no_uncounted_joint_proven(live, word):
    job = live(HUB)
    # Both on the first nut, as far as anybody knows.
    job.pull("100", 60)
    job.pull("100.4", 5)
    job.say(word, "hub", 3, reason="no part")

    assert job.proofs("hub")[:2] == [("doubtful", "it was not counted")] * 2
    assert not job.complete
    job.close()
    assert job.p_of("hub") is not None, "the closing pass counts it"


def test_a_persons_yes_counts_a_joint_whose_last_fastener_is_not_fitted(live):
    job = live(HUB)
    job.pull("100", 60)
    job.pull("100.4", 5)
    job.say("not fitted", "hub", 3, reason="no part")
    job.say("stripes", "hub", count=2, of=2)

    assert job.complete


@pytest.mark.parametrize("closing", [False, True], ids=["live", "closing-pass"])
def test_a_click_after_not_all_were_seen_does_not_overrule_who_looked(live, closing):
    job = live(HUB, CAP)
    job.pull("100", 60)
    job.pulls("100.2", "101")
    job.pull("60", 60)
    job.pull("60.2")
    job.say("stripes", "hub", of=3)
    if closing:
        job.close()
    # Somebody clicks once more on a nut that is done.
    job.pull("100.1", 60)
    job.close()

    assert job.proofs("hub") == [("doubtful", "not all stripes were seen, and nobody has counted them since")] * 3
    job.say("stripes", "hub", count=3, of=3)
    assert proven(job, "hub") == ["proven"] * 3


def test_who_names_the_one_that_is_not_done_is_not_asked_to_count_again(live):
    job = live(HUB, CAP)
    job.pull("100", 60)
    job.pulls("100.2", "101")
    job.pull("60", 60)
    job.pull("60.2")
    job.say("stripes", "hub", of=3)
    job.say("not done", "hub", 2)
    assert proven(job, "hub") == ["doubtful", "missed", "doubtful"]
    job.pull("100.1", 60)

    assert not any("nobody has counted" in why for _, why in job.proofs("hub"))


@pytest.mark.parametrize("word", ["opened", "not done"])
@pytest.mark.parametrize(
    ("at", "proof"),
    [
        pytest.param("2026-03-02T06:59:00Z", "doubtful", id="before"),
        pytest.param("2026-03-02T08:01:00+02:00", "doubtful", id="before-in-another-zone"),
        pytest.param("2026-03-02T07:59:00Z", "proven", id="after"),
    ],
)
def test_a_log_read_in_after_an_opening_proves_nothing_by_pulls_that_came_before_it(new_job, word, at, proof):
    job = new_job(plan(HUB))
    for position in (1, 2, 3):
        job.pull("hub", 1, position, p="0.9990")
    job.say(word, "hub", 2)
    # Of the morning; the opening was said a little after seven.
    seq = job.read("100", log=1, line=2, raw="00", tool_time=at)
    job.match(seq, "hub", 1, 2, p="0.9990")
    job.put(CountKept("1", "0.9990", "hub", 1))
    job.say("stripes", "hub", count=3, of=3)

    assert proven(job, "hub") == ["proven", proof, "proven"]
    assert (job.proofs("hub")[1][1] == "pulled before it was opened, by the clock of its wrench") is (proof == "doubtful")
    assert job.complete is (proof == "proven")


def test_a_check_of_the_morning_that_is_read_in_late_closes_no_opening(floor, recorder, bench):
    work_day(floor, bench)
    with recorder.transaction():
        recorder.append(Decided("1", "opened", "hub", 2), bench.by)
    rows = [("2026-03-02T06:00:00Z", 100), ("2026-03-02T06:00:10Z", 100.6), ("2026-03-02T06:00:20Z", 100.2)]
    floor.import_log(recorder, log_text(rows), "1")
    with recorder.transaction():
        recorder.append(Decided("1", "stripes", "hub", count=3, of=3), bench.by)

    assert rows_of(recorder, "hub")[1][1] != "proven"
    assert recorder.query("SELECT complete FROM job") == [(0,)]


def test_what_is_pulled_after_the_opening_counts_though_it_comes_from_a_log(floor, recorder, bench):
    work_day(floor, bench)
    with recorder.transaction():
        recorder.append(Decided("1", "opened", "hub", 2), bench.by)
    at = floor.clock.instant + timedelta(seconds=60)
    floor.import_log(recorder, log_text([(at.isoformat(), 100)]), "1")
    with recorder.transaction():
        recorder.append(Decided("1", "stripes", "hub", count=3, of=3), bench.by)

    assert [proof for _, proof, _ in rows_of(recorder, "hub")] == ["proven"] * 3


@pytest.mark.parametrize("seconds", [6, 9, 14])
def test_a_second_export_of_the_same_log_fills_no_fastener(floor, recorder, seconds):
    floor.text = plan(PLATE, "id: hub, name: Hub nuts, fasteners: 5, torque: 100")
    hub = [(f"2026-03-02T07:01:{seconds * n:02}Z", f"{100 + n / 10:.1f}") for n in range(4)]
    rows = [("2026-03-02T07:00:00Z", "30.0"), ("2026-03-02T07:00:08Z", "30.1"), *hub]
    floor.import_log(recorder, log_text(rows))
    before = rows_of(recorder, "hub")
    # The same pulls, written with one digit more, so that no row is the same.
    floor.import_log(recorder, log_text((at, f"{torque}0") for at, torque in rows), "1", "again.csv")

    assert [proof for _, proof, _ in before][-1] == "missed"
    assert rows_of(recorder, "hub") == before
    copies = recorder.query("SELECT kind, reason FROM reading WHERE n > 6")
    assert copies == [("repeat", "the same pull as one that is on record already, from another log")] * 6
    assert verify_file(floor.path).findings == []


def test_equal_rows_of_one_log_are_two_clicks(floor, recorder):
    floor.text = plan("id: hub, name: Hub nuts, fasteners: 2, torque: 100")
    floor.import_log(recorder, log_text([("2026-03-02T07:01:00Z", "100.0")] * 2))

    reasons = {reason for (reason,) in recorder.query("SELECT reason FROM reading")}
    assert reasons == {"by torque, pause, angle and order, in the light of all readings"}


def test_who_counts_the_finals_holds_no_reading_of_an_earlier_round(day):
    left = "id: left, name: Left, fasteners: 2, torque: 100, stages: [50, 100]"
    job = day(left, left.replace("left, name: Left", "right, name: Right"))
    # The second nut on the left got no first round; one on the right was clicked twice.
    for after_s, torque in ((8, "50"), (25, "50.5"), (3, "50.3"), (9, "50.1")):
        job.pull(torque, after_s)
    for after_s, torque in ((30, "100"), (8, "100.1"), (30, "100"), (8, "100.2")):
        job.pull(torque, after_s)
    job.say("stripes", "left", count=2, of=2)
    job.say("stripes", "right", count=2, of=2)

    assert {pull.match.stage for pull in job.state.pulls.values() if is_held(job.state, pull)} == {2}


@pytest.mark.parametrize("said", ["as found", "drag", "let stand", "opened"])
def test_a_word_about_a_fastener_makes_no_reading_surer(day, said):
    twin = "id: left, name: Left, fasteners: 2, torque: 100"
    job = day(PLATE, twin, twin.replace("left, name: Left", "right, name: Right"))
    job.pulls("30", "30.2")
    job.pull("100", 40)
    job.pulls("100.1", "100.2", after_s=12)
    job.close()
    before = {joint: job.p_of(joint) for joint in ("left", "right")}
    value = {"value": "0", "unit": "N·m"} if said in ("as found", "drag") else {}
    job.say(said, "left", 2, **value)
    job.close()

    assert all(job.p_of(joint) <= before[joint] for joint in before)


def test_what_was_pulled_on_a_joint_that_began_anew_is_on_no_fastener_of_the_new_one(live):
    job = live(HUB)
    job.pull("100", 60)
    job.pulls("100.2", "100.1")
    job.change(PLATE, HUB.replace("fasteners: 3", "fasteners: 4"))
    job.pull("100", 300)
    job.pulls("100.3", "100.2")
    job.close()
    assert job.p_of("hub") < 0.01, "three of four"
    assert proven(job, "hub")[3] == "missed"

    job.pull("100.4")
    job.close()
    assert proven(job, "hub") == ["proven"] * 4


def test_what_was_pulled_on_a_joint_that_a_revision_took_out_counts_for_no_alike_joint(live):
    other = HUB.replace("hub, name: Hub nuts", "drum, name: Drum nuts")
    job = live(HUB, other)
    job.pull("100", 60)
    job.pulls("100.2", "100.1")
    job.change(PLATE, other)
    job.pull("100", 300)
    job.pull("100.3")
    job.close()

    assert job.p_of("drum") < 0.01
    assert not job.complete


@pytest.mark.parametrize("kind", ["count", "match"])
@pytest.mark.parametrize("p", ["2", "-0.1", "NaN", "Infinity", "sure", ""])
def test_what_is_no_probability_is_refused(floor, recorder, bench, kind, p):
    work_day(floor, bench)
    before = recorder.query("SELECT count(*) FROM ledger")
    seq, pull = list(bench.job.pulls.items())[-1]
    body = {
        "count": CountKept("1", p, "hub", 1),
        "match": MatchKept("1", seq, "tightening", "by torque", "cap", 1, 2, "order", "in band", p, revises=pull.match_seq),
    }[kind]
    with pytest.raises((ValueError, ArithmeticError)), recorder.transaction():
        recorder.append(body)

    assert recorder.query("SELECT count(*) FROM ledger") == before
    assert verify_file(floor.path).findings == []


def test_the_same_log_twice_and_a_closing_pass_twice_change_nothing(floor, recorder, bench):
    floor.text = plan(PLATE, HUB)
    rows = [(f"2026-03-02T07:01:{8 * n:02}Z", torque) for n, torque in enumerate(("30", "30.1", "100", "100.2"))]
    second = floor.import_log(recorder, log_text(rows), "1")
    before = rows_of(recorder, "hub")
    floor.import_log(recorder, log_text(rows), "1")
    place_all(recorder, second.job)

    assert rows_of(recorder, "hub") == before
    assert before[2][1] == "missed"
