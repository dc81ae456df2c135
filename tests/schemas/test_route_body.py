"""A route goes into a ledger entry and comes back equal."""

import hashlib
import json
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import fields, replace
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar, get_type_hints

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.entry import canonical
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route import Adapter, AngleBand, Band, Joint, Route, Stage, Step
from schemas.route_body import joint_from_body, joint_to_body, route_from_body, route_to_body
from schemas.words import Role, StageWord, StepWord

T = TypeVar("T")

EXAMPLE = Path(__file__).parent.parent / "data" / "plan-example.yaml"

OLD = Path(__file__).parent.parent / "data" / "schema-1.db"
NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-1000, max_value=10**9)
COUNTS = st.integers(0, 2**53 - 1)


def all_of(kind: type[T], **more: st.SearchStrategy[Any]) -> st.SearchStrategy[T]:
    """Values for every field, also for one that has a default."""
    kinds = {field: COUNTS for field, of in get_type_hints(kind).items() if of in (int, int | None)}
    numbers = {field: NUMBERS for field, of in get_type_hints(kind).items() if of is Decimal}
    maybe = {field: st.none() | NUMBERS for field, of in get_type_hints(kind).items() if of == Decimal | None}
    rest = {field: st.from_type(of) for field, of in get_type_hints(kind).items()}
    return st.builds(kind, **{**rest, **kinds, **numbers, **maybe, **more})


POSITIONS = st.lists(st.integers(1, 999), max_size=4).map(tuple)
STAGES = all_of(Stage, band=all_of(Band), order=POSITIONS, angle=st.none() | all_of(AngleBand))
JOINTS = all_of(
    Joint,
    stages=st.lists(STAGES, max_size=3).map(tuple),
    order=POSITIONS,
    adapter=st.none() | all_of(Adapter),
    pattern=st.sampled_from(["circle", "row"]),
)
ROUTES = all_of(
    Route,
    joints=st.lists(JOINTS, max_size=2).map(tuple),
    steps=st.lists(all_of(Step, positions=POSITIONS), max_size=3).map(tuple),
)


@pytest.fixture(name="route")
def _route() -> Route:
    return load_plan(EXAMPLE.read_bytes(), "plan-example.yaml")


def test_the_example_comes_back_equal(route: Route) -> None:
    back = route_from_body(route_to_body(route))

    assert back == route
    assert back.steps[3].sign is Role.FITTER
    assert back.steps[3].word is StepWord.HOLD_POINT
    assert back.joints[0].snug is True


def test_a_body_can_stand_in_a_ledger_entry(route: Route) -> None:
    text = canonical(route_to_body(route))

    assert b'"low_nm":"42.75"' in text
    assert b'"wheel":1' in text


def test_a_torque_is_plain_digits_and_keeps_its_closing_zeros(route: Route) -> None:
    band = Band(*map(Decimal, ("1E+2", "95.20", "0E-3", "1", "2", "3")))
    stage = Stage(1, Decimal(100), band)
    body: Any = route_to_body(replace(route, joints=(replace(route.joints[0], stages=(stage,)),)))

    assert [body["joints"][0]["stages"][0]["band"][name] for name in ("low", "target", "high")] == [
        *("100", "95.20", "0.000"),
    ]


@given(ROUTES)
def test_every_route_comes_back_equal_from_the_text_of_an_entry(route: Route) -> None:
    assert route_from_body(json.loads(canonical(route_to_body(route)))) == route


@given(JOINTS)
def test_every_joint_comes_back_equal_by_itself(joint: Joint) -> None:
    assert joint_from_body(json.loads(canonical(joint_to_body(joint)))) == joint


def test_a_body_holds_every_field_there_is(route: Route) -> None:
    body: Any = json.loads(canonical(route_to_body(route)))

    assert set(body) == {field.name for field in fields(Route)}
    assert set(body["joints"][0]) == {field.name for field in fields(Joint)}
    assert set(body["joints"][0]["stages"][0]) == {field.name for field in fields(Stage)}
    assert set(body["joints"][0]["adapter"]) == {field.name for field in fields(Adapter)}
    assert set(body["steps"][0]) == {field.name for field in fields(Step)}


@pytest.fixture(name="older")
def _older() -> Mapping[str, Any]:
    """The plan entry of a ledger that an older program wrote, before plans had angles, adapters, covers and the like."""
    with closing(sqlite3.connect(f"{OLD.as_uri()}?mode=ro&immutable=1", uri=True)) as database:
        (entry,) = database.execute("SELECT entry FROM ledger WHERE json_extract(entry, '$.kind') = 'plan'").fetchone()
    body: Mapping[str, Any] = json.loads(entry)["body"]
    return body


def test_a_route_of_an_older_program_is_read_with_the_defaults(older: Mapping[str, Any]) -> None:
    route = route_from_body(older["route"])
    hubs, guard = route.joints

    assert (route.item, route.content_sha256) == (None, older["content_sha256"])
    assert hubs == Joint("hub-nuts", "Hub nuts, left", 4, hubs.stages, (1, 3, 2, 4), "cross", "N·m")
    assert [(stage.word, stage.order, stage.angle, stage.step) for stage in hubs.stages] == [
        (StageWord.ROUND, (), None, None)
    ] * 2
    assert (guard.final.band.low_nm, guard.final.band.high_nm) == (54, 66)
    assert route.steps == (
        Step(1, StepWord.TORQUE, ("hub-nuts",)),
        Step(2, StepWord.HOLD_POINT, text="Loaded to ride height", hold_point="ride-height", sign=Role.LEAD),
        Step(3, StepWord.TORQUE, ("guard",)),
    )


def test_the_text_of_an_older_plan_still_gives_its_route_and_its_hash(older: Mapping[str, Any]) -> None:
    route = load_plan(older["text"].encode(), older["file"])

    assert route == route_from_body(older["route"])
    assert route.content_sha256 == older["content_sha256"]
    assert hashlib.sha256(older["text"].encode()).hexdigest() == older["file_sha256"]


LATER = {
    Route: "item",
    Joint: "adapter turn left_hand basis drag drag_third_of_nm prepare renew work_within_s cure_s mark critical reopen_joint "
    "side pattern seen_from",
    Stage: "word order angle step",
    Step: "positions covers measure_unit measure_low measure_high as_found method from_s from_km",
}


@given(ROUTES)
def test_a_field_that_is_not_written_has_its_default(route: Route) -> None:
    body: Any = json.loads(canonical(route_to_body(route)))
    joints, steps = body["joints"], body["steps"]
    parts = {Route: [body], Joint: joints, Stage: [stage for joint in joints for stage in joint["stages"]], Step: steps}
    for kind, names in LATER.items():
        for part in parts[kind]:
            for name in names.split():
                del part[name]

    back = route_from_body(body)

    assert [step.covers for step in back.steps] == [()] * len(steps)
    assert all(joint == Joint(**{name: getattr(joint, name) for name in early(Joint)}) for joint in back.joints)
    assert all(stage == Stage(stage.number, stage.share_percent, stage.band) for joint in back.joints for stage in joint.stages)
    assert all(step == Step(**{name: getattr(step, name) for name in early(Step)}) for step in back.steps)


def early(kind: type[Joint] | type[Step]) -> list[str]:
    return [field.name for field in fields(kind) if field.name not in LATER[kind].split()]


def _drop(body: Any) -> None:
    del body["title"]


def _wrong_kind(body: Any) -> None:
    body["joints"][0]["fasteners"] = "4"


def _wrong_entry(body: Any) -> None:
    body["joints"][0]["order"] = ["1"]


def _no_number(body: Any) -> None:
    body["joints"][0]["stages"][0]["band"]["low_nm"] = "low"


def _no_optional(body: Any) -> None:
    del body["joints"][0]["thread"]


def _unknown_word(body: Any) -> None:
    body["steps"][0]["word"] = "polish"


def _unknown_role(body: Any) -> None:
    body["steps"][3]["sign"] = "owner"


def _unknown_method(body: Any) -> None:
    body["steps"][6]["method"] = "hammer"


def _unknown_stage_word(body: Any) -> None:
    body["joints"][0]["stages"][0]["word"] = "turn"


def _angle_as_text(body: Any) -> None:
    body["joints"][0]["stages"][0]["angle"] = "90"


def _half_an_angle(body: Any) -> None:
    body["joints"][0]["stages"][0]["angle"] = {"low": "80", "target": "90"}


def _adapter_as_text(body: Any) -> None:
    body["joints"][0]["adapter"] = "50 mm at 0°"


def _no_joint_but_a_text(body: Any) -> None:
    body["joints"] = ["u-bolts"]


def _distance_as_number(body: Any) -> None:
    body["steps"][6]["from_km"] = 40


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        pytest.param(_drop, "`title` is missing", id="field-missing"),
        pytest.param(_wrong_kind, "`fasteners` is missing or of another kind", id="text-for-int"),
        pytest.param(_wrong_entry, "`order` is missing or of another kind", id="text-in-list-of-int"),
        pytest.param(_no_number, "`low_nm` is no number", id="no-number"),
        pytest.param(_no_optional, "`thread` is missing", id="null-left-out"),
        pytest.param(_unknown_word, "'polish' is not a valid StepWord", id="unknown-step"),
        pytest.param(_unknown_role, "'owner' is not a valid Role", id="unknown-role"),
        pytest.param(_unknown_method, "'hammer' is not a valid Method", id="unknown-method"),
        pytest.param(_unknown_stage_word, "'turn' is not a valid StageWord", id="unknown-stage-word"),
        pytest.param(_angle_as_text, "`angle` is missing or of another kind", id="angle-as-text"),
        pytest.param(_half_an_angle, "`high` is missing or of another kind", id="half-an-angle"),
        pytest.param(_adapter_as_text, "`adapter` is missing or of another kind", id="adapter-as-text"),
        pytest.param(_no_joint_but_a_text, "`joints` is missing or of another kind", id="text-for-a-joint"),
        pytest.param(_distance_as_number, "`from_km` is missing or of another kind", id="number-for-digits"),
    ],
)
def test_a_damaged_body_is_refused_by_field(route: Route, spoil: Callable[[Any], None], words: str) -> None:
    body = route_to_body(route)
    spoil(body)

    with pytest.raises(RecordError, match=f"^route in the ledger: {words}"):
        route_from_body(body)
