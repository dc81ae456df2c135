"""Draws one picture for a terminal of any size: what became of the last pull, the next fastener, the whole plan."""

from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

from collector.cli import wording
from collector.cli.keys import KEYS
from schemas.screen import JointRow, Last, Screen, Target
from schemas.words import Kind, Proof, Verdict

WIDE = 120
TALL = 26
PLAN_LEAST = 3

# The colours of Okabe and Ito (2008, "Color Universal Design"), from memory: told apart in every common colour vision.
_BLUE, _ORANGE, _VERMILION, _SKY, _YELLOW = "#0072b2", "#e69f00", "#d55e00", "#56b4e9", "#f0e442"
_BAR = {
    Verdict.IN_BAND: f"bold white on {_BLUE}",
    Verdict.UNDER: f"bold black on {_ORANGE}",
    Verdict.MARGINAL: f"bold black on {_SKY}",
    Verdict.OVER: f"bold white on {_VERMILION}",
    Verdict.HELD: f"bold white on {_BLUE}",
    Verdict.MOVED: f"bold black on {_SKY}",
}
_WARN = f"bold black on {_YELLOW}"
_QUIET = "bold reverse"

# Three by five dots a digit, a row after the other; each dot two columns wide, to be read from across a bay.
_DIGITS = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": (" # ", "## ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", "###", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", "  #", "  #"),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
}
_DIGIT_ROWS = 5


class Picture:
    """A screen and what is being typed, as a rich renderable that fills the height it is given.

    `whole` gives every joint its row, whatever the height.
    """

    def __init__(self, screen: Screen, prompt: str = "", *, whole: bool = False) -> None:
        self._screen = screen
        self._prompt = wording.plain(prompt)
        self._whole = whole

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        width = options.max_width
        height = None if self._whole else options.height or options.max_height
        lines = self._side_by_side(console, width, height) if width >= WIDE else self._stacked(console, width, height)
        for line in lines[:height]:
            line.truncate(width, overflow="ellipsis")
            line.no_wrap = True
            yield line

    def _stacked(self, console: Console, width: int, height: int | None) -> list[Text]:
        head, foot = _head(self._screen, width), self._foot(console, width)
        room = None if height is None else height - len(head) - len(foot)
        top = _now(console, self._screen, width, None if room is None else room - PLAN_LEAST)
        return head + top + _plan(self._screen, width, None if room is None else room - len(top)) + foot

    def _side_by_side(self, console: Console, width: int, height: int | None) -> list[Text]:
        head, foot = _head(self._screen, width), self._foot(console, width)
        room = None if height is None else height - len(head) - len(foot)
        left_width = width // 2
        left = _now(console, self._screen, left_width, room)
        right = _plan(self._screen, width - left_width - 3, room)
        lines = []
        for index in range(max(len(left), len(right)) if room is None else room):
            line = left[index].copy() if index < len(left) else Text()
            line.truncate(left_width, overflow="ellipsis", pad=True)
            lines.append(Text.assemble(line, (" │ ", "dim"), right[index] if index < len(right) else ""))
        return head + lines + foot

    def _foot(self, console: Console, width: int) -> list[Text]:
        loose, screen = wording.loose_line(self._screen), self._screen
        lines = _wrapped(console, Text(loose, "bold"), width, 2) if loose else []
        said = self._prompt or wording.plain(screen.notice)
        lines += _wrapped(console, Text(said, "bold"), width, 2) if said else []
        lines.append(Text(wording.link_line(screen), "" if screen.link_ok else _WARN))
        if not (screen.ended or self._whole):
            lines.append(Text(KEYS, "dim"))
        lines.append(Text(wording.SAFETY))
        return lines


def _head(screen: Screen, width: int) -> list[Text]:
    mark = Text(f" {wording.SIMULATED} ", _WARN) if screen.simulated else Text()
    title = Text(f"{' ' if screen.simulated else ''}{wording.plain(screen.title)}", "bold")
    right = f"job {wording.plain(screen.job)} · readings {screen.readings}"
    line = Text.assemble(mark, title)
    spare = width - line.cell_len - len(right)
    line.append(f"{' ' * max(spare, 2)}{right}")
    return [line, Text()]


def _now(console: Console, screen: Screen, width: int, room: int | None) -> list[Text]:
    lines = _last(console, screen.last, width, is_tall=room is not None and room >= TALL)
    lines += [Text()] if screen.target is None else []
    lines += [*_next(console, screen, width), Text()]
    if screen.ask is not None:
        asked = _wrapped(console, Text(wording.ask_line(screen.ask)), width - 1, 3)
        lines += [*(_filled(line, width, _QUIET) for line in asked), Text()]
    if screen.reminders:
        lines += [*_reminders(console, screen, width, None if room is None else room - len(lines)), Text()]
    return lines


def _reminders(console: Console, screen: Screen, width: int, room: int | None) -> list[Text]:
    """Two lines each at most; where they do not fit the last line says so."""
    texts = [Text(f"! {wording.plain(reminder)}", "bold") for reminder in screen.reminders]
    lines = [line for text in texts for line in _wrapped(console, text, width, 2)]
    most = len(lines) if room is None else max(room, 1)
    return lines if len(lines) <= most else [*lines[: most - 1], Text("! and more: read the plan before you go on", _WARN)]


def _last(console: Console, last: Last | None, width: int, is_tall: bool) -> list[Text]:
    """Always as many lines, so that what stands below keeps its place on the glass."""
    style = _QUIET if last is None else _bar_style(last)
    edge = [_filled(Text(), width, style)] if is_tall else []
    if last is None:
        return [*edge, _filled(Text("no reading yet"), width, style), *edge, Text(), Text()]
    said = Text(wording.last_text(last))
    stop = Text(wording.STOP, _BAR[Verdict.OVER]) if last.stop else Text()
    return [*edge, _filled(Text(wording.last_headline(last)), width, style), *edge, *_wrapped(console, said, width, 1), stop]


def _bar_style(last: Last) -> str:
    if last.stop:
        return _BAR[Verdict.OVER]
    if last.verdict is None:
        return _WARN
    return _BAR[last.verdict] if last.kind in (None, Kind.TIGHTENING) or last.verdict is Verdict.OVER else _QUIET


def _next(console: Console, screen: Screen, width: int) -> list[Text]:
    if screen.target is None:
        return _wrapped(console, Text(wording.no_target(screen), "bold"), width, 2)
    digits = _big(str(screen.target.position))
    indent = digits[0].cell_len + 2
    texts = _next_texts(console, screen.target, width - indent, screen.levers)
    return [
        Text.assemble(digits[row] if row < len(digits) else " " * (indent - 2), "  ", texts[row] if row < len(texts) else "")
        for row in range(max(len(digits), len(texts)))
    ]  # fmt: skip


def _next_texts(console: Console, target: Target, width: int, levers: tuple[str, ...]) -> list[Text]:
    aim, band = wording.aim_text(target)
    lines = [Text(wording.plain(target.joint.name), "bold"), *_wrapped(console, Text(wording.place(target)), width, 2)]
    lines.append(Text.assemble((aim, "bold"), f"   in band: {band}"))
    for lever in levers[:3]:
        lines += _wrapped(console, Text(wording.plain(lever), "bold"), width, 2)
    return lines + _wrapped(console, Text(" · ".join(wording.fitting(target.joint))), width, 5)


def _big(number: str) -> list[Text]:
    rows = ("  ".join(_DIGITS[digit][row] for digit in number) for row in range(_DIGIT_ROWS))
    return [Text("".join("█" * 2 if dot == "#" else "  " for dot in row), f"bold {_SKY}") for row in rows]


def _plan(screen: Screen, width: int, room: int | None) -> list[Text]:
    """A heading and as many joints as fit around the one in hand; nothing where there is no room at all."""
    if room is not None and room < 1:
        return []
    shown = _window(screen, len(screen.rows) if room is None else room - 1)
    done, all_of_them = wording.progress(screen)
    heading = f"plan: {done} of {all_of_them} fasteners {_bar(done, all_of_them, 20)}"
    if shown and len(shown) < len(screen.rows):
        heading += f"  joints {shown[0].number} to {shown[-1].number} of {len(screen.rows)}"
    lines = [Text(heading, "bold")] + [_row(screen, row, width) for row in shown]
    return lines + [Text()] * ((room or 0) - len(lines))


def _row(screen: Screen, row: JointRow, width: int) -> Text:
    is_in_hand = screen.target is not None and screen.target.joint.id == row.joint
    name = Text(wording.plain(row.name))
    state = wording.row_state(row, screen.ended)
    count = f"{row.done}/{row.fasteners}"
    name.truncate(max(10, min(40, width - 37)), overflow="ellipsis", pad=True)
    line = Text.assemble(
        f"{'>' if is_in_hand else ' '}{row.number:>3} ", name, f" {count:>5} {_bar(row.done, row.fasteners, 8)} {state}"
    )
    if is_in_hand:
        line.stylize("bold")
    if row.failed or row.proof is Proof.FAILED:
        line.stylize(_VERMILION)
    return line


def _window(screen: Screen, room: int) -> tuple[JointRow, ...]:
    """The rows that fit, with the joint in hand (else the one asked about, else the first unfinished) about in the middle."""
    rows = screen.rows
    if room <= 0 or room >= len(rows):
        return rows if room > 0 else ()
    joint = screen.target.joint.id if screen.target else screen.ask.joint if screen.ask else None
    here = [index for index, row in enumerate(rows) if row.joint == joint]
    here = here or [index for index, row in enumerate(rows) if row.done < row.fasteners] or [0]
    first = min(max(here[0] - room // 2, 0), len(rows) - room)
    return rows[first : first + room]


def _bar(done: int, all_of_them: int, width: int) -> str:
    # Rounded down: a bar that is full says that nothing is left.
    filled = done * width // all_of_them if all_of_them else 0
    return "█" * filled + "░" * (width - filled)


def _filled(line: Text, width: int, style: str) -> Text:
    line = Text.assemble(" ", line)
    line.truncate(width, overflow="ellipsis", pad=True)
    line.stylize(style)
    return line


def _wrapped(console: Console, text: Text, width: int, most: int) -> list[Text]:
    """The text in at most so many lines, the last of them with an ellipsis where there was more."""
    lines: Iterable[Text] = text.wrap(console, max(width, 10))
    kept = list(lines)
    if len(kept) > most:
        rest = Text(" ").join(kept[most - 1 :])
        rest.truncate(width, overflow="ellipsis")
        kept[most - 1 :] = [rest]
    return kept
