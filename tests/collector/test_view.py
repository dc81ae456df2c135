"""What is on the glass: asserted on the text that rich writes for a terminal of a given size, and on a real pseudo-terminal."""

import io
import os
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from rich.cells import cell_len
from rich.console import Console

from collector.cli import wording
from collector.cli.keys import KEYS
from collector.cli.picture import Picture
from collector.cli.view import LineView, QuietConsole, TerminalView, view_for
from schemas.route import Band, Joint, Stage
from schemas.screen import Ask, AskWord, JointRow, Last, Screen, Target
from schemas.words import Kind, Proof, Role, Verdict

EDGES = (Decimal("85.5"), Decimal(95), Decimal("104.5"))
STAGE = Stage(1, Decimal(100), Band(*EDGES, *EDGES))
JOINT = Joint(
    "joint-1", "Spring U-bolt nuts, left", 4, (STAGE,), (1, 3, 2, 4), "cross", "N·m", thread="M14x2", prep="dry",
    nut="prevailing", counter_hold="bolt head, 22 mm", socket="22 mm", wrenches=("W-140",),
)  # fmt: skip
ROWS = tuple(
    JointRow(number, f"joint-{number}", f"Joint number {number}", 4, 0, 0, Proof.MISSED, confirmed=False, left_loose=False)
    for number in range(1, 31)
)
PULL = Last(
    "in band", "Spring U-bolt nuts, left, fastener 1", 1, Kind.TIGHTENING, Verdict.IN_BAND, torque="95.2", unit="N·m",
    torque_shown="95.2 N·m",
)  # fmt: skip
OVER = replace(PULL, word="over", verdict=Verdict.OVER, torque="131", torque_shown="131 N·m", stop=True)
STRIPES = Ask(AskWord.STRIPES, "Stripes: 4 of 4?", joint="joint-1", of=4)
TARGET = Target(JOINT, STAGE, 3, 1, STAGE.band)
SCREEN = Screen(
    "J-17", "Box trailer, rear axle and hubs", True, TARGET, None, PULL, ROWS, (), "W-140 on its port",
    True, readings=12,
)  # fmt: skip


@pytest.fixture(autouse=True)
def capable_terminal(monkeypatch):
    """The same terminal whatever runs the tests."""
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE", "COLORTERM"):
        monkeypatch.delenv(name, raising=False)


def drawn(screen: Screen, width: int = 80, height: int = 24, *, prompt: str = "", whole: bool = False) -> list[str]:
    console = Console(file=io.StringIO(), width=width, height=height, record=True)
    console.print(Picture(screen, prompt, whole=whole))
    return console.export_text().splitlines()


SIZES = pytest.mark.parametrize(
    ("width", "height"),
    [
        pytest.param(80, 24, id="80x24"),
        pytest.param(120, 40, id="120x40"),
        pytest.param(120, 24, id="120x24"),
        pytest.param(240, 60, id="240x60"),
    ],
)


@SIZES
def test_everything_that_the_fitter_needs_is_on_one_glass(width, height):
    screen = replace(
        SCREEN, ask=STRIPES, reminders=("Wheels chocked",), notice="noted", rows=(replace(ROWS[0], left_loose=True), *ROWS[1:])
    )

    lines = drawn(screen, width, height)

    text = "\n".join(lines)
    for needed in (
        "SIMULATED", "Box trailer, rear axle and hubs", "J-17", "readings 12", "● IN BAND  95.2 N·m", "Spring U-bolt nuts, left",
        "fastener 3 of 4", "stage 1 of 1 (100 %)", "order cross", "95 N·m   in band: 85.5 to 104.5 N·m", "W-140", "M14x2",
        "dry", "prevailing", "Stripes: 4 of 4? Enter = yes, n = no", "! Wheels chocked", "plan: 0 of 120 fasteners",
        ">  1 Joint number 1", "STILL LOOSE: 1 Joint number 1", "noted", "link: W-140 on its port", KEYS, wording.SAFETY,
    ):  # fmt: skip
        assert needed in text
    assert len(lines) == height
    assert max(cell_len(line) for line in lines) <= width


@pytest.mark.parametrize("width", [1, 7, 20, 40, 79])
@pytest.mark.parametrize("height", [1, 5, 12])
def test_a_small_terminal_gets_what_fits_and_no_error(width, height):
    lines = drawn(replace(SCREEN, ask=STRIPES, reminders=("a", "b")), width, height)

    assert len(lines) == height
    assert max(cell_len(line) for line in lines) <= width


def test_the_position_is_drawn_in_big_digits():
    glass = drawn(replace(SCREEN, target=Target(JOINT, STAGE, 14, 1, STAGE.band)))

    assert [line[:16].rstrip() for line in glass[5:10]] == [
        "  ██      ██  ██",
        "████      ██  ██",
        "  ██      ██████",
        "  ██          ██",
        "██████        ██",
    ]


@pytest.mark.parametrize("number", range(10))
def test_each_digit_differs_from_the_others(number):
    def digit(position: int) -> list[str]:
        return [line[:6] for line in drawn(replace(SCREEN, target=Target(JOINT, STAGE, position, 1, STAGE.band)))[5:10]]

    assert [other for other in range(10) if digit(other) == digit(number)] == [number]


def test_over_says_stop_and_what_not_to_do():
    text = "\n".join(drawn(replace(SCREEN, last=OVER)))

    assert "▲ OVER  131 N·m" in text
    assert "STOP: do not back off and carry on; ask the lead" in text


def test_nothing_moves_when_a_verdict_comes():
    before, in_band, over = (drawn(replace(SCREEN, last=last)) for last in (None, PULL, OVER))

    assert " no reading yet" in before[2]
    assert before[5:] == in_band[5:] == over[5:]


@pytest.mark.parametrize("target", [1, 15, 30])
def test_the_joint_in_hand_is_among_the_rows_that_fit(target):
    screen = replace(SCREEN, target=Target(replace(JOINT, id=f"joint-{target}"), STAGE, 3, 1, STAGE.band))

    text = "\n".join(drawn(screen))

    assert f">{target:>3} Joint number {target} " in text
    assert re.search(r"joints \d+ to \d+ of 30", text)


def test_without_a_target_the_rows_show_the_joint_asked_about_or_the_first_unfinished():
    done = tuple(replace(row, done=4, proof=Proof.PROVEN) for row in ROWS)
    asked = replace(SCREEN, target=None, ask=replace(STRIPES, joint="joint-28"))
    unfinished = replace(SCREEN, target=None, rows=(*done[:19], ROWS[19], *done[20:]))

    assert "Joint number 28" in "\n".join(drawn(asked))
    assert "Joint number 20 " in "\n".join(drawn(unfinished))
    assert "Joint number 1 " in "\n".join(drawn(replace(SCREEN, target=None, rows=done)))


def test_a_bar_is_full_only_when_nothing_is_left():
    rows = (replace(ROWS[0], done=299, fasteners=300), replace(ROWS[1], done=4), replace(ROWS[2], fasteners=0))

    text = "\n".join(drawn(replace(SCREEN, rows=rows)))

    assert "299/300 ███████░" in text
    assert "4/4 ████████" in text
    assert "0/0 ░░░░░░░░" in text


def test_a_failed_joint_is_said_in_words_and_a_repeat_is_no_alarm():
    failed = replace(ROWS[0], failed=1, proof=Proof.FAILED)
    repeat = replace(PULL, word="repeat", kind=Kind.REPEAT)

    text = "\n".join(drawn(replace(SCREEN, rows=(failed,), last=repeat)))

    assert "0/4 ░░░░░░░░ 1 failed" in text
    assert " ◎ REPEAT, IN BAND  95.2 N·m" in text


def test_a_reading_without_a_value_is_told_in_its_own_words():
    text = "\n".join(drawn(replace(SCREEN, last=Last("unreadable", "checksum differs"))))

    assert " ? UNREADABLE" in text
    assert "checksum differs" in text


def test_more_cautions_than_fit_are_announced_and_push_nothing_else_away():
    many = tuple(f"Caution {number}: the trailer is on stands and the spring is unloaded, and so it stays" for number in range(9))

    text = "\n".join(drawn(replace(SCREEN, reminders=many, ask=STRIPES)))

    assert "! Caution 0" in text
    assert "! and more: read the plan before you go on" in text
    assert "Stripes: 4 of 4?" in text
    assert ">  1 Joint number 1" in text
    assert wording.SAFETY in text


def test_a_question_to_the_lead_says_whose_name():
    ask = Ask(AskWord.HOLD_POINT, "Loaded to ride height?", Role.LEAD)

    text = " ".join(line.strip() for line in drawn(replace(SCREEN, target=None, ask=ask)))

    assert "Loaded to ride height? For the lead: Enter, then the name; n = no" in text
    assert "Nothing to pull before the question is answered" in text


def test_what_is_typed_stands_in_the_place_of_the_notice():
    text = "\n".join(drawn(replace(SCREEN, notice="noted"), prompt="other joint: 3_"))

    assert "other joint: 3_" in text
    assert "noted" not in text


@pytest.mark.parametrize("simulated", [True, False])
@SIZES
def test_simulated_is_said_when_and_only_when_it_is(width, height, simulated):
    assert ("SIMULATED" in drawn(replace(SCREEN, simulated=simulated), width, height)[0]) is simulated


def test_a_title_of_any_length_leaves_the_simulated_mark():
    assert drawn(replace(SCREEN, title="x" * 500))[0].startswith(" SIMULATED ")


def test_text_from_a_plan_is_neither_markup_nor_control():
    joint = replace(JOINT, name="[bold red]Left[/] :smile:\x1b[2J\nnuts", prep="[link=x]dry\x07")
    rows = (replace(ROWS[0], name="[/]\x1b]0;x\x07"),)

    text = "\n".join(
        drawn(
            replace(
                SCREEN,
                target=Target(joint, STAGE, 1, 1, STAGE.band),
                rows=rows,
                title="[blink]t",
                reminders=("[x]",),
                notice="[/b]",
            )
        )
    )

    for shown in ("[bold red]Left[/] :smile: [2J nuts", "[link=x]dry", "[/] ]0;x", "[blink]t", "! [x]", "[/b]"):
        assert shown in text
    assert "\x1b" not in text
    assert "\x07" not in text


def test_the_end_is_told_with_every_joint_and_without_keys():
    lines = drawn(replace(SCREEN, target=None, ended=True), whole=True)

    text = "\n".join(lines)
    assert all(f"Joint number {row.number} " in text for row in ROWS)
    assert "Ended. The torque record is NOT complete: 0 of 120 fasteners done" in text
    assert "missed" in text
    assert KEYS not in text
    assert "Joint number 30 " in "\n".join(drawn(SCREEN, width=160, whole=True))


def terminal() -> tuple[TerminalView, io.StringIO]:
    stream = io.StringIO()
    return TerminalView(QuietConsole(file=stream, force_terminal=True, width=80, height=24)), stream


def test_each_picture_is_drawn_before_show_returns():
    view, stream = terminal()

    view.show(SCREEN)
    assert "IN BAND" in stream.getvalue()
    assert "STOP" not in stream.getvalue()
    view.show(replace(SCREEN, last=OVER))
    assert "STOP" in stream.getvalue()
    view.close()


def colour_codes(text: str) -> set[int]:
    """The parts of the escape sequences that choose a colour (ECMA-48, SGR; 90 and up are a custom; from memory)."""
    codes = {int(code) for sequence in re.findall(r"\x1b\[([0-9;]+)m", text) for code in sequence.split(";")}
    return codes & {*range(30, 39), *range(40, 49), *range(90, 98), *range(100, 108)}


@pytest.mark.parametrize(
    ("last", "rings"),
    [
        pytest.param(replace(PULL, n=2), 0, id="in-band"),
        pytest.param(OVER, 1, id="over"),
        pytest.param(Last("unreadable", "5 bytes without the start mark"), 1, id="unreadable"),
        pytest.param(PULL, 0, id="the-same-again"),
        pytest.param(None, 0, id="nothing"),
    ],
)
def test_the_bell_sounds_for_a_pull_that_needs_a_look(last, rings):
    file = io.StringIO()
    view = TerminalView(QuietConsole(file=file, force_terminal=True, width=80, height=24))
    view.show(SCREEN)
    view.show(replace(SCREEN, last=last))
    view.close()

    assert file.getvalue().count("\a") == rings


def test_colour_is_left_out_where_the_reader_asks_for_none(monkeypatch):
    """As https://no-color.org has it: the variable is there and not empty."""
    coloured, coloured_stream = terminal()
    monkeypatch.setenv("NO_COLOR", "1")
    uncoloured, plain_stream = terminal()

    for view in (coloured, uncoloured):
        view.show(SCREEN)
        view.close()

    assert colour_codes(coloured_stream.getvalue())
    assert not colour_codes(plain_stream.getvalue())
    assert "● IN BAND" in plain_stream.getvalue()


def test_typing_redraws_only_when_the_line_changes():
    view, stream = terminal()
    view.prompt("before the first picture_")
    assert stream.getvalue() == ""
    view.show(SCREEN)
    assert "before the first picture_" in stream.getvalue()

    view.prompt("other joint: 3_")
    length = len(stream.getvalue())
    view.prompt("other joint: 3_")

    assert "other joint: 3_" in stream.getvalue()
    assert len(stream.getvalue()) == length
    view.close()


def test_after_close_the_last_picture_stays_and_nothing_more_is_drawn():
    view, stream = terminal()
    view.show(SCREEN)

    view.close()
    left = stream.getvalue()
    view.show(replace(SCREEN, last=OVER))
    view.prompt("x")
    view.close()

    assert "Joint number 30" in left.rpartition("\x1b[?1049l")[2]
    assert stream.getvalue() == left


def test_closed_before_the_first_picture_it_leaves_nothing():
    view, stream = terminal()

    view.close()

    assert stream.getvalue() == ""


class BrokenStream(io.StringIO):
    """A pipe whose reader went away."""

    def write(self, text: str) -> int:
        raise BrokenPipeError(32, "Broken pipe")


def test_a_broken_terminal_never_reaches_the_flow():
    drawn_view = TerminalView(QuietConsole(file=BrokenStream(), force_terminal=True, width=80, height=24))
    line_view = LineView(BrokenStream())

    for view in (drawn_view, line_view):
        view.show(SCREEN)
        view.prompt("x")
        view.close()


def read_until(reader, mark: str, then: str = "") -> str:
    """What the terminal was sent up to `mark` with `then` somewhere behind it; it comes in pieces of any size."""
    text = ""
    while then not in text.partition(mark)[2] or mark not in text:
        text += reader.read(65536).decode(errors="replace")
    return text


def test_a_real_terminal_gets_the_drawn_view_on_its_other_page_and_is_given_back():
    """`?1049` turns to the other page and `?25` hides and shows the cursor (xterm's control sequences, from memory)."""
    pytest.importorskip("pty", reason="pseudo-terminals are a thing of POSIX systems")
    glass, end = os.openpty()
    with open(glass, "rb", buffering=0) as reader, open(end, "w", encoding="utf-8") as stream:
        view = view_for(stream)
        assert isinstance(view, TerminalView)

        view.show(SCREEN)
        shown = read_until(reader, "\x1b[?1049h")
        view.close()
        left = read_until(reader, "\x1b[?1049l", "Do not watch the screen while pulling.")

    assert "\x1b[?1049h" in shown
    assert "\x1b[?1049l" in left
    assert left.rfind("\x1b[?25h") > left.rfind("\x1b[?25l")


@pytest.mark.parametrize("name", ["dumb", "unknown"])
def test_a_terminal_that_cannot_move_its_cursor_gets_lines(monkeypatch, name):
    pytest.importorskip("pty", reason="pseudo-terminals are a thing of POSIX systems")
    monkeypatch.setenv("TERM", name)
    glass, end = os.openpty()
    with open(glass, "rb"), open(end, "w", encoding="utf-8") as stream:
        assert isinstance(view_for(stream), LineView)


def test_a_stream_that_is_no_terminal_gets_lines():
    assert isinstance(view_for(io.StringIO()), LineView)


def lines_of(*screens: Screen) -> list[list[str]]:
    """What each picture in turn adds."""
    stream = io.StringIO()
    view, added = LineView(stream), []
    for screen in screens:
        before = len(stream.getvalue())
        view.show(screen)
        added.append(stream.getvalue()[before:].splitlines())
    view.prompt("a half-typed na")
    view.close()
    assert "half-typed" not in stream.getvalue()
    return added


REAL = replace(SCREEN, simulated=False)


def test_the_first_picture_is_told_whole():
    ((*lines,),) = lines_of(replace(REAL, reminders=("Wheels chocked",), notice="goes on"))

    assert lines == [
        "Box trailer, rear axle and hubs, job J-17",
        "Support and secure the vehicle first. Do not watch the screen while pulling.",
        "link: W-140 on its port",
        "● IN BAND  95.2 N·m  Spring U-bolt nuts, left, fastener 1",
        "goes on",
        "! Wheels chocked",
        "next: Spring U-bolt nuts, left · fastener 3 of 4 · stage 1 of 1 (100 %) · order cross"
        " · 95 N·m, in band: 85.5 to 104.5 N·m",
        "      wrench W-140 · socket 22 mm · counter-hold bolt head, 22 mm · thread M14x2 · preparation dry · nut prevailing",
    ]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        pytest.param({}, [], id="nothing-new"),
        pytest.param({"target": Target(JOINT, STAGE, 2, 1, STAGE.band)}, [], id="next-fastener-of-the-same-round"),
        pytest.param(
            {"last": OVER, "readings": 13},
            ["▲ OVER  131 N·m  Spring U-bolt nuts, left, fastener 1", "STOP: do not back off and carry on; ask the lead"],
            id="verdict",
        ),
        pytest.param({"ask": STRIPES}, ["Stripes: 4 of 4? Enter = yes, n = no"], id="question"),
        pytest.param({"notice": "no such\njoint"}, ["no such joint"], id="notice"),
        pytest.param({"link": "unplugged", "link_ok": False}, ["✕ NO LINK: unplugged"], id="link"),
        pytest.param({"reminders": ("Chock", "Stands")}, ["! Chock", "! Stands"], id="reminders"),
        pytest.param(
            {"rows": (replace(ROWS[0], left_loose=True),)}, ["STILL LOOSE: 1 Joint number 1"], id="loose"
        ),
        pytest.param(
            {"target": None, "ended": True},
            [
                "Ended. The torque record is NOT complete: 0 of 120 fasteners done",
                "Support and secure the vehicle first. Do not watch the screen while pulling.",
            ],
            id="end",
        ),
    ],
)  # fmt: skip
def test_only_what_is_new_is_told_and_only_once(change, told):
    after = replace(REAL, **change)

    assert lines_of(REAL, after, after)[1:] == [told, []]


def test_the_next_joint_and_the_way_back_are_told():
    other = replace(REAL, target=Target(replace(JOINT, id="joint-2", name="Shackle bolts"), STAGE, 1, 1, STAGE.band))

    _, there, none, back = lines_of(REAL, other, replace(REAL, target=None), REAL)

    assert there[0].startswith("next: Shackle bolts · fastener 1 of 4")
    assert none == []
    assert back[0].startswith("next: Spring U-bolt nuts, left · fastener 3 of 4")


def test_two_bad_frames_that_read_alike_are_two_events():
    bad = replace(REAL, last=Last("unreadable", "checksum differs"), readings=1)

    _, second = lines_of(bad, replace(bad, readings=2))

    assert second == ["? UNREADABLE  checksum differs"]


def test_a_picture_without_a_pull_tells_no_pull():
    (lines,) = lines_of(replace(REAL, last=None, target=None, ended=True))

    assert lines == [
        "Box trailer, rear axle and hubs, job J-17",
        wording.SAFETY,
        "link: W-140 on its port",
        "Ended. The torque record is NOT complete: 0 of 120 fasteners done",
        wording.SAFETY,
    ]


def test_every_line_of_a_simulated_run_says_so():
    added = lines_of(SCREEN, replace(SCREEN, last=OVER, ask=STRIPES), replace(SCREEN, target=None, ended=True))

    assert all(line.startswith("SIMULATED  ") for lines in added for line in lines)
    assert all(added)
