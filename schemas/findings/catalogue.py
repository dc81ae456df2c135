"""Every id that a finding of `plan check` may have, with its level, why it matters, and what to do by default.

An `error` cannot be accepted, and those of structure and of the register stop a job; a `warning` asks, and a plan may accept it
with a reason. Facts of the trade name their source or say that there is none.
"""

from collections.abc import Mapping
from typing import NamedTuple

from schemas.findings.structural import STRUCTURAL


class Kind(NamedTuple):
    """What all findings of one id have in common."""

    level: str
    why: str
    remedy: str


_MAKER = "compare it with the source that the plan names; the maker's value rules"
_ASK = "look both up in the source; where they are meant to differ, accept it with the reason"

_LATER: Mapping[str, Kind] = {
    "unknown-thread": Kind(
        "error",
        "A size that stands in none of the usual thread series is mostly a slip of the pen, and the bolt, the socket and the "
        "torque all hang on it.",
        "write the thread that stands in the source",
    ),
    "over-proof-load": Kind(
        "warning",
        "Beyond its proof load a fastener stays stretched and may break (proof load: ISO 898-1, SAE J429; share worked out by "
        "T = K d F with K as a range: plausibility, not joint design).",
        _MAKER,
    ),
    "far-below-usual": Kind(
        "warning",
        "So little torque hardly stretches the fastener, and one that is not stretched works loose (about 75 % of proof load is "
        "usual, Shigley eq. 8-31; share worked out by T = K d F: plausibility, not joint design).",
        _MAKER,
    ),
    "dry-torque-on-wet-thread": Kind(
        "warning",
        "On a wet thread less of the torque is lost in friction, so a torque for dry threads stretches the fastener further: "
        "published tables for lubricated threads go down to 0.64 of the dry value (MSFC-STD-486B Table I), US Army work packages "
        "take off 10 % for engine oil.",
        "write the torque that the maker gives for the prepared thread, and `basis: as prepared`",
    ),
    "basis-without-preparation": Kind(
        "warning",
        "A torque for prepared threads is too low on dry ones: more of it is lost in friction (MSFC-STD-486B Table I).",
        "write the preparation in `prep`, or `basis: dry`",
    ),
    "cure-without-preparation": Kind(
        "warning",
        "Only a compound cures or sets, so either the time or the compound is missing from the plan.",
        "write the compound in `prep`, or take the time out",
    ),
    "prevailing-nut-without-drag": Kind(
        "warning",
        "The torque that a locking nut takes to turn does not stretch the bolt, so a plan has to say whether the stated torque "
        "has it inside (NASA-STD-5020B 4.8.1; FAA AC 43.13-1B 7-40 adds it).",
        "write `drag: included`, `drag: measured`, or its value such as `drag: 4 N·m`, as the source means it",
    ),
    "single-use-reused": Kind(
        "warning",
        "A bolt that was stretched beyond yield, or a locking nut that has lost its grip, does not hold again what the torque "
        "shows (TM 1-1500-204-23-6: a locking nut is used again only above its least breakaway torque).",
        "write `hardware: new each time`, or what the maker says of using it again",
    ),
    "threadlocked-left-loose": Kind(
        "warning",
        "A compound begins to set once the parts are together; turned later, the bond that has begun is broken (common practice, "
        "no source; the compound's own sheet gives the time).",
        "put the compound on only when the joint is torqued, or torque it before the other work",
    ),
    "count-not-stated": Kind(
        "warning",
        "A fastener that the plan does not count is missed by nobody's record (common practice, no source).",
        "add a column such as `qty` with the number of fasteners, or accept this where every row is one fastener",
    ),
    "wheel-without-retorque": Kind(
        "warning",
        "A wheel settles on its hub in the first distance and its nuts lose preload; published advice is a check after about "
        "40 to 160 km or 30 minutes standing (TMC RP 237, TM 5-3820-256-24, UK DVSA advice).",
        "add a step `retorque` with the distance that the vehicle's maker gives",
    ),
    "unlike-torque-on-mirror-joints": Kind(
        "warning",
        "What is the same on the left and on the right is usually torqued alike (common practice, no source).",
        _ASK,
    ),
    "unlike-mirror-joints": Kind(
        "warning",
        "What is the same on the left and on the right is usually built alike (common practice, no source).",
        _ASK,
    ),
    "unlike-torque-on-like-joints": Kind(
        "warning",
        "The same size, grade and preparation stand the same torque; what is clamped may ask for less, or one of the figures is "
        "a slip (common practice, no source).",
        _ASK,
    ),
    "unlike-earlier-revision": Kind(
        "warning",
        "A torque that changes by just the factor between two units, or by ten, is more often a slip than a new figure (common "
        "practice, no source).",
        "look the torque and its unit up in the source; where it is a new figure, accept it with the reason",
    ),
    "no-wrench-covers": Kind(
        "error",
        "Outside its usable range a wrench is not sure to show what it does, and its calibration does not speak for it.",
        "register a wrench that does, or name another",
    ),
    "names-unknown-wrench": Kind(
        "warning",
        "A pull with a wrench that is not in the register proves nothing: nobody knows its calibration.",
        "register it with `witnessmark wrench add`, or correct its id",
    ),
    "adapter-length-unknown": Kind(
        "error",
        "What to set on a wrench with an offset adapter hangs on the wrench's own length (FAA AC 43.13-1B 7-40; "
        "TM 1-1500-204-23-9); without it nobody can work the value out.",
        "add the length from drive to grip mark to the register, or write `corrected_by: wrench` where the wrench is told",
    ),
    "adapter-needs-no-correction": Kind(
        "warning",
        "At a right angle to the wrench an adapter leaves the lever as it is (NAVEDTRA 14315), and so does a socket extension in "
        "line with the fastener.",
        "take `adapter` out where it is an extension bar or always at a right angle; else write the angle that it is used at",
    ),
    "uncertainty-wide-for-the-band": Kind(
        "warning",
        "Where the permissible error takes a quarter of the band from each side, less than half of it is left in which a reading "
        "is surely in band (arithmetic).",
        "use a finer wrench, or ask the maker for the tolerance",
    ),
    "tolerance-finer-than-any-wrench": Kind(
        "warning",
        "Where the permissible error is more than half the band, no reading at all is surely in band (arithmetic).",
        "use a finer wrench, or ask the maker for the tolerance",
    ),
    "acceptance-of-nothing": Kind(
        "warning",
        "An acceptance that fits no finding would hide one that comes later and was never looked at.",
        "take it out, or name the finding and the joints that it is for",
    ),
    "acceptance-of-an-error": Kind(
        "warning",
        "An error cannot be accepted: the plan says what cannot be, or what cannot be done.",
        "mend the plan or the register, and take the acceptance out",
    ),
}

CATALOGUE: Mapping[str, Kind] = {
    **{name: Kind("error", why, remedy) for name, (why, remedy) in STRUCTURAL.items()},
    **_LATER,
}
"""All of them; the order has no meaning."""

_UNKNOWN = Kind("error", "Something in the plan cannot be taken as it stands.", "correct the plan at this place")


def level_of(name: str) -> str:
    """`error` or `warning`."""
    return CATALOGUE.get(name, _UNKNOWN).level


def why_of(name: str) -> str:
    """Why it matters, in one sentence."""
    return CATALOGUE.get(name, _UNKNOWN).why


def remedy_of(name: str) -> str:
    """What to do, where a finding has no remedy of its own."""
    return CATALOGUE.get(name, _UNKNOWN).remedy
