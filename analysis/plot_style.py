"""How charts look: colours that also tell apart in grey, one font that is always there, and pictures that come out the same."""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.ft2font import FT2Font

Form = Literal["png", "svg"]

# From dark to light, each at least a fifth of the way from black to white away from the next one that it touches.
INK = "#1a1a1a"
BLUE = "#14366b"
VERMILLION = "#b23a00"
GREY = "#595959"
BAND = "#c3cfe2"
OUTSIDE = "#f6e9e1"

DASHES = (0, (4, 2.2))
LIMIT_DASHES = (0, (7, 1.5, 1.2, 1.5))

TEXT_PT = 7.5
TITLE_PT = 10.0
MM_PER_INCH = 25.4
PT_PER_MM = 72 / MM_PER_INCH
_DPI = 200
_FINE = 16
_BREAKS = re.compile(" (?!%|N·m)")

_STYLE: dict[str, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": TEXT_PT,
    "axes.linewidth": 0.6,
    "axes.unicode_minus": True,
    "hatch.linewidth": 0.5,
    "text.color": INK,
    "text.parse_math": False,
    # Letters as outlines: the picture is the same on every machine, and a page that takes it in needs no font of ours.
    "svg.fonttype": "path",
    "svg.hashsalt": "witnessmark",
    "path.simplify": False,
    "date.epoch": "1970-01-01T00:00:00",
}


@contextmanager
def drawing_style() -> Iterator[None]:
    """Our style over matplotlib's own defaults for as long as a chart is drawn, whatever the machine's settings say."""
    import matplotlib as mpl

    style: Any = {**_shipped(), **_STYLE}
    with mpl.rc_context(style):
        yield


@lru_cache(maxsize=1)
def _shipped() -> dict[str, Any]:
    import matplotlib as mpl

    return {key: value for key, value in mpl.rcParamsDefault.items() if not key.startswith("backend")}


@drawing_style()
def figure_bytes(figure: "Figure", form: Form, words: str) -> bytes:
    """The figure as a picture that also says what it shows in words; the same figure gives the same bytes.

    No date and no program's version is in them.
    """
    made = io.BytesIO()
    unsaid = ("Date", "Creator") if form == "svg" else ("Software",)
    metadata = {"Title": drawable(words), **dict.fromkeys(unsaid)}
    figure.savefig(made, format=form, dpi=_DPI, metadata=metadata)
    return made.getvalue()


@lru_cache(maxsize=4096)
def text_width_pt(text: str, size_pt: float = TEXT_PT, *, bold: bool = False) -> float:
    """How wide a single line of text is set, in points."""
    font = _font(bold)
    # Large, so that no letter is moved to whole dots.
    font.set_size(size_pt, 72 * _FINE)
    font.set_text(text)
    width, _ = font.get_width_height()
    return float(width) / 64 / _FINE


def wrapped(text: str, room_pt: float, size_pt: float = TEXT_PT, *, bold: bool = False) -> list[str]:
    """The text in lines that are no wider than `room_pt`; a number keeps its unit, a word that is wider by itself is cut."""
    if text_width_pt(text, size_pt, bold=bold) <= room_pt:
        return [text]
    lines = [""]
    for word in _BREAKS.split(text):
        longer = f"{lines[-1]} {word}".strip()
        if text_width_pt(longer, size_pt, bold=bold) <= room_pt:
            lines[-1] = longer
            continue
        rest = word
        while text_width_pt(rest, size_pt, bold=bold) > room_pt:
            fits = next(n for n in range(len(rest) - 1, 0, -1) if text_width_pt(rest[:n], size_pt, bold=bold) <= room_pt)
            lines.append(rest[:fits])
            rest = rest[fits:]
        lines.append(rest)
    return [line for line in lines if line]


def drawable(text: str) -> str:
    """The text with each sign that our font lacks, or that cannot be seen, as its code point, `⟨U+65E5⟩`."""
    return "".join(char if char == " " or _has(char) else f"⟨U+{ord(char):04X}⟩" for char in text)


def _has(char: str) -> bool:
    return char.isprintable() and ord(char) in _signs(bold=False) and ord(char) in _signs(bold=True)


@lru_cache(maxsize=2)
def _signs(*, bold: bool) -> frozenset[int]:
    return frozenset(_font(bold).get_charmap())


@lru_cache(maxsize=2)
def _font(bold: bool) -> "FT2Font":
    from matplotlib.font_manager import FontProperties, findfont
    from matplotlib.ft2font import FT2Font

    return FT2Font(findfont(FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")))
