"""Turns typed characters into presses, with the little state that typing a number or a name needs. Pure."""

import re
from enum import StrEnum

from collector.cli.typed_answer import NO_READING, asked_fastener, named_pull
from schemas.screen import Ask, AskWord, Press, PressWord, Screen
from schemas.words import Role

KEYS = "Enter yes, n no, f which, s same, x not ours, m moved, o opened, j joint, q quit"
"""The keys, as one line to read that fits a small terminal; a question names the keys that answer it."""

LONGEST_NUMBER = 4
LONGEST_NAME = 80
LONGEST_VALUE = 20

_ESC = "\x1b"
_ENTER = frozenset({"\r", "\n", "\r\n"})
_BACKSPACE = frozenset({"\x7f", "\b"})
_WORDS = {
    "s": PressWord.SAME_AGAIN,
    "x": PressWord.NOT_THIS_JOB,
    "m": PressWord.MOVED,
    "o": PressWord.OPENED,
    "q": PressWord.QUIT,
}
_DIGITS = frozenset("0123456789")
# An arrow or function key comes as Esc with more behind it, in which an O or an n would be a press: it is one key.
_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_KEY = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]|\x1bO[@-~]|\x1b(?:\r\n|[^\x1b])|\r\n|.", re.DOTALL)


class _Typing(StrEnum):
    JOINT = "joint"
    FASTENER = "fastener"
    VALUE = "value"
    LOT = "lot"
    NAME = "name"


class KeyReader:
    """One person's typing; holds what is typed so far and the line to show for it."""

    def __init__(self) -> None:
        self._typing: _Typing | None = None
        self._typed = ""
        self._message = ""
        self._ask: Ask | None = None
        self._value: str | None = None
        self._n: int | None = None

    @property
    def prompt(self) -> str:
        """The line to show: what is being typed, or why the last key did nothing; empty where there is nothing."""
        if self._typing is _Typing.JOINT:
            return f"other joint: number, or Enter for the next: {self._typed}_"
        if self._typing is _Typing.FASTENER:
            which = "the last pull" if self._n is None else f"reading {self._n}"
            return f"fastener of its joint that {which} was on (Enter records, Esc cancels): {self._typed}_"
        if self._typing is _Typing.VALUE and self._ask is not None:
            return f"{self._message}value in {self._ask.value_in} (Enter ends, Esc cancels): {self._typed}_"
        if self._typing is _Typing.LOT:
            return f"lot of what was used (Enter records, Esc cancels): {self._typed}_"
        if self._typing is _Typing.NAME and self._ask is not None:
            return f"{self._message}name of the {self._ask.role} (Enter signs, Esc cancels): {self._typed}_"
        return self._message

    def feed(self, text: str, screen: Screen | None) -> tuple[Press, ...]:
        """The presses that characters make; usually none or one.

        Args:
            text: what was typed, as it was read together: an Esc with more behind it is an arrow or function key and
                does nothing.
            screen: the picture that the person sees, None before the first.
        """
        presses = (self._key(key, screen) for key in _KEY.findall(text) if not _is_special(key))
        return tuple(press for press in presses if press is not None)

    def _key(self, key: str, screen: Screen | None) -> Press | None:
        self._message = ""
        if self._typing in (_Typing.JOINT, _Typing.FASTENER):
            return self._type_number(key, screen)
        if self._typing is not None:
            return self._type_answer(key, screen)
        key = key.lower()
        if key in _ENTER or key == "n":
            return self._answer(key, None if screen is None else screen.ask)
        if key == "j":
            self._start(_Typing.JOINT)
        elif key == "l":
            self._start_lot(None if screen is None else screen.ask)
        elif key == "f" or (key in _DIGITS and asked_fastener(screen) is not None):
            self._start_fastener(key, screen)
        elif key in _WORDS:
            last = None if screen is None else screen.last
            if last is not None and last.n is None and key != "q":
                self._message = NO_READING
                return None
            return Press(_WORDS[key], n=None if last is None else last.n)
        elif key != _ESC:
            self._message = f"keys: {KEYS}"
        return None

    def _answer(self, key: str, ask: Ask | None) -> Press | None:
        if ask is None:
            self._message = "nothing is asked"
        elif key == "n":
            return Press(PressWord.NO, ask=ask)
        elif ask.value_in:
            self._start(_Typing.VALUE, ask)
        elif ask.role is Role.FITTER:
            return Press(PressWord.YES, ask=ask)
        else:
            self._start(_Typing.NAME, ask)
        return None

    def _start_lot(self, ask: Ask | None) -> None:
        if ask is None or ask.word is not AskWord.PREPARED:
            self._message = "a lot belongs to a preparation, and none is asked for now"
        else:
            self._start(_Typing.LOT, ask)

    def _start_fastener(self, key: str, screen: Screen | None) -> None:
        """Of the pull that the person sees; where that is asked, of the one that the question names."""
        of = named_pull(screen)
        if of is None:
            self._message = NO_READING
            return
        ask, n = of
        self._start(_Typing.FASTENER, ask)
        self._n, self._typed = n, key if key in _DIGITS else ""

    def _type_number(self, key: str, screen: Screen | None) -> Press | None:
        if key in _ENTER:
            return self._end_joint(screen) if self._typing is _Typing.JOINT else self._end_fastener()
        if key == _ESC:
            self._stop()
        elif key in _BACKSPACE:
            self._typed = self._typed[:-1]
        elif key in _DIGITS and len(self._typed) < LONGEST_NUMBER:
            self._typed += key
        return None

    def _end_joint(self, screen: Screen | None) -> Press | None:
        typed = self._stop()
        if not typed:
            return Press(PressWord.OTHER_JOINT)
        for row in () if screen is None else screen.rows:
            if row.number == int(typed):
                return Press(PressWord.OTHER_JOINT, joint=row.joint)
        # Typing ends here: an Enter to wave the message off would else choose the next joint.
        self._message = f"no joint has the number {typed}; press j and give a number from the list"
        return None

    def _end_fastener(self) -> Press | None:
        ask, n, typed = self._ask, self._n, self._stop()
        if not typed:
            self._message = "no number was typed; nothing was recorded"
            return None
        return Press(PressWord.FASTENER, ask=ask, n=n, value=typed)

    def _type_answer(self, key: str, screen: Screen | None) -> Press | None:
        if key in _ENTER:
            if screen is None or screen.ask != self._ask:
                # What is typed must never answer another question than the one that was read.
                self._stop()
                self._message = "the question changed while the answer was typed; nothing was recorded"
                return None
            return self._end_answer(self._typed.strip())
        if key == _ESC:
            self._stop()
        elif key in _BACKSPACE:
            self._typed = self._typed[:-1]
        elif key.isprintable() and len(self._typed) < (LONGEST_VALUE if self._typing is _Typing.VALUE else LONGEST_NAME):
            self._typed += key
        return None

    def _end_answer(self, typed: str) -> Press | None:
        ask, value = self._ask, self._value
        if self._typing is _Typing.VALUE:
            if not _NUMBER.fullmatch(typed):
                self._message = "plain digits are needed, with a point before the decimals; "
            elif ask is not None and ask.role is not Role.FITTER:
                self._start(_Typing.NAME, ask, typed)
            else:
                self._stop()
                return Press(PressWord.YES, ask=ask, value=typed)
        elif self._typing is _Typing.LOT or typed:
            name, lot = (None, typed or None) if self._typing is _Typing.LOT else (typed, value)
            self._stop()
            return Press(PressWord.YES, name=name, ask=ask, value=lot)
        else:
            self._message = "a name is needed; "
        return None

    def _start(self, typing: _Typing, ask: Ask | None = None, value: str | None = None) -> None:
        self._typing, self._typed, self._ask, self._value = typing, "", ask, value

    def _stop(self) -> str:
        typed = self._typed
        self._typing, self._typed, self._ask, self._value = None, "", None, None
        return typed


def _is_special(key: str) -> bool:
    return len(key) > 1 and key.startswith(_ESC)
