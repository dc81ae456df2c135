"""What stands between a person and the flow: shows its pictures, turns keys into presses on its queue."""

import queue
from collections.abc import Callable

from collector.cli.keys import KeyReader
from collector.cli.place import LOG
from collector.cli.view import View
from collector.run import Event
from schemas.screen import Press, Screen


class BenchFront:
    """One view, one reader of keys, and whoever else listens; the flow never waits for any of them."""

    def __init__(self, view: View, events: "queue.SimpleQueue[Event]") -> None:
        self._view = view
        self._events = events
        self._keys = KeyReader()
        self._screen: Screen | None = None
        self.listeners: list[Callable[[Screen], None]] = []

    def show(self, screen: Screen) -> None:
        """Hand a picture to the view and the listeners; a view that fails is logged and does not stop the flow."""
        self._screen = screen
        try:
            self._view.show(screen)
        except Exception as error:  # noqa: BLE001  # a screen that breaks must not stop the record
            LOG.error("the view failed: %s", type(error).__name__)
        for listener in self.listeners:
            listener(screen)

    @property
    def screen(self) -> Screen | None:
        """The picture that was shown last, None before the first."""
        return self._screen

    def put(self, press: Press) -> None:
        """Hand a press to the flow."""
        self._events.put(press)

    def press(self, text: str) -> None:
        """Take typed characters, from the keyboard's thread or the simulated fitter's."""
        for press in self._keys.feed(text, self._screen):
            self.put(press)
        self._view.prompt(self._keys.prompt)
