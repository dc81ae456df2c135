"""A layout file says everything that a log may leave open, and each mistake in it is one line with its place."""

from datetime import UTC, datetime

import pytest

from schemas.errors import PlanError
from schemas.log_layout import LogLayout
from schemas.log_layout_load import load_layout
from schemas.log_time import TimeRule

WHOLE = """\
layout: shop wrench
encoding: cp1252
delimiter: semicolon
decimal_mark: ","
unit: Nm
dates: day first
times_count: seconds
zone: Europe/Berlin
clock:
  - {tool: "2026-03-02 08:00:00", ours: "2026-03-02T07:00:10Z"}
columns: {Drehmoment: torque, Notiz: null}
over_range: [HIGH]
no_reading: ["----"]
status: {"": "", B: battery low}
low_battery: [B]
"""


def test_every_field_is_taken():
    layout = load_layout(WHOLE.encode(), "shop.yaml")

    tool, ours = datetime(2026, 3, 2, 7, tzinfo=UTC), datetime(2026, 3, 2, 7, 0, 10, tzinfo=UTC)
    assert layout == LogLayout(
        source="declared in shop.yaml", encoding="cp1252", delimiter=";", decimal_mark=",", unit="N·m",
        time=TimeRule("day first", "seconds", "Europe/Berlin", ((tool, ours),)),
        columns={"Drehmoment": "torque", "Notiz": None}, over_range=("HIGH",), no_reading=("----",),
        status={"": "", "B": "battery low"}, low_battery=("B",),
    )  # fmt: skip


def test_everything_but_the_name_may_be_left_out():
    assert load_layout(b"layout: bare\n", "bare.yaml") == LogLayout(source="declared in bare.yaml")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("encoding: utf-8\n", r"bare.yaml, line 1, `layout`: is missing; write it", id="no-name"),
        pytest.param("layout: a\ncolour: red\n", r"line 2, `colour`: is not known here; the fields are layout", id="unknown"),
        pytest.param("layout: a\ndelimiter: ','\n", r"line 2, `delimiter`: `,` is not right: input", id="delimiter"),
        pytest.param("layout: a\nunit: km\n", r"line 2, `unit`: `km` is not right: .* a length", id="unit"),
        pytest.param("layout: a\nunit: [Nm]\n", r"line 2, `unit`", id="unit-list"),
        pytest.param("layout: a\nzone: Berlin\n", r"line 2, `zone`: `Berlin` is not right: zone", id="zone"),
        pytest.param("layout: a\nzone: [x]\n", r"line 2, `zone`", id="zone-list"),
        pytest.param("layout: a\ncolumns: {A: speed}\n", r"line 2, `columns.A`: `speed` is not right", id="column"),
        pytest.param("layout: a\nclock: [{tool: x, ours: y}]\n", r"`clock\[1\].tool`: `x` is not right: wants a time", id="time"),
        pytest.param("layout: a\nclock: [{tool: [x], ours: y}]\n", r"`clock\[1\].tool`", id="time-list"),
        pytest.param("layout: a\nover_range: OL\n", r"line 2, `over_range`: wants a list, such as \[OL\]", id="no-list"),
        pytest.param("layout: a\ncolumns: torque\n", r"line 2, `columns`: wants fields", id="no-fields"),
        pytest.param("layout: a\nclock: [x]\n", r"line 2, `clock\[1\]`: wants fields, such as {tool", id="no-moments"),
        pytest.param("layout: a\nclock: [{tool: 2026-03-02, at: 1}]\n", r"is not known here; the fields are tool", id="pair"),
        pytest.param(
            "layout: a\nclock:\n  - {tool: 2026-03-02 08:00, ours: 2026-03-02 08:00}\n",
            "line 2, `clock`: `2026-03-02 08:00:00` has no offset, and no `zone` is declared", id="no-zone",
        ),
        pytest.param(
            "layout: a\nzone: Europe/Berlin\nclock: [{tool: 2025-10-26 02:20, ours: 2025-10-26T02:20Z}]\n",
            "line 3, `clock`: `2025-10-26 02:20:00` is no one moment in that zone", id="repeated-hour",
        ),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line_with_its_place(text, says):
    with pytest.raises(PlanError, match=says) as caught:
        load_layout(text.encode(), "bare.yaml")

    assert len(str(caught.value).splitlines()) == len(caught.value.faults)
