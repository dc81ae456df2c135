"""The plan's text becomes a tree of the file's own texts, or a refusal that names the line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemas.errors import PlanError, PlanFault
from schemas.plan.text import MAX_BYTES, MAX_DEPTH, Plain, Tree, field_name, read_tree, shown


def refusal(data: bytes) -> PlanError:
    with pytest.raises(PlanError, match=r"^made-up\.yaml, line ") as caught:
        read_tree(data, "made-up.yaml")
    return caught.value


@pytest.mark.parametrize(
    "text",
    ["012", "08", "95.20", "1:30", "1_000", "1e3", "no", "~", "2026-03-08", "0x1F", ".inf"],
)
def test_a_plain_leaf_keeps_its_own_text(text: str) -> None:
    leaf = read_tree(f"a: {text}\n".encode(), "made-up.yaml").root["a"]

    assert leaf == text
    assert isinstance(leaf, Plain)


@pytest.mark.parametrize(
    "text",
    [pytest.param('"012"', id="double"), pytest.param("'012'", id="single"), pytest.param(">-\n  012", id="block")],
)
def test_a_quoted_leaf_is_told_from_a_plain_one(text: str) -> None:
    leaf = read_tree(f"a: {text}\n".encode(), "made-up.yaml").root["a"]

    assert leaf == "012"
    assert not isinstance(leaf, Plain)


def test_every_place_knows_its_line() -> None:
    tree = read_tree(b"plan: a\n\njoints:\n  - id: x\n    order:\n      - 1\n      - 2\n  - {id: y}\n", "made-up.yaml")

    assert tree.line(("joints",)) == 3
    assert tree.line(("joints", 0, "order", 1)) == 7
    assert tree.line(("joints", 1, "id")) == 8
    assert tree.line(("joints", 0, "name")) == 4, "a field that is not there stands where its joint stands"
    assert tree.line(("title",)) == 1


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert read_tree(b"\xef\xbb\xbfplan: a\n", "made-up.yaml").root == {"plan": "a"}


def test_the_directive_of_the_plans_own_yaml_version_is_read() -> None:
    assert read_tree(b"%YAML 1.2\n---\nplan: a\n...\n", "made-up.yaml").root == {"plan": "a"}


def test_a_field_given_twice_is_refused_with_both_lines() -> None:
    error = refusal(b"u-bolts:\n  torque: 95\n  high: 100\n  torque: 950\n  name: x\n")

    assert error.faults == (
        PlanFault(4, "u-bolts.torque", "`torque` stands twice, on lines 2 and 4; keep one, or give one another name"),
    )


def test_a_whole_block_given_twice_hides_no_later_fault() -> None:
    error = refusal(b"a: {b: [1, {c: 2}]}\nd: 1\na: {b: [3, {b: 2, b: 3}]}\nd: 2\n")

    assert [(fault.line, fault.field) for fault in error.faults] == [(3, "a"), (4, "d")]


@pytest.mark.parametrize(
    ("data", "line", "words"),
    [
        pytest.param(b"", 1, "the file is empty", id="no-bytes"),
        pytest.param(b" \n\n", 1, "the file is empty", id="blank"),
        pytest.param(b"# nothing\n", 1, "this file has none at its top", id="comment-only"),
        pytest.param(b"- a\n- b\n", 1, "a plan is made of fields", id="list"),
        pytest.param(b"just words\n", 1, "a plan is made of fields", id="text"),
        pytest.param(b"a: 1\nb: \xb7\n", 2, "the text is not UTF-8", id="cp1252-middle-dot"),
        pytest.param("a: 1\n".encode("utf-16"), 1, "the text is not UTF-8", id="utf-16"),
        pytest.param(b"a: 1\nb: \x00\n", 2, r"control character U+0000", id="nul"),
        pytest.param(b"a:\n\t- b\n", 2, "a tab stands where YAML takes spaces only", id="tab"),
        pytest.param(b"a: 1\nb: c: d\n", 2, "mapping values are not allowed here", id="two-colons"),
        pytest.param(b"a: [1, 2\n", 2, "this is no YAML", id="open-bracket"),
        pytest.param(b'a: "\\UFFFFFFFF"\n', 1, "this is no YAML", id="impossible-escape"),
        pytest.param(b"a: 1\nb: &x 2\n", 2, "`&x` is a YAML anchor", id="anchor"),
        pytest.param(b"a: 1\nb: *x\n", 2, "`*x` is a YAML alias", id="alias"),
        pytest.param(b"a: 1\nb: !!str 2\n", 2, "is a YAML tag", id="tag"),
        pytest.param(b"a: 1\nb: ! 2\n", 2, "is a YAML tag", id="bare-tag"),
        pytest.param(b"a: 1\n<<: {b: 2}\n", 2, "`<<` is a YAML merge key", id="merge-key"),
        pytest.param(b"a: 1\n? [b]\n: 2\n", 2, "the name of a field must be one text", id="list-as-key"),
        pytest.param(b"a: 1\n---\nb: 2\n", 2, "a second document begins here", id="two-documents"),
        pytest.param(b"%YAML 1.1\n---\na: on\n", 2, "take out the lines that begin with %", id="yaml-1.1"),
        pytest.param(b"%TAG ! x:\n---\na: b\n", 2, "take out the lines that begin with %", id="tag-directive"),
        pytest.param(b"a: 1\nb: " + b"[" * 30 + b"]" * 30, 2, "nested more than 20 deep", id="deep-list"),
        pytest.param(b"a: 1\nb: " + b"{c: " * 30 + b"}" * 30, 2, "nested more than 20 deep", id="deep-fields"),
        pytest.param(b"a: 1\nb: " + b"[" * 900_000, 2, "nested more than 20 deep", id="very-deep"),
        pytest.param(b"#" * (MAX_BYTES + 1), 1, "2000001 bytes, more than the 2000000", id="too-large"),
    ],
)
def test_a_text_that_is_no_plain_tree_is_refused_with_its_line(data: bytes, line: int, words: str) -> None:
    error = refusal(data)

    assert error.faults[-1].line == line
    assert words in error.faults[-1].what


def test_nesting_up_to_the_bound_is_read() -> None:
    depth = MAX_DEPTH - 1

    assert read_tree(b"a: " + b"[" * depth + b"]" * depth, "made-up.yaml").root.keys() == {"a"}


def test_all_doubts_about_the_text_are_told_at_once() -> None:
    error = refusal(b"a: &x 1\nb: *x\na: 2\nc: d: e\n")

    assert [fault.line for fault in error.faults] == [1, 2, 3, 4]
    assert str(error).count("\n") == 3


def test_a_key_that_cannot_be_printed_stays_one_line() -> None:
    error = refusal(b'"a\\n\\ud800": 1\n"a\\n\\ud800": 2\n')

    assert "`a\\n\\ud800` stands twice" in str(error)
    str(error).encode()


def test_a_long_text_is_cut_in_messages() -> None:
    assert shown("x" * 61) == "x" * 57 + "..."
    assert shown("·" * 60) == "·" * 60


@pytest.mark.parametrize(
    ("path", "name"),
    [
        pytest.param(("joints", 0, "torque"), "joints.u-bolts.torque", id="joint-with-id"),
        pytest.param(("joints", 1, "torque"), "joints[2].torque", id="joint-without-id"),
        pytest.param(("joints", 2, "torque"), "joints[3].torque", id="joint-that-is-a-text"),
        pytest.param(("joints", 9, "torque"), "joints[10].torque", id="joint-beyond"),
        pytest.param(("steps", 3, "after", 0), "steps[4].after[1]", id="step"),
        pytest.param((), "", id="whole-file"),
    ],
)
def test_a_place_is_named_as_people_count(path: tuple[str | int, ...], name: str) -> None:
    assert field_name(path, {"joints": [{"id": "u-bolts"}, {"id": ""}, "x"], "steps": []}) == name


def outcome(data: bytes) -> Tree | PlanError:
    try:
        return read_tree(data, "made-up.yaml")
    except PlanError as error:
        return error


@given(st.text(alphabet=st.sampled_from("ab1: -[]{}\"'\n\t#&*!|>%@,?~\\u\x85\u2028\ud7ff·"), max_size=60))
def test_any_text_gives_a_tree_or_a_refusal_of_one_line_a_fault(text: str) -> None:
    result = outcome(text.encode())

    if isinstance(result, PlanError):
        assert all(fault.line >= 1 for fault in result.faults)
        assert len(str(result).splitlines()) == len(result.faults) > 0
    else:
        assert isinstance(result.root, dict)


@given(st.binary(max_size=60))
def test_any_bytes_give_a_tree_or_a_refusal_and_nothing_else(data: bytes) -> None:
    assert isinstance(outcome(data), Tree | PlanError)
