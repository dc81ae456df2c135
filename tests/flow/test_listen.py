"""`witnessmark listen` as it is typed: over a capture, over a port without a keyboard, and at a keyboard."""

import json
import os
import pty
import subprocess
import sys
import threading
import tty
from contextlib import closing, suppress
from pathlib import Path

import pytest

from collector.acquire.framing import framer_of
from collector.cli.main import main
from collector.decode import decode_frame
from schemas.frame import Frame
from schemas.wire_format_load import load_wire_format

PULLS = [b"@TB-77;0042;50.2;Nm\r\n", b"@TB-77;0043;80.7;Nm\r\n", b"@TB-77;0044;-19.6;Nm\r\n", b"@TB-77;0045;120.4;Nm\r\n"]
TYPED = "50,81,-20,120"
PATIENCE_S = 20


@pytest.fixture(name="listen")
def _listen(tmp_path, capsys):
    """Listens to a capture; gives the exit code, standard output and standard error."""

    def listen(sent, *arguments):
        (tmp_path / "capture.bin").write_bytes(sent)
        code = main(["listen", f"bytes:{tmp_path / 'capture.bin'}", *arguments])
        return code, *capsys.readouterr()

    return listen


def test_format_is_written_and_reads_what_comes_next(listen, tmp_path):
    target = tmp_path / "mine.yaml"

    code, out, err = listen(b"".join(PULLS), "--pulled", TYPED, "--write", str(target))

    wire = load_wire_format(target.read_bytes(), "mine.yaml")
    (piece,) = framer_of(wire).feed(b"@TB-77;0046;33.3;lbf.ft\r\n")
    reading = decode_frame(wire, Frame("test", piece.raw, None, 1, piece.after_open))
    assert (reading.torque, reading.unit, reading.sequence) == ("33.3", "lbf·ft", 46)
    assert (code, out) == (1, "")
    assert "-> -19.6 N·m, sequence 44, serial TB-77" in err
    assert "not decided: field 1 is read as the serial number" in err
    assert "no test pull" in err


def test_format_without_anything_undecided_is_clean(listen):
    code, out, _ = listen(b"".join(PULLS).replace(b"TB-77;", b""), "--pulled", TYPED)

    assert code == 0
    assert load_wire_format(out.encode(), "printed").fields == ("sequence", "torque", "unit")


def test_answer_as_json_has_every_record(listen):
    code, out, _ = listen(b"".join(PULLS), "--pulled", TYPED, "--json")

    answer = json.loads(out)
    assert (code, answer["format"], answer["written"]) == (1, 1, None)
    assert [row["torque"] for row in answer["records"]] == ["50.2", "80.7", "-19.6", "120.4"]
    assert [bytes.fromhex(row["raw"]) + b"\r\n" for row in answer["records"]] == PULLS
    assert answer["not_decided"]


def test_file_that_is_there_is_never_written_over(listen, tmp_path):
    target = tmp_path / "mine.yaml"
    target.write_text("name: kept")

    code, _, err = listen(b"".join(PULLS), "--pulled", TYPED, "--write", str(target))

    assert (code, target.read_text()) == (2, "name: kept")
    assert "nothing is written over it" in err


TWO_FIT = b"50.2;50.5;Nm\r\n80.7;81.0;Nm\r\n120.4;120.0;Nm\r\n"


def test_two_that_fit_are_shown_and_nothing_is_written(listen, tmp_path):
    target = tmp_path / "mine.yaml"

    code, out, err = listen(TWO_FIT, "--pulled", "50,81,120", "--write", str(target))

    assert (code, out, target.exists()) == (2, "", False)
    assert "1: the torque is field 1 of 3" in err
    assert "2: the torque is field 2 of 3" in err
    assert "type every digit that the wrench shows" in err


def test_one_of_two_that_fit_is_taken_where_it_is_chosen(listen):
    _, out, _ = listen(TWO_FIT, "--pulled", "50,81,120", "--choose", "2")

    assert load_wire_format(out.encode(), "printed").fields == (None, "torque", "unit")


@pytest.mark.parametrize(
    ("sent", "arguments", "told"),
    [
        pytest.param(PULLS[0] * 2, ["--pulled", "50,50"], "at least 3 pulls with 2 different values", id="too-few"),
        pytest.param(b"".join(PULLS), ["--pulled", "50,81,-20,90"], "pull 4: 90 is in no field", id="typed-wrong"),
        pytest.param(b"".join(PULLS), ["--pulled", "50,81,-20"], "these are 4, and 3 values were typed", id="counted-wrong"),
        pytest.param(b"".join(PULLS), [], "give the value of each record", id="no-values"),
        pytest.param(b"".join(PULLS), ["--pulled", "50,much"], "`much` is no value", id="no-number"),
        pytest.param(b"", ["--pulled", TYPED], "is empty", id="empty"),
        pytest.param(TWO_FIT, ["--pulled", "50,81,120", "--choose", "3"], "the proposals are 1 to 2", id="no-such-choice"),
        pytest.param(b"50.2\r\n80.7\r\n120.4\r\n", ["--pulled", "50,81,120"], "name it with --unit", id="no-unit"),
        pytest.param(b"".join(PULLS), ["--pulled", TYPED, "--unit", "kgf.m"], "by what was heard and typed", id="unit-twice"),
        pytest.param(bytes(range(256)), ["--pulled", TYPED], "no wire format fits", id="noise"),
    ],
)
def test_what_cannot_be_done_is_told_in_one_line(listen, sent, arguments, told):
    code, out, err = listen(sent, *arguments)

    assert (code, out) == (2, "")
    assert told in err


@pytest.mark.parametrize(
    ("source", "told"),
    [
        pytest.param("log:x.csv", "is no source here", id="a-log"),
        pytest.param("bytes:missing.bin", "name a file of bytes", id="no-file"),
        pytest.param("serial:/dev/missing", "", id="no-port"),
    ],
)
def test_source_that_is_none_is_refused(capsys, source, told):
    assert main(["listen", source, "--pulled", "50"]) == 2
    assert told in capsys.readouterr().err


class Wrench:
    """A wrench on a pseudo-terminal."""

    def __init__(self):
        self._near, self._far = pty.openpty()
        tty.setraw(self._far)
        self.path = os.ttyname(self._far)

    def send(self, raw):
        os.write(self._near, raw)

    def close(self):
        os.close(self._near)
        os.close(self._far)


class Listener:
    """The program, listening; what it says is read line by line."""

    def __init__(self, *arguments, has_keyboard):
        keys, keyboard = pty.openpty() if has_keyboard else (None, subprocess.DEVNULL)
        self._keys = keys
        self._program = subprocess.Popen(
            [sys.executable, "-m", "collector.cli.main", "listen", *arguments],
            stdin=keyboard, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        if has_keyboard:
            os.close(keyboard)
        # What never comes must not be waited for without end.
        self._watch = threading.Timer(PATIENCE_S, self._program.kill)
        self._watch.start()

    def wait_for(self, text):
        said = []
        for line in self._program.stderr:
            said.append(line)
            if text in line:
                return
        raise AssertionError(f"never said: {text!r}; it said: {''.join(said)}")

    def type(self, text):
        os.write(self._keys, f"{text}\n".encode())

    def end(self):
        # Not by `communicate`, which would pass over the lines that `wait_for` has read ahead.
        err, out = self._program.stderr.read(), self._program.stdout.read()
        return self._program.wait(PATIENCE_S), out, err

    def close(self):
        self._watch.cancel()
        self._program.kill()
        self._program.wait(PATIENCE_S)
        self._program.stdout.close()
        self._program.stderr.close()
        if self._keys is not None:
            with suppress(OSError):
                os.close(self._keys)


@pytest.fixture(name="wrench")
def _wrench():
    with closing(Wrench()) as wrench:
        yield wrench


@pytest.fixture(name="listening")
def _listening(wrench):
    made = []

    def listening(*arguments, has_keyboard=True):
        made.append(Listener(f"serial:{wrench.path}", *arguments, has_keyboard=has_keyboard))
        return made[-1]

    yield listening
    for one in made:
        one.close()


def pull_and_type(listener, wrench, raw, value):
    wrench.send(raw)
    listener.wait_for(f"{len(raw)} bytes")
    listener.wait_for("<CR><LF>")
    listener.type(value)


def test_person_at_a_keyboard_gets_a_format_and_a_test_pull(listening, wrench, tmp_path):
    target = tmp_path / "mine.yaml"
    listener = listening("--write", str(target))
    for number, (raw, value) in enumerate(zip(PULLS, ["50", "70", "-20", "120 Nm"], strict=True), 1):
        listener.wait_for(f"pull {number}, what did the wrench show?")
        pull_and_type(listener, wrench, raw, value)
    listener.wait_for("pull 2: 70 is in no field")
    listener.type("2=81")
    listener.wait_for("one wire format fits: the torque is field 3 of 4")
    listener.type("end")
    listener.wait_for("written: ")
    listener.wait_for("pull once more")
    pull_and_type(listener, wrench, b"@TB-77;0046;33.3;Nm\r\n", "33.3")
    listener.wait_for("test pull -> 33.3 N·m, sequence 46")

    code, out, err = listener.end()

    assert (code, out, err) == (1, "", "as typed\n")
    assert load_wire_format(target.read_bytes(), "mine.yaml").fields == ("serial", "sequence", "torque", "unit")


def test_value_without_a_pull_and_an_end_too_soon_are_told(listening, wrench):
    listener = listening()
    listener.wait_for("what did the wrench show?")
    listener.type("50")
    listener.wait_for("no byte came since the last pull")
    listener.type("end")
    listener.wait_for("at least 3 pulls")
    listener.type("\x04")

    assert listener.end()[0] == 2


def test_test_pull_that_is_read_otherwise_than_typed_is_told(listening, wrench):
    listener = listening()
    for raw, value in zip(PULLS, TYPED.split(","), strict=True):
        listener.wait_for("what did the wrench show?")
        pull_and_type(listener, wrench, raw, value)
    listener.type("end")
    listener.wait_for("pull once more")
    pull_and_type(listener, wrench, b"@TB-77;0046;33.3;Nm\r\n", "90")

    code, out, err = listener.end()

    assert code == 1
    assert "do not use this format yet" in err
    assert "fields: [serial, sequence, torque, unit]" in out


def test_values_in_a_list_need_no_keyboard(listening, wrench):
    listener = listening("--pulled", "50,81,-20", "--gap", "0.2", has_keyboard=False)
    for number, raw in enumerate(PULLS[:3], 1):
        listener.wait_for(f"pull {number} of 3")
        wrench.send(raw)

    code, out, err = listener.end()

    assert code == 1
    assert "fields: [serial, sequence, torque, unit]" in out
    assert "no test pull, as the values came in a list" in err


def test_nobody_at_a_keyboard_and_no_list_is_told(wrench):
    run = [sys.executable, "-m", "collector.cli.main", "listen", f"serial:{wrench.path}"]

    done = subprocess.run(run, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=30, check=False)

    assert (done.returncode, Path(wrench.path).exists()) == (2, True)
    assert "nobody is at the keyboard" in done.stderr


def test_unit_is_asked_for_until_it_is_one_and_a_test_pull_that_is_left_out_is_a_finding(listening, wrench):
    listener = listening()
    listener.wait_for("pull 1, what did the wrench show?")
    listener.type("9=50")
    listener.wait_for("`9` is no pull")
    for number, (raw, value) in enumerate(((b"50.2\r\n", "50"), (b"80.7\r\n", "81"), (b"120.4\r\n", "120")), 1):
        listener.wait_for(f"pull {number}, what did the wrench show?")
        pull_and_type(listener, wrench, raw, value)
    listener.wait_for("one wire format fits")
    listener.type("end")
    listener.wait_for("in which unit does the wrench send?")
    listener.type("J")
    listener.wait_for("an energy")
    listener.type("lbf.ft")
    listener.wait_for("pull once more")
    listener.type("")

    code, out, err = listener.end()

    assert (code, load_wire_format(out.encode(), "printed").unit) == (1, "lbf·ft")
    assert err == "no test pull was made; try the format before a job\n"
