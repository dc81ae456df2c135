"""Several sources in one run: opened all or none, each on its own thread, and a gap between two runs puts each joint in doubt."""

import io
import signal
import sys

import pytest

from collector.bench import Bench, Feed
from collector.cli.collect import note_gap
from collector.cli.live import run_live
from schemas.errors import SourceError, SourceReason
from schemas.frame import Frame, LinkChange
from schemas.screen import Press, PressWord
from schemas.words import Link


class Source:
    """Hands over what it is given, then ends; `fails` breaks it where the name says."""

    def __init__(self, clock, name, *raws, fails=""):
        self.name = name
        self._clock = clock
        self._raws = raws
        self._fails = fails
        self.closed = 0

    def open(self):
        if self._fails == "open":
            raise SourceError(f"port `{self.name}` is not there; plug the cable in", SourceReason.MISSING)

    def run(self, put):
        put(LinkChange(self.name, Link.OPEN, self._clock.now(), self._clock.monotonic_ns()))
        if self._fails == "run":
            raise RuntimeError("a fault of ours")
        for raw in self._raws:
            put(Frame(self.name, raw, self._clock.now(), self._clock.monotonic_ns()))
        put(LinkChange(self.name, Link.ENDED, self._clock.now(), self._clock.monotonic_ns()))

    def close(self):
        self.closed += 1


@pytest.fixture(name="live")
def _live(floor, recorder, monkeypatch):
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    bench = floor.bench(recorder)

    def live(*sources):
        bench.feeds = {source.name: Feed(bench.wire) for source in sources}
        run_live(bench, sources, floor.clock)
        return bench

    return live


@pytest.mark.parametrize("place", [0, 1, 2])
def test_where_one_cannot_be_opened_those_before_it_are_closed(floor, live, place):
    sources = [Source(floor.clock, f"serial:{n}", fails="open" if n == place else "") for n in range(3)]

    with pytest.raises(SourceError, match=f"port `serial:{place}` is not there"):
        live(*sources)

    assert [source.closed for source in sources] == [int(n < place) for n in range(3)]


def test_what_every_source_brings_is_recorded_and_all_are_closed(floor, live):
    sources = [
        Source(floor.clock, f"serial:{n}", *(f"@W-{n};{k};50;Nm;;ok".encode() for k in range(1, 6))) for n in range(1, 5)
    ]

    bench = live(*sources)

    rows = bench.recorder.query("SELECT wrench, sequence FROM reading")
    assert sorted(rows) == [(f"W-{n}", k) for n in range(1, 5) for k in range(1, 6)]
    for wrench in range(1, 5):
        assert [number for name, number in rows if name == f"W-{wrench}"] == [1, 2, 3, 4, 5]
    assert [source.closed for source in sources] == [1] * 4
    assert bench.recorder.query("SELECT count(*) FROM link WHERE link = 'ended'") == [(4,)]


def test_an_interrupt_in_the_middle_of_a_pull_does_not_cost_it(floor, live, monkeypatch, capsys):
    kept_as = Bench.keep_reading

    def interrupted(*pull):
        signal.raise_signal(signal.SIGINT)
        return kept_as(*pull)

    monkeypatch.setattr(Bench, "keep_reading", interrupted)

    bench = live(Source(floor.clock, "serial:1", b"@W-7;1;50;Nm;;ok"))

    assert bench.recorder.query("SELECT sequence FROM reading") == [(1,)]
    assert "stopped; the job stays open" in capsys.readouterr().err
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_source_that_fails_ends_and_the_others_go_on(floor, live):
    good = Source(floor.clock, "serial:good", b"@W-7;1;50;Nm;;ok")

    bench = live(Source(floor.clock, "serial:bad", fails="run"), good)

    assert bench.recorder.query("SELECT count(*) FROM reading") == [(1,)]
    ended = bench.recorder.query("SELECT detail FROM link WHERE source = 'serial:bad' AND link = 'ended'")
    assert ended == [("the source failed: RuntimeError('a fault of ours')",)]


@pytest.mark.parametrize(
    ("sources", "doubted"),
    [
        pytest.param(("serial:a", "serial:b"), ["eye", "clamp"], id="two-sources"),
        pytest.param(("serial:a",), ["eye"], id="one-source"),
    ],
)
def test_after_a_gap_each_of_several_wrenches_may_have_had_a_joint_in_hand(floor, recorder, sources, doubted):
    bench = floor.bench(recorder)
    floor.run(bench, *(floor.frame(f"@W-7;{n};{torque};Nm;;ok".encode()) for n, torque in enumerate((50, 50, 100, 100), 1)))
    floor.run(bench, floor.frame(b"@W-8;1;80;Nm;;ok"))

    note_gap(bench, *sources)

    lost = bench.recorder.query("SELECT source, joint FROM link WHERE link = 'lost'")
    assert lost == [(", ".join(sources), joint) for joint in doubted]


def test_after_a_gap_a_confirmed_joint_is_in_nobodys_hand(floor, recorder):
    bench = floor.bench(recorder)
    floor.run(bench, *(floor.pull(torque) for torque in (50, 50, 100, 100)), Press(PressWord.YES))

    note_gap(bench, "serial:a", "serial:b")

    assert bench.recorder.query("SELECT joint FROM link WHERE link = 'lost'") == []
