"""The mistakes that are put into sound plans: each changes a plan in place and says at which joint, or that it has no place."""

import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from benchmarks.sound_plans import Fields

PutIn = Callable[[Fields, random.Random], str | None]
"""Changes the plan; gives the joint at which a finding has to stand, "" where it may stand anywhere, None without a place."""

_STRENGTH = ("over-proof-load", "far-below-usual")
_UNIT = (*_STRENGTH, "empty-band")
"""A tolerance that is left in the other unit is an error of structure."""
_UNLIKE = ("unlike-torque-on-mirror-joints", "unlike-torque-on-like-joints")


@dataclass(frozen=True, slots=True)
class Mistake:
    """A kind of mistake and the findings that show it.

    `wanted` is `all`, `said` (found, or said to be unchecked), or nothing where it is for information.
    `with_earlier` puts the sound plan beside it as an earlier revision.
    """

    name: str
    put_in: PutIn
    ids: tuple[str, ...]
    wanted: str = "all"
    with_earlier: bool = False

    @property
    def may_be_said(self) -> bool:
        """Whether a mistake that is missed may be among what was said to be unchecked."""
        return self.wanted == "said"


def _joint(plan: Fields, rng: random.Random, fits: Callable[[Fields], bool] = lambda _: True) -> Fields | None:
    fitting = [joint for joint in plan["joints"] if fits(joint)]
    return rng.choice(fitting) if fitting else None


def _step(plan: Fields, rng: random.Random, word: str, fits: Callable[[Fields], bool] = lambda _: True) -> int | None:
    places = [index for index, step in enumerate(plan["steps"]) if word in step and fits(step)]
    return rng.choice(places) if places else None


def _names(value: str | Iterable[str]) -> list[str]:
    return [value] if isinstance(value, str) else list(value)


def _changed(change: Callable[[Fields, random.Random], None], fits: Callable[[Fields], bool] = lambda _: True) -> PutIn:
    """A change of one joint."""

    def put_in(plan: Fields, rng: random.Random) -> str | None:
        joint = _joint(plan, rng, fits)
        if joint is None:
            return None
        change(joint, rng)
        return str(joint["id"])

    return put_in


def _set(**fields: object) -> Callable[[Fields, random.Random], None]:
    return lambda joint, _: joint.update(fields)


def _times(factor: str) -> Callable[[Fields, random.Random], None]:
    return lambda joint, _: joint.update(torque=f"{Decimal(joint['torque']) * Decimal(factor):f}")


def _unit(joint: Fields) -> str:
    return str(joint.get("unit", "N·m"))


def _in(unit: str) -> Callable[[Fields], bool]:
    return lambda joint: _unit(joint) == unit


def _has_side(joint: Fields) -> bool:
    return "left" in joint["id"] or "right" in joint["id"]


def _swap_digits(joint: Fields, _: random.Random) -> None:
    joint["torque"] = joint["torque"][1] + joint["torque"][0] + joint["torque"][2:]


def _digits_differ(joint: Fields) -> bool:
    torque = joint["torque"]
    return len(torque) > 1 and torque[1] not in (torque[0], "0")


_SMALLER = {
    "M16x2": "M12x1.75",
    "M14x2": "M10x1.5",
    "M12x1.75": "M8x1.25",
    "M12x1.5": "M8x1.25",
    "M10x1.5": "M6x1",
    "M8x1.25": "M5",
}


def _smaller_thread(joint: Fields, _: random.Random) -> None:
    joint["thread"] = _SMALLER[joint["thread"]]


def _whole_unit(plan: Fields, _: random.Random) -> str | None:
    plan["unit"] = "lbf·ft"
    return ""


def _loose_for_good(plan: Fields, rng: random.Random) -> str | None:
    loose = {name for step in plan["steps"] for name in _names(step.get("loose", ()))}
    index = _step(plan, rng, "torque", lambda step: set(_names(step["torque"])) <= loose)
    if index is not None:
        del plan["steps"][index]
    return None if index is None else ""


def _without_step(word: str) -> PutIn:
    def put_in(plan: Fields, rng: random.Random) -> str | None:
        loose = {name for step in plan["steps"] for name in _names(step.get("loose", ()))}
        index = _step(plan, rng, word, lambda step: not set(_names(step[word])) & loose)
        if index is None:
            return None
        return _names(plan["steps"].pop(index)[word])[0]

    return put_in


def _twice(plan: Fields, rng: random.Random) -> str | None:
    one, other = rng.sample(plan["joints"], 2)
    one["id"] = other["id"]
    return ""


def _misspelt(plan: Fields, rng: random.Random) -> str | None:
    step = plan["steps"][_step(plan, rng, "torque") or -1]
    names = _names(step["torque"])
    names[rng.randrange(len(names))] += "s"
    step["torque"] = names
    return ""


def _covered_too_early(plan: Fields, rng: random.Random) -> str | None:
    index = _step(plan, rng, "torque", lambda step: plan["steps"].index(step) > 0)
    if index is None:
        return None
    plan["steps"].insert(0, {"do": "Fit the cover", "covers": [_names(plan["steps"][index]["torque"])[0]]})
    return ""


def _hold_point_too_late(plan: Fields, rng: random.Random) -> str | None:
    index = _step(plan, rng, "torque", lambda step: bool(step.get("after")))
    if index is None:
        return None
    waited = plan["steps"][index]["after"][0]
    point = next(step for step in plan["steps"] if step.get("hold point") == waited)
    plan["steps"].remove(point)
    plan["steps"].append(point)
    return ""


def _opened_for_good(plan: Fields, rng: random.Random) -> str | None:
    plan["steps"].append({"open": [rng.choice(plan["joints"])["id"]]})
    return ""


def _torqued_again(plan: Fields, rng: random.Random) -> str | None:
    plan["steps"].append({"torque": [rng.choice(plan["joints"])["id"]]})
    return ""


def _retorqued_first(plan: Fields, rng: random.Random) -> str | None:
    index = _step(plan, rng, "retorque")
    if index is None:
        return None
    plan["steps"].insert(0, plan["steps"].pop(index))
    return ""


def _locked_and_loose(plan: Fields, rng: random.Random) -> str | None:
    loose = [name for step in plan["steps"] for name in _names(step.get("loose", ()))]
    joint = _joint(plan, rng, lambda joint: joint["id"] in loose)
    if joint is None:
        return None
    joint.update(prep="threadlocker medium", basis="as prepared")
    return str(joint["id"])


def _no_tolerance(plan: Fields, _: random.Random) -> str | None:
    plan.pop("tolerance")
    return ""


def _prevailing(joint: Fields) -> bool:
    return joint.get("nut") == "prevailing"


def _large(joint: Fields) -> bool:
    return Decimal(joint["torque"]) > (60 if _unit(joint) == "N·m" else 45)


def _small(joint: Fields) -> bool:
    return 10 < Decimal(joint["torque"]) < (55 if _unit(joint) == "N·m" else 40) and "stages" not in joint


MISTAKES: Sequence[Mistake] = (
    Mistake("torque × 10", _changed(_times("10")), ("over-proof-load",)),
    Mistake("torque ÷ 10", _changed(_times("0.1")), ("far-below-usual",)),
    Mistake("lbf·in for N·m at one joint", _changed(_set(unit="lbf·in"), _in("N·m")), _UNIT),
    Mistake("kgf·m for N·m at one joint", _changed(_set(unit="kgf·m"), _in("N·m")), _UNIT),
    Mistake("lbf·ft for N·m at one joint", _changed(_set(unit="lbf·ft"), _in("N·m")), (*_UNIT, *_UNLIKE), "said"),
    Mistake("N·m for lbf·ft at one joint", _changed(_set(unit="N·m"), _in("lbf·ft")), (*_UNIT, *_UNLIKE), "said"),
    Mistake("lbf·ft for N·m in the whole plan", _whole_unit, (*_UNIT, *_UNLIKE), "said"),
    Mistake(
        "lbf·ft for N·m in the whole plan, an earlier revision at hand", _whole_unit,
        ("unlike-earlier-revision", "empty-band"), with_earlier=True,
    ),
    Mistake("two digits changed about", _changed(_swap_digits, _digits_differ), (*_STRENGTH, *_UNLIKE), ""),
    Mistake("left and right unlike by a fifth", _changed(_times("1.2"), _has_side), _UNLIKE),
    Mistake("another count on one side", _changed(_set(fasteners="7"), _has_side), ("unlike-mirror-joints",)),
    Mistake(
        "a thread two sizes too small", _changed(_smaller_thread, lambda joint: joint["thread"] in _SMALLER), _STRENGTH
    ),
    Mistake("a pitch that there is not", _changed(_set(thread="M12x1.6")), ("unknown-thread",)),
    Mistake(
        "a dry torque on a wet thread", _changed(_set(prep="oil", basis="dry")), ("dry-torque-on-wet-thread",)
    ),
    Mistake(
        "drag of a prevailing nut not said", _changed(lambda joint, _: joint.pop("drag"), _prevailing),
        ("prevailing-nut-without-drag",),
    ),
    Mistake("hardware used again under a prevailing nut", _changed(_set(hardware="reused"), _prevailing), ("single-use-reused",)),
    Mistake("a compound on a joint left loose", _locked_and_loose, ("threadlocked-left-loose",)),
    Mistake(
        "a time to cure without a compound", _changed(_set(cure="24 h", prep="dry", wheel="no")),
        ("cure-without-preparation", "cured-thread-moved"),
    ),
    Mistake("no retorque of the wheels", _without_step("retorque"), ("wheel-without-retorque",)),
    Mistake("a wrench that does not reach", _changed(_set(wrench=["W-025"]), _large), ("no-wrench-covers",)),
    Mistake("a wrench that is not registered", _changed(_set(wrench=["W-999"])), ("no-wrench-covers", "names-unknown-wrench")),
    Mistake(
        "an adapter on a wrench of unknown length",
        _changed(_set(adapter={"length": "50 mm", "angle": "0"}, wrench=["W-025"]), _small), ("adapter-length-unknown",),
    ),
    Mistake("a tolerance finer than the wrench", _changed(_set(tolerance="3 %")), ("tolerance-finer-than-any-wrench",)),
    Mistake("left loose for good", _loose_for_good, ("left-loose-for-good",)),
    Mistake("a torque step left out", _without_step("torque"), ("never-torqued",)),
    Mistake("covered before it is torqued", _covered_too_early, ("covered-before-torqued",)),
    Mistake("a hold point after what waits for it", _hold_point_too_late, ("waits-for-later-step",)),
    Mistake("opened and not torqued again", _opened_for_good, ("left-open-for-good",)),
    Mistake("torqued twice", _torqued_again, ("torqued-twice",)),
    Mistake("retorqued before it is torqued", _retorqued_first, ("retorque-before-torqued",)),
    Mistake("one id twice", _twice, ("duplicate-id",)),
    Mistake("a joint misspelt in a step", _misspelt, ("unknown-joint",)),
    Mistake("stages that end at 80", _changed(_set(stages=["50", "80"])), ("stages-do-not-end-at-100",)),
    Mistake("stages that fall", _changed(_set(stages=["60", "40", "100"])), ("stages-out-of-order",)),
    Mistake("no tolerance", _no_tolerance, ("no-tolerance",)),
    Mistake("no torque", _changed(lambda joint, _: joint.pop("torque")), ("no-torque",)),
)  # fmt: skip
"""Every kind, the torques first."""
