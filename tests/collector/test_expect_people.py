"""Whose wrench is whose: one person lays a wrench down before taking up another one, two people pull at the same time."""

from random import Random

import pytest

from collector.expect.click import Click
from collector.expect.people import people_of


class Log:
    """Readings of several wrenches: pulls that a test gives by wrench and moment, in the order of their times."""

    def __init__(self):
        self.rows = []

    def row(self, wrench, begin_s, count, every_s=8.0):
        """One pull after the other with the same wrench."""
        self.rows += [(begin_s + every_s * n, wrench) for n in range(count)]
        return self

    def clicks(self, *, times=True):
        rows = sorted(self.rows, key=lambda row: row[0])
        return [Click(n, 100.0, wrench, at_s if times else None) for n, (at_s, wrench) in enumerate(rows, 1)]


def at_once(count=4):
    """Two people at one vehicle: each of the second one's pulls comes 3 s after one of the first one's."""
    return Log().row("W-1", 0.0, count).row("W-2", 3.0, count)


def changing(gap_s, count):
    """Two wrenches by turns, with a change after every pull; the first one is used once more."""
    return [Click(n + 1, 100.0, ("W-1", "W-2")[n % 2], gap_s * n) for n in range(count + 1)]


def groups(people):
    """The wrenches of each person."""
    return {frozenset(wrench for wrench, person in people.items() if person == one) for one in people.values()}


def test_an_empty_log_has_nobody():
    assert people_of([]) == {}


def test_one_wrench_is_one_person_however_quick():
    assert people_of(Log().row("W-1", 0.0, 20, every_s=1.0).clicks()) == {"W-1": 0}


def test_who_takes_up_another_wrench_for_another_joint_is_one_person():
    log = Log()
    for n in range(6):
        log.row(("W-1", "W-2")[n % 2], 60.0 * n, 4)

    assert people_of(log.clicks()) == {"W-1": 0, "W-2": 0}


def test_two_who_pull_at_the_same_time_are_two_people():
    assert people_of(at_once().clicks()) == {"W-1": 0, "W-2": 1}


def test_without_a_name_a_wrench_is_one_as_well():
    unnamed = [Click(click.n, 100.0, None if click.wrench == "W-2" else click.wrench, click.at_s) for click in at_once().clicks()]

    assert people_of(unnamed) == {"W-1": 0, None: 1}


def test_the_first_person_is_the_one_whose_wrench_is_used_most():
    assert people_of(at_once().row("W-2", 100.0, 1).clicks()) == {"W-2": 0, "W-1": 1}


@pytest.mark.parametrize(
    ("gap_s", "people"),
    [
        pytest.param(0.0, 1, id="delivered-at-one-moment"),
        pytest.param(0.05, 1, id="delivered-one-after-the-other"),
        pytest.param(0.6, 2, id="pulled-at-nearly-the-same-moment"),
        pytest.param(4.9, 2, id="just-too-quick-for-one"),
        pytest.param(5.0, 1, id="just-enough-time-to-change"),
        pytest.param(-2.0, 1, id="a-clock-that-goes-back"),
    ],
)
def test_only_quick_changes_show_a_second_person(gap_s, people):
    assert len(groups(people_of(changing(gap_s, 6)))) == people


def test_a_clock_of_whole_minutes_shows_nobody_else():
    log = Log()
    for n in range(6):
        log.row(("W-1", "W-2")[n % 2], 50.0 * n, 4)
    minutes = [Click(click.n, 100.0, click.wrench, 60.0 * (click.at_s // 60.0)) for click in log.clicks()]

    assert people_of(minutes) == {"W-1": 0, "W-2": 0}


@pytest.mark.parametrize(("count", "people"), [pytest.param(2, 1, id="two"), pytest.param(3, 2, id="three")])
def test_fewer_than_three_quick_changes_show_nobody_else(count, people):
    assert len(groups(people_of(changing(3.0, count)))) == people


def test_quick_changes_count_only_as_far_as_a_second_person_explains_them():
    # Each of three wrenches changes once to each other one: two people explain two of the three, and that is too few.
    log = Log().row("W-1", 0.0, 1).row("W-2", 3.0, 1).row("W-3", 6.0, 1).row("W-1", 9.0, 1)

    assert groups(people_of(log.clicks())) == {frozenset({"W-1", "W-2", "W-3"})}


def test_without_times_all_are_one_person():
    assert people_of(at_once().clicks(times=False)) == {"W-1": 0, "W-2": 0}


def test_a_change_to_a_pull_without_a_time_is_no_quick_one():
    clicks = [click if click.wrench == "W-1" else Click(click.n, 100.0, "W-2") for click in at_once().clicks()]

    assert people_of(clicks) == {"W-1": 0, "W-2": 0}


def third():
    """After both have worked side by side, the first one lays his wrench down for a third one; the other one goes on."""
    return at_once(8).row("W-2", 67.0, 8).row("W-3", 70.0, 8).clicks()


def test_a_third_wrench_is_used_by_the_one_whose_other_wrench_rests_meanwhile():
    assert groups(people_of(third())) == {frozenset({"W-1", "W-3"}), frozenset({"W-2"})}


def test_who_changes_often_but_never_quickly_is_one_person_all_the_same():
    # The other one's pull comes within seconds of one of each of these two.
    log = Log().row("W-1", 0.0, 5, every_s=36.0).row("W-3", 3.0, 5, every_s=36.0).row("W-2", 6.0, 5, every_s=36.0)
    log.row("W-1", 16.0, 5, every_s=36.0).row("W-2", 26.0, 5, every_s=36.0)

    assert groups(people_of(log.clicks())) == {frozenset({"W-1", "W-2"}), frozenset({"W-3"})}


def test_who_is_never_quick_with_either_belongs_where_fewest_changes_are():
    # The third one is used between pulls of the second one, long after the first one was laid down, and never within seconds.
    log = at_once(8).row("W-2", 200.0, 6, every_s=20.0).row("W-3", 210.0, 5, every_s=20.0)

    assert groups(people_of(log.clicks())) == {frozenset({"W-1", "W-3"}), frozenset({"W-2"})}


class Counted(list):
    """A list that counts how often it is gone through."""

    passes = 0

    def __iter__(self):
        self.passes += 1
        return super().__iter__()


@pytest.mark.parametrize("wrenches", [9, 40])
def test_of_many_wrenches_each_has_a_person_and_the_work_does_not_grow_with_them(wrenches):
    names, log = [f"W-{n}" for n in range(wrenches)], Log()
    for n, name in enumerate(names):
        log.row(name, 0.61 * n, wrenches + 5 - n)
    clicks = Counted(log.clicks())

    people = people_of(clicks)

    assert list(people) == names
    assert set(people.values()) == {0, 1}
    assert {people[name] for name in names[8:]} == {0}, "the least used ones are not tried"
    assert clicks.passes < 200


def test_the_one_second_person_is_found_among_many_wrenches():
    log = at_once(20)
    for n in range(10):
        log.row(f"S-{n}", 1000.0 + 60.0 * n, 2)

    people = people_of(log.clicks())

    assert people["W-1"] != people["W-2"]
    assert len(people) == 12


def test_the_order_of_the_names_tells_nothing():
    clicks, random = third(), Random(4)
    for _ in range(5):
        names = ["W-1", "W-2", "W-3"]
        random.shuffle(names)
        name = dict(zip(("W-1", "W-2", "W-3"), names, strict=True))
        renamed = [Click(click.n, 100.0, name[click.wrench], click.at_s) for click in clicks]

        assert groups(people_of(renamed)) == {frozenset({name["W-1"], name["W-3"]}), frozenset({name["W-2"]})}
