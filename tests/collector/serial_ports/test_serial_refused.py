"""A port that cannot be had: one line that says what, where and what to do next, each time with its reason."""

import errno
import os
import subprocess
import sys

import pytest
import serial

from collector.acquire.port_error import holders, port_error
from schemas.errors import SourceError, SourceReason

HOLD = """
import fcntl, os, sys
port = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY)
if sys.argv[2] == "locked":
    fcntl.flock(port, fcntl.LOCK_EX | fcntl.LOCK_NB)
print("held", flush=True)
sys.stdin.read()
"""
NOBODY = 65534


@pytest.fixture(name="hold")
def _hold(port):
    """Has another program hold the port, locked or not; gives its process id."""
    started = []

    def hold(how):
        command = [sys.executable, "-c", HOLD, str(port.path), how]
        program = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        started.append(program)
        assert program.stdout.readline() == "held\n"
        return program.pid

    yield hold
    for program in started:
        program.communicate(timeout=30)


@pytest.fixture(name="refused")
def _refused(new_source):
    def refused(wanted=None, **options):
        with pytest.raises(SourceError, match=r"^port `[^\n]+$") as caught:
            new_source(wanted, **options).open()
        return caught.value

    return refused


def test_missing_port_is_named_with_those_that_are_there(refused, port, listed, tmp_path):
    listed.append(port.listed(serial="A7"))

    error = refused(str(tmp_path / "ttyX"))

    assert error.reason is SourceReason.MISSING
    assert str(error) == (
        f"port `{tmp_path}/ttyX` is not there; plug the cable in, or name another (there is {port.path} (usb=1209:0001:A7))"
    )


def test_missing_port_where_there_is_none_at_all_says_so(refused, tmp_path):
    assert "(no serial port is there)" in str(refused(str(tmp_path / "ttyX")))


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux says who holds a port")
def test_port_locked_by_another_program_is_busy_and_the_program_is_named(refused, hold):
    process = hold("locked")

    error = refused()

    assert error.reason is SourceReason.BUSY
    assert f", process {process}); close that program, or name another port" in str(error)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux says who holds a port")
def test_program_that_had_the_port_open_without_a_lock_is_told_when_ours_opens(new_source, new_run, hold):
    # It cannot be shut out any more, and the bytes that it reads never come to us.
    process = hold("unlocked")

    run = new_run(new_source())

    assert f", process {process}), which may take bytes: close it" in run.opened.detail


def test_port_is_ours_alone_while_it_is_open(refused, new_source):
    new_source().open()

    assert refused().reason is SourceReason.BUSY


def test_forbidden_port_is_named_with_the_group_to_join(refused, port):
    # The superuser may open any port, so it steps down for this.
    import grp

    device = port.device
    group = grp.getgrgid(os.stat(device).st_gid).gr_name
    os.chmod(device, 0)
    before = os.geteuid()
    if before == 0:
        os.seteuid(NOBODY)
    try:
        error = refused(device)
    finally:
        os.seteuid(before)

    assert error.reason is SourceReason.PERMISSION
    join = "on Linux mostly `dialout`" if group == "root" else f"`sudo usermod -aG {group} $USER`"
    assert str(error) == f"port `{device}` may not be opened by you; join its group ({join}) and log in again"


def test_forbidden_port_whose_group_cannot_be_seen_names_the_usual_one():
    said = serial.SerialException(errno.EACCES, "could not open port /dev/ttyX: [Errno 13] Permission denied")

    assert "`dialout`" in str(port_error("/dev/ttyX", said))


def test_file_that_is_no_port_is_refused(refused, tmp_path):
    file = tmp_path / "notes.txt"
    file.write_text("no port", encoding="utf-8")

    error = refused(str(file))

    assert error.reason is SourceReason.NOT_READABLE
    assert "cannot be read as a serial port" in str(error)


def test_url_that_pyserial_does_not_know_is_refused(refused):
    assert refused("nothing://here").reason is SourceReason.NOT_READABLE


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        pytest.param("could not open port 'COM7': FileNotFoundError(2, 'x', None, 2)", SourceReason.MISSING, id="missing"),
        pytest.param("could not open port 'COM7': PermissionError(13, 'x', None, 5)", SourceReason.BUSY, id="busy"),
        pytest.param("no ports found matching regexp 'SER=9'", SourceReason.MISSING, id="search-by-name"),
    ],
)
def test_words_stand_in_where_there_is_no_error_number(said, reason):
    # Texts of pyserial 3.5 on Windows, from its source; not run there.
    assert port_error("COM7", serial.SerialException(said)).reason is reason


def test_holders_of_a_port_that_goes_while_it_is_looked_at_are_none(port, monkeypatch):
    def gone(_):
        raise FileNotFoundError(port.path)

    monkeypatch.setattr("os.readlink", gone)

    assert holders(str(port.path)) == ""
