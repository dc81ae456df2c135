"""The companion of a run whose terminal an instrument types into: takes answers as lines instead of single keys."""

from collector.cli.bench_front import BenchFront
from collector.cli.place import tell
from collector.cli.typed_answer import answers_to, typed_answer
from schemas.screen import Ask, Press, Screen


class LineAnswers:
    """Hands typed answers to the run that it accompanies."""

    def __init__(self) -> None:
        self._front: BenchFront | None = None
        self._asked: Ask | None = None

    def start(self, front: BenchFront) -> None:
        """The run begins: say of each new question how it is answered here."""
        self._front = front
        front.listeners.append(self._look)

    def stop(self) -> None:
        """The run has ended; what is typed from now on answers nothing."""
        self._front = None

    def take(self, line: str) -> None:
        """Take an answer, without its `/`; says on standard error why it is none."""
        front = self._front
        if front is None:
            return
        answer = typed_answer(line, front.screen)
        if isinstance(answer, Press):
            front.put(answer)
        else:
            tell(answer)

    def _look(self, screen: Screen) -> None:
        before, self._asked = self._asked, screen.ask
        if screen.ask is not None and screen.ask != before and not screen.ended:
            tell(answers_to(screen.ask))
