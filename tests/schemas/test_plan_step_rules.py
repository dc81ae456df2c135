"""Steps that are well written one by one can still contradict each other; each way is named, with its line and what to do."""

import pytest

from schemas.errors import PlanError, PlanFault
from schemas.plan.load import load_plan
from schemas.route import Route

HEAD = "plan: axle\ntitle: Axle\nrevision: A\nsource: Made up\nunit: N·m\ntolerance: 8 %\njoints:\n"
JOINTS = "  - {id: u-bolts, name: U-bolts, fasteners: 4, torque: 95}\n  - {id: hubs, name: Hubs, fasteners: 2, torque: 60}\n"
POINT = "{hold point: height, ask: Set, sign: lead}"
BOTH = "{torque: [u-bolts, hubs]}"
UNSTATED = JOINTS.replace("torque: 60", "torque: not stated")
CURES = JOINTS.replace("torque: 60", "torque: 60, cure: 24 h")
ANGLE = JOINTS.replace("torque: 60", "torque: 60, then_angle: 90, angle_tolerance: 5")


def load(*steps: str, joints: str = JOINTS) -> Route:
    return load_plan((HEAD + joints + "steps:\n" + "".join(f"  - {step}\n" for step in steps)).encode(), "axle.yaml")


def faults(*steps: str, joints: str = JOINTS) -> tuple[PlanFault, ...]:
    with pytest.raises(PlanError, match=r"^axle\.yaml, line ") as caught:
        load(*steps, joints=joints)
    return caught.value.faults


@pytest.mark.parametrize(
    ("steps", "line", "field", "words", "name"),
    [
        pytest.param(
            [BOTH, "{loose: hubs}"],
            12, "steps[2].loose", "`hubs` is left loose and no later step torques it; add", "left-loose-for-good",
            id="loose-for-ever",
        ),
        pytest.param(
            ["{torque: u-bolts}"], 9, "joints.hubs", "no step torques `hubs`; add a step", "never-torqued", id="not-reached"
        ),
        pytest.param(
            ["{torque: u-bolts}", "{retorque: hubs, from: 40 km}"],
            9, "joints.hubs", "no step torques `hubs`", "never-torqued", id="only-retorqued",
        ),
        pytest.param(
            ["{torque: u-bolts}", "{recheck: hubs}"],
            9, "joints.hubs", "no step torques `hubs`", "never-torqued", id="only-rechecked",
        ),
        pytest.param(
            ["{torque: u-bolts}", "{fit: hubs, positions: [1, 2]}"],
            9, "joints.hubs", "no step torques `hubs`", "never-torqued", id="only-fitted",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs, hub]}"],
            11, "steps[1].torque[3]", "did you mean `hubs`?", "unknown-joint", id="unknown-joint",
        ),
        pytest.param(
            ["{loose: wheels}", BOTH],
            11, "steps[1].loose", "the plan has no joint `wheels`; known here: `u-bolts`, `hubs`", "unknown-joint",
            id="unknown-loose",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs], covers: [hub]}"],
            11, "steps[1].covers[1]", "did you mean `hubs`?", "unknown-joint", id="unknown-covered",
        ),
        pytest.param(
            [BOTH, "{do: Close it, covers: hub}"],
            12, "steps[2].covers", "did you mean `hubs`?", "unknown-joint", id="unknown-covered-by-doing",
        ),
        pytest.param(
            [BOTH, "{retorque: hub, from: 40 km}"],
            12, "steps[2].retorque", "did you mean `hubs`?", "unknown-joint", id="unknown-retorque",
        ),
        pytest.param([BOTH, "{recheck: hub}"], 12, "steps[2].recheck", "did you mean", "unknown-joint", id="unknown-recheck"),
        pytest.param([BOTH, "{open: hub}"], 12, "steps[2].open", "did you mean `hubs`?", "unknown-joint", id="unknown-open"),
        pytest.param(
            ["{fit: hub, positions: 1}", BOTH], 11, "steps[1].fit", "did you mean `hubs`?", "unknown-joint", id="unknown-fit"
        ),
        pytest.param(
            [BOTH, "{torque: []}"], 12, "steps[2].torque", "names no joint; known here: `u-b", "names-no-joint", id="no-joint"
        ),
        pytest.param(
            [BOTH, "{recheck: []}"], 12, "steps[2].recheck", "the step names no joint", "names-no-joint", id="recheck-nothing"
        ),
        pytest.param(
            [BOTH, "{recheck: [hubs, u-bolts, hubs]}"],
            12, "steps[2].recheck[3]", "`hubs` stands twice in this step; write it once", "named-twice", id="named-twice",
        ),
        pytest.param(
            [BOTH, "{torque: hubs}"],
            12, "steps[2].torque", "is torqued in steps[1] already; add a step `open: hubs` between them, or `recheck: hubs`",
            "torqued-twice", id="torqued-twice",
        ),
        pytest.param(
            ["{torque: [u-bolts, hubs, hubs]}"],
            11, "steps[1].torque[3]", "`hubs` is torqued in steps[1] already", "torqued-twice", id="torqued-twice-in-one",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", "{torque: hubs}", "{torque: hubs}"],
            14, "steps[4].torque", "`hubs` is torqued in steps[3] already", "torqued-twice", id="opened-once-torqued-thrice",
        ),
        pytest.param(
            ["{open: hubs}", BOTH],
            11, "steps[1].open", "`hubs` is opened before any step has torqued it; move", "opened-before-torqued",
            id="opened-first",
        ),
        pytest.param(
            [BOTH, "{open: hubs}"],
            12, "steps[2].open", "`hubs` is opened and no later step torques it; add", "left-open-for-good", id="left-open",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", "{open: hubs}", "{torque: hubs}"],
            13, "steps[3].open", "`hubs` is open already; take it out of this step", "opened-before-torqued", id="open-twice",
        ),
        pytest.param(
            ["{retorque: hubs, from: 40 km}", BOTH],
            11, "steps[1].retorque", "`hubs` is torqued only in a later step; move", "retorque-before-torqued",
            id="retorque-too-early",
        ),
        pytest.param(
            ["{recheck: hubs}", BOTH],
            11, "steps[1].recheck", "`hubs` is torqued only in a later step; move", "recheck-before-torqued",
            id="recheck-too-early",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", "{recheck: hubs}", "{torque: hubs}"],
            13, "steps[3].recheck", "`hubs` is torqued only in a later step", "recheck-before-torqued", id="recheck-open",
        ),
        pytest.param(
            [BOTH, "{retorque: hubs, from: 80 km, to: 40 km}"],
            12, "steps[2].to", "`to` 40 km is not beyond `from` 80 km; correct", "span-reversed", id="retorque-backwards",
        ),
        pytest.param(
            [BOTH, "{retorque: hubs, from: 2 weeks, to: 14 days}"],
            12, "steps[2].to", "`to` 14 days is not beyond `from` 2 weeks", "span-reversed", id="no-time-between",
        ),
        pytest.param(
            [BOTH, "{retorque: hubs, from: 2 weeks, to: 10 days}"],
            12, "steps[2].to", "`to` 10 days is not beyond `from` 2 weeks", "span-reversed", id="time-backwards",
        ),
        pytest.param(
            [BOTH, "{retorque: hubs, from: 50 miles, to: 80 km}"],
            12, "steps[2].to", "`to` 80 km is not beyond `from` 50 miles", "span-reversed", id="miles-beyond-km",
        ),
        pytest.param(
            [BOTH, "{retorque: hubs, from: 1 day, to: 40 km}"],
            12, "steps[2].to", "a distance and a time; write both as the same", "span-reversed", id="distance-and-time",
        ),
        pytest.param(
            [BOTH, "{hold point: gap, ask: Gap, sign: lead, measure: {unit: mm, low: 3, high: -1}}"],
            12, "steps[2].measure.low", "`low` 3 is above `high` -1; correct", "empty-band", id="measure-crossed",
        ),
        pytest.param(
            ["{do: Close the panel, covers: [u-bolts, hubs]}", "{torque: u-bolts}", "{torque: hubs}"],
            11, "steps[1].covers[1]", "`u-bolts` is out of reach from here on and torqued only in steps[2]; move that step",
            "covered-before-torqued", id="covered-first",
        ),
        pytest.param(
            [BOTH, "{open: hubs}", "{do: Close the panel, covers: hubs}", "{torque: hubs}"],
            13, "steps[3].covers", "`hubs` is out of reach from here on and torqued only in steps[4]",
            "covered-before-torqued", id="covered-open",
        ),
        pytest.param(
            ["{fit: hubs, positions: [1, 3]}", "{fit: hubs, positions: 2}", BOTH],
            11, "steps[1].positions[2]", "`hubs` has positions 1 to 2; write one of them", "unknown-position",
            id="fit-beyond",
        ),
        pytest.param(
            ["{fit: hubs, positions: [1, 2]}", "{fit: hubs, positions: 2}", BOTH],
            12, "steps[2].positions", "position 2 of `hubs` is put in already; write it once", "fitted-twice",
            id="fitted-twice",
        ),
        pytest.param(
            ["{fit: hubs, positions: 1}", BOTH],
            11, "steps[1].positions", "no step puts in position 2 of `hubs`; add what is missing to a `fit` step",
            "never-fitted", id="one-not-fitted",
        ),
        pytest.param(
            ["{fit: u-bolts, positions: 3}", BOTH],
            11, "steps[1].positions", "no step puts in positions 1, 2, 4 of `u-bolts`", "never-fitted", id="some-not-fitted",
        ),
        pytest.param(
            [BOTH, "{fit: hubs, positions: [1, 2]}"],
            12, "steps[2].fit", "`hubs` is torqued in an earlier step; move this step above it", "fitted-after-torqued",
            id="fitted-late",
        ),
    ],
)  # fmt: skip
def test_a_contradiction_of_steps_is_named(steps: list[str], line: int, field: str, words: str, name: str) -> None:
    fault = faults(*steps)[0]

    assert (fault.line, fault.field, fault.id) == (line, field, name)
    assert words in fault.what
    assert {other.id for other in faults(*steps)} == {name}, "one mistake is not told under two names"


@pytest.mark.parametrize("word", ["recheck: hubs", "retorque: hubs, from: 40 km"])
@pytest.mark.parametrize(
    ("joints", "words", "name"),
    [
        pytest.param(CURES, "a thread that cures, and to move it breaks the bond; take it out", "cured-thread-moved", id="cure"),
        pytest.param(ANGLE, "turned by an angle, so its torque shows nothing", "angle-checked-by-torque", id="angle"),
        pytest.param(UNSTATED, "is not stated, so there is none to check; take it out", "no-torque", id="not-stated"),
    ],
)
def test_what_a_torque_cannot_show_afterwards_is_not_checked_by_torque(word: str, joints: str, words: str, name: str) -> None:
    """A threadlocker's bond breaks when the thread is moved (makers' sheets say so); the others are plain reasoning."""
    (fault,) = faults(BOTH, f"{{{word}}}", joints=joints)

    assert (fault.line, fault.field, fault.id) == (12, f"steps[2].{word[: word.index(':')]}", name)
    assert words in fault.what


@pytest.mark.parametrize(
    "steps",
    [
        pytest.param(
            ["{loose: hubs}", POINT, "{torque: [u-bolts, hubs], after: height}", "{retorque: hubs, from: 1 h}"], id="all"
        ),
        pytest.param([BOTH, "{open: hubs, as_found: yes}", "{torque: hubs}", "{open: hubs}", "{torque: hubs}"], id="open-again"),
        pytest.param([BOTH, "{open: hubs}", "{torque: hubs}", "{recheck: [u-bolts, hubs]}"], id="recheck-after-open"),
        pytest.param([BOTH, "{recheck: hubs}", "{recheck: hubs}"], id="recheck-twice"),
        pytest.param(["{fit: [u-bolts, hubs], positions: [1, 2]}", "{fit: u-bolts, positions: [3, 4]}", BOTH], id="fit-in-two"),
        pytest.param(["{fit: hubs, positions: [2, 1]}", "{loose: hubs}", BOTH], id="fit-and-leave-loose"),
        pytest.param(["{torque: [u-bolts, hubs], covers: [hubs, u-bolts]}"], id="covered-by-its-own-step"),
        pytest.param(
            [BOTH, "{do: Close, covers: hubs}", "{do: Take it off}", "{open: hubs}", "{torque: hubs}"], id="uncovered-again"
        ),
        pytest.param([BOTH, "{do: Close, covers: hubs}", "{recheck: u-bolts, covers: u-bolts}"], id="covered-afterwards"),
        pytest.param([BOTH, "{retorque: hubs, from: 40 km, to: 80 km}"], id="rising-distance"),
        pytest.param([BOTH, "{retorque: hubs, from: 40 km, to: 50 miles}"], id="km-to-miles"),
        pytest.param([BOTH, "{retorque: hubs, from: 0 km, to: 80 km}"], id="from-the-start"),
        pytest.param([BOTH, "{retorque: hubs, from: 30 min, to: 2 h, method: back off a turn}"], id="rising-time"),
        pytest.param([BOTH, "{hold point: g, ask: G, sign: lead, measure: {unit: mm, low: -3, high: -3}}"], id="one-value"),
        pytest.param(["{torque: u-bolts}", "{torque: hubs, covers: []}"], id="covers-nothing"),
    ],
)
def test_steps_that_make_sense_load(steps: list[str]) -> None:
    assert len(load(*steps).steps) == len(steps)


def test_a_joint_whose_torque_is_not_stated_still_has_its_step() -> None:
    (fault,) = faults("{torque: u-bolts}", joints=UNSTATED)

    assert fault.id == "never-torqued"
    assert load(BOTH, joints=UNSTATED).joints[1].stages == ()


def test_a_mirrored_joint_is_missed_by_side() -> None:
    mirrored = JOINTS.replace("torque: 60", "torque: 60, mirror: left/right")
    (fault,) = faults("{torque: [u-bolts, hubs-left]}", joints=mirrored)

    assert fault == PlanFault(9, "joints.hubs", "no step torques `hubs-right`; add a step `torque: hubs-right`", "never-torqued")
    assert load(BOTH, joints=mirrored).steps[0].joints == ("u-bolts", "hubs-left", "hubs-right")


def test_a_side_that_stands_beside_its_pair_is_there_twice_at_its_own_place() -> None:
    mirrored = JOINTS.replace("torque: 60", "torque: 60, mirror: left/right")
    (fault,) = faults("{torque: [hubs, u-bolts, hubs-right]}", joints=mirrored)

    assert (fault.line, fault.field, fault.id) == (11, "steps[1].torque[3]", "torqued-twice")
