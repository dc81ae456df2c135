"""What the person at the wrench sees: a picture on a terminal, or one plain line an event where there is none.

Both listen only, and neither lets a broken terminal reach the flow.
"""

import threading
from collections.abc import Iterator
from contextlib import suppress
from typing import Protocol, TextIO

from rich.console import Console
from rich.live import Live

from collector.cli import wording
from collector.cli.picture import Picture
from schemas.screen import Last, Screen, Target
from schemas.words import Verdict


class View(Protocol):
    """Something that shows the pictures of one run."""

    def show(self, screen: Screen) -> None:
        """Show a picture; called on the flow's thread."""

    def prompt(self, text: str) -> None:
        """Show what is being typed, empty for nothing; called on the keyboard's thread."""

    def close(self) -> None:
        """Show nothing more."""


def view_for(stream: TextIO) -> View:
    """The view that a stream can carry: drawn on a terminal that can move its cursor, else line by line."""
    console = QuietConsole(file=stream)
    if console.is_terminal and not console.is_dumb_terminal:
        return TerminalView(console)
    return LineView(stream)


class QuietConsole(Console):
    """A console that falls silent when nobody reads it any more.

    Rich would end the program, and send to nowhere what others still write to standard output.
    """

    def on_broken_pipe(self) -> None:
        """Write nothing more."""
        self.quiet = True


class TerminalView:
    """Draws each picture over the whole terminal, and leaves the last one behind in the scroll-back when closed."""

    def __init__(self, console: QuietConsole) -> None:
        self._console = console
        self._lock = threading.Lock()
        self._screen: Screen | None = None
        self._prompt = ""
        self._is_closed = False
        # Standard output carries data for other programs, so rich must not take it over.
        self._live = Live(
            console=console, screen=True, auto_refresh=False, redirect_stdout=False, redirect_stderr=False
        )  # fmt: skip

    def show(self, screen: Screen) -> None:
        """Draw a picture now; a pull that is not in band sounds the terminal's bell, so that nobody has to look up for it."""
        with self._lock:
            before, self._screen = self._screen, screen
            self._draw()
            if not self._is_closed and before is not None and screen.last != before.last and _needs_a_look(screen.last):
                with suppress(OSError, ValueError):
                    self._console.bell()

    def prompt(self, text: str) -> None:
        """Draw the same picture with the line that is being typed."""
        with self._lock:
            if text != self._prompt:
                self._prompt = text
                self._draw()

    def close(self) -> None:
        """Give the terminal back, with the last picture and every joint in it; a second time does nothing."""
        with self._lock:
            if self._is_closed:
                return
            self._is_closed = True
            with suppress(OSError, ValueError):
                self._live.stop()
                if self._screen is not None:
                    self._console.print(Picture(self._screen, whole=True))

    def _draw(self) -> None:
        if self._is_closed or self._screen is None:
            return
        # A terminal that is gone, closed or cannot write a sign is no reason to stop the record.
        with suppress(OSError, ValueError):
            self._live.start()
            self._live.update(Picture(self._screen, self._prompt), refresh=True)


def _needs_a_look(last: Last | None) -> bool:
    return last is not None and last.verdict not in (Verdict.IN_BAND, Verdict.HELD)


class LineView:
    """Writes one line for each thing that is new in a picture; for a file, a pipe or a build server."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._lock = threading.Lock()
        self._before: Screen | None = None

    def show(self, screen: Screen) -> None:
        """Write what is new against the picture before."""
        with self._lock, suppress(OSError, ValueError):
            before, self._before = self._before, screen
            mark = f"{wording.SIMULATED}  " if screen.simulated else ""
            for line in _news(before, screen):
                self._stream.write(f"{mark}{line}\n")
            self._stream.flush()

    def prompt(self, text: str) -> None:
        """Nothing: half a typed number is no event."""

    def close(self) -> None:
        """Nothing: every line is written already, and the stream is its owner's to close."""


def _news(before: Screen | None, screen: Screen) -> Iterator[str]:
    if before is None:
        yield f"{wording.plain(screen.title)}, job {wording.plain(screen.job)}"
        yield wording.SAFETY
    if before is None or (screen.link, screen.link_ok) != (before.link, before.link_ok):
        yield wording.link_line(screen)
    if screen.last is not None and (before is None or _pulls(screen) != _pulls(before)):
        yield f"{wording.last_headline(screen.last)}  {wording.last_text(screen.last)}".rstrip()
        if screen.last.stop:
            yield wording.STOP
    if screen.notice and (before is None or screen.notice != before.notice):
        yield wording.plain(screen.notice)
    for reminder in screen.reminders:
        if before is None or reminder not in before.reminders:
            yield f"! {wording.plain(reminder)}"
    yield from _what_comes(before, screen)


def _what_comes(before: Screen | None, screen: Screen) -> Iterator[str]:
    loose = wording.loose_line(screen)
    if loose and (before is None or loose != wording.loose_line(before)):
        yield loose
    if screen.ask is not None and (before is None or screen.ask != before.ask):
        yield wording.ask_line(screen.ask)
    target = screen.target
    if target is not None and (before is None or _round(target) != _round(before.target)):
        aim, band = wording.aim_text(target)
        yield f"next: {wording.plain(target.joint.name)} · {wording.place(target)} · {aim}, in band: {band}"
        yield f"      {' · '.join(wording.fitting(target.joint))}"
        yield from (f"      {wording.plain(lever)}" for lever in screen.levers)
    if screen.ended and (before is None or not before.ended):
        yield wording.ended_line(screen)
        yield wording.SAFETY


def _pulls(screen: Screen) -> tuple[object, int]:
    # Two bad frames in a row read alike and are still two events.
    return screen.last, screen.readings


def _round(target: Target | None) -> tuple[str, int] | None:
    return None if target is None else (target.joint.id, target.stage.number)
