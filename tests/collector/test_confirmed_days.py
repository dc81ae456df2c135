"""Whole made-up days on which a person names the fastener of many a pull: whatever is pulled or said, it stays on that one."""

import random

import pytest

from collector.closing import closing_entries
from collector.expect.bounds import stays_over
from collector.expect.confirmed import confirm_position, why_not
from collector.expect.learned import habits_of
from collector.flag import flag_match
from schemas.fold import Fold, by_table
from sim.shop.day import live_day


def name_fastener(job, pull, position):
    """What a person says, recorded as the program does it; False where that cannot be."""
    if why_not(job.state, pull, position) is not None:
        return False
    own, *others = confirm_position(job.state, pull, position)
    if not stays_over(pull, flag_match(own, job.state)[-1]):
        return False
    job.say("position confirmed", pull.match.joint, position, reading=pull.seq)
    for match in flag_match(own, job.state):
        job.put(match)
    for other in others:
        job.put(flag_match(other, job.state)[-1])
    for count in job.matcher.count(job.state):
        job.put(count)
    return True


def say_something(job, rng):
    """Another word, of the joint in hand; what it says of pulls is no word about their fasteners."""
    state = job.state.joints.get(job.state.in_hand or "")
    match rng.choice(["stripes", "no stripes", "opened", "lost", "new run"]):
        case "stripes" | "no stripes" as said if state is not None and state.all_done:
            job.decide("stripes", state.joint.id, count=state.to_see if said == "stripes" else None, of=state.to_see)
        case "opened" if state is not None:
            job.decide("opened", state.joint.id, rng.randint(1, state.joint.fasteners))
        case "lost":
            job.lose_link(job.state.joint_in_hand)
        case "new run":
            job.resume()


def where(match):
    return match.joint, match.stage, match.position, match.position_by


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("shop", ["usual", "rough"])
def test_what_a_person_named_stays_while_the_day_goes_on_and_when_it_is_closed_and_made_anew(new_live, shop, seed):
    day, rng = live_day(shop, seed, angle=seed % 2 == 0, times=True), random.Random(seed)
    job, named, at_s = new_live(day.plan), {}, 0.0
    for reading in day.readings:
        pull = job.pull(reading.torque, max(reading.at_s - at_s, 0.0), wrench=reading.wrench, angle_deg=reading.angle)
        at_s = reading.at_s
        state = job.state.joints.get(pull.match.joint or "")
        if state is not None and rng.random() < 0.4:
            position = rng.choice([pull.match.position, rng.randint(1, state.joint.fasteners)])
            if name_fastener(job, pull, position):
                named[pull.seq] = where(pull.match)
                assert named[pull.seq][2:] == (position, "confirmed")
        if rng.random() < 0.1:
            say_something(job, rng)

    assert len(named) > len(day.readings) / 10
    assert {seq: where(job.state.pulls[seq].match) for seq in named} == named
    for body in closing_entries(job.state, habits_of(None)):
        job.put(body)
    assert {seq: where(job.state.pulls[seq].match) for seq in named} == named
    overs = [body.reading for _, body in job.entries if body.KIND == "match" and body.verdict == "over"]
    assert {job.state.pulls[seq].verdict for seq in overs} <= {"over"}


def test_the_rows_of_such_a_day_come_out_the_same_when_they_are_made_anew(new_live):
    day, rng = live_day("rough", 5, angle=False, times=True), random.Random(5)
    job = new_live(day.plan)
    for reading in day.readings:
        pull = job.pull(reading.torque, 9.0, wrench=reading.wrench)
        state = job.state.joints.get(pull.match.joint or "")
        if state is not None:
            name_fastener(job, pull, rng.randint(1, state.joint.fasteners))
    again = Fold()
    for at, body in job.entries:
        again.apply(at, body)

    rows = {(name, key): row for name, table in by_table(again.take_rows()).items() for key, row in table.items()}
    assert rows == job.stored
