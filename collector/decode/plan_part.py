"""Reads one part of a joint as it is read aloud: `4 x M12`, `88 N·m`, `anti-seize`, `30/60/100`. Pure."""

import difflib
import re
from collections.abc import Callable, Mapping

from collector.decode.plan_header import TORQUES
from collector.decode.plan_row import BY_NAME, value_of
from collector.decode.plan_torque import read_torque
from collector.decode.plan_yaml import Value
from schemas.errors import UnitError
from schemas.plan.text import shown
from schemas.plan.tolerance import read_tolerance
from schemas.units import find_unit

Fields = Mapping[str, Value]

LEFT_LOOSE, LATER = "loose", "later"
WHEN = "when"
"""Not a field of a joint but where its torque step stands: `loose` or `later`."""

_NUMBERS = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]
_COUNT = rf"[1-9][0-9]{{0,2}}|{'|'.join(_NUMBERS)}"
_NOUN = r"(?:fasteners?|bolts?|nuts?|screws?|studs?|pieces|pcs)"
_METRIC = r"M ?[0-9]{1,3}(?:\.[0-9])?(?: ?[x×] ?[0-9](?:\.[0-9]{1,2})?)?"
_SERIES = r"(?: ?(?:UNC|UNF|UNEF|UNS|UN))?"
_UNIFIED = rf"(?:#[0-9]{{1,2}}|[0-9]{{1,2}}|[0-9]{{1,2}}/[0-9]{{1,2}}|[1-9][ -][0-9]{{1,2}}/[0-9]{{1,2}})-[1-9][0-9]?{_SERIES}"
_FRACTION = r"[0-9]{1,2}/[0-9]{1,2}"
_THREAD = rf"(?:{_METRIC}|{_UNIFIED}|{_FRACTION})"
_OF = r"(?: ?[x×] ?| off | of | )"
_FASTENERS = re.compile(rf"(?P<count>{_COUNT})(?P<of>{_OF})(?:{_NOUN} )?(?P<thread>{_THREAD})(?: {_NOUN})?", re.IGNORECASE)
_ONLY_THREAD = re.compile(rf"(?:thread )?(?P<thread>{_THREAD})(?: {_NOUN})?", re.IGNORECASE)
_ONLY_COUNT = re.compile(rf"(?P<count>{_COUNT}) ?(?:[x×]|off|{_NOUN})|(?P<word>{'|'.join(_NUMBERS)})", re.IGNORECASE)
_CLASS = re.compile(r"(?:(?:property )?class |grade )?((?:3|4|5|6|8|9|10|12)\.[689])", re.IGNORECASE)
_GRADE = re.compile(r"(?:sae )?(grade [1-8](?:\.[12])?|class [0-9]{1,2})|(A[1245])[ -]?(50|70|80)", re.IGNORECASE)
_ANGLE = re.compile(
    r"(?:then|plus|\+) ?([0-9.]+) ?(?:°|deg|degrees)(?: ?(?:±|\+/-|plus or minus) ?([0-9.]+) ?(?:°|deg|degrees)?)?",
    re.IGNORECASE,
)
_SIZE = r"([0-9]+(?:\.[0-9]+)? ?mm|(?:[0-9]+[ -])?[0-9]+(?:/[0-9]+)? ?(?:in|inch))"
_SOCKET = re.compile(rf"socket {_SIZE}|{_SIZE} (?:socket|spanner|key)", re.IGNORECASE)
_HOLD = re.compile(r"(?:counter[ -]?hold|hold)(?: the)? (.+)", re.IGNORECASE)
_STAGES = re.compile(r"(?:in )?(?:stages|rounds):? (.+)", re.IGNORECASE)

_PHRASES: dict[str, Fields] = {
    "cross": {"order": "cross"}, "crosswise": {"order": "cross"}, "in a cross": {"order": "cross"},
    "in line": {"order": "in line"}, "any order": {"order": "any"},
    "circle": {"pattern": "circle"}, "row": {"pattern": "row"}, "in a row": {"pattern": "row"},
    "dry": {"prep": "dry"}, "oil": {"prep": "oil"}, "oiled": {"prep": "oil"}, "lightly oiled": {"prep": "oil"},
    "anti-seize": {"prep": "anti-seize"}, "antiseize": {"prep": "anti-seize"}, "anti seize": {"prep": "anti-seize"},
    "threadlocker medium": {"prep": "threadlocker medium"}, "medium threadlocker": {"prep": "threadlocker medium"},
    "threadlocker high": {"prep": "threadlocker high"}, "high threadlocker": {"prep": "threadlocker high"},
    "sealant": {"prep": "sealant"},
    "prevailing": {"nut": "prevailing"}, "prevailing nut": {"nut": "prevailing"}, "prevailing nuts": {"nut": "prevailing"},
    "plain nut": {"nut": "plain"}, "plain nuts": {"nut": "plain"},
    "new": {"hardware": "new"}, "new hardware": {"hardware": "new"}, "reused": {"hardware": "reused"},
    "new each time": {"hardware": "new each time"},
    "wheel": {"wheel": "yes"}, "wheels": {"wheel": "yes"}, "holds a wheel": {"wheel": "yes"},
    "critical": {"critical": "yes"},
    "left hand thread": {"hand": "left"}, "left-hand thread": {"hand": "left"}, "left hand": {"hand": "left"},
    "mirror left/right": {"mirror": "left/right"}, "left and right": {"mirror": "left/right"},
    "both sides": {"mirror": "left/right"},
    "turn the head": {"turn": "head"}, "turn the nut": {"turn": "nut"},
    "no paint": {"mark": "none"}, "no paint mark": {"mark": "none"},
    "loose": {WHEN: LEFT_LOOSE}, "leave loose": {WHEN: LEFT_LOOSE}, "left loose": {WHEN: LEFT_LOOSE},
    "later": {WHEN: LATER}, "torque later": {WHEN: LATER},
    "not stated": {"torque": "not stated"}, "torque not stated": {"torque": "not stated"},
}  # fmt: skip
_NAMED = {
    name.replace("_", " "): column for name, column in BY_NAME.items() if name not in (*TORQUES, "name", "unit", "fasteners")
}
UNDERSTOOD = (
    "count and thread (4 x M12), torque (88 N·m, 88 to 96 N·m, not stated), tolerance (8 %), grade (8.8, grade 5), dry or another"
    " preparation, stages (30/60/100), cross or in line, loose or later, 19 mm socket, hold head 18 mm, or a field and its value"
    " (cure 24 h)"
)


def read_part(text: str) -> Fields | None:
    """The fields of a joint that a part states, by the names of their columns; None where it is not understood.

    `WHEN` stands for the word `loose` or `later`.
    """
    part = " ".join(text.split()).removesuffix(".")
    if found := _PHRASES.get(part.casefold()):
        return found
    return next((fields for read in _READERS if (fields := read(part))), None)


def is_part(text: str) -> bool:
    """Whether a text that should be a name is a part without doubt; a name may begin with the name of a field."""
    part = " ".join(text.split())
    return part.casefold() in _PHRASES or any(read(part) for read in _READERS if read is not _field)


def why_not(text: str) -> str:
    """What is said of a part that is not understood, in one line."""
    part = shown(" ".join(text.split()))
    if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", part):
        return f"`{part}` is a number alone; write {part} N·m, {part} %, or {part} x and the thread"
    if found := re.fullmatch(r"[0-9.]+ ?([^\d\s]+)", part):
        try:
            find_unit(found[1])
        except UnitError as error:
            if "not a torque" in str(error):
                return f"`{part}` is not understood: {error}"
    near = difflib.get_close_matches(part.casefold(), _PHRASES, n=1, cutoff=0.75)
    if near:
        return f"`{part}` is not understood; did you mean `{near[0]}`?"
    return f"`{part}` is not understood; a part says {UNDERSTOOD}"


def _fasteners(part: str) -> Fields | None:
    found = _FASTENERS.fullmatch(part)
    # `4 1/2-13` can be four of 1/2-13, or a thread of four and a half inches.
    if found and (found["of"] != " " or not (found["count"].isdigit() and found["thread"][0].isdigit())):
        return {"fasteners": _number(found["count"]), "thread": _thread(found["thread"])}
    if found := _ONLY_COUNT.fullmatch(part):
        return {"fasteners": _number(found["count"] or found["word"])}
    found = _ONLY_THREAD.fullmatch(part)
    return {"thread": _thread(found["thread"])} if found else None


def _number(text: str) -> str:
    return text if text.isdigit() else str(_NUMBERS.index(text.casefold()) + 1)


def _thread(text: str) -> str:
    if text[0] not in "mM":
        return text
    return "M" + text[1:].replace(" ", "").replace("×", "x").replace("X", "x")


def _torque(part: str) -> Fields | None:
    torque = read_torque(re.sub(r"^(?:torque|at) ", "", part, flags=re.IGNORECASE))
    if torque is None or torque.unit is None:
        return None
    if torque.high is None:
        return {"torque": torque.low, "unit": torque.unit}
    return {"low": torque.low, "high": torque.high, "unit": torque.unit}


def _tolerance(part: str) -> Fields | None:
    text = re.sub(r"^tolerance ", "", part, flags=re.IGNORECASE)
    text = re.sub(r"^(?:plus or minus|plus minus) ?", "±", text, flags=re.IGNORECASE)
    text = re.sub(r"per ?cent", "%", text, flags=re.IGNORECASE)
    try:
        read_tolerance(text)
    except ValueError:
        return None
    return {"tolerance": text}


def _grade(part: str) -> Fields | None:
    if found := _CLASS.fullmatch(part):
        return {"grade": found[1]}
    found = _GRADE.fullmatch(part)
    return {"grade": found[1].lower() if found[1] else f"{found[2].upper()}-{found[3]}"} if found else None


def _stages(part: str) -> Fields | None:
    named = _STAGES.fullmatch(part)
    shares = [share for share in re.split(r"[\s/%]+|then", named[1] if named else part) if share]
    plain = all(share.casefold() == "snug" or re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", share) for share in shares)
    if not plain or (not named and (len(shares) < 2 or shares[-1] != "100")):
        return None
    return {"stages": tuple(share.casefold() for share in shares)}


def _angle(part: str) -> Fields | None:
    found = _ANGLE.fullmatch(part)
    if not found:
        return None
    return {"then_angle": found[1], **({"angle_tolerance": found[2]} if found[2] else {})}


def _tools(part: str) -> Fields | None:
    if found := _SOCKET.fullmatch(part):
        return {"socket": found[1] or found[2]}
    found = _HOLD.fullmatch(part)
    return {"counter_hold": found[1]} if found else None


def _field(part: str) -> Fields | None:
    """A field by its name, with its value behind: `cure 24 h`, `seen from: the rear`."""
    words = part.split(" ")
    for count in (2, 1):
        column = _NAMED.get(" ".join(words[:count]).removesuffix(":").casefold().replace("_", " "))
        if column is not None and words[count:]:
            return {column.name: value_of(column, " ".join(words[count:]))}
    return None


_READERS: tuple[Callable[[str], Fields | None], ...] = (
    _fasteners, _torque, _tolerance, _grade, _stages, _angle, _tools, _field,
)  # fmt: skip
