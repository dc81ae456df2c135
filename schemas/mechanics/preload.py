"""How much of its proof load a torque puts on a fastener, as a range, and the word for a share that is not plausible.

The short form T = K d F (Shigley; NASA-STD-5020B eq. 24, read) with a nut factor K that is only ever known as a range.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from schemas.mechanics.strength import Grade, proof_load_n
from schemas.mechanics.thread import Thread
from schemas.plan.text import shown


@dataclass(frozen=True, slots=True)
class KRange:
    """The nut factors K, without unit, that are credible for a preparation; `source` says where they come from."""

    low: float
    high: float
    source: str


# Nominal values, as sources print them: the scatter of single bolts around each (25 to 35 %) is what the ordinary aim of 75 %
# of proof leaves room for. The sources disagree. Read: NASA TM-106943; MIL-HDBK-60 (coefficients μ, turned into K on a 3/8-16
# by its short formula, K = 0.159 P/d + 1.156 μ). Second-hand: Shigley's K table; the friction classes of VDI 2230.
# A finding hangs on the low edge, so the reason for each:
# - dry 0.16: cadmium plate with nothing added (Shigley 0.16, MIL-HDBK-60 0.165), which the FAA's and NASA's dry tables mean.
# - oil 0.15: where NASA's "lubricated" (0.11 to 0.15) ends. What lies below belongs to greases and solid films, and would
#   call the VDI 2230 table torques for lightly oiled bolts over.
# - anti-seize 0.11: graphite paste (MIL-HDBK-60 0.107, NASA 0.11); Shigley's "anti-seize" is 0.12.
# - threadlocker, sealant: no public figure was found. Wet, they can lubricate like oil, so the low edge is oil's; VDI 2230
#   puts adhesive into class C, μ 0.14 to 0.24, whose upper end is K 0.30.
_NO_FIGURE = "no public figure; low edge as for oil, high edge from friction class C of VDI 2230"
K_RANGES: Mapping[str, KRange] = MappingProxyType(
    {
        "dry": KRange(0.16, 0.30, "Shigley 0.16 cadmium to 0.30 black; NASA TM-106943 0.20; MIL-HDBK-60 0.165 to 0.223"),
        "oil": KRange(0.15, 0.23, "NASA TM-106943 up to 0.15; Shigley 0.18; MIL-HDBK-60 machine oil 0.20, with its 20 % to 0.23"),
        "anti-seize": KRange(0.11, 0.16, "MIL-HDBK-60 0.107 graphite to 0.154 MoS2; NASA TM-106943 from 0.11; Shigley 0.12"),
        "threadlocker medium": KRange(0.15, 0.30, _NO_FIGURE),
        "threadlocker high": KRange(0.15, 0.30, _NO_FIGURE),
        "sealant": KRange(0.15, 0.30, _NO_FIGURE),
    }
)
"""The range of K for each preparation that a plan has a word for."""

K_NOT_STATED = K_RANGES["dry"]
"""For a joint without preparation: threads clean and dry unless the maker says otherwise (FAA AC 43.13-1B, 7-40, read)."""

OVER_SHARE = 1.1
"""A share above it at the lowest K is `over proof load`.

Not 1.0: the lowest K is the edge of a wide range, and the VDI 2230 table torques (90 % of yield) would come to 1.03 there. 1.1 is
about where yield begins: 1.10 to 1.14 times the proof stress in ISO 898-1, 1.08 in SAE J429 for grades 5 and 8. At K 0.20,
dry, it is reached by 0.88 of the proof load. A figure in N·m that is taken for lbf·ft (1.36 times) is found where it meant
75 % at K 0.20, not where it meant less; the other way round (0.74 times) it never is.
"""

FAR_BELOW_SHARE = 0.2
"""A share below it, even at the lowest K, is `far below`.

A tenth of an ordinary torque comes to 0.14 at most; the lowest published table for tension, FAA AC 43.13-1B Table 7-1 (about
40 ksi), to 0.24 on grade 8 and 0.34 on grade 5. Its values for thin shear nuts lie at 0.21 and more on grade 5, and on
grade 8 partly below: those are found, and accepted by who knows that the nut is one.
"""

Word = Literal["over proof load", "far below"]


@dataclass(frozen=True, slots=True)
class Share:
    """Preload as a share of the proof load, 1.0 at proof load: `low` at the highest credible K, `high` at the lowest."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class TorqueRange:
    """Torques in N·m: `low_nm` at the lowest credible K, `high_nm` at the highest."""

    low_nm: float
    high_nm: float


@dataclass(frozen=True, slots=True)
class Plausibility:
    """What the joint alone says about its torque; `word` is None where nothing is found.

    `share` is None where nothing could be checked, because the grade's standard does not cover the thread.
    """

    share: Share | None
    word: Word | None


_RANGE = re.compile(r"([0-9]\.[0-9]{1,3}) to ([0-9]\.[0-9]{1,3})")


def read_k_ranges(overrides: Mapping[str, str]) -> Mapping[str, KRange]:
    """`K_RANGES` with a shop's own ranges over or beside them: `{"oil": "0.10 to 0.16"}`; the key is a plan's `prep`.

    Raises ValueError with what to write: no range, edges the wrong way round, an edge that is zero or above 1.
    """
    return dict(K_RANGES) | {prep: _own_range(prep, text) for prep, text in overrides.items()}


def preload_share(torque_nm: Decimal | float, thread: Thread, grade: Grade, k: KRange) -> Share | None:
    """T / (K d A Sp) at both ends of K; None where the grade's standard does not cover the thread.

    `torque_nm` is what stretches the fastener, in N·m: without the drag of a prevailing-torque nut.
    """
    at_k_1 = _torque_at_k_1(thread, grade)
    if at_k_1 is None:
        return None
    return Share(float(torque_nm) / (k.high * at_k_1), float(torque_nm) / (k.low * at_k_1))


def torque_range_nm(thread: Thread, grade: Grade, k: KRange, share: float = 0.75) -> TorqueRange | None:
    """The torques that reach a share of the proof load; None where the grade's standard does not cover the thread.

    0.75 is the usual aim for joints that are taken apart again (Shigley eq. 8-31, second-hand).
    """
    at_k_1 = _torque_at_k_1(thread, grade)
    return None if at_k_1 is None else TorqueRange(share * k.low * at_k_1, share * k.high * at_k_1)


def plausibility(torque_nm: Decimal | float, thread: Thread, grade: Grade, k: KRange) -> Plausibility:
    """Judge a torque by the highest preload that it may give, which is at the lowest credible K.

    Both constants themselves are plausible still: `OVER_SHARE`, `FAR_BELOW_SHARE`.
    """
    share = preload_share(torque_nm, thread, grade, k)
    word: Word | None = None
    if share and share.high > OVER_SHARE:
        word = "over proof load"
    elif share and share.high < FAR_BELOW_SHARE:
        word = "far below"
    return Plausibility(share, word)


def _torque_at_k_1(thread: Thread, grade: Grade) -> float | None:
    load_n = proof_load_n(thread, grade)
    return None if load_n is None else thread.d_mm * load_n / 1000


def _own_range(prep: str, text: str) -> KRange:
    found = _RANGE.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"`{shown(prep)}`: `{shown(text)}` is no range of K; write it like 0.10 to 0.16")
    low, high = float(found[1]), float(found[2])
    if not 0 < low < high <= 1:
        raise ValueError(f"`{shown(prep)}`: {text.strip()} does not rise between 0 and 1; write it like 0.10 to 0.16")
    return KRange(low, high, "the shop's own")
