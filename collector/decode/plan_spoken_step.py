"""Reads what stands behind the word of a step as it is read aloud: `retorque: wheel nuts, 40 km to 80 km`. Pure."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from collector.decode.plan_slug import free_id, slug
from collector.decode.plan_yaml import Value
from schemas.plan.columns import STEP_COLUMNS, Shape
from schemas.plan.faults import nearest
from schemas.plan.text import shown

_SIGN = re.compile(r"(.+?)[,;]?\s+(?:signed by |sign |by )?(?:the )?(fitter|lead|second person)(?: signs)?", re.IGNORECASE)
_SPAN = re.compile(
    r"(?:from |after |at )?([0-9.]+) ?([a-z]+)?(?: ?(?:to|and|-|–) ?([0-9.]+) ?([a-z]+))?", re.IGNORECASE
)  # fmt: skip
_METHODS = ("do not slacken", "back off a turn")
_FREE = ("do", "caution")
_AFTER = re.compile(r"(.*\S)\s+after\s+(.+)", re.IGNORECASE)
_POSITIONS = re.compile(r"positions?:? ([0-9]+(?:[ /]+[0-9]+)*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class StepLine:
    """The fields of a step, that of its word first; which joints it names; `point` is the id and question of a hold point."""

    fields: tuple[tuple[str, Value], ...] = ()
    unclear: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    point: tuple[str, str] | None = None


def read_step(word: str, text: str, joints: Mapping[str, str], points: Mapping[str, str]) -> StepLine:
    """The step of that word; `joints` and `points` are what has been named so far, names and questions by id."""
    if not text:
        return StepLine(unclear=(f"nothing stands behind `{word}:`; write what, or which joints",))
    if word in _FREE:
        return StepLine(((word, text),))
    if word == "hold point":
        return _hold_point(text, [*joints, *points])
    return _of_joints(word, text, joints, {**joints, **points})


def _hold_point(text: str, taken: list[str]) -> StepLine:
    found = _SIGN.fullmatch(text)
    ask, sign = (found[1].rstrip(" ,;"), found[2].lower()) if found else (text, "fitter")
    point = free_id(slug(ask, "hold-point")[:40].strip("-"), taken)
    return StepLine((("hold point", point), ("ask", ask), ("sign", sign)), point=(point, ask))


def _of_joints(word: str, text: str, joints: Mapping[str, str], before: Mapping[str, str]) -> StepLine:
    fields: dict[str, Value] = {}
    unclear: list[str] = []
    if word in ("torque", "open", "recheck") and (found := _AFTER.fullmatch(text)):
        text = found[1].rstrip(" ,")
        fields["after"], wrong = _named(found[2], before)
        unclear += wrong
    parts = [part.strip() for part in text.split(",") if part.strip()]
    while len(parts) > 1 and (more := _more(word, parts[-1])):
        fields |= more
        parts.pop()
    names, wrong = _named(", ".join(parts), joints)
    unclear += wrong
    if word == "retorque" and "from" not in fields:
        unclear.append("from when on is it retorqued? write it behind the joints, as 40 km to 80 km, or 24 h")
    if word == "fit" and "positions" not in fields:
        unclear.append("which of them are put in? write it behind the joint, as positions 5 6")
    own: Value = names[0] if names and STEP_COLUMNS[word][0].shape is Shape.ONE else names
    return StepLine(((word, own), *sorted(fields.items())), tuple(unclear), names)


def _more(word: str, part: str) -> dict[str, Value] | None:
    """What the last part of a line says beside the joints, None where it is one of them."""
    said = " ".join(part.split()).casefold()
    if word == "retorque" and said in _METHODS:
        return {"method": said}
    if word == "open" and said == "as found":
        return {"as_found": "yes"}
    if word == "fit" and (found := _POSITIONS.fullmatch(said)):
        return {"positions": tuple(re.findall("[0-9]+", found[1]))}
    if word == "retorque" and (found := _SPAN.fullmatch(part)) and (unit := found[2] or found[4]):
        to: dict[str, Value] = {"to": f"{found[3]} {found[4]}"} if found[3] else {}
        return {"from": f"{found[1]} {unit}", **to}
    return None


def _named(text: str, known: Mapping[str, str]) -> tuple[tuple[str, ...], list[str]]:
    """The ids that a text names, by id or name, one or several with commas or `and` between; and what is not known."""
    whole = _find(text, known)
    names = [text] if whole else [name.strip() for name in re.split(r",|\band\b", text) if name.strip()]
    found = {name: _find(name, known) for name in names}
    unclear = [
        f"nothing before this line is called `{shown(name)}`; {nearest(slug(name, ''), known)}"
        for name in found
        if not found[name]
    ]
    unclear += [
        f"`{shown(name)}` can be {' or '.join(f'`{one}`' for one in ones)}; write its id"
        for name, ones in found.items()
        if len(ones) > 1
    ]
    return tuple(ones[0] for ones in found.values() if ones), unclear


def _find(text: str, known: Mapping[str, str]) -> list[str]:
    """The ids that a text can mean: the very id, else the very name, else whatever differs in capitals and signs alone."""
    if text in known:
        return [text]
    wanted = slug(text, "")
    very = [one for one, name in known.items() if name == text]
    return very or [one for one, name in known.items() if wanted and wanted in (slug(name, ""), one)]
