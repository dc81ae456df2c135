"""Texts made to be read: a torque in the joint's unit, raw bytes as text or hex."""

import unicodedata
from decimal import ROUND_HALF_EVEN, Context, Decimal

from analysis.load.record_pulls import Raw
from schemas.adapter import set_value
from schemas.errors import RecordError
from schemas.plan.bands import counts_drag
from schemas.route import Band, Joint, Stage
from schemas.units import Unit, find_unit, torque_text
from schemas.words import StageWord

_WIDE = Context(prec=80, rounding=ROUND_HALF_EVEN)
_FEWEST_PLACES = 2
_MOST_PLACES = 40
_NOT_TEXT = frozenset({"Cc", "Cs", "Cn", "Co"})


def torque_in_unit(torque: str, torque_nm: Decimal, unit: Unit, band: Band | None) -> str:
    """A torque in another unit than it was sent in, with as many decimals as were sent, at least two.

    More are shown where rounding would carry it onto or across an edge of `band`, which is in that unit.
    """
    value = _WIDE.divide(torque_nm, unit.nm_per_unit)
    sent = max(0, -int(Decimal(torque).as_tuple().exponent))
    for places in range(max(_FEWEST_PLACES, sent), _MOST_PLACES):
        rounded = value.quantize(Decimal(1).scaleb(-places), context=_WIDE)
        if band is None or _same_side(rounded, torque_nm, band):
            return torque_text(rounded)
    return torque_text(value)


def _same_side(rounded: Decimal, torque_nm: Decimal, band: Band) -> bool:
    return all(
        rounded.compare(edge) == torque_nm.compare(edge_nm)
        for edge, edge_nm in ((band.low, band.low_nm), (band.high, band.high_nm))
    )


def set_to(joint: Joint, stage: Stage, length_mm: str | None, drag_nm: str | None) -> str | None:
    """What a wrench of that length has to show for the stage's torque, to a hundredth of the joint's unit.

    None where that is the torque itself, where the wrench's length is not known, or where an angle is turned.
    """
    if stage.word is StageWord.ANGLE:
        return None
    torque, adapter = stage.band.target_nm, joint.adapter
    if drag_nm is not None and counts_drag(Decimal(drag_nm), joint.drag_third_of_nm):
        torque += Decimal(drag_nm)
    if adapter is not None and not adapter.by_wrench:
        try:
            torque = set_value(torque, Decimal(length_mm or 0), adapter.length_mm, adapter.angle_deg)
        except ValueError:
            return None
    if torque == stage.band.target_nm:
        return None
    shown = _WIDE.divide(torque, find_unit(joint.unit)[0].nm_per_unit)
    return torque_text(shown.quantize(Decimal("0.01"), context=_WIDE))


def digits(value: Decimal) -> str:
    """A number of the plan in plain digits, without closing zeros behind the point."""
    text = torque_text(value)
    return text.rstrip("0").rstrip(".") if "." in text else text


def raw_of_hex(raw_hex: str) -> Raw:
    """Raw bytes to read: as UTF-8, else as Latin-1, else as the hex itself where they are no text.

    RecordError where the ledger holds no hex digits.
    """
    try:
        data = bytes.fromhex(raw_hex)
    except ValueError as error:
        raise RecordError(f"the ledger holds raw bytes that are not hex ({error}); run `witnessmark verify`") from error
    for encoding in ("utf-8", "latin-1"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if all(char == "\t" or unicodedata.category(char) not in _NOT_TEXT for char in text):
            return Raw(text, raw_hex)
    return Raw(raw_hex, raw_hex)
