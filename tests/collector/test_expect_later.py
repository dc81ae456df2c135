"""The matcher of a log that is being read in places nothing, expects nothing and changes nothing."""

from collector.expect.later import Later
from schemas.bodies import Decided


def test_later_says_nothing_of_anything(new_job):
    job, later = new_job(), Later()
    reading = job.read("50")

    assert later.expect_next(job.state) is None
    assert later.match_reading(job.state, job.state.pulls[reading]) == ()
    assert later.match_said(job.state, Decided("1", "not this job", reading=reading)) == ()
    assert later.count(job.state) == ()
