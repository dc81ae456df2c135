"""The item of a new job: a declared VIN must be one, a wrong check digit is told, and so is what only looks like one."""

import pytest

from collector.cli.item import check_item
from schemas.errors import RecordError
from schemas.plan.load import load_plan

PLAN = """\
plan: hubs
title: Hubs
revision: "1"
source: Shop procedure 9
tolerance: 10 %
unit: N·m
joints:
  - {id: hub, name: Hub nuts, fasteners: 2, torque: 100}
"""
PLAIN = load_plan(PLAN.encode(), "plan.yaml")
BY_VIN = load_plan(PLAN.replace("unit: N·m", "unit: N·m\nitem: VIN").encode(), "plan.yaml")

# Seventeen ones: their weights sum to 89, which leaves 1 by 11, so position 9 is 1 (49 CFR 565.15(c)).
RIGHT = "11111111111111111"
WRONG_DIGIT = "11111111511111111"


@pytest.mark.parametrize(
    ("item", "said"),
    [
        pytest.param("1111111151111111", "VIN `1111111151111111` has 16 signs; a VIN has 17", id="16-signs"),
        pytest.param("1111111I111111111", "has `I`, which no VIN has; I, O and Q are left out", id="I"),
        pytest.param("1111111O111111111", "has `O`, which no VIN has", id="O"),
        pytest.param("1111111q111111111", "has `q`, which no VIN has", id="small-q"),
        pytest.param("1111111-111111111", "has `-`, which no VIN has", id="sign"),
    ],
)
@pytest.mark.parametrize(("route", "vin"), [(BY_VIN, False), (PLAIN, True)], ids=["by-the-plan", "by-the-command"])
def test_a_declared_vin_that_cannot_be_one_is_refused_in_one_line(item, said, route, vin):
    with pytest.raises(RecordError, match=f"--item: .*{said}") as refused:
        check_item(item, route, vin)

    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(("route", "vin"), [(BY_VIN, False), (PLAIN, True)], ids=["by-the-plan", "by-the-command"])
def test_a_wrong_check_digit_of_a_declared_vin_is_told_and_goes_on(capsys, route, vin):
    check_item(WRONG_DIGIT, route, vin)

    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"note: VIN `{WRONG_DIGIT}`: the check digit in position 9 is 5, the other signs make it 1")
    assert err.count("\n") == 1


@pytest.mark.parametrize(
    ("item", "remark"),
    [
        pytest.param(WRONG_DIGIT, "if it is one: VIN `11111111511111111`: the check digit", id="wrong-digit"),
        pytest.param("1111111O111111111", "if it is one: VIN `1111111O111111111` has `O`", id="letter-o"),
    ],
)
def test_what_nobody_declared_and_looks_like_a_mistyped_vin_is_told_and_goes_on(capsys, item, remark):
    check_item(item, PLAIN, vin=False)

    assert remark in capsys.readouterr().err


@pytest.mark.parametrize("item", [RIGHT, f" {RIGHT} ", "WX 17", "unnamed", "1111111-511111111"])
def test_a_right_vin_and_what_looks_like_none_are_not_remarked_on(capsys, item):
    check_item(item, PLAIN, vin=False)

    assert capsys.readouterr() == ("", "")


def test_a_right_vin_that_is_declared_says_nothing(capsys):
    check_item(RIGHT, BY_VIN, vin=True)

    assert capsys.readouterr() == ("", "")
