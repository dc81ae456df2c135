"""Whether a torque can be meant for its thread, grade and preparation.

Plausibility, not joint design: the maker's value rules.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from schemas.findings.finding import NotChecked, PlanFinding
from schemas.findings.subject import Seen, Subject, missing, quoted, torque_field
from schemas.mechanics.preload import K_NOT_STATED, KRange, TorqueRange, Word, plausibility, torque_range_nm
from schemas.mechanics.strength import Grade
from schemas.mechanics.thread import Thread
from schemas.units import find_unit

CHECK = "torque against the strength of the thread"

USUAL_FROM = 0.5
"""A share at the lowest K from which a torque is called usual in a hint.

Half of the proof load is about what the ordinary 75 % at K 0.20 come to at K 0.30; less would make a hint of nearly every
reading of the digits.
"""

UNITS_MIXED_UP = ("N·m", "lbf·ft", "lbf·in", "kgf·m")
"""The units that torques are printed in, and that a plan may mix up."""


@dataclass(frozen=True, slots=True)
class Strength:
    """What a joint stands: `proof` are the torques that reach its proof load, at both ends of K."""

    thread: Thread
    grade: Grade
    k: KRange
    proof: TorqueRange

    def share_high(self, torque_nm: Decimal) -> float:
        """The largest share of the proof load that a torque may give."""
        return float(torque_nm) / self.proof.low_nm

    def word(self, torque_nm: Decimal) -> Word | None:
        """What is implausible about a torque, None where nothing is."""
        return plausibility(torque_nm, self.thread, self.grade, self.k).word

    def is_usual(self, torque_nm: Decimal) -> bool:
        """Whether a torque is what one would expect."""
        return self.word(torque_nm) is None and self.share_high(torque_nm) >= USUAL_FROM


def torque_findings(subject: Subject) -> Iterator[PlanFinding | NotChecked]:
    """Threads that there are not, torques beyond the proof load or far below the usual; what could not be checked."""
    for seen in subject.joints:
        if seen.thread_fault is not None:
            what, _, remedy = seen.thread_fault.partition("; ")
            yield subject.found("unknown-thread", seen, "thread", what, remedy)
            continue
        strength = strength_of(subject, seen)
        if isinstance(strength, str):
            yield missing(CHECK, seen, strength)
        elif seen.torque_nm is None:
            yield missing(CHECK, seen, "no torque is stated")
        else:
            yield from _implausible(subject, seen, strength, seen.torque_nm)
            if seen.model.then_angle is not None:
                yield missing("preload after a turn by an angle", seen, "it does not follow from the torque")


def strength_of(subject: Subject, seen: Seen) -> Strength | str:
    """What a joint stands by its thread, grade and preparation; a text, what is missing, where that cannot be said."""
    model = seen.model
    if seen.thread is None:
        return "`thread` is not stated" if model.thread is None else f"thread `{model.thread}` leaves the pitch open"
    if seen.grade is None:
        return "`grade` is not stated" if model.grade is None else f"grade `{model.grade}` is none that we know"
    k = K_NOT_STATED if model.prep is None else subject.k_ranges.get(model.prep)
    if k is None:
        return f"no K is known for prep `{model.prep}`: add one under [k] in settings.toml, or write one of the known words"
    proof = torque_range_nm(seen.thread, seen.grade, k, share=1.0)
    return (
        f"{seen.grade.text} does not cover {seen.thread.text}" if proof is None else Strength(seen.thread, seen.grade, k, proof)
    )


def _implausible(subject: Subject, seen: Seen, strength: Strength, torque_nm: Decimal) -> Iterator[PlanFinding]:
    word = strength.word(torque_nm)
    # A torque that only begins an angle is low on purpose.
    if word is None or (word == "far below" and seen.model.then_angle is not None):
        return
    k, proof, unit = strength.k, strength.proof, find_unit(seen.joint.unit)[0]
    low, high = (_short(0.75 * nm / float(unit.nm_per_unit)) for nm in (proof.low_nm, proof.high_nm))
    shares = " to ".join(f"{100 * float(torque_nm) / nm:.0f}" for nm in (proof.high_nm, proof.low_nm))
    on = f"{strength.thread.text}, {strength.grade.text}, {seen.model.prep or 'preparation not stated'}"
    what = (
        f"{quoted(seen)} on {on}, gives {shares} % of the proof load, with K from {k.high:.2f} to {k.low:.2f}; "
        f"75 % of it takes {low} to {high} {unit.symbol}{_hint(seen, strength, torque_nm)}"
    )
    name = "over-proof-load" if word == "over proof load" else "far-below-usual"
    yield subject.found(name, seen, torque_field(seen), what)


def _hint(seen: Seen, strength: Strength, torque_nm: Decimal) -> str:
    """Other readings of the same digits under which the torque would be usual."""
    own = find_unit(seen.joint.unit)[0]
    digits = torque_nm / own.nm_per_unit
    units = (find_unit(symbol)[0] for symbol in UNITS_MIXED_UP)
    readings = [(digits, unit) for unit in units if unit != own] + [(digits / 10, own), (digits * 10, own)]
    usual = [f"{_short(float(value))} {unit.symbol}" for value, unit in readings if strength.is_usual(value * unit.nm_per_unit)]
    return f"; {' or '.join(usual)} would be usual" if usual else ""


def _short(value: float) -> str:
    return f"{value:.3g}" if value < 1000 else f"{value:.0f}"
