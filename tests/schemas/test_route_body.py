"""A route goes into a ledger entry and comes back equal."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.entry import canonical
from schemas.errors import RecordError
from schemas.plan.load import load_plan
from schemas.route import Band, Joint, Route, Stage, Step
from schemas.route_body import route_from_body, route_to_body
from schemas.words import Role, StepWord

EXAMPLE = Path(__file__).parent.parent / "data" / "plan-example.yaml"

TEXTS = st.text(max_size=8)
MANY = st.lists(TEXTS, max_size=3).map(tuple)
NUMBERS = st.decimals(allow_nan=False, allow_infinity=False, min_value=-1000, max_value=10**9)
BANDS = st.builds(Band, *[NUMBERS] * 6, st.booleans())
STAGES = st.builds(Stage, st.integers(1, 9), NUMBERS, BANDS)
JOINTS = st.builds(
    Joint,
    stages=st.lists(STAGES, max_size=3).map(tuple),
    order=st.lists(st.integers(1, 99), max_size=4).map(tuple),
    fasteners=st.integers(1, 999),
    wrenches=MANY,
)
STEPS = st.builds(Step, number=st.integers(1, 999), joints=MANY, after=MANY)
ROUTES = st.builds(
    Route,
    joints=st.lists(JOINTS, max_size=2).map(tuple),
    steps=st.lists(STEPS, max_size=3).map(tuple),
    not_obeyed=MANY,
    notes=MANY,
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
def test_every_route_comes_back_equal(route: Route) -> None:
    assert route_from_body(route_to_body(route)) == route


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
    ],
)
def test_a_damaged_body_is_refused_by_field(route: Route, spoil: Callable[[Any], None], words: str) -> None:
    body = route_to_body(route)
    spoil(body)

    with pytest.raises(RecordError, match=f"^route in the ledger: {words}"):
        route_from_body(body)
