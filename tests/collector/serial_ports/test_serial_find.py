"""Which port is meant: by name, by adapter, and never one of two."""

import pytest
from serial.tools.list_ports_common import ListPortInfo

from collector.acquire.serial_find import PortFinder, list_ports
from schemas.errors import SourceError, SourceReason


def usb(name, serial=None, socket="1-1", kind=(0x1209, 0x0001), interface=""):
    info = ListPortInfo(name, skip_link_detection=True)
    info.vid, info.pid = kind
    info.serial_number = serial
    info.location = f"{socket}:{interface}" if interface else socket
    info.product = "Made-up adapter"
    info.apply_usb_info()
    return info


def built_in(name):
    return ListPortInfo(name, skip_link_detection=True)


def found(wanted, *ports):
    return PortFinder(wanted, lambda: ports).find().name


def refused(finder):
    with pytest.raises(SourceError, match=r"^[^\n]+$") as caught:
        finder.find()
    return caught.value


def again(wanted, before, *after):
    """The finder of a port that was opened once among `before`, with `after` to find it in."""
    ports = list(before)
    finder = PortFinder(wanted, lambda: ports)
    finder.keep(finder.find())
    ports[:] = after
    return finder


@pytest.mark.parametrize(
    "wanted",
    [
        pytest.param("usb=10c4:ea60:A7", id="kind-and-serial-number"),
        pytest.param("usb=10C4:EA60", id="kind-alone"),
        pytest.param("/dev/ttyX1", id="name"),
    ],
)
def test_port_is_found_by(wanted):
    assert found(wanted, built_in("/dev/ttyX0"), usb("/dev/ttyX1", "A7", kind=(0x10C4, 0xEA60))) == "/dev/ttyX1"


def test_serial_number_may_have_colons_in_it():
    assert found("usb=1209:0001:AA:BB", usb("/dev/ttyX1", "AA:BB"), usb("/dev/ttyX2", "AA")) == "/dev/ttyX1"


@pytest.mark.parametrize("wanted", ["/dev/ttyX9", "COM12", "socket://127.0.0.1:9"])
def test_name_that_no_list_knows_is_taken_as_it_is(wanted):
    assert found(wanted, built_in("/dev/ttyX0")) == wanted


def test_two_that_match_are_named_with_their_serial_numbers_and_neither_is_chosen():
    error = refused(PortFinder("usb=1209:0001", lambda: [usb("/dev/ttyX0", "A7"), usb("/dev/ttyX1", "B8", "1-2")]))

    assert error.reason is SourceReason.NOT_READABLE
    assert str(error) == (
        "`usb=1209:0001` may be /dev/ttyX0 (usb=1209:0001:A7) and /dev/ttyX1 (usb=1209:0001:B8);"
        " name one by its port, or by a serial number that only it has"
    )


def test_adapter_that_is_not_there_is_missing_and_those_that_are_there_are_named():
    error = refused(PortFinder("usb=1209:0001:A7", lambda: [usb("/dev/ttyX1", "B8"), built_in("/dev/ttyX0")]))

    assert error.reason is SourceReason.MISSING
    assert "(there is /dev/ttyX0, /dev/ttyX1 (usb=1209:0001:B8))" in str(error)


@pytest.mark.parametrize("wanted", ["usb=", "usb=12", "usb=1209:0001:", "usb=WXYZ:0001", "usb=12090001"])
def test_adapter_that_is_written_wrong_is_told_how_it_is_written(wanted):
    error = refused(PortFinder(wanted, list))

    assert error.reason is SourceReason.NOT_READABLE
    assert "write usb=VVVV:PPPP or usb=VVVV:PPPP:SERIAL" in str(error)


@pytest.mark.parametrize("wanted", ["/dev/ttyX0", "usb=1209:0001", "usb=1209:0001:A7"])
def test_same_adapter_is_found_again_under_another_name_in_another_socket(wanted):
    finder = again(wanted, [usb("/dev/ttyX0", "A7")], usb("/dev/ttyX0", "B8"), usb("/dev/ttyX1", "A7", "1-4"))

    assert finder.find().name == "/dev/ttyX1"


@pytest.mark.parametrize("wanted", ["/dev/ttyX0", "usb=1209:0001"])
def test_other_adapter_where_the_one_before_was_is_never_taken_for_it(wanted):
    finder = again(wanted, [usb("/dev/ttyX0", "A7")], usb("/dev/ttyX0", "B8"))

    assert "/dev/ttyX0 (usb=1209:0001:B8) is another adapter than the one before (usb=1209:0001:A7)" in str(refused(finder))


def test_adapter_that_is_still_away_is_missing_though_other_ports_are_there():
    finder = again("/dev/ttyX0", [usb("/dev/ttyX0", "A7")], usb("/dev/ttyX1", "B8"))

    assert refused(finder).reason is SourceReason.MISSING


def test_adapter_without_serial_number_is_found_again_in_its_socket_under_another_name():
    finder = again("/dev/ttyX0", [usb("/dev/ttyX0"), usb("/dev/ttyX1", socket="1-2")],
                   usb("/dev/ttyX0", socket="1-2"), usb("/dev/ttyX1"))  # fmt: skip

    assert finder.find().name == "/dev/ttyX1"


def test_adapter_without_serial_number_in_another_socket_may_be_another_and_is_not_taken():
    finder = again("/dev/ttyX0", [usb("/dev/ttyX0")], usb("/dev/ttyX0", socket="1-2"))

    assert "in another USB socket it may belong to another wrench" in str(refused(finder))


def test_adapter_named_by_its_kind_may_move_to_another_socket_while_it_is_the_only_one():
    finder = again("usb=1209:0001", [usb("/dev/ttyX0")], usb("/dev/ttyX1", socket="1-2"))

    assert finder.find().name == "/dev/ttyX1"


def test_adapter_named_by_its_kind_that_comes_back_as_two_is_not_chosen_from():
    finder = again("usb=1209:0001", [usb("/dev/ttyX0")], usb("/dev/ttyX1", socket="1-2"), usb("/dev/ttyX2", socket="1-3"))

    assert refused(finder).reason is SourceReason.NOT_READABLE


def test_serial_number_that_two_adapters_have_tells_nothing_so_the_socket_does():
    # Adapters are sold that all say the same number, such as 0001 (common practice, no source).
    twins = [usb("/dev/ttyX0", "0001"), usb("/dev/ttyX1", "0001", "1-2")]

    assert "may belong to another wrench" in str(refused(again("/dev/ttyX0", twins, usb("/dev/ttyX1", "0001", "1-2"))))
    assert again("/dev/ttyX0", twins, usb("/dev/ttyX7", "0001"), twins[1]).find().name == "/dev/ttyX7"


def test_other_interface_of_the_same_adapter_is_another_port():
    both = [usb("/dev/ttyX0", "A7", interface="1.0"), usb("/dev/ttyX1", "A7", interface="1.1")]

    assert refused(again("/dev/ttyX0", both, both[1])).reason is SourceReason.MISSING
    assert again("/dev/ttyX0", both, usb("/dev/ttyX3", "A7", "1-4", interface="1.0")).find().name == "/dev/ttyX3"


def test_link_that_the_system_keeps_is_the_port_that_it_leads_to(tmp_path):
    link = tmp_path / "by-id"
    link.symlink_to(tmp_path / "ttyX1")

    assert found(str(link), usb(str(tmp_path / "ttyX1"), "A7")) == str(tmp_path / "ttyX1")


def test_list_gives_name_description_and_adapter_in_the_order_of_their_numbers():
    odd = usb("/dev/ttyX2", "A\x1b7", kind=(0x10C4, 0xEA60))

    ports = list_ports(lambda: [usb("/dev/ttyX10"), odd, built_in("/dev/ttyX1")])

    assert [(port.name, port.description, str(port.adapter)) for port in ports] == [
        ("/dev/ttyX1", "", "None"),
        ("/dev/ttyX2", "Made-up adapter", "usb=10C4:EA60:A?7"),
        ("/dev/ttyX10", "Made-up adapter", "usb=1209:0001"),
    ]


def test_list_that_fails_while_a_port_goes_is_an_empty_one():
    def going():
        raise OSError(19, "No such device")

    assert list_ports(going) == []
