"""The sources of a command line: an option belongs to the --from that it stands behind, before the first to all of them."""

import pytest

from collector.cli.asked_source import AskedSource
from collector.cli.asked_source import asked_sources as sources_of
from collector.cli.parser import parser


def asked(*options: str) -> tuple[AskedSource, ...]:
    return sources_of(parser().parse_args(["collect", "plan.yaml", *options]).ordered)


@pytest.mark.parametrize(
    "options",
    [
        pytest.param(("--from", "serial:A", "--wire", "x", "--wrench", "W-1", "--baud", "4800", "--dtr"), id="behind"),
        pytest.param(("--wire", "x", "--wrench", "W-1", "--baud", "4800", "--dtr", "--from", "serial:A"), id="before"),
        pytest.param(("--wire", "x", "--baud", "4800", "--from", "serial:A", "--dtr", "--wrench", "W-1"), id="around"),
    ],
)
def test_of_one_source_it_does_not_matter_where_its_options_stand(options):
    assert asked(*options) == (AskedSource("serial:A", "x", "W-1", 4800, True),)


def test_a_source_without_options_has_the_usual_ones():
    assert asked("--from", "serial:A") == (AskedSource("serial:A", None, None, 9600, False),)


def test_an_option_before_the_first_source_holds_for_all_and_one_behind_a_source_for_that_alone():
    options = ("--wire", "x", "--from", "serial:A", "--wrench", "W-1", "--from", "ble:B", "--wire", "y", "--from", "serial:C")

    assert asked(*options) == (
        AskedSource("serial:A", "x", "W-1"),
        AskedSource("ble:B", "y", None),
        AskedSource("serial:C", "x", None),
    )


@pytest.mark.parametrize(
    ("source", "kind", "where"),
    [
        pytest.param("serial:/dev/ttyUSB0", "serial", "/dev/ttyUSB0", id="port"),
        pytest.param("serial:usb=1A2B:0001:7", "serial", "usb=1A2B:0001:7", id="a-colon-in-the-place"),
        pytest.param("keys:", "keys", "", id="no-place"),
    ],
)
def test_a_source_is_its_kind_and_its_place(source, kind, where):
    (one,) = asked("--from", source)

    assert (one.kind, one.where) == (kind, where)


def test_without_a_source_nothing_is_read(capsys):
    with pytest.raises(SystemExit):
        asked("--wire", "x")

    assert "--from" in capsys.readouterr().err


@pytest.mark.parametrize("speed", ["fast", "0", "-5", "²"])
def test_a_speed_that_is_none_is_refused(capsys, speed):
    with pytest.raises(SystemExit):
        asked("--from", "serial:A", f"--baud={speed}")

    assert "--baud" in capsys.readouterr().err
