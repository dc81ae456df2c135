"""What the record keeps of checks: every row of a file accounted for, none counted twice, each taken back by name."""

import pytest

from collector.record.checks import FileRow, SameMoment, add_checks, take_check_file, void_check
from collector.record.jobs import add_wrench
from schemas.bodies import CheckFile, CheckMade, WrenchAdded
from schemas.errors import RecordError

FILE = CheckFile("bench.csv", "ab" * 32)


def check(day="2026-03-02", reference="100", shown="101", wrench="W-7"):
    return CheckMade(wrench, day, reference, shown, "N·m", reference, shown)


def rows(*checks):
    return [FileRow(line, f"row {line}".encode(), one) for line, one in enumerate(checks, 2)]


@pytest.fixture(name="bench")
def _bench(floor, recorder):
    floor.register(recorder)
    return recorder


def stored(recorder, columns="at, reference, shown"):
    return recorder.query(f"SELECT {columns} FROM wrench_check ORDER BY seq")


def entries(recorder, kind):
    return [entry.body for _, entry in recorder.entries("json_extract(entry, '$.kind') = ?", kind)]


def size(recorder):
    return recorder.query("SELECT count(*) FROM ledger")[0][0]


def test_rows_are_kept_in_the_order_of_the_file_with_line_bytes_and_the_files_entry(bench):
    taken = take_check_file(bench, FILE, rows(check("2026-03-09"), check("2026-03-02"), check("2026-03-05")), "person-1")

    assert [row.check.checked_at for row in taken.checks] == ["2026-03-09", "2026-03-02", "2026-03-05"]
    ((seq, file),) = bench.entries("json_extract(entry, '$.kind') = 'check file'")
    assert (file.body, file.by) == ({"file": "bench.csv", "sha256": "ab" * 32}, "person-1")
    assert stored(bench, "at, file, line, by") == [
        ("2026-03-09", seq, 2, "person-1"), ("2026-03-02", seq, 3, "person-1"), ("2026-03-05", seq, 4, "person-1"),
    ]  # fmt: skip
    assert [body["raw"] for body in entries(bench, "check")] == [f"row {line}".encode().hex() for line in (2, 3, 4)]


NOON = "2026-03-02T12:00:00.000000Z"


def remarks(taken):
    return [row.remarks for row in taken.checks]


@pytest.mark.parametrize(
    ("first", "second", "told"),
    [
        pytest.param(check(NOON), check(NOON, shown="99"), True, id="another-value"),
        pytest.param(check(NOON), check(NOON, reference="100.0", shown="99"), True, id="the-reference-with-zeros"),
        pytest.param(check(NOON), check(NOON), False, id="the-same-value"),
        pytest.param(check(NOON), check(NOON, shown="101.0"), False, id="the-same-value-with-zeros"),
        pytest.param(check(NOON), check(NOON, reference="50", shown="51"), False, id="another-reference"),
        pytest.param(check(NOON), check("2026-03-02T12:00:01.000000Z", shown="99"), False, id="another-second"),
        pytest.param(check(NOON), check(NOON, shown="99", wrench="W-8"), False, id="another-wrench"),
        pytest.param(check(), check(shown="99"), False, id="a-day-alone"),
    ],
)
def test_two_checks_of_one_instant_that_disagree_are_both_kept_and_told(bench, first, second, told):
    says = ("another check of W-7 at the same time and reference shows 101",) if told else ()
    add_wrench(bench, WrenchAdded("W-8", "SN-8", "indicating", "10", "200", "N·m", "10", "200", "highest"), "person-1")

    assert remarks(take_check_file(bench, FILE, rows(first, second), "person-1")) == [(), says]
    assert len(stored(bench)) == 2


def test_a_check_that_disagrees_with_one_on_record_is_told_and_no_more_once_that_is_taken_back(bench):
    add_checks(bench, [check(NOON)], "person-1")
    other = CheckMade("W-7", NOON, "100", "73", "lbf·ft", "100", "99")

    assert SameMoment(bench).add(other) == ("another check of W-7 at the same time and reference shows 101 N·m",)
    assert SameMoment(bench).add(check(NOON)) == ()
    void_check(bench, int(stored(bench, "seq")[0][0]), "typo", "person-1")
    assert SameMoment(bench).add(other) == ()


def test_what_stands_of_a_file_is_known_when_it_is_read_again(bench):
    both = rows(check(), check(shown="199"))
    assert take_check_file(bench, FILE, both, "person-1").standing == both

    void_check(bench, int(stored(bench, "seq")[1][0]), "typo", "person-1")

    assert take_check_file(bench, FILE, both, "person-1").standing == both[:1]


def test_two_equal_rows_are_two_real_checks_and_none_is_added_when_the_file_is_read_again(bench):
    twice = rows(check(), check())

    first = take_check_file(bench, FILE, twice, "person-1")
    before = size(bench)
    again = take_check_file(bench, FILE, twice, "person-1")

    assert (len(first.checks), first.already_stored) == (2, 0)
    assert (again.checks, again.already_stored) == ([], 2)
    assert len(stored(bench)) == 2
    assert size(bench) == before


def test_a_longer_file_adds_only_what_is_new(bench):
    take_check_file(bench, FILE, rows(check(), check()), "person-1")

    taken = take_check_file(bench, FILE, rows(check(), check(shown="99"), check(), check()), "person-1")

    assert (len(taken.checks), taken.already_stored) == (2, 2)
    assert [shown for (shown,) in stored(bench, "shown")] == ["101", "101", "99", "101"]


def test_another_value_at_one_instant_and_reference_is_kept_beside_the_first(bench):
    at = "2026-03-02T06:30:00.000000Z"
    take_check_file(bench, FILE, rows(check(at), check(at, shown="99")), "person-1")

    assert [shown for (shown,) in stored(bench, "shown")] == ["101", "99"]


def test_closing_zeros_that_a_spreadsheet_drops_make_no_second_check(bench):
    take_check_file(bench, FILE, rows(check(reference="100.50", shown="101.0")), "person-1")

    sheet = take_check_file(bench, CheckFile("bench.xlsx", "cd" * 32), rows(check(reference="100.5", shown="101")), "person-1")

    assert (len(sheet.checks), sheet.already_stored) == (0, 1)


def test_in_one_file_they_are_two_checks(bench):
    mixed = rows(check(reference="100.50"), check(reference="100.5"))

    assert len(take_check_file(bench, FILE, mixed, "person-1").checks) == 2
    assert take_check_file(bench, FILE, mixed[::-1], "person-1").already_stored == 2


def test_a_row_that_is_no_check_is_kept_raw_with_the_reason_and_once(bench):
    bad = FileRow(3, b"2026-03-02,W-9,1,1,Nm", None, "wrench W-9 is not in the register")

    first = take_check_file(bench, FILE, [*rows(check()), bad], "person-1")
    before = size(bench)
    again = take_check_file(bench, FILE, [*rows(check()), bad], "person-1")

    assert first.not_taken == again.not_taken == [bad]
    ((file_seq, _),) = bench.entries("json_extract(entry, '$.kind') = 'check file'")
    assert entries(bench, "check not taken") == [{"file": file_seq, "line": 3, "raw": bad.raw.hex(), "reason": bad.reason}]
    assert size(bench) == before


def test_a_row_refused_before_is_taken_once_its_wrench_is_registered(bench):
    take_check_file(bench, FILE, [FileRow(2, b"row 2", None, "wrench W-9 is not in the register")], "person-1")

    assert len(take_check_file(bench, FILE, rows(check()), "person-1").checks) == 1


def test_a_file_whose_writing_fails_leaves_nothing(floor):
    with floor.recorder() as recorder:
        floor.register(recorder)
        before = size(recorder)
        with pytest.raises(RecordError, match="wrench W-9, which was never added"):
            take_check_file(recorder, FILE, rows(check(), check(wrench="W-9")), "person-1")
    with floor.recorder() as recorder:
        assert (size(recorder), stored(recorder)) == (before + 1, [])


def test_typed_checks_are_each_one_more(bench):
    add_checks(bench, [check(), check()], "person-1")
    add_checks(bench, [check()], "person-1")

    assert len(stored(bench)) == 3
    assert len({identity for (identity,) in stored(bench, "identity")}) == 3
    assert take_check_file(bench, FILE, rows(check(), check(), check()), "person-1").already_stored == 3


def test_a_check_is_taken_back_by_name_and_stays_on_record(bench):
    add_checks(bench, [check(), check(shown="199")], "person-1")
    ((seq,),) = bench.query("SELECT seq FROM wrench_check WHERE shown = '199'")

    void_check(bench, seq, "typed 199 for 99", "person-2")

    assert stored(bench, "shown, void, by") == [("101", None, "person-1"), ("199", "typed 199 for 99", "person-1")]
    assert entries(bench, "check void") == [{"check": seq, "reason": "typed 199 for 99"}]


def test_a_check_of_an_earlier_run_is_taken_back_and_the_file_read_again_does_not_bring_it_back(floor):
    with floor.recorder() as recorder:
        floor.register(recorder)
        take_check_file(recorder, FILE, rows(check(shown="199")), "person-1")
        ((seq,),) = recorder.query("SELECT seq FROM wrench_check")
    with floor.recorder() as recorder:
        void_check(recorder, seq, "slip of the pen", "person-1")
        again = take_check_file(recorder, FILE, rows(check(shown="199")), "person-1")

        assert (len(again.checks), again.already_stored) == (0, 1)
        assert stored(recorder, "seq, void") == [(seq, "slip of the pen")]
    with floor.recorder() as recorder:
        before = stored(recorder, "*")
        recorder.rebuild()
        assert stored(recorder, "*") == before


@pytest.mark.parametrize("seq", [0, -1, 1, 3, 10**6, 2**63 - 1, 2**63, 10**30], ids=str)
def test_what_is_no_check_cannot_be_taken_back(bench, seq):
    before = size(bench)
    message = f"entry {seq} is no check; `witnessmark export checks --to -` names each check's entry"
    with pytest.raises(RecordError, match=message):
        void_check(bench, seq, "why", "person-1")
    assert size(bench) == before


def test_a_check_is_taken_back_once(bench):
    add_checks(bench, [check()], "person-1")
    ((seq,),) = bench.query("SELECT seq FROM wrench_check")
    void_check(bench, seq, "first reason", "person-1")

    with pytest.raises(RecordError, match=rf"the check in entry {seq} was taken back already \(first reason\)"):
        void_check(bench, seq, "second reason", "person-1")
    assert stored(bench, "void") == [("first reason",)]
