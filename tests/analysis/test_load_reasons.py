"""Why a record is not complete is said in lines that fit on one page, the first ones by name and the others counted."""

from dataclasses import replace

import pytest

from analysis.load.places import Room, fitting, isolated, places, positions
from analysis.load.reasons import let_stand, named_unproven, reasons_not_complete
from analysis.load.record_pulls import FastenerRow, MissingNumbers
from analysis.load.record_said import DecisionRow, HoldPointRow, SignatureRow
from schemas.words import Proof

WIDE = Room(8, 10, 120)


def fastener(joint: int, position: int, proof: Proof, why: str = "", name: str | None = None) -> FastenerRow:
    return FastenerRow(f"j{joint}", name or f"Row {joint}", position, proof, why, ())


def all_of(joints: int, proof: Proof, why: str = "") -> list[FastenerRow]:
    return [fastener(joint, position, proof, why) for joint in range(joints) for position in range(1, 16)]


def hold_points(count: int, signed: int = 0) -> list[HoldPointRow]:
    signature = SignatureRow(1, "2026-03-02T07:00:00.000000Z", "Mira Tannwald", "lead", "h", None, None)
    return [HoldPointRow(f"hold-{n}", "ask", "lead", signature if n < signed else None) for n in range(count)]


def rows(lines) -> int:
    return sum(-(-len(line) // 100) for line in lines)


def test_of_many_joints_the_first_ten_are_named_and_the_others_counted() -> None:
    (reason,) = reasons_not_complete(False, all_of(98, Proof.DOUBTFUL, "matched by order only"), (), ())

    named = "; ".join(f"Row {n}, 1-15" for n in range(10))
    assert reason == (
        f"1470 fasteners doubtful: {named}; and 88 more joints: see Every fastener in the report (matched by order only)"
    )


def test_what_has_room_is_named_in_full() -> None:
    whys = [fastener(n, 2, Proof.FAILED, f"over-torque at reading {n}") for n in range(8)]
    missing = [MissingNumbers("W-140", 3, 4), MissingNumbers("", 7, 7)]

    assert reasons_not_complete(False, whys, hold_points(3, signed=1), missing) == (
        *(f"1 fastener failed: Row {n}, 2 (over-torque at reading {n})" for n in range(8)),
        "hold point `hold-1` is not signed",
        "hold point `hold-2` is not signed",
        "readings missing: W-140 numbers 3-4",
        "readings missing: wrench not named, number 7",
    )


def test_a_list_of_every_kind_of_reason_fits_on_a_page_and_counts_what_it_does_not_name() -> None:
    proofs = (Proof.FAILED, Proof.MISSED, Proof.LEFT_LOOSE, Proof.DOUBTFUL)
    fasteners = [
        fastener(joint, position, proofs[(joint + position) % 4], f"over-torque at reading {joint * 15 + position}")
        for joint in range(100)
        for position in range(1, 16)
    ]
    missing = [MissingNumbers("W-140", 3 * n, 3 * n) for n in range(60)]

    reasons = reasons_not_complete(False, fasteners, hold_points(61, signed=1), missing)

    assert rows(reasons) <= 16
    for said in (
        "1 fastener failed: Row 0, 4 (over-torque at reading 4)",
        "374 fasteners failed: Row 0, 8, 12; Row 1, 3, 7, 11, 15; and 98 more joints: see Every fastener in the report "
        "(other reasons: see Every fastener in the report)",
        "375 fasteners missed: Row 0, 1, 5, 9, 13; Row 1, 4, 8, 12; and 98 more joints: see Every fastener in the report",
        "hold point `hold-1` is not signed",
        "59 more hold points are not signed: see Hold points and signatures in the report",
        "readings missing: W-140 number 0",
        "readings missing: 59 more gaps: see Missing numbers in the report",
    ):
        assert said in reasons


def test_one_more_is_said_in_the_singular() -> None:
    one = [fastener(1, 1, Proof.PROVEN)]
    missing = [MissingNumbers("W-140", 3 * n, 3 * n) for n in range(9)]

    (missed,) = reasons_not_complete(False, all_of(11, Proof.MISSED), (), ())
    assert missed.endswith("; and 1 more joint: see Every fastener in the report")
    assert "1 more hold point is not signed: " in reasons_not_complete(False, one, hold_points(9), ())[-1]
    assert "readings missing: 1 more gap: " in reasons_not_complete(False, one, (), missing)[-1]


def test_long_names_and_whys_are_cut_and_say_so() -> None:
    long = [fastener(n, 1, Proof.DOUBTFUL, "why " * 200, name="long name " * 30) for n in range(100)]

    (reason,) = reasons_not_complete(False, long, (), ())

    assert len(reason) < 1500
    assert "…, 1; long name" in reason
    assert reason.endswith("…)")


def test_declared_and_not_fitted_fasteners_are_named_by_who_and_why() -> None:
    few = [
        fastener(1, 1, Proof.DECLARED, "says Jonna Brandt"),
        fastener(1, 2, Proof.PROVEN),
        fastener(1, 3, Proof.DECLARED, "says Jonna Brandt"),
        fastener(2, 1, Proof.NOT_FITTED),
    ]

    assert named_unproven(few) == ["Row 1, 1, 3: declared (says Jonna Brandt)", "Row 2, 1: not fitted"]


def test_as_many_declared_joints_are_named_as_four_rows_hold() -> None:
    (fits,) = named_unproven(all_of(20, Proof.DECLARED))
    (too_many,) = named_unproven(all_of(98, Proof.DECLARED))

    assert fits == "; ".join(f"Row {n}, 1-15" for n in range(20)) + ": declared"
    assert too_many.endswith("Row 9, 1-15; and 88 more joints: see Every fastener in the report: declared")


@pytest.mark.parametrize(
    ("numbers", "signs", "said"),
    [
        pytest.param([1, 2, 3, 5], None, "1-3, 5", id="a-run-and-one"),
        pytest.param(list(range(1, 300, 2)), 20, "1, 3, 5, 7, 9, 11 and 144 more", id="as-many-as-fit"),
        pytest.param([1, 3, 4, 5], 6, "1, 3-5", id="just-fits"),
        pytest.param([1000000], 2, "1000000", id="the-first-always"),
    ],
)
def test_positions_that_do_not_fit_are_counted(numbers: list[int], signs: int | None, said: str) -> None:
    assert positions(numbers, signs) == said


def test_a_name_from_right_to_left_is_kept_apart_from_the_positions_behind_it() -> None:
    # U+2068 and U+2069 of Unicode Standard Annex 9, the bidirectional algorithm, section 2.4.
    assert places([fastener(1, 1, Proof.MISSED, name="שלום")], WIDE) == "\u2068שלום\u2069, 1"
    assert isolated("Hub nuts, left") == "Hub nuts, left"


def test_the_widest_room_that_fits_is_taken_and_the_narrowest_where_none_does() -> None:
    rooms = (Room(3, 1, 1), Room(2, 1, 1), Room(1, 1, 1))

    def say(room: Room) -> list[str]:
        return ["a" * 150] * room.lines

    assert [len(fitting(most, say, rooms)) for most in (6, 5, 4, 2, 1)] == [3, 2, 2, 1, 1]


def spoken(by: str = "Ole Brand", **more: object) -> DecisionRow:
    made = DecisionRow(1, "2026-03-02T07:00:00.000000Z", by, "declared", "j1", "Row 1", None, None, None, None)
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


@pytest.mark.parametrize(
    ("proof", "why", "said", "line"),
    [
        pytest.param(Proof.DECLARED, "declared: B-2", {"tool": "B-2", "value": "65", "unit": "N·m", "reason": "no room"},
                     "declared (B-2, 65 N·m, no room; says Ole Brand)", id="all-of-it"),
        pytest.param(Proof.DECLARED, "declared", {"value": "65"}, "declared (no tool named, 65; says Ole Brand)",
                     id="no-unit"),
        pytest.param(Proof.DECLARED, "declared", {}, "declared (no tool named, no value; says Ole Brand)", id="nothing"),
        pytest.param(Proof.DECLARED, "torque in band; marked and turned by its angle, declared", {"step": 3},
                     "declared (torque in band; marked and turned by its angle, declared; says Ole Brand)", id="by-its-angle"),
        pytest.param(Proof.NOT_FITTED, "part on order", {}, "not fitted (part on order; says Ole Brand)", id="not-fitted"),
    ],
)  # fmt: skip
def test_who_answers_for_a_fastener_is_named_with_tool_and_value_by_hand(proof, why, said, line) -> None:
    row = replace(fastener(1, 2, proof, why), said=spoken(**said))

    assert named_unproven([row]) == [f"Row 1, 2: {line}"]
    assert let_stand([row]) == []


def test_fasteners_of_one_declaration_share_a_line_and_others_do_not() -> None:
    rows = [replace(fastener(1, n, Proof.DECLARED, "declared"), said=spoken(tool="B-2", by=by)) for n, by in enumerate("AABA", 1)]

    assert named_unproven(rows) == [
        "Row 1, 1-2, 4: declared (B-2, no value; says A)",
        "Row 1, 3: declared (B-2, no value; says B)",
    ]


def test_what_the_lead_let_stand_is_named_with_the_reason_and_no_plain_proof_is() -> None:
    why = "stages out of order: the lead lets it stand (seen by both)"
    rows = [replace(fastener(1, 1, Proof.PROVEN, why), said=spoken("Runa Veld")), fastener(1, 2, Proof.PROVEN)]

    assert let_stand(rows) == [f"Row 1, 1: proven ({why}; says Runa Veld)"]
    assert let_stand([fastener(1, 1, Proof.PROVEN, why)]) == [f"Row 1, 1: proven ({why})"]
    assert named_unproven(rows) == []
