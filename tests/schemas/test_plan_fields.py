"""Each value of a plan is taken as the file's own text, or refused with what to write instead."""

import json
import warnings
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from schemas.errors import PlanError
from schemas.mechanics.preload import K_RANGES
from schemas.plan.fields import PREPS
from schemas.plan.load import load_plan
from schemas.plan.rules import drag_value
from schemas.route import Adapter, Joint, Route

HEAD = "title: Axle\nsource: Made up\nunit: N·m\ntolerance: 8 %\n"
FIELDS = {"id": "u-bolts", "name": "U-bolts", "fasteners": "4", "torque": "95"}


def load(head: str = "", **fields: str) -> Route:
    body = "\n".join(f"    {name}: {text}" for name, text in {**FIELDS, **fields}.items())
    return load_plan(f"plan: axle\nrevision: A\n{HEAD}{head}joints:\n  -\n{body}\n".encode(), "axle.yaml")


def joint(head: str = "", **fields: str) -> Joint:
    return load(head, **fields).joints[0]


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
        pytest.param("critical", "true", "`true` is not known here; write `yes` or `no`", id="critical"),
        pytest.param("mark", "no", "`no` is not known here; write `paint` or `none`", id="mark"),
        pytest.param("turn", "bolt", "write `nut` or `head`", id="turn"),
        pytest.param("hand", "lh", "write `left` or `right`", id="hand"),
        pytest.param("basis", "wet", "write `dry` or `as prepared`", id="basis"),
        pytest.param("reopen", "all", "write `fastener` or `joint`", id="reopen"),
        pytest.param("pattern", "square", "write `circle` or `row`", id="pattern"),
        pytest.param("mirror", "yes", "`yes` is not known here; write `left/right`", id="mirror"),
        pytest.param("seen_from", "8", 'put quotes around it: "8"', id="seen-from-number"),
        pytest.param("work_within", "10", "write it like 40 km, 50 mm or 24 h", id="time-without-unit"),
        pytest.param("work_within", "10 m", "it is no time; write it like 10 min", id="metres-for-minutes"),
        pytest.param("cure", "1 month", "it is no time; write it like 10 min, 24 h, 3 days", id="months"),
        pytest.param("cure", "2000 weeks 1", "write it like 40 km, 50 mm or 24 h", id="time-and-more"),
        pytest.param("cure", "", "this is empty; write a text", id="no-time"),
        pytest.param("start", "0", "write a whole number from 1 to 999", id="start-zero"),
        pytest.param("start", "[1, b]", "write a whole number from 1 to 999", id="start-word"),
        pytest.param("start", "[]", "the list is empty", id="start-nowhere"),
        pytest.param("start", "{a: 1}", "a list is wanted here", id="start-fields"),
        pytest.param("then_angle", "90°", "write plain digits", id="angle-degree-sign"),
        pytest.param("then_angle", "0", "is zero; write a value above it", id="angle-zero"),
        pytest.param("then_angle", "720.1", "write degrees above 0, up to 720", id="angle-beyond"),
        pytest.param("then_angle", "-90", "write plain digits", id="angle-negative"),
        pytest.param("angle_tolerance", "5 %", "write plain digits", id="angle-percent"),
        pytest.param("drag", "4", "write included, measured, or a torque with its unit", id="drag-without-unit"),
        pytest.param("drag", "N·m", "write included, measured, or a torque with its unit", id="drag-without-number"),
        pytest.param("drag", "0 N·m", "write included, measured, or a torque with its unit", id="drag-zero"),
        pytest.param("drag", "4 J", "write included, measured, or a torque with its unit", id="drag-energy"),
        pytest.param("drag", "4,5 N·m", "write included, measured, or a torque with its unit", id="drag-comma"),
        pytest.param("drag", "[included]", "one value is wanted here", id="drag-list"),
        pytest.param("adapter", "50 mm", "fields are wanted here", id="adapter-text"),
        pytest.param("adapter", "{length: 50, angle: 0}", "write it like 40 km, 50 mm", id="adapter-no-unit"),
        pytest.param("adapter", "{length: 50 min, angle: 0}", "it is no length; write it like 50 mm", id="adapter-time"),
        pytest.param(
            "adapter", "{length: 50 mm, angle: 0, corrected_by: me}", "write `us` or `wrench`", id="adapter-by-whom"
        ),
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


@pytest.mark.parametrize("length", ["50mm", "50 mm", "50   mm", "5 cm", '"50 mm"'])
def test_an_adapter_has_length_and_angle_exact(length: str) -> None:
    assert joint(adapter=f"{{length: {length}, angle: 22.5}}").adapter == Adapter(Decimal(50), Decimal("22.5"))


@pytest.mark.parametrize("text", ["0.5", "1", "90", "720", "719.999999999"])
def test_an_angle_keeps_the_digits_of_the_file(text: str) -> None:
    angle = joint(then_angle=text, angle_tolerance="0.25").stages[-1].angle

    assert angle is not None
    assert str(angle.target) == text


@pytest.mark.parametrize("text", ["4 N·m", "4 Nm", "4.0 newton metres", "4 N m"])
def test_a_drag_has_the_usual_spellings_of_its_unit(text: str) -> None:
    assert drag_value(text, "N·m") == 4
    assert joint(nut="prevailing", drag=text, head="small_drag: add\n").final.band.target == 99


@pytest.mark.parametrize(
    "text",
    [
        *["צמיג-שמאל", "عجلة-1", "車輪/左", "колесо.2", "τροχός", "Stütze", "écrou", "#10-24", "a/b/c", "a(b):c+d", "x" * 64],
    ],
)
def test_an_id_of_any_script_survives(text: str) -> None:
    quoted = json.dumps(text, ensure_ascii=False)

    assert joint(id=quoted).id == text
    assert joint(id=json.dumps(text)).id == text, "escaped as JSON does it"


@pytest.mark.parametrize(
    "text",
    # Each stands in double quotes in the file.
    [
        '3/8" bolt, "upper"',
        "Muttern 'links'",
        "ברגים, צד שמאל",
        "براغي (يسار)",
        "a: b # c",
        "\\N·m\\",
        "{x}",
        "- a",
        "🔧 22 mm",
        "ß ẞ İ ı",
    ],
)
def test_a_name_of_any_signs_that_can_be_seen_survives(text: str) -> None:
    assert joint(name=json.dumps(text, ensure_ascii=False)).name == text


@pytest.mark.parametrize("text", ["a\u2067b", "a\u200fb", "a\u200bb", "a\u0007b", "a\ufeffb"])
def test_a_sign_that_cannot_be_seen_or_turns_the_line_round_is_refused(text: str) -> None:
    words = what("name", json.dumps(text))

    assert "has a sign that cannot be seen; type the text again" in words
    assert words.isprintable()


@pytest.mark.parametrize(
    ("text", "known"),
    [
        pytest.param("Dry", "dry", id="capital"),
        pytest.param("antiseize", "anti-seize", id="no-hyphen"),
        pytest.param("Threadlocker  Medium", "threadlocker medium", id="capitals"),
    ],
)
def test_a_preparation_that_is_known_in_another_spelling_is_refused_so_that_no_check_passes_it_by(text: str, known: str) -> None:
    assert what("prep", text).endswith(f"differs from the known `{known}` in spelling alone; write `{known}`")


@pytest.mark.parametrize("text", [*PREPS, "candle wax", "oil and wax", "Öl"])
def test_a_preparation_is_a_known_word_or_any_other_text(text: str) -> None:
    assert joint(prep=text).prep == text


def test_each_known_preparation_has_its_range_of_k() -> None:
    assert set(K_RANGES) == set(PREPS)
