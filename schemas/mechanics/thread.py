"""Threads as a plan names them: diameter and pitch, checked against the known sizes, and the tensile stress area."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import pi
from typing import Literal, TypeAlias

from schemas.plan.text import shown

MM_PER_INCH = Fraction(127, 5)
"""The inch in mm, exact by definition."""

Kind: TypeAlias = Literal["metric", "unified"]


@dataclass(frozen=True, slots=True)
class Thread:
    """A 60-degree thread of a known size; `d_mm` is the nominal diameter, `pitch_mm` the pitch, both in mm.

    `text` is our one spelling, such as `M12x1.75` or `1 1/8-12`. `tpi`, threads an inch, is None for a metric thread.
    """

    text: str
    kind: Kind
    d_mm: float
    pitch_mm: float
    tpi: int | None = None


# Pitches in mm, the coarse one first, None where the diameter has no coarse thread. The coarse pitches of M5 to M24 (with
# M7, without M9 and M11) were read in a public copy of the tables of ISO 898-1; everything else is from memory of ISO 261.
_METRIC: Mapping[str, tuple[str | None, ...]] = {
    "1.6": ("0.35", "0.2"), "2": ("0.4", "0.25"), "2.5": ("0.45", "0.35"), "3": ("0.5", "0.35"), "3.5": ("0.6", "0.35"),
    "4": ("0.7", "0.5"), "5": ("0.8", "0.5"), "6": ("1", "0.75"), "7": ("1", "0.75"), "8": ("1.25", "1", "0.75"),
    "9": ("1.25", "1", "0.75"), "10": ("1.5", "1.25", "1", "0.75"), "11": ("1.5", "1", "0.75"),
    "12": ("1.75", "1.5", "1.25", "1"), "14": ("2", "1.5", "1.25", "1"), "15": (None, "1.5", "1"),
    "16": ("2", "1.5", "1"), "17": (None, "1.5", "1"), "18": ("2.5", "2", "1.5", "1"), "20": ("2.5", "2", "1.5", "1"),
    "22": ("2.5", "2", "1.5", "1"), "24": ("3", "2", "1.5", "1"), "25": (None, "2", "1.5", "1"), "26": (None, "1.5"),
    "27": ("3", "2", "1.5", "1"), "28": (None, "2", "1.5", "1"), "30": ("3.5", "3", "2", "1.5", "1"),
    "32": (None, "2", "1.5"), "33": ("3.5", "3", "2", "1.5"), "35": (None, "1.5"), "36": ("4", "3", "2", "1.5"),
    "39": ("4", "3", "2", "1.5"), "42": ("4.5", "4", "3", "2", "1.5"), "45": ("4.5", "4", "3", "2", "1.5"),
    "48": ("5", "4", "3", "2", "1.5"), "52": ("5", "4", "3", "2", "1.5"), "56": ("5.5", "4", "3", "2", "1.5"),
    "60": ("5.5", "4", "3", "2", "1.5"), "64": ("6", "4", "3", "2", "1.5"),
}  # fmt: skip

# Threads an inch of each series. #10 to 1 of UNC and UNF were read in Shigley, 9th ed., Table 8-2, and FED-STD-H28/2B;
# 1-14 in a US Army capscrew table; #8, 1 1/8 and 1 1/4 of UNF, #8 of UNC, and the 8 threads above one inch in FAA AC 43.13-1B,
# Tables 7-1 and 7-2. Everything else is from memory of ASME B1.1.
_UNIFIED: Mapping[str, Mapping[str, tuple[int, ...]]] = {
    "UNC": {
        "#4": (40,), "#5": (40,), "#6": (32,), "#8": (32,), "#10": (24,), "#12": (24,), "1/4": (20,), "5/16": (18,),
        "3/8": (16,), "7/16": (14,), "1/2": (13,), "9/16": (12,), "5/8": (11,), "3/4": (10,), "7/8": (9,), "1": (8,),
        "1 1/8": (7,), "1 1/4": (7,), "1 3/8": (6,), "1 1/2": (6,),
    },
    "UNF": {
        "#4": (48,), "#5": (44,), "#6": (40,), "#8": (36,), "#10": (32,), "#12": (28,), "1/4": (28,), "5/16": (24,),
        "3/8": (24,), "7/16": (20,), "1/2": (20,), "9/16": (18,), "5/8": (18,), "3/4": (16,), "7/8": (14,), "1": (12,),
        "1 1/8": (12,), "1 1/4": (12,), "1 3/8": (12,), "1 1/2": (12,),
    },
    "UNS": {"1": (14,)},
    "UNEF": {
        "#12": (32,), "1/4": (32,), "5/16": (32,), "3/8": (32,), "7/16": (28,), "1/2": (28,), "9/16": (24,), "5/8": (24,),
        "11/16": (24,), "3/4": (20,), "13/16": (20,), "7/8": (20,), "15/16": (20,), "1": (20,), "1 1/8": (18,),
        "1 1/4": (18,), "1 3/8": (18,), "1 1/2": (18,),
    },
    "UN": {
        "7/16": (16,), "1/2": (16,), "9/16": (16,), "5/8": (12, 16), "11/16": (12, 16), "3/4": (12,), "13/16": (12, 16),
        "7/8": (12, 16), "15/16": (12, 16), "1": (16,), "1 1/8": (8, 16), "1 1/4": (8, 16), "1 3/8": (8, 16),
        "1 1/2": (8, 16),
    },
}  # fmt: skip

# A wrong digit is likelier than a rare series, so those two count only where the text names them; but 8 threads above one
# inch stand in printed tables without their series.
_NAMED_ONLY = {"UNEF", "UN"}
_PRINTED_BARE = 8

_METRIC_TEXT = re.compile(r"M([0-9]+(?:\.[0-9])?)(?: ?[x×] ?([0-9](?:\.[0-9]{1,2})?))?")
_UNIFIED_TEXT = re.compile(
    r"(#?[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}|[1-9][ -][0-9]{1,2}/[0-9]{1,2})-([1-9][0-9]?)(?: ?(UNC|UNF|UNEF|UNS|UN))?"
    r"|((?:[1-9][ -])?[0-9]{1,2}/[0-9]{1,2})"
)
_OR_LEAVE_OUT = "or take `thread` out for a special one"


def read_thread(text: str) -> Thread | None:
    """The thread that a plan's text names; None where it leaves the pitch open, such as `7/16` or a fine-only `M32`.

    A metric diameter alone is its coarse thread, as ISO 965-1 writes it (from memory). A unified size without series is
    looked for among UNC, UNF, 1-14 UNS and the printed 8 threads above one inch.

    Raises ValueError with what to write instead: no thread at all, no known diameter, no known pitch for the diameter.
    """
    if found := _METRIC_TEXT.fullmatch(text):
        return _metric(found[1], found[2])
    if found := _UNIFIED_TEXT.fullmatch(text):
        size, tpi, series, bare = found.groups()
        pairs = _pairs(_inch_size(size or bare))
        return _unified(_inch_size(size), int(tpi), series, pairs) if size else None
    raise ValueError(f"`{shown(text)}` is no thread that we read; write it like M14x2, M8, 7/16-14, 3/8 or #10-24")


def stress_area_mm2(thread: Thread) -> float:
    """The tensile stress area in mm².

    Metric: π/4 (d - 0.9382 P)², ISO 898-1 (read in a public copy). Unified: π/4 (d - 0.9743/n)² in inches, FED-STD-H28/2B,
    Appendix B (read); it holds for strengths up to 180 ksi, which covers the grades that we know.
    """
    return pi / 4 * (thread.d_mm - (0.9382 if thread.kind == "metric" else 0.9743) * thread.pitch_mm) ** 2


def _metric(diameter: str, pitch: str | None) -> Thread | None:
    diameter = f"{float(diameter):g}"
    if diameter not in _METRIC:
        raise ValueError(f"`M{diameter}` is no metric size that we know; write {_nearest(diameter)}, {_OR_LEAVE_OUT}")
    coarse, *fine = known = _METRIC[diameter]
    written = coarse if pitch is None else f"{float(pitch):g}"
    if written is None:
        return None
    if written not in known:
        names = _either([f"M{diameter}x{one}" for one in (coarse, *fine) if one])
        raise ValueError(f"`M{diameter}x{written}` has no pitch that is known for M{diameter}; write {names}, {_OR_LEAVE_OUT}")
    return Thread(f"M{diameter}x{written}", "metric", float(diameter), float(written))


def _nearest(diameter: str) -> str:
    nearest = sorted(_METRIC, key=lambda known: abs(float(known) - float(diameter)))[:2]
    return _either([f"M{known}" for known in sorted(nearest, key=float)])


def _inch_size(text: str) -> str:
    """One spelling a size: `#` before a screw number (1 is the whole inch), a space after the inches."""
    if text.isdigit():
        return text if text == "1" else f"#{text}"
    return text.replace("-", " ")


def _unified(size: str, tpi: int, series: str | None, pairs: list[tuple[str, int]]) -> Thread:
    if not any(tpi == known and _fits(tpi, own, series) for own, known in pairs):
        written = f"{size}-{tpi}{f' {series}' if series else ''}"
        names = _either([f"{size}-{known} {own}" for own, known in pairs])
        raise ValueError(f"`{written}` has no pitch that is known for {size}; write {names}, {_OR_LEAVE_OUT}")
    return Thread(f"{size}-{tpi}", "unified", _inches_mm(size), float(MM_PER_INCH / tpi), tpi)


def _fits(tpi: int, own: str, series: str | None) -> bool:
    return series == own if series else own not in _NAMED_ONLY or (own == "UN" and tpi == _PRINTED_BARE)


def _pairs(size: str) -> list[tuple[str, int]]:
    """Series and threads an inch that are known for a size; ValueError where the size itself is not."""
    pairs = [(series, tpi) for series, sizes in _UNIFIED.items() for tpi in sizes.get(size, ())]
    if not pairs:
        raise ValueError(f"`{size}` is no inch size that we know; write one from #4 to 1 1/2, such as 7/16-14, {_OR_LEAVE_OUT}")
    return pairs


def _inches_mm(size: str) -> float:
    # A screw number is 0.060 inch and 0.013 for each step, ASME B1.1 (from memory; #10 is 0.190 in every table).
    if size.startswith("#"):
        return float((Fraction(60, 1000) + int(size[1:]) * Fraction(13, 1000)) * MM_PER_INCH)
    return float(sum(map(Fraction, size.split())) * MM_PER_INCH)


def _either(names: list[str]) -> str:
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))
