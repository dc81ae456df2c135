"""Torque units: one closed table of spellings, exact factors, and arithmetic that refuses to round.

A general unit library is not used on purpose: some of them read "Nm" as a textile count or "ft-lb" as a subtraction.
"""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal, Inexact, InvalidOperation, Overflow
from functools import lru_cache
from typing import NamedTuple

from schemas.errors import UnitError

# Trapping Inexact turns any silent rounding into an error; 1,000 digits are far beyond what any instrument sends.
_EXACT = Context(prec=1000, traps=[Inexact, InvalidOperation, Overflow])

# Exact definitions, NIST Special Publication 811 (2008), Appendix B.
_FOOT_M = Decimal("0.3048")
_INCH_M = Decimal("0.0254")
_POUND_KG = Decimal("0.45359237")
_GRAVITY = Decimal("9.80665")
_CENTIMETRE_M = Decimal("0.01")


def _product(force: Decimal, length: Decimal) -> Decimal:
    # Without the closing zeros of the product, which every torque would carry on.
    return _EXACT.multiply(force, length).normalize(_EXACT)


_LBF_N = _product(_POUND_KG, _GRAVITY)
_OZF_N = _EXACT.divide(_LBF_N, Decimal(16))


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of torque: our one symbol for it, and how many N·m it is, exactly."""

    symbol: str
    nm_per_unit: Decimal


class _Form(NamedTuple):
    """What a known spelling means; `words` is a spelling without symbols, where letter case carries nothing."""

    unit: Unit
    mass: bool
    newton: bool
    words: bool


_NEWTON = ("N", "newton", "newtons")
_METRE = ("m", "metre", "metres", "meter", "meters")
_CENTIMETRE = ("cm", "centimetre", "centimetres", "centimeter", "centimeters")
_MILLIMETRE = ("mm", "millimetre", "millimetres", "millimeter", "millimeters")
_FOOT = ("ft", "foot", "feet")
_INCH = ("in", "inch", "inches")

_NM = Unit("N·m", Decimal(1))
_CNM = Unit("cN·m", Decimal("0.01"))
_MNM = Unit("mN·m", Decimal("0.001"))
_BY_NEWTON: tuple[tuple[Unit, tuple[str, ...], tuple[str, ...]], ...] = (
    (_NM, _NEWTON, _METRE),
    (_CNM, ("cN", "centinewton", "centinewtons"), _METRE),
    (_CNM, _NEWTON, _CENTIMETRE),
    (Unit("dN·m", Decimal("0.1")), ("dN", "decinewton", "decinewtons"), _METRE),
    (_MNM, ("mN", "millinewton", "millinewtons"), _METRE),
    (_MNM, _NEWTON, _MILLIMETRE),
    (Unit("daN·m", Decimal(10)), ("daN", "decanewton", "decanewtons"), _METRE),
    (Unit("kN·m", Decimal(1000)), ("kN", "kilonewton", "kilonewtons"), _METRE),
    (Unit("MN·m", Decimal(1000000)), ("MN", "meganewton", "meganewtons"), _METRE),
)
_LBF = ("lbf", "pound·force", "pounds·force")
_LB = ("lb", "lbs", "pound", "pounds")
_KGF = ("kgf", "kp", "kilogram·force", "kilograms·force", "kilopond", "kiloponds")
_KG = ("kg", "kilogram", "kilograms")
_OTHERS: tuple[tuple[Unit, tuple[str, ...], tuple[str, ...], tuple[str, ...]], ...] = (
    (Unit("lbf·ft", _product(_LBF_N, _FOOT_M)), _LBF, _LB, _FOOT),
    (Unit("lbf·in", _product(_LBF_N, _INCH_M)), _LBF, _LB, _INCH),
    (
        Unit("ozf·in", _product(_OZF_N, _INCH_M)),
        ("ozf", "ounce·force", "ounces·force"),
        ("oz", "ounce", "ounces"),
        _INCH,
    ),
    (Unit("kgf·m", _GRAVITY), _KGF, _KG, _METRE),
    (Unit("kgf·cm", _product(_GRAVITY, _CENTIMETRE_M)), _KGF, _KG, _CENTIMETRE),
    (
        Unit("gf·cm", _product(_EXACT.divide(_GRAVITY, Decimal(1000)), _CENTIMETRE_M)),
        ("gf", "gram·force", "grams·force"),
        ("g", "gram", "grams"),
        _CENTIMETRE,
    ),
    (Unit("dyn·cm", Decimal("0.0000001")), ("dyn", "dyne", "dynes"), (), _CENTIMETRE),
)

UNITS: tuple[Unit, ...] = tuple(dict.fromkeys([row[0] for row in _BY_NEWTON] + [row[0] for row in _OTHERS]))
"""Every unit there is, each once."""


def _written(force: str, length: str, either_way: bool) -> Iterable[str]:
    # "mN" alone is a force, so newtons are known force first only, with the length behind.
    for first, second in ((force, length), (length, force))[: 2 if either_way else 1]:
        yield f"{first}·{second}"
        if "·" not in force:
            yield f"{first}{second}"


def _all_forms() -> dict[str, _Form]:
    rows = [(unit, force, length, False, True) for unit, forces, lengths in _BY_NEWTON
            for force in forces for length in lengths]  # fmt: skip
    rows += [(unit, force, length, force in masses, False) for unit, forces, masses, lengths in _OTHERS
             for force in forces + masses for length in lengths]  # fmt: skip
    return {
        spelling: _Form(unit, mass, newton, words=min(len(force), len(length)) > 3)
        for unit, force, length, mass, newton in rows
        for spelling in _written(force, length, either_way=not newton)
    }


_FORMS = _all_forms()
# Symbols with a prefix before newton or behind it never fold: mN·m and MN·m differ by a factor of 10^9.
_FOLDED = {
    spelling.casefold(): form
    for spelling, form in _FORMS.items()
    if form.words or not form.newton or form.unit is _NM
}  # fmt: skip

_WRONG_QUANTITY = {
    spelling: quantity
    for quantity, spellings in {
        "an energy": "j mj kj joule joules ws wh kwh cal kcal btu erg ev",
        "a mass": "kg g lb lbs oz t kilogram kilograms gram grams pound pounds ounce ounces",
        "a length": "m mm cm km ft in metre metres meter meters foot feet inch inches",
        "a force": "n kn mn dan lbf ozf kgf gf kp dyn newton newtons pound·force kilogram·force",
        "a pressure": "psi ksi pa kpa mpa bar",
        "an angle": "° deg rad degree degrees",
        "a percentage": "%",
    }.items()
    for spelling in spellings.split()
}

_SPACE = " \u00a0\u2009\u202f"
_HYPHENS = "-\u2010\u2011\u2013"
_SEPARATOR = re.compile(rf"[{_SPACE}]*(?:[·⋅•∙・･*]|\.?[{_SPACE}]?[{_HYPHENS}]|\.)[{_SPACE}]*|[{_SPACE}]+")
_HYPHEN = re.compile(rf"[{_HYPHENS}]")
_WRITE = "write a unit of torque, such as N·m, lbf·ft, lbf·in or kgf·m"


def find_unit(spelling: str) -> tuple[Unit, str | None]:
    """The unit that a spelling stands for, and a remark of one line where it was read with some goodwill.

    Remarked on are a mass in the place of the force (`ft-lb`), unusual letter case (`NM`) and a hyphen beside a newton
    (`N-m`); else the remark is None. Separators, a closing full stop and the order of pound and foot do not matter.

    Raises:
        UnitError: no torque (energy, quotient, mass, length, ...), empty, damaged, or unknown; the text says which.
    """
    key = _SEPARATOR.sub("·", spelling.strip().removesuffix("."))
    form = _FORMS.get(key)
    odd_case = False
    if form is None:
        form = _FOLDED.get(key.casefold())
        odd_case = form is not None and not form.words
    if form is None:
        raise UnitError(_refusal(spelling, key))
    odd_hyphen = form.newton and not form.words and _HYPHEN.search(spelling) is not None
    remarks = [
        text
        for applies, text in (
            (form.mass, "a mass stands in the place of the force"),
            (odd_case, "letter case is unusual"),
            (odd_hyphen, "the hyphen stands for a product"),
        )
        if applies
    ]
    return form.unit, f"`{_shown(spelling)}` read as {form.unit.symbol}: {', '.join(remarks)}" if remarks else None


def to_nm(value: Decimal, unit: Unit) -> Decimal:
    """A value in N·m, exact: no digit is ever rounded away.

    Raises:
        UnitError: the value is not finite, or has too many digits (about 1,000) to be converted exactly.
    """
    _refuse_infinite(value)
    try:
        return _EXACT.multiply(value, unit.nm_per_unit)
    except Inexact as error:
        raise UnitError("torque has too many digits to be converted exactly; send at most 900") from error


def torque_text(value: Decimal) -> str:
    """A torque in plain digits with a decimal point, never an exponent; closing zeros stay.

    Raises:
        UnitError: the value is not finite.
    """
    _refuse_infinite(value)
    return format(value, "f")


def _refuse_infinite(value: Decimal) -> None:
    if not value.is_finite():
        raise UnitError(f"torque `{value}` is not a finite number; give it in plain digits")


def _shown(spelling: str) -> str:
    # repr escapes line ends and lone surrogates, so that the message stays one line that can be printed.
    return repr(spelling if len(spelling) <= 40 else spelling[:40] + "…")[1:-1]


@lru_cache(maxsize=256)  # a log may repeat one unknown unit in every row, and the search for neighbours is slow
def _refusal(spelling: str, key: str) -> str:
    if not key:
        return f"the unit is empty; {_WRITE}"
    if "?" in key or "\ufffd" in key:
        return f"unit `{_shown(spelling)}` lost a character on its way; read the file in its own encoding, or {_WRITE}"
    if "/" in key:
        return f"unit `{_shown(spelling)}` is a quotient, such as force per length, and not a torque; {_WRITE}"
    quantity = _WRONG_QUANTITY.get(key.casefold())
    if quantity is not None:
        return f"unit `{_shown(spelling)}` is {quantity}, not a torque; {_WRITE}"
    near = difflib.get_close_matches(key[:40], _FORMS)
    if near:
        return f"unit `{_shown(spelling)}` is not known; nearest are {', '.join(f'`{text}`' for text in near)}"
    return f"unit `{_shown(spelling)}` is not known; {_WRITE}"
