"""Which mistakes `plan check` finds: sound plans with one mistake each, from a seed; and how long a large plan takes."""

import copy
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from ruamel.yaml import YAML

from benchmarks.measure import in_turn, timed, times_as_long
from benchmarks.put_in import MISTAKES, Mistake
from benchmarks.sound_plans import Fields, as_bytes, register, sound_plans
from benchmarks.table import Row
from schemas.errors import PlanError
from schemas.findings.check import Checked, check_plan
from schemas.findings.finding import findings_of
from schemas.plan.load import load_whole
from schemas.route import Route

SEED = 20260302
WANTED_S = 1.0
_LARGE = 2000
_SILENT = "unit of the torque"


@dataclass(slots=True)
class Count:
    """How often a mistake was put in, found, and where it was missed said to be unchecked."""

    tried: int = 0
    found: int = 0
    said: int = 0


def rows(quick: bool) -> list[Row]:
    """A row a kind of mistake, the false alarms, the time of a large plan."""
    plans = sound_plans()
    alarms = [f"{plan['plan']}: {name}" for plan in plans for name, _ in _looked_at(plan, ())[0]]
    joints = sum(len(plan["joints"]) for plan in plans)
    told = [
        Row(
            f"plan check: false alarms on {len(plans)} sound plans with {joints} joints", "–",
            f"{len(alarms)}{': ' if alarms else ''}{', '.join(alarms)}", "–", "none", not alarms,
        )
    ]  # fmt: skip
    told += [_row(mistake, _tried(mistake, plans, 1 if quick else 4)) for mistake in MISTAKES]
    return told + [_large_row(*size, quick) for size in ((40, 50), (_LARGE, 1))]


def _tried(mistake: Mistake, plans: Sequence[Fields], times: int) -> Count:
    """Put a mistake into each plan some times, at places from a seed; a plan without a place for it is passed over."""
    count = Count()
    for number, plan in enumerate(plans):
        rng = random.Random(f"{SEED} {mistake.name} {number}")
        before = (load_whole(as_bytes(plan), "plan").route,) if mistake.with_earlier else ()
        for _ in range(times):
            wrong = copy.deepcopy(plan)
            at = mistake.put_in(wrong, rng)
            if at is None:
                continue
            count.tried += 1
            if mistake.with_earlier:
                wrong["revision"] = f"{wrong['revision']} changed"
            found, not_checked = _looked_at(wrong, before)
            if any(name in mistake.ids and (not at or at in joints) for name, joints in found):
                count.found += 1
            elif any(line.startswith(_SILENT) for line in not_checked):
                count.said += 1
    return count


def _looked_at(plan: Fields, earlier: Sequence[Route]) -> tuple[list[tuple[str, tuple[str, ...]]], tuple[str, ...]]:
    """Id and joints of each open finding, those of structure too, and what was not checked."""
    try:
        checked: Checked = check_plan(load_whole(as_bytes(plan), "plan"), register(), earlier)
    except PlanError as error:
        return [(found.id, found.joints) for found in findings_of(error.faults)], ()
    return [(found.id, found.joints) for found in checked.open], checked.not_checked


def _row(mistake: Mistake, count: Count) -> Row:
    missed = count.tried - count.found
    said = f", {count.said} of them said to be unchecked" if mistake.may_be_said else ""
    wanted = {"all": "all", "said": "found, or said to be unchecked"}.get(mistake.wanted, "for information")
    reached = {"all": missed == 0, "said": missed == count.said}.get(mistake.wanted)
    return Row(
        f"plan check: {mistake.name}", "the same plan without it", f"found {count.found} of {count.tried}, missed {missed}{said}",
        f"{100 * count.found / max(count.tried, 1):.0f} %", wanted, reached if count.tried else False,
    )  # fmt: skip


def _large_row(joints: int, fasteners: int, quick: bool) -> Row:
    text = as_bytes(_large(joints, fasteners))
    read: Callable[[], object] = lambda: YAML(typ="safe", pure=True).load(text)  # noqa: E731
    checked: Callable[[], object] = lambda: check_plan(load_whole(text, "plan"), register())  # noqa: E731
    bare, whole = in_turn(1 if quick else 7, lambda: timed(read), lambda: timed(checked))
    loaded = load_whole(text, "plan")
    alone = timed(lambda: check_plan(loaded, register()))
    return Row(
        f"plan check of {joints * fasteners:,} fasteners in {joints:,} joint{'' if joints == 1 else 's'}, reading it included",
        f"a YAML reader alone: {median(bare):.2f} s", f"{median(whole):.2f} s (the check alone {alone:.2f} s)",
        f"{times_as_long(whole, bare):.1f} × as long", f"{WANTED_S:.0f} s", median(whole) <= WANTED_S,
    )  # fmt: skip


def _large(joints: int, fasteners: int) -> Fields:
    """A plan of many joints, in pairs of left and right, that has something to compare everywhere."""
    one = {"torque": "88", "thread": "M12x1.75", "grade": "8.8", "prep": "dry", "fasteners": str(fasteners), "wrench": ["W-140"]}
    return {
        "plan": "large", "title": "Large", "revision": "A", "source": "Made up", "unit": "N·m", "tolerance": "10 %",
        "joints": [
            {"id": f"j{number // 2}-{'left' if number % 2 else 'right'}", "name": f"Joint {number}", **one}
            for number in range(joints)
        ],
    }  # fmt: skip
