"""Foreign text made fit for a page that is set in our own fonts: nothing lost, nothing invisible, nothing past the edge."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]  # the package has no types

from analysis.load.places import isolated
from analysis.report.wording import with_visible_controls

FONTS = Path(__file__).parent / "fonts"

# Where a line may be broken though the text itself has no break there; the template gives it no width and no sign.
BREAK = "\u200b"
_PIECE = 3
_ROOM_EM = 18.0
_ROW_CHARS = 250
# The bold font is wider by about this much.
_BOLD = 1.15

_WORD = re.compile(r"[^\s\u00a0]+")
# A space that keeps a unit with its number, joiners of Arabic and Persian spelling, and the marks that say which way to read.
_UNSEEN_BUT_MEANT = frozenset("\u00a0\u200c\u200d\u200e\u200f")
# What the wording leaves of these stands around a name that is written from right to left.
_AROUND_NAMES = frozenset("\u2068\u2069")


class Fitted(str):
    """A text for a place that is `room_em` wide, in units of its own size of type."""

    __slots__ = ("room_em",)
    room_em: float

    def __new__(cls, text: str, room_em: float) -> "Fitted":
        """The text with the width of its place."""
        fitted = super().__new__(cls, text)
        fitted.room_em = room_em
        return fitted


class Printable:
    """Makes texts printable, and remembers in `missing` which signs had to be written out as code points.

    Args:
        has: whether a sign can be set; whether the report's fonts have it where nothing else is given.
    """

    def __init__(self, has: Callable[[str], bool] | None = None) -> None:
        self._has = has or in_fonts
        self.missing: set[str] = set()

    def plain(self, text: str) -> str:
        """The text with each sign that cannot be set as its code point, `⟨U+65E5⟩`; plain ASCII stays as it is."""
        seen = str(with_visible_controls(str(text)))
        if seen.isascii():
            return seen
        return "".join(char if char in _AROUND_NAMES or self._has(char) else self._written_out(char) for char in seen)

    def cell(self, text: str) -> str:
        """The text for its place: a word too long for it may be broken; text from right to left moves no neighbour."""
        room = text.room_em if isinstance(text, Fitted) else _ROOM_EM
        seen = _WORD.sub(lambda word: _broken(word.group(), room), self.plain(text))
        return seen if seen.isascii() else isolated(seen)

    def _written_out(self, char: str) -> str:
        self.missing.add(char)
        return f"⟨U+{ord(char):04X}⟩"


def is_long(texts: Iterable[str]) -> bool:
    """Whether a row of these might stand taller than a page, even if each of its lines held three signs."""
    return sum(len(text) for text in texts) > _ROW_CHARS


def in_fonts(char: str) -> bool:
    """Whether our text font has the sign and it is one that a reader can see; bold and monospaced text fall back on it."""
    return char in "\n\t" or (ord(char) in _widths() and (char.isprintable() or char in _UNSEEN_BUT_MEANT))


def in_ascii(char: str) -> bool:
    """Whether the sign is one that every font has, or a bracket that a code point is written in."""
    return char.isascii() or char in "⟨⟩"


def _broken(word: str, room_em: float) -> str:
    # Most words are so short that they fit whatever their letters are.
    if len(word) * _BOLD <= room_em or sum(_widths().get(ord(char), 1.0) for char in word) * _BOLD <= room_em:
        return word
    pieces = [word[:1]]
    for char in word[1:]:
        # A sign that sits on the one before it stays with it.
        if len(pieces[-1]) < _PIECE or unicodedata.combining(char):
            pieces[-1] += char
        else:
            pieces.append(char)
    return BREAK.join(pieces)


@lru_cache(maxsize=1)
def _widths() -> Mapping[int, float]:
    """The signs of our text font by their code point, each with its width in em."""
    with TTFont(FONTS / "DejaVuSans.ttf", lazy=True) as font:
        advance, em = font["hmtx"].metrics, font["head"].unitsPerEm
        return {code: advance[glyph][0] / em for code, glyph in font.getBestCmap().items()}
