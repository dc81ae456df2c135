"""Turns an answer that was typed as a line into a press; each line stands for itself. Pure."""

from schemas.screen import Ask, AskWord, Press, PressWord, Screen
from schemas.words import Role

ANSWERS = (
    "/yes (or / alone) · /no · /fastener NUMBER · /same · /x not ours · /moved · /opened · /joint NUMBER · /lot TEXT · /quit"
)
"""The answers, as one line to read."""

_OF_LAST = {
    "same": PressWord.SAME_AGAIN,
    "s": PressWord.SAME_AGAIN,
    "x": PressWord.NOT_THIS_JOB,
    "moved": PressWord.MOVED,
    "m": PressWord.MOVED,
    "opened": PressWord.OPENED,
    "o": PressWord.OPENED,
}
_QUIT = ("quit", "q")
NO_READING = "the last line gave no reading; nothing was said of a pull"
"""Why a word about the last pull is not taken: it would speak of the pull before, which is not what the person sees."""


def typed_answer(line: str, screen: Screen | None) -> Press | str:
    """The press that a line means, or why it means none.

    Args:
        line: what was typed behind the `/`: a word, or the key of that answer, and what has to be typed with it. To `yes`
            belong the value where one is asked for, and the name where another person than the fitter signs.
        screen: the picture that the person sees, None before the first.
    """
    word, _, rest = line.strip().partition(" ")
    word, rest = word.lower(), rest.strip()
    ask = None if screen is None else screen.ask
    if word in ("", "yes", "y"):
        return _yes(ask, rest)
    if word in ("lot", "l"):
        return _lot(ask, rest)
    if word in ("joint", "j"):
        return _joint(screen, rest)
    if word in ("fastener", "f"):
        return _fastener(screen, rest)
    if rest or word not in (*_OF_LAST, *_QUIT, "no", "n"):
        return f"`/{line}` is no answer; answers are: {ANSWERS}"
    if word in ("no", "n"):
        return "nothing is asked" if ask is None else Press(PressWord.NO, ask=ask)
    last = None if screen is None else screen.last
    n = None if last is None else last.n
    if word in _QUIT:
        return Press(PressWord.QUIT, n=n)
    if last is not None and n is None:
        return NO_READING
    return Press(_OF_LAST[word], n=n)


def answers_to(ask: Ask) -> str:
    """How a question is answered by a line, for questions name single keys."""
    if ask.word is AskWord.FASTENER:
        return "type / alone for yes, /fastener NUMBER for another one, /no for not known"
    yes = " and the ".join(_wanted(ask))
    lot = ", /lot TEXT for yes with the lot" if ask.word is AskWord.PREPARED else ""
    return f"type {f'/yes {yes}' if yes else '/ alone for yes'}{lot}, /no for no"


def _wanted(ask: Ask) -> list[str]:
    value = [f"VALUE in {ask.value_in}"] if ask.value_in else []
    return value if ask.role is Role.FITTER else [*value, f"NAME of the {ask.role}"]


def _yes(ask: Ask | None, rest: str) -> Press | str:
    if ask is None:
        return "nothing is asked"
    value, _, name = rest.partition(" ") if ask.value_in else ("", "", rest)
    if bool(value) != bool(ask.value_in) or bool(name) != (ask.role is not Role.FITTER):
        return f"nothing was recorded: {answers_to(ask)}"
    return Press(PressWord.YES, name=name.strip() or None, ask=ask, value=value or None)


def _lot(ask: Ask | None, rest: str) -> Press | str:
    if ask is None or ask.word is not AskWord.PREPARED:
        return "a lot belongs to a preparation, and none is asked for now"
    return Press(PressWord.YES, ask=ask, value=rest) if rest else "type /lot and what stands on what was used"


def asked_fastener(screen: Screen | None) -> Ask | None:
    """The question which fastener a pull was on, where that is what is asked."""
    ask = None if screen is None else screen.ask
    return ask if ask is not None and ask.word is AskWord.FASTENER else None


def named_pull(screen: Screen | None) -> tuple[Ask | None, int | None] | None:
    """The question and the reading that a fastener's number is said of; None where the person sees a line without a reading.

    Where that is asked, it is of the pull that the question names.
    """
    ask, last = asked_fastener(screen), None if screen is None else screen.last
    if last is not None and last.n is None and ask is None:
        return None
    return ask, None if last is None else last.n


def _fastener(screen: Screen | None, rest: str) -> Press | str:
    of = named_pull(screen)
    if of is None:
        return NO_READING
    if not (rest.isascii() and rest.isdecimal()):
        return "type /fastener and the number of the fastener in its joint"
    ask, n = of
    return Press(PressWord.FASTENER, ask=ask, n=n, value=rest)


def _joint(screen: Screen | None, rest: str) -> Press | str:
    if not rest:
        return Press(PressWord.OTHER_JOINT)
    for row in () if screen is None else screen.rows:
        if str(row.number) == rest:
            return Press(PressWord.OTHER_JOINT, joint=row.joint)
    return f"no joint has the number {rest}; give one from the list"
