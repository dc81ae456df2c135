"""How the links of a run stand: one alone by its word, several by name, and no link that is down hides behind the others."""

from datetime import UTC, datetime

import pytest

from collector.links import Links
from schemas.frame import LinkChange
from schemas.words import Link

A, B = "serial:A", "serial:B"


def change(source: str, link: Link, detail: str = "") -> LinkChange:
    return LinkChange(source, link, datetime(2026, 3, 2, tzinfo=UTC), 1, detail)


def links_after(sources, *changes):
    links = Links(sources)
    said = [links.take(change(*one)) for one in changes]
    return links, said


@pytest.mark.parametrize("sources", [(), (A,)], ids=["not-named", "named"])
def test_the_only_link_is_told_by_its_word(sources):
    links, said = links_after(sources, (A, Link.LOST, "the cable is out"))

    assert said == ["lost: the cable is out"]
    assert (links.text, links.are_up, links.have_ended) == ("lost", False, False)


def test_before_anything_is_said_every_link_counts_as_open():
    assert (Links().text, Links().are_up) == ("open", True)
    assert (Links((A, B)).text, Links((A, B)).are_up) == ("2 of 2 up", True)


def test_of_several_links_the_one_that_is_lost_is_named_and_the_whole_is_not_up():
    links, said = links_after((A, B), (A, Link.OPEN), (B, Link.OPEN), (B, Link.LOST, "the cable is out"))

    assert said[-1] == "serial:B lost: the cable is out"
    assert (links.text, links.are_up) == ("serial:B lost; 1 of 2 up", False)


def test_news_of_one_link_does_not_hide_that_another_is_still_lost():
    links, _ = links_after((A, B), (B, Link.LOST), (A, Link.LOST), (A, Link.BACK))
    still_lost = links.text, links.are_up
    links.take(change(B, Link.BACK))

    assert still_lost == ("serial:B lost; 1 of 2 up", False)
    assert (links.text, links.are_up) == ("2 of 2 up", True)


def test_the_run_has_ended_when_the_last_of_them_has():
    links, _ = links_after((A, B), (A, Link.ENDED))
    one_ended = links.have_ended
    links.take(change(B, Link.ENDED))

    assert (one_ended, links.have_ended) == (False, True)


def test_a_run_whose_sources_have_not_spoken_has_not_ended():
    assert not Links().have_ended
