"""That no fastener of a joint was left out is told by a person's count or by the readings' own, and never of a joint in doubt."""

from contextlib import closing

import pytest

from analysis.load import job_json, load_job, open_audit
from analysis.load.counted import counted_text, lowest_p
from analysis.load.lines import job_lines
from schemas.bodies import CountKept


@pytest.fixture(name="load")
def _load(path):
    def load(job="2026-0001"):
        with closing(open_audit(path)) as db:
            return load_job(db, job)

    return load


def pull_guard(shop, count=2, p="0.9950"):
    for position in range(1, count + 1):
        shop.match(shop.read("20.1"), "guard", 1, position, p=p)


def pull_hub(shop, p="0.9950"):
    for stage, torque in ((1, "50"), (2, "100")):
        for position in range(1, 5):
            shop.match(shop.read(torque), "hub-nuts", stage, position, p=p)


def count(shop, joint, *ps):
    for stage, p in enumerate(ps, 1):
        shop.append(CountKept(shop.job, p, joint, stage))


def lift_order(shop):
    shop.say("let stand", "guard", by="Runa Veld", reason="height was right")


def test_a_joint_that_its_readings_prove_says_how_sure_they_are(shop, load):
    pull_guard(shop)
    count(shop, "guard", "0.9972")
    lift_order(shop)

    record = load()

    assert [fastener.proof for fastener in record.fasteners_of("guard")] == ["proven", "proven"]
    assert counted_text(record, "guard") == "2 of 2 by count and timing, p = 0.997"
    assert lowest_p(record, "guard") == "0.9950"


def test_of_several_stages_the_least_sure_one_is_told(shop, load):
    pull_hub(shop)
    count(shop, "hub-nuts", "0.9933", "0.9999")

    assert counted_text(load(), "hub-nuts") == "stage 1: 4 of 4 by count and timing, p = 0.99"
    assert "Hub nuts, left, stage 1: 4 of 4 by count and timing, p = 0.99" in job_lines(load())


def test_a_joint_that_a_person_has_counted_says_so(shop, load):
    pull_guard(shop)
    count(shop, "guard", "0.9500")
    shop.say("stripes", "guard", count=2, of=2)

    assert counted_text(load(), "guard") == "confirmed: 2 of 2 counted"


def test_a_joint_in_doubt_says_nothing_but_its_reasons(shop, load):
    pull_guard(shop)
    count(shop, "guard", "0.9500")
    lift_order(shop)

    record = load()

    assert counted_text(record, "guard") is None
    assert {fastener.why for fastener in record.fasteners_of("guard")} == {"2 of 2 by count and timing, p = 0.95"}


def test_a_joint_that_lacks_a_fastener_says_how_many_are_done(shop, load):
    pull_guard(shop, count=1)
    shop.say("not fitted", "guard", 2, reason="on order")
    count(shop, "guard", "0.9999")
    lift_order(shop)

    assert counted_text(load(), "guard") == "1 of 1 by count and timing, p = 0.9999"


@pytest.mark.parametrize("done", [0, 2], ids=["nothing-done", "matched-by-order"])
def test_where_nobody_knows_nothing_is_said(shop, load, done):
    pull_guard(shop, count=done, p=None)
    if not done:
        count(shop, "guard", "0.0000")

    assert counted_text(load(), "guard") is None
    assert lowest_p(load(), "guard") is None


def test_a_joint_without_a_stated_torque_has_nothing_to_count(whole, load):
    assert counted_text(load(), "tie-rod") is None


def test_the_answer_has_the_probabilities_as_numbers(shop, load):
    pull_hub(shop, p="0.9981")
    count(shop, "hub-nuts", "0.9933", "0.9999")
    shop.append(CountKept(shop.job, "0.0001"))

    answer = job_json(load())

    assert answer["p_complete"] == 0.0001
    assert [row["p_complete"] for row in answer["joints"]] == [0.9933, 0.9999, None]
    assert {row["p"] for row in answer["readings"]} == {0.9981}


def test_a_gap_in_the_numbers_is_no_matter_of_probability_and_still_makes_the_record_incomplete(shop, load):
    shop.do_all()
    shop.sign("ride-height", by="Runa Veld")
    shop.append(CountKept(shop.job, "0.9999"))
    assert load().complete

    shop.match(shop.read("20", sequence=9, missing="7-8"), None, None, None, kind="stray", verdict=None)

    answer = job_json(load())
    assert (answer["complete"], answer["p_complete"]) == (False, 0.9999)
