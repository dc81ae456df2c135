"""The words of the terminal: one line for each thing a picture holds, the same for the drawn view and the plain one. Pure."""

import unicodedata

from schemas.route import Band, Joint
from schemas.screen import Ask, AskWord, JointRow, Last, Screen, Target
from schemas.units import torque_text
from schemas.words import Kind, Proof, Role, StageWord, Verdict

SAFETY = "Support and secure the vehicle first. Do not watch the screen while pulling."
STOP = "STOP: do not back off and carry on; ask the lead"
SIMULATED = "SIMULATED"

# Told apart by shape and side, so that neither colour nor the word is needed.
_VERDICT_SHAPES = {Verdict.UNDER: "▼", Verdict.IN_BAND: "●", Verdict.OVER: "▲", Verdict.MARGINAL: "◆"}
_VERDICT_SHAPES |= {Verdict.HELD: "■", Verdict.MOVED: "▶"}
_KIND_SHAPES = {
    Kind.SHORT_PULL: "◔",
    Kind.REPEAT: "◎",
    Kind.RECHECK: "○",
    Kind.LOOSENING: "◁",
    Kind.STRAY: "✕",
}
_NO_VALUE_SHAPE = "?"


def plain(text: str) -> str:
    """A text of unknown origin as one line: control, formatting and line-breaking characters become spaces."""
    return " ".join("".join(" " if unicodedata.category(sign) in _STRIPPED else sign for sign in text).split())


def placed_anew(readings: int) -> str:
    """What to say where a closing pass has moved readings that had a place before; at least one."""
    were = "earlier reading was" if readings == 1 else "earlier readings were"
    return f"{readings} {were} placed anew in the light of all; `witnessmark job show` says how it stands now"


_STRIPPED = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})


def shape(last: Last) -> str:
    """The sign of what became of a reading: over before all else, then its kind, then its verdict."""
    if last.stop:
        return _VERDICT_SHAPES[Verdict.OVER]
    if last.kind in _KIND_SHAPES:
        return _KIND_SHAPES[last.kind]
    return _NO_VALUE_SHAPE if last.verdict is None else _VERDICT_SHAPES[last.verdict]


def last_headline(last: Last) -> str:
    """Shape, word and torque: `● IN BAND  95.2 N·m`."""
    word = plain(last.word)
    if last.verdict is not None and last.verdict not in word.lower():
        word += f", {last.verdict}"
    return "  ".join(part for part in (f"{shape(last)} {word.upper()}", last_torque(last)) if part)


def last_torque(last: Last) -> str:
    """The torque in the joint's unit, and as sent where that differs; empty where there is none."""
    sent = plain(f"{last.torque} {last.unit or ''}") if last.torque is not None else ""
    shown = plain(last.torque_shown or "")
    # Digits without a unit beside them would be read in whatever unit the reader has in mind.
    if not any(sign.isalpha() for sign in shown) or shown == sent:
        return sent
    return f"{shown} (sent: {sent})" if sent else shown


def last_text(last: Last) -> str:
    """What is said of a reading; where that is only to stop, which fastener it was, since to stop is said beside it."""
    text = plain(last.text)
    if last.stop and text.startswith("STOP") and last.joint_name is not None:
        return f"{plain(last.joint_name)}, position {last.position}, stage {last.stage}"
    return text


def ask_line(ask: Ask) -> str:
    """The question with the keys that answer it, and who may."""
    text = plain(ask.text)
    if "Enter =" in text:  # it names its keys itself
        return text
    if ask.word is AskWord.FASTENER:
        return f"{text} Enter = yes, else its number and Enter; n = not known"
    value = f", then the value in {plain(ask.value_in)}" if ask.value_in else ""
    if ask.role is not Role.FITTER:
        return f"{text} For the {ask.role}: Enter{value}, then the name; n = no"
    lot = ", l = yes with the lot" if ask.word is AskWord.PREPARED else ""
    return f"{text} Enter{value or ' = yes'}{lot}, n = no"


def place(target: Target) -> str:
    """Where to pull: `fastener 3 of 8 · stage 2 of 2 (100 %) · order cross`."""
    joint, stage = target.joint, target.stage
    share = f"{torque_text(stage.share_percent)} %" if stage.word is StageWord.ROUND else str(stage.word)
    if joint.is_again(stage):
        share += ", again"
    return (
        f"fastener {target.position} of {joint.fasteners} · stage {stage.number} of {len(joint.stages)} ({share})"
        f" · order {plain(joint.order_word)}"
    )


def aim_text(target: Target) -> tuple[str, str]:
    """What to reach and between which edges: a torque, or an angle to turn on by."""
    angle = target.stage.angle
    if angle is not None:
        return f"turn {torque_text(angle.target)}°", f"{torque_text(angle.low)} to {torque_text(angle.high)}°"
    aim, band = band_text(target.band, target.joint.unit)
    return (f"hold {aim}" if target.stage.word is StageWord.RECHECK else aim), band


def band_text(band: Band, unit: str) -> tuple[str, str]:
    """Target and band: `95 N·m` and `85.5 to 104.5 N·m`; an upper edge that is over already reads `under`."""
    low, target, high = (torque_text(value) for value in (band.low, band.target, band.high))
    edge = "" if band.high_is_in_band else "under "
    return f"{target} {unit}", f"{low} to {edge}{high} {unit}"


def fitting(joint: Joint) -> tuple[str, ...]:
    """What to have ready for a joint, each a few words; what the plan does not state is left out."""
    wrenches = " or ".join(joint.wrenches) or "any registered"
    adapter = joint.adapter
    parts = (
        f"wrench {wrenches}",
        adapter and f"adapter {torque_text(adapter.length_mm)} mm at {torque_text(adapter.angle_deg)}°",
        joint.socket and f"socket {joint.socket}",
        joint.turn and f"turn the {joint.turn}",
        joint.left_hand and "LEFT-HAND THREAD",
        joint.counter_hold and f"counter-hold {joint.counter_hold}",
        joint.thread and f"thread {joint.thread}",
        joint.grade and f"grade {joint.grade.removeprefix('grade ')}",
        joint.prep and f"preparation {joint.prep}",
        joint.basis and f"torque for {'dry threads' if joint.basis == 'dry' else f'threads {joint.basis}'}",
        joint.nut and f"nut {joint.nut}",
        joint.drag and f"drag {joint.drag}",
        joint.hardware and f"hardware {joint.hardware}",
        not joint.mark and "no paint",
        joint.critical and "a second person signs",
    )
    return tuple(plain(part) for part in parts if part)


def no_target(screen: Screen) -> str:
    """What stands in the place of the next fastener when there is none."""
    if screen.ended:
        return ended_line(screen)
    return "Nothing to pull before the question is answered" if screen.ask else "Nothing left to pull"


def ended_line(screen: Screen) -> str:
    """How the run ended, which never says that anything is safe."""
    if screen.complete:
        return "Ended. The torque record is complete; it does not say that the vehicle is safe to drive"
    done, all_of_them = progress(screen)
    return f"Ended. The torque record is NOT complete: {done} of {all_of_them} fasteners done"


def progress(screen: Screen) -> tuple[int, int]:
    """Fasteners done, and all of them."""
    return sum(row.done for row in screen.rows), sum(row.fasteners for row in screen.rows)


def row_state(row: JointRow, ended: bool) -> str:
    """A joint's proof in words; what is simply not reached yet is `to do`, and `missed` only when the run ended."""
    waiting = row.proof is Proof.MISSED and row.done < row.fasteners and not ended
    words = ["to do" if waiting else row.proof.value]
    if row.failed:
        words = [f"{row.failed} failed"] if row.proof is Proof.FAILED else [*words, f"{row.failed} failed"]
    if row.left_loose and row.proof is not Proof.LEFT_LOOSE:
        words.append("loose")
    if row.confirmed:
        words.append("striped")
    return ", ".join(words)


def loose_line(screen: Screen) -> str:
    """The joints that are still loose, by number and name; empty where none is."""
    loose = [f"{row.number} {plain(row.name)}" for row in screen.rows if row.left_loose]
    return f"STILL LOOSE: {'; '.join(loose)}" if loose else ""


def link_line(screen: Screen) -> str:
    """The state of the link."""
    return f"{'link' if screen.link_ok else '✕ NO LINK'}: {plain(screen.link)}"
