"""Each value of a plan is taken as the file's own text, or refused with what to write instead."""

import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from schemas.errors import PlanError
from schemas.plan.load import load_plan
from schemas.route import Joint, Route

HEAD = "title: Axle\nsource: Made up\nunit: N·m\ntolerance: 8 %\n"
FIELDS = {"id": "u-bolts", "name": "U-bolts", "fasteners": "4", "torque": "95"}


def load(**fields: str) -> Route:
    body = "\n".join(f"    {name}: {text}" for name, text in {**FIELDS, **fields}.items())
    return load_plan(f"plan: axle\nrevision: A\n{HEAD}joints:\n  -\n{body}\n".encode(), "axle.yaml")


def joint(**fields: str) -> Joint:
    return load(**fields).joints[0]


def what(field: str, text: str) -> str:
    """What is said of one bad field of a joint that is sound otherwise."""
    with pytest.raises(PlanError, match=r"^axle\.yaml, line \d+, `joints") as caught:
        load(**{field: text})
    (fault,) = caught.value.faults
    assert fault.field.split("[")[-2 if fault.field.endswith("]") and field in fault.field else 0]
    assert field in fault.field
    return fault.what


@pytest.mark.parametrize("text", ["012", "08", "1:30", "1.10", "1_000", "2026-03-08", "1e3", "12", "-5", "0x1F", ".5"])
def test_an_id_that_looks_like_a_number_or_a_date_needs_quotes(text: str) -> None:
    assert f'put quotes around it: "{text}"' in what("id", text)


@pytest.mark.parametrize("text", ["no", "yes", "on", "off", "true", "null", "~", "No", "OFF", "y", "N"])
def test_an_id_that_looks_like_a_truth_value_or_nothing_needs_quotes(text: str) -> None:
    assert f'put quotes around it: "{text}"' in what("id", text)


@pytest.mark.parametrize("text", ["3/8", "M14x2", "W-140", "box-trailer-axle", "1st", "Stütze.2", "a#1", "7/16-14"])
def test_an_id_that_no_tool_takes_for_something_else_needs_no_quotes(text: str) -> None:
    assert joint(id=text).id == text


@pytest.mark.parametrize("text", ["012", "08", "1:30", "1.10", "no", "1_000", "2026-03-08", "1e3", "12"])
def test_a_quoted_id_is_fine_whatever_it_looks_like(text: str) -> None:
    assert joint(id=f'"{text}"').id == text


def test_the_revision_is_a_text_too() -> None:
    text = f"plan: axle\nrevision: 1.10\n{HEAD}joints: [{{id: a, name: a, fasteners: 1, torque: 5}}]\n"

    with pytest.raises(PlanError, match=r'^axle\.yaml, line 2, `revision`: `1\.10` .* put quotes around it: "1\.10"$'):
        load_plan(text.encode(), "axle.yaml")
    assert load_plan(text.replace("1.10", '"1.10"').encode(), "axle.yaml").revision == "1.10"


@given(st.text(alphabet="01239_.:-+eExXobnatruyfsNOY~TZ", min_size=1, max_size=12))
def test_whatever_yaml_resolves_to_another_type_needs_quotes(text: str) -> None:
    """The reference is ruamel.yaml's own resolver, of YAML 1.1 and of 1.2."""
    resolved = []
    for version in ((1, 1), (1, 2)):
        yaml = YAML(typ="safe", pure=True)
        yaml.version = version
        try:
            with warnings.catch_warnings(action="ignore"):
                resolved.append(yaml.load(f"id: {text}")["id"])
        except (YAMLError, ValueError, TypeError, IndexError):
            return

    if any(not isinstance(value, str) for value in resolved):
        with pytest.raises(PlanError, match=r"put quotes around it"):
            load(id=text)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        pytest.param("id", "", "this is empty", id="empty"),
        pytest.param("id", '""', "this is empty", id="quoted-empty"),
        pytest.param("id", "u bolts", "is no id", id="space-in-id"),
        pytest.param("id", "x" * 65, "is no id", id="long-id"),
        pytest.param("id", "[a]", "one value is wanted here", id="list-as-id"),
        pytest.param("name", "{a: b}", "one value is wanted here", id="fields-as-name"),
        pytest.param("name", "x" * 501, "this text has 501 characters; shorten it to 500", id="long-name"),
        pytest.param("name", '"a\\u202Eb"', "`a\\u202eb` has a sign that cannot be seen", id="bidi-override"),
        pytest.param("name", '"a\\ud800"', "has a sign that cannot be seen", id="half-a-character"),
        pytest.param("grade", "8.8", 'put quotes around it: "8.8"', id="grade-as-number"),
        pytest.param("wrench", "[W-1, 140]", 'put quotes around it: "140"', id="wrench-as-number"),
        pytest.param("fasteners", "4.0", "write a whole number from 1 to 999", id="count-with-decimals"),
        pytest.param("fasteners", "0", "write a whole number from 1 to 999", id="count-zero"),
        pytest.param("fasteners", "1000", "write a whole number from 1 to 999", id="count-large"),
        pytest.param("fasteners", "04", "write a whole number from 1 to 999", id="count-leading-zero"),
        pytest.param("fasteners", "[4]", "one value is wanted here", id="count-list"),
        pytest.param("torque", "1e2", "write plain digits", id="exponent"),
        pytest.param("torque", "95,2", "has a comma; write a point", id="decimal-comma"),
        pytest.param("torque", "1,200", "has a comma; write a point", id="thousands-comma"),
        pytest.param("torque", "1_000", "write plain digits", id="underscore"),
        pytest.param("torque", "012", "begins with a zero", id="leading-zero"),
        pytest.param("torque", "95 N·m", "the unit in `unit`", id="unit-behind"),
        pytest.param("torque", "95 %", "write plain digits", id="percent-behind"),
        pytest.param("torque", "-95", "write plain digits", id="negative"),
        pytest.param("torque", "+95", "write plain digits", id="plus"),
        pytest.param("torque", ".5", "write plain digits", id="no-digit-before-point"),
        pytest.param("torque", ".inf", "write plain digits", id="infinity"),
        pytest.param("torque", "٩٥", "write plain digits", id="other-digits"),
        pytest.param("torque", "0.0", "is zero", id="zero"),
        pytest.param("torque", "", "this is empty; write plain digits", id="no-torque"),
        pytest.param("torque", "unknown", 'or "not stated"', id="word"),
        pytest.param("torque", "[95]", "one value is wanted here", id="list"),
        pytest.param("torque", "1234567890", "write plain digits", id="ten-digits"),
        pytest.param("tolerance", "8", "write it as 8 %, ±5 N·m", id="tolerance-without-percent"),
        pytest.param("stages", "100", "a list is wanted here", id="stages-no-list"),
        pytest.param("stages", "[]", "the list is empty", id="stages-empty"),
        pytest.param("stages", "[50 %, 100]", "write plain digits", id="stage-percent"),
        pytest.param("stages", "[0, 100]", "is zero", id="stage-zero"),
        pytest.param("order", "star", "write cross, in line or any", id="order-word"),
        pytest.param("order", "[1, b, 3, 4]", "`b` is no position", id="order-entry"),
        pytest.param("order", "[[1], 2, 3, 4]", "an entry is no position", id="order-nested"),
        pytest.param("order", "{a: b}", "these are no order that we read", id="order-fields"),
        pytest.param("thread", "M", "write it like M14x2", id="thread"),
        pytest.param("thread", "14", "write it like M14x2", id="thread-number"),
        pytest.param("thread", "M14x2 LH", "write it like M14x2", id="thread-left-hand"),
        pytest.param("nut", "castle", "write `plain` or `prevailing`", id="nut"),
        pytest.param("hardware", "[new]", "write `new`, `reused` or `new each time`", id="hardware-list"),
        pytest.param("wheel", "true", "`true` is not known here; write `yes` or `no`", id="wheel"),
        pytest.param("adapter", "50 mm", "fields are wanted here", id="adapter-text"),
        pytest.param("adapter", "{length: 50, angle: 0}", "write it like 40 km, 50 mm", id="adapter-no-unit"),
        pytest.param("adapter", "{length: 50 mm, angle: 181}", "write degrees from 0 to 180", id="adapter-angle"),
        pytest.param("adapter", "{length: 50 mm, angle: 45°}", "write plain digits", id="adapter-degree-sign"),
        pytest.param("adapter", "{length: 50 mm}", "is missing; write it, for example `angle: 0`", id="no-angle"),
        pytest.param("adapter", "{length: 5 mm, angle: 0, to: 1}", "known here: `length`, `angle`", id="adapter-more"),
    ],
)  # fmt: skip
def test_a_bad_value_is_refused_with_what_to_write(field: str, text: str, words: str) -> None:
    assert words in what(field, text)


@pytest.mark.parametrize("text", ["95.20", "95.2", "95", '"95.20"', "0.5", "123456789.123456789"])
def test_a_torque_keeps_the_digits_of_the_file(text: str) -> None:
    assert str(joint(torque=text).final.band.target) == text.strip('"')


@pytest.mark.parametrize(
    "text",
    [
        *["M14x2", "M8", "M10x1.5", "M12×1.25", "M6 x 1", "M2.5", "M100x4"],
        *["7/16-14", "3/8", "5/16", "1/4-20", "1/2-13 UNC", "1-8", "1-1/4-7", "1 1/4-7 UNC", '"#10-24"', "10-24"],
    ],
)
def test_metric_and_unified_threads_are_read(text: str) -> None:
    assert joint(thread=text).thread == text.strip('"')


def test_layout_inside_a_text_says_nothing() -> None:
    assert joint(name=">\n      Spring  U-bolt\n      nuts").name == "Spring U-bolt nuts"


def test_one_id_may_stand_without_a_list() -> None:
    assert joint(wrench="W-140").wrenches == ("W-140",)


def test_a_list_of_positions_is_the_order() -> None:
    assert (joint(order="[4, 2, 3, 1]").order, joint(order="[4, 2, 3, 1]").order_word) == ((4, 2, 3, 1), "listed")
    assert joint().order_word == "any"
    assert (joint(order="in line").order, joint(order="in line").order_word) == ((2, 3, 1, 4), "in line")


def test_an_adapter_is_told_in_one_text() -> None:
    assert joint(adapter="{length: 50mm, angle: 22.5}").adapter == "50 mm at 22.5°"
