"""One joint on the work sheet: what to have ready for it, its picture, and its rounds with a box for every fastener. Pure."""

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from math import ceil
from typing import Any

from analysis.measure_pattern import layout_of
from analysis.plot_pattern import DRAWN_AT_MOST, pattern_svg, pattern_text, seen_words
from schemas.route import Adapter, Band, Joint, Stage
from schemas.units import torque_text
from schemas.words import StageWord

_NBSP = "\u00a0"
_BY_WRENCH = ("Wrench", "Name", "Time")
_BY_HAND = ("Name", "Time")
_DRAWN_FROM = 3
_SPANS = ((604800, "week"), (86400, "day"), (3600, "h"), (60, "min"), (1, "s"))
_IN_WORDS = frozenset({"week", "day"})
_ORDER_WORDS = {"any": "any order", "listed": "order as listed"}
_DRAG_WORDS = {
    "included": "drag of the nut is in the torque",
    "added": "drag of the nut is reckoned with in the values below",
    "left out": "drag of the nut is small and left out of the values below",
}
_WITH_ADAPTER = {
    True: "Offset adapter entered in the wrench, which works out by itself what it shows",
    False: "Offset adapter: what the wrench shows is not the torque at the fastener. What to set is worked out for this wrench "
    "and adapter and stands at each round; write down what the wrench shows",
}
# What stands on a page: heights, boxes in a row, and signs in a line, were all of them as wide as a W.
_LINE_MM, _ROW_MM, _ROUND_MM, _PAGE_MM, _UNIT_MM = 6, 14, 17, 225, 0.28
# More facts than this may be parted from what follows them.
_SHORT_CHARS = 800
_BOXES, _CHARS, _BOXES_BESIDE, _CHARS_BESIDE, _CHARS_CAPTION = 8, 42, 5, 30, 15
# A wider picture, in its own units, stands above the boxes and not beside them.
_BESIDE_AT_MOST = 300

Round = dict[str, Any]


def torqued(joint: Joint) -> dict[str, Any]:
    """A joint that a step torques: everything from its preparation to its paint stripes."""
    rounds = [*_before(joint), *(_measured(joint, stage) for stage in joint.own_stages), *_unstated(joint), *_after(joint)]
    return _joint(joint, _facts(joint), _warnings(joint), _picture(joint), rounds)


def again(joint: Joint, rounds: Sequence[Round]) -> dict[str, Any]:
    """A joint that a step comes back to, with the rounds of that step alone."""
    return _joint(joint, _tools(joint), _hand(joint), None, rounds)


def round_of(label: str, boxes: Sequence[int] = (), *, fields: Sequence[str] = (), tick: bool = False) -> Round:
    """A line of the sheet with its boxes, by position, and the lines to write on; `tick`: one square for the whole line."""
    return {
        "label": label, "target": "", "band": "", "note": "", "boxes": [str(box) for box in boxes],
        "fields": list(fields), "tick": tick,
    }  # fmt: skip


def full_torque(joint: Joint, label: str, note: str, fields: Sequence[str]) -> Round:
    """A round over all fasteners at the joint's full torque, or without a value where the procedure states none."""
    made = round_of(label, joint.order, fields=fields)
    return {**made, "note": note, **(_torque(joint.final.band, joint.unit) if joint.stages else {})}


def _joint(
    joint: Joint, facts: list[str], warnings: list[str], picture: dict[str, Any] | None, rounds: Sequence[Round]
) -> dict[str, Any]:
    count = f"{joint.fasteners} fastener{'' if joint.fasteners == 1 else 's'}"
    order = _ORDER_WORDS.get(joint.order_word, f"order {joint.order_word}")
    made = {
        "name": joint.name, "id": joint.id, "count": count if joint.fasteners == 1 else f"{count}, {order}",
        "facts": facts, "warnings": warnings, "picture": picture, "rounds": list(rounds),
    }  # fmt: skip
    return {**made, "whole": _fits_page(made), "short": sum(map(len, facts)) < _SHORT_CHARS}


def _fits_page(joint: dict[str, Any]) -> bool:
    """Whether it surely fits on one page, so that it need not be parted; an estimate that errs on the high side."""
    picture, rounds = joint["picture"], joint["rounds"]
    beside = picture is not None and picture["beside"]
    captions = sum(map(len, picture["captions"])) if picture else 0
    texts = (joint["name"], *joint["facts"], *joint["warnings"], *(one[key] for one in rounds for key in ("label", "note")))
    across, chars = (_BOXES_BESIDE, _CHARS_BESIDE) if beside else (_BOXES, _CHARS)
    lines = ceil(sum(map(len, texts)) / chars) * _LINE_MM
    rows = sum(ceil(len(one["boxes"]) / across) for one in rounds) * _ROW_MM + len(rounds) * _ROUND_MM
    drawn = picture["height"] * _UNIT_MM + ceil(captions / _CHARS_CAPTION) * _LINE_MM if picture else 0
    return (max(lines + rows, drawn) if beside else lines + rows + drawn) < _PAGE_MM


def _facts(joint: Joint) -> list[str]:
    graded = joint.grade is not None and joint.grade.lower().startswith("grade")
    facts = (
        joint.thread and f"thread {joint.thread}",
        joint.grade and f"{'' if graded else 'grade '}{joint.grade}",
        joint.prep and f"preparation {joint.prep}",
        joint.basis and f"torque holds for threads {joint.basis}",
        joint.nut and f"nut {joint.nut}",
        _DRAG_WORDS.get(joint.drag or ""),
        joint.hardware and f"hardware {joint.hardware}",
    )
    return [*(fact for fact in facts if fact), *_tools(joint)]


def _tools(joint: Joint) -> list[str]:
    facts = (
        joint.wrenches and f"wrench {' or '.join(joint.wrenches)}",
        joint.socket and f"socket {joint.socket}",
        joint.turn and f"turn the {joint.turn}",
        joint.counter_hold and f"counter-hold {joint.counter_hold}",
        joint.adapter and f"adapter {_adapter_text(joint.adapter)}",
    )
    return [fact for fact in facts if fact]


def _adapter_text(adapter: Adapter) -> str:
    return f"{_plain(adapter.length_mm)}{_NBSP}mm at {_plain(adapter.angle_deg)}°"


def _hand(joint: Joint) -> list[str]:
    return ["LEFT-HAND THREAD: it tightens counter-clockwise"] if joint.left_hand else []


def _warnings(joint: Joint) -> list[str]:
    return [
        *_hand(joint),
        *(["CRITICAL joint"] if joint.critical else []),
        *(["If one of them is opened, the whole joint is open: do all its rounds again"] if joint.reopen_joint else []),
    ]


def _picture(joint: Joint) -> dict[str, Any] | None:
    if joint.order_word == "any" or not _DRAWN_FROM <= joint.fasteners <= DRAWN_AT_MOST:
        return None
    stage = joint.own_stages[0] if joint.own_stages else None
    layout = layout_of(joint)
    several = ["turns of stage 1"] if len({joint.order_of(each) for each in joint.own_stages}) > 1 else []
    ring = joint.pattern == "circle"
    return {
        "svg": pattern_svg(joint, stage=stage, words=False).decode(),
        "alt": f"{joint.name}: {pattern_text(joint, stage)}",
        "ring": ring,
        "beside": ring and layout.width <= _BESIDE_AT_MOST,
        "width": layout.width,
        "height": layout.height,
        "captions": [f"{text[:1].upper()}{text[1:]}." for text in (*several, *seen_words(joint))],
    }


def _before(joint: Joint) -> list[Round]:
    rounds = []
    if joint.prepare:
        made = round_of(f"Prepared: {joint.prep or 'as the maker says'}", fields=_BY_HAND, tick=True)
        within = joint.work_within_s
        rounds.append(made if within is None else {**made, "note": f"Last pull within {span_text(within)} from here."})
    if joint.adapter is not None:
        rounds.append(round_of(_WITH_ADAPTER[joint.adapter.by_wrench], tick=True))
    if joint.drag == "measured":
        made = round_of("Drag of the nut while it turns on", fields=(f"Drag, {joint.unit}",))
        rounds.append({**made, "note": _drag_note(joint)})
    if joint.snug:
        rounds.append(round_of("Snug round, not measured", fields=_BY_HAND, tick=True))
    return rounds


def _drag_note(joint: Joint) -> str:
    add = "Add it to every torque below."
    if joint.drag_third_of_nm is None or not joint.stages:
        return add
    band = joint.final.band
    third = (joint.drag_third_of_nm * band.target / band.target_nm / 3).quantize(Decimal("0.01"), ROUND_HALF_EVEN)
    return f"{add} Leave it out where it is below {_plain(third)}{_NBSP}{joint.unit}, a third of the torque."


def _measured(joint: Joint, stage: Stage) -> Round:
    sets = joint.adapter is not None and not joint.adapter.by_wrench and stage.angle is None
    fields = ("Set to", *_BY_WRENCH) if sets else _BY_WRENCH
    made = round_of(_stage_label(joint, stage), joint.order_of(stage), fields=fields)
    if stage.word is StageWord.ANGLE and stage.angle is not None:
        low, target, high = map(_plain, (stage.angle.low, stage.angle.target, stage.angle.high))
        return {**made, "target": f"{target}°", "band": f"{low} to {high}°", "note": "Write the angle in degrees."}
    return {**made, **_torque(stage.band, joint.unit)}


def _stage_label(joint: Joint, stage: Stage) -> str:
    if stage.word is StageWord.ANGLE:
        return "Then turn each further by"
    rounds = [each for each in joint.own_stages if each.word is StageWord.ROUND]
    if len(rounds) == 1:
        return ""
    again_ = ", once more, until none moves" if joint.is_again(stage) else ""
    return f"Stage {stage.number} of {len(rounds)}, {torque_text(stage.share_percent)}{_NBSP}%{again_}"


def _torque(band: Band, unit: str) -> dict[str, str]:
    edge = "" if band.high_is_in_band else "under "
    return {
        "target": f"{torque_text(band.target)}{_NBSP}{unit}",
        "band": f"{torque_text(band.low)} to {edge}{torque_text(band.high)}{_NBSP}{unit}",
    }


def _unstated(joint: Joint) -> list[Round]:
    if joint.stages:
        return []
    label = "The procedure states no torque: say who did it, and with what tool"
    return [round_of(label, joint.order, fields=("Tool", "Name", "Time"))]


def _after(joint: Joint) -> list[Round]:
    rounds = []
    if joint.mark:
        rounds.append(round_of(f"{_all(joint.fasteners)} striped with paint, after the last round", tick=True))
    if joint.cure_s is not None:
        rounds.append(round_of(f"Not to be loaded before {span_text(joint.cure_s)} after the last pull"))
    return rounds


def _all(count: int) -> str:
    return "It is" if count == 1 else f"All {count} are"


def span_text(seconds: int) -> str:
    """A time above zero in its largest whole unit: `10 min`, `24 h`, `3 days`."""
    # What a plan calls 24 h or 48 h is read as hours more readily than as days.
    size, unit = next(
        (size, unit) for size, unit in _SPANS if seconds % size == 0 and (unit not in _IN_WORDS or seconds > 2 * size)
    )
    return f"{seconds // size}{_NBSP}{unit}{'s' if unit in _IN_WORDS else ''}"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
