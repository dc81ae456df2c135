"""`wire list`, `show`, `check`: the formats that come with the program, and what one's own makes of bytes of the wrench."""

import json
from decimal import Decimal

import pytest

from collector.cli.main import main
from schemas.wire_format_load import load_wire_format

SHIPPED = ["binary-record", "fixed-width", "framed-sum", "plain-line"]
LINE = b"@W-140;0042;95.2;Nm;2026-03-02T08:15:30+01:00;ok\r\n"
OWN = """\
name: own
encoding: ascii
delimiter: ";"
fields: [wrench, torque]
unit: N·m
longest: 40
"""


@pytest.fixture(name="run")
def _run(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        code = main(["wire", *arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return run


@pytest.fixture(name="own")
def _own(tmp_path):
    (tmp_path / "own.yaml").write_text(OWN, encoding="utf-8")
    return "own.yaml"


@pytest.fixture(name="sample")
def _sample(tmp_path):
    def sample(data: bytes) -> tuple[str, str]:
        (tmp_path / "sample.bin").write_bytes(data)
        return "--sample", "sample.bin"

    return sample


def test_every_shipped_format_is_listed_with_its_layout(run):
    code, out, _ = run("list")

    assert code == 0
    assert [line.partition(":")[0] for line in out.splitlines()] == SHIPPED
    assert "plain-line: lines, at most 120 bytes: wrench, sequence, torque, unit, tool_time, status\n" in out
    assert [row["name"] for row in json.loads(run("list", "--json")[1])["wires"]] == SHIPPED


@pytest.mark.parametrize("name", SHIPPED)
def test_a_shipped_format_is_shown_as_a_file_that_can_be_changed(run, name):
    code, out, _ = run("show", name)

    assert code == 0
    assert load_wire_format(out.encode(), "mine.yaml").name == name


def test_a_name_that_does_not_come_with_the_program_is_refused_with_those_that_do(run):
    code, out, err = run("show", "moon")

    assert (code, out) == (2, "")
    assert err == f"witnessmark: no wire format `moon` comes with the program; there is {', '.join(SHIPPED)}\n"


def test_a_file_without_faults_says_its_layout_and_what_to_do_next(run, own):
    code, out, err = run("check", own)

    assert (code, out) == (0, "own.yaml: nothing wrong found: lines, at most 40 bytes: wrench, torque\n")
    assert err == "try it on bytes of your wrench: witnessmark wire check own.yaml --sample FILE\n"


def test_every_fault_of_a_file_is_a_line(run, own, tmp_path):
    (tmp_path / own).write_text(OWN.replace("longest: 40", "longest: far").replace("ascii", "morse"), encoding="utf-8")

    code, out, _ = run("check", own)

    assert code == 1
    found = sorted(line.split(":")[0] for line in out.splitlines())
    assert found == ["own.yaml, line 2, `encoding`", "own.yaml, line 6, `longest`"]
    answer = json.loads(run("check", own, "--json")[1])
    assert sorted((fault["line"], fault["field"]) for fault in answer["faults"]) == [(2, "encoding"), (6, "longest")]


def test_a_sample_is_read_record_by_record(run, sample):
    code, out, err = run("check", "plain-line", *sample(LINE + b"@W-140;0043;OL;Nm;;lb\n"))

    assert (code, err) == (0, "")
    assert out.splitlines()[1:] == [
        "1  @W-140;0042;95.2;Nm;2026-03-02T08:15:30+01:00;ok",
        "   95.2 N·m; wrench W-140; sequence 42; tool time 2026-03-02T08:15:30+01:00",
        "2  @W-140;0043;OL;Nm;;lb",
        "   above the tool's range; wrench W-140; sequence 43; battery low",
    ]


@pytest.mark.parametrize(
    ("data", "outcome"),
    [
        pytest.param(LINE + b"@W-140;x\n", "unreadable: 2 fields where the format has 6", id="not-laid-out-so"),
        pytest.param(LINE + b"@W-140;1;----;Nm;;ok\n", "set aside: `----` is this format's mark for no reading", id="no-value"),
        pytest.param(LINE + b"@W-140;1;9", "unreadable: the sample ends in the middle of this record", id="cut-off"),
    ],
)
def test_a_record_that_gives_no_reading_says_why_and_is_a_finding(run, sample, data, outcome):
    code, out, _ = run("check", "plain-line", *sample(data))

    assert code == 1
    assert out.splitlines()[-1].strip() == outcome


def test_bytes_that_are_no_text_are_shown_in_hex(run, sample):
    code, out, _ = run("check", "binary-record", *sample(b"\xa5\x5a" + bytes(26)))

    assert code == 1
    assert out.splitlines()[1] == f"1  {(bytes([0xA5, 0x5A]) + bytes(26)).hex(' ')}"
    assert "checksum" in out


def test_a_format_without_a_start_mark_says_that_the_first_record_after_a_connect_is_not_read(run, own, sample):
    code, out, _ = run("check", own, *sample(b"W-1;95.2\nW-1;95.3\n"))

    assert code == 0
    first, second = out.splitlines()[2::2]
    assert first == "   95.2 N·m; wrench W-1; but not where it is the first after a connect, as half a record could look the same"
    assert second == "   95.3 N·m; wrench W-1"


def test_a_check_answers_as_json(run, sample):
    code, out, _ = run("check", "plain-line", "--json", *sample(LINE.replace(b"Nm", b"lbf.ft") + b"@x\n"))

    first, second = json.loads(out)["records"]
    assert code == 1
    assert bytes.fromhex(first["raw"]) == LINE.replace(b"Nm", b"lbf.ft").rstrip()
    # 1 ft is exactly 0.3048 m and 1 lbf exactly 4.4482216152605 N (NIST SP 811, appendix B).
    exact = Decimal("95.2") * Decimal("0.3048") * Decimal("4.4482216152605")
    assert (first["reading"]["torque"], Decimal(first["reading"]["torque_nm"])) == ("95.2", exact)
    assert (second["fate"], second["reason"]) == ("unreadable", "1 fields where the format has 6")


def test_an_empty_sample_is_a_finding(run, sample):
    code, _, err = run("check", "plain-line", *sample(b"\r\n\r\n"))

    assert (code, err) == (1, "sample.bin: holds no record; choose a file of what the wrench sent\n")


@pytest.mark.parametrize("arguments", [("none.yaml",), ("plain-line", "--sample", "none")], ids=["wire", "sample"])
def test_a_file_that_is_not_there_is_one_line(run, arguments):
    code, _, err = run("check", *arguments)

    assert code == 2
    assert "cannot be read (No such file or directory)" in err
    assert err.count("\n") == 1
