"""An over-pull that seems to belong to nothing: held against the fastener before it, unless it is sure to be elsewhere."""

import pytest

from collector.expect.held_over import REASON, held_over
from schemas.bodies import MatchKept
from tests.rigs.made_plans import HEAD

PLAN = HEAD + """\
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100MORE}
  - {id: plate, name: Plate bolts, fasteners: 2, torque: 30}
"""


@pytest.fixture(name="held")
def _held(new_job):
    """What becomes of a stray after a fastener of the hub; `p` is how sure it is that it belongs to nothing."""

    def held(torque, p="0.9000", more="", wrench="W-140", stage=1, touched=True, alone=False, **sent):
        job = new_job(PLAN.replace("MORE", more))
        if touched:
            job.pull("hub", stage, 1, "100")
        job.pull("plate", 1, 1, "30", wrench="W-25")
        pull = job.state.pulls[job.read(torque, wrench=wrench, **sent)]
        stray = MatchKept("1", pull.seq, "stray", "by torque", p=p)
        found = held_over(job.state, pull, stray, alone=alone)
        return None if found == stray else (found.kind, found.joint, found.stage, found.position, found.p, found.reason)

    return held


AGAINST_IT = ("recheck", "hub", 1, 1, "0.1000", REASON)


def test_over_the_upper_edge_it_is_held_against_the_fastener_that_its_wrench_touched_last(held):
    assert held("110.1") == AGAINST_IT
    assert held(None, over_range=1) == AGAINST_IT


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param({"torque": "110"}, id="on-the-edge"),
        pytest.param({"torque": "160", "p": "0.9900"}, id="sure-to-be-elsewhere"),
        pytest.param({"torque": "160", "touched": False}, id="nothing-touched"),
        pytest.param({"torque": "160", "wrench": "W-9"}, id="another-wrench"),
        pytest.param({"torque": "-160"}, id="a-loosening"),
        pytest.param({"torque": "160", "more": ", then_angle: 90, angle_tolerance: 10", "stage": 2}, id="judged-by-its-angle"),
    ],
)
def test_else_it_stays_a_stray(held, arguments):
    assert held(**arguments) is None


def test_a_stray_of_which_nobody_knows_how_sure_it_is_counts_as_unsure(held):
    assert held("160", p=None)[:4] == AGAINST_IT[:4]


def test_on_a_left_hand_thread_over_is_to_the_left(held):
    assert held("-160", more=", hand: left") == AGAINST_IT


def test_the_shop_says_from_where_on_it_is_sure(new_job):
    job = new_job(PLAN.replace("MORE", ""))
    job.state.limit = job.state.limit + (1 - job.state.limit) / 2
    job.pull("hub", 1, 1, "100")
    pull = job.state.pulls[job.read("160")]

    assert held_over(job.state, pull, MatchKept("1", pull.seq, "stray", "by torque", p="0.9910")).joint == "hub"


def test_live_it_fails_the_fastener_and_another_run_sees_it_the_same_way(new_live):
    job = new_live(PLAN.replace("MORE", ""))
    job.pulls("100", "101")
    job.pull("30", 60)
    job.pull("30.1")
    over = job.pull("36", 8)
    assert (over.match.kind, over.match.joint, over.verdict, job.joint("plate").worst()) == ("recheck", "plate", "over", "failed")
    job.resume()

    assert job.matcher.differing(job.state) == []


OTHER = "}\n  - {id: eye, name: Eye, fasteners: 1, torque: 145"
SURE = ("recheck", "hub", 1, 1, "0.0050", REASON)


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        pytest.param({"torque": "140"}, SURE, id="a-little-over"),
        pytest.param({"torque": None, "over_range": 1}, SURE, id="above-the-range-of-the-tool"),
        pytest.param({"torque": "165"}, SURE, id="half-as-much-again"),
        pytest.param({"torque": "165.1"}, None, id="more-than-that"),
        pytest.param({"torque": "140", "alone": False}, None, id="in-a-burst"),
        pytest.param({"torque": "140", "more": OTHER}, None, id="of-another-joint"),
    ],
)
def test_alone_between_readings_of_the_job_one_a_little_over_is_held_however_sure_it_seems(held, arguments, expected):
    assert held(**{"p": "0.9950", "alone": True, **arguments}) == expected
