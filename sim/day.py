"""A workshop day: shows each screen to the fitter and does what the fitter decides, on the wire and on the keys."""

import queue
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Protocol

from schemas.screen import Screen
from schemas.wire_format import WireFormat
from sim.clock import SimClock
from sim.fitter import QUIT, Act, Fitter, Pull
from sim.wire import Wire, spoil
from sim.workshop.facts import WRENCHES, ZONE
from sim.wrench import SimWrench

PATIENCE_S = 20.0


class Screens(Protocol):
    """Where the screens come from; a `queue.Queue[Screen]` is one."""

    def get(self, block: bool = True, timeout: float | None = None) -> Screen:
        """The next screen; queue.Empty where none comes within `timeout` seconds."""


@dataclass(frozen=True, slots=True)
class SimBench:
    """What the day is lived with: the clock that each act moves on, the wire, the wrenches that send on it, by id."""

    clock: SimClock
    wire: Wire
    wrenches: Mapping[str, SimWrench]


def lay_out(wire_format: WireFormat, clock: SimClock, wire: Wire, first_sequence: Mapping[str, int]) -> SimBench:
    """The workshop's bench; `first_sequence` gives the next record's number of wrenches that sent before, by id."""
    wrenches = {facts.id: SimWrench(facts.id, wire_format, clock, ZONE, first_sequence.get(facts.id, 1)) for facts in WRENCHES}
    return SimBench(clock, wire, wrenches)


class Day:
    """One day; `run` it in a thread of its own. Each act waits for the screen that shows what came of the one before.

    Args:
        fitter: who decides.
        bench: clock, wire and wrenches.
        screens: every picture that the flow hands out, in order; one with `ended` ends the day.
        press: takes the keys that are pressed.
        pace_s: real seconds before each act.
        patience_s: real seconds without the awaited screen after which the day gives up.
        wait: waits that many real seconds.

    `trouble` is one line that says why the day gave up, None while all is well.
    """

    def __init__(
        self,
        fitter: Fitter,
        bench: SimBench,
        screens: Screens,
        press: Callable[[str], None],
        pace_s: float = 0.0,
        *,
        patience_s: float = PATIENCE_S,
        wait: Callable[[float], object] = time.sleep,
    ) -> None:
        self._fitter = fitter
        self._bench = bench
        self._screens = screens
        self._press = press
        self._pace_s = pace_s
        self._patience_s = patience_s
        self._wait = wait
        self.trouble: str | None = None

    def run(self) -> None:
        """Live the day until a screen with `ended`; presses quit where the day has to give up, and sets `trouble`."""
        try:
            self._live()
        except queue.Empty:
            self._give_up(f"no answer on the screen for {self._patience_s:g} s; look what the collector waits for")
        except OSError as error:
            self._give_up(f"the simulated wire failed: {error}; start the day again")

    def _live(self) -> None:
        screen = self._screens.get(timeout=self._patience_s)
        while not screen.ended:
            act = self._fitter.act(screen)
            if act is not None:
                self._do(act)
            screen = self._next(screen, act)

    def _do(self, act: Act) -> None:
        if self._pace_s:
            self._wait(self._pace_s)
        self._bench.clock.advance(act.pause_s)
        if not isinstance(act, Pull):
            self._press(act.text)
            return
        line = self._bench.wrenches[act.wrench].record(act.torque, act.unit)
        self._bench.wire.send(spoil(line) if act.spoil else line)

    def _next(self, before: Screen, act: Act | None) -> Screen:
        """The first screen that shows what came of the act; others, such as news of the link, are passed over."""
        while True:
            screen = self._screens.get(timeout=self._patience_s)
            if screen.ended or act is None:
                return screen
            if screen.last != before.last if isinstance(act, Pull) else _told(screen) != _told(before):
                return screen

    def _give_up(self, why: str) -> None:
        self.trouble = why
        self._press(QUIT)


def _told(screen: Screen) -> tuple[object, ...]:
    """What keys can change: all but the link."""
    return screen.target, screen.ask, screen.last, screen.rows, screen.notice
