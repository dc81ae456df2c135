"""The check digit of a vehicle identification number, 49 CFR 565.15(c): it finds most slips in copying, not all.

Letters of one value (A and J; B, K and S; ...) can stand for each other unseen.
"""

import re

from schemas.plan.text import shown

# The figures keep their value; I, O and Q are not used.
_VALUES = {sign: int(sign) for sign in "0123456789"} | dict(
    zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9), strict=True)
)
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_CHECK_AT = 8
_VIN_LIKE = re.compile(r"[0-9A-Za-z]{17}")


def looks_like_vin(text: str) -> bool:
    """Whether a text has the 17 letters and figures of a VIN, so that it is worth checking; spaces around do not matter."""
    return _VIN_LIKE.fullmatch(text.strip()) is not None


def vin_digit(text: str) -> str:
    """The check digit that a VIN must have in position 9, `0` to `9` or `X`; what stands there now does not matter.

    Small letters are read as capitals.

    Raises ValueError where it has not 17 signs, or a sign that no VIN has (I, O, Q, or neither letter nor figure).
    """
    vin = _plain(text)
    remainder = sum(_VALUES[sign] * weight for sign, weight in zip(vin, _WEIGHTS, strict=True)) % 11
    return "X" if remainder == 10 else str(remainder)


def check_vin(text: str) -> str | None:
    """A remark of one line where the check digit is wrong, with the right one; None where it is right.

    Only a remark, because vehicles made for other markets than North America may carry none (from memory).

    Raises ValueError as `vin_digit` does.
    """
    right, found = vin_digit(text), _plain(text)[_CHECK_AT]
    if found == right:
        return None
    return (
        f"VIN `{_plain(text)}`: the check digit in position 9 is {found}, the other signs make it {right}; compare it with the"
        " plate, sign by sign (a vehicle made for a market outside North America may have no check digit)"
    )


def _plain(text: str) -> str:
    vin = text.strip()
    if len(vin) != len(_WEIGHTS):
        raise ValueError(f"VIN `{shown(vin)}` has {len(vin)} signs; a VIN has 17, read it from the plate again")
    # Some signs outside ASCII have a capital inside it.
    wrong = next((sign for sign in vin if not sign.isascii() or sign.upper() not in _VALUES), None)
    if wrong is not None:
        hint = "; I, O and Q are left out because they look like 1 and 0" if wrong.upper() in "IOQ" else ""
        raise ValueError(f"VIN `{shown(vin)}` has `{shown(wrong)}`, which no VIN has{hint}; read it from the plate again")
    return vin.upper()
