"""Strength grades as a plan names them, and the load that a thread of the grade bears without lasting stretch."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from schemas.mechanics.thread import MM_PER_INCH, Kind, Thread, stress_area_mm2

_MPA_PER_KSI = 6.894757293168
"""From the exact pound-force (4.4482216152605 N) and inch."""


class ProofStep(NamedTuple):
    """The proof stress in MPa for diameters up to and with `up_to_mm`."""

    up_to_mm: float
    proof_mpa: float


@dataclass(frozen=True, slots=True)
class Grade:
    """A property class of ISO 898-1 or a grade of SAE J429; `threads` is the kind of thread that its standard is about.

    `from_mm` is the least diameter of the standard; `steps` go up, the last one ends its diameters.
    """

    text: str
    threads: Kind
    from_mm: float
    steps: tuple[ProofStep, ...]


def _metric(name: str, *steps: tuple[float, float]) -> Grade:
    return Grade(f"class {name}", "metric", 1.6, tuple(ProofStep(*step) for step in steps))


def _sae(name: str, *steps: tuple[Fraction, int]) -> Grade:
    in_mm = tuple(ProofStep(float(up_to * MM_PER_INCH), ksi * _MPA_PER_KSI) for up_to, ksi in steps)
    return Grade(f"SAE grade {name}", "unified", float(Fraction(1, 4) * MM_PER_INCH), in_mm)


# ISO 898-1, proof stress in MPa: 8.8 to 12.9 read in public copies of its tables; 4.6 to 6.8, and that the standard goes
# from M1.6 to M39 (9.8 to M16), from memory.
_METRIC = {
    "4.6": _metric("4.6", (39, 225)),
    "4.8": _metric("4.8", (39, 310)),
    "5.6": _metric("5.6", (39, 280)),
    "5.8": _metric("5.8", (39, 380)),
    "6.8": _metric("6.8", (39, 440)),
    "8.8": _metric("8.8", (16, 580), (39, 600)),
    "9.8": _metric("9.8", (16, 650)),
    "10.9": _metric("10.9", (39, 830)),
    "12.9": _metric("12.9", (39, 970)),
}

# SAE J429, proof stress in ksi, 1/4 to 1 1/2 inch: read in public copies of its table. Grade 2 to 3/4 is for bolts up to 6 inch.
_LARGEST = Fraction(3, 2)
_SAE = {
    "2": _sae("2", (Fraction(3, 4), 55), (_LARGEST, 33)),
    "5": _sae("5", (Fraction(1), 85), (_LARGEST, 74)),
    "8": _sae("8", (_LARGEST, 120)),
}

_WORD = r"(?:property ?class|class|cl\.?|grade|gr\.?)"
_METRIC_TEXT = re.compile(rf"(?:iso ?898(?:-1)?,? ?)?(?:{_WORD} ?)?([0-9]{{1,2}}\.[0-9])")
_SAE_TEXT = re.compile(r"(?=[sjg])(?:sae ?)?(?:j ?429,? ?)?(?:grade|gr\.?)? ?([0-9])")


def read_grade(text: str) -> Grade | None:
    """The grade that a plan's text names, such as `8.8`, `class 10.9`, `grade 5` or `SAE J429 gr. 8`; None where unknown.

    A bare `5` or `8` is unknown: it may be a nut's class, so that only the word grade or SAE makes a bolt's grade of it.
    """
    plain = " ".join(text.casefold().split())
    if found := _METRIC_TEXT.fullmatch(plain):
        return _METRIC.get(found[1])
    if found := _SAE_TEXT.fullmatch(plain):
        return _SAE.get(found[1])
    return None


def proof_stress_mpa(grade: Grade, thread: Thread) -> float | None:
    """The proof stress in MPa; a boundary diameter belongs to the smaller sizes (M16 of class 8.8 has 580, M18 has 600).

    None where the grade's standard does not cover the thread: too small, too large, or an inch grade on a metric thread.
    """
    if grade.threads != thread.kind or thread.d_mm < grade.from_mm:
        return None
    return next((step.proof_mpa for step in grade.steps if thread.d_mm <= step.up_to_mm), None)


def proof_load_n(thread: Thread, grade: Grade) -> float | None:
    """The proof load in N, stress area times proof stress (ISO 898-1, SAE J429); None where the stress is."""
    stress = proof_stress_mpa(grade, thread)
    return None if stress is None else stress_area_mm2(thread) * stress
